"""Australian lamb foodservice guide, primal weights and rack cutting guide (AULAMB)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from collop.carcass import closes, style_named
from collop.reference import carcass_rules, yield_rows


def test_the_shares_of_the_large_cuts_do_not_close():
    """Australian guide (seen, contradiction): shares sum to 95.8 %."""
    found = closes("LAMB_AU_PRIMALS")
    assert not found.closes
    assert found.gap == Fraction("-4.2")


def test_frenching_takes_more_than_a_quarter_of_the_rack():
    """Australian rack guide (seen): 1.23 kg to 0.98 and 0.88 kg, 20.3 and 28.5 % off."""
    start, chined, frenched = (row.lb for row in yield_rows("LAMB_AU_RACK"))
    waste = [row.figure for row in carcass_rules("rack_frenching_waste")]
    assert waste == [Decimal("20.3"), Decimal("28.5")]
    for left, off in zip((chined, frenched), waste, strict=True):
        assert abs((1 - Fraction(left) / Fraction(start)) * 100 - Fraction(off)) < Fraction(2, 10)


def test_the_frenched_style_keeps_what_the_guide_keeps():
    """Australian rack guide (computed from seen 0.88 of 1.23 kg): 71.5 %; the style is marked."""
    first = style_named("lamb", "rack", "frenched racks").shares[0]
    assert abs(first.fraction - Fraction("0.88") / Fraction("1.23")) < Fraction(1, 1000)
    assert first.basis.standing == "memory"
