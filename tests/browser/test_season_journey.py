"""The weeks ahead by taps: a day opened, animals ordered and taken back, a quote kept."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect
from test_access import axe_faults

SIZES = [(1180, 820), (390, 844)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_from_the_long_list_to_the_farm_and_the_suppliers(counter, open_page, width, height):
    """Each page passes axe and fits its width; what was done stands on the next one."""
    page = open_page(width=width, height=height)
    page.goto(f"{counter.base}/long-list")
    page.get_by_label("Day", exact=True).fill("2026-06-15")
    page.get_by_role("button", name="Open a day").click()
    expect(page.get_by_role("heading", name="There is a problem")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_label("Why").fill("the feast")
    page.get_by_text("Ines", exact=True).click()
    page.get_by_role("button", name="Open a day").click()
    expect(page.get_by_role("heading", name="Monday 15 June is open for booking")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_role("link", name="Farm Call").first.click()
    page.get_by_text("Dot", exact=True).click()
    page.get_by_role("button", name="Order one beef side, three lambs and one pig").click()
    expect(page.get_by_text("Written down:")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_label("Who takes O1 back").select_option("dot")
    page.get_by_role("button", name="Take back O1").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    page.goto(f"{counter.base}/rail")
    expect(page.get_by_role("heading", name="Expected")).to_be_visible()
    assert axe_faults(page) == []
    page.goto(f"{counter.base}/buying")
    page.get_by_role("link", name="Live quote").click()
    for label, text in (("Supplier", "Upper Nimmock"), ("What", "one steer"),
                        ("Live weight of all, lb", "1200"), ("Price a lb", "2.10")):  # fmt: skip
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_text("Ines", exact=True).click()
    page.get_by_role("button", name="Keep the quote").click()
    expect(page.get_by_text("Only one offer: Upper Nimmock, one steer.")).to_be_visible()
    assert axe_faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert counter.shop.check() == []
