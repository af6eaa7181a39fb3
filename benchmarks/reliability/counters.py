"""Fifty counters at work for ten minutes: errors, waiting times, and the server's memory.

    .venv/bin/python benchmarks/reliability/counters.py [--minutes 10] [--counters 50]
        [--db sqlite|postgresql] [--replan] [--same-diary]

Each counter sends one request every three to six seconds over HTTP: looks at the ask, the case or
the hook, has a spread worked out by the kernel itself, books, moves a booking on, hands one over,
sells two lines, reads a thermometer. The server is a process of its own. An error is an answer of
500 or more, none within 30 s, or a line that breaks. Every five seconds the server's resident
memory, open files and threads and the length of the log are read; the slope of its memory is that
of the second part of the run, by least squares, with its 95 % interval from the means of blocks of
30 s (readings near each other are alike). A run adds some hundred bookings to the diary, which
every look at the hook then reads: memory grows with them. ``--same-diary`` leaves bookings out, so
that what grows is the server's alone.
"""

from __future__ import annotations

import argparse
import math
import os
import platform
import random
import statistics
import sys
import tempfile
import threading
import time
from collections import Counter, defaultdict
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "src"), str(HERE.parents[2] / "tests" / "web")]

from crowd import GROUNDS  # noqa: E402 -- the paths come first
from killed_history import Teller  # noqa: E402
from killed_server import ServerGone, fields_of  # noqa: E402
from served import served  # noqa: E402

from collop.shop import StillClock, open_shop  # noqa: E402

#: Two-sided 95 % of Student's t by degrees of freedom, rounded up to the row below (memory).
_T = {1: 12.71, 2: 4.31, 3: 3.19, 4: 2.78, 5: 2.58, 7: 2.37, 10: 2.23, 15: 2.14, 20: 2.09}
_CUTS = ("C02", "C03", "C11", "C15", "C16", "C19", "C32")
_PARTIES = tuple(f"heads={heads}&big={big}&money={money}&day=2026-06-{day}&time=18:30"
                 for heads, big, money, day in
                 ((34, 16, 310, 12), (12, 2, 90, 12), (6, 0, 60, 13), (20, 4, 240, 13),
                  (50, 10, 420, 12), (8, 8, 110, 13)))  # fmt: skip


@dataclass
class Busy(Teller):
    """A counter that thinks before each request; `times` are seconds by what was asked."""

    think: tuple[float, float] = (3, 6)
    times: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    faults: list[str] = field(default_factory=list)
    breaks: float = 0.0
    is_booking: bool = True
    ending: threading.Event = field(default_factory=threading.Event)

    def ask(self, method: str, address: str, form: Any = None) -> tuple[int, str, str]:  # noqa: ANN401
        """Ask, and note how long the whole answer took."""
        self.ending.wait(self.chance.uniform(*self.think))
        what = name_of(method, address, form or {})
        begun = time.perf_counter()
        try:
            answer: tuple[int, str, str] = super().ask(method, address, form)
        except ServerGone:
            self.faults.append(f"{what}: no answer")
            raise
        self.times[what].append(time.perf_counter() - begun)
        if answer[0] >= 500:
            self.faults.append(f"{what}: {answer[0]}")
        return answer

    def pages(self) -> None:
        """Look at one of the pages."""
        self.ask("GET", self.chance.choice(("/ask", "/ask", "/case", "/hook")))

    def spread(self) -> None:
        """Have a spread worked out against what is free now."""
        asked = self.chance.choice(_PARTIES)
        form = dict(part.split("=") for part in asked.split("&"))
        self.ask("POST", "/ask/spread", form)

    def sale(self) -> None:
        """Sell two lines for cash."""
        key, at = self.key(), "/sell"
        for cut in self.chance.sample(_CUTS, 2):
            form = fields_of(self.ask("GET", at)[2], "/sell")
            form |= {"cut": cut, "gross": "0.01", "key": key}
            _, at, _ = self.ask("POST", "/sell", form)
            if not at:  # the line has run out
                return
        form = fields_of(self.ask("GET", at)[2], "/sell") | {"way": "cash", "by": "dot", "key": key}
        self.send("sale", "/sell", form, key)

    def work(self, ending: threading.Event) -> None:
        """Do one thing after another until told to end."""
        acts = [self.pages, self.pages, self.spread, self.sale, self.cold]
        if self.is_booking:
            acts += [self.booking, self.step, self.hand_over]
        self.ending = ending
        ending.wait(self.chance.uniform(0, self.think[1]))
        while not ending.is_set():
            try:
                if self.pending:
                    self.settle()
                self.chance.choice(acts)()
            except ServerGone:
                pass  # it is among the faults


def name_of(method: str, address: str, form: dict[str, Any]) -> str:
    """Return what a request is called in the table."""
    path = address.partition("?")[0]
    if path == "/sell" and method == "POST":
        return "sale (POST)" if "way" in form else "line of a sale (POST)"
    if path.startswith(("/hook/", "/sell/")):
        path = f"{path[:6]}..{path[path.rfind('/') :] if path.count('/') > 2 else ''}"
    names = {"/ask": "ask page", "/ask/spread": "spread", "/free-by/book": "booking"}
    return f"{names.get(path, path)} ({method})"


