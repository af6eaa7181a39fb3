"""Worked examples of how much to put out when the demand is not known, as published."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["NEWSVENDOR_CASES", "NewsvendorRow", "newsvendor_rows"]

# a figure printed to one place is its own rounding when it is within this of the expected one
_ROUNDING = Decimal("0.05")


def _figure(name: str, *, required: bool = True, high: int = 100_000) -> Column:
    return Column(name, kind=Kind.DECIMAL, required=required, low=0, high=high)


NEWSVENDOR_CASES = Table(
    "pricing/newsvendor_cases.csv",
    (
        Column("case_id", required=True),
        _figure("price"),
        _figure("cost"),
        _figure("salvage"),
        _figure("underage"),
        _figure("overage"),
        _figure("critical_ratio", high=1),
        _figure("published_critical_ratio", required=False, high=1),
        Column("dist", required=True, choices=("normal", "uniform")),
        _figure("a"),
        _figure("b"),
        _figure("published_q", required=False),
        _figure("expected_q"),
    ),
    key="case_id",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewsvendorRow(Row):
    """One worked example.

    Parameters
    ----------
    case_id : str
        E.g. ``NV01``.
    price, cost, salvage, underage, overage : Decimal
        Money a unit.
    critical_ratio : Decimal
        Underage / (underage + overage), from 0 to 1.
    distribution : str
        ``normal``: `a` is the mean, `b` the standard deviation; ``uniform``: `a` is the least,
        `b` the most.
    a, b : Decimal
        Units.
    printed_ratio, printed : Decimal or None
        Critical ratio and quantity of the publication.
    expected : Decimal
        The quantity that the inputs give.
    """

    case_id: str
    price: Decimal
    cost: Decimal
    salvage: Decimal
    underage: Decimal
    overage: Decimal
    critical_ratio: Decimal
    distribution: str
    a: Decimal
    b: Decimal
    printed_ratio: Decimal | None
    printed: Decimal | None
    expected: Decimal

    @property
    def is_misprinted(self) -> bool:
        """Tell whether the printed quantity does not follow from its inputs."""
        return self.printed is not None and abs(self.printed - self.expected) > _ROUNDING


@cache
def newsvendor_rows() -> tuple[NewsvendorRow, ...]:
    """Return the worked examples in the order of the table."""
    figures = ("price", "cost", "salvage", "underage", "overage", "critical_ratio", "a", "b")
    return tuple(
        NewsvendorRow(
            case_id=cells.text("case_id"),
            **{name: cells.decimal(name) for name in figures},
            distribution=cells.text("dist"),
            printed_ratio=cells.decimal_or_none("published_critical_ratio"),
            printed=cells.decimal_or_none("published_q"),
            expected=cells.decimal("expected_q"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(NEWSVENDOR_CASES)
    )
