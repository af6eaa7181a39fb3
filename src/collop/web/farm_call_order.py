"""The order of a Farm Call: which animals of which farm, for which day, and its form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from collop.shop import NewFarmOrder
from collop.web.farm_call_words import order_words
from collop.web.forms import Faults, Fields, read_day, read_name, read_whole
from collop.web.room import Room

__all__ = ["Call", "CallRow", "order_of", "read_orders"]

_MOST_ROWS, _MOST_ANIMALS = 20, 200


@dataclass(frozen=True, slots=True)
class CallRow:
    """One sort of animal on the form: how many, and the farm it came from last."""

    at: int
    what: str
    species: str
    animals: int
    farm: str


@dataclass(frozen=True, slots=True)
class Call:
    """What is to be ordered: the button's words, the sentences, and a row for each animal."""

    words: str
    say: str
    for_day: date
    rows: tuple[CallRow, ...]


def order_of(room: Room, plan: Mapping[str, Any], week: date, fields: Fields) -> Call | None:
    """Return the order a plan comes to; None if it orders nothing.

    Parameters
    ----------
    room : Room
        Tells from which farm such an animal came last.
    plan : mapping
        The ``collop.farmcall.plan/1`` that is shown.
    week : date
        Its Monday; the day of the order where none was typed.
    fields : Fields
        Farms and day as typed before.
    """
    farms = room.shop.season.farms()
    rows = tuple(
        CallRow(at, one["name"], farms.get(one["name"], ("", ""))[0], one["count"],
                fields.one(f"farm{at}") or farms.get(one["name"], ("", ""))[1])
        for at, one in enumerate((one for one in plan["orders"] if one["count"]), 1)
    )  # fmt: skip
    if not rows:
        return None
    try:
        day = date.fromisoformat(fields.one("for_day"))
    except ValueError:
        day = max(week, room.now().date())
    words = order_words((row.animals, row.what) for row in rows)
    return Call(words, " ".join(plan["say"])[:400], day, rows)


def read_orders(room: Room, fields: Fields, faults: Faults) -> list[NewFarmOrder]:
    """Read the orders of the form; what is wrong is noted beside its field."""
    today = room.now().date()
    day = faults.take(
        "for_day", lambda: read_day(fields.one("for_day"), "Comes on", first=today), today
    )
    found = []
    for at in range(1, _MOST_ROWS + 1):
        what = fields.one(f"what{at}")
        if not what:
            break
        name = f"farm{at}"
        farm = faults.take(name, lambda name=name: read_name(fields.one(name), "Farm"), "")  # type: ignore[misc]
        animals = faults.take(
            "for_day",
            lambda at=at: read_whole(fields.one(f"animals{at}"), "Animals", 1, _MOST_ANIMALS),  # type: ignore[misc]
            1,
        )
        found.append(NewFarmOrder(farm, fields.one(f"species{at}") or "animal", what, animals, day,
                                  fields.one("words")[:400]))  # fmt: skip
    if not found:
        faults.add("for_day", "Nothing is ordered; work out the counts first.")
    return found
