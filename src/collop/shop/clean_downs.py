"""Clean-downs of the cutting room: when each was done, and when the next is due.

How long may pass between two is published by how warm the room is
(`collop.reference.cleaning`); the local code comes first, and sooner is always allowed. The room
is as warm as its warmest reading since the last one; where nobody read it, as the settings say.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.measures import Temperature
from collop.reference import cleaning_row, limit_rows
from collop.rules.limits import cleaning_hours
from collop.shop.acts import Act
from collop.shop.bench_list_model import UNDO_WITHIN, CleanDue
from collop.shop.bench_tables import clean_downs
from collop.shop.day_checks import done_when
from collop.shop.day_model import CleanDown, both_scales
from collop.shop.day_places import words_in
from collop.shop.day_tables import cold_places, day_checks
from collop.shop.model import Settings
from collop.shop.rule_choices import load_rule_choices
from collop.shop.store import AnyRow

__all__ = [
    "ROOM", "WHAT", "clean_between", "clean_down", "clean_due", "cook_f", "standing_clean_downs",
    "take_back_clean_down",
]  # fmt: skip

#: What is cleaned if nobody says otherwise: all that touches raw meat.
ROOM = "cutting room"
#: What may be cleaned down: the room with all in it, or one thing.
WHAT = (ROOM, "grinder", "saw", "slicer", "block", "stuffer")
#: Written over a clean-down that was put down by a slip of the hand.
TAKEN_BACK = "taken back"
# two in one minute are one touch that was sent twice
_TWICE = timedelta(minutes=1)
_MOST_NAME = 120
_NEWEST = 40
_COLDEST, _WARMEST = Temperature.fahrenheit(0), Temperature.fahrenheit(120)
# how a piece is cooked, and the row of the retail code that says how far
_COOKED = {"whole": "SF023", "ground": "SF024", "poultry": "SF028"}


def _standing(rows: Iterable[AnyRow]) -> list[AnyRow]:
    """Return the clean-downs that were not taken back, newest first."""
    found: list[AnyRow] = []
    skip = 0
    for row in rows:
        if row.what == TAKEN_BACK:
            skip += 1
        elif skip:
            skip -= 1
        else:
            found.append(row)
    return found


def _newest(conn: Connection) -> list[AnyRow]:
    query = select(clean_downs).order_by(clean_downs.c.seq.desc()).limit(_NEWEST)
    return _standing(conn.execute(query))


def _when(row: AnyRow) -> datetime:
    """Return when a clean-down was done: as told later, else when it was written."""
    done: datetime = row.done_at or row.at
    return done


def standing_clean_downs(
    conn: Connection, since: datetime, until: datetime
) -> tuple[CleanDown, ...]:
    """Return the clean-downs done from `since` to `until`, both included, oldest first.

    Those that were taken back are left out.
    """
    # none is written before it is done
    query = select(clean_downs).where(clean_downs.c.at >= since)
    rows = _standing(conn.execute(query.order_by(clean_downs.c.seq.desc())))
    found = [
        CleanDown(
            seq=row.seq, what=row.what, done_at=_when(row), at=row.at, by=row.by_id,
            room=None if row.room is None else Temperature(row.room), words=row.words or "",
        )
        for row in rows
        if since <= _when(row) <= until
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.done_at, one.seq)))


def _warmest(conn: Connection, last: AnyRow | None, chosen: Settings) -> Temperature:
    """Return how warm the room was at the most since it was cleaned."""
    held = Temperature.fahrenheit(chosen.cut_room_f)
    if last is None:
        return held
    rooms = select(cold_places.c.place_id).where(cold_places.c.kind == "room")
    later = day_checks.alias()
    query = (
        select(func.max(day_checks.c.reading))
        .outerjoin(later, later.c.corrects == day_checks.c.seq)
        .where(
            day_checks.c.kind == "cold", day_checks.c.subject.in_(rooms), later.c.seq.is_(None),
            day_checks.c.done_at >= _when(last),
        )
    )  # fmt: skip
    read = [count for count in (conn.scalar(query), last.room) if count is not None]
    return Temperature(max(read)) if read else held


def clean_due(conn: Connection, now: datetime, chosen: Settings) -> CleanDue:
    """Return when the room was last cleaned down and when the next is due.

    A clean-down of one thing in it, such as the grinder, moves nothing here.
    """
    newest = _newest(conn)
    last = max((row for row in newest if row.what == ROOM), key=_when, default=None)
    room = _warmest(conn, last, chosen)
    hours, row = cleaning_hours(room, load_rule_choices(conn))
    due = None
    if last is not None:
        due = _when(last) + timedelta(minutes=int(hours * 60))
    return CleanDue(
        last=None if last is None else _when(last), by=None if last is None else last.by_id,
        due=due, is_late=due is not None and due < now, hours=hours, room=room,
        source=row.citation(),
        may_take_back=(
            last is not None and last.seq == newest[0].seq and now - last.at <= UNDO_WITHIN
        ),
    )  # fmt: skip


def _is_again(last: AnyRow, name: str, at: datetime) -> bool:
    """Tell whether the last one is the same touch, sent twice."""
    return bool(last.what == name and timedelta(0) <= at - last.at < _TWICE)


def clean_down(
    act: Act, what: str = ROOM, *, done_at: datetime | None = None,
    room: Temperature | None = None, words: str = "",
) -> None:  # fmt: skip
    """Put down that the room, or a thing in it, was stripped, washed and sanitised.

    Parameters
    ----------
    act : Act
        The write.
    what : str
        `ROOM` or one thing in it, 1 to 120 characters.
    done_at : datetime, optional
        When it was done, if not now; then it is a late entry and says both times.
    room : Temperature, optional
        How warm the room was.
    words : str
        The sanitiser and its strength, or what else is to be said.

    Raises
    ------
    BadValue
        If a field is out of its range, or `done_at` lies ahead or over seven days back.
    """
    name = what.strip()
    if not 1 <= len(name) <= _MOST_NAME or name == TAKEN_BACK or not name.isprintable():
        raise BadValue("Say what was cleaned down, in 1 to 120 characters.", where="what")
    if room is not None and not _COLDEST <= room <= _WARMEST:
        raise BadValue(f"A room at {both_scales(room)} is no cutting room; look at °F and °C.",
                       where="room")  # fmt: skip
    said = words_in(words, "Sanitiser", _MOST_NAME, where="words", least=0)
    when = None if done_at is None else done_when(act, done_at)
    last = next(iter(_newest(act.conn)), None)
    is_bare = when is None and room is None and not said
    if is_bare and last is not None and _is_again(last, name, act.at):
        return
    act.conn.execute(insert(clean_downs).values(
        what=name, at=act.at, by_id=act.by, key=act.key, done_at=when,
        room=None if room is None else room.count, words=said or None,
    ))  # fmt: skip


def take_back_clean_down(act: Act) -> None:
    """Take the last clean-down back; both rows stay on record.

    Raises
    ------
    WrongState
        If there is none, or it is over an hour old.
    """
    last = next(iter(_newest(act.conn)), None)
    if last is None:
        raise WrongState("No clean-down is on record, so none can be taken back.")
    if act.at - last.at > UNDO_WITHIN:
        raise WrongState(
            f"The clean-down of {last.at:%H:%M} is over an hour old and stays on record."
        )
    act.conn.execute(
        insert(clean_downs).values(what=TAKEN_BACK, at=act.at, by_id=act.by, key=act.key)
    )


def cook_f(cook_as: str) -> Decimal | None:
    """Return the published cooking temperature of a kind of raw meat [degF], None of others.

    Parameters
    ----------
    cook_as : str
        ``whole``, ``ground`` or ``poultry``; anything else is no raw meat.
    """
    rule = _COOKED.get(cook_as)
    rows = {row.rule_id: row for row in limit_rows("cooking", cited_only=True)}
    return rows[rule].figure if rule in rows else None


def clean_between(
    before: tuple[str, Decimal | None] | None, after: tuple[str, Decimal | None]
) -> str:
    """Return what must happen at a station between two lines of work, empty if nothing.

    A surface is cleaned before each use with a different raw animal food [1]_, unless the next one
    needs a higher cooking temperature; an equal one does not count [2]_.

    Parameters
    ----------
    before, after : (str, Decimal or None)
        Species and cooking temperature [degF]; None where it is no raw meat. `before` is None if
        nothing was on the station since the last clean-down.

    Examples
    --------
    >>> from decimal import Decimal
    >>> clean_between(("beef", Decimal(145)), ("chicken", Decimal(165)))
    ''
    >>> clean_between(("chicken", Decimal(165)), ("beef", Decimal(145)))
    'clean first: chicken was on it'
    >>> clean_between(("beef", Decimal(145)), ("lamb", Decimal(145)))
    'clean first: beef was on it'

    References
    ----------
    .. [1] Minnesota Rules 4626.0845 (Food Code 4-602.11(A)(1)), 2024. Source id ``MN0845``.
    .. [2] WAC 246-215-04605, Washington State. Source id ``WA04605``.
    """
    if before is None or before[1] is None or after[1] is None or before[0] == after[0]:
        return ""
    if after[1] > before[1]:
        cleaning_row("SF076")  # the exception stands only as long as it is cited
        return ""
    return f"clean first: {before[0]} was on it"
