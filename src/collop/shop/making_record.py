"""One mince lot or batch as it stands: lines, mass, record, cautions; and as JSON and CSV."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, exists, select
from sqlalchemy.engine import Connection

from collop.measures import Weight
from collop.shop.clean_downs import clean_due
from collop.shop.day_tables import making_events, making_parts, makings
from collop.shop.making_lots_cleaning import Cleaning, cleanings, ending
from collop.shop.making_lots_state import is_closed
from collop.shop.making_model import BATCH, MINCE, Making, MakingState
from collop.shop.making_record_fields import batch_fields, grind_fields, kept_through
from collop.shop.making_record_lines import (
    load_events,
    load_mass,
    load_materials,
    load_outputs,
)
from collop.shop.model import Settings
from collop.shop.rule_choices import load_rule_choices
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines

__all__ = ["as_json", "as_rows", "load_making", "load_makings"]

_MANY_SOURCES = 3
_LOOK_BACK = 20
_MOST_OPEN = 100


def load_makings(
    conn: Connection, now: datetime, chosen: Settings, kind: str, most: int
) -> tuple[Making, ...]:
    """Return the newest makings of a kind, and on top all that are not closed, however old."""
    query = select(makings).where(makings.c.kind == kind).order_by(makings.c.number.desc())
    rows = {row.number: row for row in conn.execute(query.limit(most))}
    open_rows = conn.execute(query.where(_not_closed()).limit(_MOST_OPEN))
    rows |= {row.number: row for row in open_rows}
    rules = load_rule_choices(conn)
    found = [load_making(conn, row, now, chosen, rules) for row in rows.values()]
    return tuple(sorted(found, key=lambda one: (one.state is MakingState.CLOSED, -one.number)))


def _not_closed() -> ColumnElement[bool]:
    """Return the condition that no closing of a making stands."""
    end, back = making_events.alias("end"), making_events.alias("back")
    undone = exists().where(
        back.c.making_number == end.c.making_number, back.c.what == "taken back",
        back.c.fields["takes_back"].as_integer() == end.c.seq,
    )  # fmt: skip
    return ~exists().where(end.c.making_number == makings.c.number, end.c.what == "ended", ~undone)


def load_making(
    conn: Connection, row: AnyRow, now: datetime, chosen: Settings,
    rules: Mapping[str, str] | None = None,
) -> Making:  # fmt: skip
    """Return one making with its record; `rules` are the shop's choices, if read already."""
    machine = row.fields.get("machine", "")
    found = cleanings(conn, machine, row.kind, around=row.done_at)
    end = ending(found, row) if row.kind == MINCE else None
    events = load_events(conn, row.number)
    outputs = load_outputs(conn, row)
    materials = load_materials(conn, row)
    contains = {word for one in materials if not one.taken_back for word in one.contains or ()}
    making = Making(
        number=row.number, code=row.code, kind=row.kind, name=row.name, species=row.species,
        machine=machine, case_id=row.case_id, state=_state(conn, row, end), done_at=row.done_at,
        at=row.at, by=row.by_id, cleaned_before=_before(found, row),
        cleaned_after=None if end is None else end.at, materials=materials, events=events,
        outputs=outputs, mass=load_mass(conn, row, outputs, events),
        contains=tuple(sorted(contains)),
    )  # fmt: skip
    fields = grind_fields(making) if row.kind == MINCE else batch_fields(making)
    kept = kept_through(making, load_rule_choices(conn) if rules is None else rules)
    making = replace(making, fields=fields, keep_until=kept)
    return replace(making, cautions=tuple(_cautions(conn, making, row, now, chosen)))


def _state(conn: Connection, row: AnyRow, end: Cleaning | None) -> MakingState:
    if is_closed(conn, row):
        return MakingState.CLOSED
    return MakingState.OPEN if end is None else MakingState.ENDED


def _before(found: Sequence[Cleaning], row: AnyRow) -> datetime | None:
    """Return the clean-down a making began after; None if it was taken back since."""
    return next((one.at for one in found if one.seq == row.after_clean), None)


