"""National Live Stock and Meat Board for the US Army, Handbook on Cutting Lamb (ARMYLAMB)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from collop.carcass import closes, style_named, styles_of


def test_the_cutting_test_closes_at_a_hundred_pounds():
    """Army lamb test (seen): 32 + 13 + 11 + 23 + 21 = 100 lb."""
    found = closes("LAMB_ARMY_100")
    assert found.closes
    assert found.is_cited


def test_a_lamb_divides_as_the_cutting_test_after_loss():
    """Army lamb test (seen): legs 32, loin 13, rack 11, shoulders 23, the rest 21 of 100."""
    (style,) = styles_of("lamb", "carcass")
    left = 1 - style.shares[-1].fraction
    found = {share.part: share.fraction / left * 100 for share in style.shares[:-1]}
    assert found == {"leg": 32, "loin": 13, "rack": 11, "shoulder": 23,
                     "breast, shanks and neck": 21}  # fmt: skip


@pytest.mark.parametrize(
    ("of", "style", "share"),
    [("loin", "boneless rolled", "0.54"), ("shoulder", "boneless rolled or diced", "0.69"),
     ("breast, shanks and neck", "boneless lean", "0.38")],
)  # fmt: skip
def test_boneless_shares_are_those_of_the_test(of, style, share):
    """Army lamb test (seen): 54, 69 and 38 lb of boneless meat from 100 lb."""
    first = style_named("lamb", of, style).shares[0]
    assert first.fraction == Fraction(share)
    assert first.basis.standing == "seen"
