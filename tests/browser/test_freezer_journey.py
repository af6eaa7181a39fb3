"""A freezer order by taps: choices change the figures live, it is booked, printed and packed."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect
from test_access import axe_faults

SIZES = [(1180, 820), (390, 844)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_half_a_lamb_from_the_choice_to_the_paper(counter, open_page, width, height):
    """Each page passes axe and fits its width; a tap changes packs and pounds without a reload."""
    page = open_page(width=width, height=height)
    page.goto(f"{counter.base}/hook/H3")
    page.get_by_role("link", name="Freezer order").click()
    expect(page.get_by_role("heading", name="New freezer order")).to_be_visible()
    expect(page.get_by_text("Lamb leg roast")).to_be_visible()
    page.get_by_role("group", name="Leg", exact=True).get_by_label("Bone").select_option("out")
    expect(page.get_by_text("Lamb butterflied leg")).to_be_visible()
    page.locator("#f-price0").fill("7.40")
    page.locator("#f-price0").press("Tab")
    expect(page.get_by_role("button", name="Book 176.12")).to_be_visible()
    page.locator("#f-thick0-3").fill("99")
    page.locator("#f-thick0-3").press("Tab")
    expect(page.get_by_role("heading", name="There is a problem")).to_be_visible()
    assert axe_faults(page) == []
    page.locator("#f-thick0-3").fill("1.5")
    page.locator("#f-thick0-3").press("Tab")
    expect(page.get_by_text("Lamb rib chops, 1.5 in")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_text("Ines", exact=True).click()
    page.get_by_role("button", name="Book 176.12").click()
    expect(page.locator(".notice[role=status]")).to_contain_text("Booked.")
    expect(page.get_by_text("23.80 lb").first).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_role("link", name="Bench card").click()
    expect(page.get_by_text("rib chops: 5 at 1.5 in, 2 to a pack, 3 packs")).to_be_visible()
    assert axe_faults(page) == []
    page.goto(f"{counter.base}/freezer/H3/pack")
    expect(page.get_by_text("L-209 is not broken yet.")).to_be_visible()
    assert axe_faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert counter.shop.check() == []
