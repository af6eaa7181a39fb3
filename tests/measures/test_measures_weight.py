"""Weight: exact in pounds and grams, read as people write it."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, decimal_of, parse_weight

UNITS = st.sampled_from(list(WeightUnit))
THOUSANDTHS = st.integers(min_value=0, max_value=5_000_000)


def pounds(text: str) -> Weight:
    """Return a weight read on a pound scale."""
    return Weight.of(text, WeightUnit.LB)


@given(THOUSANDTHS)
def test_every_thousandth_of_a_pound_is_a_whole_count(thousandths):
    """A pound scale's finest step is held exactly."""
    weight = Weight.of(Decimal(thousandths).scaleb(-3), WeightUnit.LB)
    assert weight.count == thousandths * 45_359_237
    assert weight.exact(WeightUnit.LB) == Fraction(thousandths, 1000)


@given(st.integers(min_value=0, max_value=1_000_000))
def test_every_gram_is_a_whole_count(grams):
    """A gram scale's step is held exactly."""
    weight = Weight.of(grams, WeightUnit.G)
    assert weight.exact(WeightUnit.KG) == Fraction(grams, 1000)


@given(THOUSANDTHS, st.lists(UNITS, max_size=40))
def test_switching_units_any_number_of_times_moves_nothing(thousandths, units):
    """A weight taken through any chain of units is the same weight."""
    start = Weight.of(Decimal(thousandths).scaleb(-3), WeightUnit.LB)
    weight = start
    for unit in units:
        weight = Weight.of(weight.exact(unit), unit)
    assert weight == start
    assert weight.text(WeightUnit.LB, 3) == start.text(WeightUnit.LB, 3)


@given(st.integers(min_value=0, max_value=500_000), UNITS)
def test_what_is_shown_reads_back_as_the_same_weight(hundredths, unit):
    """Reading the text of a weight gives the weight, in every unit."""
    weight = Weight.of(Fraction(hundredths, 100), unit)
    again = parse_weight(weight.text())
    assert again == weight
    assert again.unit is unit


@pytest.mark.parametrize(
    ("text", "same_as"),
    [
        ("4.85", "4.85"),
        ("4.85 lb", "4.85"),
        (" 4.85LBS ", "4.85"),
        ("2 lb 12 oz", "2.75"),
        ("2¾ lb", "2.75"),
        ("2 3/4 pounds", "2.75"),
        ("¾ lb", "0.75"),
        ("3/4 lb", "0.75"),
        ("½", "0.5"),
        ("13/4 lb", "3.25"),
        ("12 ounces", "0.75"),
        ("1 pound 8 ounces", "1.5"),
        ("0", "0"),
    ],
)
def test_weights_are_read_as_people_write_them(text, same_as):
    """Decimals, vulgar fractions and pounds with ounces all read."""
    assert parse_weight(text) == pounds(same_as)


def test_a_metric_weight_may_have_a_decimal_comma():
    """A comma with one or two digits behind it is a decimal point."""
    assert parse_weight("1,25 kg") == Weight.of("1.25", WeightUnit.KG)
    assert parse_weight("2,5kg") == Weight.of("2500", WeightUnit.G)


def test_a_bare_number_is_in_the_unit_that_was_asked_for():
    """The default unit is the caller's."""
    assert parse_weight("2.2", WeightUnit.KG) == Weight.of("2.2", WeightUnit.KG)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "heavy",
        "4.85 stone",
        "-1 lb",
        "1.2.3",
        "1/0 lb",
        "2 1/00 lb",
        "1e5",
        "nan",
        "9" * 5000,
    ],
)
def test_what_is_no_weight_gets_one_sentence(text):
    """Bad text names itself and shows how to write a weight."""
    with pytest.raises(BadValue, match=r"is not a weight; write it like 4\.85") as caught:
        parse_weight(text)
    assert len(caught.value.message) < 160


@pytest.mark.parametrize("text", ["1 lb 4", "12 3 lb", "4.85 4.85", "1,250 g", "1,250 kg"])
def test_what_may_mean_two_weights_is_refused(text):
    """Ounces without their name and a comma before three digits are not guessed."""
    with pytest.raises(BadValue, match="is not a weight"):
        parse_weight(text)


