"""The look in a browser: letters on the wall, gloves, the dark setting, still pages, and print."""

from __future__ import annotations

import time

import pytest
from playwright.sync_api import expect
from test_access import SMALL, axe_faults

from collop.web.glance import MINUTES_LEAST, MINUTES_READ, cap_height_mm

#: A screen of 32 inches whose millimetres are true: 708 by 398 mm.
WALL = {"width": 2676, "height": 1505}
PX_PER_MM = 96 / 25.4
#: 22 mm square with 6 mm between, as the ground rules of the wet screens ask.
TARGET_PX, GAP_PX = 22 * PX_PER_MM, 6 * PX_PER_MM
#: What is read at 3 m, first what matters and then the rest, by page.
READ = {
    "/bench": (
        ".is-first .work-number, .is-first h3, .is-first .work-weight",
        (
            ".work:not(.is-first) h3, .work-number, .work-weight, .work-for,"
            " .work-how:not(.work-note), .work-care, .work-clean, .work-short, .work-word,"
            " .bench-now, .bench-clean, .bench-group h2, .next-tag, .next-what, .next-covers,"
            " .finished p"
        ),
    ),
    "/knife": (
        ".knife-tag h1, .knife-big, .knife-scale input",
        ".tile-name, .tile-sum, .knife-tag p, .knife-left h2, .knife-left p:last-child",
    ),
    "/rail": (
        ".hung h2, .hung-days p b",
        (
            ".hung-what, .hung-days p, .hung-facts div:first-child b,"
            " .hung-facts div:last-child dd, .rail-sums p, .rail-sums b, .rail-head h1"
        ),
    ),
}

# Height of a capital as it is drawn [mm], of each part that is shown: once by the font's capital in
# CSS, once by the letter H drawn on a canvas in the same font, which knows no `font-size-adjust`.
CAPITALS = """(parts) => {
  const mm = 25.4 / 96, pen = document.createElement('canvas').getContext('2d');
  const all = Array.from(document.querySelectorAll(parts));
  return all.filter((one) => one.checkVisibility()).map((one) => {
    const style = getComputedStyle(one), probe = document.createElement('span');
    probe.style.cssText = 'position: absolute; height: 1cap; width: 1px;';
    const host = one.tagName === 'INPUT' ? one.parentElement : one, size = host.style.fontSize;
    if (host !== one) { host.style.fontSize = style.fontSize; }
    host.append(probe);
    const drawn = probe.getBoundingClientRect().height * mm;
    probe.remove();
    host.style.fontSize = size;
    pen.font = `${style.fontStyle} ${style.fontWeight} 1000px ${style.fontFamily}`;
    const share = pen.measureText('H').actualBoundingBoxAscent / 1000;
    return {name: one.className + ' ' + one.textContent.trim().slice(0, 30), drawn: drawn,
      share: share, type: parseFloat(style.fontSize) * mm};
  });
}"""


def hung(open_page, counter, **cookies):
    """Return a page of a device with these choices kept."""
    page = open_page(**WALL)
    page.context.add_cookies(
        [
            {"name": f"collop_{name}", "value": value, "url": counter.base}
            for name, value in cookies.items()
        ]
    )
    return page


def under_the_knife(counter, tag="B-42", style="side"):
    """Put a piece on the block and return the address of its page."""
    begun = counter.shop.cutting.start_break(tag, style, by="marek", key=f"look {tag}")
    return f"/knife/{begun.number}"


@pytest.mark.parametrize("screen", READ)
def test_letters_on_the_wall_are_read_at_three_metres(counter, open_page, screen):
    """What matters 17 to 19 mm, the rest 14 mm at least: NUREG-0700 by `cap_height_mm`."""
    low, high = (float(cap_height_mm(3000, minutes)) for minutes in MINUTES_READ)
    least = float(cap_height_mm(3000, MINUTES_LEAST))
    if screen == "/bench":
        counter.shop.bench.refresh()
    address = under_the_knife(counter) if screen == "/knife" else screen
    page = hung(open_page, counter, place="wall")
    page.goto(counter.base + address)
    first, rest = (page.evaluate(CAPITALS, parts) for parts in READ[screen])
    assert first
    assert rest
    for one in first + rest:
        assert 0.6 <= one["share"] <= 0.75, one
        assert one["type"] * one["share"] >= least, one
        assert one["drawn"] >= least - 0.1, one
    for one in first:
        assert low - 0.1 <= one["drawn"] <= high + 0.1, one
    assert page.evaluate("document.documentElement.scrollWidth") <= WALL["width"]


