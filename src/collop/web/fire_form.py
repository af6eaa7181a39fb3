"""The form that corrects a customer's fire: reading it, and writing it back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from functools import partial
from typing import Any

from collop.errors import BadValue
from collop.shop.fire_cooks import THICKNESSES, check_thickness
from collop.shop.fire_model import FIRE_KINDS, FireFacts, Thickness
from collop.web.cook_form import Scale, read_thickness
from collop.web.forms import Faults, Fields, read_amount, read_choice, read_time, read_whole

__all__ = ["MOST_SERVINGS", "Dish", "FactsForm", "dishes_of", "field_of", "read_facts"]

MOST_SERVINGS = 4
#: Whole numbers of the form: what to call them, from where to where, and their unit.
WHOLE: Mapping[str, tuple[str, int, int, str]] = {
    "usable_pct": ("Usable part", 30, 100, "%"),
    "coals_min": ("Coals last", 10, 1440, "min"),
    "pots": ("Pots", 0, 20, ""),
    "ride_min": ("Ride home", 0, 1440, "min"),
    "hands": ("People at the fire", 1, 10, ""),
    "air_f": ("Weather", -60, 130, "°F"),
}
_FLAGS = {"": None, "yes": True, "no": False}
_THINNEST_MM, _THICKEST_MM = 2, 400
# the form shows thickness in mm, so a number alone is one in mm
_IN_MM = Scale(inches=False)


@dataclass(frozen=True, slots=True)
class Dish:
    """A line of the booking that is cooked: thickness [mm] and form if a body is known, meal."""

    case_id: str
    name: str
    thickness_mm: float | None
    measured: bool
    serve: str
    form: str | None = None


def dishes_of(problem: Mapping[str, Any]) -> list[Dish]:
    """Return what a ``collop.fire/1`` problem cooks."""
    found = []
    for item in problem["items"]:
        body = item.get("body")
        mm, measured = (body["thickness_mm"], body["measured"]) if body else (None, False)
        form = body["form"] if body else None
        found.append(Dish(item["id"], item["name"], mm, bool(measured), item["serve"], form))
    return found


@dataclass(slots=True)
class FactsForm:
    """The fields as they are shown: as typed, or as the facts have them."""

    facts: FireFacts
    dishes: Sequence[Dish]
    fields: Fields = field(default_factory=lambda: Fields([]))
    faults: Faults = field(default_factory=Faults)

    kinds = FIRE_KINDS
    whole = WHOLE
    most_servings = MOST_SERVINGS

    def one(self, name: str, default: str = "") -> str:
        """Return the text of a field; `default` if nothing is known of it."""
        if name in self.fields:
            return self.fields.one(name)
        value = self._kept(name)
        if isinstance(value, bool):
            return "yes" if value else "no"
        return default if value is None else str(value)

    def _kept(self, name: str) -> object:
        if serving := re.fullmatch(r"s(\d)_(day|time)", name):
            times = sorted(self.facts.serve)
            index = int(serving[1]) - 1
            if index >= len(times):
                return None
            return times[index].date() if serving[2] == "day" else f"{times[index]:%H:%M}"
        kind, _, case_id = name.partition("_")
        if kind == "t" and case_id in self.facts.thickness:
            return f"{self.facts.thickness[case_id].mm.normalize():f}"
        if kind == "m" and case_id in self.facts.thickness:
            return self.facts.thickness[case_id].measured
        if kind == "at":
            return self.facts.served.get(case_id, 0)
        return getattr(self.facts, name, None)

    @property
    def servings(self) -> range:
        """Return the numbers of the serving times to show: those told, and one more."""
        told = [n for n in range(1, MOST_SERVINGS + 1) if self.one(f"s{n}_time")]
        return range(1, min(MOST_SERVINGS, (told[-1] if told else 0) + 1) + 1)


def read_facts(form: FactsForm) -> FireFacts:
    """Return the facts as typed; what cannot be read is noted in the form's faults.

    What the form does not ask, as who does not eat something, stays as it was.
    """
    fields, faults = form.fields, form.faults
    serve = _serve(form)
    told: dict[str, Any] = {
        name: faults.take(name, partial(_whole, fields.one(name), *limits[:3]), None)
        for name, limits in WHOLE.items()
    }
    told |= {
        name: _FLAGS[faults.take(name, partial(
            read_choice, fields.one(name), name.capitalize(), _FLAGS), "")]
        for name in ("covered", "oven")
    }  # fmt: skip
    area = fields.one("area_sq_in")
    return replace(
        form.facts,
        kind=_told(form, "kind", "Fire", FIRE_KINDS),
        unit=_told(form, "unit", "Temperatures in", ("F", "C")),
        area_sq_in=faults.take("area_sq_in", lambda: read_amount(area, "Area", high="20000"), None)
        if area
        else None,
        serve=serve,
        served=_served(form, len(serve)),
        thickness=_thickness(form),
        **told,
    )


def _told(form: FactsForm, name: str, label: str, allowed: Iterable[str]) -> str | None:
    text = form.fields.one(name)
    if not text:
        return None
    return form.faults.take(name, lambda: read_choice(text, label, allowed), None)


def _whole(text: str, label: str, low: int, high: int) -> int | None:
    return read_whole(text, label, low, high) if text else None


def _serve(form: FactsForm) -> tuple[datetime, ...]:
    found = []
    for number in range(1, MOST_SERVINGS + 1):
        day, time = (form.fields.one(f"s{number}_{part}") for part in ("day", "time"))
        if day or time:
            at = form.faults.take(f"s{number}_time", partial(_moment, day, time), None)
            if at is not None:
                found.append(at)
    return tuple(sorted(found))


def _moment(day: str, time: str) -> datetime:
    if not day or not time:
        raise BadValue("Eat at: give both the day and the time, or neither.")
    try:
        on = date.fromisoformat(day)
    except ValueError:
        raise BadValue("Eat at: choose a day, written like 2026-06-13.") from None
    return datetime.combine(on, read_time(time, "Eat at"))


def _served(form: FactsForm, servings: int) -> dict[str, int]:
    found = {}
    for dish in form.dishes:
        text = form.fields.one(f"at_{dish.case_id}")
        if text.isascii() and text.isdigit() and 0 < int(text[:3]) < servings:
            found[dish.case_id] = int(text[:3])
    return found


def _thickness(form: FactsForm) -> dict[str, Thickness]:
    found = {}
    for dish in form.dishes:
        text = form.fields.one(f"t_{dish.case_id}")
        if text and dish.thickness_mm is not None:
            name = f"t_{dish.case_id}"
            mm = form.faults.take(name, partial(_millimetres, text, dish), None)
            if mm is not None:
                measured = form.fields.one(f"m_{dish.case_id}") == "yes"
                found[dish.case_id] = Thickness(mm, measured)
    return found


def _millimetres(text: str, dish: Dish) -> Decimal:
    """Read the thickness of a line [mm]: ``44``, ``44 mm``, ``1.75 in``, ``1 3/4 in``."""
    name = f"Thickness of {dish.name}"
    try:
        mm = read_thickness(text, _IN_MM)
        if mm is not None and dish.form in THICKNESSES:
            check_thickness(dish.form, mm)
    except BadValue as error:
        raise BadValue(error.message.replace("Thickness", name, 1)) from None
    if mm is None or not _THINNEST_MM <= mm <= _THICKEST_MM:
        raise BadValue(f"{name}: write {_THINNEST_MM} to {_THICKEST_MM} mm, or up to 15 in.")
    return mm


def field_of(where: str, form: FactsForm) -> str:
    """Return the field of the form that a refusal of the shop points to."""
    if where == "thickness":
        told = [one.case_id for one in form.dishes if form.fields.one(f"t_{one.case_id}")]
        return f"t_{told[0]}" if told else "kind"
    if where in {"serve", "served"}:
        return "s1_time"
    return where if where in {*WHOLE, "area_sq_in", "covered", "oven", "unit"} else "kind"
