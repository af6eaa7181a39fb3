"""Money noted on bookings and sales: what is due, and the shop's written rule of deposits.

No money is moved here and no card is known: who sells notes what was paid and how.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import Select, func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, round_fraction
from collop.rules.taxing import cash_total
from collop.shop.acts import Act
from collop.shop.day_tables import slip_totals
from collop.shop.hook import booking_id
from collop.shop.model import Settings, State
from collop.shop.money_words import checked_words
from collop.shop.returning import returned_of
from collop.shop.selling_model import DepositWord, Payment, Returned, SlipMoney
from collop.shop.store import AnyRow
from collop.shop.tables import booking_events, bookings, slips
from collop.shop.week_tables import PAYMENT_KINDS, PAYMENT_WAYS, payments

__all__ = [
    "DEPOSIT_WAYS", "deposit_word", "give_back", "load_payments", "money_of", "note_payment",
    "write_payment",
]  # fmt: skip

#: How a deposit is paid: never later.
DEPOSIT_WAYS = tuple(way for way in PAYMENT_WAYS if way != "account")
_MOST_MINOR = 10**12
_AT_ONCE = 10_000
_GIVEN = re.compile(r"given ([0-9.]+)(?:; |$)")


def _payment(row: AnyRow, currency: str) -> Payment:
    found = _GIVEN.match(row.note)
    return Payment(
        booking_id=booking_id(row.booking_number), what=row.what, way=row.way,
        amount=Money(row.amount, currency), note=row.note[found.end():] if found else row.note,
        at=row.at, by=row.by_id, given=Money.of(found[1], currency) if found else None,
    )  # fmt: skip


def load_payments(
    conn: Connection, numbers: Iterable[int], currency: str
) -> dict[int, list[Payment]]:
    """Return what was noted on bookings, by number, in the order it was noted."""
    found: dict[int, list[Payment]] = defaultdict(list)
    rows = conn.execute(
        select(payments)
        .where(payments.c.booking_number.in_(list(numbers)))
        .order_by(payments.c.number)
    )
    for row in rows:
        found[row.booking_number].append(_payment(row, currency))
    return found


def money_of(conn: Connection, numbers: Sequence[int], chosen: Settings) -> dict[int, SlipMoney]:
    """Return what bookings and sales come to and what of it was noted, by number.

    Numbers there are none of are left out.
    """
    found: dict[int, SlipMoney] = {}
    for start in range(0, len(numbers), _AT_ONCE):
        some = numbers[start : start + _AT_ONCE]
        noted = load_payments(conn, some, chosen.currency)
        back = returned_of(conn, some, chosen.currency)
        for row in conn.execute(_rows(some)):
            found[row.number] = _money(row, noted[row.number], back.get(row.number, ()), chosen)
    return found


def _rows(numbers: Sequence[int]) -> Select[Any]:
    last = (
        select(booking_events.c.booking_number, func.max(booking_events.c.seq).label("seq"))
        .where(booking_events.c.booking_number.in_(numbers))
        .group_by(booking_events.c.booking_number)
        .subquery()
    )
    return (
        select(
            bookings.c.number, bookings.c.name, bookings.c.kind, bookings.c.deposit,
            booking_events.c.state, slips.c.total, slips.c.at.label("went_at"),
            slip_totals.c.tax, slip_totals.c.cash_rule,
        )
        .join(last, last.c.booking_number == bookings.c.number)
        .join(booking_events, booking_events.c.seq == last.c.seq)
        .outerjoin(slips, slips.c.booking_number == bookings.c.number)
        .outerjoin(slip_totals, slip_totals.c.slip_number == slips.c.number)
    )  # fmt: skip


def _money(
    row: AnyRow, noted: Sequence[Payment], back: Sequence[Returned], chosen: Settings
) -> SlipMoney:
    def money(minor: int | None) -> Money:
        return Money(int(minor or 0), chosen.currency)

    lines, tax = money(row.total), money(row.tax)
    has_gone, is_off = row.state == State.GONE, row.state == State.OFF
    deposit = money(row.deposit)
    rule = row.cash_rule or "off"
    begun = lines + tax - deposit if has_gone else deposit * -1 if is_off else money(0)
    due, rounding = _due(begun, noted, back, rule)
    return SlipMoney(
        booking_id=booking_id(row.number), name=row.name, kind=row.kind, state=row.state,
        at=row.went_at, lines=lines, tax=tax, total=lines + tax, deposit=deposit,
        payments=tuple(noted), returned=money(sum(one.total.minor for one in back)),
        rounding=rounding, due=due, cash_rule=rule,
    )  # fmt: skip


def _due(
    begun: Money, noted: Sequence[Payment], back: Sequence[Returned], rule: str
) -> tuple[Money, Money]:
    """Go through what happened in time, and return what is due and what cash was rounded by."""
    due, rounding = begun, Money(0, begun.currency)
    # of one moment: what is paid, then what comes back, then the money given back for it
    steps: list[tuple[datetime, int, Payment | Returned]] = [
        *((one.at, 1, one) for one in back),
        *((one.at, 2 if one.what == "given back" else 0, one) for one in noted),
    ]
    for _, _, step in sorted(steps, key=lambda one: one[:2]):
        if isinstance(step, Returned):
            due -= step.total
            continue
        if step.what == "deposit" or step.way == "account":
            continue
        amount = step.amount if step.what == "payment" else step.amount * -1
        in_cash = cash_total(due, rule).to_pay
        if step.way == "cash" and amount == in_cash and step.what != "deposit kept":
            rounding += amount - due
            due = Money(0, due.currency)
        else:
            due -= amount
    return due, rounding


def write_payment(
    act: Act, number: int, what: str, way: str, amount: Money, *, note: str = "",
    given: Money | None = None,
) -> None:  # fmt: skip
    """Write one row of money, held to nothing but its own form.

    Raises
    ------
    BadValue
        If there is no such kind or way, no money, less cash given than is to pay, or a note that
        may hold the number of a card.
    """
    if what not in PAYMENT_KINDS:
        raise BadValue(f"{what[:20]!r} is no kind of payment; use one of"
                       f" {', '.join(PAYMENT_KINDS)}.", where="what")  # fmt: skip
    if way not in PAYMENT_WAYS:
        raise BadValue(f"{way[:20]!r} is no way of paying; use one of {', '.join(PAYMENT_WAYS)}.",
                       where="way")  # fmt: skip
    if amount.currency != act.settings.currency or not 0 < amount.minor <= _MOST_MINOR:
        raise BadValue(f"The amount is more than 0, in {act.settings.currency}.", where="amount")
    words = checked_words(note, "note")
    if given is not None:
        _check_given(given, amount, what, way)
        words = f"given {given}; {words}" if words else f"given {given}"
    act.conn.execute(
        insert(payments).values(
            booking_number=number, what=what, way=way, amount=amount.minor, note=words, at=act.at,
            by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _check_given(given: Money, amount: Money, what: str, way: str) -> None:
    if way != "cash" or what not in {"deposit", "payment"}:
        raise BadValue("Only cash is given and changed; leave the given sum out.", where="given")
    if given.currency != amount.currency or given.minor > _MOST_MINOR:
        raise BadValue(f"What was given is in {amount.currency}.", where="given")
    if given < amount:
        raise BadValue(f"{given} was given and {amount} is to pay: {amount - given} is missing.",
                       where="given")  # fmt: skip


def note_payment(
    act: Act, number: int, what: str, way: str, amount: Money | None, *, note: str = "",
    given: Money | None = None,
) -> None:  # fmt: skip
    """Note money on a booking or a sale, never more than is due.

    Parameters
    ----------
    act : Act
        The write in progress.
    number : int
        Of the booking.
    what : str
        ``deposit`` on a booking in any state, ``payment`` or ``given back`` on one that
        has gone, ``given back`` or ``deposit kept`` on one that is off.
    way : str
        One of `collop.shop.week_tables.PAYMENT_WAYS`.
    amount : Money or None
        Left out, all of it; cash is rounded as the slip says.
    note : str
        At most 150 letters, and no number of a card.
    given : Money or None
        Cash laid on the counter.

    Raises
    ------
    NotFound
        If there is no such booking.
    WrongState
        If this kind of money does not go with its state, or nothing is due.
    BadValue
        If it is more than is due, or cannot be read.
    """
    found = money_of(act.conn, [number], act.settings).get(number)
    if found is None:
        raise NotFound(f"There is no booking {booking_id(number)}; look it up by name.",
                       where="booking")  # fmt: skip
    if what in PAYMENT_KINDS:
        most = _most(found, what, way)
        amount = most if amount is None else amount
        if amount.currency == most.currency and amount > most:
            raise BadValue(f"{amount} is more than the {most} that is open on {found.booking_id};"
                           " note at most that.", where="amount")  # fmt: skip
    write_payment(act, number, what, way, amount or Money(0, act.settings.currency), note=note,
                  given=given)  # fmt: skip


_FITS: Mapping[str, tuple[State, ...]] = {
    # taken off at hand-over, or given back, it may be noted after that too: it came in
    "deposit": (State.ASKED, State.BOOKED, State.CUT, State.PACKED, State.GONE, State.OFF),
    "payment": (State.GONE,),
    "given back": (State.GONE, State.OFF),
    "deposit kept": (State.OFF,),
}


def _most(found: SlipMoney, what: str, way: str) -> Money:
    """Return the most that may be noted of one kind."""
    if found.state not in _FITS[what]:
        states = " or ".join(_FITS[what])
        raise WrongState(f"{found.booking_id} is {found.state}; {what} is noted on one that is"
                         f" {states}.", where="what")  # fmt: skip
    if way == "account" and what != "payment":
        raise BadValue("Only what is to pay goes on account; choose cash, card or other.",
                       where="way")  # fmt: skip
    if what == "deposit":
        most = found.deposit_due
    elif what == "payment":
        most = found.open if way == "account" else found.due
    else:
        most = found.due * -1
    if way == "cash" and what in {"payment", "given back"}:
        rounded = cash_total(most if what == "payment" else found.due, found.cash_rule).to_pay
        most = rounded if what == "payment" else rounded * -1
    if most.minor <= 0:
        raise WrongState(f"Nothing of that kind is open on {found.booking_id}; look at its slip.",
                         where="what")  # fmt: skip
    return most


def give_back(act: Act, number: int, way: str | None, *, note: str) -> None:
    """Note that what is owed on a slip is given back; nothing where nothing is owed.

    Parameters
    ----------
    act : Act
        The write in progress.
    number : int
        Of the booking.
    way : str or None
        How; None for each way it was paid, as far as it was paid so.
    note : str
        A few words beside it.

    Raises
    ------
    BadValue
        If there is no such way, or money cannot go back so.
    """
    # cash last: it alone is rounded, by what is left
    for one in ("card", "other", "cash") if way is None else (way,):
        found = money_of(act.conn, [number], act.settings)[number]
        owed = found.due * -1
        if one == "cash":  # a cent or two that cash cannot pay stay on the slip
            owed = cash_total(found.due, found.cash_rule).to_pay * -1
        if way is None:
            came = found.noted("deposit", one) + found.noted("payment", one)
            owed = min(owed, came - found.noted("given back", one))
        if owed.minor > 0:
            note_payment(act, number, "given back", one, owed, note=note)


def deposit_word(conn: Connection, number: int, now: datetime, chosen: Settings) -> DepositWord:
    """Return what the shop's written rule says of the deposit of a booking that goes off.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    number : int
        Of the booking; one that is off already counts as taken off when it was.
    now : datetime
        When it is taken off, else.
    chosen : Settings
        The rule: hours before collection, and the share that is kept after that.

    Raises
    ------
    NotFound
        If there is no such booking.
    """
    row = conn.execute(select(bookings).where(bookings.c.number == number)).first()
    if row is None:
        raise NotFound(f"There is no booking {booking_id(number)}; look it up by name.",
                       where="booking")  # fmt: skip
    off = conn.scalar(
        select(booking_events.c.at)
        .where(booking_events.c.booking_number == number, booking_events.c.state == State.OFF)
        .order_by(booking_events.c.seq.desc())
        .limit(1)
    )
    when = off or now
    paid = Money(row.deposit, chosen.currency)
    in_time = when <= row.collect_at - timedelta(hours=chosen.deposit_hours)
    share = Fraction(0) if in_time else Fraction(chosen.deposit_kept)
    keep = Money(round_fraction(paid.minor * share, chosen.rounding), chosen.currency)
    said = chosen.deposit_words or rule_words(chosen)
    side = "in time" if in_time else "later than that"
    ended = f"{booking_id(number)}, for {row.collect_at:%a %d %b %H:%M}, is off at {when:%a %H:%M}"
    what = (
        f"{ended}, {side}: of {paid}, {paid - keep} is given back and {keep} kept."
        if paid.minor else f"{ended}; no deposit was paid."
    )  # fmt: skip
    return DepositWord(f"{said} {what}", paid, paid - keep, keep)


def rule_words(chosen: Settings) -> str:
    """Return the deposit rule in a sentence made from its figures."""
    percent = f"{(chosen.deposit_kept * 100).normalize():f}"
    return (
        f"Up to {chosen.deposit_hours} hours before collection the whole deposit is given back;"
        f" after that {percent} % of it is kept."
    )