def state_of(pid: int, log: Path | None) -> dict[str, float]:
    """Return memory [MiB], files, threads and processor seconds of a process, and the log [MiB]."""
    told = dict(line.split(":", 1) for line in Path(f"/proc/{pid}/status").read_text().splitlines())
    size = log.stat().st_size if log is not None and log.exists() else 0
    ticks = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[11:13]
    return {"memory": int(told["VmRSS"].split()[0]) / 1024, "threads": int(told["Threads"]),
            "files": len(list(Path(f"/proc/{pid}/fd").iterdir())), "log": size / 2**20,
            "processor": sum(map(int, ticks)) / os.sysconf("SC_CLK_TCK")}  # fmt: skip


def slope(points: list[tuple[float, float]], block_s: float = 30) -> tuple[float, float]:
    """Return the slope of memory over time and half its 95 % interval [MiB a minute]."""
    blocks = defaultdict(list)
    for at, memory in points:
        blocks[int(at // block_s)].append((at / 60, memory))
    found = [[statistics.fmean(one) for one in zip(*block, strict=True)]
             for block in blocks.values()]  # fmt: skip
    if len(found) < 3:
        return math.nan, math.nan
    xs, ys = [x for x, _ in found], [y for _, y in found]
    fit = statistics.linear_regression(xs, ys)
    rest = sum((y - fit.slope * x - fit.intercept) ** 2 for x, y in found)
    spread = math.sqrt(sum((x - statistics.fmean(xs)) ** 2 for x in xs))
    free = len(found) - 2
    student = _T[max(one for one in _T if one <= free)]
    return fit.slope, student * math.sqrt(rest / free) / spread


def at_work(port: int, pid: int, told: argparse.Namespace, log: Path | None) -> tuple[
    list[Busy], list[tuple[float, dict[str, float]]]
]:  # fmt: skip
    """Let the counters work, and read the server's state meanwhile."""
    ending, states = threading.Event(), []
    with tempfile.TemporaryDirectory() as name:
        busy = [
            Busy(f"C{at}", Path(name) / "notes", random.Random(at), port,
                 is_booking=not told.same_diary)
            for at in range(told.counters)
        ]  # fmt: skip
        threads = [threading.Thread(target=one.work, args=(ending,)) for one in busy]
        for one in threads:
            one.start()
        begun = time.monotonic()
        while time.monotonic() - begun < 60 * told.minutes:
            states.append((time.monotonic() - begun, state_of(pid, log)))
            time.sleep(5)
        ending.set()
        for one in threads:
            one.join(120)
    return busy, states


def told_of(busy: list[Busy], states: list[tuple[float, dict[str, float]]], minutes: float) -> None:
    """Print the tables."""
    times, refused = defaultdict(list), Counter(one[0] for who in busy for one in who.refused)
    for who in busy:
        for what, found in who.times.items():
            times[what] += found
    faults = Counter(one for who in busy for one in who.faults)
    calls = sum(map(len, times.values()))
    print(f"{calls} calls, errors {sum(faults.values())} {dict(faults)}, refused {dict(refused)}\n")
    print("| asked | calls | p50 ms | p95 ms | p99 ms | longest ms |\n|---|---|---|---|---|---|")
    for what, found in sorted(times.items(), key=lambda one: -len(one[1])):
        found.sort()
        at = [found[min(len(found) - 1, int(len(found) * part))] for part in (0.5, 0.95, 0.99)]
        figures = " | ".join(f"{1000 * one:.0f}" for one in (*at, found[-1]))
        print(f"| {what} | {len(found)} | {figures} |")
    warm = 120 if minutes >= 6 else 60 * minutes / 3
    fit, half = slope([(at, state["memory"]) for at, state in states if at >= warm])
    print("\n| server | at first | after warming | at the end | most |\n|---|---|---|---|---|")
    middle = next((state for at, state in states if at >= warm), states[-1][1])
    for what in ("memory", "files", "threads", "log"):
        row = (states[0][1], middle, states[-1][1])
        most = max(state[what] for _, state in states)
        print(f"| {what} | " + " | ".join(f"{one[what]:.1f}" for one in row) + f" | {most:.1f} |")
    used = states[-1][1]["processor"] - states[0][1]["processor"]
    span = max(1.0, states[-1][0] - states[0][0])
    print(f"\nserver's processor: {1000 * used / max(1, calls):.0f} ms for a call, "
          f"{used / span:.2f} of one core")  # fmt: skip
    print(f"memory after {warm:.0f} s: {fit:+.2f} MiB a minute, 95 % within {half:.2f}")


def main() -> None:
    """Run it and print the tables."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("--minutes", type=float, default=10)
    ask.add_argument("--counters", type=int, default=50)
    ask.add_argument("--db", choices=[*GROUNDS], default="sqlite")
    ask.add_argument("--replan", action="store_true", help="plan again by itself meanwhile")
    ask.add_argument("--same-diary", action="store_true", help="without bookings")
    told = ask.parse_args()
    with GROUNDS[told.db][0]() as url, served(url, replan=told.replan) as (port, pid):
        log = Path(url.removeprefix("sqlite:///") + "-wal") if told.db == "sqlite" else None
        busy, states = at_work(port, pid, told, log)
        with open_shop(url, StillClock()) as shop:
            findings = shop.check()
    with suppress(OSError):
        print(f"load of the machine: {os.getloadavg()[1]:.1f} in five minutes")
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
          f"{told.db}, {told.counters} counters, {told.minutes:g} min, replan {told.replan}, "
          f"bookings {not told.same_diary}, "
          f"collop check: {findings}")  # fmt: skip
    told_of(busy, states, told.minutes)


if __name__ == "__main__":
    main()
