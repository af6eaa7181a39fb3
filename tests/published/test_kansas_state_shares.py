"""Kansas State University, Beef, Pork and Lamb Processing Options (KS3395, KSPORK, KSLAMB)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.carcass import Hanging, closes, styles_of, take_home
from collop.measures import Weight, WeightUnit
from collop.reference import yield_rows


@pytest.mark.parametrize("table_id", ["BEEF_PRIMALS_KSU", "LAMB_PRIMALS_KSU"])
def test_beef_and_lamb_shares_close_at_a_hundred(table_id):
    """Kansas State charts (seen): the shares of the large cuts sum to 100 %."""
    found = closes(table_id)
    assert found.closes
    assert found.is_cited


def test_a_beef_side_divides_as_the_chart_after_loss():
    """Kansas State beef chart (seen): each large cut keeps its share of what is not lost."""
    (style,) = styles_of("beef", "side")
    loss = style.shares[-1].fraction
    found = {share.part: share.fraction / (1 - loss) for share in style.shares[:-1]}
    printed = {row.primal: row.primal_pct.low for row in yield_rows("BEEF_PRIMALS_KSU")}
    assert found["chuck"] == Fraction(27, 100)
    assert found["kidney fat"] == Fraction(printed["kidney, pelvic and heart fat"]) / 100
    for name in set(found) - {"kidney fat"}:
        assert found[name] == Fraction(printed[name]) / 100


def test_fore_and_hind_quarter_are_53_and_47():
    """Kansas State beef chart (seen): 27+10+4+9+3 fore, 22+7+10+5+3 hind."""
    shares = {row.primal: row.primal_pct.low for row in yield_rows("BEEF_PRIMALS_KSU")}
    (fore,) = styles_of("beef", "forequarter")
    assert sum(shares[share.part] for share in fore.shares if share.kind == "large") == 53


def test_nineteen_per_cent_of_the_pork_chart_has_no_label():
    """Kansas State pork chart (seen, labels lost): the labelled shares reach 81 %."""
    found = closes("PORK_PRIMALS_KSU")
    assert not found.closes
    assert found.gap == -19


def test_a_75_pound_lamb_chills_to_72_75():
    """Kansas State lamb table (seen): 3 % shrink, 75 lb hot is 72.75 lb chilled."""
    known = Hanging(cutting="none")
    found = take_home("lamb", Weight.of(75, WeightUnit.LB), stage="hot", hanging=known)
    chilled = found.step("chilled")
    assert chilled.low == chilled.high == Weight.of(Decimal("72.75"), WeightUnit.LB)
    assert chilled.basis.standing == "seen"
