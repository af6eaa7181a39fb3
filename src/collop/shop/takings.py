"""The money of a day: slips, returns, deposits and ways of paying; and who pays later."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Money, sum_money
from collop.rules.taxing import ClassTax
from collop.shop.day_tables import slip_totals
from collop.shop.hook import booking_id
from collop.shop.model import Settings, State
from collop.shop.payments import load_payments, money_of
from collop.shop.returning import returned_between
from collop.shop.selling_model import BackNotNoted, OnAccount, Payment, Takings, TakingsSlip
from collop.shop.tables import slips
from collop.shop.till import class_of
from collop.shop.week_tables import PAYMENT_WAYS, payments

__all__ = ["accounts_of", "takings_of", "whole_day"]


def _slips(
    conn: Connection, start: datetime, end: datetime
) -> dict[int, tuple[Mapping[str, Any], ...]]:
    """Return the bookings with a slip in a span, in order, with the taxes charged."""
    rows = conn.execute(
        select(slips.c.booking_number, slip_totals.c.taxes)
        .outerjoin(slip_totals, slip_totals.c.slip_number == slips.c.number)
        .where(slips.c.at >= start, slips.c.at < end)
        .order_by(slips.c.at, slips.c.number)
    )
    return {row.booking_number: tuple(row.taxes or ()) for row in rows}


def _by_class(slips_of: Iterable[TakingsSlip], currency: str) -> tuple[ClassTax, ...]:
    """Add up what each class, at each rate, was charged."""
    found: dict[tuple[str, Fraction | None], list[ClassTax]] = defaultdict(list)
    for slip in slips_of:
        for one in slip.taxes:
            found[one.name, one.percent].append(one)
    return tuple(
        ClassTax(
            name=name, percent=percent, base=sum_money((one.base for one in parts), currency),
            tax=sum_money((one.tax for one in parts), currency),
        )
        for (name, percent), parts in sorted(found.items(), key=lambda item: item[0][0])
    )  # fmt: skip


def _noted(conn: Connection, start: datetime, end: datetime, currency: str) -> list[Payment]:
    at = payments.c.at
    numbers = conn.scalars(
        select(payments.c.booking_number).where(at >= start, at < end).distinct()
    ).all()
    found = load_payments(conn, numbers, currency)
    return [one for some in found.values() for one in some if start <= one.at < end]


def _sum(noted: Iterable[Payment], currency: str, what: str, way: str = "") -> Money:
    amounts = (one.amount for one in noted if one.what == what and way in {"", one.way})
    return sum_money(amounts, currency)


def whole_day(day: date) -> tuple[datetime, datetime]:
    """Return the first moment of a day, and the first that is not of it any more."""
    start = datetime.combine(day, time.min)
    # the last day of the calendar has no next one
    return start, start + (timedelta(days=1) if day < date.max else timedelta(hours=23))


def takings_of(conn: Connection, day: date, chosen: Settings) -> Takings:
    """Return the money of one day; what is due of its slips is due now.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    day : date
        Slips, returns and payments written on it count.
    chosen : Settings
        Currency of the shop.
    """
    start, end = whole_day(day)
    unit = chosen.currency
    charged = _slips(conn, start, end)
    money = money_of(conn, list(charged), chosen)
    found = tuple(
        TakingsSlip(money[number], tuple(class_of(one, unit) for one in kept))
        for number, kept in charged.items()
    )
    noted = _noted(conn, start, end, unit)
    back = returned_between(conn, start, end, unit)
    own = {booking_id(number) for number in charged}
    paid_in = [one for one in noted if one.what in {"deposit", "payment"}]
    paid_out = [one for one in noted if one.what == "given back"]
    ways = {
        way: (sum_money((one.amount for one in paid_in if one.way == way), unit),
              _sum(paid_out, unit, "given back", way))
        for way in PAYMENT_WAYS
    }  # fmt: skip
    earlier = (
        one.amount for one in noted
        if one.what == "payment" and one.way != "account" and one.booking_id not in own
    )  # fmt: skip
    off, back_not_noted = _gone_off(conn, noted, chosen)
    return Takings(
        day=day, slips=found, returns=back,
        lines=sum_money((one.money.lines for one in found), unit),
        tax=sum_money((one.money.tax for one in found), unit),
        total=sum_money((one.money.total for one in found), unit),
        taxes=_by_class(found, unit),
        returned=sum_money((one.money for one in back), unit),
        returned_tax=sum_money((one.tax for one in back), unit),
        ways=ways, deposits_taken=_sum(noted, unit, "deposit"),
        deposits_used=sum_money((one.money.deposit for one in found), unit),
        deposits_back=sum_money((one.amount for one in off), unit),
        deposits_kept=_sum(noted, unit, "deposit kept"),
        earlier=sum_money(earlier, unit),
        rounding=sum_money((one.money.rounding for one in found), unit),
        drawer=ways["cash"][0] - ways["cash"][1], back_not_noted=back_not_noted,
    )  # fmt: skip


def _gone_off(
    conn: Connection, noted: Sequence[Payment], chosen: Settings
) -> tuple[list[Payment], tuple[BackNotNoted, ...]]:
    """Return what was given back on bookings that are off, and what of it never came in."""
    back = [one for one in noted if one.what == "given back"]
    numbers = sorted({int(one.booking_id[1:]) for one in back})
    by_id = {one.booking_id: one for one in money_of(conn, numbers, chosen).values()}
    off = [one for one in back if by_id[one.booking_id].state == State.OFF]
    found = []
    for name in dict.fromkeys(one.booking_id for one in off):
        whole, here = by_id[name], [one for one in off if one.booking_id == name]
        went = sum_money((one.amount for one in here), chosen.currency)
        # what came in on it is not missing, nor what went out on another day
        missing = min(whole.noted("given back") - whole.noted("deposit"), went)
        if missing.minor > 0:
            in_cash = any(one.way == "cash" for one in here)
            found.append(BackNotNoted(name, whole.name, missing, in_cash))
    return off, tuple(found)


def accounts_of(conn: Connection, chosen: Settings) -> tuple[OnAccount, ...]:
    """Return who has slips to pay later, by name, each with the slips not paid yet."""
    numbers = conn.scalars(
        select(payments.c.booking_number)
        .where(payments.c.way == "account")
        .distinct()
        .order_by(payments.c.booking_number)
    ).all()
    found: dict[str, list[Any]] = defaultdict(list)
    names: dict[str, str] = {}
    for one in money_of(conn, numbers, chosen).values():
        if one.on_account.minor:
            name = names.setdefault(one.name.casefold(), one.name)
            found[name].append(one)
    return tuple(OnAccount(name, tuple(found[name])) for name in sorted(found, key=str.casefold))
