"""Standing orders as a list: a row for each line, the rows of one order under one name of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date, datetime, time
from typing import TypeVar

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import CollopError
from collop.shop.acts import Act
from collop.shop.csv_bookings import line_in, orders_in, weight_in
from collop.shop.csv_model import Change, ListKind
from collop.shop.csv_reading import ListRow, whole_in
from collop.shop.model import Settings
from collop.shop.standing_model import NewStanding, Standing, StandingLine
from collop.shop.standing_rows import (
    checked_terms,
    load_standing,
    note_standing,
    order_id,
    write_terms,
)
from collop.shop.tables import case_lines

__all__ = ["STANDING"]

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
#: Cells of an order that its first row tells for all.
_ORDER = ("name", "phone_end", "heads", "days", "hour", "first_day", "last_day", "every_weeks",
          "note", "on_account")  # fmt: skip
_LINE = ("cut", "weight", "unit", "cap", "style", "stand_in")

_ELSE = "change it on its page, or give a new order another name"

_T = TypeVar("_T")


def _cells(one: Standing, names: dict[str, str]) -> list[dict[str, object]]:
    terms = one.terms
    order: dict[str, object] = {
        "order": one.id, "state": one.state, "name": terms.name, "phone_end": terms.phone_end,
        "heads": terms.heads, "days": " ".join(_DAYS[day] for day in terms.days),
        "hour": f"{terms.hour:%H:%M}", "first_day": terms.first_day, "last_day": terms.last_day,
        "every_weeks": terms.every_weeks, "note": terms.note,
        "on_account": "yes" if terms.on_account else "no",
    }  # fmt: skip
    return [
        order | {
            "cut": line.case_id, "cut_name": names.get(line.case_id, ""),
            "weight": f"{line.weight.decimal(line.weight.unit, 3):f}",
            "unit": line.weight.unit.value, "style": line.style or "",
            "cap": "" if line.cap is None else f"{line.cap.decimal(line.weight.unit, 3):f}",
            "stand_in": line.stand_in or "",
        }
        for line in terms.lines
    ]  # fmt: skip


def _names(conn: Connection) -> dict[str, str]:
    return {row.id: row.name for row in conn.execute(select(case_lines.c.id, case_lines.c.name))}


def _out(conn: Connection, _chosen: Settings, _now: datetime) -> list[dict[str, object]]:
    names = _names(conn)
    return [cells for one in load_standing(conn) if one.state != "ended"
            for cells in _cells(one, names)]  # fmt: skip


def _into(act: Act, rows: Sequence[ListRow], _why: str) -> list[Change]:
    known = {one.id: one for one in load_standing(act.conn)}
    changes = []
    for name, order in orders_in(rows, _ORDER).items():
        there = known.get(name.upper())
        if there is not None:
            _same(there, order, _names(act.conn))
            continue
        changes.append(_begin(act, order))
    return changes


def _same(there: Standing, order: Sequence[ListRow], names: dict[str, str]) -> None:
    """Refuse rows that say something else of a standing order than the shop does."""
    own = _cells(there, names)
    if len(own) != len(order):
        said = f"{there.id} has {len(own)} lines, and the list {len(order)}; {_ELSE}"
        raise order[0].fault("order", said)
    for row, cells in zip(order, own, strict=True):
        for name in (*_ORDER, *_LINE):
            text, kept = row.get(name), str(cells[name] or "").strip()
            if text and text != kept:
                said = f"{there.id} says {kept[:40]!r}, and the list {text[:40]!r}; {_ELSE}"
                raise row.fault(name, said)


def _read(row: ListRow, column: str, read: Callable[[str], _T], like: str) -> _T:
    text = row.needs(column)
    try:
        return read(text)
    except ValueError:
        raise row.fault(column, f"{text[:40]!r} is no {like}") from None


def _days(row: ListRow) -> tuple[int, ...]:
    found = []
    for word in re.split(r"[\s,;]+", row.needs("days")):
        short = word[:3].capitalize()
        if short not in _DAYS or not re.fullmatch(r"(?:day|sday|nesday|rsday|urday)?", word[3:]):
            raise row.fault("days", f"{word[:20]!r} is no weekday; write them like Tue Fri")
        found.append(_DAYS.index(short))
    return tuple(sorted(set(found)))


def _line(act: Act, row: ListRow) -> StandingLine:
    line = line_in(act, row)
    cap = weight_in(row, "cap", line.weight.unit) if row.get("cap") else None
    return StandingLine(line.case_id, line.weight, cap, row.get("style") or None,
                        row.get("stand_in").upper() or None)  # fmt: skip


def _begin(act: Act, order: Sequence[ListRow]) -> Change:
    first = order[0]
    on_account = first.get("on_account").casefold() or "no"
    if on_account not in {"yes", "no"}:
        raise first.fault("on_account", f"{on_account[:20]!r} is neither yes nor no")
    new = NewStanding(
        name=first.needs("name"), days=_days(first), by=act.by or "",
        hour=_read(first, "hour", time.fromisoformat, "hour; write it like 11:00"),
        first_day=_read(first, "first_day", date.fromisoformat, "day; write it like 2026-06-12"),
        last_day=_read(first, "last_day", date.fromisoformat, "day; write it like 2026-06-12")
        if first.get("last_day") else None,
        every_weeks=whole_in(first, "every_weeks", 1, 52) if first.get("every_weeks") else 1,
        phone_end=first.get("phone_end"), note=first.get("note"), on_account=on_account == "yes",
        heads=whole_in(first, "heads", 1, 100_000) if first.get("heads") else None,
        lines=tuple(_line(act, row) for row in order),
    )  # fmt: skip
    try:
        checked_terms(act, new, first_from=act.at.date())
    except CollopError as error:
        column = error.where if error.where in _ORDER else "order"
        raise first.fault(column, error.message) from None
    number = write_terms(act, new)
    note_standing(act, number, "begun")
    return Change(first.number, "new standing order", new.name,
                  f"{len(order)} lines, {' '.join(_DAYS[day] for day in new.days)} "
                  f"{new.hour:%H:%M}, {order_id(number)}")  # fmt: skip


STANDING = ListKind(
    name="standing", title="standing orders, a row for each line",
    columns=("order", *_ORDER[:8], "cut", "cut_name", *_LINE[1:], "on_account", "note", "state"),
    told_only=frozenset({"state"}), out=_out, into=_into, is_once=True,
)  # fmt: skip
