"""How a line is written in the Day Book: once, by somebody, never edited, at most corrected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import insert, select

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Temperature
from collop.shop.acts import Act
from collop.shop.day_model import Told, both_scales
from collop.shop.day_places import words_in
from collop.shop.day_tables import day_checks
from collop.shop.kept_away import done_before
from collop.shop.store import AnyRow

__all__ = [
    "OLDEST_ENTRY", "NewLine", "corrected", "done_when", "line_number", "line_row", "sane",
    "write_line",
]  # fmt: skip

#: A thing done longer ago than this is not written any more: ours.
OLDEST_ENTRY = timedelta(days=7)
_COLDEST, _WARMEST = Temperature.celsius(-60), Temperature.celsius(120)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLine:
    """A line about to be written.

    Parameters
    ----------
    kind, subject : str
        Kind of check, and the thing it is of.
    fields : mapping
        All that was told of it, as it is kept.
    is_over : bool
        Whether it is over its limit.
    reading : Temperature, optional
        As read.
    needs : str
        Why it is asked what was done and who was told; empty if it is not.
    """

    kind: str
    subject: str
    fields: Mapping[str, Any]
    is_over: bool
    reading: Temperature | None = None
    needs: str = ""


def done_when(act: Act, done_at: datetime | None) -> datetime:
    """Return when a thing was done: as told, else when a device kept it, else now.

    Raises
    ------
    BadValue
        If it lies ahead, has a zone, or is over seven days ago.
    """
    if done_at is None:
        return done_before(act.at) or act.at
    if done_at.tzinfo is not None:
        raise BadValue("Done at: give shop time, without a zone.", where="done_at")
    if done_at > act.at:
        raise BadValue(
            f"Done at: {done_at:%a %-d %b %H:%M} lies ahead; it is {act.at:%a %-d %b %H:%M} now.",
            where="done_at",
        )
    if act.at - done_at > OLDEST_ENTRY:
        raise BadValue(
            f"Done at: {done_at:%a %-d %b %H:%M} is over {OLDEST_ENTRY.days} days ago; "
            "keep the paper and leave the gap.",
            where="done_at",
        )
    return done_at.replace(microsecond=0)


def line_number(line_id: str) -> int:
    """Return the row of a check from its id, such as ``D12``.

    Raises
    ------
    NotFound
        If it is no such id.
    """
    digits = str(line_id)[1:]
    if str(line_id)[:1] not in {"D", "d"} or not (digits.isascii() and digits.isdigit()):
        raise NotFound(f"There is no line {str(line_id)[:20]!r} that can be corrected; a line is "
                       "called like D12.", where="line")  # fmt: skip
    return min(int(digits[:18]), 2**62)


def line_row(act: Act, number: int) -> AnyRow:
    """Return the row of a line, or raise `NotFound`."""
    row = act.conn.execute(select(day_checks).where(day_checks.c.seq == number)).first()
    if row is None:
        raise NotFound(f"There is no line D{number} in the Day Book.", where="line")
    return row


def corrected(act: Act, number: int, kind: str) -> AnyRow:
    """Return the line that is corrected, or say why it cannot be.

    Raises
    ------
    BadValue, NotFound, WrongState
        If it is of another kind, does not stand, or there is none.
    """
    row = line_row(act, number)
    later = act.conn.scalar(select(day_checks.c.seq).where(day_checks.c.corrects == number))
    if later is not None:
        raise WrongState(f"D{number} was corrected by D{later} already; correct that one.")
    if row.kind == "note" or row.fields.get("void"):
        raise WrongState(f"D{number} is no reading; write a new line.")
    if row.kind != kind:
        raise BadValue(f"D{number} is another kind of line; take it back, then write a new one.",
                       where="corrects")  # fmt: skip
    return row


def _told(told: Told, new: NewLine) -> tuple[str, str, dict[str, str]]:
    """Return action, told, and the further words; ask for them where the line is over."""
    action = words_in(told.action, "What was done", 400, where="action", least=0)
    who = words_in(told.told, "Who was told", 80, where="told", least=0)
    if new.needs:
        if not action:
            raise BadValue(f"{new.needs}: say what was done about it, and who was told.",
                           where="action")  # fmt: skip
        if not who:
            raise BadValue(f"{new.needs}: say who was told.", where="told")
    more = {
        "why": words_in(told.why, "Why", 200, where="why", least=0),
        "paper": words_in(told.paper, "Sheet and line", 60, where="paper", least=0),
    }
    return action, who, {key: text for key, text in more.items() if text}


def write_line(
    act: Act, new: NewLine, told: Told, *, done_at: datetime | None, corrects: int | None
) -> str:
    """Write a line; return its id.

    Parameters
    ----------
    act : Act
        The write.
    new : NewLine
        What is written.
    told : Told
        What was done and who was told; asked for where `new` needs it.
    done_at : datetime or None
        When it was done; None for now, or for the time of the line it corrects.
    corrects : int or None
        Row of that line.

    Raises
    ------
    BadValue, NotFound, WrongState
        If a field is out of its range or missing, or that line cannot be corrected.
    """
    action, who, more = _told(told, new)
    before = None
    if corrects is not None:
        before = corrected(act, corrects, new.kind)
        words_in(told.why, "Why it is corrected", 200, where="why")
    when = done_when(act, done_at)
    if before is not None and done_at is None and not new.fields.get("void"):
        when = before.done_at
    result = act.conn.execute(insert(day_checks).values(
        kind=new.kind, subject=new.subject, fields={**new.fields, **more}, is_over=new.is_over,
        reading=None if new.reading is None else new.reading.count, action=action, told=who,
        done_at=when, corrects=corrects, at=act.at, by_id=act.by, key=act.key,
    ))  # fmt: skip
    key = result.inserted_primary_key
    assert key is not None
    return f"D{key[0]}"


def sane(reading: Temperature) -> Temperature:
    """Return a reading, or raise `BadValue` if no kitchen is that cold or warm."""
    if not _COLDEST <= reading <= _WARMEST:
        raise BadValue(
            f"A reading of {both_scales(reading)} is none of a kitchen; look at °F and °C.",
            where="reading",
        )
    return reading
