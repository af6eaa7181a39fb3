"""How a line of a published cutting test is held against what the kernels work out."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from collop.carcass import cuttingtest, reconcile
from collop.reference import CuttingTestRow, cutting_test_rows

UNCHECKED = ("input", "not_checked")


def lines(*sources: str) -> list[Any]:
    """Return the lines of some sources as test cases."""
    return [
        pytest.param(row, id=f"{row.test_id}-{row.step}")
        for row in cutting_test_rows()
        if row.source.source_id in sources
    ]


def sheet(weight: object, price: str = "1", **more: Any) -> dict[str, Any]:
    """Return the plan of a cutting test; one product takes what remains unless told."""
    problem = {
        "schema": "collop.cuttingtest/1",
        "bought": {"weight": str(weight), "unit": more.pop("unit", "lb"), "price_per_unit": price},
        "products": [{"part": "usable"}],
    }
    return cuttingtest(problem | more)


def credit(part: str, weight: object, value: str = "0") -> dict[str, str]:
    """Return a credited part."""
    return {"part": part, "weight": str(weight), "value_per_unit": value}


def added(*weights: object) -> str:
    """Return the sum of parts as the balance gives it: the whole not weighed, no loss."""
    parts = [{"name": f"part {n}", "weight": str(w)} for n, w in enumerate(weights)]
    plan = reconcile({
        "schema": "collop.balance/1",
        "scale_sd": "0.01",
        "loss": {"share": 0},
        "whole": {"name": "whole", "parts": parts},
    })  # fmt: skip
    return plan["whole"]["weight"]


def _half_step(figure: Decimal) -> Decimal:
    exponent = figure.as_tuple().exponent
    assert isinstance(exponent, int)
    return Decimal(5).scaleb(exponent - 1)


def _same(one: Decimal, other: Decimal) -> bool:
    """Tell whether two figures can be roundings of the same one."""
    return abs(one - other) <= _half_step(one) + _half_step(other)


def _truncated(printed: Decimal, full: Decimal) -> bool:
    return 0 <= full - printed < 2 * _half_step(printed)


def check(row: CuttingTestRow, figures: Mapping[tuple[str, int], object]) -> None:
    """Hold one line against the figure worked out for it.

    A line that is an input or whose inputs were not seen is skipped, visibly.  A printed slip must
    differ from what the kernel gives.
    """
    if row.check in UNCHECKED:
        assert (row.test_id, row.step) not in figures
        pytest.skip(f"{row.test_id} line {row.step}: {row.check}")
    found = Decimal(str(figures[row.test_id, row.step]))
    assert row.expected is not None
    assert _same(found, row.expected), (found, row.expected)
    if row.check == "computed_only":
        assert row.status != "seen" or row.printed is None
        return
    assert row.printed is not None
    assert row.status == "seen"
    if row.is_misprinted:
        assert abs(row.printed - row.expected) > _half_step(row.printed)
    elif "truncat" in row.note:
        assert _truncated(row.printed, row.expected)
    else:
        assert _same(found, row.printed), (found, row.printed)
    if row.check == "slip":
        assert not _same(found, row.printed), (found, row.printed)
