"""Rows of weights and measures that are from memory, not checked: they hold us to what we say.

No test here is a check against a publication. Each row's status is asserted, so that a row which is
read in its source one day must move to the published tests.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

import pytest

from collop.errors import BadValue
from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.reference import rule_row
from collop.rules.weighing import declared, price_of, tare_in_divisions
from collop.rules.weighing_scale import (
    acceptance_tolerance,
    check_capacity,
    divisions_range,
    is_permitted_division,
    maintenance_tolerance,
    scale_rules,
)

LB, KG, G = WeightUnit.LB, WeightUnit.KG, WeightUnit.G


def recalled(rule_id):
    row = rule_row(rule_id)
    assert not row.is_cited
    return row


def lb(text):
    return Weight.of(text, LB)


def test_usual_scales_have_three_thousand_steps():
    """WM001, WM002, WM004, WM005 (memory): 30 lb x 0.01 lb and 15 kg x 0.005 kg, within range."""
    for name, unit, capacity in (("WM001", LB, 30), ("WM002", KG, 15)):
        division = Weight.of(recalled(name).figure, unit)
        assert check_capacity(Weight.of(capacity, unit), division) == 3000
    assert recalled("WM004").value == "{}-{}".format(*divisions_range(Weight.of("0.001", KG)))
    assert recalled("WM005").value == "{}-{}".format(*divisions_range(lb("0.01")))
    assert divisions_range(Weight.of(5, G)) == divisions_range(lb("0.01"))
    assert divisions_range(Weight.of(2, G)) == divisions_range(lb("0.005"))
    for capacity in ("4.99", "4.995", "100.01"):
        with pytest.raises(BadValue):
            check_capacity(lb(capacity), lb("0.01"))
    with pytest.raises(BadValue, match="another class"):
        divisions_range(Weight.of("0.05", G))


def test_the_worked_divisions():
    """WM003 (memory): 0.01 and 0.02 are divisions, 0.03 is not."""
    text = recalled("WM003").worked_inputs
    for amount, word in re.findall(r"([\d.]+) (ok|not)", text):
        assert is_permitted_division(Decimal(amount)) == (word == "ok")


@pytest.mark.parametrize("name", ["WM006", "WM007", "WM008", "WM009"])
def test_tolerances_by_load(name):
    """WM006 to WM010 (memory): the worked loads of a 0.01 lb scale, half of it for a new one."""
    row = recalled(name)
    low, high = re.search(r"load ([\d.]+)-([\d.]+) lb", row.worked_inputs).groups()
    allowed = re.search(r"\+/-([\d.]+) lb", row.worked_result)[1]
    for load in (low, high):
        assert maintenance_tolerance(lb(load), lb("0.01")) == lb(allowed)
        half = acceptance_tolerance(lb(load), lb("0.01"))
        assert half.exact(LB) == Fraction(allowed) * Fraction(recalled("WM010").figure)


def test_no_test_load_beyond_the_table():
    """Loads outside the table are refused."""
    for load in ("-0.01", "100.01"):
        with pytest.raises(BadValue):
            maintenance_tolerance(lb(load), lb("0.01"))


def test_a_tare_goes_up_to_a_step():
    """WM012 (memory): 0.017 lb on a 0.01 lb scale is held as 0.02 lb."""
    row = recalled("WM012")
    assert row.worked_result == "store as 0.02 lb"
    assert tare_in_divisions(lb("0.017"), lb("0.01")) == lb("0.02")
    assert tare_in_divisions(lb("0.02"), lb("0.01")) == lb("0.02")


def test_twenty_steps_are_the_least_load():
    """WM011 (memory): 0.20 lb at 0.01 lb, 0.10 kg at 0.005 kg: a caution under it."""
    assert recalled("WM011").figure == 20
    for unit, division, least in ((LB, "0.01", "0.20"), (KG, "0.005", "0.10")):
        step, bottom = Weight.of(division, unit), Weight.of(least, unit)
        for reading, told in ((bottom, 0), (bottom - step, 1)):
            sale = price_of(
                reading, Weight.zero(unit), UnitPrice.of("20", unit), division=step,
                capacity=Weight.of(30, unit),
            )  # fmt: skip
            assert len(sale.cautions) == told


@pytest.mark.parametrize("name", [f"WM{number:03d}" for number in range(27, 36)])
def test_worked_totals(name):
    """WM027 to WM035 (computed by a script from the stated rule): gross, tare, price, total."""
    row = recalled(name)
    gross, tare, price = re.fullmatch(
        r"gross ([\d.]+) lb; tare ([\d.]+) lb; \$([\d.]+)/lb", row.worked_inputs
    ).groups()
    net, total = re.search(r"net ([\d.]+) lb; .*total \$([\d.]+)", row.worked_result).groups()
    sale = price_of(
        lb(gross), lb(tare), UnitPrice.of(price, LB), division=lb("0.001"), capacity=lb(30)
    )
    assert (sale.net, str(sale.total)) == (lb(net), total)
    assert row.value == total


def test_declarations_are_cut_off():
    """WM059 (memory): 1.25 lb is 0.56699 kg: declare 0.566 or 0.56 kg, never 0.567."""
    assert "0.566 kg (3 decimals, down) or 0.56 kg" in recalled("WM059").worked_result
    assert [str(declared(lb("1.25"), KG, places)) for places in (3, 2)] == ["0.566", "0.56"]


def test_what_a_missed_tare_costs():
    """WM133: 0.03 lb on 500 packs a week at 9.99 is 149.85."""
    row = recalled("WM133")
    assert row.worked_result.startswith("$149.8500")
    assert str(UnitPrice.of("9.99", LB).line(lb("0.03") * 500)) == "149.85"


def test_a_price_is_set_in_whole_cents():
    """WM134: 2.00 lb at 12.995 is 25.99, at the shown 13.00 it is 26.00: part of a cent is out."""
    recalled("WM134")
    scale = {"division": lb("0.01"), "capacity": lb(30)}
    with pytest.raises(BadValue, match=r"13\.00"):
        price_of(lb(2), Weight.zero(), UnitPrice.of("12.995", LB), **scale)
    sale = price_of(lb(2), Weight.zero(), UnitPrice.of("13.00", LB), **scale)
    assert str(sale.total) == "26.00"
    assert str(UnitPrice.of("12.995", LB).line(lb(2))) == "25.99"


def test_test_readings_of_a_scale_go_to_the_even_digit():
    """WM026 (memory): 0.025 to 0.01 is 0.02, which is the rule half-even and not our money rule."""
    assert recalled("WM026").worked_result == "0.02"
    from collop.measures import decimal_of

    assert decimal_of(Fraction("0.025"), 2, Rounding.HALF_EVEN) == Decimal("0.02")
    assert decimal_of(Fraction("0.025"), 2) == Decimal("0.03")


def test_the_rows_behind_a_scale_check():
    """Divisions, the tolerances in order of load, the factor of a new scale, the least load."""
    names = [row.rule_id for row in scale_rules()]
    assert names == [f"WM{number:03d}" for number in range(3, 12)]
