"""What there is to say of an animal: what carried it, what it lost, and how the last ones did."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from collop.measures import Money, Weight, decimal_of
from collop.shop.reckoning_model import AnimalRow, Short, SoldLine

__all__ = ["MOST_BEFORE", "say_of"]

#: With so many of the last animals of its farm an animal is compared.
MOST_BEFORE = 5
_CARRIERS = 3


def say_of(row: AnimalRow, before: Sequence[AnimalRow], short: Sequence[Short]) -> tuple[str, ...]:
    """Return sentences on one animal.

    Parameters
    ----------
    row : AnimalRow
        The animal.
    before : sequence of AnimalRow
        The last animals of its farm and species that came before it, newest first.
    short : sequence of Short
        What it was short of.
    """
    return (
        *_cost(row), *_carried(row), *_lost(row, short), *_left(row), *_compared(row, before),
    )  # fmt: skip


def _money(money: Money) -> str:
    return f"{money.decimal():,.2f}"


def _pounds(weight: Weight) -> str:
    return weight.text(weight.unit, 1)


def _pct(part: int, whole: int) -> str:
    return f"{decimal_of(Fraction(100 * part, whole), 0):f} %"


def _cost(row: AnimalRow) -> Iterator[str]:
    if row.cost is None or row.invoice is None or row.haulage is None or row.labour is None:
        yield row.unknown
        return
    parts = [f"invoice {_money(row.invoice)}", f"haulage {_money(row.haulage)}"]
    parts.append(f"labour {_money(row.labour)}" if row.labour.minor else "no labour yet")
    yield (f"{row.tag} cost {_money(row.cost)} for {_pounds(row.weighed)}: {', '.join(parts)}.")


def _carried(row: AnimalRow) -> Iterator[str]:
    if not row.sold.minor:
        yield "Nothing of it is sold yet."
        return
    told = f"Sold so far: {_money(row.sold)} for {_pounds(row.sold_weight)}"
    if row.cost is None or row.result is None or not row.cost.minor:
        yield f"{told}."
    elif row.result.minor < 0:
        back = _pct(row.sold.minor, row.cost.minor)
        yield f"{told}, which pays back {back} of the cost; {_money_off(row.result)} is to come."
    else:
        yield f"{told}: it has paid for itself and {_money(row.result)} more."
    names = [_line(one, row) for one in row.lines[:_CARRIERS] if one.money.minor > 0]
    if names:
        yield f"What carried it: {'; '.join(names)}."


def _money_off(money: Money) -> str:
    return f"{-money.decimal():,.2f}"


def _line(one: SoldLine, row: AnimalRow) -> str:
    share = _pct(one.money.minor, row.sold.minor)
    return f"{one.name} {_money(one.money)} from {_pounds(one.weight)}, {share}"


def _lost(row: AnimalRow, short: Sequence[Short]) -> Iterator[str]:
    lost = []
    if row.air.count:
        paid = "" if row.air_money is None else f", {_money(row.air_money)} of what was paid"
        lost.append(f"{_pounds(row.air)} to air ({row.air_pct} %{paid})")
    if row.binned.count:
        paid = "" if row.binned_money is None else f" ({_money(row.binned_money)})"
        lost.append(f"{_pounds(row.binned)} to the bin{paid}")
    yield f"It lost {' and '.join(lost)}." if lost else "It lost nothing to air or the bin."
    for one in short:
        why = f": {one.why}" if one.why else ""
        yield (
            f"{one.name} of {one.booking_id} was {one.short.text(one.short.unit, 2)} short "
            f"({one.reason}{why})."
        )


def _left(row: AnimalRow) -> Iterator[str]:
    if not row.left.count:
        yield "Nothing of it is left."
        return
    cost = "" if row.left_cost is None else f" that cost {_money(row.left_cost)}"
    then = ""
    if row.if_sold is not None:
        ahead = row.if_sold.minor >= 0
        amount = (
            f"ahead by {_money(row.if_sold)}" if ahead else f"behind by {_money_off(row.if_sold)}"
        )
        then = f"; if it sells so, {row.tag} ends {amount}, less the cutting still to do"
    yield f"Left: {_pounds(row.left)}{cost}, {_money(row.left_board)} at the board{then}."
    if row.left_unpriced.count:
        yield (
            f"{_pounds(row.left_unpriced)} of what is left has no price on the board and counts"
            " at what was paid."
        )
    if row.left_past.count:
        yield f"{_pounds(row.left_past)} is past its use-by and counts nothing."


def _mean(values: Sequence[Fraction]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)


def _compared(row: AnimalRow, before: Sequence[AnimalRow]) -> Iterator[str]:
    if not before:
        yield f"It is the first {row.species} of {row.farm} that is written down here."
        return
    those = f"the last {len(before)} before it" if len(before) > 1 else "the one before it"
    air = decimal_of(_mean([Fraction(one.air_pct) for one in before]), 1)
    yield (f"Against {those} of {row.farm}: {row.air_pct} % lost to air, then {air} %.")
    then = [Fraction(one.if_sold_pct) for one in before if one.if_sold_pct is not None]
    if then and row.if_sold_pct is not None:
        yield (
            f"If what is left sells, {row.if_sold_pct} % over its cost; then"
            f" {decimal_of(_mean(then), 1)} %."
        )
