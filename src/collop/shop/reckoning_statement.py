"""The money on the slips of a day or a week, told by animal: both sums must be the same."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Money, Weight, WeightUnit
from collop.shop.hook import booking_id
from collop.shop.model import Settings
from collop.shop.reckoning_model import AnimalShare, SlipShare, Statement
from collop.shop.reckoning_money import (
    REST,
    Split,
    lots_taken,
    made_of_animals,
    read_takings,
    split_takings,
)
from collop.shop.tables import slips
from collop.shop.week_tables import returned_lines

__all__ = ["statement"]


def statement(conn: Connection, first: date, last: date, chosen: Settings) -> Statement:
    """Return the statement of the days from `first` to `last`, both included.

    A slip counts on the day it was written, what came back on the day it came. Mince that was
    added to since tells its present mix.
    """
    start, end = datetime.combine(first, time.min), datetime.combine(last, time.min)
    until = end + timedelta(days=1)
    takings = read_takings(conn, since=start, until=until)
    taken = lots_taken(conn, takings)
    made = made_of_animals(conn, {lot for lots in taken.values() for lot in lots})
    splits = split_takings(takings, taken, made)
    slip_sum = conn.scalar(
        select(func.sum(slips.c.total)).where(slips.c.at >= start, slips.c.at < until)
    )
    back_sum = conn.scalar(
        select(func.sum(returned_lines.c.money)).where(
            returned_lines.c.at >= start, returned_lines.c.at < until
        )
    )
    shares, rest = _summed(splits, chosen)
    return Statement(
        first=first, last=last, lines=_by_slip(splits, chosen), animals=shares, rest=rest,
        slips=Money(int(slip_sum or 0), chosen.currency),
        returned=Money(int(back_sum or 0), chosen.currency),
        total=_sum([*(one.money for one in shares), rest], chosen),
    )  # fmt: skip


def _sum(amounts: Sequence[Money], chosen: Settings) -> Money:
    return Money(sum(one.minor for one in amounts), chosen.currency)


def _summed(splits: Sequence[Split], chosen: Settings) -> tuple[tuple[AnimalShare, ...], Money]:
    """Return what each animal has of some takings, most money first, and what no animal has."""
    minor: dict[str, int] = defaultdict(int)
    count: dict[str, int] = defaultdict(int)
    for one in splits:
        for tag, part in one.minor.items():
            minor[tag] += part
        for tag, part in one.count.items():
            count[tag] += part
    tags = sorted({*minor, *count} - {REST}, key=lambda tag: (-minor[tag], tag))
    shares = tuple(
        AnimalShare(tag, Money(minor[tag], chosen.currency),
                    Weight(count[tag], WeightUnit.LB))
        for tag in tags
    )  # fmt: skip
    return shares, Money(minor[REST], chosen.currency)


def _by_slip(splits: Sequence[Split], chosen: Settings) -> tuple[SlipShare, ...]:
    """Return the takings put together again: one line for each slip and each return."""
    groups: dict[tuple[int, str], list[Split]] = defaultdict(list)
    for one in splits:
        groups[one.taking.booking_number, one.taking.key].append(one)
    found = []
    for (number, _), group in groups.items():
        first = group[0].taking
        shares, rest = _summed(group, chosen)
        found.append(
            SlipShare(
                booking_id=booking_id(number), name=first.name, kind=first.kind, at=first.at,
                is_return=first.is_return, animals=shares, rest=rest,
                money=Money(sum(one.taking.minor for one in group), chosen.currency),
            )
        )  # fmt: skip
    return tuple(found)
