"""Measure the ledger as it grows: trace, recall, stock at any moment, check, case, rail, a write.

Run ``python benchmarks/ledger/measure.py [--most N] [--times N] [--write]``; see README.md.
"""

from __future__ import annotations

import argparse
import os
import platform
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from build import build
from ordinary import (
    by_summing_all,
    recall_by_hand,
    recalled,
    stock_by_hand,
    trace_by_hand,
    traced_lots,
)

from collop.measures import Weight, WeightUnit
from collop.shop import DEMO_START, NewBooking, NewLine, StillClock, open_shop

SIZES = (1_000, 10_000, 100_000, 1_000_000)
RESULTS = Path(__file__).with_name("RESULTS.md")
BEGIN, END = "<!-- figures: written by measure.py -->", "<!-- end of figures -->"
CHECKS = 3
_GRAM = 100_000_000


@dataclass(frozen=True, slots=True)
class Times:
    """Times of one thing [ms]."""

    ms: tuple[float, ...]

    @property
    def median(self) -> float:
        """Return the median."""
        return statistics.median(self.ms)

    @property
    def p95(self) -> float:
        """Return the 95th percentile (nearest rank)."""
        ordered = sorted(self.ms)
        return ordered[max(0, -(-95 * len(ordered) // 100) - 1)]

    def text(self) -> str:
        """Return median and 95th percentile as two cells of a table."""
        return f"{_short(self.median)} | {_short(self.p95)}"


def _short(ms: float) -> str:
    return f"{ms:.1f}" if ms < 100 else f"{ms:,.0f}"


def timed(work: Callable[[], object]) -> float:
    """Return the wall time of `work` [ms]."""
    start = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - start)


class Bench:
    """One shop of a size, and what is asked of it."""

    def __init__(self, file: Path, times: int) -> None:
        self.file, self.times = file, times
        self.random = random.Random(times)
        with closing(sqlite3.connect(file)) as conn:
            (last,) = conn.execute("SELECT max(at) FROM ledger_entries").fetchone()
            packs = "SELECT id FROM lots WHERE kind = 'cut' AND case_id IS NOT NULL"
            self.packs: list[str] = [lot for (lot,) in conn.execute(packs)]
        self.first, self.last = DEMO_START, datetime.fromisoformat(last)
        self.shop = open_shop(f"sqlite:///{file}", StillClock(self.last))
        days = [self.last + timedelta(days=days) for days in range(1, 8)]
        self.open_day = next(day for day in days if self.shop.settings().is_open(day.date()))

    def repeat(self, work: Callable[[], object], times: int | None = None) -> Times:
        """Time something again and again, once before it counts."""
        work()
        return Times(tuple(timed(work) for _ in range(times or self.times)))

    def some_pack(self) -> str:
        """Return any pack that ever was in the case."""
        return self.random.choice(self.packs)

    def some_moment(self) -> datetime:
        """Return any moment of the shop's years."""
        return self.first + (self.last - self.first) * self.random.random()

    def book_and_release(self) -> None:
        """Book a hundred grams of the fullest line and take it off again: two writes."""
        lines = [one for one in self.shop.case() if one.piece_lb is None]
        line = max(lines, key=lambda one: one.free)
        wish = NewLine(line.id, Weight(100 * _GRAM, WeightUnit.G))
        new = NewBooking(name="Walk-in", collect_at=self.open_day, by="dot", lines=(wish,))
        key = str(self.random.random())
        made = self.shop.book(new, key=f"book {key}")
        self.shop.release(made.id, by="dot", key=f"release {key}", why="measured")

    def check(self) -> None:
        """Run the command as anybody would."""
        command = [str(Path(sys.executable).with_name("collop")), "check", "--db", str(self.file)]
        subprocess.run(command, check=True, capture_output=True)  # noqa: S603 -- our own command

    def services(self) -> dict[str, Times]:
        """Return the times of all that is measured."""
        cutting = self.shop.cutting
        return {
            "trace": self.repeat(lambda: cutting.trace(self.some_pack())),
            "recall": self.repeat(lambda: self.shop.tracing.recall(self.some_pack())),
            "stock as of": self.repeat(lambda: cutting.stock(self.some_moment())),
            "stock now": self.repeat(cutting.stock),
            "case": self.repeat(self.shop.case),
            "rail": self.repeat(self.shop.rail),
            "open breaks": self.repeat(cutting.open_breaks),
            "book and release": self.repeat(self.book_and_release),
            "check": self.repeat(self.check, CHECKS),
        }

    def against(self, times: int) -> dict[str, tuple[Times, Times]]:
        """Return (ours, the ordinary way) for the same questions, asked in turn."""
        found: dict[str, tuple[list[float], list[float]]] = {}
        with closing(sqlite3.connect(self.file)) as conn:
            for _ in range(times):
                moment, pack = self.some_moment(), self.some_pack()
                for name, ours, other in self._pairs(conn, moment, pack):
                    mine, theirs = found.setdefault(name, ([], []))
                    mine.append(timed(ours))
                    theirs.append(timed(other))
        return {name: (Times(tuple(a)), Times(tuple(b))) for name, (a, b) in found.items()}

    def _pairs(
        self, conn: sqlite3.Connection, moment: datetime, pack: str
    ) -> Sequence[tuple[str, Callable[[], object], Callable[[], object]]]:
        cutting = self.shop.cutting
        assert stock_by_hand(cutting.stock(moment)) == by_summing_all(conn, moment)
        assert traced_lots(cutting.trace(pack)) == trace_by_hand(conn, pack)
        recall = self.shop.tracing.recall
        assert recalled(recall(pack)) == recall_by_hand(conn, pack)
        return (
            ("stock as of", lambda: cutting.stock(moment), lambda: by_summing_all(conn, moment)),
            ("trace", lambda: cutting.trace(pack), lambda: trace_by_hand(conn, pack)),
            ("recall", lambda: recall(pack), lambda: recall_by_hand(conn, pack)),
        )


NAMES = {
    "trace": "trace of a pack: up to its animal, down to all its sisters",
    "recall": "recall of a pack: all of its animal, where it is, who has it, the balance",
    "stock as of": "stock as of a past moment",
    "stock now": "stock now",
    "case": "the case",
    "rail": "the rail",
    "open breaks": "breaks under way",
    "book and release": "a booking made and taken off (two writes, the case read once)",
    "check": "`collop check`, the whole command",
}


def _head(times: int) -> str:
    return (
        f"{datetime.now(UTC):%Y-%m-%d}, {os.cpu_count()} cores ({platform.machine()}), Python "
        f"{platform.python_version()}, SQLite {sqlite3.sqlite_version}, {times} times each "
        f"(`collop check` {CHECKS}), wall time in milliseconds."
    )


def _growth(tables: Sequence[Table]) -> list[str]:
    heads = [f"{table.rows['ledger_entries']:,} entries" for table in tables]
    lines = [
        "Median and 95th percentile, by size of the ledger:",
        "",
        "| | " + " | ".join(f"{head}, median | p95" for head in heads) + " |",
        "|---|" + "---|---|" * len(tables),
    ]
    for name, words in NAMES.items():
        lines.append(f"| {words} | " + " | ".join(one.ms[name].text() for one in tables) + " |")
    lines += ["", "| | " + " | ".join(heads) + " |", "|---|" + "---|" * len(tables)]
    sizes = [f"{table.size / 1e6:.1f}" for table in tables]
    lines.append("| file [MB] | " + " | ".join(sizes) + " |")
    for name in ("deliveries", "lots", "lot_links", "breaks", "bookings", "stock_marks"):
        counts = [f"{table.rows[name]:,}" for table in tables]
        lines.append(f"| {name.replace('_', ' ')} | " + " | ".join(counts) + " |")
    return lines


def _compared(pairs: dict[str, tuple[Times, Times]], entries: int) -> list[str]:
    lines = [
        f"Against the ordinary way at {entries:,} entries, asked in turn, answers compared first:",
        "",
        "| | ours, median | p95 | ordinary, median | p95 | ratio of medians |",
        "|---|---|---|---|---|---|",
    ]
    for name, (ours, other) in pairs.items():
        ratio = other.median / ours.median
        lines.append(f"| {NAMES[name]} | {ours.text()} | {other.text()} | {ratio:.1f} |")
    return lines


@dataclass(frozen=True, slots=True)
class Table:
    """What was found at one size."""

    rows: Counter[str]
    size: int
    ms: dict[str, Times]


def report(sizes: Sequence[int], times: int) -> str:
    """Build every size in a folder that is removed, measure, and return the tables."""
    tables: list[Table] = []
    compared: list[str] = []
    for size in sizes:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "shop.db"
            start = time.perf_counter()
            rows = build(file, size)
            print(f"{size}: built in {time.perf_counter() - start:.0f} s", flush=True)
            bench = Bench(file, times)
            with bench.shop:
                size_before = file.stat().st_size
                tables.append(Table(rows, size_before, bench.services()))
                if size == sizes[-1]:
                    pairs = bench.against(max(5, times // 4))
                    compared = _compared(pairs, rows["ledger_entries"])
    return "\n".join([_head(times), "", *_growth(tables), "", *compared])


def main() -> None:
    """Measure, print, and write where asked."""
    parser = argparse.ArgumentParser(description="Measure the ledger.")
    parser.add_argument("--most", type=int, default=SIZES[-1], help="largest size to build")
    parser.add_argument("--times", type=int, default=60, help="times for each measurement")
    parser.add_argument("--write", action="store_true", help="put the tables into RESULTS.md")
    options = parser.parse_args()
    text = report([size for size in SIZES if size <= options.most], options.times)
    sys.stdout.write(text + "\n")
    if options.write:
        before, _, rest = RESULTS.read_text(encoding="utf-8").partition(BEGIN)
        after = rest.partition(END)[2]
        RESULTS.write_text(f"{before}{BEGIN}\n{text}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
