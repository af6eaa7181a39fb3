"""Measure the spread kernel: proofs, whole answers, other routes, growth, memory.

Run ``python benchmarks/spread/measure.py [--seeds N] [--json FILE] [--write]``; see README.md.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from instances import ask
from routes import cbc, compact, straightforward

from collop.shop.demo_week import demo_case_friday
from collop.shop.offers import offers_of
from collop.spread import answer
from collop.spread.aims import ABS_GAP, Solver, cost_vector, money_vector
from collop.spread.answering import make_plan
from collop.spread.ceilings import plenty_caps
from collop.spread.curve import most_eating_costs
from collop.spread.model import SpreadModel, build_model
from collop.spread.need import unions
from collop.spread.options import usable_options
from collop.spread.problem import SpreadProblem
from collop.spread.program import Row, make_row
from collop.spread.proving import prove
from collop.spread.reading import read_problem
from collop.spread.setting import PLENTY, first_setting

T = TypeVar("T")
AIMS = ("best-value", "showpiece", "variety", "helps-the-animal")
GROWTH = (20, 50, 100, 150, 200, 300, 400)
LIMIT_S = 60.0
RESULTS = Path(__file__).with_name("RESULTS.md")
BEGIN, END = "<!-- figures: written by measure.py -->", "<!-- end of figures -->"


@dataclass(frozen=True, slots=True)
class Times:
    """Times of one thing [ms], and how many of them ended with a proof."""

    ms: tuple[float, ...]
    proven: int

    @property
    def median(self) -> float:
        """Return the median."""
        return statistics.median(self.ms)

    @property
    def p95(self) -> float:
        """Return the 95th percentile (nearest rank)."""
        ordered = sorted(self.ms)
        return ordered[max(0, -(-95 * len(ordered) // 100) - 1)]

    def row(self, name: str) -> str:
        """Return a row of a table."""
        count = len(self.ms)
        return f"| {name} | {self.median:.0f} | {self.p95:.0f} | {self.proven} of {count} |"


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return wall time [ms] and result."""
    start = time.perf_counter()
    result = work()
    return 1000 * (time.perf_counter() - start), result


def collect(samples: list[tuple[float, bool]]) -> Times:
    """Gather single times."""
    return Times(tuple(ms for ms, _ in samples), sum(proven for _, proven in samples))


def problems(seeds: int, offers: int, *, cv: float | None = None) -> Iterator[SpreadProblem]:
    """Yield the first `seeds` seeded asks that can be met."""
    found = seed = 0
    while found < seeds:
        wish = ask(seed, offers)
        if cv is not None:
            wish["appetite_cv"] = cv
        problem = read_problem(wish)
        setting = first_setting(problem)
        seed += 1
        if setting is not None and setting.within_money:
            found += 1
            yield problem


def build(problem: SpreadProblem) -> SpreadModel:
    """Return the model of an ask, as the kernel builds it."""
    options, _ = usable_options(problem)
    ids = {option.offer.id for option in options}
    needs = unions(problem, [offer for offer in problem.offers if offer.id in ids])
    caps = plenty_caps(problem, needs, PLENTY)
    return build_model(problem, options, needs, caps=caps, slow_line=False)


def measure_aims(seeds: int) -> dict[str, Times]:
    """Return build and proof of each aim at 150 offers."""
    samples: dict[str, list[tuple[float, bool]]] = {}
    for problem in problems(seeds, 150):
        built, model = timed(lambda: build(problem))  # noqa: B023 -- called at once
        solver = Solver(problem, model)
        setting = first_setting(problem)
        assert setting is not None
        for name in ("least-money", *AIMS):
            ms, found = timed(lambda: solver.aim(name, apart=True))  # noqa: B023
            solver.budget = problem.budget.minor if problem.budget else None
            if found is not None:
                samples.setdefault(name, []).append((built + ms, found.status == "optimal"))
        costs = most_eating_costs(setting)
        ms, (outcome, _) = timed(lambda: solver.solve(costs, budget=solver.budget))  # noqa: B023
        proven = outcome.status == "optimal"
        samples.setdefault("most eating at budget", []).append((built + ms, proven))
    return {name: collect(found) for name, found in samples.items()}


