"""What the glass teaches: what every line sells on an open day, and when it sold out.

Only what was free counts: what was promised on an earlier day is no sale of the day it went, as
cover and the cutting plan count it beside the usual sale.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from threading import Lock
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, func, or_, select
from sqlalchemy.engine import Connection

from collop.chalk.pace import DayOfSales, pace_seen
from collop.shop.model import Settings
from collop.shop.sales import WEEKS, Line, lines_of, unit_text
from collop.shop.stock import stock_sums
from collop.shop.tables import (
    booking_lines,
    bookings,
    case_lines,
    ledger_entries,
    lots,
    slip_lines,
    slips,
)
from collop.shop.week_tables import returned_lines

__all__ = ["SeenPace", "days_at_the_glass", "pace_problem", "seen_pace"]

#: Less than this free at night, in counts, and a line counts as sold out: a tenth of a pound.
EMPTY = 4_535_923_700
_MOST_KEPT = 8
_LOCK = Lock()
_entry = ledger_entries.c
Days = Mapping[str, tuple[tuple[date, DayOfSales], ...]]


@dataclass(frozen=True, slots=True)
class _Kept:
    """Days that are over, and what was reckoned from them."""

    days: Days
    sold: frozenset[str]
    paces: dict[tuple[str, int | None], Fraction | None] = field(default_factory=dict)


_KEPT: dict[tuple[object, ...], _Kept] = {}


@dataclass(frozen=True, slots=True)
class SeenPace:
    """Days of sales by line, in counts, on days on which the till was used; and sold-out days."""

    lines: Mapping[str, Line]
    days: Days
    kept: dict[tuple[str, int | None], Fraction | None] = field(default_factory=dict)

    def pace(self, case_id: str) -> Fraction | None:
        """Return what a line sells on an open day, in counts; None if nothing tells."""
        usual = self.lines[case_id].usual
        key = (case_id, None if usual is None else usual.count)
        if key not in self.kept:
            seen = [one for _, one in self.days.get(case_id, ())]
            written = None if usual is None else Fraction(usual.count)
            self.kept[key] = pace_seen(written, seen)
        return self.kept[key]


def _day(column: ColumnElement[datetime]) -> ColumnElement[Any]:
    return func.date(column)


def _read_day(day: object) -> date:
    # SQLite has no dates of its own, only their text
    return date.fromisoformat(day) if isinstance(day, str) else day  # type: ignore[return-value]


def _between(since: date, until: date) -> tuple[ColumnElement[bool], ...]:
    start, end = datetime.combine(since, time.min), datetime.combine(until, time.min)
    return slips.c.at >= start, slips.c.at < end


def days_at_the_glass(conn: Connection, since: date, until: date) -> frozenset[date]:
    """Return the days on which sales at the glass were written, from `since` up to `until`.

    On other days the till was not used, so that no sale means nothing.
    """
    query = (
        select(_day(slips.c.at))
        .join(bookings, bookings.c.number == slips.c.booking_number)
        .where(bookings.c.kind == "counter", *_between(since, until))
        .distinct()
    )
    return frozenset(map(_read_day, conn.scalars(query)))


def _from_free() -> ColumnElement[bool]:
    """Tell what was sold out of what was free: at the glass, or asked for and taken in one day."""
    same_day = _day(bookings.c.made_at) == _day(slips.c.at)
    return or_(bookings.c.kind == "counter", and_(bookings.c.kind == "order", same_day))


def _sold(conn: Connection, since: date, until: date) -> dict[str, dict[date, int]]:
    """Return what was sold out of the free stock, less what came back of it, by line and day."""
    found: dict[str, dict[date, int]] = defaultdict(lambda: defaultdict(int))

    def add(query: Select[Any], sign: int) -> None:
        for row in conn.execute(query):
            found[row.case_id][_read_day(row.day)] += sign * int(row.weight)

    case_id, day = booking_lines.c.case_id, _day(slips.c.at).label("day")
    conditions = (_from_free(), *_between(since, until))
    add(
        select(case_id, day, func.sum(slip_lines.c.weighed).label("weight"))
        .join(slip_lines, slip_lines.c.booking_line_id == booking_lines.c.id)
        .join(slips, slips.c.number == slip_lines.c.slip_number)
        .join(bookings, bookings.c.number == slips.c.booking_number)
        .where(*conditions)
        .group_by(case_id, day),
        1,
    )
    add(
        select(case_id, day, func.sum(returned_lines.c.weight).label("weight"))
        .join(returned_lines, returned_lines.c.booking_line_id == booking_lines.c.id)
        .join(bookings, bookings.c.number == booking_lines.c.booking_number)
        .join(slips, slips.c.booking_number == bookings.c.number)
        .where(*conditions)
        .group_by(case_id, day),
        -1,
    )
    return found


def _mark(conn: Connection, since: date, today: date) -> tuple[object, ...]:
    """Return what changes whenever anything was written of the days looked at.

    Rows are only ever added, so their number and the newest of them tell; its key tells shops, and
    copies of one, apart.
    """
    start, end = datetime.combine(since, time.min), datetime.combine(today, time.min)
    within = _entry.at >= start, _entry.at < end
    count = conn.scalar(select(func.count()).where(*within))
    newest = conn.execute(
        select(_entry.seq, _entry.key)
        .where(*within)
        .order_by(_entry.at.desc(), _entry.seq.desc())
        .limit(1)
    ).first()
    back = conn.execute(
        select(returned_lines.c.number, returned_lines.c.key)
        .order_by(returned_lines.c.number.desc())
        .limit(1)
    ).first()
    return count, *(None if row is None else tuple(row) for row in (newest, back))


def seen_pace(conn: Connection, today: date, chosen: Settings, weeks: int = WEEKS) -> SeenPace:
    """Return what every line sold, day by day, before `today`.

    Days that are over are read once and kept as long as nothing is written of them.
    """
    since = today - timedelta(weeks=weeks)
    key = (str(conn.engine.url), since, today, *_mark(conn, since, today))
    with _LOCK:
        kept = _KEPT.get(key)
    if kept is None:
        kept = _days_seen(conn, since, today)
        with _LOCK:
            if len(_KEPT) >= _MOST_KEPT:
                _KEPT.clear()
            _KEPT[key] = kept
    lines = lines_of(conn, chosen)
    # what never sold may be made for one order only
    shown = {
        case_id: days
        for case_id, days in kept.days.items()
        if case_id in kept.sold or (case_id in lines and lines[case_id].usual is not None)
    }
    return SeenPace(lines, shown, kept.paces)


def _days_seen(conn: Connection, since: date, today: date) -> _Kept:
    days = sorted(days_at_the_glass(conn, since, today))
    if not days:
        return _Kept({}, frozenset())
    sold = _sold(conn, since, today)
    left = _left_at_night(conn, days)
    told = {
        case_id: tuple(
            (
                day,
                DayOfSales(
                    Fraction(sold.get(case_id, {}).get(day, 0)),
                    left[day].get(case_id, 0) < EMPTY,
                ),
            )
            for day in days
        )
        for case_id in conn.scalars(select(case_lines.c.id))
    }
    return _Kept(
        told, frozenset(case_id for case_id, by_day in sold.items() if any(by_day.values()))
    )


def _left_at_night(conn: Connection, days: Sequence[date]) -> Mapping[date, Mapping[str, int]]:
    """Return what was free of each line at the end of each day: that of now, reckoned back.

    What was past its use-by on a day could not be sold on it, and is not in it.
    """
    sums = stock_sums(conn)
    left: dict[tuple[str, date | None], int] = {
        (row.case_id, row.use_by): int(row.total)
        for row in conn.execute(
            select(lots.c.case_id, lots.c.use_by, func.sum(sums.c.total).label("total"))
            .join(lots, lots.c.id == sums.c.lot_id)
            .where(sums.c.place == "case", lots.c.case_id.is_not(None))
            .group_by(lots.c.case_id, lots.c.use_by)
        )
    }
    day = _day(_entry.at).label("day")
    moved: dict[date, list[tuple[tuple[str, date | None], int]]] = defaultdict(list)
    for row in conn.execute(
        select(lots.c.case_id, lots.c.use_by, day, func.sum(_entry.delta).label("delta"))
        .join(lots, lots.c.id == _entry.lot_id)
        .where(_entry.place == "case", _entry.at >= datetime.combine(days[0], time.min),
               lots.c.case_id.is_not(None))
        .group_by(lots.c.case_id, lots.c.use_by, day)
    ):  # fmt: skip
        moved[_read_day(row.day)].append(((row.case_id, row.use_by), int(row.delta)))
    found: dict[date, Mapping[str, int]] = {}
    for on in sorted({*moved, *days}, reverse=True):
        free: dict[str, int] = defaultdict(int)
        for (case_id, last), count in left.items():
            free[case_id] += count if last is None or last >= on else 0
        found[on] = free
        for key, delta in moved[on]:
            before = left.pop(key, 0) - delta
            if before:
                left[key] = before
    return found


def pace_problem(seen: SeenPace, case_id: str, chosen: Settings) -> dict[str, Any]:
    """Return the ``collop.pace/1`` problem of a line, in the shop's unit."""
    line = seen.lines[case_id]
    return {
        "schema": "collop.pace/1",
        "name": line.name,
        "unit": chosen.legal_unit.value,
        "usual": None if line.usual is None else unit_text(line.usual.count, chosen),
        "days": [
            {"day": f"{day}", "sold": unit_text(one.sold, chosen), "sold_out": one.sold_out}
            for day, one in seen.days.get(case_id, ())
        ],
    }
