"""Lines of the Day Book, read back: checks, clean-downs, animals at the door and mince lots."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import and_, func, or_, select
from sqlalchemy.engine import Connection

from collop.measures import Temperature, TemperatureDifference, Weight, WeightUnit
from collop.reference.rulebook import rule_row
from collop.rules.weighing_scale import weight_text
from collop.shop.bench_tables import clean_downs
from collop.shop.clean_downs import TAKEN_BACK
from collop.shop.day_checks import ICE_POINT
from collop.shop.day_model import DayLine, both_scales
from collop.shop.day_tables import day_checks, makings, rule_choices
from collop.shop.knife_tables import deliveries
from collop.shop.receiving import cold_limit
from collop.shop.store import AnyRow

__all__ = ["check_lines", "day_lines", "first_written", "last_done", "one_line"]

# a clock that is set right by seconds is no clock set back
_CLOCK_DRIFT = timedelta(minutes=1)
_later = day_checks.alias("later")
_QUERY = select(day_checks, _later.c.seq.label("later")).outerjoin(
    _later, _later.c.corrects == day_checks.c.seq
)


def _weight(kept: list[Any]) -> Weight:
    return Weight(kept[0], WeightUnit(kept[1]))


def _cold(row: AnyRow, fields: Mapping[str, Any]) -> dict[str, Any]:
    said = both_scales(Temperature(row.reading))
    if fields["place"] == "room":
        return {"said": f"{said}; clean down every {fields['hours']} h at most",
                "limit": ""}  # fmt: skip
    return {"said": said, "limit": f"{both_scales(Temperature(fields['limit']))} or below"}


def _probe(row: AnyRow, fields: Mapping[str, Any]) -> dict[str, Any]:
    degrees = TemperatureDifference(fields["allowed"]).in_fahrenheit_degrees(0)
    return {
        "said": f"{both_scales(Temperature(row.reading))} in melting ice",
        "limit": f"{both_scales(ICE_POINT)}, {degrees} °F either way",
    }


def _scale(_row: AnyRow, fields: Mapping[str, Any]) -> dict[str, Any]:
    test, reading = _weight(fields["test"]), _weight(fields["reading"])
    return {
        "said": f"{weight_text(reading)} of a test weight of {weight_text(test)}, in steps of "
        f"{weight_text(_weight(fields['division']))}",
        "limit": f"{weight_text(_weight(fields['allowed']))} either way",
    }


def _cooling(row: AnyRow, fields: Mapping[str, Any]) -> dict[str, Any]:
    by = datetime.fromisoformat(fields["cool_by"])
    said = f"{both_scales(Temperature(row.reading))}; to be cold by {by:%a %-d %b %H:%M}"
    return {
        "said": f"{said}, still warm" if fields["warm"] else f"{said}, is cold", "is_cooling": True,
        "is_warm": fields["warm"], "limit": f"{both_scales(Temperature(fields['limit']))} or below",
    }  # fmt: skip


def _receive(row: AnyRow, fields: Mapping[str, Any]) -> dict[str, Any]:
    if fields.get("cooling"):
        return _cooling(row, fields)
    parts = [f"from {fields['supplier']}"]
    if fields["establishment"]:
        parts.append(f"establishment {fields['establishment']}")
    if fields["lot"]:
        parts.append(f"lot {fields['lot']}")
    if fields["weight"]:
        parts.append(weight_text(_weight(fields["weight"])))
    if row.reading is not None:
        parts.append(both_scales(Temperature(row.reading)))
    if fields["keeps"] == "frozen":
        parts.append("frozen solid" if fields["frozen_solid"] else "not frozen solid")
    if fields["is_meat"]:
        parts.append("with its mark" if fields["mark"] else "without a mark")
    end = "taken in"
    if fields["faults"]:
        end = f"not taken in: {' and '.join(fields['faults'])}"
    limits = {"chilled": f"{both_scales(Temperature(fields['limit']))} or below",
              "frozen": "frozen solid", "dry": ""}  # fmt: skip
    return {"said": f"{', '.join(parts)}; {end}", "limit": limits[fields["keeps"]]}


_SAID: Mapping[str, Callable[[AnyRow, Mapping[str, Any]], dict[str, Any]]] = {
    "cold": _cold, "probe": _probe, "scale": _scale, "receive": _receive,
    "note": lambda _row, fields: {"said": fields["said"], "limit": ""},
}  # fmt: skip


def _check(row: AnyRow) -> DayLine:
    fields = row.fields
    void = bool(fields.get("void"))
    told: dict[str, Any] = (
        {"said": "taken back: never so", "limit": ""} if void else _SAID[row.kind](row, fields)
    )
    words = [fields.get("why", ""), f"from paper: {fields['paper']}" if "paper" in fields else ""]
    return DayLine(
        id=f"D{row.seq}", tile=row.kind, subject=row.subject,
        name=fields.get("name", "The book"), done_at=row.done_at, at=row.at, by=row.by_id,
        reading=None if row.reading is None else Temperature(row.reading),
        source=fields.get("source", ""), is_over=row.is_over, is_void=void, action=row.action,
        told=row.told, words="; ".join(one for one in words if one),
        corrects="" if row.corrects is None else f"D{row.corrects}",
        corrected_by="" if row.later is None else f"D{row.later}", **told,
    )  # fmt: skip


def check_lines(
    conn: Connection, since: datetime, until: datetime, *, kind: str = ""
) -> list[DayLine]:
    """Return the checks done or written from `since` until before `until`, by their time.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    since, until : datetime
        Shop-local.
    kind : str
        Only of one kind; empty for all.
    """
    column = day_checks.c
    within = or_(
        and_(column.done_at >= since, column.done_at < until),
        and_(column.at >= since, column.at < until),
    )
    query = _QUERY.where(within)
    if kind:
        query = query.where(column.kind == kind)
    rows = conn.execute(query.order_by(column.done_at, column.seq))
    return [_check(row) for row in rows]


def _clock_words(conn: Connection) -> dict[str, str]:
    """Return what is said of the checks that bear an earlier time than one written before them."""
    column = day_checks.c
    newest = func.max(column.at).over(order_by=column.seq, rows=(None, -1)).label("newest")
    every = select(column.seq, column.at, newest).subquery()
    rows = conn.execute(select(every).where(every.c.at < every.c.newest))
    return {
        f"D{row.seq}": f"the clock was set back: a line before it says {row.newest:%a %-d %b %H:%M}"
        for row in rows if row.newest - row.at > _CLOCK_DRIFT
    }  # fmt: skip


def _with_clock(lines: Iterable[DayLine], said: Mapping[str, str]) -> Iterator[DayLine]:
    for line in lines:
        extra = said.get(line.id)
        yield replace(line, words="; ".join(filter(None, (line.words, extra)))) if extra else line


def first_written(lines: Iterable[DayLine]) -> dict[str, datetime]:
    """Return when each line, or the first of those it corrects, was written."""
    by_id = {line.id: line for line in lines}
    found = {}
    for line in by_id.values():
        first = line
        while first.corrects in by_id:
            first = by_id[first.corrects]
        found[line.id] = first.at
    return found


def one_line(conn: Connection, number: int) -> DayLine | None:
    """Return one check by its row, None if there is none."""
    row = conn.execute(_QUERY.where(day_checks.c.seq == number)).first()
    return None if row is None else _check(row)


def last_done(conn: Connection, kind: str) -> datetime | None:
    """Return when the newest check of a kind that stands was done, None if there is none."""
    query = _QUERY.where(day_checks.c.kind == kind, _later.c.seq.is_(None))
    rows = conn.execute(query.order_by(day_checks.c.done_at.desc(), day_checks.c.seq.desc()))
    return next((line.done_at for line in map(_check, rows) if line.stands), None)


def _clean_lines(conn: Connection, since: datetime, until: datetime) -> Iterator[DayLine]:
    query = select(clean_downs).where(clean_downs.c.at >= since)
    backs: list[AnyRow] = []
    source = rule_row("SF070").citation()
    for row in conn.execute(query.order_by(clean_downs.c.seq.desc())):
        if row.what == TAKEN_BACK:
            backs.append(row)
            continue
        back = backs.pop() if backs else None
        done = row.done_at or row.at
        if not (since <= done < until or since <= row.at < until):
            continue
        room = "" if row.room is None else f", room at {both_scales(Temperature(row.room))}"
        yield DayLine(
            id=f"C{row.seq}", tile="clean", subject=row.what, name=row.what.capitalize(),
            said=f"stripped, washed, sanitised{room}", done_at=done, at=row.at, by=row.by_id,
            source=source, words=row.words or "",
            corrected_by="" if back is None else f"C{back.seq}",
        )  # fmt: skip
        if back is not None:
            yield DayLine(
                id=f"C{back.seq}", tile="clean", subject=row.what, name=row.what.capitalize(),
                said="taken back: never so", done_at=back.at, at=back.at, by=back.by_id,
                is_void=True, corrects=f"C{row.seq}",
            )  # fmt: skip


def _door_lines(conn: Connection, since: datetime, until: datetime) -> Iterator[DayLine]:
    source = rule_row("SF001").citation()
    choices = list(conn.execute(select(rule_choices).order_by(rule_choices.c.seq)))
    query = select(deliveries).where(deliveries.c.at >= since, deliveries.c.at < until)
    for row in conn.execute(query.order_by(deliveries.c.number)):
        parts = [f"{row.species} from {row.farm}"]
        if row.establishment:
            parts.append(f"establishment {row.establishment}")
        parts.append(weight_text(Weight(row.weighed, WeightUnit(row.unit))))
        reading = None if row.temperature is None else Temperature(row.temperature)
        parts.append("not measured" if reading is None else both_scales(reading))
        if row.cool_by:
            parts.append(f"to be cold by {row.cool_by:%a %-d %b %H:%M}")
        if row.papers_missing:
            parts.append(f"papers missing: {', '.join(row.papers_missing)}")
        # as it was chosen then: what is chosen later changes no line
        limit = cold_limit({one.name: one.value for one in choices if one.at <= row.at})
        over = reading is not None and reading > limit
        yield DayLine(
            id=f"R{row.number}", tile="receive", subject=row.lot_id, name=row.lot_id,
            said=f"{', '.join(parts)}; taken in", done_at=row.at, at=row.at, by=row.by_id,
            reading=reading, limit=f"{both_scales(limit)} or below", source=source, is_over=over,
            action="arrived warm as the law allows, to be cooled" if over else "", words=row.note,
        )  # fmt: skip


def _mince_lines(conn: Connection, since: datetime, until: datetime) -> Iterator[DayLine]:
    query = select(makings).where(makings.c.done_at >= since, makings.c.done_at < until)
    for row in conn.execute(query.order_by(makings.c.number)):
        yield DayLine(
            id=f"M{row.number}", tile="mince", subject=row.code, name=row.code,
            said=f"{row.name}, {row.species}; {'begun' if row.kind == 'mince' else 'made'}",
            done_at=row.done_at, at=row.at, by=row.by_id,
        )  # fmt: skip


def day_lines(conn: Connection, since: datetime, until: datetime) -> list[DayLine]:
    """Return every line done or written from `since` until before `until`, by its time.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    since, until : datetime
        Shop-local.
    """
    found = [
        *_with_clock(check_lines(conn, since, until), _clock_words(conn)),
        *_clean_lines(conn, since, until), *_door_lines(conn, since, until),
        *_mince_lines(conn, since, until),
    ]  # fmt: skip
    return sorted(found, key=lambda line: (line.done_at, line.at, line.id))