# Wet targets: size of each, and the least gap between two that stand beside one another. The bar at
# the foot lies over the page, so its gaps are taken apart from those of the page.
WET = """(least) => {
  const shown = 'main button:not(.unseen), main .button, main summary, main .chip, main .choice';
  const all = Array.from(document.querySelectorAll(shown)).filter((one) => one.checkVisibility());
  const boxes = all.map((one) => ({name: one.textContent.trim(), box: one.getBoundingClientRect(),
    isFoot: Boolean(one.closest('.bar, .bench-foot'))}));
  const small = boxes.filter(({box}) => box.width < least || box.height < least)
    .map(({name, box}) => `${name} ${box.width}x${box.height}`);
  let gap = Infinity, pair = '';
  boxes.forEach((one, at) => boxes.slice(at + 1).forEach((other) => {
    if (one.isFoot !== other.isFoot) { return; }
    const a = one.box, b = other.box;
    const wide = Math.max(a.left - b.right, b.left - a.right);
    const apart = Math.max(wide, a.top - b.bottom, b.top - a.bottom);
    if (apart < gap) { gap = apart; pair = `${one.name} | ${other.name}`; }
  }));
  return {small, gap, pair, count: boxes.length};
}"""


@pytest.mark.parametrize("screen", ["/bench", "/bench?line=H8-1", "/rail", "/knife", "block"])
def test_wet_targets_on_the_wall_are_22_mm_with_6_mm_between(counter, open_page, screen):
    """Measured from the boxes of every control of the page."""
    address = under_the_knife(counter) if screen == "block" else screen
    page = hung(open_page, counter, place="wall")
    page.goto(counter.base + address)
    found = page.evaluate(WET, TARGET_PX)
    assert found["count"] >= 2
    assert found["small"] == []
    assert found["gap"] >= GAP_PX, found["pair"]


def finger(page, box, held_ms, others=()):
    """Press with one finger, or several at once, as the touch screen reports it.

    The moments are given, so that a busy machine does not hold the finger longer.
    """
    wire, began = page.context.new_cdp_session(page), time.time()
    points = [
        {"x": one["x"] + one["width"] / 2, "y": one["y"] + one["height"] / 2, "id": number}
        for number, one in enumerate((box, *others))
    ]

    def send(kind, touching, after_ms):
        told = {"type": kind, "touchPoints": touching, "timestamp": began + after_ms / 1000}
        wire.send("Input.dispatchTouchEvent", told)

    send("touchStart", points[:1], 0)
    if others:
        send("touchStart", points, 10)
    send("touchEnd", [], held_ms)
    page.wait_for_timeout(200)


def test_a_wet_glove_acts_by_one_touch_of_a_moment(still_counter, open_page):
    """50 ms do nothing, two fingers do nothing, 200 ms act; so do the mouse and the keyboard."""
    page = open_page(has_touch=True)
    page.goto(still_counter.base + "/bench")
    strip, plan = page.locator("#lost"), page.locator("#to-plan")
    plan.scroll_into_view_if_needed()
    here, beside = plan.bounding_box(), page.locator("#to-farm").bounding_box()
    finger(page, here, 50)
    expect(strip).to_have_text("Touch one thing, a little longer.")
    assert page.url.endswith("/bench")
    finger(page, here, 200, [beside])
    assert page.url.endswith("/bench")
    finger(page, here, 200)
    page.wait_for_url("**/bench/plan")
    page.go_back()
    page.locator("#to-plan").click()
    page.wait_for_url("**/bench/plan")
    page.go_back()
    page.locator("#to-plan").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/bench/plan")


def test_a_dry_page_takes_a_short_touch(still_counter, open_page):
    """Only the wet pages ask for a moment."""
    page = open_page(has_touch=True)
    page.goto(still_counter.base + "/device")
    finger(page, page.locator(".this-device").bounding_box(), 30)
    box = page.get_by_label("Dark, for a cutting-room").locator("..").bounding_box()
    finger(page, box, 30)
    expect(page.get_by_label("Dark, for a cutting-room")).to_be_checked()


