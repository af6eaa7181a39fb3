"""Under the knife: start, weigh part after part, close when the bar is full within scale error."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from fractions import Fraction
from math import isqrt

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Weight, WeightUnit, round_fraction
from collop.shop.acts import Act
from collop.shop.knife_model import Break, Weighing
from collop.shop.knife_tables import break_events, breaks, style_parts, weighings
from collop.shop.ledger import FOUND, Pick, find_more, move
from collop.shop.lots import (
    CUT,
    NewLot,
    at_place,
    cut_from,
    give_back,
    lot_row,
    next_name,
    places_of,
    read_unit,
)
from collop.shop.model import Settings
from collop.shop.railing import claims_on, hang
from collop.shop.store import AnyRow
from collop.shop.styles import load_style, load_styles, styles_for
from collop.shop.tables import case_lines, ledger_entries, lots

__all__ = [
    "SURE", "break_row", "closed_breaks", "last_event", "load_break", "must_be_open", "open_breaks",
    "start_break", "take_back", "weigh_part",
]  # fmt: skip

_LARGEST = 2**62
# what a cut may weigh over twice its share before it is asked about
_MUCH = Weight.of(3, WeightUnit.LB)
#: Where a refusal points that asks whether it is right.
SURE = "sure"


def break_row(conn: Connection, number: int) -> AnyRow:
    """Return a break's row, or raise `NotFound`."""
    known = 0 < number <= _LARGEST
    row = conn.execute(select(breaks).where(breaks.c.number == number)).first() if known else None
    if row is None:
        raise NotFound(f"There is no break {number}; choose from the rail.", where="break")
    return row


def last_event(conn: Connection, number: int) -> AnyRow | None:
    """Return the last closing or reopening of a break, None if it was never closed."""
    query = select(break_events).where(break_events.c.break_number == number)
    return conn.execute(query.order_by(break_events.c.seq.desc()).limit(1)).first()


def _is_open(conn: Connection, number: int) -> bool:
    last = last_event(conn, number)
    return last is None or last.what == "reopened"


def must_be_open(conn: Connection, row: AnyRow) -> None:
    """Refuse what can only be done to a break under way."""
    if not _is_open(conn, row.number):
        raise WrongState(f"{row.lot_id} is closed; reopen it first.")


def open_breaks(conn: Connection) -> tuple[int, ...]:
    """Return the numbers of the breaks under way, oldest first."""
    last = (
        select(break_events.c.what)
        .where(break_events.c.break_number == breaks.c.number)
        .order_by(break_events.c.seq.desc())
        .limit(1)
        .scalar_subquery()
    )
    is_open = func.coalesce(last, "reopened") == "reopened"
    return tuple(conn.scalars(select(breaks.c.number).where(is_open).order_by(breaks.c.number)))


def closed_breaks(conn: Connection, most: int) -> tuple[int, ...]:
    """Return the numbers of the newest closed breaks, newest first."""
    newest = select(break_events.c.break_number, func.max(break_events.c.seq).label("seq"))
    last = newest.group_by(break_events.c.break_number).subquery()
    rows = conn.scalars(
        select(break_events.c.break_number)
        .join(last, last.c.seq == break_events.c.seq)
        .where(break_events.c.what == "closed")
        .order_by(break_events.c.seq.desc())
        .limit(most)
    )
    return tuple(rows.all())


def start_break(
    act: Act, tag: str, style_id: str, weight: Weight | None = None, *, sure: bool = False
) -> int:
    """Take a piece off the rail to the block; `weight` is what the scale says before the knife.

    Raises
    ------
    WrongState
        If it does not hang.
    BadValue
        If the style cuts another piece.
    """
    if weight is not None:
        hang(act, tag, weight, sure=sure)
    row, style = lot_row(act.conn, tag), load_style(act.conn, style_id)
    if style not in styles_for(load_styles(act.conn), row.piece, row.species):
        raise BadValue(
            f"{style.name} cuts {style.piece}, and {tag} is {row.piece or row.what}; choose"
            " another style.",
            where="style",
        )
    hangs = places_of(act.conn, tag).get("rail", 0)
    if not hangs:
        raise WrongState(f"{tag} does not hang; look at the rail again.")
    move(act, [Pick(tag, hangs, row.unit)], ("rail", "block"), "to the block")
    values = {"lot_id": tag, "style_id": style_id, "start": hangs, "unit": row.unit,
              "at": act.at, "by_id": act.by, "key": act.key}  # fmt: skip
    key = act.conn.execute(insert(breaks).values(values)).inserted_primary_key
    assert key is not None
    return int(key[0])


def _part_row(conn: Connection, style_id: str, part_id: int) -> AnyRow:
    wanted = part_id if 0 < part_id <= _LARGEST else 0
    row = conn.execute(
        select(style_parts).where(style_parts.c.style_id == style_id, style_parts.c.id == wanted)
    ).first()
    if row is None or row.kind == "loss":
        raise NotFound("There is no such part in this style; touch one of its tiles.", where="part")
    return row


