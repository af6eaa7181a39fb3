"""A past day or week with another cutting plan, from the shop's own books."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.shop.acts import Room
from collop.shop.bench_look import Look, amount, load_look, plain
from collop.shop.knife_tables import breaks
from collop.shop.model import Settings
from collop.shop.replaying_flows import (
    LineFlow,
    Window,
    day_rows,
    exact,
    line_flows,
    opening_lots,
)
from collop.shop.replaying_pieces import hung_pieces, piece_rows
from collop.shop.sales import unit_text
from collop.shop.settings import load_settings
from collop.shop.store import AnyRow
from collop.shop.tables import slips

__all__ = ["MOST_DAYS", "ReplayingRoom"]

SCHEMA = "collop.replay/1"
MOST_DAYS = 7
_MOST_KEEPS = 3650
#: What is good for so many days outlasts all that are looked at.
_BEYOND = 30


class ReplayingRoom:
    """What would another cutting plan have brought? Reached as `Shop.replaying`; it only reads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def last_day(self) -> date:
        """Return the newest day, before today if there is one, on which was cut or sold.

        Today where there is none: then there is nothing to replay.
        """
        now = self._room.clock.now()
        start = datetime.combine(now.date(), datetime.min.time())
        with self._room.store.read() as conn:
            found = [
                conn.scalar(select(func.max(table.c.at)).where(table.c.at < before))
                for before in (start, now + timedelta(seconds=1)) for table in (breaks, slips)
            ]  # fmt: skip
        before, later = [one for one in found[:2] if one], [one for one in found[2:] if one]
        moment: datetime = max(before or later or [now])
        return moment.date()

    def last(self, day: date | None = None, *, days: int = 1) -> dict[str, Any]:
        """Return the ``collop.replay/1`` problem of a day, or of days in a row, as it was.

        Parameters
        ----------
        day : date, optional
            The first day; by default `last_day`.
        days : int
            From 1 to 7.

        Raises
        ------
        BadValue
            If a day is not there yet, or the days are too many.
        WrongState
            If no line of the case is cut here.
        """
        first = day or self.last_day()
        now = self._room.clock.now()
        if isinstance(days, bool) or not 1 <= days <= MOST_DAYS:
            raise BadValue(f"Look at 1 to {MOST_DAYS} days at once.", where="days")
        if first + timedelta(days=days - 1) > now.date():
            raise BadValue(f"{first + timedelta(days=days - 1)} is not there yet; choose a day that"
                           " is over.", where="day")  # fmt: skip
        with self._room.store.read() as conn:
            return _problem(conn, now, load_settings(conn), Window.of(first, days, now))

    def what_if(
        self, day: date | None, changes: Iterable[Mapping[str, Any]], *, days: int = 1
    ) -> dict[str, Any]:
        """Return the ``collop.replay.plan/1`` of a day, or of days, with other decisions.

        Parameters
        ----------
        day : date or None
            The first day, None for `last_day`.
        changes : iterable of mapping
            ``tag`` with ``style`` and ``day`` (counted from the first), or without either for a
            piece that hangs on.
        days : int
            From 1 to 7.

        Raises
        ------
        ProblemError
            If a day or a change cannot be.
        """
        from collop.bench.replaying import replay  # noqa: PLC0415 -- seldom needed

        return replay({**self.last(day, days=days), "changes": [dict(one) for one in changes]})


def _problem(conn: Connection, now: datetime, chosen: Settings, window: Window) -> dict[str, Any]:
    look = load_look(conn, now, chosen, days=1)
    cuts = {key: line for key, line in look.lines.items() if line.form != "frozen"}
    if not cuts:
        raise WrongState("No line on the board comes from a cutting style yet; add a style that"
                         " gives one, and put a price up.")  # fmt: skip
    pieces = piece_rows(conn, look, window, hung_pieces(conn, window), cuts)
    came = _came(pieces, window)
    flows, opening = line_flows(conn, window), opening_lots(conn, window)
    rows = []
    for key in cuts:
        stock = _stock(look, key, opening.get(key, []), window)
        there = sum((exact(one["weight"]) for one in stock), Fraction(0))
        flow = flows.get(key) or LineFlow()
        parts = came.get(key, [Fraction(0)] * len(window.days))
        rows.append(_cut(look, key, stock, day_rows(flow, there, parts, window, chosen)))
    first, last = window.days[0], window.days[-1]
    return {
        "schema": SCHEMA,
        "name": plain(f"{chosen.name}, {first}" + (f" to {last}" if last > first else "")),
        "currency": chosen.currency, "rounding": chosen.rounding.value, "unit": look.unit_name,
        "days": [{"day": day.isoformat(), "open": chosen.is_open(day)} for day in window.days],
        "per_hour": f"{chosen.labour_per_hour:f}", "cuts": rows, "pieces": pieces, "changes": [],
    }  # fmt: skip


def _came(pieces: Iterable[Mapping[str, Any]], window: Window) -> dict[str, list[Fraction]]:
    found: dict[str, list[Fraction]] = {}
    for piece in pieces:
        done = piece["actual"]
        for part in done["parts"] if done else ():
            if "cut" in part:
                days = found.setdefault(part["cut"], [Fraction(0)] * len(window.days))
                days[done["day"]] += exact(part["weight"])
    return found


def _stock(
    look: Look, case_id: str, rows: Iterable[AnyRow], window: Window
) -> list[dict[str, Any]]:
    """Return the opening stock, lots of one day together."""
    sums: dict[int, int] = {}
    for row in rows:
        left = _days_left(look, case_id, row, window)
        sums[left] = sums.get(left, 0) + int(row.total)
    return [{"weight": unit_text(count, look.chosen), "days_left": left}
            for left, count in sorted(sums.items())]  # fmt: skip


def _days_left(look: Look, case_id: str, row: AnyRow, window: Window) -> int:
    if row.use_by is None:
        return min(look.keeps[case_id], _BEYOND)
    left: int = (row.use_by - window.days[0]).days
    return min(max(0, left), _BEYOND)


def _cut(
    look: Look, case_id: str, stock: list[dict[str, Any]], days: list[dict[str, Any]]
) -> dict[str, Any]:
    price, pace = look.price(case_id), look.pace(case_id)
    return {
        "id": case_id, "name": plain(look.lines[case_id].name), "price": amount(price),
        "keeps_days": min(look.keeps[case_id], _MOST_KEEPS),
        "left_worth": amount(price * (1 - Fraction(look.chosen.target_margin))),
        "usual": unit_text(pace, look.chosen) if pace else None, "stock": stock, "days": days,
    }  # fmt: skip
