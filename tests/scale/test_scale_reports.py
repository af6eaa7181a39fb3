"""Data reports of a USB weighing device, byte for byte."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.scale import State, read_report

POUND, OUNCE, KILOGRAM, GRAM, MILLIGRAM = 12, 11, 3, 2, 1


def report(status, unit, power, count, report_id=3):
    """Return the six bytes of a data report."""
    return bytes([report_id, status, unit, power & 0xFF]) + count.to_bytes(2, "little")


@pytest.mark.parametrize(
    ("unit", "power", "count", "amount", "read_in"),
    [
        (POUND, -2, 994, "9.94", WeightUnit.LB),
        (POUND, -3, 9945, "9.945", WeightUnit.LB),
        (POUND, -4, 9900, "0.99", WeightUnit.LB),
        (OUNCE, -1, 1589, "158.9", WeightUnit.OZ),
        (KILOGRAM, -3, 4505, "4.505", WeightUnit.KG),
        (KILOGRAM, 0, 120, "120", WeightUnit.KG),
        (GRAM, 0, 65535, "65535", WeightUnit.G),
        (GRAM, 1, 450, "4500", WeightUnit.G),
        (MILLIGRAM, 2, 4505, "450.5", WeightUnit.G),
    ],
)
def test_number_power_and_unit_make_an_exact_weight(unit, power, count, amount, read_in):
    """The weight is the number times its power of ten in the unit of the report."""
    reading = read_report(report(4, unit, power, count))
    assert reading.weight == Weight.of(amount, read_in)
    assert reading.weight.unit is read_in
    assert reading.state is State.STABLE
    assert reading.stable


def test_low_byte_comes_first():
    """Bytes 4 and 5 are the low and the high one: e2 03 is 994."""
    assert read_report(bytes.fromhex("03 04 0c fe e2 03")).sentence == "9.94 lb."


def test_a_moving_weight_is_shown_but_is_not_stable():
    """Status 3 has a figure that may not be written down."""
    reading = read_report(report(3, POUND, -2, 1003))
    assert reading.weight == Weight.of("10.03", WeightUnit.LB)
    assert (reading.state, reading.stable) == (State.MOVING, False)
    assert "moving" in reading.sentence


def test_an_empty_pan_stands_at_zero():
    """Status 2 is zero and stable."""
    reading = read_report(report(2, KILOGRAM, -3, 0))
    assert (reading.state, reading.stable) == (State.ZERO, True)
    assert reading.weight == Weight.zero()


@pytest.mark.parametrize(
    ("status", "state"),
    [
        (1, State.FAULT),
        (5, State.UNDER_ZERO),
        (6, State.OVER_LIMIT),
        (7, State.NEEDS_CALIBRATION),
        (8, State.NEEDS_ZERO),
    ],
)
def test_a_scale_in_trouble_gives_no_weight(status, state):
    """Whatever number comes with a trouble is not taken for a weight."""
    reading = read_report(report(status, POUND, -2, 994))
    assert (reading.weight, reading.state, reading.stable) == (None, state, False)


def test_a_fault_is_read_whatever_its_unit_is():
    """A scale in fault may send no unit at all."""
    assert read_report(report(1, 0, 0, 0)).state is State.FAULT


@pytest.mark.parametrize(
    ("sent", "part"),
    [
        (b"", "0 bytes"),
        (report(4, POUND, -2, 994)[:4], "4 bytes"),
        (report(4, POUND, -2, 994) + b"\0", "7 bytes"),
        (report(4, POUND, -2, 994, report_id=5), "report 5"),
        (report(0, POUND, -2, 994), "status 0"),
        (report(9, POUND, -2, 994), "status 9"),
        (report(4, 0, -2, 994), "unit 0"),
        (report(4, 13, -2, 994), "unit 13"),
        (report(4, POUND, -120, 994), "power -120"),
        (report(4, POUND, 100, 1), "power 100"),
        (report(4, KILOGRAM, 3, 994), "2000 kg"),
        (report(4, POUND, -4, 9945), "finer"),
        (report(2, POUND, -2, 994), "zero"),
    ],
)
def test_a_damaged_report_is_refused_in_one_sentence(sent, part):
    """Length, id, status, unit, power and size are each named."""
    with pytest.raises(BadValue, match=part) as refused:
        read_report(sent)
    assert refused.value.message.endswith(".")
    assert "\n" not in refused.value.message


@pytest.mark.parametrize(
    ("unit", "name"),
    [(4, "carats"), (5, "taels"), (6, "grains"), (7, "pennyweights"), (8, "metric tons"),
     (9, "tons"), (10, "troy ounces")],
)  # fmt: skip
def test_units_that_no_meat_is_sold_in_are_named(unit, name):
    """The sentence says what the scale is set to and what to set."""
    with pytest.raises(BadValue, match=f"weighs in {name}; set it to lb, oz, kg or g"):
        read_report(report(4, unit, 0, 5))


def test_another_report_id_can_be_the_data_report():
    """A device that numbers its reports otherwise is read with that number."""
    sent = report(4, POUND, -2, 994, report_id=1)
    assert read_report(sent, report_id=1).weight == Weight.of("9.94", WeightUnit.LB)


@given(st.binary(max_size=70))
def test_any_bytes_are_a_reading_or_one_refusal(sent):
    """No bytes raise anything but BadValue; a weight is never negative, nor stable in trouble."""
    try:
        reading = read_report(sent)
    except BadValue as refusal:
        assert refusal.message
        return
    assert (reading.weight is not None) == reading.state.weighs
    assert not reading.stable or reading.weight is not None


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255), st.integers(0, 0xFFFF))
def test_any_report_of_the_right_length_is_a_reading_or_one_refusal(status, unit, power, count):
    """The same with the length and id right, so that every later check is reached."""
    try:
        reading = read_report(report(status, unit, power, count))
    except BadValue as refusal:
        assert refusal.message
        return
    assert reading.weight is None or reading.weight.count >= 0


@given(st.integers(0, 0xFFFF), st.sampled_from([-3, -2]))
def test_every_step_of_a_pound_scale_is_exact(count, power):
    """Nothing is rounded between the report and the weight."""
    reading = read_report(report(3, POUND, power, count))
    exact = Fraction(count) * Fraction(10) ** power
    assert reading.weight.exact(WeightUnit.LB) == exact
