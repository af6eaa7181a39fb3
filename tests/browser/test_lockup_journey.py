"""An evening: count from the sheet, freeze what is left, undo, say what is open, lock."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect
from test_access import axe_faults

SIZES = [(1180, 820), (390, 844)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_an_evening_from_the_first_count_to_the_lock(counter, open_page, width, height):
    """By taps and keys alone; each page passes axe, and the ledger holds at the end."""
    page = open_page(width=width, height=height)
    page.goto(f"{counter.base}/lockup")
    page.get_by_role("link", name="Count next: Lamb leg, bone in").click()
    page.get_by_label("Counted, lb").fill("33.7")
    count = page.locator("form[action$='/count']")
    count.get_by_text("Dot", exact=True).click()
    page.get_by_role("button", name="Write the count").click()
    expect(page.locator(".notice[role=status]")).to_contain_text(
        "gap -0.30 lb (-0.9 %), -3.36 at the board"
    )
    assert axe_faults(page) == []
    # who counted is chosen already
    page.locator("details[open]").get_by_role("button", name="Carry").click()
    expect(page.locator(".notice[role=status]")).to_contain_text("Carried. Nothing was moved.")
    page.goto(f"{counter.base}/lockup/line/C31?do=freeze&weight=2")
    freeze = page.locator("details[open] form")
    freeze.get_by_label("Packs weigh, lb").fill("1.95")
    freeze.get_by_role("button", name="Freeze").click()
    expect(page.get_by_role("link", name="Who: choose who does this.")).to_be_visible()
    assert axe_faults(page) == []
    freeze = page.locator("details[open] form")
    freeze.get_by_text("Kofi", exact=True).click()
    freeze.get_by_role("button", name="Freeze").click()
    expect(page.locator(".notice[role=status]")).to_contain_text("Frozen.")
    page.get_by_text("Ines", exact=True).click()
    page.get_by_role("button", name="Undo: frozen Goat shoulder, diced").click()
    expect(page.locator(".notice[role=status]")).to_contain_text("Taken back.")
    page.get_by_text("Ines", exact=True).click()
    page.get_by_role("button", name="Lock", exact=True).click()
    expect(page.get_by_role("heading", name="There is a problem")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_label("H4 Restaurant standing order").select_option("short")
    page.get_by_role("button", name="Lock", exact=True).click()
    expect(page.get_by_text("Tuesday was locked at Tue")).to_be_visible()
    expect(page.get_by_text("H4 Restaurant standing order: short", exact=True)).to_be_visible()
    assert axe_faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert counter.shop.check() == []