def _cautions(
    conn: Connection, making: Making, row: AnyRow, now: datetime, chosen: Settings
) -> list[str]:
    if making.kind == BATCH:
        return _order_cautions(conn, making, row)
    said = []
    if making.cleaned_before is None:
        said.append(
            "The clean-down it began after was taken back: with the lot before it, it may be one"
            " lot."
        )
    elif making.state is MakingState.OPEN:
        due = clean_due(conn, now, chosen)
        if making.cleaned_before + timedelta(minutes=int(due.hours * 60)) < now:
            said.append(f"{making.machine} is due to be cleaned down: over {due.hours:f} h since"
                        f" the last ({due.source}).")  # fmt: skip
    if making.state is MakingState.ENDED and making.mass.left.count:
        said.append(f"{making.mass.left.text()} is not accounted for: say what went on to the next"
                    " lot, and what was lost.")  # fmt: skip
    said.extend(_after_the_end(making))
    if making.state is MakingState.OPEN:
        said.extend(_waiting_before(conn, making, row))
    count = len({tag for one in making.standing for tag in one.tags or (one.lot_id,)})
    if count >= _MANY_SOURCES and making.state is MakingState.OPEN:
        said.append(f"{count} sources are in this lot: a recall of one takes all of it. Clean down"
                    " and begin a new lot to keep them apart.")  # fmt: skip
    return said


def _after_the_end(making: Making) -> list[str]:
    """Return that lines are told to have been done after the clean-down that ended the lot."""
    end = making.cleaned_after
    times = [one.done_at for one in making.standing]
    times += [one.done_at for one in making.events if one.what == "produced" and not one.taken_back]
    late = [] if end is None else [one for one in times if one > end]
    if end is None or not late:
        return []
    words = f"Lines of {min(late):%H:%M} or later are told, after the clean-down of {end:%H:%M}"
    return [f"{words} that ended it: look at the times."]


def _waiting_before(conn: Connection, making: Making, row: AnyRow) -> list[str]:
    """Return what the lot before on the same grinder left for this one and is not in it."""
    query = select(makings).where(
        makings.c.kind == MINCE, makings.c.number != row.number, makings.c.done_at <= row.done_at
    )
    newest = query.order_by(makings.c.done_at.desc(), makings.c.number.desc())
    rows = conn.execute(newest.limit(_LOOK_BACK))
    before = next((one for one in rows if one.fields.get("machine") == making.machine), None)
    if before is None:
        return []
    events, outputs = load_events(conn, before.number), load_outputs(conn, before)
    waiting = load_mass(conn, before, outputs, events).waiting
    if not waiting:
        return []
    words = f"{waiting.text()} of {before.code} was left for the next lot"
    return [f"{words}: put it in, or tell there what became of it."]


def _order_cautions(conn: Connection, making: Making, row: AnyRow) -> list[str]:
    """Return what batches before left of allergens that this one does not declare (SF098)."""
    declared = conn.scalar(select(case_lines.c.contains).where(case_lines.c.id == row.case_id))
    found = cleanings(conn, making.machine, BATCH, around=row.done_at)
    begun = (row.done_at, row.after_clean or 0)
    last = next((one.at for one in reversed(found) if (one.at, one.seq) <= begun), None)
    query = select(makings.c.code, making_parts.c.contains).join(
        making_parts, making_parts.c.making_number == makings.c.number
    ).where(makings.c.kind == BATCH, makings.c.number != row.number,
            makings.c.done_at <= row.done_at)  # fmt: skip
    if last is not None:
        query = query.where(makings.c.done_at >= last)
    by_code: dict[str, set[str]] = {}
    for before in conn.execute(query.order_by(makings.c.number)):
        if before.contains:
            more = set(before.contains) - set(declared or ()) - set(making.contains)
            by_code.setdefault(before.code, set()).update(more)
    return [
        f"{code} with {', '.join(sorted(words))} was made before, and no clean-down stands between:"
        " clean the stuffer and bowl, or make it first next time (good practice, from memory, not"
        " checked: SF098)."
        for code, words in by_code.items()
        if words
    ]


