"""The farm call's answer as JSON: lines of the cuts, of what is promised, of the weeks."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import accumulate
from typing import Any

from collop.bench.farm_problem import FarmCut, FarmProblem, Promise, Scenario
from collop.bench.farm_saying import Pen, counted, in_words
from collop.bench.farm_solving import Answer
from collop.bench.farm_tree import Tree, most_of
from collop.bench.farm_weights import LEAST, MONEY, Account

__all__ = [
    "bins_json", "cuts_json", "cutting_json", "makes_json", "money_json",
    "promises_json", "spread_json", "weeks_json",
]  # fmt: skip

_PLACES = 6
_TENTHS = {"low": Fraction(1, 10), "usual": Fraction(1, 2), "high": Fraction(9, 10)}
Json = dict[str, Any]


def rounded(value: Fraction, places: int = _PLACES) -> float:
    """Return a plain number (a chance, a count of pieces) to `places` decimals."""
    return round(float(value), places)


def _ways_out(pen: Pen, cut: FarmCut, mean: Account) -> dict[str, tuple[Fraction, Fraction]]:
    """Return weight and money of a cut by how it goes: at the board price or dearer, or not."""
    full = {step: mean.sold[cut.id, step] for step in cut.steps if step >= 1}
    less = {step: mean.sold[cut.id, step] for step in cut.steps if step < 1}
    ground, per = mean.ground.get(cut.id, Fraction(0)), Fraction(0)
    if cut.ground is not None:
        per = cut.ground.gives * pen.problem.bins[cut.ground.bin].worth
    salvage = mean.salvage[cut.id]
    return {
        "at_board": _sold(cut, full),
        "marked_down": _sold(cut, less),
        "ground": (ground, ground * per),
        "salvage": (salvage, salvage * cut.salvage),
    }


def _sold(cut: FarmCut, steps: dict[Fraction, Fraction]) -> tuple[Fraction, Fraction]:
    weight = sum(steps.values(), Fraction(0))
    return weight, sum((w * step * cut.price for step, w in steps.items()), Fraction(0))


def cuts_json(pen: Pen, mean: Account) -> list[Json]:
    """Return each cut with its mean weights, how they go, and the chance of running short."""
    found: list[Json] = []
    for cut in pen.problem.cuts.values():
        ways = _ways_out(pen, cut, mean)
        promised = sum(
            (mean.promised[at] for at, one in enumerate(pen.problem.promises)
             if one.cut == cut.id), Fraction(0))  # fmt: skip
        sold = promised + ways["at_board"][0] + ways["marked_down"][0]
        found.append(
            {
                "id": cut.id,
                "name": cut.name,
                "on_hand": pen.weight(cut.on_hand),
                "made": pen.weight(mean.cut[cut.id] + mean.made[cut.id]),
                "wanted": pen.weight(mean.wanted[cut.id]),
                "sold": pen.weight(sold),
                "short": pen.weight(mean.short[cut.id]),
                "surplus": pen.weight(mean.surplus[cut.id]),
                **{key: {"weight": pen.weight(weight), "money": pen.money(money)}
                   for key, (weight, money) in ways.items()},
                "chance_short": rounded(mean.misses[cut.id]),
            }
        )  # fmt: skip
    return found


def promises_json(pen: Pen, answer: Answer, *, standing: bool) -> list[Json]:
    """Return what each standing order, or each booking, asks and gets, and what it would take."""
    return [
        _promise(pen, one, answer.mean.promised[at], answer.counts)
        for at, one in enumerate(pen.problem.promises)
        if one.standing is standing
    ]


def _promise(pen: Pen, one: Promise, gets: Fraction, counts: Sequence[int]) -> Json:
    problem, cut = pen.problem, pen.problem.cuts[one.cut]
    needed: int | None = None
    say = ""
    givers = []
    for animal, count in zip(problem.animals, counts, strict=True):
        per = animal.weight * most_of(problem.kinds, animal.kind, one.cut)
        if per:
            givers.append((per, animal, count))
    if givers:
        per, animal, count = max(givers, key=lambda giver: giver[0])
        needed = -(-one.weight // per)
        gives = "gives" if count == 1 else "give"
        say = (
            f"{pen.said(one.weight)} is {counted(needed, animal.name)}; "
            f"{in_words(count)} {gives} {pen.said(per * count)}. "
        )
    missing = one.weight - gets
    told = "Served in full." if missing <= LEAST else f"{pen.said(missing)} short in a usual week."
    return {
        "name": one.name,
        "cut": one.cut,
        "asks": pen.weight(one.weight),
        "gets": pen.weight(gets),
        "animals_needed": needed,
        "say": f"{cut.name}: {say}{told}",
    }


def cutting_json(problem: FarmProblem, tree: Tree, mean: Account, pen: Pen) -> list[Json]:
    """Return how the pieces would be cut, in the mean: pieces and weight by kind and style."""
    pieces: dict[tuple[str, str], Fraction] = {}
    weights: dict[tuple[str, str], Fraction] = {}
    for way in tree.ways:
        key = (way.kind.id, way.style.id)
        pieces[key] = pieces.get(key, Fraction(0)) + mean.ways[way.index]
        weights[key] = weights.get(key, Fraction(0)) + mean.ways[way.index] * way.weight
    return [
        {
            "kind": kind.id,
            "name": kind.name,
            "style": style.id,
            "style_name": style.name,
            "pieces": rounded(pieces[kind.id, style.id]),
            "weight": pen.weight(weights[kind.id, style.id]),
        }
        for kind in problem.kinds.values()
        for style in kind.styles
        if weights.get((kind.id, style.id))
    ]


def bins_json(pen: Pen, mean: Account) -> list[Json]:
    """Return each bin: what is there and comes in, what is used, what is sold as it is."""
    return [
        {
            "id": one.id,
            "name": one.name,
            "on_hand": pen.weight(one.on_hand),
            "made": pen.weight(mean.trimmed[one.id]),
            "used": pen.weight(
                sum((w for (_, it), w in mean.used.items() if it == one.id), Fraction(0))
            ),
            "sold": pen.weight(mean.binned[one.id]),
        }
        for one in pen.problem.bins.values()
    ]


def makes_json(pen: Pen, mean: Account) -> list[Json]:
    """Return what is made of trim, with the bins it takes from."""
    found = []
    for at, make in enumerate(pen.problem.makes):
        used = {one: mean.used[at, one] for one in make.bins}
        weight = sum(used.values(), Fraction(0)) / (1 - make.added)
        found.append(
            {
                "cut": make.cut,
                "name": make.name,
                "weight": pen.weight(weight),
                "from": [{"bin": one, "weight": pen.weight(w)} for one, w in used.items()],
            }
        )
    return found


def money_json(pen: Pen, answer: Answer) -> Json:
    """Return the mean money by what it is of; costs are below zero, and the sum is `expected`."""
    animals = answer.expected - answer.mean.contribution
    found = {key: pen.money(answer.mean.money.get(key, Fraction(0))) for key in MONEY}
    return {**found, "animals": pen.money(animals)}


def weeks_json(pen: Pen, answer: Answer, scenarios: Sequence[Scenario]) -> list[Json]:
    """Return each week that may come: its chance, and what the order brings in it."""
    cost = answer.mean.contribution - answer.expected
    return [
        {
            "name": one.name,
            "chance": rounded(one.chance, 9),
            "contribution": pen.money(week.contribution - cost),
        }
        for one, week in zip(scenarios, answer.weeks, strict=True)
    ]


def spread_json(pen: Pen, answer: Answer, scenarios: Sequence[Scenario]) -> dict[str, str]:
    """Return what the order brings in the worst tenth, the middle and the best tenth of weeks."""
    return {key: pen.money(value) for key, value in _quantiles(answer, scenarios)}


def _quantiles(answer: Answer, scenarios: Sequence[Scenario]) -> Iterator[tuple[str, Fraction]]:
    cost = answer.mean.contribution - answer.expected
    weeks = sorted(
        (week.contribution - cost, one.chance)
        for one, week in zip(scenarios, answer.weeks, strict=True)
    )
    for key, share in _TENTHS.items():
        passed = list(accumulate(chance for _, chance in weeks))
        yield key, weeks[bisect_left(passed, share)][0]
