"""Animals that came warm, as the law allows: when each was cold, and whether in time.

Meat received above 41 degF because a law allows it is cooled to 41 degF within 4 hours [1]_. The
hour stands with the delivery; a further line of the Day Book says what the meat was read at. Until
one says that it is cold, the book asks; what was not shown in time is a gap, and stays one.

References
----------
.. [1] Wisconsin Food Code 3-501.14(C). Source id ``WI501_14``, row SF002.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import Temperature
from collop.reference.rulebook import rule_row
from collop.rules.limits import receiving_limit
from collop.shop.acts import Act
from collop.shop.day_checks_lines import check_lines, first_written
from collop.shop.day_model import LATE_AFTER, DayGap, DayLine, DayTile, Told, both_scales
from collop.shop.day_writing import (
    OLDEST_ENTRY,
    NewLine,
    corrected,
    done_when,
    sane,
    write_line,
)
from collop.shop.knife_tables import deliveries
from collop.shop.receiving import COOL_WITHIN
from collop.shop.rule_choices import load_rule_choices

__all__ = ["Warm", "check_cooled", "cooling_gaps", "load_warm", "to_cool", "warm_tile"]


@dataclass(frozen=True, slots=True)
class Warm:
    """An animal that came warm.

    Parameters
    ----------
    tag : str
        Of the animal.
    came, cool_by : datetime
        When it came, and until when it must be cold.
    lines : tuple of DayLine
        What it was read at since, lines that do not count left out, oldest first.
    written : tuple of datetime
        When each of them, or the first of those it corrects, was written.
    """

    tag: str
    came: datetime
    cool_by: datetime
    lines: tuple[DayLine, ...]
    written: tuple[datetime, ...]

    @property
    def is_cold(self) -> bool:
        """Tell whether a line says that it is cold."""
        return any(not _is_warm(line) for line in self.lines)


def _is_warm(line: DayLine) -> bool:
    return line.is_over or line.is_warm


def load_warm(conn: Connection, since: datetime, until: datetime) -> list[Warm]:
    """Return the animals to be cooled from `since` until before `until`, by their hour."""
    query = (
        select(deliveries.c.lot_id, deliveries.c.cool_by)
        .where(deliveries.c.cool_by >= since, deliveries.c.cool_by < until)
        .order_by(deliveries.c.cool_by, deliveries.c.number)
    )
    rows = list(conn.execute(query))
    if not rows:
        return []
    # a reading is written within days of the hour, or never
    last = rows[-1].cool_by + 2 * OLDEST_ENTRY
    lines = [line for line in check_lines(conn, rows[0].cool_by - COOL_WITHIN, last, kind="receive")
             if line.is_cooling]  # fmt: skip
    written = first_written(lines)
    found = []
    for row in rows:
        its = [line for line in lines if line.subject == row.lot_id and line.stands]
        found.append(Warm(row.lot_id, row.cool_by - COOL_WITHIN, row.cool_by, tuple(its),
                          tuple(written[line.id] for line in its)))  # fmt: skip
    return found


def check_cooled(
    act: Act, tag: str, reading: Temperature, told: Told, *,
    done_at: datetime | None = None, corrects: int | None = None,
) -> str:  # fmt: skip
    """Write what an animal that came warm was read at; return the line's id.

    Parameters
    ----------
    act : Act
        The write.
    tag : str
        Of the animal.
    reading : Temperature
        In the middle of the meat.
    told : Told
        Needed where it is still warm after its hour.
    done_at, corrects : datetime, int, optional
        As of `collop.shop.day_checks.check_cold`.

    Raises
    ------
    BadValue
        If it is warm after its hour and nothing was done or nobody told, or a field is out of its
        range.
    NotFound
        If no animal of that tag came warm.
    """
    row = act.conn.execute(
        select(deliveries.c.lot_id, deliveries.c.cool_by).where(
            deliveries.c.lot_id == tag, deliveries.c.cool_by.is_not(None)
        )
    ).first()
    if row is None:
        raise NotFound(f"No animal {str(tag)[:40]!r} came warm; look under Receive.", where="tag")
    sane(reading)
    when = done_when(act, done_at)
    if corrects is not None:
        before = corrected(act, corrects, "receive")
        if before.subject != tag or not before.fields.get("cooling"):
            raise BadValue("The line before is of something else; take it back, then write a new "
                           "one.", where="corrects")  # fmt: skip
        when = when if done_at is not None else before.done_at
    came = row.cool_by - COOL_WITHIN
    if when < came:
        raise BadValue(f"Done at: {tag} came at {came:%a %-d %b %H:%M}; give a later time.",
                       where="done_at")  # fmt: skip
    limit = receiving_limit(load_rule_choices(act.conn)).temperature
    is_warm = reading > limit
    is_over = is_warm and when > row.cool_by
    fields = {
        "name": row.lot_id, "cooling": True, "warm": is_warm, "limit": limit.count,
        "cool_by": row.cool_by.isoformat(), "source": rule_row("SF002").citation(),
    }  # fmt: skip
    needs = ""
    if is_over:
        needs = (f"{tag} is at {both_scales(reading)} and was to be at {both_scales(limit)} by "
                 f"{row.cool_by:%a %-d %b %H:%M}")  # fmt: skip
    new = NewLine(kind="receive", subject=row.lot_id, fields=fields, is_over=is_over,
                  reading=reading, needs=needs)  # fmt: skip
    return write_line(act, new, told, done_at=done_at, corrects=corrects)


def cooling_gaps(conn: Connection, span: tuple[date, date], now: datetime) -> list[DayGap]:
    """Return the animals whose hour lies in `span` and past, and that were not shown cold by it."""
    since = datetime.combine(span[0], time())
    until = min(datetime.combine(span[1], time()) + timedelta(days=1), now)
    gaps = (_gap(one) for one in load_warm(conn, since, until))
    return [gap for gap in gaps if gap is not None]


def _gap(one: Warm) -> DayGap | None:
    cold = [(line, at) for line, at in zip(one.lines, one.written, strict=True)
            if not _is_warm(line)]  # fmt: skip
    in_time = [(line, at) for line, at in cold if line.done_at <= one.cool_by]
    if any(at <= one.cool_by + LATE_AFTER for _, at in in_time):
        return None
    line, words = None, "not shown to be cold by its hour"
    if in_time:
        line = in_time[0][0]
        words = f"not written in its time; entered {line.at:%a %-d %b %H:%M} as a late entry"
    elif cold:
        line = cold[0][0]
        words = f"first shown to be cold at {line.done_at:%a %-d %b %H:%M}, after its hour"
    return DayGap("receive", one.tag, one.cool_by, words, line)


def to_cool(found: Iterable[Warm]) -> list[Warm]:
    """Return the animals of which no line says yet that they are cold."""
    return [one for one in found if not one.is_cold]


def warm_tile(conn: Connection, now: datetime) -> DayTile | None:
    """Return what the tile of the door says of animals to be cooled, None if there is none.

    An animal is asked for a week; then it stays a gap.
    """
    warm = to_cool(load_warm(conn, now - OLDEST_ENTRY, now + OLDEST_ENTRY))
    if not warm:
        return None
    first = warm[0]
    more = f" and {len(warm) - 1} more" if len(warm) > 1 else ""
    words = f"write when {first.tag}{more} is cold; it came warm"
    return DayTile("receive", "Receive", "late" if first.cool_by < now else "due", first.cool_by,
                   words)  # fmt: skip