def _weight(weight: Weight | None) -> str | None:
    return None if weight is None else str(weight.decimal(weight.unit, 3))


def _time(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat(timespec="minutes")


def as_json(making: Making) -> dict[str, Any]:
    """Return a making as JSON; weights are decimal strings in `unit`."""
    mass = making.mass
    return {
        "schema": "collop.making/1", "code": making.code, "kind": making.kind, "name": making.name,
        "species": making.species, "machine": making.machine, "case_id": making.case_id,
        "state": making.state.value, "begun": _time(making.done_at), "written": _time(making.at),
        "late": making.is_late, "by": making.by, "cleaned_before": _time(making.cleaned_before),
        "cleaned_after": _time(making.cleaned_after), "unit": mass.came_in.unit.value,
        "materials": [_material_json(one) for one in making.materials],
        "outputs": [
            {"lot": one.lot_id, "what": one.what, "weight": _weight(one.weight), "into": one.into,
             "use_by": None if one.use_by is None else one.use_by.isoformat()}
            for one in making.outputs
        ],
        "mass": {name: _weight(getattr(mass, name)) for name in
                 ("came_in", "out", "carried", "waiting", "lost", "elsewhere", "left")},
        "record": [
            {"rule": one.rule_id or None, "field": one.name, "told": list(one.told),
             "missing": list(one.missing), "source": one.source, "status": one.status}
            for one in making.fields
        ],
        "contains": list(making.contains), "missing": list(making.missing),
        "cautions": list(making.cautions),
        "keep_until": None if making.keep_until is None else making.keep_until.isoformat(),
    }  # fmt: skip


def _material_json(one: Any) -> dict[str, Any]:  # noqa: ANN401
    return {
        "kind": one.kind, "what": one.what, "lot": one.lot_id, "carry_over_of": one.carry_over_of,
        "weight": _weight(one.weight), "animals": list(one.tags), "farms": list(one.farms),
        "establishments": list(one.establishments), "supplier_lots": list(one.lots),
        "dates": [day.isoformat() for day in one.dates],
        "contains": None if one.contains is None else list(one.contains),
        "missing": list(one.missing), "put_in": _time(one.done_at), "written": _time(one.at),
        "late": one.is_late, "by": one.by, "taken_back": one.taken_back,
    }  # fmt: skip


def as_rows(making: Making, names: dict[str, str]) -> list[list[str]]:
    """Return a record as rows for a table: field, what is told, what is missing, source."""
    about = [
        ["code", making.code, "", ""], ["name", making.name, "", ""],
        ["species", making.species, "", ""], ["state", making.state_words, "", ""],
        ["begun", _time(making.done_at) or "", "", ""],
        ["written", _time(making.at) or "", "", ""],
        ["by", names.get(making.by or "", ""), "", ""],
    ]  # fmt: skip
    record = [
        [one.name, "; ".join(one.told), "; ".join(one.missing), one.cited] for one in making.fields
    ]
    lines = [
        [f"material: {one.what}", _weight(one.weight) or "", one.carry_over_of or one.lot_id or "",
         "taken back" if one.taken_back else ""]
        for one in making.materials
    ]  # fmt: skip
    made = [[f"made: {one.what}", _weight(one.weight) or "", one.lot_id, one.into]
            for one in making.outputs]  # fmt: skip
    mass = [
        [f"weight {name.replace('_', ' ')}", _weight(getattr(making.mass, name)) or "", "",
         making.mass.came_in.unit.value]
        for name in ("came_in", "out", "carried", "lost", "elsewhere", "left")
    ]  # fmt: skip
    kept = "" if making.keep_until is None else making.keep_until.isoformat()
    return [["field", "told", "missing", "source"], *about, *record, *lines, *made, *mass,
            ["keep until", kept, "", "TR017"]]  # fmt: skip
