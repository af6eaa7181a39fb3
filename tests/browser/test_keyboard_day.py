"""A day at the counter without touch or mouse: ask, spread, book, print, hand over, by keys alone.

Keys are Tab, Shift and Tab, arrows, Space, Enter, and typing. Nothing is clicked, and no field is
reached but by walking to it.
"""

from __future__ import annotations

import re

from collop.measures import WeightUnit
from collop.shop import State

#: More presses of Tab than any page has stops.
MOST_STOPS = 260

# What is in focus, and whether its ring can be seen: it or, for a radio inside a label, its label.
FOCUS = """() => {
  const on = document.activeElement, style = getComputedStyle(on), box = on.getBoundingClientRect();
  const label = on.labels && on.labels.length ? on.labels[0].textContent.trim() : '';
  return {name: [on.tagName, on.id || on.getAttribute('href') || '',
      on.getAttribute('aria-label') || label
      || on.textContent.trim()].join('|').replace(/\\s+/g, ' '),
    ring: style.outlineStyle === 'solid' && parseFloat(style.outlineWidth) >= 2,
    seen: box.bottom > 0 && box.top < innerHeight && box.width > 0};
}"""


class Keys:
    """Two hands on a keyboard, and nothing else.

    Attributes
    ----------
    walked : int
        Stops on the way so far; each showed a ring.
    """

    def __init__(self, page):
        self.page, self.walked = page, 0
        page.add_init_script(
            "for (const kind of ['pointerdown', 'mousedown', 'touchstart']) {"
            " addEventListener(kind, () => { throw new Error('not by keys: ' + kind); }, true); }"
        )

    def walk_to(self, wanted):
        """Press Tab until the stop that is wanted; the ring shows at each stop on the way."""
        before = None
        for _ in range(MOST_STOPS):
            self.page.keyboard.press("Tab")
            on = self.page.evaluate(FOCUS)
            if on["name"].startswith("BODY"):
                continue
            self.walked += 1
            assert on["ring"], on
            assert on["name"] != before or "SUMMARY" not in on["name"], f"held at {before}"
            before = on["name"]
            if re.search(wanted, on["name"]):
                assert on["seen"], on
                return
        raise AssertionError(f"Tab never reached {wanted}")

    def write(self, wanted, text):
        """Walk to a field and type over what is in it."""
        self.walk_to(wanted)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def enter(self, wanted, address):
        """Walk to a button or a link, press Enter, and wait for the page it leads to."""
        self.walk_to(wanted)
        self.page.keyboard.press("Enter")
        self.page.wait_for_url(address)

    def choose(self, wanted):
        """Walk to the first of some choices and go down to the wanted one by arrows."""
        self.walk_to(r"^INPUT\|f-by")
        self.page.keyboard.press("Space")
        for _ in range(8):
            if re.search(wanted, self.page.evaluate(FOCUS)["name"]):
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"the arrows never reached {wanted}")


def ask_and_book(keys, base):
    """Go from the empty ask to the slip, and return the booking's number."""
    page = keys.page
    page.goto(f"{base}/ask")
    keys.write(r"^INPUT\|f-heads", "12")
    page.keyboard.press("Enter")
    page.wait_for_selector(".line")
    keys.write(r"^INPUT\|f-money", "140")
    with page.expect_response(lambda answer: "/ask/spread" in answer.url):
        page.keyboard.press("Enter")
    page.wait_for_url("**money=140**")
    page.wait_for_selector(".htmx-request", state="detached")
    keys.enter("Book spread$", "**/ask/book/Q*")
    keys.write(r"^INPUT\|f-name", "Garden by keys")
    keys.write(r"^INPUT\|f-phone", "4471")
    keys.choose("Dot")
    keys.enter(r"^BUTTON\|\|Book [0-9]", "**/hook/H*")
    return re.search(r"/hook/(H\d+)", page.url)[1]


def test_a_day_by_keys_alone(counter, open_page):
    """Ask, spread, book, ticket, hand over; the ring is seen at every stop, and none holds."""
    page = open_page()
    keys = Keys(page)
    number = ask_and_book(keys, counter.base)
    booking = counter.shop.find("Garden by keys")[0]
    assert booking.id == number
    # the tickets of its lines
    keys.enter(rf"^A\|/tickets/booking/{number}\|", f"**/tickets/booking/{number}**")
    print_tickets(keys, booking)
    keys.enter(rf"^A\|/hook/{number}\|", f"**/hook/{number}")
    keys.enter(rf"^A\|/hook/{number}/pick-up\|", "**/pick-up")
    hand_over(keys, counter, booking)
    assert keys.walked > 50


def print_tickets(keys, booking):
    """Weigh the first line and print its ticket, by keys: lot, packing, scale, who."""
    page = keys.page
    pounds = f"{booking.lines[0].weight.decimal(WeightUnit.LB, 2)}"
    keys.walk_to(r"^INPUT\|\|.*held")
    page.keyboard.press("Space")
    keys.walk_to(r"^SELECT\|f-tare-")
    page.keyboard.press("End")
    keys.write(r"^INPUT\|f-gross-", pounds)
    keys.choose("Dot")
    keys.walk_to(r"^BUTTON\|\|Print what was weighed")
    page.keyboard.press("Enter")
    page.wait_for_selector(".ticket-link")
    assert page.locator(".ticket-link").count() == 1


def hand_over(keys, counter, booking):
    """Weigh each line as booked and hand it over, by keys; the slip says so."""
    page = keys.page
    keys.enter(rf"^A\|/hook/{booking.id}/hand-over\|", "**/hand-over")
    for line in booking.lines:
        pounds = f"{line.weight.decimal(WeightUnit.LB, 2)}"
        keys.write(rf"^INPUT\|f-weighed-{line.id}\|", pounds)
    keys.walk_to("Work out the money$")
    page.keyboard.press("Enter")
    page.wait_for_selector(".sum")
    keys.choose("Dot")
    keys.enter(r"^BUTTON\|\|Hand over$", re.compile(r"done=gone"))
    assert counter.shop.booking(booking.id).state is State.GONE
    assert "Handed over" in page.locator("main").inner_text()
