"""Measure the cutting plan: first answer, proof, one more booking, CBC beside it, many shops.

Run ``python benchmarks/bench/bench.py [--seeds N] [--pieces 10 40] [--write]``; see README.md.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import os
import platform
import resource
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from generator import many_shops, one_more_booking, shop_week
from plain import PlainAnswer, solve_plain

from collop.bench import bench
from collop.bench.many import plan_many

RESULTS = Path(__file__).with_name("RESULTS.md")
BEGIN, END = "<!-- figures: written by bench.py -->", "<!-- end of figures -->"
#: What must be proven of the first answer; how near it is to the best is measured beside it.
FIRST, PROVEN = 0.03, 0.001
_BUSY = 4.0
_STARTING = 20.0  # seconds a fresh process may take before its work begins

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Run:
    """One measured call: processor seconds (endless if not ended in time), memory and answer."""

    seconds: float
    megabytes: float
    answer: Any


def _processor_seconds() -> float:
    """Return seconds of the processor that this process and its own children took."""
    own, below = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return own.ru_utime + own.ru_stime + below.ru_utime + below.ru_stime


def _child(pipe: Connection, work: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    start = _processor_seconds()
    answer = work(*arguments)
    seconds = _processor_seconds() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    pipe.send(Run(seconds, peak, answer))


def measured(limit: float, work: Callable[..., Any], *arguments: object) -> Run:
    """Run work in a process of its own; it is stopped after `limit` seconds of the processor.

    On a busy machine they last longer by the clock; it is stopped by the clock after `_BUSY` times
    as many.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_child, args=(there, work, arguments))
    process.start()
    there.close()
    run = Run(math.inf, math.nan, None)
    if here.poll(_BUSY * limit + _STARTING):
        try:
            run = here.recv()
        except EOFError:
            sys.stderr.write("a run failed\n")
    process.kill()
    process.join()
    return run if run.seconds <= limit else Run(math.inf, run.megabytes, run.answer)


def planned(problem: Json) -> Json:
    """Return the plan of a problem."""
    return bench(problem)


def plain(problem: Json, gap: float, seconds: float) -> PlainAnswer:
    """Return CBC's answer to the ordinary model."""
    return solve_plain(problem, gap=gap, seconds=seconds)


def _told(seconds: float, limit: float) -> str:
    return f"{seconds:.1f}" if math.isfinite(seconds) else f"over {limit:.0f}"


def row(name: str, runs: Sequence[Run], limit: float) -> str:
    """Return a row of a table: median and worst seconds, ended in time, proven gap, memory."""
    seconds = [run.seconds for run in runs]
    done = [run for run in runs if math.isfinite(run.seconds)]
    gaps = [run.answer["proof"]["gap"] for run in done]
    gap = f"{100 * max(gaps):.2f} %" if gaps else "-"
    memory = f"{max(run.megabytes for run in done):.0f}" if done else "-"
    return (
        f"| {name} | {_told(statistics.median(seconds), limit)} | {_told(max(seconds), limit)} "
        f"| {len(done)} of {len(runs)} | {gap} | {memory} |"
    )


def _note(text: str) -> None:
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()


def one_shop(pieces: int, seeds: int, limit: float, cbc: float) -> list[str]:
    """Return the lines about shops of so many pieces."""
    names = ("first answer (3 % proven)", "0.1 % asked", "one more booking, from the last plan")
    runs: dict[str, list[Run]] = {name: [] for name in names}
    ordinary: list[tuple[Run, Run]] = []
    short = 0
    for seed in range(seeds):
        first = measured(limit, planned, shop_week(seed, pieces, gap=FIRST))
        problem = shop_week(seed, pieces, gap=PROVEN)
        proven = measured(limit, planned, problem)
        runs[names[0]].append(first)
        runs[names[1]].append(proven)
        last = proven.answer or first.answer
        if last is not None:
            short += last["answer"] == "short"
            more = one_more_booking({**problem, "gap": FIRST}, last, seed)
            again = measured(limit, planned, more)
            runs[names[2]].append(again)
        if cbc:
            ordinary.append((first, measured(cbc + 60, plain, problem, FIRST, cbc)))
        _note(f"{pieces} pieces, seed {seed}: {first.seconds:.1f} {proven.seconds:.1f}")
    text = [
        (
            f"{pieces} pieces, 60 cuts, 7 days, 80 bookings; weeks with something short: {short} "
            f"of {seeds}; each solve is stopped after {limit:.0f} s:"
        ),
        "",
        "| | median s | worst s | ended in time | largest gap left | peak MB |",
        "|---|---|---|---|---|---|",
        *(row(name, found, limit) for name, found in runs.items() if found),
        "",
        *_how_near(runs[names[0]], runs[names[1]]),
    ]
    return text + _beside(ordinary, cbc)


def _how_near(first: Sequence[Run], last: Sequence[Run]) -> list[str]:
    """Return how far the first answers are from the best known."""
    far = [
        max(0.0, 1 - float(one.answer["contribution"]) / float(best.answer["contribution"]))
        for one, best in zip(first, last, strict=True)
        if one.answer is not None and best.answer is not None
    ]
    if not far:
        return []
    return [
        (
            f"- The first answer brings {100 * statistics.median(far):.2f} % less than the best"
            f" known (median), {100 * max(far):.2f} % (worst)."
        )
    ]


