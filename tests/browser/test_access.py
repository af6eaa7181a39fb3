"""Every page and state: automatic accessibility rules, three widths, large text, target sizes."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest

from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine

AXE = (Path(__file__).parent / "vendor" / "axe-4.14.1.min.js").read_text(encoding="utf-8")
WHEN = "day=2026-06-12&time=18:30"
STATES = {
    "ask empty": "/ask",
    "ask": f"/ask?heads=34&big=16&money=310&contains=sesame&no_n=7&no_what=pork&{WHEN}",
    "ask no": f"/ask?heads=26&money=55&{WHEN}",
    "ask error": f"/ask?heads=-3&money=x&{WHEN}",
    "customer": f"/ask/customer?heads=34&money=310&{WHEN}",
    "case": "/case",
    "case none": "/case?find=zzz",
    "case cover": "/case?cover=1",
    "hook": "/hook",
    "hook found": "/hook?find=rowing",
    "hook none": "/hook?find=zzz",
    "slip": "/hook/H8",
    "hand over": "/hook/H8/hand-over",
    "pick-up": "/hook/H8/pick-up",
    "done and weighed": "/works?what=H1-1",
    "add to it": "/hook/H8/add",
    "add to it, money": "/hook/H8/add?cut=C11&amount=2",
    "add to it, error": "/hook/H8/add?cut=C11&amount=x",
    "missing": "/hook/H999",
    "cards": "/cards",
    "tour": "/tour",
    "put away": "/put-away",
    "styles": "/styles",
    "new line": "/case/new",
    "cooking": "/case/C17/cook",
    "sums": "/chalk/sums",
    "equation": "/chalk/sums/equation?tag=B-41F",
    "equation error": "/chalk/sums/equation?bought=x&c1_name=a&c1_weight=y&step=0.05&ends=z",
    "share cost": "/chalk/sums/share-cost?tag=P-118",
    "whole": "/chalk/sums/whole?tag=P-118",
    "mark down": "/chalk/sums/mark-down?line=C31",
    "put out": "/chalk/sums/put-out?line=C11",
    "clearing": "/chalk/sums/clearing?from=shop",
    "demand": "/chalk/sums/demand?line=C11",
    "demand error": "/chalk/sums/demand?sales=7",
    "choices": "/chalk/choices",
    "blend": "/chalk/sums/blend",
    "bench": "/bench",
    "bench weigh": "/bench?line=H8-1",
    "bench clean": "/bench?do=clean",
    "bench paper": "/bench/paper",
    "plan": "/bench/plan",
    "plan compared": "/bench/plan?keep=L-207&do=B-41H:hind-mince:any&try=B-41H",
    "farm call": "/farm",
    "reckoning": "/reckoning",
    "reckoning error": "/reckoning?since=x",
    "reckoning animal": "/reckoning/B-41?explain=yes",
    "reckoning slips": "/reckoning/slips?week=2026-06-09",
    "reckoning drift": "/reckoning/drift",
    "learned": "/learning",
    "how it ate": "/hook/H11/ate",
    "how it ate, not gone": "/hook/H2/ate",
    "farm call error": "/farm?lamb=x",
    "fire": "/hook/H2/fire",
    "fire, no food": "/hook/H3/fire",
    "fire, gone": "/fire/nothing-here",
    "fire sums": "/fire-sums",
    "heat": "/fire-sums/heat?thick=30&scale=F&start=41&medium=350&until=145&rest=10&at=5+10",
    "heat error": "/fire-sums/heat?thick=x&start=y",
    "lethality": "/fire-sums/lethality?scale=F&history=0+40%0A30+150%0A40+150",
    "free by": "/free-by?day=2026-06-11",
    "free by, answer": "/free-by?day=2026-06-11&cut=C10&amount=5",
    "free by, error": "/free-by?day=x&cut=C10&amount=y",
    "book for a date": "/free-by/book?day=2026-06-13&cut=C01&amount=10",
    "long list": "/long-list",
    "long list error": "/long-list?week=x",
    "buying": "/buying",
    "buying live": "/buying/new",
    "buying hanging": "/buying/new?basis=hanging",
    "buying box": "/buying/new?basis=box",
    "standing": "/standing?until=2026-06-24",
    "standing order": "/standing/S1",
    "standing order changed": "/standing/S1/change",
    "to tell": "/hook/to-tell",
    "tickets": "/tickets",
    "ticket refused": "/tickets?case=C02&gross=4.87",
    "ticket kept": "/tickets/T3",
    "ticket facts": "/tickets/line/C25",
    "tares": "/tickets/tares",
    "tickets of a booking": "/tickets/booking/H2",
    "codes": "/codes",
    "codes read": "/codes?code=%2801%2990614141000015%283202%29000244%283922%291584",
    "codes wrong": "/codes?code=212345928753",
    "rules": "/rules",
    "rule": "/rules/SF006",
    "sums of rules": "/rules/sums",
    "net weight": "/net-weight",
    "trace": "/trace?lot=T3",
    "recall": "/recall?lot=B-41F.03",
    "recall none": "/recall?lot=nix",
    "day book": "/daybook",
    "cold": "/daybook/cold",
    "clean-down": "/daybook/clean",
    "boxes": "/daybook/receive",
    "scale check": "/daybook/scale",
    "probe check": "/daybook/probe",
    "cold places": "/daybook/places",
    "a word": "/daybook/note?line=C3",
    "cooled": "/daybook/cooled",
    "inspector": "/daybook/print",
    "paper sheet": "/daybook/paper",
    "mince": "/daybook/mince",
    "mince begin": "/daybook/mince/begin",
    "batch": "/daybook/batch",
    "batch begin": "/daybook/batch/begin",
    "freezer orders": "/freezer",
    "freezer order new": "/freezer/new?tag0=L-209&price0=7.40&bones0=take&tag1=B-41F.06",
    "freezer order error": "/freezer/new?tag0=L-209&thick0-3=99",
    "keeping": "/keeping",
    "lock-up": "/lockup",
    "lock-up line": "/lockup/line/C02?do=freeze&weight=3",
    "papers": "/papers",
    "papers error": "/papers/set.pdf?day=x",
    "papers back": "/papers/back",
    "papers back sales": "/papers/back/sales",
    "papers back cold": "/papers/back/cold",
    "papers back bench": "/papers/back/bench",
    "papers back bookings": "/papers/back/bookings",
    "papers back orders": "/papers/back/orders",
    "exchange": "/exchange",
    "sell": "/sell",
    "sell, lines": "/sell?line=cut%3DC11%26net%3D48987975960lb%26asked%3D45359237000lb&by=dot",
    "sell, far over": "/sell?line=cut%3DC04%26net%3D68038855500lb%26asked%3D45359237000lb",
    "sell, error": "/sell?line=cut%3DC12%26net%3D136077711000lb&find=zzz",
    "slip of a booking": "/sell/H8",
    "takings": "/takings",
    "takings error": "/takings?day=x",
    "waiting": "/waiting",
    "this device": "/device?done=kept",
    "parts": "/parts",
    "people": "/people",
    "log": "/log?check=1",
    "log error": "/log?from=x",
    "what if": "/replay",
    "what if changed": "/replay?days=1&tag-0=B-41H&style-0=-",
    "what if error": "/replay?day=never&days=12",
}


@pytest.fixture(scope="module")
def planned_counter(still_counter):
    """Return the counter with a cutting plan, as a shop has it all day."""
    shop, pound = still_counter.shop, Weight.of(1, WeightUnit.LB)
    # an order that went, and a cutting test of it, for the pages of what was learned
    new = NewBooking(name="Gone", collect_at=shop.now() + timedelta(hours=2), by="dot", heads=2,
                     lines=(NewLine("C16", pound),))  # fmt: skip
    gone = shop.book(new, key="gone")
    shop.hand_over(gone.id, {f"{gone.id}-1": pound}, by="dot", key="went")
    shop.learning.test("C01", pound * 3, pound * 2, by="dot", key="test")
    still_counter.shop.bench.refresh()
    return still_counter


# Width and height of every control as a finger meets it: a labelled box counts with its label, and
# links inside running text are exempt (WCAG 2.5.8, inline).
SMALL = """(floor) => {
  const bad = [];
  for (const part of document.querySelectorAll('a, button, input, select, summary')) {
    if (part.type === 'hidden' || part.closest('.unseen, [hidden], .skip')) { continue; }
    if (part.matches('p a, li a') && getComputedStyle(part).display === 'inline') { continue; }
    const label = part.matches('[type=radio], [type=checkbox]') ? part.closest('label') : null;
    const box = (label || part).getBoundingClientRect();
    if (!box.width || !box.height) { continue; }
    const least = part.closest('table, .problem') ? 24 : floor;
    if (box.width < least - 0.5 || box.height < least - 0.5) {
      const name = part.textContent.trim() || part.name;
      bad.push(`${part.tagName} ${name} ${box.width}x${box.height}`);
    }
  }
  return bad;
}"""


def axe_faults(page):
    """Return the violations axe-core finds on the page as it stands."""
    page.evaluate(AXE)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{fault['id']}: {fault['help']}: {[node['html'][:120] for node in fault['nodes']]}"
        for fault in found["violations"]
    ]


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("width", [320, 820, 1280])
def test_each_width_has_no_violation_and_large_targets(planned_counter, open_page, state, width):
    """All rules of the vendored checker, reflow, and controls of 44 px, 24 px inside tables."""
    page = open_page(width=width, height=800)
    page.goto(planned_counter.base + STATES[state])
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(SMALL, 44) == []
    assert axe_faults(page) == []


#: Main pages of the rooms, looked at in Spanish too: its words are longer.
SPANISH = ("ask", "case", "hook", "sell", "bench", "plan", "farm call", "day book", "fire",
           "equation", "rules", "recall")  # fmt: skip


@pytest.mark.parametrize("state", SPANISH)
def test_spanish_pages_have_no_violation_and_large_targets(planned_counter, open_page, state):
    """A tablet that reads Spanish: all rules of the checker, and nothing too wide."""
    page = open_page(width=820, height=1180)
    page.context.add_cookies(
        [{"name": "collop_language", "value": "es", "url": planned_counter.base}]
    )
    page.goto(planned_counter.base + STATES[state])
    assert page.get_attribute("html", "lang") == "es"
    assert page.evaluate("document.documentElement.scrollWidth") <= 820
    assert page.evaluate(SMALL, 44) == []
    assert axe_faults(page) == []


def twice_the_text(page):
    """Set the size of text to 200 %, as a person does in the browser."""
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})


@pytest.mark.parametrize("state", STATES)
def test_text_at_two_hundred_per_cent_keeps_everything(planned_counter, open_page, state):
    """Twice the text size on a 1280 px screen: no sideways scroll, no cut text."""
    page = open_page(width=1280, height=900)
    twice_the_text(page)
    page.goto(planned_counter.base + STATES[state])
    assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == "32px"
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    cut = page.evaluate(
        "Array.from(document.querySelectorAll('button, .button, .chip, h1, h2, .sum p'))"
        ".filter(part => part.scrollWidth > part.clientWidth + 1"
        " && getComputedStyle(part).display !== 'inline' && !part.classList.contains('unseen'))"
        ".map(part => part.textContent.trim())"
    )
    assert cut == []


def test_a_phone_at_two_hundred_per_cent_never_scrolls_sideways(planned_counter, open_page):
    """Twice the text size on a phone: pages are as wide as it is; a wide table scrolls alone."""
    page = open_page(width=390, height=844)
    twice_the_text(page)
    wide = {}
    for state, path in STATES.items():
        page.goto(planned_counter.base + path)
        assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == "32px"
        wide[state] = page.evaluate("document.documentElement.scrollWidth")
    assert {state: width for state, width in wide.items() if width > 390} == {}


def test_states_reached_by_taps_pass_axe_too(counter, open_page):
    """Why, swap, before, the booking form with a fault, the slip, and a short line."""
    page = open_page()
    page.goto(counter.base + STATES["ask"])
    for name in ("Why?", "Swap"):
        with page.expect_response(lambda answer: "/ask/spread" in answer.url):
            page.get_by_role("button", name=name, exact=True).click()
        page.wait_for_selector(".htmx-request", state="detached")
        assert axe_faults(page) == []
    page.get_by_label("Heads", exact=True).fill("-3")
    page.get_by_label("Heads", exact=True).press("Enter")
    page.wait_for_selector(".stamp")
    assert axe_faults(page) == []
    page.goto(counter.base + STATES["ask"])
    page.get_by_role("button", name="Book spread").click()
    page.wait_for_url("**/ask/book/Q*")
    assert axe_faults(page) == []
    page.get_by_role("button", name=re.compile("^Book [0-9]")).click()
    page.wait_for_selector(".problem")
    assert axe_faults(page) == []
    page.goto(f"{counter.base}/hook/H8/hand-over")
    page.get_by_label("Weighed").first.fill("4.15")
    page.get_by_role("button", name="Work out the money").click()
    page.wait_for_selector(".short-ways")
    assert axe_faults(page) == []


def test_the_re_home_page_after_a_release_passes_too(counter, open_page):
    """Two legs boned, the wedding off: rules, three widths, target sizes and large text."""
    work = {"by": "marek", "key": "bone", "words": "boned and tied"}
    weights = [Weight.of(one, WeightUnit.LB) for one in ("13.0", "9.36")]
    counter.shop.pickup.work("H1-1", *weights, **work)
    counter.shop.release("H1", why="the wedding is off", by="ines", key="off")
    for width in (320, 820, 1280):
        page = open_page(width=width, height=800)
        page.goto(f"{counter.base}/hook/H1/re-home")
        assert page.locator(".move-list").count() >= 3
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(SMALL, 44) == []
        assert axe_faults(page) == []
    twice_the_text(page)
    page.goto(f"{counter.base}/hook/H1/re-home")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280


def test_the_sticky_bar_never_hides_the_focused_control(still_counter, open_page):
    """WCAG 2.4.11: each control that gets the focus is above the bar."""
    page = open_page()
    page.goto(still_counter.base + STATES["ask"])
    for _ in range(60):
        page.keyboard.press("Tab")
        hidden = page.evaluate(
            "(() => { const on = document.activeElement, bar = document.querySelector('.bar');"
            " if (!bar || bar.contains(on) || on === document.body) { return false; }"
            " const box = on.getBoundingClientRect();"
            " return box.top >= bar.getBoundingClientRect().top; })()"
        )
        assert not hidden


def test_opened_lots_and_their_faults_pass_axe_too(counter, open_page):
    """Put away: a lot unfolded, and the same after a fault."""
    page = open_page()
    page.goto(counter.base + "/put-away")
    page.locator("summary", has_text="B-41F.07").click()
    assert axe_faults(page) == []
    page.locator("details[open] button[value=bin]").click()
    page.wait_for_selector(".problem")
    assert axe_faults(page) == []
