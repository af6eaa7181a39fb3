"""Did that animal pay: from the list to its waterfall, its words, the slips, and the drift."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect
from test_access import SMALL, axe_faults

from collop.measures import Weight, WeightUnit

SIZES = [(1180, 820), (390, 844)]
#: What of each step's bar is outside its picture, and how far it is from where it should begin.
BARS = """() => Array.from(document.querySelectorAll('.fall-line')).map(line => {
  const room = line.getBoundingClientRect();
  const bar = line.querySelector('.fall-bar').getBoundingClientRect();
  return {left: bar.left - room.left, right: bar.right - room.left, whole: room.width};
})"""


def lb(amount):
    return Weight.of(amount, WeightUnit.LB)


@pytest.fixture
def sold(counter):
    """Return a counter at which H8's ribs went, something was binned, and three lambs are cut."""
    shop = counter.shop
    shop.hand_over("H8", {"H8-1": lb("5.0")}, by="dot", key="h8")
    shop.cutting.bin("B-41F.04", "case", by="dot", why="dropped", weight=lb("0.5"), key="bin")
    for tag, hand in (("L-207", "marek"), ("L-208", "marek"), ("L-209", "kofi")):
        found = shop.cutting.start_break(tag, "lamb", by=hand, key=f"{tag} start")
        for part in (part for part in found.style.parts if part.kind != "loss"):
            weight = Weight(int(found.start.count * part.share))
            shop.cutting.weigh_part(found.number, part.id, weight, by=hand, key=f"{tag} {part.id}")
        shop.cutting.close_break(found.number, by=hand, key=f"{tag} close")
    return counter


@pytest.mark.parametrize("size", SIZES)
def test_from_the_list_to_why_an_animal_paid(sold, open_page, size):
    """List, Explain, the slips that made it, and the drift: all by taps, no fault on the way."""
    page = open_page(width=size[0], height=size[1])
    page.goto(f"{sold.base}/reckoning")
    expect(page.get_by_role("link", name="B-41", exact=True)).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_role("link", name="Explain B-41").click()
    expect(page.get_by_role("heading", name="Explained")).to_be_visible()
    expect(page.get_by_text("What carried it: Beef short ribs 44.50")).to_be_visible()
    assert axe_faults(page) == []
    assert page.evaluate(SMALL, 44) == []
    page.get_by_role("link", name="Money on slips").click()
    expect(page.get_by_text("Closes to the cent")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_role("link", name="B-41", exact=True).click()
    expect(page.get_by_role("heading", name=re.compile("Reckoning of B-41"))).to_be_visible()
    page.get_by_role("link", name="Yield drift").click()
    expect(page.get_by_text("No difference can be told from chance yet.")).to_be_visible()
    page.get_by_text("Part by part").first.click()
    assert axe_faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]


@pytest.mark.parametrize("size", SIZES)
def test_each_step_begins_where_the_last_one_ended(sold, open_page, size):
    """The bars as they lie on the screen: inside the picture, one after the other, to a pixel."""
    page = open_page(width=size[0], height=size[1])
    page.goto(f"{sold.base}/reckoning/B-41")
    drawn = page.evaluate(BARS)
    bars = sold.shop.reckoning.animal("B-41").bars
    assert len(drawn) == len(bars)
    ends = [0, *(one.start.minor for one in bars), *(one.end.minor for one in bars)]
    low, span = min(ends), max(ends) - min(ends)
    for bar, seen in zip(bars, drawn, strict=True):
        first, last = sorted((bar.start.minor, bar.end.minor))
        scale = seen["whole"] / span
        # the rim of a bar is a pixel wide, and the smallest bar is widened to be seen
        widened = 0.004 * seen["whole"] + 2
        assert abs(seen["left"] - (first - low) * scale) <= widened
        assert abs(seen["right"] - (last - low) * scale) <= widened
        assert -1 <= seen["left"] <= seen["right"] <= seen["whole"] + 1


def test_the_account_is_read_without_script_and_by_keyboard(sold, chromium):
    """Script off: Explain is a link that the keyboard reaches, and the picture is there."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{sold.base}/reckoning/B-41")
    expect(page.locator(".fall-step")).to_have_count(len(sold.shop.reckoning.animal("B-41").bars))
    explain = page.get_by_role("link", name="Explain", exact=True)
    explain.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Explained")).to_be_visible()
    context.close()


def test_the_account_prints_with_its_picture(sold, open_page):
    """On paper the steps and the table stay, and what is only for tapping is gone."""
    page = open_page()
    page.goto(f"{sold.base}/reckoning/B-41?explain=yes")
    page.emulate_media(media="print")
    expect(page.locator(".fall-step").first).to_be_visible()
    expect(page.get_by_role("heading", name="The same in figures")).to_be_visible()
    expect(page.get_by_role("link", name="Where its weight went")).to_be_hidden()
    assert (
        page.locator(".fall-line").first.evaluate("line => getComputedStyle(line).printColorAdjust")
        == "exact"
    )