def measure_answers(seeds: int, offers: int) -> Times:
    """Return whole answers: five alternatives, checked, and the curve."""
    samples = []
    for problem in problems(seeds, offers):
        ms, plan = timed(lambda: make_plan(problem))  # noqa: B023 -- called at once
        samples.append((ms, all(spread.status == "optimal" for spread in plan.spreads)))
    return collect(samples)


def measure_tap(times: int) -> Times:
    """Return the answer a tap on the page waits for: from JSON to JSON on the demo case."""
    wish = {
        "schema": "collop.spread/1",
        "groups": [{"name": "all", "count": 18, "avoids": []},
                   {"name": "crew", "count": 16, "kind": "crew"}],
        "need_oz": {"plate": 7, "shared": 6, "hand": 6, "wrap": 5},
        "budget_total": "310.00",
        "fire": {"zones": [{"name": "grill", "area_sq_in": 1200}], "minutes": 180, "oven": True,
                 "usable_fraction": 0.8},
        "use_at": "2026-06-12T18:30",
        "now": "2026-06-12T08:00",
        "offers": offers_of(demo_case_friday()),
    }  # fmt: skip
    answer(wish)  # the server has its libraries loaded
    samples = []
    for _ in range(times):
        ms, plan = timed(lambda: answer(wish))
        proofs = [spread["proof"]["status"] for spread in plan["spreads"]]
        samples.append((ms, set(proofs) == {"optimal"}))
    return collect(samples)


def _aim(problem: SpreadProblem, model: SpreadModel, name: str) -> tuple[dict[int, float], Row]:
    money = model.per_pound(money_vector(model.options))
    assert problem.budget is not None
    row = make_row("budget", money, 0, problem.budget.minor)
    if name == "least-money":
        return money, row
    return model.per_pound(cost_vector(problem, model.options, money=1.0)), row


def _by_each_route(problem: SpreadProblem, name: str) -> Iterator[tuple[str, float, str, float]]:
    """Yield (route, build and proof [ms], status, value)."""

    def ours() -> tuple[str, float]:
        model = build(problem)
        costs, row = _aim(problem, model, name)
        found = prove(model.program, model.gates, costs, extra=[row], abs_gap=ABS_GAP)
        return found.status, found.objective

    def compact_cbc() -> tuple[str, float]:
        model = build(problem)
        costs, row = _aim(problem, model, name)
        rows = compact(model.program, costs, [row])
        return cbc(rows, abs_gap=ABS_GAP, limit_s=LIMIT_S)

    def straight_cbc() -> tuple[str, float]:
        model = build(problem)
        costs, row = _aim(problem, model, name)
        rows = straightforward(problem, model, costs, [row])
        return cbc(rows, abs_gap=ABS_GAP, limit_s=LIMIT_S)

    for route, work in (("ours", ours), ("compact, CBC", compact_cbc),
                        ("straightforward, CBC", straight_cbc)):  # fmt: skip
        ms, (status, value) = timed(work)
        yield route, ms, status, value


def measure_routes(seeds: int) -> tuple[dict[str, Times], list[str]]:
    """Return the times of the three routes, and where proven values are apart."""
    samples: dict[str, list[tuple[float, bool]]] = {}
    apart = []
    for number, problem in enumerate(problems(seeds, 150, cv=0.0)):
        for name in ("least-money", "best-value"):
            proven = {}
            for route, ms, status, value in _by_each_route(problem, name):
                samples.setdefault(f"{name}: {route}", []).append((ms, status == "optimal"))
                if status == "optimal":
                    proven[route] = value
            if max(proven.values()) - min(proven.values()) > ABS_GAP:
                apart.append(f"ask {number}, {name}: {proven}")
    return {name: collect(found) for name, found in samples.items()}, apart


