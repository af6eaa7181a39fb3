"""A hand at a touch screen that counts what it touches.

One touch on a control is one tap. Typing in a field is the touch on that field and no more: the
keys of the keyboard on the screen are not counted, nor are its keys for the next field and for
"go". A list that opens takes two taps: one on the list, one on what is chosen. Scrolling is none.

The page counts its own touches as well, so that a tap that was forgotten here is found out.
"""

from __future__ import annotations

import re

#: Told by every page before anything else runs on it.
_FEEL = ("addEventListener('touchstart', () => window.feltATouch(),"
         " {capture: true, passive: true});")  # fmt: skip
FIRST_MOST, LAST_MOST = 6, 10


class Hand:
    """One finger on one page.

    Attributes
    ----------
    taps : int
        Touches so far.
    felt : int
        Touches the page noticed; what is chosen of a list that the system shows is not among them.
    to_answer : int or None
        Touches up to the first answer to all that was asked; None before `answered`.
    """

    def __init__(self, page, base):
        self.page, self.base = page, base
        self.taps, self.felt, self.listed = 0, 0, 0
        self.to_answer = None
        page.context.expose_binding("feltATouch", self._feel)
        page.add_init_script(_FEEL)

    def _feel(self, _source):
        self.felt += 1

    def begin(self, path="/ask"):
        """Open the page the talk begins at."""
        self.page.goto(self.base + path)

    def settle(self):
        """Wait until no answer is on its way."""
        self.page.wait_for_load_state("networkidle")
        self.page.wait_for_selector(".htmx-request", state="detached")

    def on(self, what):
        """Touch a control."""
        what.tap()
        self.taps += 1
        self.settle()

    def button(self, name):
        """Touch a button or a link that looks like one, by its words."""
        role = "button" if self.page.get_by_role("button", name=name).count() else "link"
        self.on(self.page.get_by_role(role, name=name).first)

    def chip(self, words, within="main"):
        """Touch a choice by its words."""
        self.on(self.page.locator(f"{within} .chip", has_text=re.compile(rf"^\s*{words}")).first)

    def more(self, words):
        """Open what is folded away."""
        self.on(self.page.locator("main summary", has_text=words).first)

    def _field(self, label):
        """Return the field with a label; the buttons beside it may be named after it too."""
        return self.page.locator("input, select").and_(self.page.get_by_label(label)).first

    def write(self, label, text, *, then="Enter"):
        """Touch a field and type into it, with one key of the keyboard to end."""
        field = self._field(label)
        field.tap()
        self.taps += 1
        if field.get_attribute("type") in {"date", "time"}:
            field.fill(text)
        else:
            self.page.keyboard.press("Control+A")
            self.page.keyboard.type(text)
        if then:
            self.page.keyboard.press(then)
        self.settle()

    def next(self, text):
        """Type into the field that the keyboard's key for the next one led to."""
        self.page.keyboard.type(text)

    def pick(self, label, value):
        """Open a list and touch one of its lines."""
        what = self._field(label)
        what.tap()
        self.page.keyboard.press("Escape")
        what.select_option(value)
        self.taps += 2
        self.listed += 1
        self.settle()

    def answered(self):
        """Note that all that was asked is answered on the screen."""
        self.to_answer = self.taps

    def book(self, name):
        """Book the spread on the screen, and return the number of its slip."""
        self.button("Book spread")
        self.page.wait_for_url("**/ask/book/Q*")
        self.quote = self.page.url.rsplit("/", 1)[1]
        return self.say_who(name, re.compile("^Book [0-9]"))

    def say_who(self, name, button):
        """Fill in who collects, and book."""
        self.write("Name", name, then="Tab")
        self.next("4471")
        self.chip("Dot")
        self.button(button)
        self.page.wait_for_url("**/hook/H*")
        return re.search(r"/hook/(H\d+)", self.page.url)[1]

    def words(self):
        """Return what stands on the page, in one line."""
        return " ".join(self.page.locator("main").inner_text().split())

    def done(self):
        """Return the two counts, after the page has told the same."""
        assert self.felt == self.taps - self.listed, (self.felt, self.taps, self.listed)
        assert self.to_answer <= FIRST_MOST
        assert self.taps <= LAST_MOST
        return self.to_answer, self.taps
