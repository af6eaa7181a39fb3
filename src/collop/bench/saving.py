"""What would save a promise that falls short: more animals, more hours, a later date, or less.

A change is told only if the least short plan with it, solved again, keeps that promise and leaves
no other shorter than before; in a large shop, if a plan that does so is found.  The dearest
shortages come first; what the budget leaves untried is told only how much of it can be promised.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.bench.problem import BenchProblem, Piece
from collop.bench.saving_animals import Herd, enough_of, herds_for, least_of
from collop.bench.saving_trial import Before, Budget, Lack, Trial, before_of
from collop.bench.telling import decimal, weight_text

if TYPE_CHECKING:
    from collop.bench.plan import Found

__all__ = ["HOURS", "lacks_of", "saved"]

#: Minutes more at the bench that are tried, in all.
HOURS = {30: "Half an hour more", 60: "An hour more", 120: "2 hours more", 240: "4 hours more",
         480: "8 hours more"}  # fmt: skip
_WEEK = 7
#: What lacks less than this may only have been rounded away.
_LEAST = Fraction(1, 500)
_DATES = 2


def saved(found: Found, plan: dict[str, Any]) -> dict[str, Any]:
    """Return the plan with all that is short, and what would save each.

    Parameters
    ----------
    found : Found
        The answer; its problem's lists are in order.
    plan : dict
        A ``collop.bench.plan/1`` whose ``short`` lists lines of bookings.

    Returns
    -------
    dict
        Claims that are not met, and pieces that must be broken and are not, are listed as short as
        well.  `saves` has up to four changes: ``animal`` (so many more of a kind), ``date`` (the
        first later day), ``hours`` (minutes more in all, by the day it is due) and ``weight`` (what
        can be promised).
    """
    lacks = lacks_of(found, plan)
    if not lacks:
        return plan
    before, budget = before_of(found), Budget()
    for lack in sorted(lacks, key=lambda one: -one.cost):
        lack.row["saves"] = list(_changes(found, lack, before, budget))
    return {**plan, "answer": "short", "short": [lack.row for lack in lacks]}


def lacks_of(found: Found, plan: dict[str, Any]) -> list[Lack]:
    """Return all that is short, with new rows: lines of bookings, claims, pieces to be broken."""
    problem = found.problem
    places = [
        (at, number)
        for at, booking in enumerate(problem.bookings)
        for number, line in enumerate(booking.lines)
        if line.weight != found.flows.met[at, number]
    ]
    lacks = []
    for place, row in zip(places, plan["short"], strict=True):
        booking = problem.bookings[place[0]]
        line = booking.lines[place[1]]
        short = line.weight - found.flows.met[place]
        lacks.append(Lack(dict(row), short * line.price, booking.due, short, line=place))
    day = {way.tag: way.day for way in found.flows.ways if way.parent is None}
    for piece in problem.rail:
        lacks += _late(problem, piece, day.get(piece.tag, len(problem.days)))
    return lacks


def _late(problem: BenchProblem, piece: Piece, broken: int) -> Iterator[Lack]:
    """Yield the claims on a piece that is broken too late, or the order to break it."""
    cost = max(Fraction(1), piece.worth_left)
    what = f"{problem.kinds[piece.kind].name} {piece.tag}"
    claims = [claim for claim in piece.claims if claim.due < broken]
    for claim in claims:
        who = f"{claim.name} ({claim.booking})" if claim.name else claim.booking
        yield Lack(
            _row((claim.booking, claim.name), what, claim.weight, claim.due,
                 f"{who} hangs on {what}, which cannot be broken by {_day(problem, claim.due)}."),
            cost, claim.due, claim.weight, tag=piece.tag,
        )  # fmt: skip
    if piece.must and not claims and broken == len(problem.days):
        due, weight = piece.until_day, piece.weight_on(piece.until_day)
        yield Lack(
            _row(("", ""), what, weight, due,
                 f"{what} was to be broken by {_day(problem, due)} and cannot be."),
            cost, due, weight, tag=piece.tag,
        )  # fmt: skip


def _row(who: tuple[str, str], what: str, weight: Fraction, due: int,
         say: str) -> dict[str, Any]:  # fmt: skip
    return {"booking": who[0], "name": who[1], "cut": None, "cut_name": what,
            "weight": weight_text(weight), "due": due, "say": say, "saves": []}  # fmt: skip


def _changes(found: Found, lack: Lack, before: Before, budget: Budget) -> Iterator[dict[str, str]]:
    """Yield the changes that save one promise."""
    problem = found.problem
    if lack.short >= _LEAST:
        yield from _hanging(problem, lack, before, budget)
        if lack.line is not None:
            yield from _animals(problem, lack, before, budget)
        yield from _dates(problem, lack, before, budget)
        yield from _hours(problem, lack, before, budget)
    if lack.line is not None:
        met, unit = found.flows.met[lack.line], problem.unit
        say = "None of it can be promised."
        if met:
            say = (
                f"{weight_text(met)} {unit} can be promised; {weight_text(lack.short)} {unit} less."
            )
        yield {"change": "weight", "to": weight_text(met), "say": say}


# what hangs and was to hang on


def _hanging(problem: BenchProblem, lack: Lack, before: Before,
             budget: Budget) -> Iterator[dict[str, str]]:  # fmt: skip
    """Yield a piece that is settled to hang on, if breaking it does it."""
    pieces = {piece.tag: piece for piece in problem.rail}
    for lock in problem.locks:
        if lock.style is not None or pieces[lock.tag].from_day > lack.due or budget.is_spent:
            continue
        freed = replace(problem, locks=tuple(one for one in problem.locks if one is not lock))
        trial = Trial(freed, lack, before, budget)
        if trial.may_cover() and trial.covers():
            yield {
                "change": "piece", "to": lock.tag,
                "say": f"{lock.tag}, which was to hang on, would cover it if it were broken by "
                f"{problem.days[lack.due].date:%a}.",
            }  # fmt: skip
            return


# more animals


def _animals(problem: BenchProblem, lack: Lack, before: Before,
             budget: Budget) -> Iterator[dict[str, str]]:  # fmt: skip
    """Yield the fewest more pieces of the cheapest kind that does it."""
    assert lack.line is not None
    at, number = lack.line
    for herd in herds_for(problem, lack, problem.bookings[at].lines[number].cut):
        if budget.is_spent:
            return
        count = enough_of(problem, lack, before, budget, herd)
        if count is not None:
            yield {"change": "animal", "to": f"{count} x {herd.kind.id}",
                   "say": _herd_words(problem, lack, herd, count)}  # fmt: skip
            return


def _herd_words(problem: BenchProblem, lack: Lack, herd: Herd, count: int) -> str:
    each = decimal(herd.gives, 2)
    gives = f"{each if each != '0' else decimal(herd.gives, 6)} {problem.unit}"
    is_exact = herd.is_plain and count == least_of(lack, herd)
    most = "" if is_exact else "up to "
    name, by = herd.kind.name, _weekday(problem, herd.by)
    if name[1:2].islower():  # no initials
        name = name[0].lower() + name[1:]
    if count == 1:
        return f"One more {name} hanging by {by} would cover it: it gives {most}{gives}."
    return (
        f"{count} more {_several(name)} hanging by {by} would cover it: each gives {most}{gives}."
    )


def _several(name: str) -> str:
    """Return a name for more than one.

    Examples
    --------
    >>> _several("lamb"), _several("beef half"), _several("carcass"), _several("sheep")
    ('lambs', 'beef halves', 'carcasses', 'sheep')
    """
    if name.endswith(("sheep", "deer")) or not name[-1:].isalpha():
        return name
    if name.endswith(("half", "calf")):
        return f"{name[:-1]}ves"
    return f"{name}es" if name.endswith(("s", "x", "ch", "sh")) else f"{name}s"


# a later day


def _dates(problem: BenchProblem, lack: Lack, before: Before,
           budget: Budget) -> Iterator[dict[str, str]]:  # fmt: skip
    """Yield the first later day on which customers are served and it would be there."""
    tries = _DATES
    for day in range(lack.due + 1, len(problem.days)):
        if budget.is_spent or not tries:
            return
        if lack.line is not None and not problem.days[day].is_open:
            continue
        changed, waiting = _moved(problem, lack, day)
        trial = Trial(changed, lack, before, budget)
        if not trial.may_cover():
            continue
        tries -= 1
        if trial.covers():
            when = problem.days[day].date
            also = f", if {' and '.join(waiting)} wait" if len(waiting) > 1 else ""
            yield {"change": "date", "to": when.isoformat(),
                   "say": f"From {_date_words(when)} it is there{also}."}  # fmt: skip
            return


def _moved(problem: BenchProblem, lack: Lack, day: int) -> tuple[BenchProblem, list[str]]:
    """Return the problem with a promise moved to a day, and the claims that wait together."""
    if lack.line is not None:
        bookings = list(problem.bookings)
        bookings[lack.line[0]] = replace(bookings[lack.line[0]], due=day)
        return replace(problem, bookings=tuple(bookings)), []
    rail, waiting = [], []
    for piece in problem.rail:
        if piece.tag != lack.tag:
            rail.append(piece)
        elif not piece.claims:
            rail.append(replace(piece, until_day=day))
        else:
            # nobody's share comes off before the piece is broken: they wait together
            waiting = [claim.booking for claim in piece.claims if claim.due < day]
            claims = tuple(replace(one, due=max(one.due, day)) for one in piece.claims)
            rail.append(replace(piece, claims=claims))
    return replace(problem, rail=tuple(rail)), waiting


# more hours


def _hours(problem: BenchProblem, lack: Lack, before: Before,
           budget: Budget) -> Iterator[dict[str, str]]:  # fmt: skip
    """Yield the least of `HOURS` that does it, worked by those at work up to the day it is due."""
    if budget.is_spent or not any(
        hand.minutes[day] for hand in problem.hands for day in range(lack.due + 1)
    ):
        return
    trial = Trial(problem, lack, before, budget, lent_by=lack.due)
    fewest, rungs = None, list(HOURS)
    while rungs and not budget.is_spent:
        # the most first: if that does not help, nothing under it does
        at = len(rungs) - 1 if fewest is None else (len(rungs) - 1) // 2
        if trial.lend(rungs[at]).may_cover() and trial.covers():
            fewest, rungs = rungs[at], rungs[:at]
        else:
            rungs = rungs[at + 1 :]
    if fewest is not None:
        say = f"{HOURS[fewest]} at the bench by {_weekday(problem, lack.due)} would do it."
        yield {"change": "hours", "to": str(fewest), "say": say}


# words


def _weekday(problem: BenchProblem, day: int) -> str:
    """Return a day by its name; with its date where a name comes twice."""
    return _day(problem, day) if len(problem.days) > _WEEK else f"{problem.days[day].date:%a}"


def _day(problem: BenchProblem, day: int) -> str:
    return _date_words(problem.days[day].date)


def _date_words(when: date) -> str:
    return f"{when:%a} {when.day} {when:%b}"
