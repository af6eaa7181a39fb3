"""Lines that a scale types in place of a keyboard."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.scale import State, figure_of, read_line, read_weighed

UNITS = st.sampled_from(list(WeightUnit))
WORDS = st.lists(
    st.sampled_from(["st", "us", "gs", "nt", "+", "-", " ", ",", "9.94", "0", "1,250", ".5", "lb",
                     "kg", "g", "oz", "ol", "t", "z", "?", "\r", "12 oz", "\x02", "٣", "é"]),
    max_size=8,
).map("".join)  # fmt: skip


@pytest.mark.parametrize(
    ("line", "amount", "unit"),
    [
        ("  9.94 lb\r", "9.94", WeightUnit.LB),
        ("ST,GS,+ 12.345kg", "12.345", WeightUnit.KG),
        ("N 4.85LB", "4.85", WeightUnit.LB),
        ("0012.5 g", "12.5", WeightUnit.G),
        ("\x02+009.94lb\x03\r\n", "9.94", WeightUnit.LB),
        ("4.85 lb st", "4.85", WeightUnit.LB),
        ("G 850 g", "850", WeightUnit.G),
        (".5 kg", "0.5", WeightUnit.KG),
        ("12,5 kg", "12.5", WeightUnit.KG),
        ("1,250 kg", "1.25", WeightUnit.KG),
        ("0,485 lb", "0.485", WeightUnit.LB),
        ("ST;NT;158.9 oz", "158.9", WeightUnit.OZ),
    ],
)
def test_number_and_unit_are_found_in_every_dress(line, amount, unit):
    """Blanks, frames, marks, signs, leading noughts and a decimal comma are read."""
    reading = read_line(line)
    assert reading.weight == Weight.of(amount, unit)
    assert reading.weight.unit is unit
    assert (reading.state, reading.stable) == (State.STABLE, True)


@pytest.mark.parametrize("line", ["US,NT, 1.2 kg", "1.2 kg ?", "M 1.2kg", "1.2 kg unstable"])
def test_a_weight_that_moves_is_not_stable(line):
    """The figure is there, and may not be written down."""
    reading = read_line(line)
    assert reading.weight == Weight.of("1.2", WeightUnit.KG)
    assert (reading.state, reading.stable) == (State.MOVING, False)


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("OL", State.OVER_LIMIT),
        ("ST,OL,+999.99 lb", State.OVER_LIMIT),
        ("-0.15 lb", State.UNDER_ZERO),
        ("ST,NT,-  0.15 lb", State.UNDER_ZERO),
        ("UL", State.UNDER_ZERO),
        ("Error 4", State.FAULT),
    ],
)
def test_a_line_of_trouble_gives_no_weight(line, state):
    """Over, under zero and fault are states, whatever number stands beside them."""
    reading = read_line(line)
    assert (reading.weight, reading.state, reading.stable) == (None, state, False)


@pytest.mark.parametrize("line", ["0.00 lb", "-0.00 lb", "Z 0.000kg", "ST,+ 0 g"])
def test_an_empty_pan_stands_at_zero(line):
    """Nought, with any sign, is zero."""
    assert read_line(line).state is State.ZERO


def test_the_sentence_tells_what_the_line_left_unsaid():
    """Without a word of stability, and with a gross weight, the person is told."""
    assert read_line("ST 9.94 lb").sentence == "9.94 lb."
    assert "did not say that it was at rest" in read_line("9.94 lb").sentence
    assert "take off the tare" in read_line("ST,GS,9.94 lb").sentence


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("", "no weight"),
        ("kg", "no weight"),
        ("st", "no weight"),
        ("9.94", "names no unit"),
        ("9.94 8.40 lb", "more than one number"),
        ("2 lb 12 oz", "more than one number"),
        ("1.2.3 lb", "no weight"),
        ("12-34 lb", "not known"),
        ("5 ct", "'ct'"),
        ("T 0.250 kg", "tare"),
        ("ST,US,1.2 kg", "cannot both be"),
        ("N G 1.2 kg", "cannot both be"),
        ("Z 1.2 kg", "says zero"),
        ("1,250 g", "thousands or thousandths"),
        ("9.9400001 lb", "no weight"),
        ("0.0001 lb", "finer"),
        ("9999999 g", "2000 kg"),
        ("2012340009941", "no weight"),
        ("9.94\x00lb", "no weight"),
        ("٣ lb", "no weight"),
        ("9" * 70 + " lb", "no weight"),
    ],
)
def test_what_is_no_single_weight_is_refused_in_one_sentence(line, part):
    """Nothing is guessed: no unit, two numbers, unknown words and tares are named."""
    with pytest.raises(BadValue, match=part) as refused:
        read_line(line)
    assert refused.value.message.endswith(".")
    assert "\n" not in refused.value.message


def test_a_unit_of_the_page_serves_a_bare_number_only():
    """The default is used where none is named, and never for a comma that may mean thousands."""
    assert read_line("9.94", WeightUnit.LB).weight == Weight.of("9.94", WeightUnit.LB)
    assert read_line("9.94 kg", WeightUnit.LB).weight == Weight.of("9.94", WeightUnit.KG)
    with pytest.raises(BadValue, match="thousands"):
        read_line("1,250", WeightUnit.KG)


@given(st.one_of(st.text(max_size=80), WORDS), st.none() | UNITS)
def test_any_line_is_a_reading_or_one_refusal(line, default):
    """No text raises anything but BadValue; a weight is never negative, nor stable in trouble."""
    try:
        reading = read_line(line, default)
    except BadValue as refusal:
        assert refusal.message
        return
    assert (reading.weight is not None) == reading.state.weighs
    assert reading.weight is None or reading.weight.count >= 0
    assert not reading.stable or reading.weight is not None


@given(st.integers(0, 900_000), UNITS, st.sampled_from(["{}{}", "ST,NT,+ {}{}\r\n", " {} {} "]))
def test_what_a_scale_shows_reads_back_as_the_same_weight(thousandths, unit, dress):
    """The figure of a weight, typed in any dress, is that weight."""
    weight = Weight.of(f"{thousandths // 1000}.{thousandths % 1000:03}", unit)
    assert read_line(dress.format(figure_of(weight), unit)).weight == weight


@pytest.mark.parametrize(
    ("text", "same_as"),
    [
        ("2 lb 12 oz", "2.75"),
        ("2¾", "2.75"),
        ("4.85", "4.85"),
        ("N 4.85LB", "4.85"),
        ("ST,GS,+ 4.85 lb", "4.85"),
    ],
)
def test_a_field_takes_hand_and_scale_alike(text, same_as):
    """What a person writes and what a scale types come to the same weight."""
    assert read_weighed(text, WeightUnit.LB) == Weight.of(same_as, WeightUnit.LB)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("US 3.10 lb", "still moving"),
        ("OL", "take some off"),
        ("-0.15 lb", "under zero"),
        ("ham", "write it like"),
        ("1 lb 4", "write it like"),
        ("2012340009941", "2000 kg"),
    ],
)
def test_a_field_takes_no_moving_weight_and_no_bar_code(text, part):
    """The sentence is the scale's where it was a scale's line, else that of the field."""
    with pytest.raises(BadValue, match=part):
        read_weighed(text, WeightUnit.LB)


@given(st.one_of(st.text(max_size=80), WORDS), UNITS)
def test_any_text_in_a_field_is_a_weight_or_one_refusal(text, unit):
    """No text raises anything but BadValue."""
    try:
        weight = read_weighed(text, unit)
    except BadValue as refusal:
        assert refusal.message
        return
    assert Weight.zero() <= weight <= Weight.of(2000, WeightUnit.KG)