@pytest.mark.parametrize(
    ("kept", "room", "is_dark"),
    [("light", "dark", False), ("dark", "light", True), ("system", "dark", True),
     ("system", "light", False)],
)  # fmt: skip
def test_light_and_dark_follow_what_the_device_keeps(still_counter, open_page, kept, room, is_dark):
    """The device's own setting counts only where it was asked for; the page stays without fault."""
    page = open_page(color_scheme=room)
    page.goto(still_counter.base + "/device")
    words = {"light": "Light, for", "dark": "Dark, for", "system": "As the device"}
    page.get_by_label(words[kept]).check()
    page.get_by_role("button", name="Keep for this device").click()
    page.wait_for_url("**/device?done=kept")
    for address in ("/device", "/hook", "/rail", "/sell"):
        page.goto(still_counter.base + address)
        paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
        assert (paper == "rgb(20, 17, 15)") == is_dark
        assert axe_faults(page) == []


PRINTED = ("/ask?heads=12&money=140", "/hook", "/case", "/bench", "/rail", "/reckoning")


@pytest.mark.parametrize("address", PRINTED)
def test_a_page_prints_dark_on_white_without_its_head(still_counter, open_page, address):
    """Also in the dark setting: no head, every letter black, no ground painted."""
    page = hung(open_page, still_counter, ground="dark", place="wall")
    page.goto(still_counter.base + address)
    page.emulate_media(media="print")
    assert page.locator("header.top").is_hidden()
    told = page.evaluate(
        "Array.from(document.querySelectorAll('main, main *')).filter((one) =>"
        " one.checkVisibility() && !one.closest('svg, .dots')).map((one) => getComputedStyle(one))"
        ".map((style) => [style.color, style.backgroundColor, style.display].join())"
    )
    assert told
    inks = {one.rsplit(",", 1)[0] for one in told}
    assert inks <= {"rgb(0, 0, 0),rgba(0, 0, 0, 0)"}


def test_nothing_moves_where_less_motion_is_asked(still_counter, open_page):
    """prefers-reduced-motion: no transition and no animation on any part."""
    page = open_page(reduced_motion="reduce")
    for address in ("/ask", "/device", "/bench", "/knife"):
        page.goto(still_counter.base + address)
        moving = page.evaluate(
            "Array.from(document.querySelectorAll('*')).filter((one) => {"
            " const style = getComputedStyle(one);"
            " return style.animationName !== 'none' || parseFloat(style.transitionDuration) > 0; })"
            ".map((one) => one.outerHTML.slice(0, 80))"
        )
        assert moving == []


def test_a_counter_tablet_has_letters_for_sixty_centimetres(still_counter, open_page):
    """Capitals of 3.5 to 3.8 mm in the running text, and no sideways scroll."""
    low, high = (float(cap_height_mm(600, minutes)) for minutes in MINUTES_READ)
    page = open_page()
    page.context.add_cookies(
        [{"name": "collop_place", "value": "counter", "url": still_counter.base}]
    )
    for address in ("/ask?heads=34&money=310", "/sell", "/case", "/hook"):
        page.goto(still_counter.base + address)
        for one in page.evaluate(CAPITALS, "main"):
            assert low <= one["type"] * one["share"] <= high, one
        assert page.evaluate("document.documentElement.scrollWidth") <= 1180
        assert page.evaluate(SMALL, 44) == []


def test_on_a_phone_the_head_is_one_row_and_a_button_has_the_other_screens(
    still_counter, open_page
):
    """The work begins in the first eighth of the page; Escape closes; unscripted all is there."""
    page = open_page(width=390, height=844)
    page.goto(f"{still_counter.base}/sell")
    assert page.locator(".top").evaluate("(top) => top.offsetHeight") <= 844 / 8
    button, links = page.get_by_role("button", name="Screens"), page.locator("#screens a")
    assert [link.inner_text() for link in links.all() if link.is_visible()] == ["Sell"]
    button.focus()
    page.keyboard.press("Enter")
    expect(button).to_have_attribute("aria-expanded", "true")
    assert all(link.is_visible() for link in links.all())
    assert min(link.bounding_box()["height"] for link in links.all()) >= 44
    page.keyboard.press("Escape")
    expect(button).to_have_attribute("aria-expanded", "false")
    expect(button).to_be_focused()
    page.keyboard.press("Space")
    page.get_by_role("link", name="Day Book").click()
    page.wait_for_url("**/daybook")
    plain = open_page(width=390, height=844, java_script_enabled=False)
    plain.goto(f"{still_counter.base}/sell")
    assert all(link.is_visible() for link in plain.locator("#screens a").all())
    assert not plain.locator(".screens-button").is_visible()
