"""Clean-downs of the cutting room: when each was done, and when the next is due.

How long may pass between two is published by how warm the room is
(`collop.reference.cleaning`); the local code comes first, and sooner is always allowed.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.measures import Temperature
from collop.reference import cleaning_interval, cleaning_row, limit_rows
from collop.shop.acts import Act
from collop.shop.bench_list_model import UNDO_WITHIN, CleanDue
from collop.shop.bench_tables import clean_downs
from collop.shop.model import Settings
from collop.shop.store import AnyRow

__all__ = ["ROOM", "clean_between", "clean_down", "clean_due", "cook_f", "take_back_clean_down"]

#: What is cleaned if nobody says otherwise: all that touches raw meat.
ROOM = "cutting room"
#: Written over a clean-down that was put down by a slip of the hand.
TAKEN_BACK = "taken back"
# two in one minute are one touch that was sent twice
_TWICE = timedelta(minutes=1)
_MOST_NAME = 120
_NEWEST = 20
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


def clean_due(conn: Connection, now: datetime, chosen: Settings) -> CleanDue:
    """Return when the last clean-down was and when the next is due at the room's temperature."""
    room = Temperature.fahrenheit(chosen.cut_room_f)
    hours, row = cleaning_interval(room)
    last = next(iter(_newest(conn)), None)
    due = None
    if last is not None:
        due = last.at + timedelta(minutes=int(hours * 60))
    return CleanDue(
        last=None if last is None else last.at, by=None if last is None else last.by_id, due=due,
        is_late=due is not None and due < now, hours=hours, room=room, source=row.citation(),
        may_take_back=last is not None and now - last.at <= UNDO_WITHIN,
    )  # fmt: skip


def clean_down(act: Act, what: str = ROOM) -> None:
    """Put down that the room, or a thing in it, was stripped, washed and sanitised now.

    Raises
    ------
    BadValue
        If `what` is empty or longer than 120 characters.
    """
    name = what.strip()
    if not 1 <= len(name) <= _MOST_NAME or name == TAKEN_BACK:
        raise BadValue("Say what was cleaned down, in 1 to 120 characters.", where="what")
    last = next(iter(_newest(act.conn)), None)
    if last is not None and last.what == name and timedelta(0) <= act.at - last.at < _TWICE:
        return
    act.conn.execute(insert(clean_downs).values(what=name, at=act.at, by_id=act.by, key=act.key))


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
