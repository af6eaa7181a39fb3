"""What goes into a making: weight moves through the ledger, link by link.

The lot of a making is a lot of the ledger from its first material on. Each material is passed on
from the lot it comes from, with a link, so that the way up leads to every animal and supplier.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import func, insert, select, update
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotEnoughFree, WrongState
from collop.measures import Weight, WeightUnit
from collop.reference import allergen_named
from collop.shop.acts import Act
from collop.shop.day_tables import making_events, making_parts
from collop.shop.knife_tables import breaks, lot_links
from collop.shop.ledger import Pick, pass_on, receive
from collop.shop.lots import NewLot, at_place, lot_row, make_lot
from collop.shop.making_lots_cleaning import must_still_go
from collop.shop.making_lots_state import (
    checked_weight,
    checked_words,
    lots_above,
    making_of_lot,
    making_row,
    may_be_written,
)
from collop.shop.making_model import BATCH, MINCE, NewMaterial, is_late
from collop.shop.making_record_lines import contains_above, left_of, leftover_day
from collop.shop.recall_spread import chunks
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, lots
from collop.shop.tracing import descend

__all__ = [
    "FROM", "INTO", "add", "check_declared", "check_declared_below", "link", "must_declare",
    "put_in", "read_contains",
]  # fmt: skip

#: Places material may be taken from.
FROM = ("trim", "block", "case", "fat")
INTO = "into the making"
_MOST_NAME, _MOST_PARTS = 120, 200


def add(act: Act, code: str, new: NewMaterial) -> int:
    """Put a material in; return the number of its line.

    Raises
    ------
    WrongState
        If the making is closed or ended.
    NotEnoughFree
        If less than that lies there.
    BadValue
        If it is another species, past its day, or holds an allergen the case line does not
        declare.
    """
    return put_in(act, making_row(act.conn, code), new, is_first=False)


def put_in(act: Act, row: AnyRow, new: NewMaterial, *, is_first: bool) -> int:
    """Put a material in; the lot of the first one was made with its weight already. See `add`."""
    moment = may_be_written(act, row, new.done_at)
    if row.kind == MINCE and not is_first:
        must_still_go(act, row, moment)
    count = act.conn.scalar(
        select(func.count()).select_from(making_parts)
        .where(making_parts.c.making_number == row.number)
    )  # fmt: skip
    if int(count or 0) >= _MOST_PARTS:
        raise BadValue(f"{row.code} has {_MOST_PARTS} lines; begin another.", where="what")
    new = _checked_material(act, row, new)
    if new.lot_id is not None:
        values = _own(act, row, new)
    else:
        values = _bought(act, row, new, int(count or 0))
    check_declared(act.conn, row, values["contains"] or ())
    if new.weight is not None:
        picks = values.pop("picks")
        _pour(act, picks, row, str(values["place"]))
        if not is_first:
            grown = lots.c.weight_in + sum(pick.count for pick in picks)
            act.conn.execute(update(lots).where(lots.c.id == row.lot_id).values(weight_in=grown))
    seq = _note(act, row, new, values)
    if is_late(moment, act.at):
        _note_late(act, row, seq, moment)
    return seq


def _checked_material(act: Act, row: AnyRow, new: NewMaterial) -> NewMaterial:
    if new.is_ingredient and row.kind != BATCH:
        raise BadValue("Only meat goes into mince; begin a batch for links.", where="what")
    what = checked_words(new.what, "What it is", _MOST_NAME, "what", least=int(new.is_ingredient))
    if new.weight is not None or not new.is_ingredient:
        checked_weight(new.weight, what or "Material")
    if new.produced_on is not None and new.produced_on > act.at.date():
        raise BadValue("The production date lies ahead; look at the box again.",
                       where="produced_on")  # fmt: skip
    return replace(
        new, what=what,
        establishment=checked_words(new.establishment, "Number or maker", 40, "establishment"),
        supplier_lot=checked_words(new.supplier_lot, "Supplier's lot", 60, "supplier_lot"),
        contains=None if new.contains is None else read_contains(new.contains),
    )  # fmt: skip


def read_contains(words: Iterable[str]) -> tuple[str, ...]:
    """Return the names of allergens as they were written, or raise `BadValue` at one unknown."""
    found = []
    for word in words:
        name = allergen_named(word)
        if name is None:
            raise BadValue(
                f"Contains: {word[:40]!r} is no allergen known here; use the list's words.",
                where="contains",
            )
        found.append(name)
    return tuple(dict.fromkeys(found))


def check_declared(conn: Connection, row: AnyRow, contains: Iterable[str]) -> None:
    """See that the case line of a batch declares the allergens of what goes in."""
    if row.case_id is None:
        return
    declared = conn.scalar(select(case_lines.c.contains).where(case_lines.c.id == row.case_id))
    must_declare(row.case_id, declared or (), contains)


def check_declared_below(conn: Connection, row: AnyRow, contains: Sequence[str]) -> None:
    """See that what was made of a making declares its allergens, wherever it went."""
    below = [step.lot_id for step in descend(conn, [row.lot_id])]
    for some in chunks(below) if contains else ():
        lines = conn.execute(
            select(case_lines.c.id, case_lines.c.contains)
            .where(case_lines.c.id.in_(select(lots.c.case_id).where(lots.c.id.in_(some))))
            .order_by(case_lines.c.id)
        )
        for line in lines:
            must_declare(line.id, line.contains or (), contains)


def must_declare(case_id: str, declared: Iterable[str], contains: Iterable[str]) -> None:
    """Refuse an allergen that a case line does not declare.

    Raises
    ------
    BadValue
        Naming every allergen that lacks.
    """
    names = {allergen_named(word) or word for word in declared}
    lacking = [name for name in dict.fromkeys(contains) if name not in names]
    if lacking:
        raise BadValue(
            f"{case_id} does not declare {', '.join(lacking)}; put it on another case line, or"
            " declare it there first.",
            where="contains",
        )


def _not_under_the_knife(conn: Connection, lot_id: str, place: str) -> None:
    query = select(breaks.c.number).where(breaks.c.lot_id == lot_id)
    if place == "block" and conn.execute(query).first() is not None:
        raise WrongState(f"{lot_id} goes over the knife; weigh its parts on the Knife page.")


def _not_frozen(conn: Connection, lot: AnyRow) -> None:
    form = conn.scalar(select(case_lines.c.form).where(case_lines.c.id == lot.case_id))
    if form == "frozen":
        raise BadValue(f"{lot.id} is frozen stock; thaw it first, and put it down as thawed.",
                       where="lot")  # fmt: skip


def _not_past_its_day(act: Act, lot: AnyRow, made: AnyRow | None) -> None:
    """See that a lot may still be used; what is left of a making keeps as its packs do."""
    day = lot.use_by
    if day is None and made is not None and made.lot_id == lot.id:
        day = leftover_day(act.conn, made)
    if day is not None and day < act.at.date():
        raise WrongState(f"{lot.id} was to be used by {day:%d %b}: bin it.")


def _own(act: Act, row: AnyRow, new: NewMaterial) -> dict[str, Any]:
    """Return what a line says of a material from the shop's own lots."""
    lot, place = lot_row(act.conn, new.lot_id or ""), new.place or ""
    if place not in FROM:
        raise BadValue(f"Material is taken from {', '.join(FROM)}, not from {place[:20]!r}.",
                       where="place")  # fmt: skip
    if lot.species != row.species:
        raise BadValue(f"{lot.id} is {lot.species}, and {row.name} is {row.species}.", where="lot")
    _not_frozen(act.conn, lot)
    _not_under_the_knife(act.conn, lot.id, place)
    if row.lot_id in lots_above(act.conn, lot.id):
        raise BadValue(f"{lot.id} was made from {row.code} itself.", where="lot")
    assert new.weight is not None
    made = making_of_lot(act.conn, lot.id)
    _not_past_its_day(act, lot, made)
    same = made is not None and made.kind == row.kind
    if made is not None and made.lot_id == lot.id and not same:
        _not_waiting(act.conn, made, new.weight)
    return {
        "what": new.what or lot.what, "lot_id": lot.id, "place": place,
        "picks": _taken(act.conn, lot, place, new.weight),
        "carry_over_of": made.number if made is not None and same else None,
        "contains": sorted({*(new.contains or ()), *_inherited(act.conn, lot)}),
    }  # fmt: skip