def slack_of(chosen: Settings, readings: int) -> int:
    """Return how much scale error alone may add up to after so many readings, in counts.

    Three standard deviations: errors of single readings are independent, so their spread grows
    with the square root of their number.
    """
    step = chosen.scale_step.count
    return 3 * isqrt(step * step * (readings + 1))


def _room_on_block(act: Act, row: AnyRow, weight: Weight) -> None:
    """See that so much is left, or is within scale error of it; the difference is then found."""
    left = places_of(act.conn, row.lot_id).get("block", 0)
    more = weight.count - left
    if more <= 0:
        return
    # all that the scale ever found of this piece on the block counts, so that it cannot creep up
    found = _found_on_block(act.conn, row.lot_id)
    if found + more > slack_of(act.settings, len(load_break(act.conn, row.number).parts) + 1):
        unit = read_unit(row)
        raise BadValue(
            f"That is {Weight(more, unit).text()} too much: {Weight(left, unit).text()} of"
            f" {row.lot_id} is left. Pan not tared?",
            where="weight",
        )
    find_more(act, Pick(row.lot_id, more, row.unit), "block")


def _found_on_block(conn: Connection, lot_id: str) -> int:
    entry = ledger_entries.c
    total = select(func.sum(entry.delta)).where(
        entry.lot_id == lot_id, entry.place == "block", entry.reason == FOUND
    )
    return int(conn.scalar(total) or 0)


def _found_by(conn: Connection, key: str, lot_id: str) -> int:
    """Return what the scale found of a piece in the act of one weighing."""
    entry = ledger_entries.c
    total = select(func.sum(entry.delta)).where(
        entry.key == key, entry.lot_id == lot_id, entry.place == "block", entry.reason == FOUND
    )
    return int(conn.scalar(total) or 0)


def _days_of(conn: Connection, part: AnyRow) -> int | None:
    """Return how long a part keeps: the style's days, or else its case line's."""
    if part.keeps_days is not None or part.case_id is None:
        return part.keeps_days  # type: ignore[no-any-return]
    query = select(case_lines.c.keeps_days).where(case_lines.c.id == part.case_id)
    return conn.scalar(query)


def _child(act: Act, row: AnyRow, part: AnyRow, weight: Weight, pieces: Sequence[Weight]) -> NewLot:
    parent = lot_row(act.conn, row.lot_id)
    days = _days_of(act.conn, part)
    return NewLot(
        id=next_name(act.conn, row.lot_id), kind="cut", species=parent.species, what=part.name,
        weight=weight, since=act.at, farm=parent.farm, case_id=part.case_id,
        use_by=None if days is None else act.at.date() + timedelta(days=days),
        delivery_number=parent.delivery_number, parts=tuple(pieces),
    )  # fmt: skip


def _checked_weight(act: Act, part: AnyRow, weight: Weight, pieces: Sequence[Weight]) -> None:
    if weight <= Weight.zero():
        raise BadValue(f"{part.name} weighs nothing; put it on the scale.", where="weight")
    by_piece = part.case_id is not None and act.conn.scalar(
        select(case_lines.c.by_piece).where(case_lines.c.id == part.case_id)
    )
    if by_piece and not pieces:
        raise BadValue(f"{part.name} is sold by the whole piece; weigh each one.", where="pieces")
    if pieces and not by_piece:
        raise BadValue(f"{part.name} is not sold by the piece; leave the pieces out.",
                       where="pieces")  # fmt: skip
    if pieces and (
        not all(piece > Weight.zero() for piece in pieces)
        or sum(piece.count for piece in pieces) != weight.count
    ):
        raise BadValue(f"The pieces of {part.name} do not add up to {weight.text()}.",
                       where="pieces")  # fmt: skip


def _likely_tile(act: Act, row: AnyRow, part: AnyRow, weight: Weight) -> None:
    """See that a cut does not weigh far more than its share: the wrong tile may be touched."""
    usual = round_fraction(Fraction(part.share) * row.start)
    before = sum(
        one.weight.count for one in load_break(act.conn, row.number).parts if one.part == part.name
    )
    if part.kind == "cut" and usual and before + weight.count > 2 * usual + _MUCH.count:
        raise BadValue(
            f"{part.name} of this piece usually weighs about"
            f" {Weight(usual, weight.unit).text()}, and the scale says {weight.text()}: right tile?"
            " Touch it again if so.",
            where=SURE,
        )


