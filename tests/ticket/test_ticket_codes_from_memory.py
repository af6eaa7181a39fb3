"""Rows of the bar-code rules that are from memory or computed, not a cited check.

They hold the code to what the table says, and nothing here is shown by a published example.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.errors import BadValue
from collop.reference.rulebook import rule_row, rule_rows
from collop.ticket.digits import check_digit, full
from collop.ticket.elements import decode, encode
from collop.ticket.elements_reading import SYMBOLOGIES
from collop.ticket.elements_values import SET_82
from collop.ticket.variable import price_verifier, read_variable, variable_ean, variable_upc

VERIFIERS = [row for row in rule_rows("barcodes", "price_verifier")
             if row.worked_inputs.isdigit()]  # fmt: skip
PACKS = [row for row in rule_rows("barcodes", "rcn12") if row.text == "worked label"]
STRINGS = [row for row in rule_rows("barcodes", "element_string") if row.worked_result]


@pytest.mark.parametrize("row", VERIFIERS, ids=lambda row: row.rule_id)
def test_computed_verifiers(row):
    """From memory: computed from the tables, 4 and 5 digits."""
    assert not row.is_cited
    assert price_verifier(row.worked_inputs) == row.value


@pytest.mark.parametrize("row", PACKS, ids=lambda row: row.rule_id)
def test_computed_packs(row):
    """From memory: item and price of a whole number, except that a price of zero gets no ticket."""
    assert not row.is_cited
    item, _, price = row.worked_inputs.removeprefix("item ").partition("; price $")
    cents = int(Decimal(price) * 100)
    if not cents:
        with pytest.raises(BadValue, match="gets no ticket"):
            variable_upc(item, cents)
        return
    assert variable_upc(item, cents) == row.worked_result
    found = read_variable(row.worked_result)
    assert (found.item, found.amount) == (item, Decimal(price))
    assert variable_ean(item, Decimal(price), place="us", prefix="02") == f"0{row.worked_result}"


@pytest.mark.parametrize("row", STRINGS, ids=lambda row: row.rule_id)
def test_worked_element_strings(row):
    """From memory: brackets, what is transmitted, and a separator only where it is needed."""
    assert not row.is_cited
    values = {one.ai: one.value for one in decode(row.worked_inputs)}
    made = encode(values)
    assert made.element_string == row.worked_inputs
    assert made.transmitted.replace("\x1d", "<GS>") == row.worked_result
    assert decode(made.transmitted) == decode(row.worked_inputs)


def test_pounds_by_the_rule():
    """From memory, BC116: 3202 000244 is 2.44 lb."""
    assert decode("01906141410000153202000244")[1].decoded == "2.44 lb"


def test_set_82_has_82_characters():
    """From memory, BC119: letters, digits and 20 signs, no space."""
    assert len(SET_82) == 82
    signs = rule_row("BC119").worked_result.split("0-9 and ")[1].replace(" ", "")
    assert set(signs) == {one for one in SET_82 if not one.isalnum()}


def test_what_a_scanner_says_first():
    """From memory, BC123: ]C1, ]e0, ]d2, ]Q3, and the same elements behind each."""
    for mark in SYMBOLOGIES:
        assert mark in rule_row("BC123").note
        assert decode(f"{mark}0190614141000015")[0].value == "90614141000015"


@pytest.mark.parametrize("cents", [10_000, 13_750, 99_999])
def test_a_price_of_a_hundred_and_more_is_refused_with_the_alternative(cents):
    """From memory, BC056: it does not fit 4 digits; 5 digits without verifier, or (392n)."""
    with pytest.raises(BadValue) as caught:
        variable_upc("00101", cents)
    assert "5 digits without verifier if the till reads it" in caught.value.message
    assert "GS1 DataBar Expanded code with the price in (392n)" in caught.value.message
    code = variable_upc("00101", cents, price_digits=5)
    assert len(code) == 12
    assert read_variable(code, "us, 5-digit price").amount == Decimal(cents) / 100


def test_a_thousand_does_not_fit_five_digits_either():
    """The field is never cut."""
    with pytest.raises(BadValue, match=r"The price 1000\.00 does not fit a field of 5 digits"):
        variable_upc("00101", 100_000, price_digits=5)


def test_a_price_of_zero_or_less_gets_no_ticket():
    """From memory, BC057: refused, also below zero."""
    for cents in (0, -1):
        with pytest.raises(BadValue, match="gets no ticket"):
            variable_upc("00101", cents)
        with pytest.raises(BadValue, match="gets no ticket"):
            variable_ean("00101", Decimal(cents), place="gb")


def test_what_the_verifier_of_four_digits_catches():
    """Computed, BC059: every wrong single digit of 10,000 prices; 9400 adjacent swaps pass."""
    of = [price_verifier(f"{price:04d}") for price in range(10_000)]
    missed = 0
    for price in range(10_000):
        digits = f"{price:04d}"
        for place in range(4):
            step = 10 ** (3 - place)
            base = price - int(digits[place]) * step
            missed += sum(of[base + n * step] == of[price] for n in range(10)) - 1
    assert missed == 0
    swaps = passed = 0
    for price in range(10_000):
        digits = f"{price:04d}"
        for place in range(3):
            if digits[place] != digits[place + 1]:
                other = list(digits)
                other[place], other[place + 1] = other[place + 1], other[place]
                swaps += 1
                passed += of[int("".join(other))] == of[price]
    assert swaps == 27_000
    assert passed == 9_400


def test_one_wrong_digit_anywhere_in_a_pack_is_told():
    """The check digit catches every single wrong digit, whatever the verifier says."""
    good = variable_upc("00101", 499)
    for place, digit in enumerate(good):
        for wrong in set("0123456789") - {digit}:
            with pytest.raises(BadValue, match=r"must be|begins no weighed pack"):
                read_variable(good[:place] + wrong + good[place + 1 :])


def test_a_swap_the_verifier_misses_is_caught_by_the_check_digit():
    """Computed, BC059: the first two digits of a price may be swapped unseen by the verifier."""
    assert price_verifier("1299") == price_verifier("2199")
    good = variable_upc("00101", 1299)
    swapped = good[:7] + "2199" + good[-1]
    assert check_digit(swapped[:-1]) != swapped[-1]
    with pytest.raises(BadValue, match="its check digit must be"):
        read_variable(swapped)


@pytest.mark.parametrize(
    ("item", "amount", "place", "prefix", "reason"),
    [
        ("1111", Decimal("1.00"), "gb", "20", "has 4 digits; it must have 5"),
        ("11111", Decimal("1.001"), "gb", "20", "finer than the 2 decimals"),
        ("11111", Decimal(100), "gb", "20", "does not fit a field of 4 digits"),
        ("11111", Decimal(1), "gb", "21", "there it begins with 20, 28"),
        ("11111", Decimal(1), "xx", "20", "is no place known here"),
        ("11111", Decimal("NaN"), "gb", "20", "must be a decimal"),
        ("11111", Decimal("1E-999999"), "gb", "20", "must be a decimal"),
        ("11111", Decimal("1E+999999"), "gb", "20", "must be a decimal"),
        ("11111", 1.5, "gb", "20", "must be a decimal"),
        ("111111", Decimal(10), "fi", "23", "use a code with (310n) instead"),
    ],
)
def test_amounts_that_do_not_fit_are_refused(item, amount, place, prefix, reason):
    """One sentence says what is wrong; nothing is rounded or cut."""
    with pytest.raises(BadValue) as caught:
        variable_ean(item, amount, place=place, prefix=prefix)
    assert reason in caught.value.message


def test_a_price_finer_than_its_currency_is_refused():
    """A yen has no decimals, whatever the field could hold."""
    with pytest.raises(BadValue, match="has more decimals than JPY"):
        variable_ean("11111", Decimal("1.50"), place="gb", prefix="20", currency="JPY")


def test_hostile_prices_and_field_sizes_are_refused():
    """Only whole cents, only 4 or 5 digits."""
    for cents in (True, 4.99, "499"):
        with pytest.raises(BadValue, match="whole number of cents"):
            variable_upc("00101", cents)
    with pytest.raises(BadValue, match="4 or 5 digits, not 6"):
        variable_upc("00101", 499, price_digits=6)
    with pytest.raises(BadValue, match="must be 4 to 5 digits"):
        price_verifier("12x5")
    assert full("20010180499") == variable_upc("00101", 499)
