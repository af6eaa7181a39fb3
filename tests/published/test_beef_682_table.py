"""Ask The Meat Man, repeating an extension table: 1100-lb steer, 682-lb carcass (ATM1100)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from collop.carcass import Hanging, closes, published_misprints, styles_of, take_home
from collop.measures import Weight, WeightUnit
from collop.reference import yield_rows


def pounds(amount) -> Weight:
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


def test_the_large_cuts_of_both_sides_make_the_carcass():
    """682-lb table (seen): 2 x (82+20+63+36+32+16+92) = 682 lb."""
    whole = {row.primal: row.primal_lb.low for row in yield_rows("BEEF_1100_682")}
    assert sorted(whole.values()) == [32, 40, 64, 72, 126, 164, 184]
    found = closes("BEEF_1100_682")
    assert found.closes
    assert found.is_cited


def test_round_and_flank_close_line_by_line():
    """682-lb table (seen): round 48+15+6+18+19+58 = 164, flank 4+16+20 = 40 lb."""
    sums = {check.what: check.found for check in closes("BEEF_1100_682").checks}
    assert (sums["round"], sums["flank"]) == (164, 40)


def test_the_flank_style_is_that_of_the_table():
    """682-lb table (seen): a tenth flank steak, four tenths ground, half fat and bone."""
    (style,) = styles_of("beef", "flank")
    assert [share.fraction for share in style.shares] == [
        Fraction(1, 10), Fraction(4, 10), Fraction(1, 2),
    ]  # fmt: skip
    assert [share.kind for share in style.shares] == ["cut", "trim", "fat_bone"]


def test_an_1100_pound_steer_gives_512_pounds():
    """682-lb table (seen): 1100 lb, 62 % 682 lb, 75 % 512 lb (511.5 printed whole)."""
    known = Hanging(dressing_pct=Decimal(62), take_home_pct=Decimal(75))
    found = take_home("beef", pounds(1100), hanging=known)
    assert found.step("hot").low == pounds(682)
    assert found.step("take-home").low == pounds("511.5")


def test_a_thousand_pounds_do_not_hang_at_450():
    """Same source (seen): 450 lb printed is the loss; 550 - 22 - 147 = 381, printed 380."""
    known = Hanging(
        dressing_pct=Decimal(55),
        days_hung=1,
        chill_loss_pct=Decimal(4),
        take_home_pct=Decimal(72),
        take_home_of="hung",
    )
    found = take_home("beef", pounds(1000), hanging=known)
    assert found.step("hot").low - found.step("chilled").low == pounds(22)
    assert abs(found.steps[-1].low.exact(WeightUnit.LB) - 380) <= 1
    (printed,) = (one for one in published_misprints() if "rail 45" in one.what)
    assert (printed.found, printed.closes) == (281, False)