def _not_waiting(conn: Connection, made: AnyRow, weight: Weight) -> None:
    """See that what is left for the next lot of a machine does not go elsewhere."""
    left = left_of(conn, made)
    if weight.count > left.count:
        raise NotEnoughFree(
            f"{left.text()} of {made.code} is free on the block, not {weight.text()}; take back"
            " there what is left for the next lot.",
            where="weight",
        )


def _inherited(conn: Connection, lot: AnyRow) -> set[str]:
    """Return the allergens of a lot: what its case line declares, and what went into it."""
    found = contains_above(conn, lot.id)
    if lot.case_id is not None:
        told = conn.scalar(select(case_lines.c.contains).where(case_lines.c.id == lot.case_id))
        found.update(allergen_named(word) or word for word in told or ())
    return found


def _taken(conn: Connection, lot: AnyRow, place: str, weight: Weight) -> list[Pick]:
    """Return picks of exactly so much; a whole piece goes whole or not at all."""
    picks = at_place(conn, lot.id, place)
    left, taken = weight.count, []
    for pick in sorted(picks, key=lambda one: one.piece_id is None):
        part = min(pick.count, left)
        if part and (pick.piece_id is None or part == pick.count):
            taken.append(replace(pick, count=part))
            left -= part
    if left:
        unit = WeightUnit(lot.unit)
        there = Weight(sum(pick.count for pick in picks), unit)
        whole = ", ".join(
            Weight(pick.count, unit).text() for pick in picks[:6] if pick.piece_id is not None
        )
        raise NotEnoughFree(
            f"{there.text()} of {lot.id} is free at {place}, not {weight.text()}"
            f"{f', in pieces of {whole}' if whole else ''}.",
            where="weight",
        )
    return taken


