"""Bookings: what is met and what is short adds up, and every short line is named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from collop.bench.checker_parts import amount
from collop.bench.problem import BenchProblem, Booking

__all__ = ["promise_rules", "short_rules"]


def promise_rules(problem: BenchProblem, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield each booking whose lines do not add up."""
    told = {row["id"]: row for row in plan["bookings"]}
    for booking in problem.bookings:
        yield from _booking_rules(booking, told[booking.id])


def _booking_rules(booking: Booking, row: Mapping[str, Any]) -> Iterator[str]:
    if row["due"] != booking.due:
        yield f"{booking.id} is due on day {booking.due}, not {row['due']}"
    for line in row["lines"]:
        met, short = amount(line["met"]), amount(line["short"])
        if min(met, short) < 0 or met + short != amount(line["weight"]):
            yield f"{line['cut']} of {booking.id}: met and short do not add up"
    if row["met"] is not all(not amount(line["short"]) for line in row["lines"]):
        yield f"{booking.id} is told met or not against its lines"


def short_rules(problem: BenchProblem, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is short and not named, or named and not short, and a wrong answer."""
    due: Counter[tuple[str, str]] = Counter()
    for booking in plan["bookings"]:
        for line in booking["lines"]:
            due[booking["id"], line["cut"]] += _steps(line["short"])
    told: Counter[tuple[str, str]] = Counter()
    lines = {(booking.id, line.cut) for booking in problem.bookings for line in booking.lines}
    for row in plan["short"]:
        if (row["booking"], row["cut"]) in lines:
            told[row["booking"], row["cut"]] += _steps(row["weight"])
    if +due != +told:
        yield "what is short is not what is named as short"
    named = {row["booking"] for row in plan["short"]}
    late = {row["booking"] for row in plan["claims"] if row["met"] is False}
    if late - named:
        yield f"the claims of {', '.join(sorted(late - named))} are not met and not named as short"
    is_short = bool(+due) or bool(late)
    if is_short and plan["answer"] != "short":
        yield "something is short, but the answer says that all is met"
    if plan["answer"] not in {"all", "short"}:
        yield f"the answer is {plan['answer']!r}"


def _steps(weight: str) -> int:
    """Return a weight in billionths: a counter holds whole numbers."""
    return int(amount(weight) * Fraction(10**9))
