"""Journal article in PubMed Central, 2020: cook loss of breast fillets, Table 1 (PMC7647922)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import cooked_weight, cooking_yield


@pytest.mark.parametrize(
    ("words", "cook_loss"), [("cooling to ambient", "20.75"), ("after 5 minutes", "19.15")]
)
def test_yield_and_cook_loss_close(words, cook_loss):
    """Breast fillet study, 2020, Table 1 (seen): cooked + loss = 100 g of raw."""
    row = cooking_yield("chicken", f"breast fillet {words}", "roasted")[0]
    raw = Weight.of(100, WeightUnit.G)
    loss = raw - cooked_weight(raw, row)
    assert loss.decimal(WeightUnit.G) == Decimal(cook_loss)
