"""Indiana State Board of Animal Health, How Much Eating Meat Will a Carcass Yield? (IN465)."""

from __future__ import annotations

import pytest

from collop.carcass import closes, published_misprints
from collop.reference import yield_rows


def test_retail_cuts_are_465_pounds_and_the_carcass_closes_at_590():
    """Indiana (seen): lines sum to 465 lb; with 125 lb of waste and shrink 590 lb."""
    sums = {check.what: check.found for check in closes("BEEF_1000_590_RETAIL465").checks}
    assert sums == {"retail cuts": 465, "carcass": 590}


def test_the_shares_close_with_26_per_cent_of_chuck():
    """Indiana (seen, misprint read as its pounds say): the column sums to 100 %."""
    found = closes("BEEF_PRIMALS_IN590")
    assert found.closes
    assert found.is_cited


def test_the_printed_six_per_cent_of_chuck_does_not_close():
    """Indiana prints chuck 6 %: the column then sums to 80 %."""
    (check,) = (one for one in published_misprints() if "chuck 6" in one.what)
    assert (check.found, check.gap, check.closes) == (80, -20, False)


@pytest.mark.parametrize("end", ["low", "high"])
def test_the_pounds_of_chuck_are_a_quarter_of_the_carcass(end):
    """Indiana (seen): 148 to 158 of 590 lb is 25 to 27 %, never 6."""
    (chuck,) = (row for row in yield_rows("BEEF_PRIMALS_IN590") if "chuck" in row.primal)
    assert 25 <= getattr(chuck.primal_lb, end) * 100 / 590 <= 27
