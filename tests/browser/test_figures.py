"""The figures in a browser: the flow as it is drawn; every page by rule, width and text size."""

from __future__ import annotations

import pytest
from test_access import SMALL, axe_faults

LOIN = ("weight=12&unit=lb&price=6.65&c1_part=fat&c1_weight=3&c2_part=kidneys&c2_weight=1"
        "&c2_value=6.10&loss=0.5&p1_part=usable+meat&portion=5&portion_unit=oz")  # fmt: skip
SHOULDER = ("name=pork+shoulder&weight=18.625&unit=lb&p1_part=steak&p1_weight=9.9375&p2_part=trim"
            "&p3_part=fat&p3_weight=1.75&p4_part=bone&p4_weight=1.0625")  # fmt: skip
SIDE = "sd=3&next=312.5&part1=steaks&pub1=60&t1_1=31&part2=bone&pub2=40&t1_2=19"
STATES = {
    "flow empty": "/flow",
    "flow animal": "/flow?lot=B-41F",
    "flow week": "/flow?week=2026-06-09",
    "flow error": "/flow?lot=zzz",
    "flow none": "/flow?day=2026-06-30",
    "trace empty": "/trace",
    "trace": "/trace?lot=B-41F.03",
    "trace booking": "/trace?booking=H4",
    "trace error": "/trace?lot=zzz",
    "yields": "/yields",
    "test": "/yields/test",
    "test worked": f"/yields/test?{LOIN}",
    "test break": "/yields/test?break=1",
    "test error": f"/yields/test?{LOIN}&c3_weight=x&p2_price=y",
    "combine": f"/yields/combine?{SIDE}",
    "combine error": f"/yields/combine?{SIDE}&t2_1=x",
    "tables": "/yields/tables",
    "table": "/yields/tables?table=BEEF_1300_806",
    "balance closes": f"/yields/balance?{SHOULDER}&p2_weight=5.625",
    "balance refused": f"/yields/balance?{SHOULDER}&p2_weight=7.825",
    "balance error": f"/yields/balance?{SHOULDER}",
    "cuts": "/yields/cuts?find=sirloin",
    "cuts none": "/yields/cuts?find=zzz",
    "grade": "/yields/grade?fat=0.40&kph=2.5&eye=12.8&hot=750",
    "take-home": "/yields/take-home?species=beef&weight=1300&days=14&cutting=boneless",
}
#: One state of each template, where more would show the same boxes again.
ONE_OF_EACH = ("flow animal", "trace", "trace booking", "yields", "test error", "combine error",
               "balance refused", "table", "cuts", "grade", "take-home")  # fmt: skip
WIDTHS = {"desk": (1280, 800), "phone": (390, 844)}


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("width", WIDTHS)
def test_axe_finds_no_violation_in_the_figures(still_counter, open_page, state, width):
    """All rules of the vendored checker, on desk and phone; nothing scrolls the page sideways."""
    page = open_page(width=WIDTHS[width][0], height=WIDTHS[width][1])
    page.goto(still_counter.base + STATES[state])
    assert axe_faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]


@pytest.mark.parametrize("state", ONE_OF_EACH)
@pytest.mark.parametrize("width", [320, 820])
def test_figures_reflow_and_their_targets_are_large(still_counter, open_page, state, width):
    """No sideways scroll at 320 and 820 px; controls at least 44 px, 24 px inside tables."""
    page = open_page(width=width, height=800)
    page.goto(still_counter.base + STATES[state])
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(SMALL, 44) == []


@pytest.mark.parametrize("state", ONE_OF_EACH)
def test_figures_keep_everything_at_twice_the_text(still_counter, open_page, state):
    """200 % text on a 1280 px screen: no sideways scroll, and names stay inside the picture."""
    page = open_page(width=1280, height=900)
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    page.goto(still_counter.base + STATES[state])
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    assert names_outside(page) == []


def names_outside(page):
    """Return the names of the picture that reach beyond it, or over another name."""
    return page.evaluate(
        """() => {
          const svg = document.querySelector('.flow-svg');
          if (!svg) { return []; }
          const frame = svg.getBoundingClientRect(), bad = [];
          const boxes = Array.from(svg.querySelectorAll('.flow-name'), function (name) {
            return {text: name.textContent, box: name.getBoundingClientRect()};
          });
          boxes.forEach(function (one, place) {
            const box = one.box;
            if (box.left < frame.left || box.right > frame.right + 0.5 || box.top < frame.top ||
                box.bottom > frame.bottom) { bad.push(`${one.text} leaves the picture`); }
            boxes.slice(place + 1).forEach(function (other) {
              const apart = other.box.left > box.right || other.box.right < box.left ||
                  other.box.top > box.bottom - 2 || other.box.bottom < box.top + 2;
              if (!apart) { bad.push(`${one.text} over ${other.text}`); }
            });
          });
          return bad;
        }"""
    )


