"""Measure the board: re-balance after a price edit, the page, growth, against an ordinary way.

Run ``python benchmarks/chalk/measure.py [--seeds N] [--write]``; see README.md.
"""

from __future__ import annotations

import argparse
import os
import platform
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from instances import CUTS, animal, shop_of_sixty
from ordinary import rebalance
from starlette.testclient import TestClient

from collop.chalk import chalk
from collop.web import create_app

T = TypeVar("T")
GROWTH = (15, 30, 60, 120, 190)
RESULTS = Path(__file__).with_name("RESULTS.md")
BEGIN, END = "<!-- figures: written by measure.py -->", "<!-- end of figures -->"
EDITS = 41


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return wall time [ms] and result."""
    start = time.perf_counter()
    result = work()
    return 1000 * (time.perf_counter() - start), result


def row(name: str, ms: list[float]) -> str:
    """Return a row of a table: median, 95th percentile, most [ms]."""
    ordered = sorted(ms)
    p95 = ordered[max(0, -(-95 * len(ordered) // 100) - 1)]
    return f"| {name} | {statistics.median(ms):.1f} | {p95:.1f} | {ordered[-1]:.1f} |"


def edited(seed: int, cuts: int = CUTS) -> dict[str, Any]:
    """Return an animal with one price just typed, and the pull of that one asked."""
    problem = animal(seed, cuts)
    typed = next(cut for cut in problem["cuts"] if "fixed" in cut)
    by = Decimal(typed["fixed"]) - Decimal(typed["price"])
    return problem | {"pulls": [{"id": typed["id"], "by": str(by or Decimal("-0.50"))}]}


def measure_kernel(seeds: int) -> tuple[dict[str, list[float]], list[str]]:
    """Return times in process and what each way brings over the sales needed."""
    times: dict[str, list[float]] = {"edit, pull of that cut": [], "edit, all sixty pulls": [],
                                     "the ordinary way (no pulls)": []}  # fmt: skip
    chalk(edited(0))
    rebalance(edited(0))
    ours, theirs, made = [], [], 0
    for seed in range(seeds):
        problem = edited(seed)
        ms, plan = timed(lambda: chalk(problem))  # noqa: B023 -- called at once
        times["edit, pull of that cut"].append(ms)
        made += plan["reached"]
        ours.append(float(plan["over"]))
        every = {key: value for key, value in problem.items() if key != "pulls"}
        times["edit, all sixty pulls"].append(timed(lambda: chalk(every))[0])  # noqa: B023
        ms, (_, over) = timed(lambda: rebalance(problem))  # noqa: B023
        times["the ordinary way (no pulls)"].append(ms)
        theirs.append(over)
    said = [
        (
            f"Target made: {made} of {seeds} (ours). Over the sales needed, median and most: ours"
            f" {statistics.median(ours):.2f} and {max(ours):.2f}, the ordinary way"
            f" {statistics.median(theirs):.2f} and {max(theirs):.2f} (in the shop's money, of some"
            " thousands)."
        )
    ]
    ordinary = statistics.median(times["the ordinary way (no pulls)"])
    for name in ("edit, pull of that cut", "edit, all sixty pulls"):
        ratio = ordinary / statistics.median(times[name])
        said.append(f"- the ordinary way takes {ratio:.1f} times as long as: {name} (medians)")
    return times, said


def measure_page() -> dict[str, list[float]]:
    """Return server-side times of the shop's own re-balance and of the pages that show it."""
    times: dict[str, list[float]] = {
        "the shop's plan, one price typed": [], "live pulls, the fragment": [],
        "the whole page": [],
    }  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        shop, tag = shop_of_sixty(Path(folder))
        with shop:
            client = TestClient(create_app(shop, hosts=("testserver",)))
            ids = [cut["id"] for cut in shop.chalk.plan(tag)["cuts"]]
            client.get(f"/chalk/{tag}")
            for at in range(EDITS):
                price = Decimal(700 + 5 * at).scaleb(-2)
                line = ids[at % len(ids)]
                work = {"prices": {line: price}, "fixed": (line,)}
                pulls = [(line, Decimal("-0.50"))]
                ms, _ = timed(lambda: shop.chalk.plan(tag, pulls=pulls, **work))  # noqa: B023
                times["the shop's plan, one price typed"].append(ms)
                form = {f"price-{line}": str(price), "number": str(at), "moved": line}
                ms, answer = timed(lambda: client.post(f"/chalk/{tag}/pulls", data=form))  # noqa: B023
                answer.raise_for_status()
                times["live pulls, the fragment"].append(ms)
                ms, answer = timed(lambda: client.post(f"/chalk/{tag}", data=form))  # noqa: B023
                answer.raise_for_status()
                times["the whole page"].append(ms)
    return times


def measure_growth(seeds: int) -> list[str]:
    """Return rows of the edit by the number of cuts."""
    found = []
    for cuts in GROWTH:
        ms = [timed(lambda: chalk(edited(seed, cuts)))[0] for seed in range(seeds)]  # noqa: B023
        found.append(row(str(cuts), ms))
    return found


def report(seeds: int) -> str:
    """Measure all; return the tables in Markdown."""
    times, said = measure_kernel(seeds)
    pages = measure_page()
    growth = measure_growth(seeds)
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    table = "| | median | p95 | most |\n|---|---|---|---|\n"
    text = [
        (f"{datetime.now(UTC):%Y-%m-%d}, {os.cpu_count()} cores ({platform.machine()}), Python "
        f"{platform.python_version()}, {seeds} seeds, {EDITS} page edits, wall time in"
        " milliseconds."),
        "", f"In process, {CUTS} cuts:", "",
        table + "\n".join(row(name, ms) for name, ms in times.items()), "", *said, "",
        f"Through the shop and the server, a side cut into {CUTS} lines:", "",
        table + "\n".join(row(name, ms) for name, ms in pages.items()), "",
        "Growth (edit, pull of that cut):", "",
        "| cuts | median | p95 | most |\n|---|---|---|---|\n" + "\n".join(growth), "",
        f"Peak memory of the process: {megabytes:.0f} MB.",
    ]  # fmt: skip
    return "\n".join(text)


def main() -> None:
    """Measure, print, and write where asked."""
    parser = argparse.ArgumentParser(description="Measure the board.")
    parser.add_argument("--seeds", type=int, default=40, help="animals for each measurement")
    parser.add_argument("--write", action="store_true", help="put the tables into RESULTS.md")
    options = parser.parse_args()
    text = report(options.seeds)
    sys.stdout.write(text + "\n")
    if options.write:
        before, _, rest = RESULTS.read_text(encoding="utf-8").partition(BEGIN)
        after = rest.partition(END)[2]
        RESULTS.write_text(f"{before}{BEGIN}\n{text}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
