"""What one screen shows: the wall at 1920 by 1080, the tablet at 1180 by 820, the phone."""

from __future__ import annotations

import io

import pytest
from PIL import Image, ImageStat
from test_look import hung

WALL = {"width": 1920, "height": 1080}

# Texts of a card that are drawn outside of it, to the left or right.
OUTSIDE = """(cards) => Array.from(document.querySelectorAll(cards)).flatMap((card) => {
  const box = card.getBoundingClientRect(), walk = document.createTreeWalker(card, 4), bad = [];
  while (walk.nextNode()) {
    const text = walk.currentNode, range = document.createRange();
    if (!text.textContent.trim()) { continue; }
    if (text.parentElement.closest('.unseen, .claim-name')) { continue; }
    range.selectNodeContents(text);
    for (const one of range.getClientRects()) {
      if (one.left >= box.left - 1 && one.right <= box.right + 1) { continue; }
      bad.push(text.textContent.trim());
    }
  }
  return bad;
})"""

# How many of the cards show each of these parts wholly, above the bar at the foot.
SEEN = """([cards, parts, bar]) => {
  const foot = document.querySelector(bar).getBoundingClientRect().top;
  return Array.from(document.querySelectorAll(cards)).filter((card) => {
    const all = Array.from(card.querySelectorAll(parts));
    return all.length && all.every((one) => one.getBoundingClientRect().bottom <= foot);
  }).length;
}"""


@pytest.fixture(scope="module")
def planned(still_counter):
    """Return the counter that is only looked at, with a cutting plan kept."""
    still_counter.shop.bench.refresh()
    return still_counter


@pytest.mark.parametrize(
    ("address", "cards"), [("/knife", ".choice"), ("/rail", ".hung"), ("/bench", ".work")]
)
def test_no_text_of_the_wall_runs_out_of_its_card(planned, open_page, address, cards):
    """Every letter lies within its own card, and a tag stands on one line."""
    page = hung(open_page, planned, place="wall")
    page.set_viewport_size(WALL)
    page.goto(planned.base + address)
    assert page.locator(cards).count() > 4
    assert page.evaluate(OUTSIDE, cards) == []
    for tag in page.locator(".choice > b, .hung h2").all():
        lines = "(one) => { const all = document.createRange(); all.selectNodeContents(one);"
        assert tag.evaluate(lines + " return all.getClientRects().length; }") == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= WALL["width"]


def test_the_wall_shows_four_lines_of_the_bench_and_every_piece_of_the_rail(planned, open_page):
    """Number, work and weight of four lines; tag and days of all that hangs; no find field."""
    page = hung(open_page, planned, place="wall")
    page.set_viewport_size(WALL)
    page.goto(planned.base + "/bench")
    work = ".work-number, h3, .work-weight, .bench-key"
    assert page.evaluate(SEEN, [".work", work, ".bench-foot"]) >= 4
    assert page.locator("#f-find-here").count() == 0
    page.goto(planned.base + "/rail")
    pieces = page.locator(".hung").count()
    assert pieces >= 7
    assert page.evaluate(SEEN, [".hung", "h2, .hung-days b", ".rail-page .bar"]) == pieces
    open_facts = "h2, .hung-what, .hung > .hung-facts dd"
    assert page.evaluate(SEEN, [".hung", open_facts, ".rail-page .bar"]) >= 4
    assert page.locator("#f-find-here").count() == 0


def test_what_is_folded_under_a_tag_opens_by_a_touch(planned, open_page):
    """The other facts and the acts of a piece are there on the wall as well."""
    page = hung(open_page, planned, place="wall")
    page.goto(planned.base + "/rail")
    card = page.locator(".hung").first
    weigh = card.get_by_role("link", name="Weigh again")
    assert not weigh.is_visible()
    card.locator("summary").click()
    assert weigh.is_visible()
    assert card.get_by_text("shrink").is_visible()
    weigh.click()
    page.wait_for_url("**/rail?tag=*")


