"""Temperature and temperature difference: exact, and never mixed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Temperature, TemperatureDifference

THOUSANDTHS = st.integers(min_value=-200_000, max_value=1_000_000).map(
    lambda count: Decimal(count).scaleb(-3)
)


@given(THOUSANDTHS)
def test_what_is_read_in_celsius_is_shown_in_celsius(amount):
    """Every thousandth of a degree Celsius is held exactly."""
    assert Temperature.celsius(amount).in_celsius(3) == amount


@given(THOUSANDTHS)
def test_what_is_read_in_fahrenheit_is_shown_in_fahrenheit(amount):
    """Every thousandth of a degree Fahrenheit is held exactly."""
    assert Temperature.fahrenheit(amount).in_fahrenheit(3) == amount


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [("32", "0"), ("212", "100"), ("-40", "-40"), ("131", "55")]
)
def test_fixed_points_are_equal_on_both_scales(fahrenheit, celsius):
    """Freezing, boiling and the crossing of the scales agree exactly."""
    assert Temperature.fahrenheit(fahrenheit) == Temperature.celsius(celsius)


@given(THOUSANDTHS, THOUSANDTHS)
def test_a_difference_added_to_the_colder_gives_the_warmer(first, second):
    """Difference and sum undo each other."""
    one, two = Temperature.celsius(first), Temperature.fahrenheit(second)
    assert one + (two - one) == two
    assert (one < two) == ((two - one).count > 0)


def test_a_step_of_nine_fahrenheit_is_five_kelvin():
    """A difference has no offset between the scales, a temperature has."""
    step = TemperatureDifference.fahrenheit_degrees(9)
    assert step == TemperatureDifference.kelvin(5)
    assert step.in_kelvin() == Decimal("5.0")
    assert step.in_fahrenheit_degrees() == Decimal("9.0")
    assert Temperature.fahrenheit(9) != Temperature.celsius(5)


def test_two_temperatures_cannot_be_added():
    """How warm two things are has no sum, even when types are not checked."""
    with pytest.raises(TypeError, match="unsupported operand"):
        Temperature.celsius(20) + Temperature.celsius(20)


def test_a_temperature_and_a_difference_are_not_taken_for_each_other():
    """Neither comparing nor subtracting mixes the two types."""
    warm, rise = Temperature.celsius(20), TemperatureDifference.kelvin(20)
    with pytest.raises(TypeError):
        assert warm < rise
    with pytest.raises(TypeError):
        assert warm - rise
    with pytest.raises(TypeError):
        assert rise + warm
    assert Temperature(5) != TemperatureDifference(5)


@pytest.mark.parametrize("read", [Temperature.celsius, Temperature.fahrenheit])
@pytest.mark.parametrize("amount", ["x", "", "nan", "inf", "1/0", "1e99999999"])
def test_what_is_no_temperature_is_refused(read, amount):
    """Bad text gets one sentence that shows how to write a temperature."""
    with pytest.raises(BadValue, match="is not a temperature; write a number such as 63"):
        read(amount)


@pytest.mark.parametrize(
    "read", [TemperatureDifference.kelvin, TemperatureDifference.fahrenheit_degrees]
)
def test_a_difference_finer_than_the_step_is_refused(read):
    """What a count cannot hold is never rounded in silence."""
    with pytest.raises(BadValue, match=r"finer than 0\.001 degree"):
        read("0.00001")


def test_nothing_is_colder_than_absolute_zero():
    """A mistaken unit is caught at the bottom of the scale."""
    assert Temperature.celsius("-273.15").count == 0
    with pytest.raises(BadValue, match="below absolute zero"):
        Temperature.celsius("-273.16")


def test_a_temperature_is_shown_on_both_scales():
    """Celsius comes first, in whole degrees."""
    assert Temperature.fahrenheit(145).text() == "63 °C (145 °F)"
    assert Temperature.celsius(-18).text() == "-18 °C (0 °F)"
