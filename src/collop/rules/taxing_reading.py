"""Tax classes as a shop sets them: read from JSON, held to their range, and kept as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import Any

from collop.errors import BadValue
from collop.rules.taxing import TaxClass, percent_text
from collop.wire import Reader

__all__ = [
    "MOST_CLASSES",
    "keep_classes",
    "read_classes",
    "read_tax_name",
]

#: Rates a shop may set, at the most.
MOST_CLASSES = 40
_LONGEST_NAME = 30
_PLACES = 6
_WHERE = "tax_classes"
_KEYS = ("name", "percent", "from", "until")
_FORBIDDEN = (";", ":", ",", "\n", "\r", "%")


def read_tax_name(value: object, where: str = _WHERE) -> str:
    """Return the name of a tax class, tidied.

    Raises
    ------
    BadValue
        If it is no text of 1 to 30 letters without marks that part one class from the next.
    """
    name = " ".join(value.split()) if isinstance(value, str) and len(value) < 1000 else ""
    if not name or len(name) > _LONGEST_NAME or any(mark in name for mark in _FORBIDDEN):
        raise BadValue(
            "Tax class: give it a name of 1 to 30 letters without ; : , or %, like prepared.",
            where=where,
        )
    return name


def _day(row: Reader, key: str, name: str) -> date | None:
    text = row.value.get(key)
    if text is None:
        return None
    if isinstance(text, date):
        return text
    try:
        return date.fromisoformat(text)
    except (TypeError, ValueError):
        raise BadValue(
            f"Tax class {name}: {key} a day written like 2026-07-01.", where=_WHERE
        ) from None


def _percent(row: Reader, name: str) -> Fraction:
    failure = BadValue(
        f"Tax class {name}: write its rate in percent from 0 to 100, like 8.25.", where=_WHERE
    )
    try:
        percent = Fraction(row.decimal("percent", high="100"))
    except BadValue:
        raise failure from None
    if (percent * 10**_PLACES).denominator != 1:
        raise failure
    return percent


def _one(value: object, number: int) -> TaxClass:
    if isinstance(value, TaxClass):
        value = keep_classes([value])[0]
    row = Reader(value, f"$.tax_classes[{number}]", _KEYS)
    name = read_tax_name(row.value.get("name"))
    first, last = _day(row, "from", name), _day(row, "until", name)
    if first is not None and last is not None and last < first:
        raise BadValue(
            f"Tax class {name}: it ends on {last}, before it begins on {first}.", where=_WHERE
        )
    return TaxClass(name=name, percent=_percent(row, name), first=first, last=last)


def read_classes(value: object) -> tuple[TaxClass, ...]:
    """Read the tax classes of a shop.

    Parameters
    ----------
    value : object
        A list of objects ``{"name", "percent", "from", "until"}``; percent as text, days as
        ``2026-07-01`` or null. Rates of one name follow each other in time.

    Returns
    -------
    tuple of TaxClass
        By name, then by first day.

    Raises
    ------
    BadValue
        If one is out of its range, or two rates of one name hold on the same day.
    """
    if isinstance(value, str) or not isinstance(value, Sequence) or len(value) > MOST_CLASSES:
        raise BadValue(f"Tax classes: give up to {MOST_CLASSES} of them, or none.", where=_WHERE)
    found = sorted(
        (_one(one, number) for number, one in enumerate(value)),
        key=lambda one: (one.name, one.first or date.min),
    )
    for before, after in pairwise(found):
        if before.name != after.name:
            continue
        if before.last is None or after.first is None or after.first <= before.last:
            raise BadValue(
                f"Tax class {after.name}: two of its rates hold on the same day; let one end "
                "before the other begins.",
                where=_WHERE,
            )
    return tuple(found)


def keep_classes(classes: Sequence[TaxClass]) -> list[dict[str, Any]]:
    """Return tax classes as JSON, as `read_classes` reads them."""
    return [
        {
            "name": one.name,
            "percent": percent_text(one.percent),
            "from": None if one.first is None else one.first.isoformat(),
            "until": None if one.last is None else one.last.isoformat(),
        }
        for one in classes
    ]
