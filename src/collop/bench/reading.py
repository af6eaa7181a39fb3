"""A problem of the cutting plan, read from JSON: every value checked, every name followed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from fractions import Fraction

from collop.bench.problem import BenchProblem, Cut, Day, Hand, Kind
from collop.bench.reading_case import (
    USUAL_ELASTICITY,
    read_bins,
    read_cuts,
    read_makes,
)
from collop.bench.reading_kinds import read_kinds
from collop.bench.reading_parts import (
    MOST_PER_DAY,
    label,
    lines,
    money,
    name_of,
    number,
    per_day,
    weight,
)
from collop.bench.reading_rail import read_before, read_bookings, read_locks, read_rail
from collop.bench.reading_size import not_too_many_ways
from collop.errors import BadValue, Contradiction
from collop.measures import Rounding
from collop.wire import Reader

__all__ = ["MOST_DAYS", "MOST_HANDS", "SCHEMA_ID", "UNITS", "read_problem"]

SCHEMA_ID = "collop.bench/1"
UNITS = ("lb", "kg")
MOST_DAYS, MOST_HANDS = 14, 20
#: Who works how long is shared out exactly over sets of hands: 2 to the power of this many.
MOST_APART = 8
MOST_GAP = 0.5
#: Pay of an hour beyond the usual ones, as a multiple, if none is given.
USUAL_OVERTIME = Fraction(3, 2)
_KEYS = ("schema", "name", "currency", "rounding", "unit", "days", "hands", "case_room", "kinds",
         "rail", "cuts", "bins", "makes", "bookings", "locks", "before", "gap",
         "reasons")  # fmt: skip
_HAND_KEYS = ("name", "minutes", "overtime", "per_hour", "overtime_per_hour", "cannot")
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)


def read_problem(data: object) -> BenchProblem:
    """Read one problem of the cutting plan.

    Parameters
    ----------
    data : object
        Parsed JSON of the ``collop.bench/1`` contract.

    Returns
    -------
    BenchProblem
        Exact; weights in its unit, money in its currency, days from 0.

    Raises
    ------
    ProblemError
        With the path of the first bad value, in one sentence.
    """
    top = Reader(data, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    currency, rounding, unit = _frame(top)
    days = _days(top)
    bins = read_bins(top)
    cuts = read_cuts(top, bins, len(days))
    kinds = read_kinds(top, cuts, bins)
    rail = read_rail(top, kinds, len(days))
    locks = read_locks(top, rail, kinds, len(days))
    not_too_many_ways(rail, kinds, locks, len(days))
    has_room = top.has("case_room")
    gap = number(top, "gap", 0.0, MOST_GAP, "0.001")
    assert gap is not None
    hands = _hands(top, kinds, len(days))
    _can_be_shared_out(top, hands, kinds)
    return BenchProblem(
        name=name_of(top, "name", ""),
        currency=currency,
        rounding=rounding,
        unit=unit,
        days=days,
        hands=hands,
        kinds=kinds,
        rail=rail,
        cuts=cuts,
        bins=bins,
        makes=read_makes(top, cuts, bins),
        bookings=read_bookings(top, cuts, len(days)),
        case_room=weight(top, "case_room", least="0") if has_room else None,
        locks=locks,
        before=read_before(top, len(days)),
        gap=gap,
        reasons=top.flag("reasons", default=True),
        assumptions=tuple(_notes(top, cuts)),
    )


def _frame(top: Reader) -> tuple[str, Rounding, str]:
    currency = top.currency()
    rounding = Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP))
    return currency, rounding, top.choice("unit", UNITS, UNITS[0])


def _days(top: Reader) -> tuple[Day, ...]:
    """Return the days of the plan: dates in a row, a shut one with ``open`` false."""
    found: list[Day] = []
    for row in lines(top, "days", ("day", "open"), MOST_DAYS):
        here = _date(row)
        if found and here - found[-1].date != timedelta(days=1):
            raise row.fail(
                "day",
                f"is {here}; it must be the day after {found[-1].date} (a shut day is given too, "
                "with open false).",
            )
        found.append(Day(here, row.flag("open", default=True)))
    if not found:
        raise top.fail("days", f"is empty; give from 1 to {MOST_DAYS} days.")
    return tuple(found)


def _date(row: Reader) -> date:
    text = str(row.text("day"))
    if _DAY.fullmatch(text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            pass
    raise row.fail("day", f"is {text[:40]!r}; write a date such as 2026-06-09.")


def _hands(top: Reader, kinds: Mapping[str, Kind], days: int) -> tuple[Hand, ...]:
    styles = {style.id for kind in kinds.values() for style in kind.styles}
    seen: set[str] = set()
    found = tuple(
        _hand(row, label(row, "name", seen), styles, days)
        for row in lines(top, "hands", _HAND_KEYS, MOST_HANDS)
    )
    if not found:
        raise top.fail("hands", "names nobody; give who cuts, with minutes for each day.")
    return found


def _hand(row: Reader, name: str, styles: set[str], days: int) -> Hand:
    usual = per_day(row, "minutes", days, high=MOST_PER_DAY)
    over = (Fraction(0),) * days
    if row.has("overtime"):
        over = per_day(row, "overtime", days, high=MOST_PER_DAY)
    for day, (one, more) in enumerate(zip(usual, over, strict=True)):
        if one + more > int(MOST_PER_DAY):
            where = f"{row.where('overtime')}[{day}]"
            raise Contradiction(
                f"{where} and the minutes of that day are over {MOST_PER_DAY}; lower one of them.",
                where=where,
            )
    per_hour = money(row, "per_hour", "0")
    dear = per_hour * USUAL_OVERTIME
    if row.has("overtime_per_hour"):
        dear = money(row, "overtime_per_hour")
    return Hand(name, usual, over, per_hour, dear, _cannot(row, styles))


def _cannot(row: Reader, styles: set[str]) -> frozenset[str]:
    found = row.texts("cannot", [])
    for index, one in enumerate(found):
        if one not in styles:
            where = f"{row.where('cannot')}[{index}]"
            raise BadValue(
                f"{where} is {one[:40]!r}, which is no style; name one of $.kinds.", where=where
            )
    return frozenset(found)


def _can_be_shared_out(top: Reader, hands: tuple[Hand, ...], kinds: Mapping[str, Kind]) -> None:
    """Refuse more ways to tell hands apart than can be shared out exactly."""
    styles = [style.id for kind in kinds.values() for style in kind.styles]
    groups = {frozenset(hand.name for hand in hands if one not in hand.cannot) for one in styles}
    if min(len(hands), len(groups)) > MOST_APART:
        raise top.fail(
            "hands",
            f"has {len(hands)} hands who differ in {len(groups)} ways in what they cut; "
            f"tell apart {MOST_APART} ways at the most.",
        )


def _notes(top: Reader, cuts: Mapping[str, Cut]) -> Iterator[str]:
    """Yield what was taken for granted because it was left out."""
    without = [
        cuts[row["id"]].name
        for row in top.items("cuts")
        if row.get("elasticity") is None and len(cuts[row["id"]].steps) > 1
    ]
    if without:
        yield (
            f"Sales answer a price with an elasticity of {USUAL_ELASTICITY} where none is given: "
            f"{_some(without)}."
        )
    dear = [
        row["name"]
        for row in top.items("hands")
        if row.get("overtime_per_hour") is None and row.get("overtime") is not None
    ]
    if dear:
        yield f"Overtime is paid 1.5 times the hour where no pay is given: {_some(dear)}."


def _some(names: list[str]) -> str:
    """Return up to five names, and how many more there are."""
    more = len(names) - 5
    return ", ".join(names[:5]) + (f" and {more} more" if more > 0 else "")
