"""The shop's settings as rows, one for each."""

from __future__ import annotations

from dataclasses import fields
from datetime import datetime, time
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, StorageTrouble
from collop.measures import Rounding, Weight, WeightUnit, minor_places
from collop.shop.model import Settings
from collop.shop.pricing_choices import ALL_CHOICES, read_choice
from collop.shop.tables import settings

__all__ = ["kept", "load_settings", "store_settings"]

# a shop made before these were settings keeps their usual values
_CHOICES = tuple(name for name in ALL_CHOICES if name != "quote_hold_minutes")
_LATER = {"scale_step", "rail_carries", "papers", "demo_start", *_CHOICES}
_NAMES = {field.name for field in fields(Settings)} - _LATER


def load_settings(conn: Connection) -> Settings:
    """Return the shop's settings.

    Raises
    ------
    StorageTrouble
        If any of them is missing.
    """
    rows = conn.execute(select(settings.c.name, settings.c.value))
    found: dict[str, Any] = {row.name: row.value for row in rows}
    if not set(found) >= _NAMES:
        raise StorageTrouble("The shop lacks its settings; restore the last backup.")
    return Settings(
        name=found["name"],
        place=found["place"],
        currency=found["currency"],
        rounding=Rounding(found["rounding"]),
        legal_unit=WeightUnit(found["legal_unit"]),
        quote_hold_minutes=found["quote_hold_minutes"],
        demo=found["demo"],
        open_days=tuple(found["open_days"]),
        opens=time.fromisoformat(found["opens"]),
        closes=time.fromisoformat(found["closes"]),
        **_later(found),
    )


def _later(found: dict[str, Any]) -> dict[str, Any]:
    chosen: dict[str, Any] = {}
    for name in ("scale_step", "rail_carries"):
        if found.get(name) is not None:
            count, unit = found[name]
            chosen[name] = Weight(count, WeightUnit(unit))
    if found.get("demo_start"):
        chosen["demo_start"] = datetime.fromisoformat(found["demo_start"])
    if "papers" in found:
        chosen["papers"] = tuple(found["papers"])
    chosen |= {name: read_choice(name, found[name]) for name in _CHOICES if name in found}
    return chosen


def _weight(weight: Weight | None) -> list[Any] | None:
    return None if weight is None else [weight.count, weight.unit.value]


def kept(name: str, value: object) -> Any:  # noqa: ANN401 -- JSON is untyped
    """Return a changeable setting as it is kept, or raise `BadValue` if it is out of its range."""
    return ALL_CHOICES[name].keep(read_choice(name, value))


def store_settings(conn: Connection, chosen: Settings) -> None:
    """Write a new shop's settings.

    Raises
    ------
    BadValue
        If a setting is out of its range.
    """
    minor_places(chosen.currency)
    if not chosen.name.strip():
        raise BadValue("The shop needs a name.", where="name")
    read_choice("quote_hold_minutes", chosen.quote_hold_minutes)
    if not chosen.open_days or not set(chosen.open_days) <= set(range(7)):
        raise BadValue("Name at least one open day, Monday as 0 to Sunday as 6.", where="open_days")
    if chosen.scale_step <= Weight.zero():
        raise BadValue("A scale reads in steps; give one of more than 0.", where="scale_step")
    values: dict[str, Any] = {
        "name": chosen.name,
        "place": chosen.place,
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "legal_unit": chosen.legal_unit.value,
        "quote_hold_minutes": chosen.quote_hold_minutes,
        "demo": chosen.demo,
        "open_days": list(chosen.open_days),
        "opens": chosen.opens.isoformat(),
        "closes": chosen.closes.isoformat(),
        "scale_step": _weight(chosen.scale_step),
        "rail_carries": _weight(chosen.rail_carries),
        "papers": list(chosen.papers),
        "demo_start": chosen.demo_start.isoformat() if chosen.demo_start else None,
        **{name: kept(name, getattr(chosen, name)) for name in _CHOICES},
    }
    rows = [{"name": name, "value": value} for name, value in values.items() if value is not None]
    conn.execute(insert(settings), rows)