def _bought(act: Act, row: AnyRow, new: NewMaterial, number: int) -> dict[str, Any]:
    """Return what a line says of a material that was bought in; its weight comes in with it."""
    contains: Any = list(new.contains or ())
    if new.is_ingredient and new.contains is None:
        contains = False  # not told: it must be told before the batch is closed
    found: dict[str, Any] = {
        "what": new.what, "lot_id": None, "place": "trim", "carry_over_of": None,
        "contains": contains,
    }  # fmt: skip
    if new.weight is None:
        return found
    lot_id = f"{row.code}-{'N' if new.is_ingredient else 'S'}{number + 1}"
    farm = f"{'maker' if new.is_ingredient else 'plant'} {new.establishment}"
    kept = NewLot(
        id=lot_id, kind="stock", species="none" if new.is_ingredient else row.species,
        what=new.what or "bought-in meat, name not told", weight=new.weight, since=act.at,
        farm=farm if new.establishment else None,
    )  # fmt: skip
    make_lot(act, kept)
    receive(act, lot_id, new.weight, "trim")
    pick = Pick(lot_id, new.weight.count, new.weight.unit.value)
    return found | {"lot_id": lot_id, "picks": [pick]}


def _pour(act: Act, picks: Iterable[Pick], row: AnyRow, place: str) -> None:
    for given in picks:
        link(act, given, Pick(row.lot_id, given.count, given.unit), (place, "block"), INTO)


def link(
    act: Act, given: Pick, taken: Pick, way: tuple[str, str], reason: str, *, back: bool = False
) -> None:
    """Pass weight on from one lot to another and write the link; `back` undoes an earlier one."""
    move_id = pass_on(act, given, taken, way, reason)
    parent, child = (taken, given) if back else (given, taken)
    act.conn.execute(
        insert(lot_links).values(
            move=move_id, parent_id=parent.lot_id, child_id=child.lot_id,
            count=-given.count if back else given.count, at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _note(act: Act, row: AnyRow, new: NewMaterial, values: dict[str, Any]) -> int:
    weight = new.weight
    key = act.conn.execute(
        insert(making_parts).values(
            making_number=row.number, what=values["what"], lot_id=values["lot_id"],
            carry_over_of=values["carry_over_of"], establishment=new.establishment,
            supplier_lot=new.supplier_lot, produced_on=new.produced_on,
            weight=None if weight is None else weight.count,
            unit=None if weight is None else weight.unit.value, contains=values["contains"],
            takes_back=None, at=act.at, by_id=act.by, key=act.key,
        )
    ).inserted_primary_key  # fmt: skip
    assert key is not None
    return int(key[0])


def _note_late(act: Act, row: AnyRow, seq: int, moment: datetime) -> None:
    """Write when a material went in that is written down late."""
    act.conn.execute(
        insert(making_events).values(
            making_number=row.number, what="filled", lot_id=None, weight=None, unit=None,
            fields={"part": seq, "done_at": moment.isoformat()}, note="", done_at=moment,
            at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