def _beside(pairs: Sequence[tuple[Run, Run]], cbc: float) -> list[str]:
    """Return what CBC made of the same weeks."""
    theirs = [run for _, run in pairs if run.answer is not None]
    if not theirs:
        return []
    ended = sum(run.answer.within_gap for run in theirs)
    seconds = statistics.median(run.seconds for run in theirs)
    text = (
        f"- The ordinary model with CBC, {100 * FIRST:g} %, {cbc:.0f} s at the most: median "
        f"{seconds:.1f} s, {ended} of {len(theirs)} ended by themselves; "
        f"{theirs[0].answer.columns} columns, {theirs[0].answer.whole} whole."
    )
    both = [(ours, run) for ours, run in pairs
            if ours.answer is not None and math.isfinite(ours.seconds) and run.answer is not None
            and math.isfinite(run.answer.contribution)]  # fmt: skip
    if both:
        ratio = statistics.median(run.seconds / ours.seconds for ours, run in both)
        lead = statistics.median(
            float(ours.answer["contribution"]) / run.answer.contribution - 1 for ours, run in both
        )
        text += (
            f" It takes {ratio:.1f} times as long (median of {len(both)} that both answered), and "
            f"our plan brings {100 * lead:+.2f} % (median)."
        )
    return [text]


def together(problem: Json, processes: int) -> tuple[float, Json]:
    """Return seconds and the plan of many shops with so many processes."""
    executor: Executor | None = None
    start = time.perf_counter()
    if processes > 1:
        executor = ProcessPoolExecutor(processes, mp_context=multiprocessing.get_context("spawn"))
    try:
        plan = plan_many(problem, executor)
    finally:
        if executor is not None:
            executor.shutdown()
    return time.perf_counter() - start, plan


def many(count: int, pieces: int, bookings: int) -> list[str]:
    """Return the lines about many shops: one by one, and in one and two processes."""
    problem = many_shops(count, pieces, bookings=bookings)
    single = []
    for shop in problem["shops"]:
        start = time.perf_counter()
        bench(shop["problem"])
        single.append(time.perf_counter() - start)
    _note(f"{count} shops, each alone: {sum(single):.1f}")
    apart = problem | {"transfers": []}
    rows = []
    for name, asked, processes in (
        ("no vans, 1 process", apart, 1), ("no vans, 2 processes", apart, 2),
        ("vans in a ring, 2 processes", problem, 2),
    ):  # fmt: skip
        seconds, plan = together(asked, processes)
        _note(f"{name}: {seconds:.1f}")
        rows.append(
            f"| {name} | {seconds:.1f} | {seconds / sum(single):.2f} | {len(plan['transfers'])} "
            f"| {len(plan['dropped'])} | {plan['gain']} |"
        )
    return [
        (
            f"{count} shops of {pieces} pieces and {bookings} bookings, 1 %; one shop alone takes "
            f"{statistics.median(single):.2f} s (median), {max(single):.2f} s (worst), all in "
            f"turn {sum(single):.1f} s:"
        ),
        "",
        "| | seconds | of each alone | vans that go | that stay | money gained |",
        "|---|---|---|---|---|---|",
        *rows,
        "",
    ]


def report(options: argparse.Namespace) -> str:
    """Measure all; return the tables in Markdown."""
    text = [
        (
            f"{datetime.now(UTC):%Y-%m-%d}, {os.cpu_count()} cores ({platform.machine()}), Python "
            f"{platform.python_version()}, {options.seeds} seeds; one shop in seconds of the "
            "processor, one thread; many shops by the clock; load at the start "
            f"{os.getloadavg()[0]:.1f}."
        ),
        "",
        f"`{' '.join(['bench.py', *sys.argv[1:]])}`",
        "",
    ]
    for pieces in options.pieces:
        text += [*one_shop(pieces, options.seeds, options.limit, options.cbc), ""]
    if options.shops:
        text += many(options.shops, options.shop_pieces, options.shop_bookings)
    return "\n".join(text).rstrip()


def main() -> None:
    """Measure, print, and write where asked."""
    parser = argparse.ArgumentParser(description="Measure the cutting plan.")
    parser.add_argument("--seeds", type=int, default=5, help="weeks for each measurement")
    parser.add_argument("--pieces", type=int, nargs="*", default=[10, 40], help="on the rail")
    parser.add_argument("--limit", type=float, default=300, help="seconds for one solve")
    parser.add_argument("--cbc", type=float, default=60, help="seconds for CBC; 0 leaves it out")
    parser.add_argument("--shops", type=int, default=50, help="how many; 0 leaves them out")
    parser.add_argument("--shop-pieces", type=int, default=4, help="of each of many shops")
    parser.add_argument("--shop-bookings", type=int, default=20, help="of each of many shops")
    parser.add_argument("--write", action="store_true", help="put the tables into RESULTS.md")
    options = parser.parse_args()
    text = report(options)
    sys.stdout.write(text + "\n")
    if options.write:
        before, _, rest = RESULTS.read_text(encoding="utf-8").partition(BEGIN)
        after = rest.partition(END)[2]
        RESULTS.write_text(f"{before}{BEGIN}\n{text}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
