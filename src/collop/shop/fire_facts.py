"""The customer's fire: told at the ask, put right at the hook; the newest row counts."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any
from urllib.parse import parse_qs

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue
from collop.shop.acts import Act
from collop.shop.fire_dont_eats import checked_dont_eats, dont_eats_of
from collop.shop.fire_model import FIRE_KINDS, DontEat, FireFacts, Thickness
from collop.shop.fire_tables import fire_facts
from collop.shop.model import Booking

__all__ = [
    "as_json",
    "check_home",
    "checked_facts",
    "from_ask",
    "from_json",
    "load_facts",
    "note_facts",
]

_MOST_SERVINGS = 4
_LONGEST_PARTY = timedelta(hours=12)
_LATEST = timedelta(days=60)
#: Whole numbers of the facts: what to call them, and from where to where.
_WHOLE = {
    "usable_pct": ("Usable part", 30, 100),
    "coals_min": ("Minutes of coals", 10, 1440),
    "pots": ("Pots", 0, 20),
    "ride_min": ("Ride home", 0, 1440),
    "hands": ("People at the fire", 1, 10),
    "air_f": ("Weather", -60, 130),
}
_MOST_SQ_IN = Decimal(20_000)
_THINNEST_MM, _THICKEST_MM = Decimal(2), Decimal(400)


# as kept


def as_json(facts: FireFacts) -> dict[str, Any]:
    """Return the facts as they are kept: only what was told."""
    found: dict[str, Any] = {
        name.name: getattr(facts, name.name)
        for name in fields(FireFacts)
        if getattr(facts, name.name) not in (None, (), {})
    }
    if facts.area_sq_in is not None:
        found["area_sq_in"] = f"{facts.area_sq_in:f}"
    if facts.serve:
        found["serve"] = [f"{at:%Y-%m-%dT%H:%M}" for at in facts.serve]
    if facts.served:
        found["served"] = dict(sorted(facts.served.items()))
    if facts.thickness:
        found["thickness"] = {
            key: {"mm": f"{one.mm:f}", "measured": one.measured}
            for key, one in sorted(facts.thickness.items())
        }
    if facts.dont_eats is not None:
        found["dont_eats"] = [{"what": one.what, "count": one.count} for one in facts.dont_eats]
    return found


def from_json(kept: Mapping[str, Any]) -> FireFacts:
    """Return the facts that `as_json` kept."""
    found = dict(kept)
    if "area_sq_in" in found:
        found["area_sq_in"] = Decimal(found["area_sq_in"])
    if "serve" in found:
        found["serve"] = tuple(datetime.fromisoformat(at) for at in found["serve"])
    if "thickness" in found:
        found["thickness"] = {
            key: Thickness(Decimal(one["mm"]), one["measured"])
            for key, one in found["thickness"].items()
        }
    if "dont_eats" in found:
        found["dont_eats"] = tuple(DontEat(one["what"], one["count"]) for one in found["dont_eats"])
    return FireFacts(**found)


def load_facts(conn: Connection, number: int, booking: Booking) -> FireFacts:
    """Return what is known of a booking's fire: the newest row, or what its ask says."""
    query = select(fire_facts.c.facts).where(fire_facts.c.booking_number == number)
    row = conn.execute(query.order_by(fire_facts.c.seq.desc()).limit(1)).first()
    return from_ask(booking.ask) if row is None else from_json(row.facts)


def note_facts(act: Act, number: int, facts: FireFacts) -> None:
    """Write the facts of a booking; `checked_facts` must have passed them."""
    act.conn.execute(
        insert(fire_facts).values(
            booking_number=number, facts=as_json(facts), at=act.at, by_id=act.by, key=act.key
        )
    )


# as the ask said


def from_ask(ask: Mapping[str, Any]) -> FireFacts:
    """Return what a booking's ask says of the fire.

    What the counter's form showed and nobody changed was told too: the form is answered as a
    whole. Without a form, nothing but the time of the meal is known.
    """
    query = ask.get("query")
    told = FireFacts(serve=_serve(ask.get("use_at")), dont_eats=dont_eats_of(ask))
    if not isinstance(query, str):
        return told
    typed = parse_qs(query[:20_000])
    form = {key: values[0] for key, values in typed.items()}
    kind = form.get("fire", "half-drum")
    found = replace(
        told,
        kind=kind if kind in FIRE_KINDS else None,
        area_sq_in=_fitting(_decimal, form.get("area")),
        usable_pct=_fitting(int, form.get("usable", "80")),
        coals_min=_fitting(int, form.get("coals", "180")),
        oven=form.get("oven", "yes") == "yes",
        pots=_fitting(int, form.get("pots", "0")),
    )
    for text in typed.get("patch", ()):
        found = _accepted(found, text)
    return found


def _accepted(facts: FireFacts, text: str) -> FireFacts:
    """Return the facts with a nearest yes that the customer accepted, a JSON merge patch."""
    try:
        patch = json.loads(text)
    except (ValueError, RecursionError):
        return facts
    if not isinstance(patch, dict):
        return facts
    fire = patch.get("fire")
    fire = fire if isinstance(fire, dict) else {}
    _, low, high = _WHOLE["coals_min"]
    if _is_whole(fire.get("minutes")) and low <= fire["minutes"] <= high:
        facts = replace(facts, coals_min=fire["minutes"])
    if isinstance(fire.get("oven"), bool):
        facts = replace(facts, oven=fire["oven"])
    return replace(facts, serve=_serve(patch.get("use_at")) or facts.serve)


