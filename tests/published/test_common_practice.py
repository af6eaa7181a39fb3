"""Checks against common practice, no published source: rows from memory, never cited."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.measures import UnitPrice, Weight, WeightUnit, decimal_of
from collop.reference import (
    ALLERGENS,
    chicken_parts,
    cold_water_hours,
    conversion_rows,
    cooked_weight,
    cooking_yield,
    keeping_rows,
    portion_rows,
)

ROWS = {row.rule_id: row for row in conversion_rows() if not row.is_cited}


def test_a_child_counts_for_half():
    """Common practice (memory): half an adult; the meal-pattern minimums run from half to one."""
    (rule,) = portion_rows("child", who="child")
    assert (rule.low, rule.is_cited) == (Decimal("0.5"), False)
    meals = {row.who: row.low for row in portion_rows("lunch/supper minimum")}
    shares = [share / meals["adult"] for who, share in meals.items() if "child" in who]
    assert (min(shares), max(shares)) == (rule.low, 1)


def test_a_wrap_of_two_and_a_half_ounces_cooks_to_a_taco():
    """Common practice (memory): 2 oz of cooked filling in a taco."""
    (taco,) = portion_rows("taco filling")
    assert not taco.is_cited
    grilled = cooking_yield("beef", "retail all cuts", "grilled")[0]
    cooked = cooked_weight(Weight.of("2.5", WeightUnit.OZ), grilled)
    assert cooked.decimal(WeightUnit.OZ, 0) == taco.low == taco.high


def test_the_parts_of_a_broiler_span_the_whole_bird():
    """Common practice (memory): the shares of a cut-up bird enclose 100 %."""
    parts = chicken_parts("CHICKEN_8PIECE_TYPICAL")
    assert not any(part.is_cited for part in parts)
    low = sum(part.pct_of_base.low for part in parts)
    high = sum(part.pct_of_base.high for part in parts)
    assert low <= 100 <= high


@pytest.mark.parametrize(("pounds", "item"), [(1, "1 lb package"), (4, "3-4 lb package")])
def test_a_package_in_cold_water_takes_no_longer_than_recalled(pounds, item):
    """Common practice (memory): an hour or less for 1 lb, 2-3 h for 3-4 lb."""
    (row,) = (row for row in keeping_rows("thaw") if row.item == f"{item}, cold water")
    assert not row.is_cited
    assert cold_water_hours(Weight.of(pounds, WeightUnit.LB)) <= row.high


def test_sixteen_ounces_are_a_pound():
    """Common knowledge (memory): 1 oz = 28.349523125 g, a sixteenth of a pound."""
    ounce = ROWS["TX040"].figure
    assert Weight.of(16 * ounce, WeightUnit.G) == Weight.of(1, WeightUnit.LB)
    assert Weight.of(16, WeightUnit.OZ) == Weight.of(1, WeightUnit.LB)


@pytest.mark.parametrize("rule_id", [f"TX{number:03}" for number in range(42, 48)])
def test_a_price_a_pound_is_shown_a_kilogram_and_back(rule_id):
    """Worked by script, no published source (memory): per lb to per kg and back."""
    row = ROWS[rule_id]
    per_lb = row.worked_inputs.partition("/")[0]
    shown = UnitPrice.of(per_lb, WeightUnit.LB).shown_per(WeightUnit.KG)
    assert shown == row.figure
    assert str(UnitPrice(shown, WeightUnit.KG).shown_per(WeightUnit.LB)) == per_lb


@pytest.mark.parametrize(
    ("rule_id", "unit", "other"),
    [("TX048", WeightUnit.LB, WeightUnit.KG), ("TX049", WeightUnit.KG, WeightUnit.LB)],
)
def test_a_price_is_kept_in_the_unit_it_was_set_in(rule_id, unit, other):
    """Worked by script, no published source (memory): half of the kg prices would move."""
    moved = 0
    for cents in range(1, 10_001):
        price = UnitPrice(Decimal(cents).scaleb(-2), unit)
        back = UnitPrice(price.shown_per(other), other).shown_per(unit)
        moved += back != price.amount
    assert ROWS[rule_id].value == f"{moved} of 10000 change"


def test_half_a_bird_is_about_half():
    """Common practice (memory): a half of a 4 lb bird is 49.5-50 %."""
    (half,) = (
        row for row in chicken_parts("CHICKEN_STYLES_TYPICAL") if row.part == "halves (each)"
    )
    bird = Weight.of(4, WeightUnit.LB).exact(WeightUnit.LB)
    assert decimal_of(bird * Fraction(half.pct_of_base.low) / 100, 2) == half.weight.low
    assert decimal_of(bird * Fraction(half.pct_of_base.high) / 100, 2) == half.weight.high


def test_the_names_of_the_european_annex_are_recalled():
    """Regulation (EU) No 1169/2011, Annex II (memory): fourteen groups with the nine major ones."""
    further = [one for one in ALLERGENS.values() if one.listed_in == "eu-annex"]
    assert not any(one.is_cited for one in further)
    cereals = {"wheat", "rye", "barley", "oats"}
    groups = {one.name for one in further} - cereals
    groups |= {name for name, one in ALLERGENS.items() if one.listed_in == "us-major"} - cereals
    assert len(groups) == 14
