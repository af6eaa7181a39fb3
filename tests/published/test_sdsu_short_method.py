"""South Dakota State University Extension, Beef carcass yield grades (SDSUYG)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.carcass import yield_grade, yield_grade_short
from collop.measures import Weight, WeightUnit
from collop.reference import carcass_rules


def short(fat="0.4", weight="750", ribeye="12.8", inner="3.5"):
    """Return the short method of a carcass; by default only the fat counts."""
    return yield_grade_short(
        fat_in=Decimal(fat),
        kph_pct=Decimal(inner),
        ribeye_sq_in=Decimal(ribeye),
        hot_carcass=Weight.of(weight, WeightUnit.LB),
    )


def rows(name):
    """Return (input, figure) of a published step table."""
    return [
        (row.inputs.partition("=")[2].split()[0], row.figure)
        for row in carcass_rules(f"yield_grade_short_method_{name}", cited_only=True)
    ]


def test_the_worked_example_is_2_16():
    """SDSU (seen): 3.0 - 0.54 - 0.30 = 2.16, grade 2."""
    found = short("0.4", "700", "14.0", "2.0")
    assert [step.amount for step in found.steps] == [3, Fraction("-0.54"), Fraction("-0.3")]
    assert (found.value, found.grade) == (Fraction("2.16"), 2)


def test_the_equation_gives_2_08_for_the_same_carcass():
    """SDSU (seen) against BIF equation (seen): the two methods are not identical."""
    full = yield_grade(
        adjusted_fat_in=Decimal("0.4"),
        kph_pct=Decimal("2.0"),
        ribeye_sq_in=Decimal(14),
        hot_carcass=Weight.of(700, WeightUnit.LB),
    )
    assert full.value == Fraction("2.08")


@pytest.mark.parametrize(("fat", "grade"), rows("preliminary"))
def test_the_start_follows_the_table(fat, grade):
    """SDSU (seen): preliminary grade 2.0 to 5.5 for 0 to 1.4 in of back fat."""
    assert short(fat=fat).steps[0].amount == grade


@pytest.mark.parametrize(("weight", "required"), rows("required_rea"))
def test_the_required_ribeye_moves_nothing(weight, required):
    """SDSU (seen): 11.0 sq in at 600 lb to 15.8 at 1000 lb leave the grade as it is."""
    assert short(weight=weight, ribeye=str(required)).steps[1].amount == 0


@pytest.mark.parametrize(("inner", "amount"), rows("kph_adjustment"))
def test_inner_fat_moves_the_grade_by_the_table(inner, amount):
    """SDSU (seen): 0.1 of a grade per half point from 3.5 %."""
    assert short(inner=inner).steps[2].amount == Fraction(amount)
