"""Monday at the bench: a forequarter from the rail to the case, to the last count."""

from __future__ import annotations

import re
from decimal import Decimal
from urllib.parse import urlencode
from urllib.request import urlopen

import pytest
from playwright.sync_api import expect
from test_access import SMALL, axe_faults

from collop.measures import Weight, WeightUnit
from collop.shop import DEMO_MONDAY, StillClock, create_shop
from collop.shop.demo_rail import demo_table

PARTS = [(row["part"], row["lb"]) for row in demo_table("break_b41f.csv")]
PATIENCE_MS = 60_000
#: For so long after a line of the scale another Enter belongs to it.
SECOND_ENTER_MS = 600
SIZES = [(1280, 800), (390, 844)]
#: 22 mm and 6 mm at 96 px to the inch, as bench targets and their gaps are asked.
TARGET_PX, GAP_PX = 83.1, 22.6
#: Capital letters of 19 mm, at 0.66 of the type size.
GLANCE_PX = 19 / 25.4 * 96 / 0.66

#: The keys of a scale that types, faster than a driver of the browser can send them one by one.
BURST = """(text) => {
  for (const key of [...text, 'Enter']) {
    document.activeElement.dispatchEvent(
      new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true}));
  }
}"""


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory):
    """Return the demo week on Monday at 06:00 in place of Tuesday's."""
    path = tmp_path_factory.mktemp("monday") / "shop.db"
    clock = StillClock(DEMO_MONDAY)
    create_shop(f"sqlite:///{path}", demo=True, day="monday", clock=clock).close()
    return path


@pytest.fixture
def monday(counter):
    """Return a running counter whose clock stands on Monday at 06:00."""
    counter.clock.put(DEMO_MONDAY)
    return counter


