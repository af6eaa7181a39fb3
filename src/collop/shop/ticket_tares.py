"""Tares by name: the dry weight of unused packing, weighed once and written down by the shop."""

from __future__ import annotations

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import Weight, WeightUnit
from collop.reference.rulebook import rule_row
from collop.shop.acts import Act
from collop.shop.day_tables import tares
from collop.shop.store import AnyRow
from collop.shop.ticket_model import NO_PACKING, Tare

__all__ = ["TARE_RULE", "load_tares", "retire_tare", "set_tare", "standing_tare"]

#: Row of the table of weights and measures: what a shop's list of tares holds.
TARE_RULE = "WM129"
_LONGEST = 80
#: Packing over this is a slip of the scale or the unit: ours, no published source.
_HEAVIEST = Weight.of(10, WeightUnit.LB)


def _read(row: AnyRow) -> Tare:
    return Tare(row.name, Weight(row.weight, WeightUnit(row.unit)), row.retired, row.at, row.by_id)


def load_tares(conn: Connection, *, retired: bool = False) -> tuple[Tare, ...]:
    """Return every tare as it is now, in the order they were first written.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    retired : bool
        Whether those that are used no more are told as well.
    """
    seq = tares.c.seq
    first = (
        select(tares.c.name, func.min(seq).label("first"), func.max(seq).label("last"))
        .group_by(tares.c.name)
        .subquery()
    )
    rows = conn.execute(
        select(tares).join(first, first.c.last == tares.c.seq).order_by(first.c.first)
    )
    return tuple(one for one in map(_read, rows) if retired or not one.retired)


def _known(conn: Connection, name: str) -> Tare | None:
    wanted = name.strip().casefold()
    return next((one for one in load_tares(conn, retired=True) if one.name.casefold() == wanted),
                None)  # fmt: skip


def standing_tare(conn: Connection, name: str) -> Tare:
    """Return a tare that is in use.

    Raises
    ------
    NotFound
        If there is none of that name, or it is used no more.
    """
    found = _known(conn, name)
    if found is None or found.retired:
        known = ", ".join(one.name for one in load_tares(conn)) or "none yet"
        why = "is used no more" if found else "is not on the list"
        raise NotFound(
            f"The tare {name[:40]!r} {why}; choose {NO_PACKING!r} or one of these: {known}.",
            where="tare",
        )
    return found


def _checked_name(name: str) -> str:
    plain = name.strip()
    if not 1 <= len(plain) <= _LONGEST or not plain.isprintable():
        raise BadValue(f"Name: write what the packing is, in 1 to {_LONGEST} letters.",
                       where="name")  # fmt: skip
    if plain.casefold() == NO_PACKING:
        raise BadValue(f"Name: {NO_PACKING!r} is always there and weighs nothing; choose another.",
                       where="name")  # fmt: skip
    return plain


def set_tare(act: Act, name: str, weight: Weight | None) -> None:
    """Write what a packing weighs from now on; one that was retired is in use again.

    Parameters
    ----------
    act : Act
        The write in progress.
    name : str
        What it is, 1 to 80 letters; the same name in other letters is the same tare.
    weight : Weight or None
        Of the unused, dry packing, in the shop's legal unit.

    Raises
    ------
    BadValue
        If it weighs nothing, over 10 lb, or is told in another unit.
    """
    plain = _checked_name(name)
    unit = act.settings.legal_unit
    if weight is None or weight <= Weight.zero():
        raise BadValue(
            "Weight: a tare without a weight takes nothing off; weigh the unused, dry packing, tray"
            f" and pad, film and label together ({rule_row(TARE_RULE).rule_id}).", where="weight",
        )  # fmt: skip
    if weight.unit is not unit:
        raise BadValue(f"Weight: the shop's scale weighs in {unit}; give the tare in {unit}.",
                       where="weight")  # fmt: skip
    if weight > _HEAVIEST:
        raise BadValue(f"Weight: {weight.text()} is no packing of a pack; weigh it again.",
                       where="weight")  # fmt: skip
    known = _known(act.conn, plain)
    _write(act, known.name if known else plain, weight, retired=False)


def retire_tare(act: Act, name: str) -> None:
    """Take a tare off the list; tickets printed with it keep it.

    Raises
    ------
    NotFound
        If it is not on the list.
    """
    found = standing_tare(act.conn, name)
    _write(act, found.name, found.weight, retired=True)


def _write(act: Act, name: str, weight: Weight, *, retired: bool) -> None:
    act.conn.execute(
        insert(tares).values(
            name=name, weight=weight.count, unit=weight.unit.value, retired=retired, at=act.at,
            by_id=act.by, key=act.key,
        )
    )  # fmt: skip
