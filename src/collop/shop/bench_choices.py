"""The settings of the cutting room that may be changed: hands, room in the case, how warm it is.

Each is read typed, held to its range, and kept as JSON, as the settings of prices are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, parse_weight

__all__ = ["BenchHand", "hands_told", "keep_hands", "keep_room", "read_hands", "read_room"]

_DAYS = 7
_MOST_HANDS = 20
_LONGEST_NAME = 80
_MOST_MINUTES = 24 * 60
_KEYS = {"person", "minutes", "overtime"}
_WANTED = (
    "Hands: for each person give the name and seven numbers of minutes, Monday to Sunday, like"
    ' {"person": "Marek", "minutes": [480, 480, 480, 480, 480, 480, 0]}.'
)
_ROOM = "Case room: write the most the case holds at night, like 600 lb, or nothing."


@dataclass(frozen=True, slots=True)
class BenchHand:
    """Somebody at the block: minutes there are and minutes there may be beyond, Monday first."""

    person: str
    minutes: tuple[int, ...]
    overtime: tuple[int, ...]


def _minutes(value: object) -> tuple[int, ...]:
    if isinstance(value, str) or not isinstance(value, Sequence) or len(value) != _DAYS:
        raise BadValue(_WANTED, where="hands")
    for one in value:
        if isinstance(one, bool) or not isinstance(one, int):
            raise BadValue(_WANTED, where="hands")
        if not 0 <= one <= _MOST_MINUTES:
            raise BadValue(f"Hands: a day has 0 to {_MOST_MINUTES} minutes, not {str(one)[:20]}.",
                           where="hands")  # fmt: skip
    return tuple(value)


def _hand(value: object) -> BenchHand:
    if isinstance(value, BenchHand):
        value = {"person": value.person, "minutes": value.minutes, "overtime": value.overtime}
    if not isinstance(value, Mapping) or not {"person", "minutes"} <= set(value) <= _KEYS:
        raise BadValue(_WANTED, where="hands")
    person = value["person"]
    if not isinstance(person, str) or not 1 <= len(person.strip()) <= _LONGEST_NAME:
        raise BadValue(_WANTED, where="hands")
    overtime = _minutes(value.get("overtime", (0,) * _DAYS))
    minutes = _minutes(value["minutes"])
    if any(one + more > _MOST_MINUTES for one, more in zip(minutes, overtime, strict=True)):
        raise BadValue(f"Hands: a day has {_MOST_MINUTES} minutes, overtime with them.",
                       where="hands")  # fmt: skip
    return BenchHand(person.strip(), minutes, overtime)


def read_hands(value: object) -> tuple[BenchHand, ...]:
    """Read who is at the block.

    Parameters
    ----------
    value : sequence of BenchHand or mapping
        ``person``, and ``minutes`` and ``overtime`` of Monday to Sunday as whole numbers.

    Raises
    ------
    BadValue
        If one of them is no such thing, a name comes twice, or there are more than 20.
    """
    if isinstance(value, str) or not isinstance(value, Sequence) or len(value) > _MOST_HANDS:
        raise BadValue(_WANTED, where="hands")
    hands = tuple(_hand(one) for one in value)
    if len({hand.person.casefold() for hand in hands}) < len(hands):
        raise BadValue("Hands: somebody is named twice; give each person one row.", where="hands")
    return hands


def keep_hands(hands: Sequence[BenchHand]) -> list[dict[str, Any]]:
    """Return hands as they are kept."""
    return [
        {"person": one.person, "minutes": list(one.minutes), "overtime": list(one.overtime)}
        for one in hands
    ]


def hands_told(kept: Sequence[Mapping[str, Any]]) -> str:
    """Return kept hands in words, with the minutes of a week."""
    said = (
        f"{one['person']} {sum(one['minutes'])} + {sum(one['overtime'])} min a week" for one in kept
    )
    return "; ".join(said) or "nobody"


def read_room(value: object) -> Weight | None:
    """Read how much the case holds at night; None, or an empty text or list, is no limit.

    Parameters
    ----------
    value : Weight, str, sequence or None
        Text has its unit, like ``600 lb``; a sequence is a count and a unit, as it is kept.

    Raises
    ------
    BadValue
        If it is none of these, or not more than zero and under 100,000 lb.
    """
    if value is None or value in ("", [], ()):
        return None
    if isinstance(value, Sequence) and not isinstance(value, str):
        value = _kept_weight(value)
    elif isinstance(value, str):
        try:
            value = parse_weight(value)
        except BadValue:
            raise BadValue(_ROOM, where="case_room") from None
    if not isinstance(value, Weight):
        raise BadValue(_ROOM, where="case_room")
    if not Weight.zero() < value < Weight.of(100_000, WeightUnit.LB):
        raise BadValue(_ROOM, where="case_room")
    return value


def _kept_weight(value: Sequence[Any]) -> Weight:
    try:
        count, unit = value
        if isinstance(count, bool) or not isinstance(count, int):
            raise BadValue(_ROOM, where="case_room")
        return Weight(count, WeightUnit(unit))
    except (TypeError, ValueError):
        raise BadValue(_ROOM, where="case_room") from None


def keep_room(room: Weight | None) -> list[Any]:
    """Return the room of the case as it is kept; an empty list is no limit."""
    return [] if room is None else [room.count, room.unit.value]
