"""What happened to each line of the case on days that are over, read from ledger and slips."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Money
from collop.shop.ledger import CAME_BACK
from collop.shop.model import Settings
from collop.shop.sales import unit_text
from collop.shop.stock import moment_seq, stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import (
    booking_lines,
    bookings,
    ledger_entries,
    lots,
    slip_lines,
    slips,
)
from collop.shop.week_tables import line_weighings

__all__ = ["LineFlow", "Window", "day_rows", "exact", "line_flows", "opening_lots", "share_gone"]

_HERE = ("case", "booked")
#: Kind of a booking that was a sale at the glass.
_GLASS = "counter"
_entry = ledger_entries.c


@dataclass(frozen=True, slots=True)
class Window:
    """Days in a row, and the moments between which they lie (`end` is not in it)."""

    days: tuple[date, ...]
    start: datetime
    end: datetime

    @classmethod
    def of(cls, first: date, count: int, now: datetime) -> Window:
        """Return the window of so many days, up to now at the most."""
        days = tuple(first + timedelta(days=ahead) for ahead in range(count))
        start = datetime.combine(first, time.min)
        return cls(days, start, min(now, start + timedelta(days=count)))

    def at(self, moment: datetime) -> int:
        """Return the number of the day of a moment."""
        return (moment.date() - self.days[0]).days


@dataclass(slots=True)
class LineFlow:
    """Counts of one line by day: what changed on hand, what was sold, booked and binned, and money.

    `gone_at` is when the last free weight went, on days that ended without any.
    """

    net: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    sold: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    booked: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    binned: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    short: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    money: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    booked_money: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    gone_at: dict[int, datetime] = field(default_factory=dict)


def opening_lots(conn: Connection, window: Window) -> dict[str, list[AnyRow]]:
    """Return what was on hand, free and booked, in the first morning: rows by line of the case."""
    seq = moment_seq(conn, window.start - timedelta(microseconds=1))
    sums = stock_sums(conn, upto=seq)
    total = func.sum(sums.c.total).label("total")
    rows = conn.execute(
        select(lots.c.case_id, lots.c.id, lots.c.use_by, total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place.in_(_HERE), lots.c.case_id.is_not(None))
        .group_by(lots.c.case_id, lots.c.id, lots.c.use_by)
        .having(total > 0)
        .order_by(lots.c.case_id, lots.c.use_by, lots.c.id)
    )
    found: dict[str, list[AnyRow]] = defaultdict(list)
    for row in rows:
        found[row.case_id].append(row)
    return found


def _free_at_start(conn: Connection, window: Window) -> dict[str, int]:
    seq = moment_seq(conn, window.start - timedelta(microseconds=1))
    sums = stock_sums(conn, upto=seq)
    total = func.sum(sums.c.total).label("total")
    rows = conn.execute(
        select(lots.c.case_id, total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "case", lots.c.case_id.is_not(None))
        .group_by(lots.c.case_id)
    )
    return {row.case_id: int(row.total) for row in rows}


def _entries(conn: Connection, window: Window) -> Sequence[AnyRow]:
    return conn.execute(
        select(
            _entry.seq, _entry.move, _entry.at, _entry.place, _entry.delta, _entry.reason,
            _entry.booking_line_id, lots.c.case_id, bookings.c.kind,
        )
        .join(lots, lots.c.id == _entry.lot_id)
        .outerjoin(booking_lines, booking_lines.c.id == _entry.booking_line_id)
        .outerjoin(bookings, bookings.c.number == booking_lines.c.booking_number)
        .where(
            _entry.at >= window.start, _entry.at < window.end, lots.c.case_id.is_not(None),
            _entry.place.in_((*_HERE, "sold", "bin")), _entry.reason != CAME_BACK,
        )
        .order_by(_entry.seq)
    ).all()  # fmt: skip


def line_flows(conn: Connection, window: Window) -> dict[str, LineFlow]:
    """Return what happened to each line, by its id.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    window : Window
        The days.
    """
    found: dict[str, LineFlow] = defaultdict(LineFlow)
    rows = _entries(conn, window)
    from_here = {row.move for row in rows if row.place in _HERE and row.delta < 0}
    for row in rows:
        flow, day = found[row.case_id], window.at(row.at)
        if row.place in _HERE:
            flow.net[day] += int(row.delta)
        elif row.place == "bin" and row.move in from_here:
            flow.binned[day] += int(row.delta)
        elif row.place == "sold":
            into = flow.sold if row.kind == _GLASS else flow.booked
            into[day] += int(row.delta)
    _gone(found, rows, _free_at_start(conn, window), window)
    _money(conn, found, rows, window)
    return found


def _gone(
    found: Mapping[str, LineFlow], rows: Iterable[AnyRow], free: dict[str, int], window: Window
) -> None:
    """Note when a line ran out, on days that ended with none free."""
    for row in rows:
        if row.place != "case":
            continue
        day = window.at(row.at)
        before = free.get(row.case_id, 0)
        free[row.case_id] = before + int(row.delta)
        if free[row.case_id] <= 0 < before:
            found[row.case_id].gone_at[day] = row.at
        elif free[row.case_id] > 0:
            found[row.case_id].gone_at.pop(day, None)


def _money(
    conn: Connection, found: Mapping[str, LineFlow], rows: Iterable[AnyRow], window: Window
) -> None:
    """Add what was paid, by the line of the case that the most of its weight came from."""
    sources: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for row in rows:
        if row.place == "sold" and row.booking_line_id is not None:
            sources[row.booking_line_id][row.case_id] += int(row.delta)
    lines = conn.execute(
        select(slips.c.at, slip_lines.c.line_total, slip_lines.c.booking_line_id, bookings.c.kind)
        .join(slip_lines, slip_lines.c.slip_number == slips.c.number)
        .join(bookings, bookings.c.number == slips.c.booking_number)
        .where(slips.c.at >= window.start, slips.c.at < window.end)
    )
    shorts = _shorts(conn)
    for line in lines:
        source = sources.get(line.booking_line_id)
        if not source:
            continue
        flow, day = found[max(source, key=lambda key: (source[key], key))], window.at(line.at)
        into = flow.money if line.kind == _GLASS else flow.booked_money
        into[day] += int(line.line_total)
        flow.short[day] += shorts.get(line.booking_line_id, 0)


def _shorts(conn: Connection) -> dict[int, int]:
    """Return what each line was short of when it was last weighed ahead, in counts."""
    rows = conn.execute(
        select(line_weighings.c.booking_line_id, line_weighings.c.short).order_by(
            line_weighings.c.seq
        )
    )
    return {row.booking_line_id: max(0, int(row.short)) for row in rows}


def share_gone(at: datetime, chosen: Settings) -> float | None:
    """Return the share of the opening hours that was over at a moment; None after the close."""
    opens = datetime.combine(at.date(), chosen.opens)
    whole = (datetime.combine(at.date(), chosen.closes) - opens).total_seconds()
    share = (at - opens).total_seconds() / whole if whole > 0 else 1.0
    return round(max(0.0, share), 4) if share < 1 else None


def exact(text: str) -> Fraction:
    """Return decimal text as a fraction."""
    return Fraction(Decimal(text))


def day_rows(
    flow: LineFlow, opening: Fraction, came: Sequence[Fraction], window: Window, chosen: Settings
) -> list[dict[str, Any]]:
    """Return one row a day as the kernel reads it.

    What the ledger says was there each night is kept to: what came or went beside sales, bookings,
    the bin and the knife is `other_in` or `other_out`.

    Parameters
    ----------
    opening : Fraction
        On hand in the first morning, as told to the kernel.
    came : sequence of Fraction, shape (days,)
        What the breaks of those days are told to give.
    """
    rows: list[dict[str, Any]] = []
    there, moved = opening, 0
    for day in range(len(window.days)):
        moved += flow.net[day]
        night = max(Fraction(0), opening + exact(unit_text(moved, chosen)))
        row = {name: unit_text(max(0, part[day]), chosen) for name, part in
               (("sold", flow.sold), ("booked", flow.booked), ("binned", flow.binned),
                ("booked_short", flow.short))}  # fmt: skip
        went = sum(exact(row[name]) for name in ("sold", "booked", "binned"))
        other = night - there - came[day] + went
        row["other_in" if other > 0 else "other_out"] = f"{Decimal(int(abs(other) * 1000)) / 1000}"
        row["money"] = _amount(flow.money[day], chosen)
        row["booked_money"] = _amount(flow.booked_money[day], chosen)
        gone = flow.gone_at.get(day)
        rows.append({**row, "sold_out": None if gone is None else share_gone(gone, chosen)})
        there = night
    return rows


def _amount(minor: int, chosen: Settings) -> str:
    return str(Money(max(0, minor), chosen.currency))
