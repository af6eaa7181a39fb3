"""What stands of a making: its row, whether it is closed or ended, when a thing could be done."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.day_tables import making_events, makings
from collop.shop.making_lots_cleaning import cleanings, ending
from collop.shop.making_model import BATCH, MINCE
from collop.shop.store import AnyRow
from collop.shop.tracing import climb

__all__ = [
    "checked_weight", "checked_words", "closed_by", "is_closed", "lots_above", "making_of_lot",
    "making_row", "may_be_written", "told_moment",
]  # fmt: skip

OLDEST = timedelta(days=90)
_MOST = Weight.of(5_000, WeightUnit.LB)


def making_row(conn: Connection, code: str) -> AnyRow:
    """Return a making's row by its code, or raise `NotFound`."""
    row = conn.execute(select(makings).where(makings.c.code == code)).first()
    if row is None:
        raise NotFound(
            f"There is no mince lot or batch {code[:20]!r}; choose one in the Day Book.",
            where="code",
        )
    return row


def lots_above(conn: Connection, lot_id: str) -> list[str]:
    """Return a lot and every lot it was made from, nearest first, however far up.

    Carry-over may go on from lot to lot for weeks, and each of them counts.
    """
    return list(dict.fromkeys([lot_id, *(step.lot_id for step in climb(conn, [lot_id]))]))


def making_of_lot(conn: Connection, lot_id: str) -> AnyRow | None:
    """Return the making a lot is of, or the nearest one it was made from; None if there is none."""
    names = lots_above(conn, lot_id)
    found = {
        row.lot_id: row for row in conn.execute(select(makings).where(makings.c.lot_id.in_(names)))
    }
    return next((found[name] for name in names if name in found), None)


def told_moment(act: Act, told: datetime | None) -> datetime:
    """Return when a thing was done: now, or as told, not ahead and at most 90 days back.

    Raises
    ------
    BadValue
        If it lies outside that.
    """
    if told is None:
        return act.at
    if told > act.at:
        raise BadValue("That time lies ahead; write when it was done.", where="done_at")
    if act.at - told > OLDEST:
        raise BadValue("That is over 90 days ago; keep the paper with the Day Book.",
                       where="done_at")  # fmt: skip
    return told


def closed_by(conn: Connection, row: AnyRow) -> AnyRow | None:
    """Return the event that closed a making, None if it was taken back or there is none."""
    rows = conn.execute(
        select(making_events)
        .where(making_events.c.making_number == row.number,
               making_events.c.what.in_(("ended", "taken back")))
        .order_by(making_events.c.seq)
    ).all()  # fmt: skip
    undone = {one.fields.get("takes_back") for one in rows if one.what == "taken back"}
    return next(
        (one for one in reversed(rows) if one.what == "ended" and one.seq not in undone), None
    )


def _clean_still_stands(conn: Connection, row: AnyRow, event: AnyRow) -> bool:
    seq = event.fields.get("clean_down")
    if row.kind == BATCH or seq is None:
        return True
    return any(
        one.seq == seq for one in cleanings(conn, row.fields.get("machine", ""), around=row.done_at)
    )


def is_closed(conn: Connection, row: AnyRow) -> bool:
    """Tell whether a making is closed; one whose clean-down was taken back is not."""
    event = closed_by(conn, row)
    return event is not None and _clean_still_stands(conn, row, event)


def may_be_written(act: Act, row: AnyRow, told: datetime | None) -> datetime:
    """Return when a thing was done to a making, if it could be done then.

    Raises
    ------
    WrongState
        If the making is closed, or was ended by a clean-down before.
    BadValue
        If it was not begun then.
    """
    moment = told_moment(act, told)
    if is_closed(act.conn, row):
        raise WrongState(f"{row.code} is closed; open it again first.")
    if row.kind == MINCE:
        end = ending(cleanings(act.conn, row.fields.get("machine", ""), around=row.done_at), row)
        if end is not None and moment >= end.at:
            raise WrongState(
                f"{row.code} ended with the clean-down of {end.at:%d %b %H:%M}: nothing goes in or"
                " comes out after it. If it was done before, say when; else begin a new lot."
            )
    if moment < row.done_at:
        raise BadValue(f"{row.code} was begun at {row.done_at:%d %b %H:%M}, later than that.",
                       where="done_at")  # fmt: skip
    return moment


def checked_weight(weight: Weight | None, what: str) -> Weight:
    """Return a weight above zero and below what no bowl holds, or raise `BadValue`."""
    if weight is None or not Weight.zero() < weight < _MOST:
        raise BadValue(f"{what}: weigh it, more than 0 and under {_MOST.text()}.", where="weight")
    return weight


def checked_words(text: str, what: str, most: int, where: str, *, least: int = 0) -> str:
    """Return trimmed words of a length that is allowed, or raise `BadValue` naming `where`."""
    plain = text.strip()
    if not least <= len(plain) <= most or (plain and not plain.isprintable()):
        raise BadValue(f"{what}: write {least} to {most} characters.", where=where)
    return plain