def measure_growth(seeds: int) -> list[tuple[int, Times, Times]]:
    """Return (offers, best value alone, whole answer) from 20 to 400 offers."""
    found = []
    for offers in GROWTH:
        samples = []
        for problem in problems(seeds, offers):
            ms, outcome = timed(lambda: _best_value(problem))  # noqa: B023 -- called at once
            samples.append((ms, outcome == "optimal"))
        found.append((offers, collect(samples), measure_answers(seeds, offers)))
    return found


def _best_value(problem: SpreadProblem) -> str:
    model = build(problem)
    budget = problem.budget.minor if problem.budget else None
    found = Solver(problem, model, budget).aim("best-value", apart=False)
    return found.status if found else "infeasible"


def report(seeds: int) -> tuple[str, dict[str, Any]]:
    """Measure all; return the tables in Markdown, and the bare figures."""
    aims = measure_aims(seeds)
    answers, tap = measure_answers(seeds, 150), measure_tap(seeds)
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    routes, apart = measure_routes(max(4, seeds // 3))
    growth = measure_growth(max(4, seeds // 4))
    head = (
        f"{datetime.now(UTC):%Y-%m-%d}, {os.cpu_count()} cores ({platform.machine()}), Python "
        f"{platform.python_version()}, {seeds} seeds, wall time in milliseconds."
    )
    table = "| | median | p95 | proven |\n|---|---|---|---|\n"
    rows = [times.row(name) for name, times in aims.items()]
    rows.append(answers.row("whole answer: five alternatives, checks, curve"))
    rows.append(tap.row("answer to a tap, demo case"))
    text = [head, "", "Build and proof at 150 offers and six groups:", "", table + "\n".join(rows)]
    text += ["", "Three routes to the same optimum (no spread of appetites):", ""]
    text += [table + "\n".join(times.row(name) for name, times in routes.items()), ""]
    text += [_ratios(routes), "", "Proven values agree." if not apart else "; ".join(apart), ""]
    text += ["| offers | best value, median | p95 | whole answer, median | p95 |"]
    text += ["|---|---|---|---|---|"]
    text += [f"| {offers} | {one.median:.0f} | {one.p95:.0f} | {whole.median:.0f} "
             f"| {whole.p95:.0f} |" for offers, one, whole in growth]  # fmt: skip
    text += ["", f"Peak memory of the process after the first table: {megabytes:.0f} MB."]
    timings = {**aims, "whole answer": answers, "tap": tap, **routes}
    figures: dict[str, Any] = {name: times.ms for name, times in timings.items()}
    figures["growth"] = {str(n): {"best-value": a.ms, "answer": b.ms} for n, a, b in growth}
    return "\n".join(text), {"head": head, "peak_mb": megabytes, "ms": figures}


def _ratios(routes: dict[str, Times]) -> str:
    found = []
    for name in ("least-money", "best-value"):
        own = routes[f"{name}: ours"].median
        for route in ("compact, CBC", "straightforward, CBC"):
            ratio = routes[f"{name}: {route}"].median / own
            found.append(f"- {name}: {route} takes {ratio:.1f} times as long as ours (medians)")
    return "\n".join(found)


def main() -> None:
    """Measure, print, and write where asked."""
    parser = argparse.ArgumentParser(description="Measure the spread kernel.")
    parser.add_argument("--seeds", type=int, default=24, help="asks for each measurement")
    parser.add_argument("--json", type=Path, help="write all single times to this file")
    parser.add_argument("--write", action="store_true", help="put the tables into RESULTS.md")
    options = parser.parse_args()
    text, figures = report(options.seeds)
    sys.stdout.write(text + "\n")
    if options.json:
        options.json.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    if options.write:
        before, _, rest = RESULTS.read_text(encoding="utf-8").partition(BEGIN)
        after = rest.partition(END)[2]
        RESULTS.write_text(f"{before}{BEGIN}\n{text}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
