"""National Pork Producers Council, Hog carcass breakdown, 250-lb hog, 184-lb carcass (NPPC184)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.carcass import Hanging, closes, expected, styles_of, take_home
from collop.measures import Weight, WeightUnit
from collop.reference import yield_rows

PRIMALS = {"ham (leg)": "45.0", "side (belly)": "34.9", "loin": "33.8", "picnic": "16.6",
           "Boston butt": "14.7", "miscellaneous": "39.2"}  # fmt: skip


def pounds(amount) -> Weight:
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


@pytest.mark.parametrize("primal", PRIMALS)
def test_each_large_cut_closes(primal):
    """184-lb hog (seen): the lines of each large cut sum to its printed weight."""
    (check,) = (one for one in closes("PORK_250_184").checks if one.what == primal)
    assert check.found == check.printed == Fraction(PRIMALS[primal])


def test_the_carcass_is_184_and_retail_140_pounds():
    """184-lb hog (seen): large cuts 184.2 (printed 184), retail lines 139.8 (printed 140)."""
    sums = {check.what: check for check in closes("PORK_250_184").checks}
    assert sums["carcass"].found == Fraction("184.2")
    assert sums["retail cuts"].found == Fraction("139.8")
    assert closes("PORK_250_184").closes
    assert closes("PORK_250_184").is_cited


def test_a_250_pound_hog_gives_184_and_140_pounds():
    """184-lb hog (seen): 73.6 % of 250 lb is 184 lb; 140 of 184 is 76.1 %."""
    known = Hanging(dressing_pct=Decimal("73.6"))
    found = take_home("pork", pounds(250), hanging=known)
    assert found.step("hot").low == pounds(184)
    home = found.step("take-home")
    assert home.low <= pounds(140) <= home.high


def test_a_half_pig_of_half_the_weight_divides_into_half_the_pounds():
    """184-lb hog (seen): a side of 92.1 lb gives 22.5 lb of leg and loses 0.9 lb."""
    parts = expected("pork side", pounds("92.1"))
    leg = sum(part.weight.count for part in parts if part.large_cut == "leg")
    loss = [part.weight for part in parts if part.kind == "loss"]
    assert leg == pounds("22.5").count
    assert loss == [pounds("0.9")]


def test_the_loin_style_keeps_the_pounds_and_not_the_rounded_shares():
    """184-lb hog (seen): 10.7 of 33.8 lb is the boneless loin; rounded shares reach 100.1 %."""
    (style,) = (one for one in styles_of("pork", "loin") if "184" in one.name)
    (loin,) = (share for share in style.shares if share.part == "boneless loin")
    assert loin.fraction == Fraction("10.7") / Fraction("33.8")
    assert style.total == 1


def test_no_line_of_the_table_is_from_memory():
    """184-lb hog: every line was seen."""
    assert len(yield_rows("PORK_250_184")) == len(yield_rows("PORK_250_184", cited_only=True)) == 24
