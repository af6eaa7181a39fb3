"""Cutting tests as published: each figure beside the one that its own inputs give.

A printed figure may be wrong; `expected` is always what the arithmetic gives, and `check` says
how the printed figure compares with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = ["CHECKS", "CUTTING_TESTS", "CuttingTestRow", "cutting_test_rows"]

#: ``ok``: equal within printed rounding (a truncation is named in the note); ``near``: off by more
#: than its rounding, the note says how; ``slip``: the printed figure is wrong; ``computed_only``:
#: nothing printed; ``not_checked``: the inputs were not seen; ``input``: a figure given.
CHECKS = ("ok", "near", "slip", "computed_only", "not_checked", "input")
_ROLES = (
    "as_purchased",
    "credit",
    "loss",
    "primary",
    "component",
    "cooking_test",
    "total",
    "result",
    "input",
)


def _figure(name: str, *, high: int = 100_000) -> Column:
    return Column(name, kind=Kind.DECIMAL, low=0, high=high)


CUTTING_TESTS = Table(
    "pricing/cutting_tests.csv",
    (
        Column("test_id", required=True),
        Column("step", kind=Kind.WHOLE, required=True, low=1, high=100),
        Column("part"),
        _figure("weight"),
        Column("unit", required=True, choices=("lb", "kg", "g", "mL", "cents per lb")),
        _figure("value_per_unit"),
        Column("result_name"),
        _figure("result_value"),
        Column("role", required=True, choices=_ROLES),
        Column("weight_as_published"),
        _figure("expected"),
        Column("check", required=True, choices=CHECKS),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingTestRow(Row):
    """One line of a published cutting test.

    Parameters
    ----------
    test_id : str
        Lines of one sheet share it.
    step : int
        Place of the line on the sheet, from 1.
    part, unit, result_name, role, weight_as_published : str
        As in the table; `unit` is of `weight`.
    weight, value_per_unit : Decimal or None
        Weight [`unit`] and money a unit, where the line gives them.
    printed : Decimal or None
        The figure of the publication.
    expected : Decimal or None
        The figure that the line's own inputs give.
    check : str
        How the two compare, one of `CHECKS`.
    """

    test_id: str
    step: int
    part: str
    unit: str
    result_name: str
    role: str
    weight_as_published: str
    weight: Decimal | None
    value_per_unit: Decimal | None
    printed: Decimal | None
    expected: Decimal | None
    check: str

    @property
    def is_misprinted(self) -> bool:
        """Tell whether the printed figure does not follow from its inputs; never use it then."""
        return self.check in ("slip", "near")


@cache
def _rows() -> tuple[CuttingTestRow, ...]:
    texts = ("test_id", "part", "unit", "result_name", "role", "weight_as_published", "check")
    return tuple(
        CuttingTestRow(
            **{name: cells.text(name) for name in texts},
            step=cells.whole("step"),
            weight=cells.decimal_or_none("weight"),
            value_per_unit=cells.decimal_or_none("value_per_unit"),
            printed=cells.decimal_or_none("result_value"),
            expected=cells.decimal_or_none("expected"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(CUTTING_TESTS)
    )


def cutting_test_rows(test_id: str = "", *, source_id: str = "") -> tuple[CuttingTestRow, ...]:
    """Return the lines of the published cutting tests, in the order of the sheets.

    Parameters
    ----------
    test_id : str
        E.g. ``CT05``; every sheet if empty.
    source_id : str
        Lines of one publication; every one if empty.
    """
    return tuple(
        row
        for row in _rows()
        if test_id in ("", row.test_id) and source_id in ("", row.source.source_id)
    )
