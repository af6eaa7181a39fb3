"""Between which clean-downs a lot of mince runs, and whether the machine is clean to begin one.

A lot is all that was made of the same materials from one clean-up to the next [1]_; without one
between them, two lots are one. A machine is also cleaned before other raw animal food goes through
it, unless that needs a higher cooking temperature, and within the hours published for the warmth
of the room (`collop.shop.clean_downs`).

References
----------
.. [1] 9 CFR 320.1(b)(4)(iii), restated in FSIS Directive 5000.10. Source id ``CFR320_1``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import WrongState
from collop.fire.ruling import ruling_cook_as
from collop.shop.acts import Act
from collop.shop.clean_downs import ROOM, clean_between, clean_due, cook_f, standing_clean_downs
from collop.shop.day_tables import makings
from collop.shop.making_model import BATCH, MINCE
from collop.shop.store import AnyRow

__all__ = ["Cleaning", "cleanings", "ending", "last_before", "must_be_clean", "must_still_go"]

# what of the room a cleaning of which counts for a machine; all else leaves it as it was
_GRINDER, _FILLER = "grinder", ("stuffer", "bowl")
_BACK, _AHEAD = timedelta(days=30), timedelta(days=36_500)
# more lots than a machine makes between two clean-downs
_MOST_LOTS = 200


@dataclass(frozen=True, slots=True)
class Cleaning:
    """A standing clean-down: its row, when it was done, and what was cleaned."""

    seq: int
    at: datetime
    what: str


def _counts(what: str, machine: str, kind: str) -> bool:
    said = what.strip().casefold()
    if said == ROOM:
        return True
    if kind == BATCH:
        return said in _FILLER
    return said in {_GRINDER, machine.casefold(), f"{_GRINDER} {machine.casefold()}"}


def cleanings(
    conn: Connection, machine: str, kind: str = MINCE, *, around: datetime
) -> list[Cleaning]:
    """Return the standing clean-downs that clean a machine, in the order they were done.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    machine : str
        Such as ``G1``. A clean-down of the cutting room counts for all, one of the grinder for any
        grinder, and of ``grinder G1`` for that one only.
    kind : str
        ``mince`` or ``batch``; of a batch it is the stuffer or bowl.
    around : datetime
        What was done up to 30 days before it counts, and all since.
    """
    return [
        Cleaning(one.seq, one.done_at, one.what)
        for one in standing_clean_downs(conn, around - _BACK, around + _AHEAD)
        if _counts(one.what, machine, kind)
    ]


def last_before(found: Sequence[Cleaning], moment: datetime) -> Cleaning | None:
    """Return the last clean-down done up to a moment."""
    return next((one for one in reversed(found) if one.at <= moment), None)


def ending(found: Sequence[Cleaning], row: AnyRow) -> Cleaning | None:
    """Return the clean-down that ends a lot: the first after it began, None while it runs."""
    begun = row.after_clean or 0
    return next(
        (
            one
            for one in found
            if one.at > row.done_at or (one.at == row.done_at and one.seq > begun)
        ),
        None,
    )


def _neighbours(
    conn: Connection, machine: str, found: Sequence[Cleaning], moment: datetime
) -> tuple[list[AnyRow], list[AnyRow]]:
    """Return the lots of a machine that no clean-down parts from a moment: before and after it.

    A clean-down that was taken back parts nothing.
    """
    last = last_before(found, moment)
    following = next((one.at for one in found if one.at > moment), None)
    made = makings.c
    query = select(makings).where(made.kind == MINCE)
    if last is not None:
        query = query.where(made.done_at >= last.at)
    if following is not None:
        query = query.where(made.done_at < following)
    newest = query.order_by(made.done_at.desc(), made.number.desc()).limit(_MOST_LOTS)
    rows = [row for row in conn.execute(newest) if row.fields.get("machine") == machine]
    running = [row for row in rows if not _is_over(found, row, moment)]
    before = [row for row in running if row.done_at <= moment]
    return before, [row for row in running if row.done_at > moment]


def _is_over(found: Sequence[Cleaning], row: AnyRow, moment: datetime) -> bool:
    """Tell whether a lot that was begun in the minute of a clean-down ended with it."""
    end = ending(found, row)
    return end is not None and end.at <= moment


def _cook(species: str) -> tuple[str, Any]:
    return species, cook_f(ruling_cook_as(species, "ground", treatment="ground"))


def must_be_clean(act: Act, machine: str, species: str, moment: datetime) -> Cleaning:
    """Return the clean-down that a new lot begins after.

    Raises
    ------
    WrongState
        If none stands, it is older than published for the room, or the lot before it on the
        machine still runs.
    """
    found = cleanings(act.conn, machine, around=moment)
    last = last_before(found, moment)
    if last is None:
        raise WrongState(
            f"No clean-down of {machine} is on record before {moment:%H:%M}: clean down first, and"
            " put it down."
        )
    due = clean_due(act.conn, moment, act.settings)
    if last.at + timedelta(minutes=int(due.hours * 60)) < moment:
        raise WrongState(
            f"{machine} was last cleaned down on {last.at:%d %b at %H:%M}, over {due.hours:f} h"
            f" before: clean down first ({due.source})."
        )
    before, after = _neighbours(act.conn, machine, found, moment)
    for first, then in [*((row.species, species) for row in before),
                        *((species, row.species) for row in after)]:  # fmt: skip
        if clean_between(_cook(first), _cook(then)):
            raise WrongState(
                f"{first} was on {machine}, and {then} comes after it: clean down first."
            )
    for row in [*before, *after]:
        if row.species == species:
            raise WrongState(
                f"{row.code} still runs on {machine}: without a clean-down between, all of it is"
                " one lot. Add to it, or clean down first."
            )
    return last


def must_still_go(act: Act, row: AnyRow, moment: datetime) -> None:
    """See that no other lot on the grinder keeps more of this one off it.

    Raises
    ------
    WrongState
        If another animal went through the machine, no clean-down stands since, and this one may
        not follow it.
    """
    machine = row.fields.get("machine", "")
    found = cleanings(act.conn, machine, around=row.done_at)
    before, _ = _neighbours(act.conn, machine, found, moment)
    for one in before:
        if clean_between(_cook(one.species), _cook(row.species)):
            raise WrongState(
                f"{one.species} ({one.code}) went through {machine} and no clean-down stands since:"
                f" clean down first, then begin a new lot of {row.species}."
            )