def pounds(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


def begin(counter, tag="B-41F", style="fore"):
    """Put a piece on the block and return its break."""
    return counter.shop.cutting.start_break(tag, style, by="marek", key=f"begin {tag}")


def weigh(counter, found, parts):
    """Weigh parts without the page."""
    ids = {part.name: part.id for part in found.style.parts}
    for name, text in parts:
        counter.shop.cutting.weigh_part(
            found.number, ids[name], pounds(text), by="marek", key=f"weigh {found.number} {name}"
        )


def tile(page, name):
    """Return the tile of a part."""
    return page.locator(".tile", has=page.get_by_text(name, exact=True))


def touch(page, name):
    """Touch a tile and wait until the block shows it."""
    with page.expect_response(lambda answer: "/knife/" in answer.url and answer.status == 200):
        tile(page, name).click()
    page.wait_for_selector(f'.tile.is-weighed:has(.tile-name:text-is("{name}"))')


def has_focus(page, place):
    """See that the focus comes to a place; it may follow the new page by a moment."""
    expect(page.locator(place)).to_be_focused(timeout=PATIENCE_MS)


def on_hand(page, base):
    """Return the pounds on hand of each line, as the case page shows them."""
    page.goto(f"{base}/case")
    rows = page.locator(".case-table tbody tr").all()
    return {
        row.locator(".line-id").inner_text(): Decimal(
            row.locator("td").first.inner_text().removesuffix(" lb")
        )
        for row in rows
    }


def at_place(shop, place):
    """Return the weight of all lots at a place."""
    return sum((one.weight for one in shop.cutting.stock() if one.place == place), Weight.zero())


def test_a_forequarter_becomes_case_and_trim_to_the_last_count(monday, open_page):
    """From the rail over nine tiles to the closed sheet: 166.7 lb go in, 166.7 lb are told."""
    page = open_page(width=1280, height=800)
    before, trim = on_hand(page, monday.base), at_place(monday.shop, "trim")
    page.goto(f"{monday.base}/rail")
    assert "26.80 lb lost to air, 123.58 paid for it" in page.locator(".rail-sums").inner_text()
    page.locator(".bar").get_by_role("link", name="Break B-41F").click()
    page.get_by_label("Marek").check()
    page.get_by_role("button", name="Start B-41F").click()
    page.wait_for_url("**/knife/*")
    has_focus(page, "#f-weight")
    for step, (name, text) in enumerate(PARTS):
        if step % 2:
            page.evaluate("document.activeElement.blur()")
            page.wait_for_timeout(SECOND_ENTER_MS)  # nobody changes the part on a pan sooner
            page.evaluate(BURST, text)  # a scale that types, wherever the focus is
            expect(page.locator("#f-weight")).to_have_value(text, timeout=PATIENCE_MS)
        else:
            page.get_by_label("On the scale, lb").fill(text)
        touch(page, name)
        has_focus(page, "#f-weight")
        assert page.get_by_label("On the scale, lb").input_value() == ""
    assert page.locator(".knife-big").inner_text() == "1.80 lb"
    assert page.locator(".knife-left h2").inner_text() == "closes"
    page.get_by_role("button", name="Close animal").click()
    page.wait_for_selector("h1:has-text('B-41F is closed')")
    has_focus(page, "h1")
    expect(page.locator("#knife-said")).to_have_text("B-41F is closed", timeout=PATIENCE_MS)
    sums = page.locator(".closed-sums").inner_text()
    assert re.findall(r"[0-9.]+ lb", sums) == ["166.70 lb", "164.90 lb", "1.80 lb"]
    after = on_hand(page, monday.base)
    risen = {line: after[line] - before[line] for line in after if after[line] != before[line]}
    assert risen == {"C10": 14, "C15": 10, "C09": 12, "C07": 7, "C08": 4}
    assert at_place(monday.shop, "trim") - trim == pounds("38.6")
    assert monday.shop.check() == []


def test_the_same_work_is_done_from_the_keyboard_alone(monday, open_page):
    """Type, Tab to the tile, Space; back in the field each time; taken back by key too."""
    found = begin(monday)
    page = open_page()
    page.goto(f"{monday.base}/knife/{found.number}")
    for name, text in PARTS[:2]:
        page.keyboard.type(text, delay=60)
        for _ in range(12):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.textContent").strip().startswith(name):
                break
        page.keyboard.press("Space")
        page.wait_for_selector(f'.tile.is-weighed:has(.tile-name:text-is("{name}"))')
        has_focus(page, "#f-weight")
    page.get_by_role("button", name=re.compile("^Take back Shin")).focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(".weighing.is-back")
    assert monday.shop.cutting.break_(found.number).left == pounds("152.7")


def test_enter_in_the_field_weighs_nothing_by_itself(monday, open_page):
    """A slow hand and Enter: the page asks for the tile and keeps the figure."""
    found = begin(monday)
    page = open_page()
    page.goto(f"{monday.base}/knife/{found.number}")
    page.keyboard.type("14", delay=120)
    page.keyboard.press("Enter")
    page.wait_for_selector("#e-weight")
    assert "Touch the tile" in page.locator("#e-weight").inner_text()
    assert page.get_by_label("On the scale, lb").input_value() == "14"
    assert monday.shop.cutting.break_(found.number).parts == ()


def test_too_much_is_said_beside_the_scale_and_the_field_is_ready(monday, open_page):
    """Six pounds too much: the pan is asked about, the figure is selected for the next."""
    found = begin(monday)
    page = open_page(width=1280, height=800)
    page.goto(f"{monday.base}/knife/{found.number}")
    page.get_by_label("On the scale, lb").fill("172.7")
    tile(page, "Brisket").click()
    page.wait_for_selector("#e-weight")
    said = page.locator("#e-weight").inner_text()
    assert "That is 6.00 lb too much" in said
    assert said.endswith("Pan not tared?")
    has_focus(page, "#f-weight")
    assert page.title().startswith("Error: ")
    assert page.locator("#lost").is_hidden()
    page.keyboard.type("14", delay=60)
    touch(page, "Brisket")
    assert monday.shop.cutting.break_(found.number).left == pounds("152.7")


def test_a_close_too_early_asks_and_the_missing_part_is_then_weighed(monday, open_page):
    """Three usual things are asked about; weighing the bone closes."""
    found = begin(monday)
    weigh(monday, found, PARTS[:-1])
    page = open_page(width=1280, height=800)
    page.goto(f"{monday.base}/knife/{found.number}")
    page.get_by_role("button", name=re.compile("^Close animal")).click()
    page.wait_for_selector("#forgotten")
    has_focus(page, "#forgotten")
    assert 1 <= page.locator("#forgotten li").count() <= 3
    assert "Not weighed yet: Bone" in page.locator("#forgotten").inner_text()
    assert axe_faults(page) == []
    page.get_by_role("link", name="Weigh it").click()
    has_focus(page, "#f-weight")
    page.keyboard.type("27.4", delay=60)
    touch(page, "Bone")
    page.get_by_role("button", name="Close animal").click()
    page.wait_for_selector("h1:has-text('B-41F is closed')")


def test_a_lamb_is_broken_without_any_script(monday, open_page):
    """Plain forms from start to the closed sheet and open again."""
    page = open_page(java_script_enabled=False)
    page.goto(f"{monday.base}/knife?tag=L-207")
    page.get_by_label("Lamb for the case").check()
    page.get_by_label("Kofi").check()
    page.get_by_role("button", name="Start L-207").click()
    expected = page.locator(".tile-want").all_inner_texts()
    for place, want in enumerate(expected):
        page.get_by_label("On the scale, lb").fill(want.removeprefix("about "))
        page.locator(".tile").nth(place).click()
        expect(page.locator(".tile.is-weighed")).to_have_count(place + 1, timeout=PATIENCE_MS)
        page.wait_for_load_state()  # a browser drops what is pressed before its first paint
    page.get_by_role("button", name="Close animal").click()
    expect(page.locator("h1")).to_contain_text("L-207 is closed", timeout=PATIENCE_MS)
    page.wait_for_load_state()
    page.locator(".reopen summary").click()
    page.get_by_label("Why is it opened again").fill("fat bin forgotten")
    page.get_by_role("button", name="Reopen", exact=True).click()
    expect(page.locator(".tile")).to_have_count(len(expected), timeout=PATIENCE_MS)
    assert monday.shop.check() == []


def on_pan(counter, **reading):
    """Let the shop's scale tell what is on it."""
    urlopen(f"{counter.base}/scale", urlencode(reading).encode()).close()  # noqa: S310 -- our own


def test_the_live_scale_fills_the_field_once_for_each_part(monday, open_page):
    """What still lies on the pan after its tile is not taken again; the next part is."""
    found = begin(monday)
    page = open_page()
    page.goto(f"{monday.base}/knife/{found.number}")
    on_pan(monday, weight="14.00", unit="lb", state="stable")
    expect(page.locator("#f-weight")).to_have_value("14.00 lb", timeout=PATIENCE_MS)
    touch(page, "Brisket")
    on_pan(monday, weight="14.00", unit="lb", state="stable")
    live = page.locator("[data-scale-live]")
    expect(live).to_have_text("14.00 lb", timeout=PATIENCE_MS)
    assert page.get_by_label("On the scale, lb").input_value() == ""
    on_pan(monday, weight="0.00", unit="lb", state="zero")
    expect(live).to_have_attribute("data-scale-live", "zero", timeout=PATIENCE_MS)
    on_pan(monday, weight="10.00", unit="lb", state="stable")
    expect(page.locator("#f-weight")).to_have_value("10.00 lb", timeout=PATIENCE_MS)
    touch(page, "Shin on the bone")
    assert monday.shop.cutting.break_(found.number).left == pounds("142.7")


# A finger on a tile: down, held for so long, up, and the click the browser makes of it.
PRESS = """async ([held, others]) => {
  const tile = document.querySelector('.tile');
  const send = (kind, id) => tile.dispatchEvent(new PointerEvent(kind,
    {pointerType: 'touch', pointerId: id, bubbles: true, cancelable: true}));
  send('pointerdown', 1);
  for (let id = 2; id < 2 + others; id += 1) { send('pointerdown', id); }
  if (held) { await new Promise((done) => setTimeout(done, held)); }
  for (let id = 2; id < 2 + others; id += 1) { send('pointerup', id); }
  send('pointerup', 1);
  send('click', 1);
}"""


@pytest.mark.parametrize(("held", "others"), [(0, 0), (250, 1)], ids=["a drop", "two fingers"])
def test_a_drop_of_water_or_two_fingers_weigh_nothing(monday, open_page, held, others):
    """Said on the page, nothing sent; a finger held for a moment then counts."""
    found = begin(monday)
    page = open_page()
    page.goto(f"{monday.base}/knife/{found.number}")
    page.get_by_label("On the scale, lb").fill("14")
    page.evaluate(PRESS, [held, others])
    assert "a little longer" in page.locator("#lost").inner_text()
    assert monday.shop.cutting.break_(found.number).parts == ()
    page.evaluate(PRESS, [250, 0])
    page.wait_for_selector(".tile.is-weighed")
    assert len(monday.shop.cutting.break_(found.number).parts) == 1


def states(counter):
    """Return the address of every page and state, with a break in the middle and a closed one."""
    half = begin(counter)
    weigh(counter, half, PARTS[:7])
    whole = begin(counter, "L-207", "lamb")
    weigh(counter, whole, [("Trim", "2.5")])
    counter.shop.cutting.close_break(whole.number, by="marek", key="close", why="sold whole")
    return {
        "rail": "/rail", "weigh": "/rail?tag=B-42&do=weigh", "plan": "/rail?tag=B-42&do=plan",
        "receive": "/rail/receive", "delivery": "/rail/receive/1", "choose": "/knife",
        "start": "/knife?tag=B-42", "block": f"/knife/{half.number}?done=weigh",
        "closed": f"/knife/{whole.number}",
    }  # fmt: skip


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_every_page_passes_axe_and_keeps_its_width_and_targets(monday, open_page, width, height):
    """Rail, receiving and knife on tablet and phone, also late: no violation, 44 px and more."""
    pages = states(monday)
    monday.clock.put(DEMO_MONDAY.replace(day=10))
    page = open_page(width=width, height=height)
    for state, address in pages.items():
        page.goto(monday.base + address)
        assert axe_faults(page) == [], state
        assert page.evaluate("document.documentElement.scrollWidth") <= width, state
        assert page.evaluate(SMALL, 44) == [], state


def test_a_refused_receiving_passes_axe_and_offers_the_second_way(monday, open_page):
    """Over the limit: the tick appears beside the temperature; ticked, the animal hangs."""
    page = open_page(width=1280, height=800)
    page.goto(f"{monday.base}/rail/receive")
    typed = {
        "Tag of the animal": "L-210", "Farm": "Saltgrass",
        "Weight on the invoice, lb": "51", "Temperature in the middle": "50",
    }  # fmt: skip
    for label, text in typed.items():
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_label("Species", exact=True).select_option("lamb")
    page.get_by_label("What hangs").first.select_option("lamb carcass")
    page.get_by_label("Scale weight, lb").first.fill("50.6")
    page.get_by_label("inspection mark", exact=True).check()
    page.get_by_label("Ines").check()
    page.get_by_role("button", name="Receive and hang").click()
    page.wait_for_selector(".over-limit")
    assert axe_faults(page) == []
    page.get_by_label("arrived warm as the law allows").check()
    page.get_by_role("button", name="Receive and hang").click()
    page.wait_for_url("**/rail/receive/*")
    assert "by Mon 10:00" in page.locator(".notice").first.inner_text()
    page.get_by_role("link", name="Show the rail").click()
    expect(page.locator(".hung h2", has_text="L-210")).to_be_visible(timeout=PATIENCE_MS)


# Every control of the bench as a finger meets it, and how near any two of its tiles come.
BENCH = """() => {
  const boxes = Array.from(document.querySelectorAll('#knife a, #knife button, #knife summary,'
    + ' #knife input:not([type=hidden], [type=radio]), #knife .chip'))
    .filter((part) => !part.matches('.unseen') && part.checkVisibility())
    .map((part) => [part.textContent.trim().slice(0, 20) || part.name,
      part.getBoundingClientRect()]);
  const tiles = Array.from(document.querySelectorAll('.tile'),
    (one) => one.getBoundingClientRect());
  let gap = Infinity;
  tiles.forEach((a, at) => tiles.slice(at + 1).forEach((b) => {
    const across = Math.max(a.left, b.left) - Math.min(a.right, b.right);
    const down = Math.max(a.top, b.top) - Math.min(a.bottom, b.bottom);
    gap = Math.min(gap, Math.max(across, down));
  }));
  return {gap, small: Math.min(...boxes.map(([, box]) => Math.min(box.width, box.height))),
    low: Math.max(...boxes.map(([, box]) => box.bottom))};
}"""


def test_bench_targets_are_22_mm_with_6_mm_between_and_all_nine_tiles_fit(monday, open_page):
    """On a 1280 x 800 tablet nothing of the block needs a scroll; the same sizes on a phone."""
    found = begin(monday)
    weigh(monday, found, PARTS[:3])
    for width, height in SIZES:
        page = open_page(width=width, height=height)
        page.goto(f"{monday.base}/knife/{found.number}?done=weigh")
        seen = page.evaluate(BENCH)
        assert seen["small"] >= TARGET_PX
        assert seen["gap"] >= GAP_PX
        if width == 1280:
            assert seen["low"] <= height


def test_the_thirteen_parts_of_a_side_fit_the_tablet_too(monday, open_page):
    """More tiles are lower, never smaller than a finger; Close is on the screen."""
    found = begin(monday, "B-42", "side")
    page = open_page(width=1280, height=800)
    page.goto(f"{monday.base}/knife/{found.number}")
    assert page.locator(".tile").count() == 13
    seen = page.evaluate(BENCH)
    assert seen["small"] >= TARGET_PX
    assert seen["gap"] >= GAP_PX
    assert seen["low"] <= 800


def test_the_three_figures_can_be_read_from_three_metres_on_a_wall(monday, open_page):
    """Tag, scale figure and left over have capitals of 19 mm on a 1920 x 1080 screen."""
    found = begin(monday)
    page = open_page(width=1920, height=1080)
    page.goto(f"{monday.base}/knife/{found.number}")
    for place in (".knife-tag h1", "#f-weight", ".knife-big"):
        size = page.locator(place).evaluate("part => parseFloat(getComputedStyle(part).fontSize)")
        assert size >= GLANCE_PX


def test_text_at_two_hundred_per_cent_cuts_nothing(monday, open_page):
    """Twice the text size on 1280 px: no sideways scroll, no text cut in a control."""
    pages = states(monday)
    page = open_page(width=1280, height=900)
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    for state, address in pages.items():
        page.goto(monday.base + address)
        assert page.evaluate("document.documentElement.scrollWidth") <= 1280, state
        cut = page.evaluate(
            "Array.from(document.querySelectorAll('main button, main .button, .chip, h1, h2,"
            " .knife-big, .hung-facts dd, .choice'))"
            ".filter(part => part.scrollWidth > part.clientWidth + 1"
            " && getComputedStyle(part).display !== 'inline' && !part.classList.contains('unseen'))"
            ".map(part => part.textContent.trim())"
        )
        assert cut == [], state


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_pounds_with_ounces_keep_within_the_screen(monday, open_page, width, height):
    """The longest way to write a weight scrolls neither rail nor block sideways."""
    pages = states(monday)
    page = open_page(width=width, height=height)
    page.context.add_cookies([{"name": "collop_unit", "value": "lb-oz", "url": monday.base}])
    for state in ("rail", "block", "closed", "choose"):
        page.goto(monday.base + pages[state])
        assert page.evaluate("document.documentElement.scrollWidth") <= width, state
        assert re.search(r"[0-9]+ lb [0-9.]+ oz", page.locator("main").inner_text())


def test_the_rail_prints_without_its_buttons(monday, open_page):
    """Paper keeps hooks, bars and figures, and leaves out what can be pressed."""
    page = open_page()
    page.goto(f"{monday.base}/rail")
    page.emulate_media(media="print")
    assert page.locator(".hung").count() == 9
    assert page.locator(".hung-acts:visible, .bar:visible, .top:visible").count() == 0
    assert page.locator(".hung-facts").first.is_visible()
