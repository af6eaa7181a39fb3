"""The rows of the fire: strips of the grill, and how long what is slow leaves for the rest.

With w loads one after the other an option holds 1/w of its area through the whole fire.  How many
loads those are depends on what lies beside it.  An option o with planned minutes p and rest r is
begun by ``-r - p`` [min from the meal] at the latest, and the coals are out their minutes F after
that.  So the last load of another option, with rest r', hold h' and p' minutes, is off by
``E = F - r - p``; its first load is off no sooner than ``-r' - h'``, and each takes p' and the
change of loads longer.  It has at most ``1 + (E + r' + h') // (p' + change)`` loads beside o; where
that is none, the two are not on one fire.

The rows ``beside.o`` say so, where all lies on the same zone, as other zones have coals of their
own.  They are kept for when the fire refuses an answer: strips are no law of the fire, which may
still find another order for what these rows take away.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from collop.fire.scheduling_loads import CHANGEOVER_MIN
from collop.spread.options import Option
from collop.spread.problem import Fire
from collop.spread.program import Program, Row, make_row

__all__ = ["loads_beside", "rows_of_fire"]

#: The fire is laid in thousandths of a square inch, each load rounded up [sq in].
_ROUNDED = 0.02
_INF = math.inf


def rows_of_fire(
    program: Program,
    fire: Fire,
    options: Sequence[Option],
    *,
    amounts: Sequence[tuple[int, ...]],
    used: Sequence[int],
    places: dict[int, int],
) -> list[Row]:
    """Add the rows of the fire to the program, and return those of what is slow.

    Parameters
    ----------
    program : Program
    fire : Fire
    options : sequence of Option
    amounts, used : sequence
        Columns of the steps, and of the use, of each option.
    places : dict
        Gets the column of the places on the grill, by the use column of an option that needs one.
    """
    area = {zone.name: zone.area_sq_in for zone in fire.zones}
    kept: list[Row] = []
    strips: dict[int, dict[int, float]] = {}
    for index, option in enumerate(options):
        if option.place is None or not option.strip_per_lb:
            continue
        strip = _strip(program, option, amounts[index])
        strips[index] = strip
        places.update((used[index], column) for column in strip if column not in amounts[index])
    found = {place for i in strips if (place := options[i].place) is not None}
    unions = {
        frozenset[str]().union(*some)
        for size in range(1, len(found) + 1)
        for some in itertools.combinations(sorted(found, key=sorted), size)
    }
    for zones in sorted(unions, key=sorted):
        terms: dict[int, float] = {}
        for index, strip in strips.items():
            place = options[index].place
            if place is not None and place <= zones:
                terms |= strip
        room = max(0.0, float(sum(area[name] for name in zones)) - _ROUNDED)
        program.row(f"fire.{'+'.join(sorted(zones))}", terms, 0, room)
        if len(unions) == 1 and len(zones) == 1:
            beside = [_Beside(options[i], used[i], strip) for i, strip in strips.items()]
            kept += _rows_beside(beside, fire.minutes, room)
    return kept


def _strip(program: Program, option: Option, columns: Sequence[int]) -> dict[int, float]:
    """Return the terms of the grill area an option holds [sq in]."""
    per_lb = option.offer.sq_in_per_lb
    if option.offer.pieces_mlb is None or option.waves == 1:
        return {
            column: float(per_lb * part.mlb / (1000 * option.waves))
            for part, column in zip(option.parts, columns, strict=True)
        }
    # a piece cannot be halved over two loads: count whole places, each as large as the largest
    largest = max(part.mlb for part in option.parts)
    count = sum(part.most for part in option.parts)
    places = program.column(
        f"places.{option.offer.id}.{option.style}", 0, -(-count // option.waves), whole=True
    )
    terms = {**dict.fromkeys(columns, -1.0), places: float(option.waves)}
    program.row(f"places.{option.offer.id}", terms, 0, _INF)
    return {places: float(per_lb * largest / 1000)}


def loads_beside(slow: Option, other: Option, minutes: int) -> int:
    """Return how many loads of `other` can be had beside `slow` while the coals last.

    Parameters
    ----------
    minutes : int
        How long the coals last [min].
    """
    end = minutes - slow.times.to_ready
    step = other.times.planned + CHANGEOVER_MIN
    return max(0, min(other.waves, 1 + (end + other.times.rest + other.times.hold) // step))


@dataclass(frozen=True, slots=True)
class _Beside:
    """An option on the zone, with the column of its use and its strip."""

    option: Option
    used: int
    strip: Mapping[int, float]


def _rows_beside(lines: Sequence[_Beside], minutes: int, room: float) -> Iterator[Row]:
    """Yield, for each option that leaves others fewer loads, the rows that hold beside it."""
    for slow in lines:
        terms: dict[int, float] = {}
        most, apart = 1.0, []
        for line in lines:
            option, more = line.option, 1.0
            if option.offer.id != slow.option.offer.id:
                loads = loads_beside(slow.option, option, minutes)
                if not loads:
                    apart.append(line.used)
                elif option.offer.pieces_mlb is None:  # pieces count for their own loads
                    more = option.waves / loads
            most = max(most, more)
            terms |= {column: more * value for column, value in line.strip.items()}
        if most > 1:
            slack = room * (most - 1)
            held = {**terms, slow.used: slack}
            yield make_row(f"beside.{slow.used}", held, -_INF, room + slack)
        if apart:
            many = float(len(apart))
            each = {**dict.fromkeys(apart, 1.0), slow.used: many}
            yield make_row(f"apart.{slow.used}", each, -_INF, many)
