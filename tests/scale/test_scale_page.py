"""The script of the page in Chromium: live figure, keys of a scale, keys of a hand.

The page's clock stands, so that "at once" and "a tenth of a second later" are exact on any machine.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from playwright.sync_api import expect

import collop.web

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
SCRIPT = Path(collop.web.__file__).parent / "static" / "scale.js"
BASE = "http://counter.test"
HEADERS = {"Content-Security-Policy": "default-src 'self'; form-action 'self'"}
PAGE = """<!doctype html><title>Scale</title><form action="/sent">
<input id="name" name="name" value="Dot"><input id="who" type="checkbox" name="who">
<input id="first" name="first" data-scale><input id="second" name="second" {second}>
<button id="work">Work out</button></form>{live}<script src="/scale.js"></script>"""
LIVE = '<output data-scale-live id="live"></output><p data-scale-said id="said"></p>'
A_HAND_MS = 100
LOOKS = 20

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not Path(CHROMIUM).is_file(), reason=f"no Chromium at {CHROMIUM}"),
]


class Counter:
    """A page with the script, whose scale says what it is told and whose forms are noted."""

    def __init__(self, chromium, *, live, lines, submit):
        self.seen, self.asked, self.sent, self.errors = None, 0, [], []
        second = "data-scale" if lines == 2 else ""
        self.html = PAGE.format(live=LIVE if live else "", second=second)
        if submit:
            self.html = self.html.replace("data-scale>", 'data-scale="submit">')
        self.page = chromium.new_page()
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.route("**/*", self._answer)
        self.page.clock.install(time=0)
        self.page.goto(f"{BASE}/")
        self.page.clock.pause_at(3_600_000)

    def _answer(self, route):
        path = route.request.url.removeprefix(BASE)
        if path == "/scale.js":
            route.fulfill(path=SCRIPT, headers={"Content-Type": "text/javascript"})
        elif path == "/scale.json":
            self.asked += 1
            body = json.dumps(self.seen) if self.seen else ""
            route.fulfill(status=200 if self.seen else 204, body=body)
        else:
            if path.startswith("/sent"):
                self.sent.append(path)
            route.fulfill(body=self.html, headers=HEADERS, content_type="text/html")

    def put(self, text, state="stable", age_s=0.4):
        """Put something on the pan and let the page look, until it shows it."""
        self.seen = {"text": text, "state": state, "stable": state in {"stable", "zero"},
                     "age_s": age_s, "sentence": "Take some off."}  # fmt: skip
        self.look(text or "--")

    def look(self, shown):
        """Let the page look at the scale until it shows `shown` anew."""
        live = self.page.locator("#live")
        live.evaluate("live => { live.textContent = ''; }")
        for _ in range(LOOKS):  # the first may still wait for an answer from before
            self.page.clock.run_for(300)
            try:
                expect(live).to_have_text(shown, timeout=500)
            except AssertionError:
                continue
            return
        expect(live).to_have_text(shown)

    def scale_types(self, keys):
        """Send keys as a scale does: no time between them."""
        for key in keys:
            self.page.keyboard.press("Enter" if key == "\r" else "Space" if key == " " else key)

    def hand_types(self, keys):
        """Send keys as a hand does: a tenth of a second apart."""
        for key in keys:
            self.page.clock.run_for(A_HAND_MS)
            self.scale_types(key)

    def value(self, field):
        """Return what stands in a field."""
        return self.page.locator(f"#{field}").input_value()


@pytest.fixture
def counter(chromium):
    made = []

    def opened(*, live=False, lines=1, submit=False):
        made.append(Counter(chromium, live=live, lines=lines, submit=submit))
        return made[-1]

    yield opened
    for one in made:
        one.page.close()
        assert one.errors == []


def test_a_page_without_a_live_figure_asks_no_scale(counter):
    """No request in three seconds."""
    page = counter()
    page.page.clock.run_for(3000)
    assert page.asked == 0


def test_the_live_figure_shows_the_scale_and_fills_the_field(counter):
    """Moving is shown and not taken; stable is taken; its state and age stand beside it."""
    page = counter(live=True)
    page.put("10.03 lb", "moving")
    assert page.value("first") == ""
    page.put("9.94 lb")
    assert page.value("first") == "9.94 lb"
    expect(page.page.locator("#said")).to_have_text("stable, 0.4 s")
    expect(page.page.locator("#live")).to_have_attribute("data-scale-live", "stable")


def test_an_emptied_pan_leaves_the_weight_in_the_field(counter):
    """Zero, trouble and silence are shown; what was taken stays."""
    page = counter(live=True)
    page.put("9.94 lb")
    page.put("0.00 lb", "zero")
    page.put("", "over-limit")
    expect(page.page.locator("#said")).to_have_text("Take some off.")
    page.seen = None
    page.look("no scale")
    assert page.value("first") == "9.94 lb"


def test_what_a_hand_typed_is_left_alone_until_it_is_cleared(counter):
    """The live figure never writes over a hand; an emptied field follows the scale again."""
    page = counter(live=True)
    page.page.focus("#first")
    page.hand_types("4.2")
    page.put("9.94 lb")
    assert page.value("first") == "4.2"
    page.page.locator("#first").press("Control+a")
    page.page.keyboard.press("Delete")
    page.look("9.94 lb")
    assert page.value("first") == "9.94 lb"


def test_with_two_fields_the_scale_goes_where_one_stands(counter):
    """Nothing is filled without focus, and the piece of the first field never fills the second."""
    page = counter(live=True, lines=2)
    page.put("9.94 lb")
    assert (page.value("first"), page.value("second")) == ("", "")
    page.page.focus("#first")
    page.look("9.94 lb")
    page.page.focus("#second")
    page.look("9.94 lb")
    assert (page.value("first"), page.value("second")) == ("9.94 lb", "")
    page.put("0.00 lb", "zero")
    page.put("9.94 lb")
    assert (page.value("first"), page.value("second")) == ("9.94 lb", "9.94 lb")


@pytest.mark.parametrize("focus", ["#first", "#name", "#who", "#work", "body"])
def test_the_keys_of_a_scale_go_into_its_field_from_anywhere(counter, focus):
    """What had the focus is as before, no button is pressed, and Enter sends nothing."""
    page = counter()
    if focus != "body":
        page.page.focus(focus)
    page.scale_types("ST 9.94lb\r")
    assert page.value("first") == "ST 9.94lb"
    assert page.value("name") == "Dot"
    assert not page.page.locator("#who").is_checked()
    assert page.sent == []


def test_the_keys_of_a_scale_fill_the_first_empty_of_two_fields(counter):
    """One print after another fills one field after another."""
    page = counter(lines=2)
    page.page.focus("#name")
    page.scale_types("9.94 lb\r")
    page.page.clock.run_for(2000)
    page.scale_types("4.85 lb\r")
    assert (page.value("first"), page.value("second")) == ("9.94 lb", "4.85 lb")
    assert page.value("name") == "Dot"


def test_the_live_figure_leaves_what_the_scale_typed(counter):
    """A print of the scale was sent on purpose; what comes on the pan later does not replace it."""
    page = counter(live=True)
    page.scale_types("9.94 lb\r")
    page.put("3.10 lb")
    assert page.value("first") == "9.94 lb"


def test_a_field_that_asks_for_it_is_sent_by_the_scale(counter):
    """The Enter of the scale sends the form of such a field, with the weight in it."""
    page = counter(submit=True)
    page.page.focus("#name")
    with page.page.expect_navigation():
        page.scale_types("9.94 lb\r")
    assert len(page.sent) == 1
    assert "first=9.94+lb" in page.sent[0]


def test_a_scale_that_ends_with_two_enters_sends_once(counter):
    """The second Enter, in whatever has the focus, sends nothing."""
    page = counter(submit=True)
    page.page.evaluate("""() => { window.sends = 0; document.forms[0].addEventListener("submit",
        event => { event.preventDefault(); window.sends += 1; }); }""")
    page.page.focus("#name")
    page.scale_types("9.94 lb\r\r")
    assert page.page.evaluate("window.sends") == 1


def test_a_hand_types_and_sends_as_ever(counter):
    """Keys a tenth of a second apart stay where they are typed, and Enter sends the form."""
    page = counter()
    page.page.focus("#name")
    page.page.keyboard.press("End")
    page.hand_types(" 495")
    assert page.value("name") == "Dot 495"
    with page.page.expect_navigation():
        page.hand_types("\r")
    assert len(page.sent) == 1
    assert "first=&" in page.sent[0]


def test_two_quick_keys_of_a_hand_are_no_scale(counter):
    """A burst needs three keys: 12 and Enter struck at once still send the form."""
    page = counter()
    page.page.focus("#name")
    with page.page.expect_navigation():
        page.scale_types("12\r")
    assert len(page.sent) == 1