def names_on_ribbons(page):
    """Return the names of the picture that have a ribbon under them."""
    return page.evaluate(
        """() => {
          const svg = document.querySelector('.flow-svg');
          const ribbons = Array.from(svg.querySelectorAll('.flow-link'));
          return Array.from(svg.querySelectorAll('.flow-name')).filter(function (name) {
            const box = name.getBBox();
            return [1, 2, 3, 4, 5, 6, 7].some(function (down) {
              return Array.from({length: 19}).some(function (_none, along) {
                const point = new DOMPoint(box.x + box.width * (along + 1) / 20,
                                           box.y + box.height * down / 8);
                return ribbons.some(function (one) { return one.isPointInFill(point); });
              });
            });
          }).map(function (name) { return name.textContent; });
        }"""
    )


@pytest.mark.parametrize("width", [320, 390, 820, 1280, 1920])
@pytest.mark.parametrize("asked", ["lot=B-41F", "week=2026-06-09"])
def test_no_name_lies_over_a_ribbon(still_counter, open_page, width, asked):
    """Names stand over the lanes of their places, and a ribbon passes a column in a lane too."""
    page = open_page(width=width, height=800)
    page.goto(f"{still_counter.base}/flow?{asked}")
    page.wait_for_selector(".flow-link", state="attached")
    assert names_on_ribbons(page) == []


@pytest.mark.parametrize("width", [320, 390, 820, 1280, 1920])
@pytest.mark.parametrize("asked", ["lot=B-41F", "week=2026-06-09"])
def test_no_name_lies_over_another_at_any_width(still_counter, open_page, width, asked):
    """Names go into two lines, or the picture scrolls, before two of them meet."""
    page = open_page(width=width, height=800)
    page.goto(f"{still_counter.base}/flow?{asked}")
    page.wait_for_selector(".flow-link", state="attached")
    assert names_outside(page) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_flow_is_drawn_with_every_link_of_the_service(still_counter, open_page, width):
    """One ribbon for each link and one name for each node, on desk and phone."""
    flow = still_counter.shop.cutting.flow("B-41F")
    names = {name for link in flow.links for name in (link.source, link.target)}
    page = open_page(width=WIDTHS[width][0], height=WIDTHS[width][1])
    page.goto(still_counter.base + "/flow?lot=B-41F")
    page.wait_for_selector(".flow-link", state="attached")
    assert page.locator(".flow-link").count() == len(flow.links)
    shown = page.locator(".flow-name-word").all_text_contents()
    assert sorted(shown) == sorted(names)
    assert names_outside(page) == []


def test_width_is_weight_and_the_smallest_flow_is_still_seen(still_counter, open_page):
    """Each ribbon is as high at its end as its share of the tallest, and never under 1 px."""
    flow = still_counter.shop.cutting.flow("B-41F")
    page = open_page(width=1280, height=800)
    page.goto(still_counter.base + "/flow?lot=B-41F")
    page.wait_for_selector(".flow-link", state="attached")
    heights = page.evaluate(
        """() => Array.from(document.querySelectorAll('.flow-link'), function (link) {
          const end = link.getAttribute('d').match(/([-0-9.e]+)V([-0-9.e]+)/);
          return Number(end[2]) - Number(end[1]);
        })"""
    )
    counts = [link.weight.count for link in flow.links]
    scale = max(heights) / max(counts)
    for height, count in zip(heights, counts, strict=True):
        assert height == pytest.approx(max(1, scale * count), abs=0.02)


def test_losses_differ_by_pattern_and_shape_as_well_as_colour(still_counter, open_page):
    """Air, drip and bin each have a pattern of their own; a loss ends in a point, not a bar."""
    page = open_page(width=1280, height=800)
    page.goto(still_counter.base + "/flow?lot=B-41F")
    page.wait_for_selector(".flow-link", state="attached")
    fills = page.eval_on_selector_all(
        ".flow-link", "all => all.map(one => [one.classList[1], getComputedStyle(one).fill])"
    )
    patterns = {kind: fill for kind, fill in fills if kind in {"flow-to-air", "flow-to-drip"}}
    assert 'url("#flow-air")' in patterns["flow-to-air"]
    assert 'url("#flow-drip")' in patterns["flow-to-drip"]
    assert page.locator("pattern").count() == 3
    assert page.locator("path.flow-node").count() == 2
    assert page.locator("rect.flow-node").count() > 2


