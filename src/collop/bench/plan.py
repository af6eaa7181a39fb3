"""The cutting plan as JSON: breaks, stock day by day, money, worths and proof."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.bench.money import Book, money_of
from collop.bench.problem import BenchProblem
from collop.bench.reading import read_problem
from collop.bench.reasons import reasoned
from collop.bench.saving import saved
from collop.bench.saving_room import roomed
from collop.bench.solving import Answer, ordered, solve
from collop.bench.telling import day_rows, decimal, number, weight_text
from collop.bench.weights import Flows, flows_of
from collop.bench.worths import Worths, worths_of

__all__ = ["Found", "bench", "found_for"]

_GAP_PLACES = 6
#: The solver works to a ten-millionth; less than this is no gap.
_NOISE = 1e-6


@dataclass(frozen=True, slots=True)
class Found:
    """An answer, its exact weights, its money and its shadow prices."""

    problem: BenchProblem
    answer: Answer
    flows: Flows
    book: Book
    worths: Worths


def found_for(problem: BenchProblem) -> Found:
    """Solve a problem whose lists are in order."""
    answer = solve(problem)
    flows = flows_of(answer)
    return Found(problem, answer, flows, money_of(problem, flows), worths_of(answer))


def bench(problem: object) -> dict[str, Any]:
    """Return the cutting plan of a ``collop.bench/1`` problem.

    Parameters
    ----------
    problem : object
        The problem as JSON; see ``docs/bench.md``.

    Returns
    -------
    dict
        A ``collop.bench.plan/1`` plan.

    Raises
    ------
    ProblemError
        If the problem cannot be read; the message says what is wrong and where.
    """
    asked = ordered(read_problem(problem))
    found = found_for(asked)
    plan = roomed(found, _plan(found))
    return saved(found, reasoned(found, plan)) if asked.reasons else plan


def _plan(found: Found) -> dict[str, Any]:
    problem, book = found.problem, found.book
    return {
        "schema": "collop.bench.plan/1",
        "name": problem.name,
        "currency": problem.currency,
        "rounding": problem.rounding.value,
        "unit": problem.unit,
        "days": [day.date.isoformat() for day in problem.days],
        "answer": "short" if _is_short(found) else "all",
        "proof": _proof(found),
        "contribution": book.text(book.contribution),
        "money": {name: book.text(minor) for name, minor in book.parts.items()},
        "breaks": _breaks(found),
        "kept": _kept(found),
        "makes": _makes(found),
        "grinds": _grinds(found),
        "cuts": _cuts(found),
        "bins": _bins(found),
        "pieces": _pieces(found),
        "kinds": _kinds(found),
        **_labour(found),
        "case_room": _room(found),
        "bookings": _bookings(found),
        "claims": _claims(found),
        "short": _short(found),
        "assumptions": [*problem.assumptions, *_doubts(found)],
    }


def _proof(found: Found) -> dict[str, Any]:
    answer = found.answer
    gap = round(answer.gap, _GAP_PLACES)
    is_proven = answer.gap <= float(found.problem.gap) + _NOISE
    bound = max(Fraction(answer.bound), found.book.exact)
    return {
        "status": "optimal" if is_proven else "gap",
        "gap": gap,
        "bound": found.book.text(found.book.minor(bound)),
    }


def _doubts(found: Found) -> list[str]:
    if found.answer.model.least_is_proven:
        return []
    return ["Less might be short: the search for it stopped at the work allowed."]


def _is_short(found: Found) -> bool:
    lines_met = all(
        found.flows.met[at, number] == line.weight
        for at, booking in enumerate(found.problem.bookings)
        for number, line in enumerate(booking.lines)
    )
    days = {way.node: way.day for way in found.flows.ways if way.parent is None}
    never = len(found.problem.days)
    in_time = all(
        days.get(piece.tag, never) <= piece.until_day for piece in found.problem.rail if piece.must
    )
    return not (lines_met and in_time and all(one["met"] for one in _claims(found)))


def _breaks(found: Found) -> list[dict[str, Any]]:
    problem = found.problem
    nodes = {way.index: way.node for way in found.flows.ways}
    rows = []
    for way in sorted(found.flows.ways, key=lambda one: (one.day, one.tag, one.node)):
        claimed = way.weight - way.to_free(way.weight)
        parts = _joined_parts(problem, way.parts)
        rows.append({
            "id": way.node, "tag": way.tag,
            "of": None if way.parent is None else nodes[way.parent],
            "kind": way.kind, "style": way.style.id, "style_name": way.style.name,
            "day": way.day, "date": problem.days[way.day].date.isoformat(),
            "weight": weight_text(way.weight), "claimed": weight_text(claimed),
            "minutes": decimal(way.style.minutes, 4),
            "outputs": [
                {"to": output.to, "id": output.id, "name": name,
                 "weight": weight_text(weight),
                 "claimed": weight_text(weight - way.to_free(weight))}
                for output, name, weight in parts
            ],
            "covers": [], "surplus": [], "runner_up": None, "say": "",
        })  # fmt: skip
    return rows


def _joined_parts(problem: BenchProblem, parts: Any) -> list[tuple[Any, str, Fraction]]:  # noqa: ANN401 -- parts of a way
    found = []
    for output, weight in parts:
        name = output.name
        if output.to == "cut":
            name = problem.cuts[output.id].name
        elif output.to == "bin":
            name = problem.bins[output.id].name
        elif output.to == "kind":
            name = name or problem.kinds[output.id].name
        found.append((output, name, weight))
    return found


def _kept(found: Found) -> list[dict[str, Any]]:
    broken = {way.tag for way in found.flows.ways}
    last = len(found.problem.days) - 1
    return [
        {"tag": piece.tag, "kind": piece.kind, "weight": weight_text(piece.weight_on(last)),
         "worth_left": found.book.text(
             found.book.minor(piece.worth_left * (1 - piece.claimed))), "say": ""}
        for piece in found.problem.rail if piece.tag not in broken
    ]  # fmt: skip


def _makes(found: Found) -> list[dict[str, Any]]:
    problem = found.problem
    rows = []
    for batch in found.flows.batches:
        make = problem.makes[batch.make]
        fat = sum((w * problem.bins[name].fat for name, w in batch.takes), Fraction(0)) / batch.meat
        rows.append({
            "cut": make.cut, "name": make.name, "day": batch.day,
            "weight": weight_text(batch.finished),
            "from": [{"bin": name, "weight": weight_text(w)} for name, w in batch.takes],
            "fat": number(fat, 6), "minutes": decimal(batch.finished * make.minutes_per_unit, 9),
        })  # fmt: skip
    return rows


def _grinds(found: Found) -> list[dict[str, Any]]:
    cuts = found.problem.cuts
    return [
        {"cut": one.cut, "name": cuts[one.cut].name, "bin": one.bin, "day": one.day,
         "weight": weight_text(one.weight), "gives": weight_text(one.gives)}
        for one in found.flows.grinds
    ]  # fmt: skip


def _sum(stock: Any, what: str) -> str:  # noqa: ANN401 -- stock of a cut or bin
    return weight_text(sum((u.weight for u in stock.uses if u.what == what), Fraction(0)))


def _cuts(found: Found) -> list[dict[str, Any]]:
    rows = []
    for key, cut in found.problem.cuts.items():
        stock = found.flows.cuts[key]
        rows.append({
            "id": key, "name": cut.name,
            "opening": weight_text(sum((lot.weight for lot in cut.stock), Fraction(0))),
            "made": weight_text(sum((day.came for day in stock.days), Fraction(0))),
            "booked": _sum(stock, "booking"), "sold": _sum(stock, "sale"),
            "ground": _sum(stock, "ground"), "spoilt": _sum(stock, "spoilt"),
            "left": _sum(stock, "left"),
            "worth": [decimal(Fraction(w), 4) for w in found.worths.cuts[key]],
            "parting": [decimal(Fraction(w), 4) for w in found.worths.parting[key]],
            "days": day_rows(cut, stock.days),
        })  # fmt: skip
    return rows


def _bins(found: Found) -> list[dict[str, Any]]:
    rows = []
    for key, one in found.problem.bins.items():
        stock = found.flows.bins[key]
        rows.append({
            "id": key, "name": one.name,
            "opening": weight_text(sum((lot.weight for lot in one.stock), Fraction(0))),
            "made": weight_text(sum((day.came for day in stock.days), Fraction(0))),
            "used": _sum(stock, "made"), "sold": _sum(stock, "sold"),
            "spoilt": _sum(stock, "spoilt"), "left": _sum(stock, "left"),
            "worth": [decimal(Fraction(w), 4) for w in found.worths.bins[key]],
            "days": [
                {"day": at, "in": weight_text(day.came), "used": weight_text(day.used),
                 "sold": weight_text(day.sold.get(0, Fraction(0))),
                 "spoilt": weight_text(day.spoilt), "on_hand": weight_text(day.on_hand)}
                for at, day in enumerate(stock.days)
            ],
        })  # fmt: skip
    return rows


def _pieces(found: Found) -> list[dict[str, Any]]:
    problem, worths = found.problem, found.worths
    taken = {way.node: way for way in found.flows.ways if way.parent is None}
    kinds = dict(problem.kinds)
    rows = []
    for piece in problem.rail:
        way = taken.get(piece.tag)
        days = range(piece.from_day, min(piece.until_day, len(problem.days) - 1) + 1)
        styles = None
        if way is not None:
            days, styles = range(way.day, way.day + 1), (way.style,)
        weight = piece.weight if way is None else way.weight
        best = worths.best(kinds[piece.kind], days, float(weight), kinds, styles)
        if best is None:
            continue
        per_unit = Fraction(best.per_unit)
        rows.append({
            "tag": piece.tag, "kind": piece.kind,
            "worth": found.book.text(found.book.minor(per_unit * weight)),
            "worth_per_unit": decimal(per_unit, 4), "style": best.style, "day": best.day,
            "broken": way is not None,
        })  # fmt: skip
    return rows


def _kinds(found: Found) -> list[dict[str, Any]]:
    problem = found.problem
    kinds = dict(problem.kinds)
    rows = []
    for key, kind in kinds.items():
        weights = [piece.weight for piece in problem.rail if piece.kind == key]
        weights = weights or [way.weight for way in found.answer.model.ways if way.kind == key]
        if not weights:
            continue
        mean = sum(weights, Fraction(0)) / len(weights)
        best = found.worths.best(kind, range(len(problem.days)), float(mean), kinds)
        if best is not None:
            rows.append({"id": key, "name": kind.name, "day": best.day, "style": best.style,
                         "worth_per_unit": decimal(Fraction(best.per_unit), 4)})  # fmt: skip
    return rows


def _labour(found: Found) -> dict[str, Any]:
    use = found.book.minutes
    return {
        "hands": [
            {"name": hand.name,
             "used": [decimal(use[at, day][0], 9) for day in range(len(found.problem.days))],
             "overtime": [decimal(use[at, day][1], 9) for day in range(len(found.problem.days))],
             "idle": [decimal(hand.minutes[day] - use[at, day][0], 9)
                      for day in range(len(found.problem.days))]}
            for at, hand in enumerate(found.problem.hands)
        ],
        "minute_worth": [decimal(Fraction(one), 4) for one in found.worths.minutes],
    }  # fmt: skip


def _room(found: Found) -> dict[str, Any] | None:
    room = found.problem.case_room
    if room is None:
        return None
    used = [
        sum((stock.days[day].on_hand for stock in found.flows.cuts.values()), Fraction(0))
        for day in range(len(found.problem.days))
    ]
    return {"most": weight_text(room), "used": [weight_text(one) for one in used]}


def _bookings(found: Found) -> list[dict[str, Any]]:
    rows = []
    for at, booking in enumerate(found.problem.bookings):
        lines = []
        for number_, line in enumerate(booking.lines):
            met = found.flows.met[at, number_]
            lines.append({"cut": line.cut, "weight": weight_text(line.weight),
                          "met": weight_text(met), "short": weight_text(line.weight - met),
                          "chance": None})  # fmt: skip
        rows.append({"id": booking.id, "name": booking.name, "due": booking.due,
                     "met": all(one["short"] == "0" for one in lines), "lines": lines})  # fmt: skip
    return rows


def _claims(found: Found) -> list[dict[str, Any]]:
    taken = {way.node: way.day for way in found.flows.ways if way.parent is None}
    return [
        {"booking": claim.booking, "tag": piece.tag, "weight": weight_text(claim.weight),
         "due": claim.due, "day": taken.get(piece.tag),
         "met": taken.get(piece.tag, len(found.problem.days)) <= claim.due}
        for piece in found.problem.rail for claim in piece.claims
    ]  # fmt: skip


def _short(found: Found) -> list[dict[str, Any]]:
    problem = found.problem
    rows: list[dict[str, Any]] = []
    for at, booking in enumerate(problem.bookings):
        for number_, line in enumerate(booking.lines):
            lacks = line.weight - found.flows.met[at, number_]
            if lacks:
                name = problem.cuts[line.cut].name
                day = problem.days[booking.due].date
                rows.append({
                    "booking": booking.id, "name": booking.name, "cut": line.cut,
                    "cut_name": name, "weight": weight_text(lacks), "due": booking.due,
                    "say": f"{booking.name} ({booking.id}) lacks {weight_text(lacks)} "
                    f"{problem.unit} of {name} on {day:%a %d %b}.",
                    "saves": [],
                })  # fmt: skip
    return rows
