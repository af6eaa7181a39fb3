"""Beginning a mince lot or a batch: its code, its lot in the ledger, its first material."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.rules import lot_code
from collop.shop.acts import Act
from collop.shop.day_tables import makings
from collop.shop.lots import NewLot, make_lot
from collop.shop.making_lots_cleaning import cleanings, last_before, must_be_clean
from collop.shop.making_lots_state import checked_weight, checked_words, making_row, told_moment
from collop.shop.making_model import BATCH, MINCE, NewMaterial
from collop.shop.making_parts import put_in
from collop.shop.tables import case_lines, lots

__all__ = ["Begun", "begin"]

BATCH_MACHINE = "B"
_MACHINE = re.compile(r"[A-Z][A-Z0-9]{0,5}")
_MOST_NAME = 120


@dataclass(frozen=True, slots=True)
class Begun:
    """What a making begins with: `case_id` and `machine` are a batch's and a mince lot's."""

    kind: str
    name: str
    species: str
    machine: str
    case_id: str | None
    first: NewMaterial
    done_at: datetime | None = None


def _next_code(conn: Connection, machine: str, day: datetime) -> str:
    """Return the next lot code of a machine that day; see `collop.rules.lot_code`."""
    start = lot_code(day.date(), machine, 1)[:-2]
    query = select(func.count()).select_from(makings).where(makings.c.code.startswith(start))
    number = int(conn.scalar(query) or 0) + 1
    code = lot_code(day.date(), machine, number)
    # somebody may have written such a name on a tag at the door
    while conn.execute(select(lots.c.id).where(lots.c.id == code)).first():
        number += 1
        code = lot_code(day.date(), machine, number)
    return code


def _checked_begun(act: Act, new: Begun) -> Begun:
    name = checked_words(new.name, "Name", _MOST_NAME, "name", least=1)
    if new.kind == BATCH:
        line = act.conn.execute(select(case_lines).where(case_lines.c.id == new.case_id)).first()
        if line is None:
            raise NotFound(f"There is no case line {str(new.case_id)[:40]!r}.", where="case_id")
        return replace(new, name=name, species=line.species, machine=BATCH_MACHINE)
    machine = new.machine.strip().upper()
    if not _MACHINE.fullmatch(machine) or machine == BATCH_MACHINE:
        raise BadValue("Name the grinder by a letter and figures, such as G1.", where="machine")
    species = checked_words(new.species, "Species", 40, "species", least=1)
    return replace(new, name=name, species=species, machine=machine)


def begin(act: Act, new: Begun) -> str:
    """Begin a mince lot or a batch with its first material; return its code.

    Raises
    ------
    WrongState
        If the grinder must be cleaned down first.
    BadValue
        If a field is out of its range, or the first material has no weight.
    """
    new = _checked_begun(act, new)
    moment = told_moment(act, new.done_at)
    after = None
    if new.kind == MINCE:
        after = must_be_clean(act, new.machine, new.species, moment)
    else:
        after = last_before(cleanings(act.conn, new.machine, BATCH, around=moment), moment)
    weight = checked_weight(new.first.weight, "The first material")
    code = _next_code(act.conn, new.machine, moment)
    kept = NewLot(
        id=code, kind=new.kind, species=new.species, what=new.name, weight=weight, since=moment
    )
    make_lot(act, kept)
    fields: dict[str, Any] = {"machine": new.machine}
    act.conn.execute(
        insert(makings).values(
            code=code, kind=new.kind, lot_id=code, name=new.name, species=new.species,
            case_id=new.case_id, after_clean=None if after is None else after.seq, fields=fields,
            done_at=moment, at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    row = making_row(act.conn, code)
    first = new.first if new.first.done_at else replace(new.first, done_at=moment)
    put_in(act, row, first, is_first=True)
    return code
