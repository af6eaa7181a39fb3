"""The chance that a booked line comes out heavy enough, from the spread of the shares.

Normal approximation.  What there is for a line is what is still good on its day of all that came by
then, less what earlier bookings take; each share of a break varies by itself about its mean with
its standard deviation, a large cut's with that of the share it is.  What is made of trim varies
with the trim that goes in.  Sales do not count: bookings come first.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.bench.reasons_uses import batch_shares
from collop.bench.ways import Way

if TYPE_CHECKING:
    from collop.bench.plan import Found

__all__ = ["chances"]

_NONE = Fraction(0)
#: What varies, (way, output), and what a unit more of that share brings.
_Spread = dict[tuple[int, int], Fraction]


@dataclass(slots=True)
class _Lot:
    """Weight of a cut that comes on a day, is good up to `last`, and varies with shares."""

    day: int
    last: int
    weight: Fraction
    spread: _Spread = field(default_factory=dict)
    used: Fraction = _NONE


def chances(found: Found, plan: dict[str, Any]) -> None:
    """Fill in `chance` of every booked line of a plan; it stays None where nothing varies."""
    lots = _lots(found)
    for booking, row in zip(found.problem.bookings, plan["bookings"], strict=True):
        for line, told in zip(booking.lines, row["lines"], strict=True):
            chance = _chance(lots[line.cut], booking.due, line.weight)
            told["chance"] = None if told["short"] != "0" else chance


def _chance(lots: list[_Lot], due: int, weight: Fraction) -> float | None:
    """Return the chance that `weight` is there on a day, and take it; lots the oldest first."""
    good = [lot for lot in lots if lot.day <= due <= lot.last]
    spare = sum((lot.weight - lot.used for lot in good), _NONE) - weight
    rest = weight
    for lot in good:
        some = min(rest, lot.weight - lot.used)
        lot.used += some
        rest -= some
    total: _Spread = defaultdict(Fraction)
    for lot in lots:
        # of a lot that is past its day only what earlier bookings took can come up short
        part = Fraction(1) if lot in good else lot.used / lot.weight
        for key, amount in lot.spread.items():
            total[key] += part * amount if lot.day <= due else _NONE
    variance = sum((amount * amount for amount in total.values()), _NONE)
    if not variance:
        return None
    score = float(spare) / math.sqrt(variance)
    return math.floor(50 * math.erfc(-score / math.sqrt(2)) + 1e-9) / 100


def _lots(found: Found) -> dict[str, list[_Lot]]:
    problem, flows = found.problem, found.flows
    ways = {way.index: way for way in flows.ways}
    lots: dict[str, list[_Lot]] = {
        key: [_Lot(0, lot.days_left, lot.weight) for lot in cut.stock if lot.weight]
        for key, cut in problem.cuts.items()
    }
    trim: dict[tuple[int, str], tuple[Fraction, _Spread]] = {}
    for way in flows.ways:
        for at, (output, hung) in enumerate(way.parts):
            weight, spread = way.to_free(hung), _spread(way, at, ways)
            if output.to == "cut" and weight:
                keeps = problem.cuts[output.id].keeps_days
                lots[output.id].append(_Lot(way.day, way.day + keeps, weight, spread))
            elif output.to == "bin" and weight:
                there, varies = trim.get((way.index, output.id), (_NONE, {}))
                trim[way.index, output.id] = (there + weight, _sum(varies, spread, Fraction(1)))
    shares = batch_shares(flows)
    for batch in flows.batches:
        make, spread = problem.makes[batch.make], {}
        for (index, name), share in shares[batch.make, batch.day].items():
            if index is not None:
                weight, varies = trim[index, name]
                spread = _sum(spread, varies, share * batch.finished / weight)
        last = batch.day + problem.cuts[make.cut].keeps_days
        lots[make.cut].append(_Lot(batch.day, last, batch.finished, spread))
    return {key: sorted(mine, key=lambda lot: (lot.last, lot.day)) for key, mine in lots.items()}


def _spread(way: Way, at: int, ways: dict[int, Way]) -> _Spread:
    """Return how the free weight of one output varies: one standard deviation of each share."""
    output, _ = way.parts[at]
    found = {(way.index, at): way.weight * way.free * output.sd}
    below, share = way, output.share
    while below.parent is not None:
        above = ways[below.parent]
        place = _place(above, below)
        found[above.index, place] = above.weight * above.free * above.parts[place][0].sd * share
        share *= above.parts[place][0].share
        below = above
    return {key: amount for key, amount in found.items() if amount}


def _place(above: Way, below: Way) -> int:
    """Return which output of a way another was cut from."""
    places = [
        at for at, (output, weight) in enumerate(above.parts)
        if output.to == "kind" and output.id == below.kind and weight == below.weight
    ]  # fmt: skip
    # of two alike the node ends with its place, counted from 1
    return next((at for at in places if below.node.endswith(f" {at + 1}")), places[0])


def _sum(one: _Spread, more: _Spread, times: Fraction) -> _Spread:
    found = dict(one)
    for key, amount in more.items():
        found[key] = found.get(key, _NONE) + times * amount
    return found
