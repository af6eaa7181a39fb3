"""What comes back over the glass: never sold again, so it goes from sold to the bin.

Money back is line price times weight, rounded once by the named rule. Of several returns of one
line each is the step from the sum before to the sum after, so that all of it back is exactly what
was charged. Tax back is what was charged less the tax on what stays with the customer.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from sqlalchemy import Select, func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, Weight, WeightUnit, round_fraction
from collop.rules.taxing import TaxClass, TaxLine, taxes
from collop.shop.acts import Act
from collop.shop.day_tables import slip_totals
from collop.shop.hook import booking_id
from collop.shop.ledger import CAME_BACK, Pick, move
from collop.shop.lines import priced_of
from collop.shop.money_words import checked_words
from collop.shop.selling_model import Returned
from collop.shop.store import AnyRow
from collop.shop.tables import (
    booking_lines,
    bookings,
    case_lines,
    ledger_entries,
    slip_lines,
    slips,
)
from collop.shop.till import tax_names
from collop.shop.week_tables import returned_lines

__all__ = ["return_faults", "returned_between", "returned_of", "returned_sales", "take_back",
           "take_back_all"]  # fmt: skip

_LINE = re.compile(r"[Hh]([1-9][0-9]{0,14})-([1-9][0-9]{0,3})", re.ASCII)
_LONGEST_WHY = 200
_entry = ledger_entries.c


@dataclass(frozen=True, slots=True)
class _Before:
    """What came back of one line before: counts and minor units."""

    weight: int
    money: int


def _returned(row: AnyRow, currency: str) -> Returned:
    return Returned(
        line_id=f"{booking_id(row.booking_number)}-{row.position}", case_id=row.case_id,
        name=row.name, weight=Weight(row.weight, WeightUnit(row.unit)),
        money=Money(row.money, currency), tax=Money(row.tax, currency), why=row.why, at=row.at,
        by=row.by_id,
    )  # fmt: skip


def _query() -> Select[Any]:
    return (
        select(
            returned_lines, booking_lines.c.booking_number, booking_lines.c.position,
            booking_lines.c.case_id, case_lines.c.name,
        )
        .join(booking_lines, booking_lines.c.id == returned_lines.c.booking_line_id)
        .join(case_lines, case_lines.c.id == booking_lines.c.case_id)
        .order_by(returned_lines.c.number)
    )  # fmt: skip


def returned_of(
    conn: Connection, numbers: Sequence[int], currency: str
) -> dict[int, list[Returned]]:
    """Return what came back of bookings and sales, by number, oldest first."""
    found: dict[int, list[Returned]] = defaultdict(list)
    query = _query().where(booking_lines.c.booking_number.in_(list(numbers)))
    for row in conn.execute(query):
        found[row.booking_number].append(_returned(row, currency))
    return dict(found)


def returned_between(
    conn: Connection, start: datetime, end: datetime, currency: str
) -> tuple[Returned, ...]:
    """Return what came back from `start` up to, and without, `end`, oldest first."""
    at = returned_lines.c.at
    rows = conn.execute(_query().where(at >= start, at < end))
    return tuple(_returned(row, currency) for row in rows)


def _sold_line(conn: Connection, name: str) -> AnyRow:
    match = _LINE.fullmatch(name.strip())
    if match is None:
        raise NotFound(f"{name[:40]!r} is no line of a slip; write it like H30-1.", where="line")
    number, position = int(match[1]), int(match[2])
    row = conn.execute(
        select(booking_lines, case_lines.c.name, slip_lines.c.weighed,
               slip_lines.c.unit.label("weighed_unit"), slip_lines.c.line_total.label("charged"),
               slip_lines.c.slip_number)
        .join(case_lines, case_lines.c.id == booking_lines.c.case_id)
        .outerjoin(slip_lines, slip_lines.c.booking_line_id == booking_lines.c.id)
        .where(booking_lines.c.booking_number == number, booking_lines.c.position == position)
    ).first()  # fmt: skip
    if row is None:
        raise NotFound(f"There is no line {name[:40]!r}; look at the slip again.", where="line")
    if row.weighed is None:
        raise WrongState(f"{booking_id(number)} has not gone, so nothing of it can come back.",
                         where="line")  # fmt: skip
    return row


def _before(conn: Connection, line_id: int) -> _Before:
    back = returned_lines.c
    row = conn.execute(
        select(func.coalesce(func.sum(back.weight), 0), func.coalesce(func.sum(back.money), 0))
        .where(back.booking_line_id == line_id)
    ).one()  # fmt: skip
    return _Before(int(row[0]), int(row[1]))


def take_back(act: Act, line_name: str, weight: Weight | None, why: str) -> int:
    """Take weight of a sold line back within an act and return the number of its booking.

    Parameters
    ----------
    act : Act
        The write in progress.
    line_name : str
        Line of a slip, such as ``H30-1``.
    weight : Weight or None
        What comes back; None for all that is still out.
    why : str
        1 to 200 letters; it stays with the record.

    Raises
    ------
    NotFound, WrongState
        If there is no such line, or it has not gone.
    BadValue
        If nothing, or more than is still out, comes back, or no reason is given.
    """
    plain = checked_words(why, "why", _LONGEST_WHY)
    if not plain:
        raise BadValue(f"Why: say why it comes back, in 1 to {_LONGEST_WHY} letters.", where="why")
    row = _sold_line(act.conn, line_name)
    before, unit = _before(act.conn, row.id), WeightUnit(row.weighed_unit)
    out = _still_out(act.conn, row.id)
    count = out if weight is None else weight.count
    if not 0 < count <= out:
        raise BadValue(
            f"{row.name}: {Weight(out, unit).text()} of it is still out, so more than 0 and at most"
            " that can come back; weigh it again.",
            where="weight",
        )
    step = row.charged
    if count < out:
        # bone that was taken out for the customer is paid for, and cannot come back
        share = Fraction(row.weighed, out + before.weight)
        price = priced_of(row, row.name, act.settings.currency).unit_price
        exact = Weight(before.weight + count, unit).exact(price.per) * price.minor * share
        step = min(round_fraction(exact, act.settings.rounding), row.charged)
    money = max(0, step - before.money)
    _move_back(act, row.id, count)
    tax = _tax_back(act, row.slip_number, row.id, money)
    act.conn.execute(
        insert(returned_lines).values(
            booking_line_id=row.id, weight=count, unit=row.weighed_unit, money=money, tax=tax,
            why=plain, at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    return int(row.booking_number)


def take_back_all(act: Act, number: int, why: str) -> int:
    """Take back all that is still out of a slip, line by line; return how many lines.

    Parameters
    ----------
    act : Act
        The write in progress.
    number : int
        Of the sale, or of a booking that has gone.
    why : str
        1 to 200 letters; it stays with each line.

    Raises
    ------
    NotFound, WrongState
        If there is no such booking, or it has not gone.
    BadValue
        If nothing of it is out any more, or no reason is given.
    """
    name = booking_id(number)
    if act.conn.scalar(select(bookings.c.number).where(bookings.c.number == number)) is None:
        raise NotFound(f"There is no slip {name}; look at the takings of the day.", where="line")
    rows = act.conn.execute(
        select(booking_lines.c.id, booking_lines.c.position)
        .join(slip_lines, slip_lines.c.booking_line_id == booking_lines.c.id)
        .where(booking_lines.c.booking_number == number)
        .order_by(booking_lines.c.position)
    ).all()
    if not rows:
        raise WrongState(f"{name} has not gone, so nothing of it can come back.", where="line")
    out = [row for row in rows if _still_out(act.conn, row.id)]
    if not out:
        raise BadValue(f"All of {name} is back already; look at its slip.", where="line")
    for row in out:
        take_back(act, f"{name}-{row.position}", None, why)
    return len(out)


def _still_out(conn: Connection, line_id: int) -> int:
    """Return what of a line the customer has, in counts."""
    sold = select(func.coalesce(func.sum(_entry.delta), 0)).where(
        _entry.booking_line_id == line_id, _entry.place == "sold"
    )
    return int(conn.scalar(sold) or 0)


def _move_back(act: Act, line_id: int, count: int) -> None:
    """Bin what came back: all of the line as it went, or a like share of each of its lots."""
    rows = act.conn.execute(
        select(_entry.lot_id, _entry.piece_id, func.min(_entry.unit).label("unit"),
               func.sum(_entry.delta).label("total"))
        .where(_entry.booking_line_id == line_id, _entry.place == "sold")
        .group_by(_entry.lot_id, _entry.piece_id)
        .having(func.sum(_entry.delta) != 0)
        .order_by(_entry.lot_id, _entry.piece_id)
    ).all()  # fmt: skip
    picks = [Pick(row.lot_id, int(row.total), row.unit, row.piece_id) for row in rows]
    there = sum(one.count for one in picks)
    if count < there or any(one.count < 0 for one in picks):
        # pieces stay whole where they were sold: what came back is weight of their lots
        picks = _shares(picks, count)
    move(act, picks, ("sold", "bin"), CAME_BACK, line_id)


def _shares(picks: Sequence[Pick], count: int) -> list[Pick]:
    """Share what came back out over the lots by what is out of each.

    Nobody knows of which lot it is, so every lot counts as out until all of the line is back.
    """
    lots: dict[str, Pick] = {}
    for one in picks:
        held = lots.get(one.lot_id, Pick(one.lot_id, 0, one.unit))
        lots[one.lot_id] = replace(held, count=held.count + one.count)
    there = sum(one.count for one in lots.values())
    parts = {name: one.count * count // there for name, one in lots.items()}
    rest = count - sum(parts.values())
    for name, one in sorted(lots.items(), key=lambda item: -item[1].count):
        more = min(rest, one.count - parts[name])
        parts[name] += more
        rest -= more
    return [replace(one, count=parts[name]) for name, one in lots.items() if parts[name]]


def _tax_back(act: Act, slip_number: int, line_id: int, money: int) -> int:
    """Return the tax charged and not given back yet, less the tax on what stays."""
    charged = act.conn.execute(
        select(slip_totals).where(slip_totals.c.slip_number == slip_number)
    ).first()
    if charged is None or not charged.tax:
        return 0
    at = act.conn.scalar(select(slips.c.at).where(slips.c.number == slip_number))
    kept, given = _kept_lines(act.conn, slip_number)
    kept[line_id] = (kept[line_id][0], kept[line_id][1] - money)
    left = int(charged.tax) - given
    if not any(minor for _, minor in kept.values()):
        return left
    names = tax_names(act.conn, act.settings, {case for case, _ in kept.values()}, until=at)
    rates = [
        TaxClass(name=one["class"], percent=Fraction(one["percent"]))
        for one in charged.taxes if one["percent"] is not None
    ]  # fmt: skip
    currency = act.settings.currency
    stays = taxes(
        [TaxLine(names[case], Money(minor, currency)) for case, minor in kept.values() if minor],
        rates, on=act.at.date(), per=act.settings.tax_per, rule=act.settings.rounding,
        currency=currency,
    )  # fmt: skip
    return max(0, left - stays.tax.minor)


def _kept_lines(conn: Connection, slip_number: int) -> tuple[dict[int, tuple[str, int]], int]:
    """Return for each line of a slip its case line and the money that stays; and the tax back."""
    back = (
        select(returned_lines.c.booking_line_id, func.sum(returned_lines.c.money).label("money"),
               func.sum(returned_lines.c.tax).label("tax"))
        .group_by(returned_lines.c.booking_line_id)
        .subquery()
    )  # fmt: skip
    rows = conn.execute(
        select(slip_lines.c.booking_line_id, slip_lines.c.line_total, booking_lines.c.case_id,
               func.coalesce(back.c.money, 0).label("money"),
               func.coalesce(back.c.tax, 0).label("tax"))
        .join(booking_lines, booking_lines.c.id == slip_lines.c.booking_line_id)
        .outerjoin(back, back.c.booking_line_id == slip_lines.c.booking_line_id)
        .where(slip_lines.c.slip_number == slip_number)
    ).all()  # fmt: skip
    kept = {row.booking_line_id: (row.case_id, row.line_total - int(row.money)) for row in rows}
    return kept, sum(int(row.tax) for row in rows)


def returned_sales(
    conn: Connection, start: datetime, end: datetime
) -> dict[tuple[str, date], tuple[int, int]]:
    """Return what came back of the slips of a span, by line of the case and day of the slip.

    Weight is that of the slip, in counts, with bone that was paid for; money in minor units.
    """
    back = returned_lines.c
    sums = (
        select(back.booking_line_id, func.sum(back.weight).label("weight"),
               func.sum(back.money).label("money"))
        .group_by(back.booking_line_id)
        .subquery()
    )  # fmt: skip
    rows = conn.execute(
        select(slips.c.at, slip_lines.c.weighed, booking_lines.c.case_id, sums)
        .join(slip_lines, slip_lines.c.slip_number == slips.c.number)
        .join(booking_lines, booking_lines.c.id == slip_lines.c.booking_line_id)
        .join(sums, sums.c.booking_line_id == slip_lines.c.booking_line_id)
        .where(slips.c.at >= start, slips.c.at < end)
    )
    found: dict[tuple[str, date], tuple[int, int]] = {}
    for row in rows.all():
        whole = int(row.weight) + _still_out(conn, row.booking_line_id)
        weight = round_fraction(Fraction(int(row.weight) * row.weighed, whole))
        key = (row.case_id, row.at.date())
        before = found.get(key, (0, 0))
        found[key] = (before[0] + weight, before[1] + int(row.money))
    return found


def return_faults(conn: Connection) -> Iterator[str]:
    """Yield a sentence for each line of which more came back than went, in weight or money."""
    back = returned_lines.c
    rows = conn.execute(
        select(booking_lines.c.booking_number, booking_lines.c.position, slip_lines.c.weighed,
               slip_lines.c.line_total, func.sum(back.weight).label("weight"),
               func.sum(back.money).label("money"))
        .join(booking_lines, booking_lines.c.id == back.booking_line_id)
        .join(bookings, bookings.c.number == booking_lines.c.booking_number)
        .outerjoin(slip_lines, slip_lines.c.booking_line_id == back.booking_line_id)
        .group_by(booking_lines.c.booking_number, booking_lines.c.position, slip_lines.c.weighed,
                  slip_lines.c.line_total)
    )  # fmt: skip
    for row in rows:
        name = f"{booking_id(row.booking_number)}-{row.position}"
        if int(row.weight) > (row.weighed or 0) or int(row.money) > (row.line_total or 0):
            yield f"{name}: more came back than its slip says went."
