"""One cut through the days: as it was, and as it would have been with other arrivals.

The second walk is told by what differs from the first, so that without a difference it is the
first, to the last thousandth:

- bookings go first, and take no more than was promised;
- the glass sells what was asked for, less what later bookings need;
- what went elsewhere (ground, made, frozen, missing) goes again, as far as it is there;
- at the close that is binned which was, and with it what is past its days beyond what was then.

The oldest is taken first in both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from collop.bench.replaying_problem import Cut
from collop.errors import Contradiction
from collop.measures import decimal_of

__all__ = ["Walk", "demand_of", "walk_again", "walk_of"]

#: What sold out sooner than after this share of the day counts as if it had taken so long: common
#: practice, no published source. A pace of a few minutes is chance.
LEAST_SHARE = Fraction(1, 5)
_NOTHING = Fraction(0)
_STEP = 1000


@dataclass(slots=True)
class Walk:
    """Weights of one cut, each list of shape (days,).

    Parameters
    ----------
    came, sold, booked, binned, other, left : list of Fraction
        `left` is what is there at night.
    past : list of Fraction
        What is past its days at the close, before anything is binned.
    free, held : list of Fraction
        What was there and neither sold (free) nor went to a booking that day (held).
    sound : Fraction
        What is left at the end and still good the day after.
    """

    came: list[Fraction]
    sold: list[Fraction] = field(default_factory=list)
    booked: list[Fraction] = field(default_factory=list)
    binned: list[Fraction] = field(default_factory=list)
    other: list[Fraction] = field(default_factory=list)
    left: list[Fraction] = field(default_factory=list)
    past: list[Fraction] = field(default_factory=list)
    free: list[Fraction] = field(default_factory=list)
    held: list[Fraction] = field(default_factory=list)
    sound: Fraction = _NOTHING


class _Shelf:
    """Stock by its last day; what outlasts the days is all alike."""

    def __init__(self, cut: Cut) -> None:
        self.end = len(cut.days)
        self.lots = [_NOTHING] * (self.end + 1)
        self.there = _NOTHING
        for lot in cut.stock:
            self.put(lot.weight, lot.days_left)

    def put(self, weight: Fraction, last: int) -> None:
        self.lots[min(last, self.end)] += weight
        self.there += weight

    def past(self, day: int) -> Fraction:
        return sum(self.lots[: day + 1], _NOTHING)

    def take(self, weight: Fraction) -> None:
        """Take what is there of a weight, the oldest first."""
        for last, there in enumerate(self.lots):
            part = min(weight, there)
            if part:
                self.lots[last] -= part
                self.there -= part
                weight -= part


def walk_of(cut: Cut, came: Sequence[Fraction]) -> Walk:
    """Return what happened to a cut.

    Parameters
    ----------
    came : sequence of Fraction, shape (days,)
        What came off the pieces that were cut; what came otherwise stands with the cut.

    Raises
    ------
    Contradiction
        If more went on a day than was there.
    """
    shelf, walk = _Shelf(cut), Walk([weight + one.other_in for weight, one in
                                     zip(came, cut.days, strict=True)])  # fmt: skip
    for day, one in enumerate(cut.days):
        shelf.put(walk.came[day], day + cut.keeps_days)
        went = one.booked + one.sold + one.other_out + one.binned
        if went > shelf.there:
            raise Contradiction(
                f"Of {cut.name} {decimal_of(went, 3)} went on day {day}, and"
                f" {decimal_of(shelf.there, 3)} was there; add what came in to other_in or its"
                " stock.",
                where=f"$.cuts.{cut.id}",
            )
        walk.held.append(shelf.there - one.booked)
        walk.free.append(shelf.there - one.booked - one.sold)
        shelf.take(one.booked + one.sold + one.other_out)
        walk.past.append(shelf.past(day))
        shelf.take(one.binned)
        _note(walk, (one.booked, one.sold, one.other_out, one.binned), shelf.there)
    walk.sound = shelf.there - shelf.past(len(cut.days) - 1)
    return walk


def _note(walk: Walk, went: tuple[Fraction, Fraction, Fraction, Fraction], left: Fraction) -> None:
    for found, weight in zip((walk.booked, walk.sold, walk.other, walk.binned), went, strict=True):
        found.append(weight)
    walk.left.append(left)


def _kept_back(cut: Cut, came: Sequence[Fraction], day: int) -> Fraction:
    """Return what bookings of later days need of what is there on a day."""
    need = most = _NOTHING
    for later in range(day + 1, len(cut.days)):
        need += cut.days[later].booked - came[later]
        most = max(most, need)
    return most


def walk_again(cut: Cut, walk: Walk, came: Sequence[Fraction], demand: Sequence[Fraction]) -> Walk:
    """Return what would have happened with other arrivals, and with this demand at the glass.

    Parameters
    ----------
    walk : Walk
        What happened.
    came : sequence of Fraction, shape (days,)
        What would have come off the pieces.
    demand : sequence of Fraction, shape (days,)
        No less than what was sold.
    """
    shelf, again = _Shelf(cut), Walk([weight + one.other_in for weight, one in
                                      zip(came, cut.days, strict=True)])  # fmt: skip
    for day, one in enumerate(cut.days):
        shelf.put(again.came[day], day + cut.keeps_days)
        there = shelf.there
        booked = min(one.booked + one.booked_short,
                     max(min(one.booked, there), there - walk.held[day]))  # fmt: skip
        rest = there - booked
        most = max(_NOTHING, rest - _kept_back(cut, again.came, day))
        # beyond what was sold only what came more can sell: what lay there unsold was not for sale
        more = min(demand[day], most, rest - walk.free[day])
        sold = max(min(one.sold, most), more)
        other = min(one.other_out, rest - sold)
        again.held.append(rest)
        again.free.append(rest - sold)
        shelf.take(booked + sold + other)
        past = shelf.past(day)
        binned = min(shelf.there, max(_NOTHING, one.binned + past - walk.past[day]))
        again.past.append(past)
        shelf.take(binned)
        _note(again, (booked, sold, other, binned), shelf.there)
    again.sound = shelf.there - shelf.past(len(cut.days) - 1)
    return again


def demand_of(cut: Cut, walk: Walk, is_open: Sequence[bool]) -> tuple[list[Fraction], list[bool]]:
    """Return what might have sold on each day, and whether that is an estimate.

    Where a cut sold out, its pace until then is taken to go on until the close; where there was
    none all day, its usual sale counts. Else it is what was sold.

    Returns
    -------
    demand : list of Fraction, shape (days,)
        To the thousandth.
    guessed : list of bool, shape (days,)
    """
    demand, guessed = [], []
    for day, one in enumerate(cut.days):
        found = one.sold
        if is_open[day] and one.sold_out is not None and one.sold:
            found = one.sold / max(LEAST_SHARE, one.sold_out)
        elif is_open[day] and not one.sold and cut.usual and not walk.held[day]:
            found = cut.usual
        steps = found * _STEP
        found = Fraction(-(-steps.numerator // steps.denominator), _STEP)
        demand.append(max(found, one.sold))
        guessed.append(found > one.sold)
    return demand, guessed
