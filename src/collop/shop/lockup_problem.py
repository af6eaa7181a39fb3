"""What the ledger says of each line for the choice of what to count; no line is left out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.chalk.counting_reading import LONGEST, MOST_GAPS
from collop.errors import WrongState
from collop.shop.knife_tables import stock_counts
from collop.shop.model import CaseLine, Settings
from collop.shop.putting import COUNTED
from collop.shop.sales import per_unit, unit_text
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries, lots
from collop.shop.week_tables import lock_up_lines, lock_ups

__all__ = ["HISTORY", "counting_problem", "next_open", "passing", "skipped_last"]

#: Counts older than this teach no more: a figure of ours.
HISTORY = timedelta(days=120)
_MOST_SHUT = 60
# finer than any scale
_CRUMB = Decimal("0.001")
_entry = ledger_entries.c


def next_open(day: date, chosen: Settings) -> date:
    """Return the next day after `day` on which customers are served.

    Raises
    ------
    WrongState
        If none is found within two months.
    """
    for step in range(1, _MOST_SHUT + 1):
        found = day + timedelta(days=step)
        if chosen.is_open(found):
            return found
    raise WrongState(f"The shop is shut for {_MOST_SHUT} days after {day}; set its open days.")


def passing(conn: Connection, opens: date, day: date) -> dict[str, int]:
    """Return what of each line is free, in date on `day` and past it on `opens`, in counts."""
    sums = stock_sums(conn)
    rows = conn.execute(
        select(lots.c.case_id, func.sum(sums.c.total).label("total"))
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "case", lots.c.case_id.is_not(None), lots.c.use_by >= day,
               lots.c.use_by < opens)
        .group_by(lots.c.case_id)
    )  # fmt: skip
    return {row.case_id: int(row.total) for row in rows if int(row.total) > 0}


def skipped_last(conn: Connection, day: date) -> frozenset[str]:
    """Return the lines that were skipped on the last day before `day` with a lock-up."""
    last = conn.scalar(select(func.max(lock_up_lines.c.day)).where(lock_up_lines.c.day < day))
    locked = conn.scalar(select(func.max(lock_ups.c.day)).where(lock_ups.c.day < day))
    if last is None or (locked is not None and locked > last):
        return frozenset()
    rows = conn.execute(
        select(lock_up_lines.c.case_id, lock_up_lines.c.what)
        .where(lock_up_lines.c.day == last, lock_up_lines.c.what.in_(("skip", "count")))
        .order_by(lock_up_lines.c.seq)
    )
    newest = {row.case_id: row.what for row in rows}
    return frozenset(case_id for case_id, what in newest.items() if what == "skip")


@dataclass(slots=True)
class _Past:
    """What the ledger says of one line: its counts, and what went out, each with its time."""

    counts: list[AnyRow] = field(default_factory=list)
    went: list[tuple[datetime, int]] = field(default_factory=list)

    def out(self, after: datetime, upto: datetime) -> int:
        return sum(count for at, count in self.went if after < at <= upto)


def _pasts(conn: Connection, until: datetime) -> Mapping[str, _Past]:
    since = until - HISTORY
    found: dict[str, _Past] = defaultdict(_Past)
    counts = conn.execute(
        select(stock_counts)
        .where(stock_counts.c.case_id.is_not(None), stock_counts.c.at >= since,
               stock_counts.c.at < until)
        .order_by(stock_counts.c.number)
    )  # fmt: skip
    for row in counts:
        found[row.case_id].counts.append(row)
    total = func.sum(_entry.delta)
    moved = conn.execute(
        select(lots.c.case_id, func.min(_entry.at).label("at"), total.label("total"))
        .join(lots, lots.c.id == _entry.lot_id)
        .where(_entry.place.in_(("case", "booked")), _entry.at >= since,
               lots.c.case_id.is_not(None), _entry.reason != COUNTED)
        .group_by(lots.c.case_id, _entry.move)
        .having(total < 0)
    )  # fmt: skip
    for row in moved:
        found[row.case_id].went.append((row.at, -int(row.total)))
    return found


def _began(conn: Connection) -> dict[str, datetime]:
    """Return how old the oldest stock of each line is."""
    sums = stock_sums(conn)
    rows = conn.execute(
        select(lots.c.case_id, func.min(lots.c.since).label("at"))
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place.in_(("case", "booked")), lots.c.case_id.is_not(None))
        .group_by(lots.c.case_id)
    )
    return {row.case_id: row.at for row in rows}


def _days(first: datetime, last: datetime) -> int:
    return max(0, (last.date() - first.date()).days)


def _gaps(past: _Past, chosen: Settings) -> list[dict[str, str]]:
    """Return the past counts as the kernel reads them: the first has nothing before it to tell."""
    found = []
    for before, row in zip(past.counts, past.counts[1:], strict=False):
        days = min(LONGEST, max(1, _days(before.at, row.at)))
        handled = past.out(before.at, row.at) + row.expected * days
        told = unit_text(handled, chosen, 6)
        if Decimal(told) >= _CRUMB:
            gap = min(abs(row.counted - row.expected), handled)
            found.append({"gap": unit_text(gap, chosen, 6, is_cut_off=True), "handled": told})
    return found[-MOST_GAPS:]


def counting_problem(
    conn: Connection, lines: Sequence[CaseLine], chosen: Settings, day: date, *, opens: date,
    most: int,
) -> dict[str, Any]:  # fmt: skip
    """Return the ``collop.counting/1`` problem of an evening.

    Counts of the day itself are left out, so that the sheet stays as it was while it is worked
    through.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    lines : sequence of CaseLine
        The case as it is.
    chosen : Settings
        Currency, unit, rounding.
    day, opens : date
        The day, and the next one on which customers are served.
    most : int
        How many lines are wanted.
    """
    start = datetime.combine(day, time.min)
    pasts, began = _pasts(conn, start), _began(conn)
    passes, skipped = passing(conn, opens, day), skipped_last(conn, day)
    asked = []
    for line in lines:
        past = pasts.get(line.id) or _Past()
        last = past.counts[-1].at if past.counts else began.get(line.id, start)
        here = line.on_hand.count - line.past.count
        asked.append({
            "id": line.id,
            "name": line.name,
            "on_hand": unit_text(here, chosen),
            "price": f"{per_unit(line.price, chosen):f}",
            "days": _days(last, start),
            "went": unit_text(past.out(last, start + timedelta(days=1)), chosen),
            "passes": unit_text(min(here, passes.get(line.id, 0)), chosen),
            "skipped": line.id in skipped,
            "gaps": _gaps(past, chosen),
        })  # fmt: skip
    return {
        "schema": "collop.counting/1",
        "name": f"Lock-up {day.isoformat()}",
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": chosen.legal_unit.value,
        "most": most,
        "lines": asked,
    }
