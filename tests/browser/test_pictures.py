"""Pictures as they are seen: drawn, with words and a table, in the dark, on paper, on a phone."""

from __future__ import annotations

from datetime import timedelta

import pytest
from playwright.sync_api import expect
from test_access import SMALL, axe_faults

from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine

SIZES = [(1180, 820), (390, 844)]
PAGES = {
    "shrink": ("/rail", ".rail-shrink"),
    "cover": ("/case?cover=1", ".case-cover"),
    "weekday": ("/learning?line=C33", ".learned-week"),
    "account": ("/reckoning/B-41", ".reck-figure"),
}
#: Colours of a canvas that cover at least a few of its points, as "r,g,b".
SEEN = """canvas => {
  const data = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
  const found = {};
  for (let at = 0; at < data.length; at += 4) {
    if (data[at + 3] > 200) {
      const name = data[at] + ',' + data[at + 1] + ',' + data[at + 2];
      found[name] = (found[name] || 0) + 1;
    }
  }
  return Object.keys(found).filter(name => found[name] >= 12);
}"""
OXBLOOD = {"light": "94,18,36", "dark": "242,169,180"}


def pounds(text):
    return Weight.of(text, WeightUnit.LB)


@pytest.fixture
def sold(counter):
    """Return a counter that sold ribs today and the grilling cheese on six days before."""
    shop, clock = counter.shop, counter.clock
    start = clock.now()
    shop.hand_over("H8", {"H8-1": pounds("5.0")}, by="dot", key="h8")
    for past, amount in ((0, "0.5"), (1, "0.5"), (2, "1"), (3, "1"), (7, "0.5"), (8, "1")):
        clock.put(start + timedelta(days=past, hours=1))
        new = NewBooking(name="Oat", collect_at=clock.now() + timedelta(hours=2), by="dot", heads=2,
                         lines=(NewLine("C33", pounds(amount)),))  # fmt: skip
        went = shop.book(new, key=f"book {past}")
        shop.hand_over(went.id, {f"{went.id}-1": pounds(amount)}, by="dot", key=f"go {past}")
    clock.put(start + timedelta(days=12))
    return counter


@pytest.mark.parametrize("size", SIZES)
def test_every_picture_is_drawn_named_and_has_its_table(sold, open_page, size):
    """A canvas that is not blank, a sentence for the ear, its table, and no sideways scroll."""
    page = open_page(width=size[0], height=size[1])
    for name, (address, place) in PAGES.items():
        page.goto(sold.base + address)
        box = page.locator(place)
        canvas = box.locator("canvas")
        expect(canvas).to_have_count(1)
        assert len(canvas.evaluate(SEEN)) >= 2, name
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        if name in {"shrink", "weekday"}:
            told = box.get_by_role("img")
            assert told.get_attribute("aria-label").endswith(".")
        if name != "account":
            box.locator("summary", has_text="As a table").click()
        expect(page.locator("table:visible").first).to_be_visible()
        assert axe_faults(page) == []
        assert page.evaluate(SMALL, 44) == []


def test_the_bars_of_the_cover_lie_where_their_figures_say(still_counter, open_page):
    """To a pixel: the end of each bar against the scale the library drew."""
    page = open_page()
    page.goto(still_counter.base + PAGES["cover"][0])
    rows = page.evaluate("""() => Array.from(document.querySelectorAll('.across-row')).map(row => {
      const room = row.querySelector('svg').getBoundingClientRect();
      const bars = Array.from(row.querySelectorAll('.cover-sold, .cover-past'));
      const end = Math.max(...bars.map(bar => bar.getBoundingClientRect().right));
      const name = row.querySelector('.across-name').textContent;
      return {name: name, share: (end - room.left) / room.width};
    })""")
    case = {line.name: line for line in still_counter.shop.case()}
    assert len(rows) > 20
    for row in rows:
        days = min(14, float(case[row["name"]].cover_days))
        assert abs(row["share"] - days / 14) < 0.004, row
    # the scale stands under the bars: its zero where the bars begin, its end where they may end
    plot = page.evaluate("""() => ['.across .u-over', '.across-line'].map(one => {
      const box = document.querySelector(one).getBoundingClientRect();
      return [box.left, box.right];
    })""")
    assert plot[0] == pytest.approx(plot[1], abs=1.5)


@pytest.mark.parametrize("ground", OXBLOOD)
def test_a_picture_has_the_colours_of_the_page(sold, open_page, ground):
    """Drawn in the colour table of the light and of the dark setting."""
    page = open_page()
    page.context.add_cookies([{"name": "collop_ground", "value": ground, "url": sold.base}])
    page.goto(sold.base + PAGES["weekday"][0])
    assert page.evaluate("document.documentElement.dataset.ground") == ground
    assert OXBLOOD[ground] in page.locator(".learned-week canvas").evaluate(SEEN)


def test_for_print_a_picture_is_in_ink_and_comes_back(sold, open_page):
    """Before printing in ink alone, afterwards in the colours of the page."""
    page = open_page()
    page.goto(sold.base + PAGES["weekday"][0])
    canvas = page.locator(".learned-week canvas")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    printed = canvas.evaluate(SEEN)
    assert "0,0,0" in printed
    assert OXBLOOD["light"] not in printed
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert OXBLOOD["light"] in canvas.evaluate(SEEN)


def test_text_twice_as_large_keeps_every_picture(sold, open_page):
    """200 %: letters of the chart grow with the page, and nothing scrolls sideways."""
    page = open_page(width=1280, height=900)
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    for address, place in PAGES.values():
        page.goto(sold.base + address)
        expect(page.locator(f"{place} canvas")).to_have_count(1)
        assert page.evaluate("document.documentElement.scrollWidth") <= 1280


def test_without_script_the_bars_and_the_tables_are_there(sold, chromium):
    """The shop's own shapes need no script, and every table has all figures."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(sold.base + PAGES["cover"][0])
    expect(page.locator(".across-row").first).to_be_visible()
    page.goto(sold.base + PAGES["shrink"][0])
    page.locator(".rail-shrink summary").click()
    expect(page.locator(".rail-shrink table")).to_be_visible()
    context.close()


def test_a_picture_in_a_closed_box_is_drawn_when_the_box_opens(still_counter, open_page):
    """On the case page the cover is shut at first; opened by the keyboard, it has its scale."""
    page = open_page()
    page.goto(f"{still_counter.base}/case")
    assert page.locator(".case-cover canvas").count() == 0
    page.locator(".case-cover > summary").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".case-cover canvas")).to_have_count(1)
