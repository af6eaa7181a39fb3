"""The lists people keep in a spreadsheet: case, board, bookings, standing orders, people, sales.

Cells are guarded against being read as formulas (`collop.shop.exporting`); the guard is taken off
on the way in, so that a list that goes out and in again changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from sqlalchemy import insert, select, update
from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.measures import Money
from collop.shop.acts import Act, all_people
from collop.shop.csv_bookings import BOOKINGS
from collop.shop.csv_case import BOARD, CASE
from collop.shop.csv_model import Change, ListKind
from collop.shop.csv_reading import ListRow
from collop.shop.csv_standing import STANDING
from collop.shop.exporting import csv_text
from collop.shop.model import Settings
from collop.shop.sales import WEEKS, first_day, sales_by_day, unit_text
from collop.shop.tables import case_lines, people

__all__ = ["LISTS", "list_named", "list_text"]

_LONGEST_NAME, _LONGEST_ROLE, _LONGEST_ID = 80, 120, 40


def _people_out(conn: Connection, _chosen: Settings, _now: datetime) -> list[dict[str, object]]:
    return [{"id": one.id, "name": one.name, "role": one.role} for one in all_people(conn)]


def _people_into(act: Act, rows: Sequence[ListRow], _why: str) -> list[Change]:
    known = {one.id: one for one in all_people(act.conn)}
    changes, seen = [], dict[str, int]()
    for row in rows:
        name, role = row.needs("name"), row.get("role")
        person = (row.get("id") or name).casefold()
        if len(name) > _LONGEST_NAME or not name.isprintable() or len(person) > _LONGEST_ID:
            raise row.fault("name", f"write a name of at most {_LONGEST_ID} letters")
        if len(role) > _LONGEST_ROLE:
            raise row.fault("role", f"write at most {_LONGEST_ROLE} letters")
        if seen.setdefault(person, row.number) != row.number:
            raise row.fault("name", f"{person} is in row {seen[person]} already; keep one")
        there = known.get(person)
        taken = next((one for one in known.values() if one.name.casefold() == name.casefold()
                      and one.id != person), None)  # fmt: skip
        if taken is not None or (there is not None and there.name != name):
            told = taken or there
            assert told is not None
            raise row.fault("name", f"{told.name} works here as {told.id}; names stay, as they "
                                    "stand under what was written")  # fmt: skip
        if there is None:
            act.conn.execute(insert(people).values(id=person, name=name, role=role))
            changes.append(Change(row.number, "new person", name, role))
        elif role and role != there.role:
            act.conn.execute(update(people).where(people.c.id == person).values(role=role))
            changes.append(Change(row.number, "role", name, f"{there.role} to {role}"))
    return changes


def _sales_out(conn: Connection, chosen: Settings, now: datetime) -> list[dict[str, object]]:
    names = {row.id: row.name for row in conn.execute(select(case_lines.c.id, case_lines.c.name))}
    sold = sales_by_day(conn, since=first_day(now.date(), WEEKS),
                        until=now.date() + timedelta(days=1))  # fmt: skip
    days = sorted((one.day, case_id, one) for case_id, all_of in sold.items() for one in all_of)
    return [
        {"day": day.isoformat(), "cut": case_id, "cut_name": names[case_id],
         "weight": unit_text(one.count, chosen), "unit": chosen.legal_unit.value,
         "money": Money(one.minor, chosen.currency), "currency": chosen.currency}
        for day, case_id, one in days
    ]  # fmt: skip


PEOPLE = ListKind(
    name="people", title="who works here", columns=("id", "name", "role"), told_only=frozenset(),
    out=_people_out, into=_people_into,
)  # fmt: skip
SALES = ListKind(
    name="sales", title=f"what each line sold by day, the last {WEEKS} weeks",
    columns=("day", "cut", "cut_name", "weight", "unit", "money", "currency"),
    told_only=frozenset(), out=_sales_out, into=None,
)  # fmt: skip
#: Every list by its name.
LISTS: Mapping[str, ListKind] = {
    kind.name: kind for kind in (CASE, BOARD, BOOKINGS, STANDING, PEOPLE, SALES)
}


def list_named(name: str) -> ListKind:
    """Return a list by its name, or raise `NotFound`."""
    found = LISTS.get(name)
    if found is None:
        raise NotFound(f"There is no list {name[:20]!r}; choose one of {', '.join(LISTS)}.",
                       where="list")  # fmt: skip
    return found


def list_text(kind: ListKind, conn: Connection, chosen: Settings, now: datetime) -> str:
    """Return a list as CSV for a spreadsheet, its cells guarded."""
    rows = kind.out(conn, chosen, now)
    cells = ([row.get(name, "") for name in kind.columns] for row in rows)
    return csv_text(kind.columns, cells, comes_back=True)
