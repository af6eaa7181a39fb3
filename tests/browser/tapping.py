"""A hand that counts its taps: what a butcher touches, from the first page to the answer.

Each touch of a control is one tap; a field touched to type in is one, whatever is typed and
whether or not the Enter key of the keyboard ends it; a list to choose from is two, open and
choose.  Typing and scrolling are free.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Locator, Page, expect

__all__ = ["Hand"]


class Hand:
    """Touches a page, counts the touches, and notes when the first answer stood on it.

    Parameters
    ----------
    page : Page
        The open page; where it stands is where the conversation starts.

    Attributes
    ----------
    taps : int
        Touches so far.
    answered : int or None
        Touches until the first answer; None as long as there is none.
    """

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = 0
        self.answered: int | None = None

    def touch(self, what: Locator) -> None:
        """Touch a control that changes nothing but this page."""
        what.click()
        self.taps += 1
        self._settle()

    def follow(self, what: Locator) -> None:
        """Touch a link or a button that leads to a new page, and wait for it."""
        with self._new_page():
            what.click()
        self.taps += 1

    def ask(self, what: Locator) -> None:
        """Touch a control of the desk that the counter answers, and wait for the answer."""
        with self.page.expect_response(lambda one: "/ask/spread" in one.url):
            what.click()
        self.taps += 1
        self._settle()

    def write(self, field: Locator, text: str) -> None:
        """Touch a field and type; it stays open, as the next touch ends it."""
        field.click()
        self.taps += 1
        self._settle()
        field.press("Control+a")
        self.page.keyboard.type(text)

    def ask_by(self, field: Locator, text: str) -> None:
        """Touch a field of the desk, type, and end it by Enter: the counter answers."""
        self.write(field, text)
        with self.page.expect_response(lambda one: "/ask/spread" in one.url):
            self.page.keyboard.press("Enter")
        self._settle()

    def send_by(self, field: Locator, text: str) -> None:
        """Touch a field, type, and end it by Enter: a new page comes."""
        self.write(field, text)
        with self._new_page():
            self.page.keyboard.press("Enter")

    def set(self, field: Locator, text: str) -> None:
        """Touch a field for a day or an hour and type it, whatever the order of its parts."""
        field.click()
        self.taps += 1
        self._settle()
        field.fill(text)

    def choose(self, field: Locator, *, value: str) -> None:
        """Open a list and choose: two taps."""
        field.select_option(value=value)
        self.taps += 2
        self._settle()

    def has_answer(self) -> None:
        """Note that the first answer stands on the page now."""
        assert self.answered is None
        self.answered = self.taps

    def button(self, name: str) -> Locator:
        """Return the first button with a name that begins so."""
        return self.page.get_by_role("button", name=re.compile(f"^{name}")).first

    def link(self, name: str) -> Locator:
        """Return the first link or button-like link with exactly this name."""
        return self.page.get_by_role("link", name=name, exact=True).first

    def text(self) -> str:
        """Return what stands on the page, in one line."""
        return " ".join(self.page.locator("main").inner_text().split())

    @contextmanager
    def _new_page(self) -> Iterator[None]:
        self.page.evaluate("window.isOld = true")
        yield
        self.page.wait_for_function("!window.isOld && document.readyState === 'complete'")

    def _settle(self) -> None:
        expect(self.page.locator(".htmx-request")).to_have_count(0)
