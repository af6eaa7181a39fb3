"""What comes out of a making, what is told later, what is taken back, and its close.

Every weight that comes out is weighed; what is left on the block is told, as carried on to the next
lot or as lost. A record is closed only when nothing of it is missing.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Weight
from collop.shop.acts import Act
from collop.shop.breaking import slack_of
from collop.shop.day_tables import making_events
from collop.shop.knife_tables import lot_links
from collop.shop.ledger import FOUND, Pick, find_more, move
from collop.shop.lots import CUT, NewLot, cut_from, next_name
from collop.shop.making_lots_cleaning import cleanings, ending
from collop.shop.making_lots_state import (
    checked_weight,
    checked_words,
    closed_by,
    is_closed,
    making_row,
    may_be_written,
    told_moment,
)
from collop.shop.making_model import MINCE, MakingState
from collop.shop.making_parts import must_declare
from collop.shop.making_record import load_making
from collop.shop.making_record_lines import (
    contains_above,
    last_day,
    left_of,
    load_events,
    load_mass,
    load_outputs,
)
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, ledger_entries

__all__ = ["carry", "close", "lose", "note", "produce", "reopen"]

LOST_TO = ("drip", "bin")
_MOST_DAYS = timedelta(days=730)


def note(
    act: Act, row: AnyRow, what: str, *, moment: datetime | None = None, lot_id: str | None = None,
    weight: Weight | None = None, fields: Mapping[str, Any] | None = None, words: str = "",
) -> int:  # fmt: skip
    """Write a further line of a making; return its number."""
    key = act.conn.execute(
        insert(making_events).values(
            making_number=row.number, what=what, lot_id=lot_id,
            weight=None if weight is None else weight.count,
            unit=None if weight is None else weight.unit.value, fields=dict(fields or {}),
            note=words[:200], done_at=moment or act.at, at=act.at, by_id=act.by, key=act.key,
        )
    ).inserted_primary_key  # fmt: skip
    assert key is not None
    return int(key[0])


def _line(conn: Connection, row: AnyRow, case_id: str) -> AnyRow:
    line = conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if line is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}.", where="case_id")
    if row.case_id is not None and row.case_id != case_id:
        raise BadValue(f"{row.code} is a batch for {row.case_id}; it is not put on {case_id}.",
                       where="case_id")  # fmt: skip
    if line.form == "frozen":
        raise BadValue(f"{line.name} is frozen stock; fresh meat is not put there.",
                       where="case_id")  # fmt: skip
    if line.by_piece:
        raise BadValue(f"{line.name} is sold by the whole piece; choose another line.",
                       where="case_id")  # fmt: skip
    if line.species != row.species:
        raise BadValue(f"{row.code} is {row.species}, and {line.name} is {line.species}.",
                       where="case_id")  # fmt: skip
    return line


def _use_by(act: Act, row: AnyRow, line: AnyRow, moment: datetime, told: date | None) -> date:
    """Return the last day of what was made: as told, else the line's days from the day it was made.

    Never beyond the first day of any material.
    """
    last = last_day(act.conn, row)
    if told is None:
        if line.keeps_days is None:
            raise BadValue(f"Say until when {line.name} is to be used.", where="use_by")
        told = moment.date() + timedelta(days=line.keeps_days)
        told = told if last is None else min(told, last)
    elif last is not None and told > last:
        raise BadValue(f"A material of {row.code} is to be used by {last:%d %b}; so is this.",
                       where="use_by")  # fmt: skip
    if not act.at.date() <= told <= act.at.date() + _MOST_DAYS:
        raise BadValue(f"{line.name} would be to be used by {told:%d %b %Y}: bin it, or correct"
                       " the day.", where="use_by")  # fmt: skip
    return told


def _room_on_block(act: Act, row: AnyRow, weight: Weight) -> Weight | None:
    """See that so much is there, or is within scale error of it; the difference is then found.

    Returns
    -------
    Weight or None
        What was found. What waits for the next lot is not there for this one.
    """
    mass = load_mass(act.conn, row, load_outputs(act.conn, row), load_events(act.conn, row.number))
    more = weight.count - mass.left.count
    if more <= 0:
        return None
    entry = ledger_entries.c
    found = act.conn.scalar(
        select(func.sum(entry.delta)).where(entry.lot_id == row.lot_id, entry.reason == FOUND)
    )
    # what was weighed and taken back again gives no further slack
    links = (
        select(lot_links.c.parent_id)
        .where((lot_links.c.parent_id == row.lot_id) | (lot_links.c.child_id == row.lot_id))
        .group_by(lot_links.c.parent_id, lot_links.c.child_id)
        .having(func.sum(lot_links.c.count) > 0)
    )
    readings = len(act.conn.execute(links).all())
    over = Weight(more, weight.unit)
    if int(found or 0) + more > slack_of(act.settings, readings + 1):
        waits = f" and {mass.waiting.text()} waits for the next lot" if mass.waiting.count else ""
        raise BadValue(
            f"That is {over.text()} too much: {mass.left.text()} of {row.code} is left{waits}. Pan"
            " not tared, or a material not put down?",
            where="weight",
        )
    find_more(act, Pick(row.lot_id, more, weight.unit.value), "block")
    return over


def produce(
    act: Act, code: str, case_id: str, weight: Weight, *, done_at: datetime | None = None,
    use_by: date | None = None,
) -> str:  # fmt: skip
    """Weigh what was made into the case: a lot of its own; return its name.

    Raises
    ------
    WrongState
        If the making is closed or was ended before.
    BadValue
        If more is weighed than went in, beyond scale error; or the case line is of another species
        or does not declare what is in it.
    """
    row = making_row(act.conn, code)
    moment = may_be_written(act, row, done_at)
    line = _line(act.conn, row, case_id)
    must_declare(case_id, line.contains or (), sorted(contains_above(act.conn, row.lot_id)))
    checked_weight(weight, line.name)
    day = _use_by(act, row, line, moment, use_by)
    found = _room_on_block(act, row, weight)
    child = NewLot(
        id=next_name(act.conn, row.lot_id), kind="cut", species=row.species, what=line.name,
        weight=weight, since=moment, case_id=case_id, use_by=day,
    )  # fmt: skip
    cut_from(act, row.lot_id, ("block", "case"), child, CUT)
    note(act, row, "produced", moment=moment, lot_id=child.id, weight=weight,
         fields={} if found is None else {"found": found.count})  # fmt: skip
    return child.id


def _left(act: Act, row: AnyRow, weight: Weight) -> None:
    """See that so much is on the block of which nothing was said yet."""
    left = left_of(act.conn, row)
    if weight.count > left.count:
        raise BadValue(
            f"{left.text()} of {row.code} is left that nothing is said of, not {weight.text()}.",
            where="weight",
        )


def _not_closed(act: Act, code: str) -> AnyRow:
    row = making_row(act.conn, code)
    if is_closed(act.conn, row):
        raise WrongState(f"{row.code} is closed; open it again first.")
    return row


def carry(act: Act, code: str, weight: Weight, *, done_at: datetime | None = None) -> None:
    """Say that so much stays in the grinder or bowl and goes into the next lot.

    It may be said after the clean-down too: it is told where weight went, and none is added.

    Raises
    ------
    BadValue
        If less is left.
    """
    row = _not_closed(act, code)
    checked_weight(weight, "What goes on to the next lot")
    _left(act, row, weight)
    note(act, row, "carried", moment=told_moment(act, done_at), weight=weight)


def lose(
    act: Act, code: str, weight: Weight, why: str, *, place: str = "bin",
    done_at: datetime | None = None,
) -> None:  # fmt: skip
    """Say that so much was lost: binned, or left in the machine and washed away (``drip``).

    Raises
    ------
    BadValue
        If less is left, no reason is given, or it is neither place.
    """
    row = _not_closed(act, code)
    checked_weight(weight, "What was lost")
    words = checked_words(why, "Why it was lost", 200, "why", least=1)
    if place not in LOST_TO:
        raise BadValue(f"It is lost to {' or '.join(LOST_TO)}.", where="place")
    _left(act, row, weight)
    pick = Pick(row.lot_id, weight.count, weight.unit.value)
    move(act, [pick], ("block", place), f"lost: {words}"[:40])
    note(act, row, "lost", moment=told_moment(act, done_at), weight=weight,
         fields={"place": place}, words=words)  # fmt: skip


def close(act: Act, code: str) -> None:
    """Close a making: its record is whole, and all of its weight is told.

    Raises
    ------
    WrongState
        Naming everything that is missing.
    """
    row = making_row(act.conn, code)
    made = load_making(act.conn, row, act.at, act.settings)
    if made.state is MakingState.CLOSED:
        raise WrongState(f"{code} is closed already.")
    missing = list(made.missing)
    if made.mass.left.count:
        missing.append(f"what became of {made.mass.left.text()} on the block")
    if missing:
        raise WrongState(f"{code} is not closed; it lacks: {'; '.join(missing)}.")
    fields: dict[str, Any] = {}
    if row.kind == MINCE:
        end = ending(cleanings(act.conn, row.fields.get("machine", ""), around=row.done_at), row)
        assert end is not None
        fields["clean_down"] = end.seq
    note(act, row, "ended", fields=fields)


def reopen(act: Act, code: str, why: str) -> None:
    """Open a closed making again; both lines stay on record.

    Raises
    ------
    WrongState
        If it is not closed.
    """
    row = making_row(act.conn, code)
    words = checked_words(why, "Why it is opened again", 200, "why", least=1)
    event = closed_by(act.conn, row)
    if event is None or not is_closed(act.conn, row):
        raise WrongState(f"{code} is not closed.")
    note(act, row, "taken back", fields={"takes_back": event.seq}, words=words)
