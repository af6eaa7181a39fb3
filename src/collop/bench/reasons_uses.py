"""Where the weight of each break goes: bookings and sales it covers, and what is surplus.

What comes off a break is followed by its exact uses.  Trim is followed into what is made of it: a
use of a batch is shared out, to the thousandth, by the weight of trim that each break put in.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from collop.bench.ways import divided
from collop.bench.weights import Flows, Use

if TYPE_CHECKING:
    from collop.bench.plan import Found

__all__ = [
    "Cover", "Fate", "Shares", "Surplus", "batch_shares", "covers_of", "fates_of", "surplus_of",
]  # fmt: skip

_NONE = Fraction(0)
_WAYS = {"sale": "mark-down", "ground": "ground", "left": "left", "spoilt": "spoilt",
         "sold": "sold as trim"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fate:
    """Weight from one break that went one way.

    Parameters
    ----------
    id : str
        Cut or bin.
    through : str, optional
        Bin that it went through before it became the cut.
    use : Use
        What, when, for which booking or at which step.
    weight : Fraction
        How much of the use is of this break.
    is_trim : bool
        Whether `id` is a bin.
    """

    id: str
    through: str | None
    use: Use
    weight: Fraction
    is_trim: bool = False


@dataclass(slots=True)
class Cover:
    """Weight of one cut that fills one booking, or sells at the board price (no booking)."""

    id: str
    booking: str | None
    through: str | None
    weight: Fraction
    first: int
    last: int


@dataclass(slots=True)
class Surplus:
    """Weight of one cut or bin that did not sell at the board price.

    `way` is as in the plan; `step` is the share of the board price that was asked.
    """

    id: str
    way: str
    through: str | None
    step: Fraction | None
    weight: Fraction
    first: int
    last: int
    is_trim: bool


def fates_of(flows: Flows) -> dict[int, list[Fate]]:
    """Return all that went anywhere, by the way (its index) it came off.

    What was in the case on day 0, and trim that was ground from a cut, is of no way.
    """
    found: dict[int, list[Fate]] = defaultdict(list)
    shares = batch_shares(flows)
    for key, stock in flows.cuts.items():
        for use in stock.uses:
            if use.source.way is not None:
                found[use.source.way].append(Fate(key, None, use, use.weight))
            elif use.source.make is not None:
                for way, fate in _shared(key, use, shares[use.source.make]):
                    found[way].append(fate)
    for key, stock in flows.bins.items():
        for use in stock.uses:
            if use.source.way is not None and use.what != "made":
                found[use.source.way].append(Fate(key, None, use, use.weight, is_trim=True))
    return found


Shares = dict[tuple[int | None, str], Fraction]


def batch_shares(flows: Flows) -> dict[tuple[int, int], Shares]:
    """Return for each batch, by (make, day), the share of its meat by (way, bin)."""
    trim = {
        key: [[use.day, use.weight, use.source.way] for use in stock.uses if use.what == "made"]
        for key, stock in flows.bins.items()
    }
    found = {}
    for batch in flows.batches:  # in the order in which they were taken
        mine: Shares = defaultdict(Fraction)
        for name, weight in batch.takes:
            rest = weight
            while rest > 0:
                _, there, way = first = trim[name][0]
                some = min(rest, there)  # type: ignore[type-var]
                mine[way, name] += some / batch.meat  # type: ignore[index, operator]
                first[1], rest = there - some, rest - some  # type: ignore[operator]
                if not first[1]:
                    trim[name].pop(0)
        found[batch.make, batch.day] = mine
    return found


def _shared(key: str, use: Use, shares: Shares) -> Iterator[tuple[int, Fate]]:
    ways = list(shares)
    for (way, name), weight in zip(ways, divided(use.weight, list(shares.values())), strict=True):
        if way is not None and weight:
            yield way, Fate(key, name, use, weight)


def _is_covered(found: Found, fate: Fate) -> bool:
    use = fate.use
    if use.what == "sale":
        assert use.step is not None
        return found.problem.cuts[fate.id].steps[use.step] >= 1
    return use.what == "booking"


def covers_of(found: Found, fates: list[Fate]) -> list[Cover]:
    """Return what a break covers: bookings first, in the order they are due, then sales."""
    covers: dict[tuple[object, ...], Cover] = {}
    for fate in fates:
        if not _is_covered(found, fate):
            continue
        at = fate.use.booking
        booking = None if at is None else found.problem.bookings[at[0]].id
        key = (fate.id, booking, fate.through)
        day = fate.use.day
        one = covers.setdefault(key, Cover(fate.id, booking, fate.through, _NONE, day, day))
        one.weight += fate.weight
        one.first, one.last = min(one.first, day), max(one.last, day)
    return sorted(
        covers.values(),
        key=lambda one: (
            one.booking is None,
            one.last,
            one.booking or "",
            one.id,
            str(one.through),
        ),
    )


def surplus_of(found: Found, fates: list[Fate]) -> list[Surplus]:
    """Return what of a break is surplus, the heaviest first."""
    rests: dict[tuple[object, ...], Surplus] = {}
    for fate in fates:
        if _is_covered(found, fate):
            continue
        way, day, step = _WAYS[fate.use.what], fate.use.day, None
        if fate.use.what == "sale":
            assert fate.use.step is not None
            step = found.problem.cuts[fate.id].steps[fate.use.step]
        key = (fate.id, fate.is_trim, way, fate.through, step)
        one = rests.setdefault(
            key, Surplus(fate.id, way, fate.through, step, _NONE, day, day, fate.is_trim)
        )
        one.weight += fate.weight
        one.first, one.last = min(one.first, day), max(one.last, day)
    return sorted(
        rests.values(),
        key=lambda one: (-one.weight, one.id, one.way, -(one.step or 0), str(one.through)),
    )
