"""Joint costs shared out, by-products, margins and mark-ups as published.

Each printed figure stands beside the one that its own inputs give; `check` says how they compare,
in the words of `collop.reference.cuttingtests.CHECKS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.cuttingtests import CHECKS
from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["JOINT_COSTS", "JointCostRow", "joint_cost_rows"]


def _figure(name: str, *, low: int = 0, high: int = 1_000_000) -> Column:
    return Column(name, kind=Kind.DECIMAL, low=low, high=high)


JOINT_COSTS = Table(
    "pricing/joint_cost.csv",
    (
        Column("example_id", required=True),
        Column("method", required=True),
        Column("product"),
        _figure("quantity"),
        Column("unit"),
        _figure("unit_price"),
        _figure("sales_value"),
        _figure("separable_cost"),
        _figure("joint_cost_total"),
        Column("result_name", required=True),
        _figure("result_value", low=-1_000_000),
        _figure("expected", low=-1_000_000),
        Column("check", required=True, choices=CHECKS),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class JointCostRow(Row):
    """One figure of a published example.

    Parameters
    ----------
    example_id : str
        Lines of one example share it, e.g. ``JC01``.
    method, product, unit, result_name : str
        As in the table; `unit` is of `quantity`.
    quantity, unit_price, sales_value, separable_cost, joint_cost_total : Decimal or None
        Inputs of the example: `unit`, money a `unit`, money, money, money.
    printed : Decimal or None
        The figure of the publication.
    expected : Decimal or None
        The figure that the inputs give.
    check : str
        How the two compare.
    """

    example_id: str
    method: str
    product: str
    unit: str
    result_name: str
    quantity: Decimal | None
    unit_price: Decimal | None
    sales_value: Decimal | None
    separable_cost: Decimal | None
    joint_cost_total: Decimal | None
    printed: Decimal | None
    expected: Decimal | None
    check: str

    @property
    def is_misprinted(self) -> bool:
        """Tell whether the printed figure does not follow from its inputs; never use it then."""
        return self.check in ("slip", "near")


@cache
def _rows() -> tuple[JointCostRow, ...]:
    texts = ("example_id", "method", "product", "unit", "result_name", "check")
    return tuple(
        JointCostRow(
            **{name: cells.text(name) for name in texts},
            quantity=cells.decimal_or_none("quantity"),
            unit_price=cells.decimal_or_none("unit_price"),
            sales_value=cells.decimal_or_none("sales_value"),
            separable_cost=cells.decimal_or_none("separable_cost"),
            joint_cost_total=cells.decimal_or_none("joint_cost_total"),
            printed=cells.decimal_or_none("result_value"),
            expected=cells.decimal_or_none("expected"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(JOINT_COSTS)
    )


def joint_cost_rows(example_id: str = "", *, method: str = "") -> tuple[JointCostRow, ...]:
    """Return the figures of the published examples, in the order of the table.

    Parameters
    ----------
    example_id : str
        E.g. ``JC01``; every example if empty.
    method : str
        E.g. ``physical measure``; every method if empty.
    """
    return tuple(
        row for row in _rows() if example_id in ("", row.example_id) and method in ("", row.method)
    )
