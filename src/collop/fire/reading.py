"""Read the JSON of a fire into a `FireProblem`, or say in one sentence what is wrong.

Keys and defaults are described in `docs/fire.md` and by `collop schema fire`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from collop.errors import BadValue
from collop.fire.problem import COAL_HEATS, HEATS, FireProblem, Serving, Zone
from collop.fire.reading_items import read_items
from collop.fire.reading_texts import plain_name, plain_text, read_area
from collop.wire import Reader

__all__ = ["MOST_SERVINGS", "MOST_ZONES", "SCHEMA_ID", "read_problem"]

SCHEMA_ID = "collop.fire/1"
MOST_ZONES = 8
MOST_SERVINGS = 4
#: From the first to the last serving [min].
LONGEST_PARTY = 12 * 60
# names every item there may be
_LONGEST_PLATE = 6000
_YEARS = (1900, 2200)
_KEYS = (
    "schema", "name", "now", "heads", "serve", "fire", "ride_min", "chance", "unit",
    "weight_unit", "waves", "items", "dont_eats",
)  # fmt: skip


def read_problem(value: object) -> FireProblem:
    """Read one fire.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.fire/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    now = _moment(top, "now") if top.has("now") else None
    servings = _servings(top)
    fire = Reader(top.value.get("fire"), "$.fire", ("zones", "hands", "covered", "air_f"))
    zones = tuple(_zones(fire))
    items = read_items(top, [serving.id for serving in servings])
    eaten = {item.serving for item in items}
    if now is not None and now >= min(one.at for one in servings if one.id in eaten):
        raise top.fail("now", "is after the first serving time; give a later serving time.")
    return FireProblem(
        name=plain_text(top, "name", "").strip(),
        servings=servings,
        zones=zones,
        items=items,
        now=now,
        heads=top.whole("heads", 1, 2000, None),
        hands=fire.whole("hands", 1, 10, 1),
        covered=fire.flag("covered", default=True),
        air_f=fire.whole("air_f", -60, 130, None),
        ride_min=top.whole("ride_min", 0, 24 * 60, None),
        chance=top.number("chance", 0.5, 0.99, 0.9),
        unit=top.choice("unit", ("F", "C"), "F"),
        weight_unit=top.choice("weight_unit", ("lb", "kg"), "lb"),
        waves=top.flag("waves", default=True),
        notes=tuple(_dont_eats(top)),
    )


def _moment(row: Reader, key: str) -> datetime:
    text = row.text(key)
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None or not _YEARS[0] <= found.year <= _YEARS[1]:
        raise row.fail(key, f"is {text[:40]!r}; write a local time such as 2026-06-13T19:00.")
    return found.replace(second=0, microsecond=0)


def _servings(top: Reader) -> tuple[Serving, ...]:
    found: list[tuple[str, datetime]] = []
    for path, value in top.each("serve"):
        row = Reader(value, path, ("id", "at"))
        name = plain_text(row, "id")
        if name in {one for one, _ in found}:
            raise row.fail("id", f"{name!r} is used twice; give each serving its own id.")
        found.append((name, _moment(row, "at")))
    if not 1 <= len(found) <= MOST_SERVINGS:
        raise top.fail("serve", f"has {len(found)} serving times; give from 1 to {MOST_SERVINGS}.")
    found.sort(key=lambda one: one[1])
    first = found[0][1]
    servings = tuple(
        Serving(name, at, int((at - first).total_seconds() // 60)) for name, at in found
    )
    if servings[-1].at_min > LONGEST_PARTY:
        raise top.fail("serve", "is spread over more than twelve hours; make two fires of it.")
    return servings


def _zones(fire: Reader) -> Iterator[Zone]:
    seen: set[str] = set()
    rows = fire.items("zones")
    if not 1 <= len(rows) <= MOST_ZONES:
        raise fire.fail("zones", f"has {len(rows)} zones; give from 1 to {MOST_ZONES}.")
    keys = ("id", "name", "heats", "area_sq_in", "meat_free", "minutes")
    for path, value in fire.each("zones"):
        row = Reader(value, path, keys)
        name = plain_text(row, "id")
        if name in seen:
            raise row.fail("id", f"{name!r} is used twice; give each zone its own id.")
        seen.add(name)
        heats = frozenset(row.texts("heats"))
        if not heats or not heats <= set(HEATS):
            raise row.fail("heats", f"must name some of {', '.join(HEATS)}.")
        area = read_area(row, "area_sq_in", None, up=False)
        if area is None and heats & COAL_HEATS:
            raise row.fail("area_sq_in", "is missing; a grill needs its usable area [sq in].")
        yield Zone(
            id=name,
            name=plain_text(row, "name", "").strip() or name,
            heats=heats,
            area_sq_in=area,
            meat_free=row.flag("meat_free", default=False),
            minutes=row.whole("minutes", 1, 7 * 24 * 60, None),
        )


def _dont_eats(top: Reader) -> Iterator[tuple[str, int | None, str]]:
    rows = top.items("dont_eats", [])
    if len(rows) > 20:
        raise BadValue("$.dont_eats has more than 20 lines; join some.", where="$.dont_eats")
    for path, value in top.each("dont_eats", []):
        row = Reader(value, path, ("what", "count", "plate"))
        plate = plain_text(row, "plate", "", most=_LONGEST_PLATE)
        yield plain_name(row, "what"), row.whole("count", 0, 2000, None), plate