def _serve(text: object) -> tuple[datetime, ...]:
    found = _fitting(datetime.fromisoformat, text if isinstance(text, str) else None)
    return (found,) if found is not None and found.tzinfo is None else ()


def _decimal(text: str) -> Decimal:
    found = Decimal(text)
    if not found.is_finite() or not 0 < found <= _MOST_SQ_IN:
        raise ValueError
    return found


def _fitting(read: Callable[[str], Any], text: str | None) -> Any:  # noqa: ANN401
    """Return the text read, or None: what cannot be read was not told."""
    try:
        return None if text is None else read(text)
    except (ValueError, InvalidOperation):
        return None


# as corrected


def checked_facts(facts: FireFacts, booking: Booking, known: Mapping[str, bool]) -> FireFacts:
    """Return the facts if they can be, or say in one sentence which cannot.

    Parameters
    ----------
    facts : FireFacts
        As somebody told them.
    booking : Booking
        Whose fire it is.
    known : mapping of str to bool
        The case lines of the booking that are cooked, and whether a body is known of each.

    Raises
    ------
    BadValue
        With the field in ``where``.
    """
    if facts.kind is not None and facts.kind not in FIRE_KINDS:
        raise BadValue(f"Fire: choose one of {', '.join(FIRE_KINDS)}.", where="kind")
    _check_area(facts.area_sq_in)
    for name, (label, low, high) in _WHOLE.items():
        value = getattr(facts, name)
        if value is not None and not (_is_whole(value) and low <= value <= high):
            raise BadValue(f"{label}: write a whole number from {low} to {high}.", where=name)
    for name in ("covered", "oven"):
        if getattr(facts, name) not in (None, True, False):
            raise BadValue(f"{name.capitalize()}: say yes or no.", where=name)
    if facts.unit not in (None, "F", "C"):
        raise BadValue("Unit: choose F or C.", where="unit")
    _check_times(facts, booking, known)
    _check_thickness(facts, known)
    if facts.dont_eats is None:
        return facts
    return replace(facts, dont_eats=checked_dont_eats(facts.dont_eats))


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _check_area(area: object) -> None:
    if area is None:
        return
    if not isinstance(area, Decimal) or not area.is_finite() or not 1 <= area <= _MOST_SQ_IN:
        raise BadValue(f"Area: write square inches from 1 to {_MOST_SQ_IN:,}.", where="area_sq_in")


def _check_times(facts: FireFacts, booking: Booking, known: Mapping[str, bool]) -> None:
    times = facts.serve
    if len(times) > _MOST_SERVINGS or len(set(times)) < len(times):
        raise BadValue(f"Eat at: give up to {_MOST_SERVINGS} different times.", where="serve")
    for at in times:
        if at.tzinfo is not None:
            raise BadValue("Eat at: the time is that of the place; leave the zone out.",
                           where="serve")  # fmt: skip
        if not booking.collect_at < at <= booking.collect_at + _LATEST:
            raise BadValue(
                f"Eat at: {at:%a %d %b, %H:%M} is not within 60 days after collecting at"
                f" {booking.collect_at:%a %d %b, %H:%M}; choose another time.", where="serve",
            )  # fmt: skip
    if times:
        check_home(booking, facts, min(times))
    if times and max(times) - min(times) > _LONGEST_PARTY:
        raise BadValue("Eat at: the times are over twelve hours apart; make two bookings of it.",
                       where="serve")  # fmt: skip
    for case_id, index in facts.served.items():
        if case_id not in known or not _is_whole(index) or not 0 <= index < len(times):
            raise BadValue(f"Eat at: {str(case_id)[:40]!r} is at no serving time of this booking.",
                           where="served")  # fmt: skip


def check_home(booking: Booking, facts: FireFacts, first: datetime) -> None:
    """Say so if the first meal is eaten before its food can be home.

    Raises
    ------
    BadValue
        With both hours and the ride.
    """
    ride = facts.ride_min or 0
    if first > booking.collect_at and first >= booking.collect_at + timedelta(minutes=ride):
        return
    told = f", and the ride home takes {ride} min" if ride else ""
    raise BadValue(
        f"Eat at: {first:%a %-d %b, %H:%M} is before the food is home; {booking.id} is collected"
        f" {booking.collect_at:%a %-d %b, %H:%M}{told}. Put the meal later.", where="serve",
    )  # fmt: skip


def _check_thickness(facts: FireFacts, known: Mapping[str, bool]) -> None:
    for case_id, one in facts.thickness.items():
        if not known.get(case_id):
            why = "is not cooked here" if case_id not in known else "has no shape told in the case"
            raise BadValue(f"Thickness: {str(case_id)[:40]} {why}; leave it out.",
                           where="thickness")  # fmt: skip
        if not one.mm.is_finite() or not _THINNEST_MM <= one.mm <= _THICKEST_MM:
            raise BadValue(
                f"Thickness: write {_THINNEST_MM} to {_THICKEST_MM} mm.", where="thickness"
            )
