"""The forms of the Day Book, read field by field; nothing is filled in for anybody."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TypeVar
from uuid import uuid4

from fastapi import Request

from collop.errors import BadValue
from collop.measures import Temperature, Weight, WeightUnit
from collop.shop import Arrival, Told
from collop.shop.day_model import both_scales
from collop.web.fire_view import HEAT_COOKIE, HEATS
from collop.web.forms import Faults, Fields, read_choice, read_time
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight, unit_of
from collop.web.rendering import shown_for
from collop.web.room import Room

__all__ = ["KEEPS", "DayForm", "degrees_of", "form_of", "heat_in", "read_degrees"]

#: How a box at the door must be kept, and what that is called.
KEEPS: Mapping[str, str] = {
    "chilled": "chilled", "frozen": "frozen", "dry": "dry, needs no cold",
}  # fmt: skip
_DEGREES = re.compile(r"([+-]?[0-9]{1,3}(?:[.,][0-9]{1,2})?)\s*°?\s*([CFcf]?)")
# what a thermometer there may say before it is asked whether it is degF or degC [degF]
_LIKELY: Mapping[str, tuple[int, int]] = {
    "chilled": (20, 75), "frozen": (-40, 45), "room": (28, 110), "": (-76, 248),
}  # fmt: skip

_T = TypeVar("_T")


def degrees_of(request: Request, fields: Fields) -> str:
    """Return ``F`` or ``C``: as the form says, else as the device does."""
    told = fields.one("degrees") or request.cookies.get(HEAT_COOKIE, "")
    if told in HEATS:
        return told
    return "C" if shown_for(request).unit == "kg" else "F"


def heat_in(degrees: str) -> Callable[[Temperature], str]:
    """Return what writes a temperature in both scales, that of the device first."""

    def write(temperature: Temperature) -> str:
        in_f, _, rest = both_scales(temperature).partition(" (")
        return f"{rest.removesuffix(')')} ({in_f})" if degrees == "C" else f"{in_f} ({rest}"

    return write


def read_degrees(text: str, label: str, degrees: str, kind: str = "") -> Temperature:
    """Read a temperature; a unit typed with it goes before the device's.

    Parameters
    ----------
    text, label : str
        As typed, and what the field is called.
    degrees : str
        ``F`` or ``C``, of a bare number.
    kind : str
        Kind of the place; a bare number that is unlikely there is asked about.

    Raises
    ------
    BadValue
        If it is empty, no temperature, or unlikely and without a unit.
    """
    if not text:
        raise BadValue(f"{label}: write what the thermometer says, such as 39 or 3.9 C.")
    found = _DEGREES.fullmatch(text.replace("\N{MINUS SIGN}", "-").replace("\N{EN DASH}", "-"))
    if found is None:
        raise BadValue(f"{label}: write the degrees like 39, -2 or 3.9 C.")
    unit, amount = found[2].upper() or degrees, found[1].replace(",", ".")
    read = Temperature.celsius(amount) if unit == "C" else Temperature.fahrenheit(amount)
    low, high = (Temperature.fahrenheit(one) for one in _LIKELY[kind])
    if not found[2] and not low <= read <= high:
        raise BadValue(
            f"{label}: is it {both_scales(read)}? Write {amount} F or {amount} C, as it was read."
        )
    return read


@dataclass(slots=True)
class DayForm:
    """One form of the Day Book: its fields, its faults, and how the device speaks."""

    room: Room
    fields: Fields
    degrees: str
    unit: WeightUnit
    faults: Faults = field(default_factory=Faults)

    def take(self, name: str, read: Callable[[str], _T], fallback: _T) -> _T:
        """Return what `read` makes of a field; note its message and go on if it refuses."""
        return self.faults.take(name, lambda: read(self.fields.one(name)), fallback)

    def temperature(self, name: str, label: str, kind: str = "") -> Temperature:
        """Read a temperature that must be there."""
        return self.take(
            name, lambda text: read_degrees(text, label, self.degrees, kind), Temperature(0)
        )

    def maybe_temperature(self, name: str, label: str, kind: str = "") -> Temperature | None:
        """Read a temperature that may be left empty."""
        return self.temperature(name, label, kind) if self.fields.one(name) else None

    def weight(self, name: str, label: str) -> Weight:
        """Read a weight that must be there."""
        return self.take(name, lambda text: read_weight(text, label, self.unit),
                         Weight.zero(self.unit))  # fmt: skip

    def told(self) -> Told:
        """Read what was done, who was told, why, and from which sheet."""
        one = self.fields.one
        return Told(one("action"), one("told"), one("why"), one("paper"))

    def when(self) -> datetime | None:
        """Read when it was done; None where both fields are empty, for now."""
        day, hour = self.fields.one("done_day"), self.fields.one("done_time")
        if not day and not hour:
            return None
        at = self.faults.take("done_time", lambda: read_time(hour, "Time it was done"), None)
        on = self.faults.take("done_day", lambda: self._day(day), date.min)
        return None if at is None or on == date.min else datetime.combine(on, at)

    def _day(self, text: str) -> date:
        today = self.room.now().date()
        if not text:
            return today
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise BadValue(
                f"Day it was done: choose a day, written like {today.isoformat()}."
            ) from None

    def by(self) -> str:
        """Read who writes it."""
        return self.faults.take("by", lambda: read_who(self.room, self.fields), "")

    def key(self) -> str:
        """Return the form's own key."""
        return self.fields.one("key")[:64] or uuid4().hex

    def box(self) -> Arrival:
        """Read a box at the door."""
        one = self.fields.one
        keeps = self.take("keeps", lambda text: read_choice(text, "It keeps", KEEPS), "dry")
        is_meat = self.take("is_meat", lambda text: read_choice(
            text, "Meat or not", ("yes", "no")), "no") == "yes"  # fmt: skip
        return Arrival(
            what=one("what"), supplier=one("supplier"), keeps=keeps, is_meat=is_meat,
            establishment=one("establishment"), lot=one("lot"),
            weight=self.weight("weight", "Weight") if one("weight") else None,
            temperature=self.maybe_temperature(
                "temperature", "Temperature", keeps if keeps != "dry" else ""),
            frozen_solid=one("frozen_solid") == "yes", mark=one("mark") == "yes",
        )  # fmt: skip


def form_of(request: Request, room: Room, fields: Fields) -> DayForm:
    """Return the form as this device sent it."""
    return DayForm(room, fields, degrees_of(request, fields), unit_of(request, fields))
