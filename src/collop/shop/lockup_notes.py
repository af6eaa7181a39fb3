"""Entries of a lock-up: written once, read back by day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.measures import Money, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.lockup_model import AfterLock, Locked, LockedLine
from collop.shop.model import Settings
from collop.shop.store import AnyRow
from collop.shop.tables import acts, case_lines
from collop.shop.week_tables import lock_up_lines, lock_ups

__all__ = ["entries_of", "entry_of", "lock_of", "note", "writes_after"]

_LONGEST = 200
#: Acts that are not anybody's: the bench plan is worked out again when someone looks at it.
_DERIVED = ("bench plan",)


def note(
    act: Act, day: date, case_id: str, what: str, *, expected: Weight, at_risk: Money,
    counted: Weight | None = None, weight: Weight | None = None, into_case: str | None = None,
    lot_id: str | None = None, why: str = "",
) -> int:  # fmt: skip
    """Write one entry of a lock-up; return its number."""
    key = act.conn.execute(
        insert(lock_up_lines).values(
            day=day, case_id=case_id, what=what, expected=expected.count,
            counted=None if counted is None else counted.count,
            weight=None if weight is None else weight.count, unit=expected.unit.value,
            at_risk=at_risk.minor, into_case=into_case, lot_id=lot_id, why=why[:_LONGEST],
            at=act.at, by_id=act.by, key=act.key,
        )
    ).inserted_primary_key  # fmt: skip
    assert key is not None
    return int(key[0])


def _entry(row: AnyRow, chosen: Settings, locked_at: datetime | None) -> LockedLine:
    unit = WeightUnit(row.unit)
    return LockedLine(
        seq=row.seq, case_id=row.case_id, name=row.name, what=row.what,
        expected=Weight(row.expected, unit),
        counted=None if row.counted is None else Weight(row.counted, unit),
        weight=None if row.weight is None else Weight(row.weight, unit),
        at_risk=Money(row.at_risk, chosen.currency), into_case=row.into_case, lot_id=row.lot_id,
        why=row.why, at=row.at, by=row.by_id,
        after=locked_at is not None and row.at > locked_at,
    )  # fmt: skip


def entries_of(
    conn: Connection, day: date, chosen: Settings, locked_at: datetime | None = None
) -> Mapping[str, tuple[LockedLine, ...]]:
    """Return the entries of a day by line, oldest first."""
    rows = conn.execute(
        select(lock_up_lines, case_lines.c.name)
        .join(case_lines, case_lines.c.id == lock_up_lines.c.case_id)
        .where(lock_up_lines.c.day == day)
        .order_by(lock_up_lines.c.seq)
    )
    found: dict[str, list[LockedLine]] = defaultdict(list)
    for row in rows:
        found[row.case_id].append(_entry(row, chosen, locked_at))
    return {case_id: tuple(lines) for case_id, lines in found.items()}


def entry_of(conn: Connection, seq: int, chosen: Settings) -> tuple[LockedLine, str]:
    """Return one entry and the key of its act, or raise `NotFound`."""
    row = conn.execute(
        select(lock_up_lines, case_lines.c.name)
        .join(case_lines, case_lines.c.id == lock_up_lines.c.case_id)
        .where(lock_up_lines.c.seq == seq)
    ).first()
    if row is None:
        raise NotFound(f"There is no entry {seq} of a lock-up.", where="seq")
    return _entry(row, chosen, None), str(row.key)


def lock_of(conn: Connection, day: date) -> Locked | None:
    """Return the lock-up of a day, None if it is not locked."""
    row = conn.execute(
        select(lock_ups).where(lock_ups.c.day == day).order_by(lock_ups.c.number)
    ).first()
    if row is None:
        return None
    return Locked(row.number, row.day, row.at, row.by_id, row.note, row.facts)


def writes_after(conn: Connection, locked: Locked | None) -> tuple[AfterLock, ...]:
    """Return what people wrote on the day of a lock-up after it, oldest first."""
    if locked is None:
        return ()
    end = datetime.combine(locked.day, time.min) + timedelta(days=1)
    rows = conn.execute(
        select(acts.c.kind, acts.c.at, acts.c.by_id)
        .where(acts.c.at > locked.at, acts.c.at < end, acts.c.kind.not_in(_DERIVED))
        .order_by(acts.c.at, acts.c.key)
    )
    return tuple(AfterLock(row.kind, row.at, row.by_id) for row in rows)
