"""Reminders: what to tell which customer before a pick-up, each a sentence for the telephone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Money
from collop.shop.bench_figures import BOOKING_WAITS_DAYS
from collop.shop.bench_model import Want
from collop.shop.bench_wants import load_wants
from collop.shop.board import price_text
from collop.shop.hook import booking_id, bookings_between
from collop.shop.model import Booking, Settings, State
from collop.shop.pickup_reading import load_pickup
from collop.shop.pickup_words import per_cent
from collop.shop.promising_model import Reminder, ToCome
from collop.shop.promising_money import to_come, to_come_lines
from collop.shop.promising_words import day_words
from collop.shop.standing_days import day_words as day_of
from collop.shop.till import totals_of
from collop.shop.week_tables import standing_events

__all__ = ["next_open_day", "reminders_of"]

_FAR = 60


@dataclass(frozen=True, slots=True)
class _Told:
    """What the sentences of one call rest on."""

    conn: Connection
    now: datetime
    chosen: Settings
    wants: Mapping[str, list[Want]]
    caps: Mapping[str, list[str]]
    coming: Mapping[str, Sequence[ToCome]]

    @property
    def today(self) -> date:
        """Return the day of the call."""
        return self.now.date()

    def when(self, booking: Booking) -> str:
        at = booking.collect_at
        day = "today" if at.date() == self.today else day_words(at.date(), self.today)
        return f"{day} at {at:%H:%M}"

    def due(self, booking: Booking, *, with_coming: bool = False) -> Money:
        rule = self.chosen.rounding
        lines = [(line.case_id, line.comes_to(rule)) for line in booking.standing]
        lines += to_come_lines(self.coming.get(booking.id, ())) if with_coming else []
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
    wanted = load_wants(conn, chosen)
    wants: dict[str, list[Want]] = defaultdict(list)
    for one in wanted:
        if one.left:
            wants[one.booking_id].append(one)
    told = _Told(conn, now, chosen, wants, _caps(conn), to_come(conn, wanted, chosen))
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
    for say in _to_come(told, booking):
        yield tell("short", say)
    yield from (tell(*one) for one in _weighed(told, booking))
    for line in booking.out_of_date:
        assert line.use_by is not None
        yield tell("use-by", f"The {line.name} set aside is to be used by {line.use_by:%A}"
                             f" {line.use_by.day} {line.use_by:%B}, before {when}: come sooner, or"
                             " we cut it anew.")  # fmt: skip
    for said in told.caps.get(booking.id, ()):
        yield tell("standing", said)


def _to_come(told: _Told, booking: Booking) -> Iterator[str]:
    """Yield what is still to come with its money, and at the end what the order comes to with it.

    Where nothing else hangs on the booking, that was told before.
    """
    wants = told.wants.get(booking.id, ())
    priced = {one.case_id: one for one in told.coming.get(booking.id, ())}
    for at, want in enumerate(wants, 1):
        say = f"{want.left.text()} of {want.case_name} is still to come"
        if one := priced.get(want.case_id):
            since = "today" if one.since == told.today else day_of(one.since)
            price = f"{price_text(one.unit_price)} per {one.unit_price.per}"
            say += f", at the price of {since}, {price}: {one.money}"
        with_it = ""
        if at == len(wants) and priced and booking.lines:
            due = told.due(booking, with_coming=True)
            with_it = f" With it, {_paid(booking, due)}"
        yield f"{say}.{with_it}"


def _weighed(told: _Told, booking: Booking) -> Iterator[tuple[str, str]]:
    """Yield what is short of what was weighed ahead, and with what it was topped up."""
    is_short = any(line.missing for line in booking.standing)
    rows = load_pickup(told.conn, booking.id, told.chosen, told.now).lines if is_short else ()
    plates = {row.line.id: f" {row.plate.words}" for row in rows if row.plate is not None}
    for line in booking.standing:
        if line.missing and line.ready is not None:
            part = per_cent(line.missing, line.weight)
            short = f"{part} % short" if part else "short"
            ready, booked = line.ready.text(), line.weight.text()
            plate = plates.get(line.id, "")
            yield "short", f"The {line.name} is {short}: {ready} instead of {booked}.{plate}"
        for one in line.topped_up:
            yield "topped up", f"The {line.name} is {one.words}."


def _what(booking: Booking) -> str:
    words = [f"{line.weight.text()} of {line.name}" for line in booking.lines]
    return ", ".join(words) or "meat cut to order"


def _money(told: _Told, booking: Booking) -> str:
    if booking.lines:
        return _paid(booking, told.due(booking), " so far")
    if told.coming.get(booking.id):
        due = told.due(booking, with_coming=True)
        return _paid(booking, due, " with what is to come")
    if booking.agreed is not None:
        return _paid(booking, booking.agreed - booking.deposit, " so far")
    return "money to be said when it is cut."


def _paid(booking: Booking, due: Money, words: str = "") -> str:
    """Return a total, and what is to pay of it after the deposit."""
    if not booking.deposit.minor:
        return f"{due}{words}."
    return f"{due + booking.deposit}{words}, {booking.deposit} paid down, {due} to pay."
