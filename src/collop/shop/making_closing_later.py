"""What is told of a making later, and what is taken back: further lines, nothing edited."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy import insert, select

from collop.errors import BadValue, NotFound, WrongState
from collop.shop.acts import Act
from collop.shop.day_tables import making_events, making_parts, makings
from collop.shop.knife_tables import lot_links
from collop.shop.ledger import Pick, find_more, move
from collop.shop.lots import at_place, give_back
from collop.shop.making_closing import note
from collop.shop.making_lots_state import (
    checked_words,
    is_closed,
    making_row,
    may_be_written,
)
from collop.shop.making_parts import INTO, check_declared, check_declared_below, link, read_contains
from collop.shop.making_record_fields import NONE
from collop.shop.making_record_lines import left_of
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries

__all__ = ["fill", "fill_part", "take_back", "take_back_material"]

_LARGEST = 2**62
_TEXTS = {"what": 120, "establishment": 40, "supplier_lot": 60}


def _open_row(act: Act, code: str) -> AnyRow:
    row = making_row(act.conn, code)
    if is_closed(act.conn, row):
        raise WrongState(f"{row.code} is closed; open it again first.")
    return row


def _part(act: Act, row: AnyRow, seq: int) -> AnyRow:
    known = 0 < seq <= _LARGEST
    query = select(making_parts).where(
        making_parts.c.seq == seq, making_parts.c.making_number == row.number,
        making_parts.c.takes_back.is_(None),
    )  # fmt: skip
    part = act.conn.execute(query).first() if known else None
    if part is None:
        raise NotFound("There is no such material; look at the list again.", where="material")
    undone = select(making_parts.c.seq).where(making_parts.c.takes_back == seq)
    if act.conn.execute(undone).first() is not None:
        raise WrongState("That material was taken back already.")
    return part


def fill_part(act: Act, code: str, seq: int, told: Mapping[str, Any], why: str = "") -> None:
    """Tell what was missing of a material: a late entry with both times.

    Parameters
    ----------
    act : Act
        The write.
    code : str
        The making.
    seq : int
        The material's line.
    told : mapping
        Of ``what``, ``establishment``, ``supplier_lot`` (text), ``produced_on`` (date) and
        ``contains`` (words). What was told before stays on record; the newest counts.
    why : str
        Where it was read, if that is worth keeping.
    """
    row = _open_row(act, code)
    part = _part(act, row, seq)
    fields = _checked_fields(act, row, told)
    words = checked_words(why, "Where it was read", 200, "why")
    note(act, row, "filled", moment=_put_in_at(act, row, part), fields={"part": seq} | fields,
         words=words)  # fmt: skip


def _put_in_at(act: Act, row: AnyRow, part: AnyRow) -> datetime:
    """Return when a material went in, which may have been written later."""
    rows = act.conn.execute(
        select(making_events.c.fields)
        .where(making_events.c.making_number == row.number, making_events.c.what == "filled")
        .order_by(making_events.c.seq)
    ).all()  # fmt: skip
    told = (one.fields["done_at"] for one in rows
            if one.fields.get("part") == part.seq and "done_at" in one.fields)  # fmt: skip
    return datetime.fromisoformat(next(told, part.at.isoformat()))


def _checked_fields(act: Act, row: AnyRow, told: Mapping[str, Any]) -> dict[str, Any]:
    if not told:
        raise BadValue("Say what is to be filled in.", where="what")
    fields: dict[str, Any] = {}
    for name, value in told.items():
        if name in _TEXTS:
            fields[name] = checked_words(
                str(value), name.replace("_", " ").capitalize(), _TEXTS[name], name, least=1
            )
        elif name == "produced_on" and isinstance(value, date) and not isinstance(value, datetime):
            if value > act.at.date():
                raise BadValue("The production date lies ahead; look at the box again.", where=name)
            fields[name] = value.isoformat()
        elif name == "contains" and not isinstance(value, str):
            words = read_contains(value)
            check_declared(act.conn, row, words)
            check_declared_below(act.conn, row, words)
            fields[name] = list(words)
        else:
            raise BadValue(f"{name[:40]!r} cannot be filled in.", where=name[:40])
    return fields


def fill(
    act: Act, code: str, *, no_carry_over: bool = False, produced_at: datetime | None = None,
    why: str = "",
) -> None:  # fmt: skip
    """Tell what was missing of a whole lot: that nothing was carried over, or when it was made.

    Raises
    ------
    BadValue
        If a carry-over is put down, or nothing is told.
    """
    row = _open_row(act, code)
    fields: dict[str, Any] = {}
    if no_carry_over:
        part = making_parts.c
        back = making_parts.alias("back")
        standing = (
            select(part.seq)
            .outerjoin(back, back.c.takes_back == part.seq)
            .where(part.making_number == row.number, part.carry_over_of.is_not(None),
                   part.takes_back.is_(None), back.c.seq.is_(None))
        )  # fmt: skip
        if act.conn.execute(standing).first() is not None:
            raise BadValue(f"{code} has carry-over put down; take that back first.",
                           where="carry_over")  # fmt: skip
        fields["carry_over"] = NONE
    if produced_at is not None:
        moment = may_be_written(act, row, produced_at)
        fields["produced_at"] = moment.isoformat()
    if not fields:
        raise BadValue("Say what is to be filled in.", where="what")
    words = checked_words(why, "Where it was read", 200, "why")
    note(act, row, "filled", moment=produced_at or row.done_at, fields=fields, words=words)


def take_back_material(act: Act, code: str, seq: int, why: str) -> None:
    """Take a material back: its weight goes to where it came from, and both lines stay.

    Raises
    ------
    WrongState
        If it was taken back already, or no longer lies on the block.
    """
    row = _open_row(act, code)
    checked_words(why, "Why it is taken back", 200, "why", least=1)
    part = _part(act, row, seq)
    if part.lot_id is not None and part.weight is not None:
        if left_of(act.conn, row).count < part.weight:
            raise WrongState(f"Some of it is made into something already, or is left for the next"
                             f" lot: take that back first, or leave {part.what} where it is."
                             )  # fmt: skip
        for one in _given(act, row, part):
            child = Pick(row.lot_id, -one.delta, one.unit)
            parent = Pick(part.lot_id, -one.delta, one.unit, one.piece_id)
            link(act, child, parent, ("block", one.place), "taken back", back=True)
        _nothing_untold(act, part)
    values = {
        name: getattr(part, name)
        for name in ("making_number", "what", "lot_id", "carry_over_of", "establishment",
                     "supplier_lot", "produced_on", "weight", "unit", "contains")
    }  # fmt: skip
    act.conn.execute(
        insert(making_parts).values(
            values | {"takes_back": seq, "at": act.at, "by_id": act.by, "key": act.key}
        )
    )


def _given(act: Act, row: AnyRow, part: AnyRow) -> list[AnyRow]:
    """Return the entries by which one material left its own lot.

    Links of the two lots stand in the order of the materials, and those of one add up to its
    weight; so they are told apart even where several came in by one act.
    """
    same = select(making_parts.c.seq, making_parts.c.weight).where(
        making_parts.c.making_number == row.number, making_parts.c.lot_id == part.lot_id,
        making_parts.c.takes_back.is_(None), making_parts.c.seq < part.seq,
    )  # fmt: skip
    before = sum(one.weight for one in act.conn.execute(same))
    entry, joined = ledger_entries.c, lot_links.c
    rows = act.conn.execute(
        select(entry.place, entry.piece_id, entry.delta, entry.unit)
        .join(lot_links, joined.move == entry.move)
        .where(joined.parent_id == part.lot_id, joined.child_id == row.lot_id, joined.count > 0,
               entry.lot_id == part.lot_id, entry.reason == INTO, entry.delta < 0)
        .order_by(joined.seq)
    ).all()  # fmt: skip
    found, passed = [], 0
    for one in rows:
        if before <= passed < before + part.weight:
            found.append(one)
        passed -= one.delta
    assert sum(-one.delta for one in found) == part.weight
    return found


def _nothing_untold(act: Act, part: AnyRow) -> None:
    """See that what went back into a closed lot is told there, as all of a closed lot is."""
    made = act.conn.execute(select(makings).where(makings.c.lot_id == part.lot_id)).first()
    if made is not None and is_closed(act.conn, made) and left_of(act.conn, made).count:
        raise WrongState(f"{made.code} is closed, and nothing is said there of what goes back to"
                         " it: open it again first.")  # fmt: skip


def take_back(act: Act, code: str, seq: int, why: str) -> None:
    """Take back what was produced, carried, lost or filled in; both lines stay on record.

    Raises
    ------
    NotFound
        If the making has no such line.
    WrongState
        If it was taken back already, or what was made is no longer whole in the case.
    """
    row = _open_row(act, code)
    words = checked_words(why, "Why it is taken back", 200, "why", least=1)
    event = _event(act, row, seq)
    if event.what == "produced":
        _unmake(act, row, event)
    elif event.what == "lost":
        pick = Pick(row.lot_id, event.weight, event.unit)
        move(act, [pick], (event.fields["place"], "block"), "taken back")
    note(act, row, "taken back", fields={"takes_back": seq}, words=words)


def _event(act: Act, row: AnyRow, seq: int) -> AnyRow:
    rows = act.conn.execute(
        select(making_events).where(making_events.c.making_number == row.number)
    ).all()
    event = next((one for one in rows if one.seq == seq), None)
    if event is None or event.what in {"ended", "taken back"} or "done_at" in event.fields:
        raise NotFound("There is no such line to take back; look at the list again.", where="line")
    if any(one.fields.get("takes_back") == seq for one in rows if one.what == "taken back"):
        raise WrongState("That line was taken back already.")
    return event


def _unmake(act: Act, row: AnyRow, event: AnyRow) -> None:
    """Give what was made back to the block; what the scale found with it is gone again."""
    child = at_place(act.conn, event.lot_id, "case")
    if sum(pick.count for pick in child) != event.weight:
        raise WrongState(
            f"{event.lot_id} is no longer whole in the case: some of it is promised, sold or moved."
            " Release it first, or count it."
        )
    give_back(act, child, ("case", "block"), row.lot_id, "taken back")
    found = int(event.fields.get("found", 0))
    if found:
        find_more(act, Pick(row.lot_id, -found, event.unit), "block")
