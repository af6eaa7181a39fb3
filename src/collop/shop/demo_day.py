"""The Day Book of the demo: three weeks of checks and clean-downs, invented, as all of the demo."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from functools import partial

from collop.measures import Temperature, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.clean_downs import clean_down
from collop.shop.day_checks import check_arrival, check_cold, check_probe, check_scale, line_number
from collop.shop.day_model import Arrival, Told
from collop.shop.day_places import set_place
from collop.shop.demo_rail import demo_table

__all__ = ["seed_day_book"]

_BEGUN = datetime(2026, 5, 18, 17, 0)  # noqa: DTZ001 -- shop-local
# name, kind, and limit [degF]; the walk-in's is the shop's own
_PLACES = (
    ("Walk-in", "chilled", "40"), ("Case", "chilled", "41"), ("Freezer", "frozen", "0"),
    ("Cutting room", "room", "50"),
)  # fmt: skip
_LB = WeightUnit.LB
_WEIGHTS = ("test", "reading", "division")
# when it is written, and what writes it
_Entry = tuple[datetime, Callable[[Act], object]]


def seed_day_book(act: Act, until: datetime) -> None:
    """Write the demo's Day Book, what of it lies before `until`, in the order it was written."""
    begun = replace(act, at=_BEGUN)
    for name, kind, limit in _PLACES:
        set_place(begun, None, name, kind=kind, limit=Temperature.fahrenheit(limit),
                  why="the book begins")  # fmt: skip
    entries = [*_cold(), *_cleans(), *_tools(), *_boxes()]
    for at, write in sorted(entries, key=lambda entry: entry[0]):
        if at < until:
            write(replace(act, at=at))


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _cold() -> Iterator[_Entry]:
    lines: dict[str, str] = {}
    for row in demo_table("day_cold.csv"):
        yield _at(row["written_at"]), partial(_read, row, lines)


def _read(row: dict[str, str], lines: dict[str, str], act: Act) -> None:
    corrects = line_number(lines[row["corrects"]]) if row["corrects"] else None
    told = Told(row["action"], row["told"], row["why"], row["paper"])
    lines[f"{row['place']} {row['done_at']}"] = check_cold(
        replace(act, by=row["by"]), row["place"], Temperature.fahrenheit(row["f"]), told,
        done_at=_at(row["done_at"]), corrects=corrects,
    )  # fmt: skip


def _cleans() -> Iterator[_Entry]:
    for row in demo_table("day_cleans.csv"):
        yield _at(row["done_at"]), partial(_clean, row)


def _clean(row: dict[str, str], act: Act) -> None:
    room = Temperature.fahrenheit(row["room_f"]) if row["room_f"] else None
    clean_down(replace(act, by=row["by"]), row["what"], words=row["words"], room=room)


def _tools() -> Iterator[_Entry]:
    for row in demo_table("day_tools.csv"):
        yield _at(row["done_at"]), partial(_tool, row)


def _tool(row: dict[str, str], act: Act) -> None:
    then = replace(act, by=row["by"])
    if row["kind"] == "probe":
        check_probe(then, row["name"], Temperature.fahrenheit(row["f"]), Told())
        return
    test, reading, division = (Weight.of(row[name], _LB) for name in _WEIGHTS)
    check_scale(then, row["name"], (test, reading, division), Told())


def _boxes() -> Iterator[_Entry]:
    for row in demo_table("day_boxes.csv"):
        yield _at(row["done_at"]), partial(_box, row)


def _box(row: dict[str, str], act: Act) -> None:
    box = Arrival(
        what=row["what"], supplier=row["supplier"], keeps=row["keeps"],
        is_meat=row["is_meat"] == "yes", establishment=row["establishment"], lot=row["lot"],
        weight=Weight.of(row["lb"], _LB) if row["lb"] else None,
        temperature=Temperature.fahrenheit(row["f"]) if row["f"] else None,
        mark=row["mark"] == "yes",
    )  # fmt: skip
    check_arrival(replace(act, by=row["by"]), box, Told(row["action"], row["told"]))
