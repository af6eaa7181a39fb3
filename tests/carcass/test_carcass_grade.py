"""The US beef yield grade: decimals dropped, steps told, measures checked."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass import yield_grade, yield_grade_short
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.reference import carcass_rules


def grade(fat="0.40", inner="2.0", eye="13.0", hot="800"):
    """Return the grade by the equation."""
    return yield_grade(
        adjusted_fat_in=Decimal(fat),
        kph_pct=Decimal(inner),
        ribeye_sq_in=Decimal(eye),
        hot_carcass=Weight.of(hot, WeightUnit.LB),
    )


@pytest.mark.parametrize("row", carcass_rules("yield_grade_computed_check"), ids=lambda r: r.inputs)
def test_the_equation_agrees_with_figures_worked_out_by_hand(row):
    """Own arithmetic, no published check: four carcasses from the equation."""
    told = dict(part.split("=") for part in row.inputs.split("; "))
    found = grade(told["AFT"], told["KPH"], told["REA"], told["HCW"])
    assert abs(found.value - Fraction(row.value)) <= Fraction(1, 200)


@pytest.mark.parametrize(("fat", "number"), [("0.08", 1), ("0.09", 2), ("0.48", 2), ("0.49", 3)])
def test_decimals_are_dropped_never_rounded(fat, number):
    """1.98 is grade 1 and 2.98 is grade 2."""
    assert grade(fat).grade == number


def test_no_grade_is_below_one_or_above_five():
    """A very lean and a very fat carcass keep the ends of the scale."""
    assert grade("0", "0", "20").grade == 1
    assert grade("2.0", "6", "9").grade == 5


def test_the_steps_sum_to_the_value():
    """Every term is told with its amount."""
    found = grade()
    assert sum(step.amount for step in found.steps) == found.value == Fraction("2.78")
    assert found.basis.standing == "seen"
    assert found.retail_pct == (Decimal("75.2"), Decimal("79.7"))


def test_the_retail_share_of_grade_five_is_marked():
    """Its upper bound was inferred: it is not cited as read."""
    found = grade("2.0", "6", "9")
    assert found.retail_pct == (None, Decimal("65.9"))
    assert not found.retail_basis.is_cited


@pytest.mark.parametrize(
    ("key", "value", "where"),
    [
        ("fat", "-0.1", "$.adjusted_fat_in"),
        ("fat", "4.1", "$.adjusted_fat_in"),
        ("fat", "NaN", "$.adjusted_fat_in"),
        ("inner", "13", "$.kph_pct"),
        ("eye", "2", "$.ribeye_sq_in"),
        ("hot", "199", "$.hot_carcass_lb"),
        ("hot", "1601", "$.hot_carcass_lb"),
    ],
)
def test_a_measure_no_carcass_has_is_refused(key, value, where):
    """One sentence with the range, and the path of the value."""
    with pytest.raises(BadValue, match="it must be from") as caught:
        grade(**{key: value})
    assert caught.value.where == where


@pytest.mark.parametrize(
    ("fat", "inner", "hot", "where"),
    [
        ("1.5", "3.5", "700", "$.fat_in"),
        ("0.4", "0.9", "700", "$.kph_pct"),
        ("0.4", "3.5", "599", "$.hot_carcass_lb"),
    ],
)
def test_the_short_method_is_not_carried_beyond_its_steps(fat, inner, hot, where):
    """Outside the printed steps the equation is to be used."""
    with pytest.raises(BadValue, match=r"use the equation|from 600 to 1000 lb") as caught:
        yield_grade_short(
            fat_in=Decimal(fat),
            kph_pct=Decimal(inner),
            ribeye_sq_in=Decimal(12),
            hot_carcass=Weight.of(hot, WeightUnit.LB),
        )
    assert caught.value.where == where


@given(st.integers(0, 140), st.integers(10, 45), st.integers(80, 200), st.integers(600, 1000))
def test_the_two_methods_never_differ_by_half_a_grade_where_both_hold(fat, inner, eye, hot):
    """The short method is the equation with rounded steps: 0.3 for 0.32 of ribeye, and so on."""
    measures = {
        "kph_pct": Decimal(inner) / 10,
        "ribeye_sq_in": Decimal(eye) / 10,
        "hot_carcass": Weight.of(hot, WeightUnit.LB),
    }
    full = yield_grade(adjusted_fat_in=Decimal(fat) / 100, **measures).value
    short = yield_grade_short(fat_in=Decimal(fat) / 100, **measures).value
    assert abs(full - short) < Fraction(1, 2)
