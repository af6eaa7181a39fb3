"""D. W. Warren, Market Sheep (Anatomy and Cuts), slide set, 120-lb lamb (SLIDELAMB)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.carcass import Hanging, closes, published_misprints, take_home
from collop.measures import Weight, WeightUnit


def test_the_pounds_of_shoulder_breast_and_rack_close():
    """Lamb slides (seen): 16, 4 and 8 lb, line by line."""
    found = closes("LAMB_120_60")
    assert {check.what: check.found for check in found.checks} == {
        "shoulder": 16, "breast": 4, "rack": 8,
    }  # fmt: skip
    assert found.closes


@pytest.mark.parametrize(("cut", "printed"), [("shoulder", 36), ("breast", 17), ("rack", 8)])
def test_the_printed_shares_do_not_match_the_pounds(cut, printed):
    """Lamb slides (seen, contradiction): 36, 17 and 8 % printed; the pounds give 27, 7, 13."""
    (check,) = (one for one in published_misprints() if one.what == f"lamb slides, {cut}")
    assert check.printed == printed
    assert not check.closes


def test_a_120_pound_lamb_gives_60_and_42_pounds():
    """Lamb slides (seen): 50 % of 120 lb hangs, 70 % of 60 lb is taken home."""
    known = Hanging(dressing_pct=Decimal(50))
    found = take_home("lamb", Weight.of(120, WeightUnit.LB), hanging=known)
    assert found.step("hot").low == Weight.of(60, WeightUnit.LB)
    assert found.step("take-home").low == Weight.of(42, WeightUnit.LB)
    assert found.step("take-home").basis.standing == "seen"
