"""Reading a change of the board: which price, from when, who and why."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.measures import UnitPrice, WeightUnit, minor_places
from collop.web.forms import Faults, Fields, read_amount, read_choice, read_time
from collop.web.hook import read_who

if TYPE_CHECKING:
    from collop.shop import PriceGuard
    from collop.web.room import Room

__all__ = [
    "DAYS", "Change", "legal_price", "per_unit", "put_fault", "read_change", "read_from",
    "read_price",
]  # fmt: skip

#: The days a price may be put up for, and what the screen calls them.
DAYS = {"today": "today", "tomorrow": "tomorrow"}
_LEAST_WHY = 3


@dataclass(frozen=True, slots=True)
class Change:
    """Who changes the board, why, and from when; `from_at` None is at once."""

    by: str
    why: str
    from_at: datetime | None


def per_unit(price: UnitPrice, unit: WeightUnit) -> str:
    """Return a price per the shop's unit as text: exact where it was set so, else rounded."""
    if price.per is unit:
        places = max(2, -int(price.amount.normalize().as_tuple().exponent))
        return f"{price.amount:.{places}f}"
    return f"{price.shown_per(unit):f}"


def legal_price(room: Room) -> Callable[[UnitPrice], str]:
    """Return what writes a price with the shop's legal unit.

    Prices are put up in it, so they stand in it whatever unit of weight a device shows.
    """
    unit = room.shop.settings().legal_unit
    return lambda price: f"{per_unit(price, unit)} /{unit}"


def read_price(text: str, label: str, present: str, currency: str = "USD") -> Decimal:
    """Read a price; empty is the present one, which may be finer than the currency.

    Raises
    ------
    BadValue
        If it is no amount above 0, or has more decimals than `currency`: the board could not show
        it as it is charged.
    """
    if present and (not text or text == present):
        return Decimal(present)
    return read_amount(text, label, places=minor_places(currency))


def read_from(fields: Fields, now: datetime) -> datetime | None:
    """Read from when a price shall stand; None is at once.

    Raises
    ------
    BadValue
        If the time is past, or tomorrow has none.
    """
    day = read_choice(fields.one("from_day", "today"), "From", DAYS)
    text = fields.one("from_time")
    if not text:
        if day == "tomorrow":
            raise BadValue("From: write the time of tomorrow, for example 08:00.")
        return None
    at = read_time(text, "From")
    moment = datetime.combine(now.date() + timedelta(days=day == "tomorrow"), at)
    this_minute = now.replace(second=0, microsecond=0)
    if moment < this_minute:
        raise BadValue(f"From: {at:%H:%M} is past; choose {now:%H:%M} or later, or tomorrow.")
    return None if moment == this_minute else moment


def read_change(room: Room, fields: Fields, faults: Faults) -> Change:
    """Read who, why and from when; what is wrong stands in `faults`."""
    from_at = faults.take("from_time", lambda: read_from(fields, room.now()), None)
    by = faults.take("by", lambda: read_who(room, fields), "")
    return Change(by, fields.one("why")[:200], from_at)


def put_fault(guards: Iterable[PriceGuard], why: str, where: Mapping[str, str],
              faults: Faults) -> None:  # fmt: skip
    """Say beside each price why it needs a reason, if none is given.

    Parameters
    ----------
    guards : iterable of PriceGuard
        What the shop holds against the prices.
    why : str
        The reason as it was typed.
    where : mapping
        By case line, the field a sentence stands beside.
    faults : Faults
        Takes the sentences.
    """
    if sum(letter.isalpha() for letter in why) >= _LEAST_WHY:
        return
    for guard in guards:
        faults.add(where[guard.case_id], guard.say)
    if faults:
        faults.add("why", "Why: write a reason, and the price can go up as it is.")
