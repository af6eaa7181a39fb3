"""Long work says that it goes on, and can be stopped; what writes goes on to its end."""

from __future__ import annotations

import json
import shutil
import threading
import time

import pytest
from playwright.sync_api import expect

import collop.spread
from collop.solver import Stopped, new_solver

DEADLINE_S = 60


class Slow:
    """The kernel, which on demand runs one program after another until it is stopped."""

    def __init__(self, kernel):
        self.kernel, self.is_slow = kernel, False
        self.stopped = threading.Event()

    def __call__(self, problem):
        """Answer at once, or not at all."""
        until = time.monotonic() + DEADLINE_S
        while self.is_slow and time.monotonic() < until:
            try:
                new_solver(1e-7, {}).run()
            except Stopped:
                self.stopped.set()
                raise
            time.sleep(0.01)
        return self.kernel(problem)


@pytest.fixture
def slow(demo_file, tmp_path, monkeypatch, counter_at):
    """Yield a counter and its kernel."""
    kernel = Slow(collop.spread.answer)
    monkeypatch.setattr("collop.spread.answer", kernel)
    path = tmp_path / "shop.db"
    shutil.copy(demo_file, path)
    counter = counter_at(path)
    yield counter, kernel
    kernel.is_slow = False
    counter.stop()
    counter.shop.close()


# The driver waits for a page that is on its way, so the page itself notes what the strip says, and
# touches Stop when it says so.
LATER = """([what, stop]) => {
  const strip = document.getElementById("working"), said = [];
  sessionStorage.setItem("said", "[]");
  new MutationObserver(() => {
    said.push(strip.hidden ? "" : strip.innerText.replace(/\\s+/g, " "));
    sessionStorage.setItem("said", JSON.stringify(said));
    if (stop && strip.innerText.includes(stop)) { strip.querySelector("button").click(); }
  }).observe(strip, {attributes: true, childList: true, subtree: true});
  setTimeout(() => document.querySelector(what).click(), 0);
}"""
LINK = """(main) => {
  main.insertAdjacentHTML("afterbegin", '<a href="/ask?heads=44" id="long">A long one</a>');
}"""


def said(page):
    """Return what the strip said, in order; empty texts are moments when it was hidden."""
    return json.loads(page.evaluate("sessionStorage.getItem('said')"))


@pytest.mark.parametrize("by", ["button", "key"])
def test_a_tap_that_takes_long_is_stopped_and_the_screen_keeps_the_last_answer(slow, open_page, by):
    """The strip counts the seconds; stopped, the kernel ends, and the next tap is answered."""
    counter, kernel = slow
    page = open_page()
    page.goto(f"{counter.base}/ask?heads=20")
    strip, total = page.locator("#working"), page.locator(".sum b").first
    was = total.inner_text()
    expect(strip).to_be_hidden()
    kernel.is_slow = True
    page.get_by_label("Heads", exact=True).fill("35")
    page.keyboard.press("Tab")
    expect(strip).to_be_visible()
    expect(strip.get_by_role("status")).to_have_text("Working it out")
    expect(strip).to_contain_text("1 s")
    assert not kernel.stopped.is_set()
    if by == "button":
        strip.get_by_role("button", name="Stop").click()
    else:
        page.keyboard.press("Escape")
    expect(strip).to_be_hidden()
    expect(page.locator("#lost")).to_have_text(
        "Stopped, and nothing was written. The screen shows the last answer."
    )
    assert kernel.stopped.wait(DEADLINE_S)
    assert total.inner_text() == was
    kernel.is_slow = False
    page.get_by_label("Heads", exact=True).fill("36")
    page.keyboard.press("Tab")
    expect(total).not_to_have_text(was)
    expect(strip).to_be_hidden()
    expect(page.locator("#lost")).to_be_hidden()


def test_a_page_that_takes_long_is_waited_for_or_stopped(slow, open_page):
    """A link to a page in work: no stale copy is shown for it, and Stop stays where one was."""
    counter, kernel = slow
    page = open_page()
    page.goto(f"{counter.base}/ask?heads=20")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.reload()
    kernel.is_slow = True
    page.goto(f"{counter.base}/hook")
    page.locator("main").evaluate(LINK)
    # past the two seconds after which a server that is away has its copy shown
    page.evaluate(LATER, ["#long", "4 s"])
    assert kernel.stopped.wait(DEADLINE_S)
    expect(page.locator("#lost")).to_be_visible()
    assert "Working it out 4 s Stop" in said(page)
    expect(page.locator("#working")).to_be_hidden()
    assert page.url.endswith("/hook")


def test_what_is_being_written_has_no_stop(still_counter, open_page):
    """A reading on its way is told to be written, without a button beside it."""
    page = open_page(service_workers="block")
    let_go = []
    page.route("**/daybook/cold", lambda route: (
        let_go.append(route) if route.request.method == "POST" else route.continue_()
    ))  # fmt: skip
    page.goto(f"{still_counter.base}/daybook/cold")
    page.locator(".day-place").first.click()
    page.get_by_label("What the thermometer says").fill("38")
    page.get_by_text("Kofi", exact=True).click()
    page.evaluate(LATER, ["main form [type=submit]", ""])
    until = time.monotonic() + DEADLINE_S
    while not let_go and time.monotonic() < until:
        page.wait_for_timeout(50)
    page.wait_for_timeout(3000)
    let_go.pop().abort("aborted")
    assert let_go == []
    told = [words for words in said(page) if words]
    assert "Being written: keep this page open 1 s" in told
    assert not any("Stop" in words for words in told)