@given(st.text(max_size=60))
def test_no_text_makes_reading_fail_in_another_way(text):
    """Any text is either a weight of zero or more, or one clear error."""
    try:
        count = parse_weight(text).count
    except BadValue:
        count = 0
    assert count >= 0


@given(st.integers(min_value=0, max_value=200_000))
def test_ounces_are_held_to_the_nearest_count(thousandths):
    """An odd ounce ends on half a count, so it is off by 5e-12 kg at the most."""
    ounces = Fraction(thousandths, 1000)
    weight = Weight.of(ounces, WeightUnit.OZ)
    assert abs(weight.count - ounces * Fraction(45_359_237_000, 16)) <= Fraction(1, 2)
    assert weight.decimal(WeightUnit.OZ, 3) == Decimal(thousandths).scaleb(-3)


def test_pounds_and_ounces_add_to_the_pound():
    """Sixteen ounces are one pound exactly; 7 oz is a portion, not an error."""
    assert Weight.of(16, WeightUnit.OZ) == pounds("1")
    assert Weight.of(7, WeightUnit.OZ) == parse_weight("7 oz")


@pytest.mark.parametrize("unit", list(WeightUnit))
def test_a_third_of_a_unit_is_refused(unit):
    """No unit holds an amount that no scale shows."""
    with pytest.raises(BadValue, match="finer than a scale can read"):
        Weight.of(Fraction(1, 3), unit)


@pytest.mark.parametrize("amount", ["x", "", "nan", "inf", "1/0", "1e999999999", "1e-999999999"])
def test_an_amount_that_is_no_number_is_refused_at_once(amount):
    """No amount is worked out that would never end."""
    with pytest.raises(BadValue, match="is not a weight"):
        Weight.of(amount, WeightUnit.LB)


def test_an_amount_finer_than_the_scale_is_refused():
    """What a count cannot hold is never rounded in silence."""
    with pytest.raises(BadValue, match="finer than a scale can read"):
        Weight.of("0.000000000001", WeightUnit.KG)


def test_a_weight_is_equal_whatever_its_unit():
    """The unit is memory of the scale, not part of the weight."""
    assert pounds("1") == Weight.of("453.59237", WeightUnit.G)
    assert hash(pounds("1")) == hash(Weight.of("16", WeightUnit.OZ))
    assert pounds("1") != pounds("1.001")
    assert pounds("1") != "1 lb"
    assert pounds("1") < Weight.of("0.5", WeightUnit.KG) <= Weight.of("500", WeightUnit.G)


@given(THOUSANDTHS, THOUSANDTHS)
def test_what_is_added_and_taken_off_leaves_the_weight(first, second):
    """Sums and differences are exact."""
    one = Weight.of(Fraction(first, 1000), WeightUnit.LB)
    two = Weight.of(second, WeightUnit.G)
    assert one + two - two == one
    assert one - one == Weight.zero()
    assert one + (-one) == Weight.zero()
    assert (one + two).unit is WeightUnit.LB


def test_pieces_of_one_weight_multiply():
    """Three ducks of 5.2 lb are 15.6 lb."""
    assert pounds("5.2") * 3 == pounds("15.6")


def test_only_nothing_is_false():
    """A weight is true when there is any."""
    assert pounds("0.001")
    assert not Weight.zero(WeightUnit.KG)


def test_a_customer_in_kilograms_sees_the_scale_weight():
    """2.2 kg of shoulder is 4.85 lb, and 1.50 kg boneless is 187 g a head for eight."""
    shoulder = Weight.of("2.2", WeightUnit.KG)
    assert shoulder.text(WeightUnit.LB) == "4.85 lb"
    boneless = shoulder.exact(WeightUnit.G) * Fraction("0.68")
    assert decimal_of(boneless / 1000, 2) == Decimal("1.50")
    assert decimal_of(boneless / 8, 0) == Decimal(187)
    assert decimal_of(boneless / 8 / Fraction("28.349523125"), 1) == Decimal("6.6")


def test_a_display_figure_keeps_its_decimals():
    """Whole weights are shown with the decimals that were asked for."""
    assert pounds("5").text() == "5.00 lb"
    assert str(pounds("5").decimal(WeightUnit.LB, 0)) == "5"
    assert (-pounds("0.004")).text() == "0.00 lb"
