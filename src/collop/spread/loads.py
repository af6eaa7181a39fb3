"""Lay the lines of a spread on the fire: loads to scale, none larger than its zone.

Each line holds a strip of the grill for as many loads as it takes.  As few loads as fit are used,
and the last one ends when the meal is served.  Laying strips into zones is a transport problem,
solved by augmenting paths in exact fractions.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from collop.spread.options import CHANGEOVER_MIN, MOST_WAVES
from collop.spread.picks import Pick
from collop.spread.plan import Load
from collop.spread.problem import Fire

__all__ = ["lay_loads", "strip_area"]


def strip_area(pick: Pick, waves: int) -> Fraction:
    """Return the grill area a line holds when cooked in `waves` loads [sq in]."""
    per_lb = pick.option.offer.sq_in_per_lb
    pieces = pick.pieces
    if pieces is None or waves == 1:
        return per_lb * pick.pounds / waves
    places = -(-len(pieces) // waves)
    largest = max(part.mlb for part in pick.option.parts)
    return per_lb * Fraction(largest, 1000) * places


def lay_loads(fire: Fire | None, picks: Sequence[Pick]) -> tuple[Load, ...] | None:
    """Return the loads of a spread, or None if it does not fit the fire.

    Parameters
    ----------
    fire : Fire or None
        None means the fire is not known: no loads are drawn.
    picks : sequence of Pick
    """
    if fire is None:
        return ()
    grilled = [p for p in picks if p.option.place is not None and p.option.offer.sq_in_per_lb]
    room = {zone.name: zone.area_sq_in for zone in fire.zones}
    for most in range(1, MOST_WAVES + 1):
        waves = [min(most, pick.option.waves) for pick in grilled]
        strips = [strip_area(p, w) for p, w in zip(grilled, waves, strict=True)]
        places = [sorted(p.option.place or ()) for p in grilled]
        laid = _transport(strips, places, room)
        if laid is not None:
            return tuple(
                load
                for pick, wave, shares in zip(grilled, waves, laid, strict=True)
                for load in _line_loads(fire, pick, wave, shares)
            )
    return None


def _line_loads(fire: Fire, pick: Pick, waves: int, shares: dict[str, Fraction]) -> list[Load]:
    minutes = pick.option.offer.minutes[1]
    loads = []
    for wave in range(waves):
        back = (waves - wave) * minutes + (waves - 1 - wave) * CHANGEOVER_MIN
        for zone, area in sorted(shares.items()):
            if area:
                loads.append(Load(fire.minutes - back, minutes, zone, area, pick.option.offer.id))
    return loads


def _transport(
    strips: Sequence[Fraction], places: Sequence[Sequence[str]], room: dict[str, Fraction]
) -> list[dict[str, Fraction]] | None:
    """Lay each strip into its zones within their room, or return None."""
    laid: list[dict[str, Fraction]] = [{} for _ in strips]
    left = dict(room)
    for line, strip in enumerate(strips):
        missing = strip
        while missing > 0:
            path = _augmenting(line, places, laid, left)
            if path is None:
                return None
            step = min(missing, left[path[-1][1]])
            for (mover, zone), (_, before) in zip(path[1:], path, strict=False):
                step = min(step, laid[mover].get(before, Fraction(0)))
                assert zone != before
            for index, (mover, zone) in enumerate(path):
                laid[mover][zone] = laid[mover].get(zone, Fraction(0)) + step
                if index:
                    laid[mover][path[index - 1][1]] -= step
            left[path[-1][1]] -= step
            missing -= step
    return laid


def _augmenting(
    line: int,
    places: Sequence[Sequence[str]],
    laid: Sequence[dict[str, Fraction]],
    left: dict[str, Fraction],
) -> list[tuple[int, str]] | None:
    """Return (line, zone) steps that end in a zone with room, moving others along."""
    queue: list[list[tuple[int, str]]] = [[(line, zone)] for zone in places[line]]
    seen = set(places[line])
    while queue:
        path = queue.pop(0)
        zone = path[-1][1]
        if left[zone] > 0:
            return path
        for other, shares in enumerate(laid):
            if shares.get(zone, 0) > 0:
                for further in places[other]:
                    if further not in seen:
                        seen.add(further)
                        queue.append([*path, (other, further)])
    return None
