"""What a page weighs, and how long it takes to answer a touch or a key.

    .venv/bin/python benchmarks/hand/pages.py [--rounds 3] [--slowed 4]

A demo shop is served by a process of its own and driven in Chromium at 1180 by 820. Bytes are those
of a first visit with nothing kept: page, styles, scripts and pictures, as they came over the wire
and as they are. An interaction is a touch or a key on a page; how long it takes is what the browser
itself says (Event Timing, W3C; the time to the next paint, which it rounds to 8 ms). An answer is
the time from a touch that asks the server to the new content being there. ``--slowed 4`` makes the
browser's processor four times slower, as a cheap tablet is.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "src"), str(HERE.parents[1] / "reliability")]

from playwright.sync_api import Page, sync_playwright  # noqa: E402 -- the paths come first
from served import served  # noqa: E402

from collop.shop import StillClock, create_shop  # noqa: E402

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ASK = "/ask?heads=34&big=16&money=310&contains=sesame&day=2026-06-12&time=18:30"
PAGES = (
    "/ask", ASK, "/sell", "/case", "/hook", "/rail", "/knife", "/bench", "/chalk", "/reckoning",
    "/long-list", "/yields", "/tickets", "/daybook", "/lockup", "/rules", "/free-by?day=2026-06-11",
)  # fmt: skip
#: Notes every interaction of the page for `p95`; 16 ms is the least the browser tells of.
_WATCH = """() => { window.told = []; new PerformanceObserver(list => {
  for (const one of list.getEntries()) if (one.interactionId) window.told.push(one.duration);
}).observe({type: 'event', durationThreshold: 16, buffered: true}); }"""
_MOST = 6
_SETTLES_MS = 1000


def p95(found: list[float]) -> float:
    """Return the 95th percentile, the next higher one found."""
    return sorted(found)[min(len(found) - 1, int(len(found) * 0.95))]


def weight_of(page: Page, address: str) -> tuple[int, int]:
    """Return bytes over the wire and bytes as they are of a first visit."""
    wire = page.context.new_cdp_session(page)
    wire.send("Network.enable")
    sent, whole = [], []
    wire.on("Network.loadingFinished", lambda told: sent.append(told["encodedDataLength"]))
    wire.on("Network.dataReceived", lambda told: whole.append(told["dataLength"]))
    # a page that listens to the scale is never idle
    page.goto(address, wait_until="load")
    page.wait_for_timeout(_SETTLES_MS)
    wire.detach()
    return int(sum(sent)), int(sum(whole))


def touched(page: Page, address: str, rounds: int) -> list[float]:
    """Touch what answers on the page itself: summaries, fields, checks; return the times [ms]."""
    # a page that listens to the scale is never idle
    page.goto(address, wait_until="load")
    page.wait_for_timeout(_SETTLES_MS)
    page.evaluate(_WATCH)
    done = 0
    for _ in range(rounds):
        for one in page.locator("main summary:visible").element_handles()[:_MOST]:
            if one.is_visible():  # what was folded with another is not
                one.click()
                done += 1
        for one in page.locator("main input[type=text]:visible, main input[type=search]").all()[:3]:
            if one.is_visible():
                one.press("4")
                one.press("Backspace")
                done += 2
        page.keyboard.press("Tab")
        page.keyboard.press("Escape")
        done += 2
    page.wait_for_timeout(300)
    told: list[float] = page.evaluate("window.told")
    # what is not told was painted within 16 ms
    return told + [16.0] * max(0, done - len(told))


def answered(page: Page, base: str, rounds: int) -> dict[str, list[float]]:
    """Return the times from a touch that asks the server to its content being there [ms]."""
    found: dict[str, list[float]] = defaultdict(list)

    def timed(what: str, touch: Any, ready: Any) -> None:  # noqa: ANN401
        begun = time.perf_counter()
        touch()
        ready()
        found[what].append(1000 * (time.perf_counter() - begun))

    for number in range(rounds):
        page.goto(f"{base}/ask?heads={20 + number}&money=310&day=2026-06-12&time=18:30")
        for name in ("Finer", "Cheaper", "Lighter", "Why?"):
            with page.expect_response(lambda answer: "/ask/spread" in answer.url):
                button = page.get_by_role("button", name=name, exact=True).first
                begun = time.perf_counter()
                button.click()
            page.wait_for_selector(".htmx-request", state="detached")
            found["a spread changed"].append(1000 * (time.perf_counter() - begun))
        page.goto(f"{base}/sell")
        for cut in page.locator("main button[name=cut]").all()[:1]:
            timed("a cut on the sale", cut.click, lambda: page.wait_for_load_state("load"))
        for link in ("Case", "Hook", "Rail", "Bench", "Chalk", "Day Book"):
            tab = page.locator("header nav").get_by_role("link", name=link, exact=True)
            timed(f"to {link}", tab.click, lambda: page.wait_for_load_state("load"))
    return found


def main() -> None:
    """Run it and print the tables."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("--rounds", type=int, default=3)
    ask.add_argument("--slowed", type=float, default=1)
    told = ask.parse_args()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        url = f"sqlite:///{name}/shop.db"
        create_shop(url, demo=True, clock=StillClock()).close()
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        with served(url) as (port, _):
            base = f"http://localhost:{port}"
            shown(browser, base, told.rounds, told.slowed)
        browser.close()
    print(f"\n{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
          f"Chromium, slowed {told.slowed:g} times, load {os.getloadavg()[0]:.1f}")  # fmt: skip


def shown(browser: Any, base: str, rounds: int, slowed: float) -> None:  # noqa: ANN401
    """Measure all pages and print."""
    print("| page | kB over the wire | kB as it is | interactions | p95 ms | longest ms |")
    print("|---|---|---|---|---|---|")
    every: list[float] = []
    for path in PAGES:
        context = browser.new_context(viewport={"width": 1180, "height": 820})
        page = context.new_page()
        sent, whole = weight_of(page, base + path)
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slowed})
        times = touched(page, base + path, rounds)
        every += times
        context.close()
        print(f"| {path.partition('?')[0]}{' (answered)' if '?' in path else ''} "
              f"| {sent / 1000:.0f} | {whole / 1000:.0f} | {len(times)} | {p95(times):.0f} "
              f"| {max(times):.0f} |", flush=True)  # fmt: skip
    print(f"| all | | | {len(every)} | {p95(every):.0f} | {max(every):.0f} |\n")
    page = browser.new_context(viewport={"width": 1180, "height": 820}).new_page()
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slowed})
    print("| asked of the server | times | median ms | p95 ms |\n|---|---|---|---|")
    for what, times in answered(page, base, rounds).items():
        print(f"| {what} | {len(times)} | {statistics.median(times):.0f} | {p95(times):.0f} |")


if __name__ == "__main__":
    main()
