"""Every row of the sampling plans and allowances, from memory, not checked (WM087 apart).

No check against a publication: they hold the kernel to the rows as the table has them, bracket by
bracket. The one row that was read in its source is in tests/published/test_weights_measures.py.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

import pytest

from collop.measures import WeightUnit
from collop.reference import rule_row
from collop.rules.netweight_tables import allowance_for, sampling_plan

LB, G, OZ = WeightUnit.LB, WeightUnit.G, WeightUnit.OZ
JUST_OVER = Fraction(1, 10**6)
IN_POUNDS = [f"WM{number:03d}" for number in range(85, 117)]


def lots_of(text):
    """Return lot sizes at the ends of a row of the sampling plan."""
    numbers = [int(number) for number in re.findall(r"\d+", text.partition(", lot ")[2])]
    if " over " in text:
        return [numbers[0] + 1, 10**6]
    if "or less" in text:
        return [1, *numbers]
    return [*numbers, 10**6] if "or more" in text else numbers


@pytest.mark.parametrize("name", [f"WM{number:03d}" for number in range(67, 83)])
def test_each_row_of_the_sampling_plans(name):
    """At both ends of its lots the row is met, with its sample, factor and number allowed."""
    row = rule_row(name)
    assert not row.is_cited
    sample, allowed = re.match(r"sample (\d+).*allowed (\d+)", row.value).groups()
    factor = re.search(r"SCF ([\d.]+)", row.value)
    for size in lots_of(row.text):
        plan = sampling_plan(row.text[9], size)
        assert plan.row is row
        assert (plan.size, plan.over_allowed) == (int(sample), int(allowed))
        assert plan.factor == (Decimal(factor[1]) if factor else None)


@pytest.mark.parametrize("name", IN_POUNDS)
def test_each_bracket_of_the_allowances(name):
    """Just over its lower end and at its upper end: pounds, ounces (16 times), and grams."""
    row = rule_row(name)
    assert row.is_cited == (name == "WM087")
    low, high = map(Fraction, re.search(r"over ([\d.]+) to ([\d.]+) lb", row.text).groups())
    for label in (low + JUST_OVER, high):
        found = allowance_for(label, LB, "A", "other")
        assert (found.row, found.amount) == (row, Fraction(row.value))
        assert allowance_for(label * 16, OZ, "A", "other").amount == 16 * Fraction(row.value)
        grams = allowance_for(label * Fraction("453.59237"), G, "A", "other")
        assert (grams.row, grams.amount) == (row, Fraction(row.worked_result.split()[0]))
        # the two columns say the same, to the rounding of the gram column
        assert abs(grams.amount - Fraction(row.value) * Fraction("453.59237")) < 1
    if name != IN_POUNDS[0]:
        assert allowance_for(low, LB, "A", "other").row is rule_row(f"WM{int(name[2:]) - 1:03d}")


def test_the_ends_of_the_allowances_are_shares():
    """WM084 and WM117: a tenth of the label up to 0.08 lb, a fiftieth over 54.40 lb."""
    assert (rule_row("WM084").value, rule_row("WM117").value) == ("10 %", "2 %")
    assert allowance_for(Fraction("0.08"), LB, "A", "other").amount == Fraction("0.008")
    assert allowance_for(Fraction("54.40") + 1, LB, "A", "other").amount == Fraction("1.108")
