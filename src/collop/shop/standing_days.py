"""The days on which standing orders are due, and what they will ask of each line until then."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from sqlalchemy.engine import Connection

from collop.shop.model import Settings
from collop.shop.standing_model import Due, Standing, StandingLine, due_days
from collop.shop.standing_rows import load_standing

__all__ = ["day_words", "due_of", "unmade_lines"]

#: So many days from a shut day the open one before, or after, is looked for.
_NEAR = 14


def day_words(day: date) -> str:
    """Return a day as it is said, e.g. ``Tuesday 16 June``."""
    return f"{day:%A} {day.day} {day:%B}"


def _collected(
    day: date, hour: time, now: datetime, chosen: Settings
) -> tuple[datetime, str] | None:  # fmt: skip
    """Return when it is collected, and a sentence if that is another day: the last open one before.

    If its hour is past, the next open day after it; None if there is none near.
    """
    if chosen.is_open(day):
        at = datetime.combine(day, hour)
        return (at, "") if now <= at else None
    before = [day - timedelta(days=away) for away in range(1, _NEAR + 1)]
    after = [day + timedelta(days=away) for away in range(1, _NEAR + 1)]
    # an open day in between was the one it would have gone to
    for one in (next((one for one in before if chosen.is_open(one)), None),
                next((one for one in after if chosen.is_open(one)), None)):  # fmt: skip
        if one is not None and now <= datetime.combine(one, hour):
            said = f"{day_words(day)} the shop is shut: {day_words(one)} instead."
            return datetime.combine(one, hour), said
    return None


def _since(standing: Standing, today: date) -> date:
    """Return the first day that may be due: a shut one just past too, if the order ran then."""
    ran = max((one.at.date() for one in standing.events if one.what in {"begun", "resumed"}),
              default=today)  # fmt: skip
    return min(today, max(today - timedelta(days=_NEAR), ran))


def due_of(standing: Standing, now: datetime, until: date, chosen: Settings) -> tuple[Due, ...]:
    """Return what is to be made of a standing order: collected from now on and up to `until`.

    Parameters
    ----------
    standing : Standing
        One that is paused or ended has none.
    now : datetime
        Shop-local.
    until : date
        Last day of collection.
    chosen : Settings
        Of the shop.
    """
    if standing.state != "on":
        return ()
    found = []
    today = now.date()
    first = _since(standing, today)
    for day in due_days(standing.terms, first, until + timedelta(days=_NEAR)):
        settled = day in standing.settled
        to = None if settled else _collected(day, standing.terms.hour, now, chosen)
        if to is not None and to[0].date() <= until:
            found.append(Due(standing.id, standing.terms.name, day, *to))
    return tuple(found)


def unmade_lines(
    conn: Connection, now: datetime, until: date, chosen: Settings
) -> Iterator[tuple[Due, StandingLine]]:  # fmt: skip
    """Yield the lines of bookings that standing orders will make up to a day, soonest first.

    Parameters
    ----------
    conn : Connection
        Reading or writing connection.
    now : datetime
        Shop-local.
    until : date
        Last day of collection.
    chosen : Settings
        Of the shop.
    """
    found = [
        (due, one.terms.lines)
        for one in load_standing(conn)
        for due in due_of(one, now, until, chosen)
    ]
    for due, lines in sorted(found, key=lambda one: (one[0].collect_at, one[0].order_id)):
        for line in lines:
            yield due, line