def test_the_picture_follows_the_width_of_the_screen(still_counter, open_page):
    """It is drawn anew when the screen is turned, and scrolls in its own region if it must."""
    page = open_page(width=1280, height=800)
    page.goto(still_counter.base + "/flow?lot=B-41F")
    page.wait_for_selector(".flow-link", state="attached")
    wide = page.locator(".flow-svg").bounding_box()["width"]
    links = page.locator(".flow-link").count()
    page.set_viewport_size({"width": 600, "height": 900})
    width = "document.querySelector('.flow-svg')?.getBoundingClientRect().width ?? 9999"
    # asked from outside: the page's own policy lets no text be evaluated while it waits
    for _ in range(600):
        if page.evaluate(width) < wide:
            break
        page.wait_for_timeout(50)
    assert page.evaluate(width) < wide
    assert page.locator(".flow-link").count() == links
    assert page.evaluate("document.documentElement.scrollWidth") <= 600
    region = page.locator(".flow-scroll")
    assert region.evaluate("box => box.scrollWidth > box.clientWidth")
    assert region.get_attribute("tabindex") == "0"


def test_a_flow_in_a_circle_is_told_and_not_drawn(still_counter, open_page):
    """What the library refuses leaves the table and one sentence, and no failure."""
    page = open_page(width=1280, height=800)
    page.goto(still_counter.base + "/flow?lot=B-41F")
    page.wait_for_selector(".flow-link", state="attached")
    page.evaluate(
        """() => {
          const place = document.getElementById('flow-chart');
          const flow = JSON.parse(place.dataset.flow);
          flow.links.push({source: flow.links[0].target, target: flow.links[0].source, value: 1,
                           says: 'back'});
          place.dataset.flow = JSON.stringify(flow);
          window.dispatchEvent(new Event('resize'));
        }"""
    )
    assert page.locator("#flow-figure").is_hidden()
    assert page.locator("#flow-not-drawn").is_visible()
    assert page.locator(".flow-table").is_visible()


def test_without_script_the_table_has_it_all(still_counter, chromium):
    """No empty picture, no dead region to tab into; the table stands."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(still_counter.base + "/flow?lot=B-41F")
    assert page.locator("#flow-figure").is_hidden()
    links = still_counter.shop.cutting.flow("B-41F").links
    assert page.locator(".flow-table tbody tr").count() == len(links)
    context.close()


def test_the_flow_prints_with_its_patterns(still_counter, open_page):
    """On paper the picture is inside the page, ribbons keep their fill, the chooser is gone."""
    page = open_page(width=794, height=1123)
    page.goto(still_counter.base + "/flow?lot=B-41F")
    page.wait_for_selector(".flow-link", state="attached")
    page.emulate_media(media="print")
    assert page.locator(".flow-svg").bounding_box()["width"] <= 794
    assert page.locator(".flow-choose").is_hidden()
    fill = page.eval_on_selector(".flow-to-part", "one => getComputedStyle(one).fill")
    assert fill == "rgb(244, 232, 201)"


def test_a_sheet_is_filled_by_keyboard_and_a_fault_takes_the_focus(still_counter, open_page):
    """Tab, type, Enter: the problem is focused and leads to its field, with all texts kept."""
    page = open_page(width=1280, height=800)
    page.goto(still_counter.base + "/yields/grade")
    page.get_by_label("Fat over the ribeye, adjusted").focus()
    for text in ("0.4", "2.5", "none", "750"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector("#problem")
    assert page.evaluate("document.activeElement.id") == "problem"
    page.locator("#problem a").click()
    assert page.evaluate("document.activeElement.id") == "f-eye"
    assert page.get_by_label("Hot carcass weight").input_value() == "750"
    page.keyboard.press("Control+a")
    page.keyboard.type("12.8")
    page.keyboard.press("Enter")
    page.wait_for_selector(".worked")
    assert page.locator(".worked .sum b").first.text_content() == "2"


def test_a_scanned_lot_lands_in_the_trace_field(still_counter, open_page):
    """A scanner is a fast keyboard that ends with Enter."""
    page = open_page(width=1280, height=800)
    page.goto(still_counter.base + "/trace")
    page.get_by_label("Scan or type a ticket, a lot or a booking").focus()
    page.keyboard.type("B-41F.01", delay=8)
    page.keyboard.press("Enter")
    page.wait_for_url("**/trace?lot=B-41F.01")
    assert page.locator(".trace-asked b").text_content() == "B-41F.01"
