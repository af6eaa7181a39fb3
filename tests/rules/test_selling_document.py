"""docs/selling.md says what the sums do: its figures, worked again."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction
from pathlib import Path

from collop.measures import Money, Rounding, UnitPrice, Weight, WeightUnit
from collop.rules.taxing import CASH_RULES, TAX_PER, TaxClass, TaxLine, cash_total, taxes
from collop.rules.taxing_reading import read_classes
from collop.rules.weighing import declared, price_of
from collop.shop.till_choices import read_classes_text

PAGE = (Path(__file__).parents[2] / "docs/selling.md").read_text(encoding="utf-8")
LB = WeightUnit.LB


def test_the_half_cent_of_the_page():
    """1.50 lb at 4.99 under both rules."""
    assert "1.50 lb at 4.99 is 7.485: 7.49 or 7.48" in PAGE
    totals = [
        str(price_of(Weight.of("1.50", LB), Weight.zero(), UnitPrice.of("4.99", LB), rule,
                     division=Weight.of("0.01", LB), capacity=Weight.of(30, LB)).total)
        for rule in (Rounding.HALF_UP, Rounding.HALF_EVEN)
    ]  # fmt: skip
    assert totals == ["7.49", "7.48"]


def test_the_declared_weight_of_the_page():
    """1.25 lb cut off at three decimals of a kilogram."""
    assert "1.25 lb is\n0.566 kg" in PAGE
    assert str(declared(Weight.of("1.25", LB), WeightUnit.KG, 3)) == "0.566"


def test_the_tax_of_the_page():
    """The classes as they are typed there, and the two ways to round."""
    typed = re.search(r"    (prepared 8\.25 .*)", PAGE)[1]
    assert [one.name for one in read_classes(read_classes_text(typed))] == [
        "goods", "prepared", "prepared"
    ]  # fmt: skip
    assert "bear 0.14 or 0.16" in PAGE
    lines = [TaxLine("a", Money.of("0.50"))] * 4
    rate = [TaxClass(name="a", percent=Fraction(7))]
    found = [str(taxes(lines, rate, on=date(2026, 6, 10), per=per).tax) for per in TAX_PER]
    assert found == ["0.14", "0.16"]


def test_the_cash_of_the_page():
    """Every rule is named, and one or two cents are paid with five."""
    for rule in (*CASH_RULES, *TAX_PER):
        assert f"`{rule}`" in PAGE
    assert cash_total(Money(1), "nearest-5").to_pay == cash_total(Money(2), "nearest-5").to_pay
    assert cash_total(Money(1), "nearest-5").to_pay.minor == 5
