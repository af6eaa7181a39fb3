"""Money: whole minor units, one rounding a line."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import (
    Money,
    Rounding,
    UnitPrice,
    Weight,
    WeightUnit,
    minor_places,
    round_fraction,
    sum_money,
)

CENTS = st.integers(min_value=-(10**9), max_value=10**9)
PRICES = st.integers(min_value=0, max_value=100_000).map(lambda cents: Decimal(cents).scaleb(-2))


def price(text: str, per: WeightUnit = WeightUnit.LB) -> UnitPrice:
    """Return a unit price in dollars."""
    return UnitPrice.of(text, per)


def pounds(text: str) -> Weight:
    """Return a weight read on a pound scale."""
    return Weight.of(text, WeightUnit.LB)


@given(CENTS, st.sampled_from(["USD", "JPY", "KWD"]))
def test_what_is_shown_reads_back_as_the_same_money(minor, currency):
    """Reading the text of an amount gives the amount, whatever decimals its currency has."""
    amount = Money(minor, currency)
    assert Money.of(str(amount), currency) == amount


@pytest.mark.parametrize(
    ("currency", "shown"), [("USD", "40.74"), ("JPY", "4074"), ("KWD", "4.074")]
)
def test_each_currency_has_its_own_decimals(currency, shown):
    """Dollars have two decimals, yen none, dinars three."""
    assert str(Money(4074, currency)) == shown


@pytest.mark.parametrize("currency", ["usd", "US", "USDX", "", "U$D"])
def test_what_is_no_currency_is_refused(currency):
    """A currency is three capital letters."""
    with pytest.raises(BadValue, match="is not a currency; use three letters such as USD"):
        minor_places(currency)


@pytest.mark.parametrize("amount", ["", "x", "nan", "inf", "-inf", "1e999999", "1" * 32, "1/0"])
def test_what_is_no_amount_of_money_is_refused(amount):
    """Bad text gets one sentence that shows how to write money."""
    with pytest.raises(BadValue, match=r"is not an amount of money; write it like 4\.85"):
        Money.of(amount)


def test_more_decimals_than_the_currency_has_are_refused():
    """Money is never rounded while it is read."""
    with pytest.raises(BadValue, match="has more decimals than USD; round it first"):
        Money.of("4.855")
    assert Money.of("4.850") == Money.of("4.85")


def test_two_currencies_do_not_mix():
    """Adding, taking off and comparing two currencies are all refused."""
    dollars, euros = Money.of("1", "USD"), Money.of("1", "EUR")
    with pytest.raises(BadValue, match="cannot be added or compared"):
        dollars + euros
    with pytest.raises(BadValue, match="cannot be added or compared"):
        dollars - euros
    with pytest.raises(BadValue, match="cannot be added or compared"):
        assert dollars < euros
    assert dollars != euros


@given(st.lists(CENTS, max_size=30))
def test_a_total_is_the_sum_of_its_lines(lines):
    """Nothing is rounded again when lines are added."""
    assert sum_money(Money(cents) for cents in lines).minor == sum(lines)


def test_an_empty_order_costs_nothing_in_its_currency():
    """No lines are zero of the currency that was asked for."""
    assert sum_money([], "EUR") == Money(0, "EUR")


@given(PRICES, st.integers(min_value=0, max_value=100_000))
def test_a_line_is_within_half_a_cent_of_weight_times_price(amount, hundredths):
    """Both rules round to a nearest cent, and differ only at an exact half."""
    net = Weight.of(Fraction(hundredths, 100), WeightUnit.LB)
    exact = Fraction(amount) * hundredths
    up = UnitPrice(amount).line(net, Rounding.HALF_UP).minor
    even = UnitPrice(amount).line(net, Rounding.HALF_EVEN).minor
    assert abs(up - exact) <= Fraction(1, 2)
    assert abs(even - exact) <= Fraction(1, 2)
    if up != even:
        assert exact - int(exact) == Fraction(1, 2)
        assert even % 2 == 0


@given(PRICES, st.integers(0, 50_000), st.integers(0, 50_000))
def test_more_weight_never_costs_less(amount, first, second):
    """A line does not fall as its weight grows."""
    low, high = sorted((first, second))
    one = UnitPrice(amount)
    light = one.line(Weight.of(Fraction(low, 100), WeightUnit.LB))
    heavy = one.line(Weight.of(Fraction(high, 100), WeightUnit.LB))
    assert light <= heavy


@given(PRICES, st.integers(0, 50_000), st.sampled_from(list(WeightUnit)))
def test_the_unit_a_weight_is_shown_in_does_not_move_its_price(amount, hundredths, unit):
    """A line depends on the weight, not on its unit."""
    net = Weight.of(Fraction(hundredths, 100), WeightUnit.LB)
    assert UnitPrice(amount).line(Weight(net.count, unit)) == UnitPrice(amount).line(net)


@pytest.mark.parametrize(
    ("weight", "per_lb", "half_up", "half_even"),
    [
        ("4.15", "8.90", "36.94", "36.94"),  # 36.935: the even neighbour is above
        ("1.50", "4.99", "7.49", "7.48"),  # 7.485: it is below
        ("0.50", "8.97", "4.49", "4.48"),
        ("4.50", "3.33", "14.99", "14.98"),  # binary numbers give 14.98 by accident
        ("2.50", "7.99", "19.98", "19.98"),
        ("0.01", "0.49", "0.00", "0.00"),
    ],
)
def test_an_exact_half_cent_follows_the_named_rule(weight, per_lb, half_up, half_even):
    """Half up and half even each give their own cent."""
    line = price(per_lb).line(pounds(weight), Rounding.HALF_UP)
    assert str(line) == half_up
    line = price(per_lb).line(pounds(weight), Rounding.HALF_EVEN)
    assert str(line) == half_even


@pytest.mark.parametrize(
    ("value", "half_up", "half_even"),
    [
        (Fraction(5, 2), 3, 2),
        (Fraction(7, 2), 4, 4),
        (Fraction(-5, 2), -3, -2),
        (Fraction(-1, 2), -1, 0),
        (Fraction(5, 3), 2, 2),
        (Fraction(4), 4, 4),
    ],
)
def test_a_half_is_rounded_away_from_zero_or_to_even(value, half_up, half_even):
    """Both rules treat a refund as the mirror of a sale."""
    assert round_fraction(value, Rounding.HALF_UP) == half_up
    assert round_fraction(value, Rounding.HALF_EVEN) == half_even


@given(st.fractions(max_denominator=1000), st.sampled_from(list(Rounding)))
def test_rounding_mirrors_at_zero(value, rule):
    """A sale and its refund cancel to the cent."""
    assert round_fraction(-value, rule) == -round_fraction(value, rule)


def test_a_metric_customer_pays_the_scale_weight():
    """2.2 kg at 8.40 a pound is 40.74, by pounds and by kilograms."""
    shoulder = price("8.40")
    assert str(shoulder.shown_per(WeightUnit.KG)) == "18.52"
    assert str(shoulder.line(pounds("4.85"))) == "40.74"
    assert str(shoulder.line(Weight.of("2.2", WeightUnit.KG))) == "40.74"


def test_no_line_is_priced_from_the_rounded_price_of_the_other_unit():
    """13.7 kg is 30.20 lb on the scale and costs 253.68, not the 253.72 of the shown price."""
    shoulder = price("8.40")
    net = Weight.of("13.7", WeightUnit.KG).decimal(WeightUnit.LB)
    assert net == Decimal("30.20")
    assert str(shoulder.line(Weight.of(net, WeightUnit.LB))) == "253.68"
    shown = price(str(shoulder.shown_per(WeightUnit.KG)), WeightUnit.KG)
    assert str(shown.line(Weight.of("13.7", WeightUnit.KG))) == "253.72"


@given(PRICES)
def test_a_price_shown_in_its_own_unit_is_unchanged(amount):
    """Showing a price in the unit it was set in moves nothing."""
    for unit in WeightUnit:
        assert UnitPrice(amount, unit).shown_per(unit) == amount


@pytest.mark.parametrize("amount", ["x", "", "nan", "inf", "1e999999", "1e-999999999"])
def test_what_is_no_price_is_refused_at_once(amount):
    """Bad text gets one sentence, and nothing is worked out that would never end."""
    with pytest.raises(BadValue, match=r"is not a price; write it like 8\.40"):
        price(amount)


def test_a_price_below_zero_is_refused():
    """Nothing is sold for less than nothing."""
    with pytest.raises(BadValue, match="is not a price; it must be zero or more"):
        price("-0.01")
    assert price("0").line(pounds("3")) == Money(0)


def test_the_money_a_head_is_rounded_once():
    """268.40 for forty is 6.71 a head."""
    assert str(Money.of("268.40").shared_by(40)) == "6.71"
    assert str(Money.of("1.01").shared_by(2, Rounding.HALF_EVEN)) == "0.50"
    assert str(Money.of("1.01").shared_by(2)) == "0.51"


@pytest.mark.parametrize("heads", [0, -3])
def test_money_is_not_shared_by_nobody(heads):
    """No heads are a clear error, not a division by zero."""
    with pytest.raises(BadValue, match="heads cannot share money; give 1 or more"):
        Money.of("5").shared_by(heads)


def test_lines_can_be_taken_off_and_multiplied():
    """What is left of a budget is exact."""
    assert str(Money.of("420") - Money.of("131.94")) == "288.06"
    assert str(Money.of("16.20") * 2) == "32.40"
    assert max(Money.of("2.10"), Money.of("2.09")) == Money.of("2.10")
