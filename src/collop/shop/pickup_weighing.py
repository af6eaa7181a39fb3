"""A booked line on the scale before its customer comes: what is missing, why, and where it went."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import func, insert, select

from collop.errors import BadValue, WrongState
from collop.measures import Weight
from collop.shop.acts import Act
from collop.shop.booking import note_event
from collop.shop.hook import load_booking
from collop.shop.ledger import Pick, held_by, move
from collop.shop.model import BookingLine
from collop.shop.picking import PIECE_TOLERANCE, pick
from collop.shop.pickup_choices import line_of
from collop.shop.releasing import RENEWED
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries
from collop.shop.week_tables import line_weighings
from collop.shop.works import booked_row
from collop.shop.works_reading import line_states

__all__ = ["REASONS", "WeighedAhead", "weigh_ahead", "weigh_all"]

#: Why a line may weigh less than booked, and where the missing weight is: lost from its lots, or
#: still in the case. Common practice, no published source.
REASONS = {
    "cut gave less": "drip",
    "drip": "drip",
    "cut light, rest in the case": "case",
    "taken by mistake": "drip",
    "other": "case",
}
_SHORT, _FOUND = "weighed short", "weighed again"
_LONGEST = 200
_entry = ledger_entries.c


@dataclass(frozen=True, slots=True)
class WeighedAhead:
    """What the scale said of a booked line, and why it is less than was booked."""

    line_id: str
    weighed: Weight
    reason: str | None = None
    why: str = ""


def _some(picks: Sequence[Pick], count: int) -> list[Pick]:
    taken = []
    for one in picks:
        part = min(one.count, count)
        count -= part
        taken += [replace(one, count=part)] if part else []
    return taken


def _lost_before(act: Act, line_id: int) -> list[Pick]:
    """Return what earlier weighings of a line wrote off, by lot; not of lots it gave up since."""
    total = func.sum(_entry.delta).label("total")
    given_up = select(_entry.lot_id).where(
        _entry.booking_line_id == line_id, _entry.reason == RENEWED, _entry.place == "case",
        _entry.delta > 0,
    )  # fmt: skip
    rows = act.conn.execute(
        select(_entry.lot_id, func.min(_entry.unit).label("unit"), total)
        .where(_entry.booking_line_id == line_id, _entry.place == "drip",
               _entry.reason.in_((_SHORT, _FOUND)), _entry.lot_id.not_in(given_up))
        .group_by(_entry.lot_id)
        .having(total > 0)
        .order_by(_entry.lot_id)
    )  # fmt: skip
    return [Pick(row.lot_id, int(row.total), row.unit) for row in rows]


def _reason(asked: WeighedAhead, line: BookingLine, short: int) -> str:
    """Return the reason to keep; nothing short needs none."""
    if short <= 0:
        return ""
    if asked.reason is None or asked.reason not in REASONS:
        missing = Weight(short, asked.weighed.unit).text()
        raise BadValue(
            f"{line.name} is {missing} short: say why, one of {', '.join(REASONS)}.", where="reason"
        )
    if asked.reason == "other" and not asked.why.strip():
        raise BadValue("Say in a word or two why it is short.", where="why")
    return asked.reason


def _check(asked: WeighedAhead, line: BookingLine) -> None:
    if asked.weighed < Weight.zero():
        raise BadValue(f"{line.name} weighs less than nothing; tare again.", where="weighed")
    if asked.weighed.count > 2 * line.weight.count:
        raise BadValue(
            f"{line.name}: {asked.weighed.text()} is over twice the booked {line.weight.text()};"
            " check the scale and the tare.",
            where="weighed",
        )
    if line.pieces is None or not asked.weighed:
        return
    gap = abs(asked.weighed.count - line.held.count)
    if gap > PIECE_TOLERANCE * line.held.count:
        raise BadValue(
            f"{line.name}: {len(line.pieces)} booked at {line.held.text()} and the scale says"
            f" {asked.weighed.text()}; weigh again, or swap the line.",
            where="weighed",
        )


def _lay_down(act: Act, row: AnyRow, asked: WeighedAhead, reason: str) -> None:
    """Make the line hold what the scale says: less is lost or in the case, more is looked for."""
    picks = held_by(act.conn, row.id)
    gap = asked.weighed.count - sum(one.count for one in picks)
    if gap < 0:
        made = line_states(act.conn, [row.id])[row.id].made
        first = sorted(picks, key=lambda one: one.lot_id in made)
        place = REASONS.get(reason, "case")
        move(act, _some(first, -gap), ("booked", place), _SHORT, row.id)
        return
    found = _some(_lost_before(act, row.id), gap)
    move(act, found, ("drip", "booked"), _FOUND, row.id)
    gap -= sum(one.count for one in found)
    if gap:
        more = pick(act, row.case_id, Weight(gap, asked.weighed.unit), None)
        move(act, more, ("case", "booked"), _FOUND, row.id)


def weigh_ahead(act: Act, asked: WeighedAhead) -> str:
    """Write what the scale said of a booked line; return the line's id.

    The line then holds what was weighed. Goods sold whole keep their ticket weight until they are
    handed over.

    Raises
    ------
    NotFound
        If there is no such line.
    WrongState
        If its booking does not hold any more, the line is off, or it is past its use-by.
    BadValue
        If it is short and no reason is given, or the weight cannot be right.
    NotEnoughFree
        If it weighs more than booked and no more is free.
    """
    booked = booked_row(act.conn, asked.line_id)
    booking = load_booking(act.conn, booked.number, act.settings)
    line = line_of(booking, asked.line_id)
    if line.use_by is not None and line.use_by < act.at.date():
        raise WrongState(
            f"{line.name} was to be used by {line.use_by}: take fresh for it, swap it, or leave it"
            " out."
        )
    _check(asked, line)
    there = booked.row.weight - line.worked.lost
    short = there - asked.weighed.count
    reason = _reason(asked, line, short)
    if line.pieces is None:
        _lay_down(act, booked.row, asked, reason)
    act.conn.execute(
        insert(line_weighings).values(
            booking_line_id=booked.row.id, weighed=asked.weighed.count,
            unit=asked.weighed.unit.value, short=max(short, 0), reason=reason,
            why=asked.why.strip()[:_LONGEST], at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    said = f"{line.name}: {asked.weighed.text()}"
    if short > 0:
        said += f", {Weight(short, asked.weighed.unit).text()} short, {reason}"
    note_event(act, booked.number, "weighed", booking.state, said)
    return line.id


def weigh_all(act: Act, asked: Sequence[WeighedAhead]) -> str:
    """Write what the scale said of several lines, all of them or none; return the ids.

    Raises
    ------
    NotFound, WrongState, BadValue, NotEnoughFree
        As for `weigh_ahead`; `where` of what is wrong ends in the id of its line.
    """
    if not asked:
        raise BadValue("Weighed: enter what the scale says, for example 4.15.", where="weighed")
    done = []
    for one in asked:
        try:
            done.append(weigh_ahead(act, one))
        except BadValue as error:
            raise BadValue(error.message, where=f"{error.where}-{one.line_id}") from None
    return " ".join(done)
