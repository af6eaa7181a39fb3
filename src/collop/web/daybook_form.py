"""The forms of the Day Book, read field by field; nothing is filled in for anybody."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TypeVar
from uuid import uuid4

from fastapi import Request

from collop.errors import BadValue
from collop.measures import Temperature, Weight, WeightUnit
from collop.shop import Arrival, Told
from collop.shop.day_degrees import read_degrees
from collop.shop.day_model import both_scales
from collop.web.fire_view import HEAT_COOKIE, HEATS
from collop.web.forms import Faults, Fields, read_choice, read_time
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight, unit_of
from collop.web.rendering import shown_for
from collop.web.room import Room

__all__ = ["KEEPS", "OVER_STEPS", "DayForm", "chosen_of", "degrees_of", "form_of", "heat_in"]

#: How a box at the door must be kept, and what that is called.
KEEPS: Mapping[str, str] = {
    "chilled": "chilled", "frozen": "frozen", "dry": "dry, needs no cold",
}  # fmt: skip
#: What to do with a box, a scale or a thermometer that is over: ours; the local code comes first.
OVER_STEPS: Mapping[str, tuple[str, ...]] = {
    "receive": (
        "Read it again in the middle of the box, with another thermometer.",
        "Still over: do not take it in. Send it back, or hold it apart in the cold and write so.",
        "Tell the owner and the supplier.",
    ),
    "scale": (
        "Put the scale aside; price nothing by it.",
        "Call the person who seals or services it.",
        "Weigh again what was sold by it today, where it is still here.",
    ),
    "probe": (
        "Set it right as its maker says, or put it aside.",
        "Read again with another one what was read with it since its last check.",
    ),
}
# what an address may bring: who wrote the last reading, and what was just written
_IN_ADDRESS = frozenset({"by", "degrees", "done", "said"})

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

        def read(text: str) -> Weight:
            if not text:
                raise BadValue(f"{label}: write a weight, such as 10.")
            return read_weight(text, label, self.unit)

        return self.take(name, read, Weight.zero(self.unit))

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
        keeps = self.take("keeps", lambda text: chosen_of(text, "It keeps", KEEPS), "dry")
        is_meat = self.take("is_meat", lambda text: chosen_of(
            text, "Is it meat", ("yes", "no")), "no") == "yes"  # fmt: skip
        return Arrival(
            what=one("what"), supplier=one("supplier"), keeps=keeps, is_meat=is_meat,
            establishment=one("establishment"), lot=one("lot"),
            weight=self.weight("weight", "Weight") if one("weight") else None,
            temperature=self.maybe_temperature(
                "temperature", "Temperature", keeps if keeps != "dry" else ""),
            frozen_solid=one("frozen_solid") == "yes", mark=one("mark") == "yes",
        )  # fmt: skip


def form_of(request: Request, room: Room, fields: Fields, *, kept: Collection[str] = ()) -> DayForm:
    """Return the form as this device sent it.

    An address fills nothing in: of its query only what names no reading is read, and `kept`.
    """
    degrees, unit = degrees_of(request, fields), unit_of(request, fields)
    if request.method == "GET":
        fields = Fields((name, text) for name, text in fields if name in {*_IN_ADDRESS, *kept})
    return DayForm(room, fields, degrees, unit)


def chosen_of(text: str, label: str, allowed: Collection[str]) -> str:
    """Read one of a fixed set of words; where nothing was chosen, ask for it."""
    if not text:
        raise BadValue(f"{label}: choose one.")
    return read_choice(text, label, allowed)
