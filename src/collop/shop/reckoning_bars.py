"""The waterfall of one animal: from what was paid, through what was sold, to the result."""

from __future__ import annotations

from fractions import Fraction

from collop.measures import Money, Weight
from collop.shop.made_of import apportion
from collop.shop.reckoning_model import AnimalRow, Bar

__all__ = ["MOST_LINES", "bars_of"]

#: So many lines of the case stand by themselves; the rest is one bar.
MOST_LINES = 6


def _paid(row: AnimalRow) -> list[tuple[str, str, int, Weight | None]]:
    """Return invoice and haulage in four: what was kept of each, lost to air, and binned."""
    assert row.invoice is not None
    assert row.haulage is not None
    assert row.air_money is not None
    assert row.binned_money is not None
    paid = row.invoice.minor + row.haulage.minor
    air, binned = row.air_money.minor, row.binned_money.minor
    kept = max(0, paid - air - binned)
    # both rounded by themselves: of an animal all of which is lost a cent may be too much
    binned = paid - air - kept
    invoice, haulage = apportion(kept, [Fraction(row.invoice.minor), Fraction(row.haulage.minor)])
    return [
        ("Invoice, for what was kept", "cost", invoice, row.weighed - row.air - row.binned),
        ("Haulage, for what was kept", "cost", haulage, None),
        ("Lost to air", "air", air, row.air),
        ("Binned", "bin", binned, row.binned),
    ]


def _sold(row: AnimalRow) -> list[tuple[str, int, Weight]]:
    found = [(one.name, one.money.minor, one.weight) for one in row.lines]
    if len(found) <= MOST_LINES + 1:
        return found
    rest = found[MOST_LINES:]
    weight = Weight(sum(one[2].count for one in rest), row.weighed.unit)
    return [*found[:MOST_LINES],
            (f"{len(rest)} more lines", sum(one[1] for one in rest), weight)]  # fmt: skip


def bars_of(row: AnimalRow) -> tuple[Bar, ...]:
    """Return the steps from cost to result; none of an animal whose cost is not known.

    What was paid goes down, what was sold goes up to the result so far; what is left at the board
    goes on from there to the result if it sells so.
    """
    if row.cost is None or row.result is None or row.if_sold is None or row.labour is None:
        return ()
    currency = row.cost.currency
    steps: list[tuple[str, str, int, Weight | None]] = [
        (name, kind, -minor, weight) for name, kind, minor, weight in _paid(row) if minor
    ]
    if row.labour.minor:
        steps.append(("Labour at the block", "labour", -row.labour.minor, None))
    steps += [(f"Sold: {name}", "sold", minor, weight) for name, minor, weight in _sold(row)]
    found, at = [], 0

    def bar(name: str, kind: str, start: int, end: int, weight: Weight | None) -> Bar:
        return Bar(name, kind, Money(end - start, currency), Money(start, currency),
                   Money(end, currency), weight)  # fmt: skip

    for name, kind, minor, weight in steps:
        found.append(bar(name, kind, at, at + minor, weight))
        at += minor
    found.append(bar("Result so far", "result", 0, at, None))
    if row.left.count:
        found.append(bar("Left, at the board", "left", at, at + row.left_board.minor, row.left))
        found.append(bar("Result if it sells so", "result", 0, row.if_sold.minor, None))
    return tuple(found)
