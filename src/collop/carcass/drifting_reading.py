"""Breaks to be compared by hand and by farm, read from JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.carcass.cuttingtest_amounts import UNITS
from collop.errors import BadValue
from collop.wire import Reader, checked_decimal

__all__ = [
    "FACTORS", "MOST_BREAKS", "MOST_PARTS", "MOST_STYLES", "SCHEMA_ID", "BreakRow", "Drifting",
    "StyleRows", "read_drifting",
]  # fmt: skip

SCHEMA_ID = "collop.drift/1"
#: What breaks are grouped by.
FACTORS = ("hand", "farm")
MOST_STYLES, MOST_BREAKS, MOST_PARTS, MOST_GROUPS = 100, 2000, 60, 40
_LONGEST = 120


@dataclass(frozen=True, slots=True)
class BreakRow:
    """One break: its shares in the order of the style's parts, and who and whence.

    `groups` holds hand and farm, None where it is not told.
    """

    label: str
    groups: tuple[str | None, str | None]
    shares: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class StyleRows:
    """The breaks of one style; `saleable` tells for each part whether it is sold."""

    name: str
    parts: tuple[str, ...]
    saleable: tuple[bool, ...]
    breaks: tuple[BreakRow, ...]


@dataclass(frozen=True, slots=True)
class Drifting:
    """What is compared, and how sure the intervals shall be, all of them together."""

    name: str
    confidence: float
    styles: tuple[StyleRows, ...]


def read_drifting(value: object) -> Drifting:
    """Read a ``collop.drift/1`` problem.

    Parameters
    ----------
    value : object
        Parsed JSON.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", ("schema", "name", "unit", "confidence", "styles"))
    top.choice("schema", [SCHEMA_ID])
    top.choice("unit", UNITS, "lb")
    rows = top.items("styles")
    if not 1 <= len(rows) <= MOST_STYLES:
        raise top.fail("styles", f"has {len(rows)} styles; give from 1 to {MOST_STYLES}.")
    styles = tuple(_style(row, path) for path, row in top.each("styles"))
    names = [style.name for style in styles]
    if len(set(names)) < len(names):
        raise top.fail("styles", "names a style twice; put its breaks together.")
    count = sum(len(style.breaks) for style in styles)
    if count > MOST_BREAKS:
        raise top.fail("styles", f"has {count} breaks; give at most {MOST_BREAKS}, the newest.")
    return Drifting(
        name=top.text("name", ""),
        confidence=top.number("confidence", 0.5, 0.999, 0.95),
        styles=styles,
    )


def _style(value: object, path: str) -> StyleRows:
    row = Reader(value, path, ("style", "saleable", "breaks"))
    name = row.text("style")
    if not 1 <= len(name.strip()) <= _LONGEST:
        raise row.fail("style", f"must be a name of 1 to {_LONGEST} characters.")
    found = row.items("breaks")
    if len(found) > MOST_BREAKS:
        raise row.fail("breaks", f"has {len(found)} breaks; give at most {MOST_BREAKS}.")
    parts = _parts(row, found)
    saleable = row.texts("saleable")
    for part in saleable:
        if part not in parts:
            raise row.fail("saleable", f"names {part[:40]!r}, which no break weighs.")
    if not saleable:
        raise row.fail("saleable", "is empty; name the parts that are sold.")
    breaks = tuple(_breaks(row, parts))
    for at, factor in enumerate(FACTORS):
        count = len({one.groups[at] for one in breaks})
        if count > MOST_GROUPS:
            raise row.fail("breaks", f"names {count} of {factor}; give at most {MOST_GROUPS}.")
    return StyleRows(name, parts, tuple(part in saleable for part in parts), breaks)


def _parts(row: Reader, breaks: list[Any]) -> tuple[str, ...]:
    if not breaks:
        raise row.fail("breaks", "is empty; give at least one break.")
    first = breaks[0]
    weights = first.get("weights") if isinstance(first, dict) else None
    if not isinstance(weights, dict) or not 2 <= len(weights) <= MOST_PARTS:
        where = f"{row.where('breaks')}[0].weights"
        raise BadValue(f"{where} must weigh from 2 to {MOST_PARTS} parts, the loss too.",
                       where=where)  # fmt: skip
    return tuple(weights)


def _breaks(row: Reader, parts: tuple[str, ...]) -> Iterator[BreakRow]:
    for path, value in row.each("breaks"):
        one = Reader(value, path, ("label", "hand", "farm", "weights"))
        given = Reader(one.value.get("weights"), one.where("weights"), parts)
        weights = []
        for part in parts:
            if not given.has(part):
                raise given.fail(part, "is missing; every break of a style weighs the same parts.")
            weights.append(Fraction(checked_decimal(given.value[part], given.where(part))))
        whole = sum(weights, Fraction(0))
        if not whole:
            raise one.fail("weights", "sums to nothing; weigh again.")
        yield BreakRow(
            label=one.text("label", ""),
            groups=(_group(one, "hand"), _group(one, "farm")),
            shares=tuple(weight / whole for weight in weights),
        )


def _group(row: Reader, key: str) -> str | None:
    found = row.text(key, None)
    if found is None:
        return None
    if not 1 <= len(found.strip()) <= _LONGEST:
        raise row.fail(key, f"must be a name of 1 to {_LONGEST} characters, or left out.")
    return str(found)