@pytest.mark.parametrize("address", ["/bench", "/rail", "/chalk/costs", "/styles"])
def test_the_find_field_stands_in_the_row_of_the_title(planned, open_page, address):
    """Beside the title, over nothing, and within the page."""
    page = hung(open_page, planned, place="counter")
    page.set_viewport_size({"width": 1180, "height": 820})
    page.goto(planned.base + address)
    title, field = page.locator("main h1").bounding_box(), page.locator("#find-here").bounding_box()
    assert field["y"] < title["y"] + title["height"]
    assert field["x"] >= title["x"] + title["width"] or field["y"] >= title["y"] + title["height"]
    assert field["x"] + field["width"] <= 1180
    page.locator("#f-find-here").fill("lamb")
    assert page.locator("#found-here").inner_text().endswith("lines")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1180


def test_weight_who_and_the_button_are_on_one_screen_of_the_tablet(planned, open_page):
    """Nothing needs a scroll: the weight first, beside it who weighs, the act at the foot."""
    page = hung(open_page, planned, place="counter")
    page.set_viewport_size({"width": 1180, "height": 820})
    page.goto(planned.base + "/bench?line=H4-1")
    weight = page.locator("#f-weight").bounding_box()
    who = page.locator("#panel .chip").last.bounding_box()
    act = page.locator("#panel .main-action").bounding_box()
    assert weight["x"] + weight["width"] <= who["x"]
    for box in (weight, who, act):
        assert 0 <= box["y"] <= box["y"] + box["height"] <= 820


def edge(page):
    """Return the mean light of the last 4 px of the first table's box: 0 to 255."""
    box = page.locator(".scroll:has(> .case-table)")
    box.scroll_into_view_if_needed()
    at = box.bounding_box()
    shown = {"x": at["x"] + at["width"] - 4, "y": at["y"] + 4, "width": 4, "height": 60}
    picture = Image.open(io.BytesIO(page.screenshot(clip=shown))).convert("L")
    return ImageStat.Stat(picture).mean[0]


def test_a_table_that_goes_on_is_shaded_where_it_is_cut(planned, open_page):
    """On a phone the edge is darker while there is more to the right, and light at the end."""
    page = open_page(width=390, height=844)
    page.goto(planned.base + "/case")
    page.locator(".case-table").evaluate("(one) => { one.style.visibility = 'hidden'; }")
    begun = edge(page)
    page.locator(".scroll:has(> .case-table)").evaluate(
        "(one) => { one.scrollLeft = one.scrollWidth; }"
    )
    assert page.locator(".scroll:has(> .case-table)").evaluate("(one) => one.scrollLeft") > 0
    assert begun < edge(page) - 20


# Links in lists and tables that are lower than 44 px, but for those in a sentence.
LOW = """() => Array.from(document.querySelectorAll('main :is(li, td, th, dd) a, .plan-covers a'))
  .filter((one) => one.checkVisibility() && !one.closest('.unseen'))
  .filter((one) => !one.closest('p') || one.closest('.plan-covers'))
  .map((one) => [one.textContent.trim(), one.getBoundingClientRect()])
  .filter(([name, box]) => box.height < 43.5 || box.width < 43.5)
  .map(([name, box]) => `${name} ${box.width}x${box.height}`)"""


@pytest.mark.parametrize(
    "address",
    ["/bench/plan", "/hook", "/daybook/mince", "/trace?lot=B-41F", "/recall?lot=B-41F", "/case"],
)
def test_a_link_is_as_high_as_a_finger_in_a_glove(planned, open_page, address):
    """44 px on a screen that is touched, in lists and in tables."""
    page = open_page(width=390, height=844, has_touch=True)
    page.goto(planned.base + address)
    assert page.locator("main a").count() > 0
    assert page.evaluate(LOW) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
