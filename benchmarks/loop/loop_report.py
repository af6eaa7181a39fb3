"""What the rows of the two weeks come to: means, differences seed by seed, their spread."""

from __future__ import annotations

import json
import math
import statistics
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from loop_trade import WAYS

__all__ = ["differences", "table_of", "write_report"]

Row = dict[str, Any]
RESULTS = Path(__file__).with_name("RESULTS.md")
BEGIN, END = "<!-- figures: written by loop_run.py --report -->", "<!-- end of figures -->"
#: What is told of each way: name, places, how it is read off a row, whether less is better.
FIGURES: tuple[tuple[str, int, Callable[[Row], float], bool], ...] = (
    ("contribution, USD", 0, lambda row: row["contribution"] / 100, False),
    ("the same, what is left counted as nothing", 0,
     lambda row: row["contribution_left_at_nothing"] / 100, False),
    ("binned, lb", 1, lambda row: row["binned_mlb"] / 1000, True),
    ("ends and trim left, mean of the two Saturdays, lb", 1,
     lambda row: statistics.mean(row["ends_left_mlb"]) / 1000, True),
    ("asks without an answer", 1, lambda row: row["lost"].get("asks", 0), True),
    ("walk-ins who left without", 1, lambda row: row["lost"].get("walk-ins", 0), True),
    ("short on bookings, lb", 1, lambda row: row["lost"].get("orders_mlb", 0) / 1000, True),
    ("labour, USD", 0, lambda row: row["labour"] / 100, True),
)  # fmt: skip
#: Pairs that are compared seed by seed: the first less the second.
PAIRS = (
    ("loop", "neither"), ("plan alone", "neither"), ("counter alone", "neither"),
    ("loop", "plan alone"), ("loop", "counter alone"), ("loop", "varied, neither"),
    ("varied, counter", "varied, neither"), ("loop", "varied, counter"),
)  # fmt: skip


def _complete(rows: Iterable[Row]) -> dict[int, dict[str, Row]]:
    """Return rows by seed and way, of the seeds that all ways were run for."""
    found: dict[int, dict[str, Row]] = {}
    for row in rows:
        found.setdefault(row["seed"], {})[row["way"]] = row
    return {seed: found[seed] for seed in sorted(found) if set(found[seed]) >= set(WAYS)}


def _t_97_5(count: int) -> float:
    from scipy.stats import t  # noqa: PLC0415 -- only for the report

    return float(t.ppf(0.975, count - 1))


def differences(values: Sequence[float], *, less_is_better: bool) -> dict[str, float]:
    """Return mean, 95 % interval (Student's t), spread, and on how many seeds it is worse."""
    mean, sd = statistics.mean(values), statistics.stdev(values)
    half = _t_97_5(len(values)) * sd / math.sqrt(len(values))
    low, middle, high = statistics.quantiles(values, n=4, method="inclusive")
    worse = sum((one > 0) if less_is_better else (one < 0) for one in values)
    return {
        "mean": mean, "from": mean - half, "to": mean + half, "sd": sd, "min": min(values),
        "q1": low, "median": middle, "q3": high, "max": max(values), "worse": worse,
    }  # fmt: skip


def table_of(rows: Iterable[Row]) -> list[str]:
    """Return the tables of the report, line by line."""
    seeds = _complete(rows)
    found = [f"{len(seeds)} seeds; two weeks, 12 open days each.", "",
             "Means of each way:", "",
             "| | " + " | ".join(WAYS) + " |", "|---" * (len(WAYS) + 1) + "|"]  # fmt: skip
    for name, places, read, _ in FIGURES:
        cells = (f"{statistics.mean(read(one[way]) for one in seeds.values()):.{places}f}"
                 for way in WAYS)  # fmt: skip
        found.append(f"| {name} | " + " | ".join(cells) + " |")
    for pair in PAIRS:
        found += _pair_table(list(seeds.values()), pair)
    seconds = [sum(row["cpu_s"] for row in one.values()) for one in seeds.values()]
    found += ["", f"A seed took {statistics.median(seconds):.0f} s of the processor for all ways."]
    return found


def _pair_table(seeds: Sequence[dict[str, Row]], pair: tuple[str, str]) -> list[str]:
    """Return the differences of two ways, seed by seed."""
    found = ["", f"**{pair[0]}** less **{pair[1]}**:", "",
             "| | mean | 95 % interval | sd | min | q1 | median | q3 | max | seeds worse |",
             "|---|---|---|---|---|---|---|---|---|---|"]  # fmt: skip
    for name, places, read, less in FIGURES:
        values = [read(one[pair[0]]) - read(one[pair[1]]) for one in seeds]
        got = differences(values, less_is_better=less)
        told = {key: f"{one:+.{places}f}" for key, one in got.items()}
        cells = [told["mean"], f"{told['from']} to {told['to']}", f"{got['sd']:.{places}f}",
                 *(told[one] for one in ("min", "q1", "median", "q3", "max")),
                 f"{got['worse']:.0f} of {len(values)}"]  # fmt: skip
        found.append(f"| {name} | " + " | ".join(cells) + " |")
    return found


def write_report(rows: Path, results: Path = RESULTS) -> None:
    """Put the tables into RESULTS.md between its two marks; the text around them stays."""
    lines = table_of(map(json.loads, rows.read_text(encoding="utf-8").splitlines()))
    text = results.read_text(encoding="utf-8")
    before, rest = text.split(BEGIN, 1)
    after = rest.split(END, 1)[1]
    results.write_text(
        before + BEGIN + "\n" + "\n".join(lines) + "\n" + END + after, encoding="utf-8"
    )
