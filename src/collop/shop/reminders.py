"""Reminders: what to tell which customer before a pick-up, each a sentence for the telephone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Money
from collop.shop.bench_figures import BOOKING_WAITS_DAYS
from collop.shop.bench_model import Want
from collop.shop.bench_wants import load_wants
from collop.shop.hook import booking_id, bookings_between
from collop.shop.model import Booking, Settings, State
from collop.shop.promising_model import Reminder
from collop.shop.promising_words import day_words
from collop.shop.till import totals_of
from collop.shop.week_tables import standing_events

__all__ = ["next_open_day", "reminders_of"]

_FAR = 60


@dataclass(frozen=True, slots=True)
class _Told:
    """What the sentences of one call rest on."""

    conn: Connection
    today: date
    chosen: Settings
    wants: Mapping[str, list[Want]]
    caps: Mapping[str, list[str]]

    def when(self, booking: Booking) -> str:
        at = booking.collect_at
        day = "today" if at.date() == self.today else day_words(at.date(), self.today)
        return f"{day} at {at:%H:%M}"

    def due(self, booking: Booking) -> Money:
        lines = [(line.case_id, line.line_total) for line in booking.lines]
        return totals_of(self.conn, self.chosen, lines, deposit=booking.deposit,
                         on=self.today).due  # fmt: skip


def next_open_day(day: date, chosen: Settings) -> date | None:
    """Return the first open day after `day`, or None if there is none in two months."""
    days = (day + timedelta(days=ahead) for ahead in range(1, _FAR))
    return next((one for one in days if chosen.is_open(one)), None)


def _caps(conn: Connection) -> dict[str, list[str]]:
    """Return what was capped of bookings that standing orders made."""
    made = standing_events.c
    rows = conn.execute(
        select(made.booking_number, made.facts)
        .where(made.what == "made", made.booking_number.is_not(None))
    )  # fmt: skip
    return {booking_id(row.booking_number): list(row.facts.get("said", ())) for row in rows}


def reminders_of(
    conn: Connection, now: datetime, day: date, chosen: Settings
) -> tuple[Reminder, ...]:  # fmt: skip
    """Return what to tell about pick-ups of `day` and the next open day, by hour.

    Of today, bookings that were not collected before it come first.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        Shop-local.
    day : date
        Day of the pick-ups.
    chosen : Settings
        Of the shop.
    """
    wants: dict[str, list[Want]] = defaultdict(list)
    for one in load_wants(conn, chosen):
        if one.left:
            wants[one.booking_id].append(one)
    told = _Told(conn, now.date(), chosen, wants, _caps(conn))
    last = next_open_day(day, chosen) or day
    days = {day, last}
    first = now.date() - timedelta(days=BOOKING_WAITS_DAYS) if day == now.date() else day
    found: list[Reminder] = []
    for booking in bookings_between(conn, first, last, chosen):
        on = booking.collect_at.date()
        if booking.state.holds and (on in days or on < day):
            found += _of(told, booking, is_late=booking.collect_at < now)
    return tuple(found)


def _of(told: _Told, booking: Booking, *, is_late: bool) -> Iterator[Reminder]:
    """Yield the reminders of one booking: what it is first, then what is wrong with it."""

    def tell(kind: str, say: str) -> Reminder:
        return Reminder(kind, booking.id, booking.name, booking.phone_end, booking.collect_at, say)

    money = _money(told, booking)
    when = told.when(booking)
    if booking.state is State.ASKED:
        yield tell("asked", f"You asked for {_what(booking)} for {when}, {money}"
                            " It is not booked yet: shall we hang it up?")  # fmt: skip
    elif is_late:
        at = booking.collect_at
        yield tell("late", f"Your order was for {at:%A} {at.day} {at:%B}, {at:%H:%M}, and was not"
                           f" collected, {money} When will you come for it?")  # fmt: skip
    else:
        yield tell("pick-up", f"Your order is for {when}, {money}")
    for want in told.wants.get(booking.id, ()):
        yield tell("short", f"{want.left.text()} of {want.case_name} is still to come.")
    for line in booking.out_of_date:
        assert line.use_by is not None
        yield tell("use-by", f"The {line.name} set aside is to be used by {line.use_by:%A}"
                             f" {line.use_by.day} {line.use_by:%B}, before {when}: come sooner, or"
                             " we cut it anew.")  # fmt: skip
    for said in told.caps.get(booking.id, ()):
        yield tell("standing", said)


def _what(booking: Booking) -> str:
    words = [f"{line.weight.text()} of {line.name}" for line in booking.lines]
    return ", ".join(words) or "meat cut to order"


def _money(told: _Told, booking: Booking) -> str:
    if booking.lines:
        due = told.due(booking)
    elif booking.agreed is not None:
        due = booking.agreed - booking.deposit
    else:
        return "money to be said when it is cut."
    if not booking.deposit.minor:
        return f"{due} so far."
    return f"{due + booking.deposit} so far, {booking.deposit} paid down, {due} to pay."