def weigh_part(
    act: Act, number: int, part_id: int, weight: Weight, pieces: Sequence[Weight] = (), *,
    sure: bool = False,
) -> int:  # fmt: skip
    """Put one part on the scale: it becomes a lot of its own at the place its tile names.

    A cut that weighs far more than its share is asked about once; `sure` says that it is right.

    Raises
    ------
    BadValue
        If it weighs nothing, or more than is left of the piece beyond scale error.
    WrongState
        If the break is closed.
    """
    row = break_row(act.conn, number)
    must_be_open(act.conn, row)
    part = _part_row(act.conn, row.style_id, part_id)
    _checked_weight(act, part, weight, pieces)
    _room_on_block(act, row, weight)
    if not sure:
        _likely_tile(act, row, part, weight)
    child = _child(act, row, part, weight, pieces)
    cut_from(act, row.lot_id, ("block", part.place), child, CUT)
    return _note(act, number, part_id, child.id, weight)


def _note(
    act: Act, number: int, part_id: int | None, lot_id: str, weight: Weight, *,
    takes_back: int | None = None, why: str = "",
) -> int:  # fmt: skip
    values = {"break_number": number, "part_id": part_id, "lot_id": lot_id,
              "weight": weight.count, "unit": weight.unit.value, "takes_back": takes_back,
              "why": why[:200], "at": act.at, "by_id": act.by, "key": act.key}  # fmt: skip
    key = act.conn.execute(insert(weighings).values(values)).inserted_primary_key
    assert key is not None
    return int(key[0])


def _weighing_rows(conn: Connection, number: int) -> Sequence[AnyRow]:
    return conn.execute(
        select(
            weighings, lots.c.what, lots.c.case_id, style_parts.c.kind, style_parts.c.place,
        )
        .join(lots, lots.c.id == weighings.c.lot_id)
        .outerjoin(style_parts, style_parts.c.id == weighings.c.part_id)
        .where(weighings.c.break_number == number)
        .order_by(weighings.c.seq)
    ).all()  # fmt: skip


def take_back(act: Act, number: int, seq: int, why: str = "") -> int:
    """Take one weighing back: the weight is again on the block. Nothing is deleted.

    Raises
    ------
    WrongState
        If the break is closed, or it was taken back already, or some of it is promised, sold or
        moved on.
    """
    wanted = select(weighings).where(weighings.c.seq == seq, weighings.c.break_number == number)
    row = act.conn.execute(wanted).first()
    if row is None or row.takes_back is not None:
        raise NotFound("There is no such weighing; look at the list again.", where="weighing")
    undone = select(weighings.c.seq).where(weighings.c.takes_back == seq)
    if act.conn.execute(undone).first() is not None:
        raise WrongState("That weighing was taken back already.")
    whole = break_row(act.conn, row.break_number)
    must_be_open(act.conn, whole)
    place = act.conn.scalar(select(style_parts.c.place).where(style_parts.c.id == row.part_id))
    child = at_place(act.conn, row.lot_id, place or "block")
    if sum(pick.count for pick in child) != row.weight:
        raise WrongState(
            f"{row.lot_id} is no longer whole in {place}: some of it is promised, sold or moved."
            " Release it first, or count it."
        )
    give_back(act, child, (place or "block", "block"), whole.lot_id, "taken back")
    found = _found_by(act.conn, row.key, whole.lot_id)
    if found:
        find_more(act, Pick(whole.lot_id, -found, whole.unit), "block")
    weight = Weight(row.weight, WeightUnit(row.unit))
    return _note(act, whole.number, row.part_id, row.lot_id, weight, takes_back=seq, why=why)


def _weighing(row: AnyRow, undone: set[int]) -> Weighing:
    return Weighing(
        seq=row.seq, lot_id=row.lot_id, part=row.what, kind=row.kind or "cut",
        place=row.place or "block", case_id=row.case_id,
        weight=Weight(row.weight, WeightUnit(row.unit)), at=row.at, by=row.by_id,
        taken_back=row.seq in undone,
    )  # fmt: skip


def load_break(conn: Connection, number: int) -> Break:
    """Return one break, open or closed, or raise `NotFound`."""
    row = break_row(conn, number)
    rows = _weighing_rows(conn, number)
    undone = {one.takes_back for one in rows if one.takes_back is not None}
    last = last_event(conn, number)
    is_open = last is None or last.what == "reopened"
    unit, there = WeightUnit(row.unit), places_of(conn, row.lot_id)
    return Break(
        number=number, tag=row.lot_id, what=lot_row(conn, row.lot_id).what,
        style=load_style(conn, row.style_id), start=Weight(row.start, unit),
        left=Weight(there.get("block", 0), unit),
        weighings=tuple(_weighing(one, undone) for one in rows if one.takes_back is None),
        is_open=is_open, loss=Weight(0 if is_open or last is None else last.gap, unit),
        why="" if last is None else last.why, at=row.at, by=row.by_id,
        claims=claims_on(conn).get(row.lot_id, ()),
    )  # fmt: skip
