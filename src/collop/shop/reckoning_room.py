"""The reckoning: did that animal pay, whose money is on the slips, and do the yields drift."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.shop.acts import Room
from collop.shop.knife_tables import deliveries, lot_links
from collop.shop.lots import lot_row
from collop.shop.reckoning_animals import animal_rows
from collop.shop.reckoning_bars import bars_of
from collop.shop.reckoning_drift import drift_problem
from collop.shop.reckoning_model import AnimalRow, Drift, Reckoning, Statement
from collop.shop.reckoning_say import MOST_BEFORE, say_of
from collop.shop.reckoning_shorts import shorts
from collop.shop.reckoning_statement import statement
from collop.shop.settings import load_settings

__all__ = ["ReckoningRoom"]

_YEARS = timedelta(days=3660)
_WEEK = timedelta(days=7)


class ReckoningRoom:
    """The account of each animal. Reached as `Shop.reckoning`; it only reads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def animals(self, since: date | None = None) -> tuple[AnimalRow, ...]:
        """Return one row for each animal, the last that came first.

        Parameters
        ----------
        since : date, optional
            Only those that came on that day or later.
        """
        start = None if since is None else datetime.combine(since, time.min)
        with self._room.store.read() as conn:
            return animal_rows(conn, load_settings(conn), self._room.clock.now(), since=start)

    def animal(self, tag: str) -> Reckoning:
        """Return the account of one animal, with its waterfall and what there is to say.

        Parameters
        ----------
        tag : str
            The tag of its delivery, or any lot that was cut from it alone.

        Raises
        ------
        NotFound
            If there is no such lot, or it is not of one delivery.
        """
        with self._room.store.read() as conn:
            found, before = _with_those_before(conn, _delivery_of(conn, tag))
            rows = {
                one.tag: one
                for one in animal_rows(
                    conn, load_settings(conn), self._room.clock.now(), tags=[found, *before]
                )
            }
            short = tuple(one for one in shorts(conn) if found in one.tags)
        row = rows[found]
        say = say_of(row, [rows[one] for one in before], short)
        return Reckoning(row, bars_of(row), short, say)

    def day(self, day: date) -> Statement:
        """Return the money on the slips of one day, told by animal.

        Raises
        ------
        BadValue
            If the day is over ten years away.
        """
        return self._statement(day, day)

    def week(self, monday: date) -> Statement:
        """Return the money on the slips of a week, Monday to Sunday, told by animal.

        Raises
        ------
        BadValue
            If the day is no Monday, or over ten years away.
        """
        if monday.weekday():
            raise BadValue(f"{monday} is no Monday; a week begins on one.", where="week")
        return self._statement(monday, monday + _WEEK - timedelta(days=1))

    def _statement(self, first: date, last: date) -> Statement:
        today = self._room.clock.now().date()
        if not -_YEARS <= first - today <= _YEARS:
            raise BadValue("Choose a day within ten years of today.", where="day")
        with self._room.store.read() as conn:
            return statement(conn, first, last, load_settings(conn))

    def drift(self) -> Drift | None:
        """Return whether hands or farms give other yields; None as long as no break has closed."""
        from collop.carcass.drifting import drift  # noqa: PLC0415 -- kernel is not always wanted

        with self._room.store.read() as conn:
            problem, short = drift_problem(conn), shorts(conn)
        return None if problem is None else Drift(drift(problem), problem, short)


def _delivery_of(conn: Connection, tag: str) -> str:
    """Return the tag of the delivery a lot came with, up its links as long as there is one."""
    lot_row(conn, tag)
    at = tag
    while True:
        if conn.scalar(select(deliveries.c.lot_id).where(deliveries.c.lot_id == at)) is not None:
            return at
        parents = conn.scalars(
            select(lot_links.c.parent_id).where(lot_links.c.child_id == at).distinct()
        ).all()
        if len(parents) != 1:
            raise NotFound(
                f"{tag[:60]} is not of one animal; choose an animal of the list.", where="tag"
            )
        at = parents[0]


def _with_those_before(conn: Connection, tag: str) -> tuple[str, list[str]]:
    """Return a tag and those of the last animals of its farm and species before it."""
    row = conn.execute(select(deliveries).where(deliveries.c.lot_id == tag)).one()
    before = conn.scalars(
        select(deliveries.c.lot_id)
        .where(
            deliveries.c.farm == row.farm, deliveries.c.species == row.species,
            deliveries.c.number < row.number,
        )
        .order_by(deliveries.c.number.desc())
        .limit(MOST_BEFORE)
    ).all()  # fmt: skip
    return tag, list(before)
