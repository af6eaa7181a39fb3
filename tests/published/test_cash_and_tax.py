"""Cash without the penny, and tax to the cent: rows TX014 to TX038.

Read in their sources (reference/tables/rules/sources.csv): TX023, TX035 and TX036 in PENNYT
(Treasury Department penny guidance, quoting the Treasury FAQ), TX034 in PENNYAP (Associated Press,
2026-03-12). The other rows are from memory, or sums of a script on a rule (source id CALC); their
tests say so and are no cited check. Python's decimal module is the independent reference of tax.

No computations: TX001 to TX013 (what is taxed, which is the tax authority's to say), TX022 (a date)
and TX037 (which states have laws).
"""

from __future__ import annotations

import re
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest

from collop.measures import Money, Rounding
from collop.reference import rule_row
from collop.rules.taxing import TaxClass, TaxLine, cash_total, taxes

DAY = date(2026, 6, 10)
CENT = Decimal("0.01")


def seen(rule_id, source_id):
    row = rule_row(rule_id)
    assert row.is_cited
    assert row.source.source_id == source_id
    return row


def recalled(rule_id):
    row = rule_row(rule_id)
    assert not row.is_cited
    return row


def cash(text, rule="nearest-5"):
    found = cash_total(Money.of(text), rule)
    assert found.to_pay - found.rounding == Money.of(text)
    return str(found.to_pay), str(found.rounding)


def tax_of(amounts, percent, per="invoice"):
    lines = [TaxLine("food", Money.of(amount)) for amount in amounts]
    rate = TaxClass(name="food", percent=Fraction(percent))
    return taxes(lines, [rate], on=DAY, per=per)


def test_cash_totals_are_rounded_both_ways():
    """TX023, PENNYT: totals ending 1, 2, 6, 7 go down, 3, 4, 8, 9 up, 0 and 5 stay."""
    down, up = re.fullmatch(r"([\d,]+) down; ([\d,]+) up", seen("TX023", "PENNYT").value).groups()
    steps = {int(end): -1 for end in down.split(",")} | {int(end): 1 for end in up.split(",")}
    assert sorted(steps) == [1, 2, 3, 4, 6, 7, 8, 9]
    for minor in range(3, 10_000):
        found = cash_total(Money(minor), "nearest-5")
        move = steps.get(minor % 10, 0)
        assert (found.rounding.minor > 0) - (found.rounding.minor < 0) == move
        assert abs(found.rounding.minor) <= 2
        assert found.to_pay.minor % 5 == 0


def test_the_examples_of_the_press():
    """TX034, PENNYAP: 1.91 and 1.92 are paid as 1.90, 1.98 and 1.99 as 2.00."""
    pairs = re.findall(r"([\d.]+), ([\d.]+) -> ([\d.]+)", seen("TX034", "PENNYAP").value)
    assert len(pairs) == 2
    for first, second, paid in pairs:
        assert cash(first)[0] == cash(second)[0] == paid


def test_a_cent_or_two_may_go_up_to_five():
    """TX035, PENNYT: totals of exactly 0.01 or 0.02 may round up to 0.05, and do here."""
    assert seen("TX035", "PENNYT").value == "may round up to 0.05"
    assert [cash(text)[0] for text in ("0.01", "0.02", "0.03", "0.00")] == [
        "0.05", "0.05", "0.05", "0.00"
    ]  # fmt: skip


def test_tax_is_on_the_price_before_rounding():
    """TX036, PENNYT: the tax base is the unrounded price; cash is rounded after tax."""
    assert seen("TX036", "PENNYT").value.startswith("unchanged")
    found = tax_of(["12.38"], "8.25")
    assert (str(found.tax), str(found.total)) == ("1.02", "13.40")
    # rounded first, 12.40 would bear 1.02 and come to 13.42
    odd = tax_of(["12.36"], "8.25")
    assert (str(odd.total), cash(str(odd.total))) == ("13.38", ("13.40", "0.02"))


@pytest.mark.parametrize("name", [f"TX{number:03d}" for number in range(24, 34)])
def test_worked_cash_totals(name):
    """TX024 to TX033 (computed on the rule of TX023, from memory): what is paid and the line."""
    row = recalled(name)
    paid, line = re.fullmatch(
        r"pay ([\d.]+); rounding line ([+-][\d.]+)", row.worked_result
    ).groups()
    to_pay, rounding = cash(row.worked_inputs)
    assert (to_pay, Decimal(rounding)) == (paid, Decimal(line))


def test_always_down_is_a_choice():
    """TX038 (from memory): 19.99 is paid as 19.95; off leaves it as it is."""
    assert recalled("TX038").worked_result == "pay 19.95"
    assert cash("19.99", "down-5") == ("19.95", "-0.04")
    assert cash("19.99", "off") == ("19.99", "0.00")


@pytest.mark.parametrize("name", [f"TX{number:03d}" for number in range(15, 20)])
def test_worked_taxes(name):
    """TX014 to TX019 (from memory, computed): tax on one invoice, half up to the cent."""
    row = recalled(name)
    amount, rate = re.match(r"([\d.]+) x ([\d.]+) =", row.worked_inputs).groups()
    found = tax_of([amount], str(Decimal(rate) * 100))
    assert str(found.tax) == row.worked_result
    assert recalled("TX014").worked_result == "1.02"


@pytest.mark.parametrize(
    ("name", "count", "each", "item", "invoice"),
    [("TX020", 3, "1.99", "0.42", "0.42"), ("TX021", 4, "0.50", "0.16", "0.14")],
)
def test_per_item_and_per_invoice(name, count, each, item, invoice):
    """TX020 and TX021 (from memory, computed): each line rounded against the whole rounded once."""
    assert recalled(name).value == f"{item} vs {invoice}"
    assert recalled(name).worked_inputs == f"{count} x {each} at 7 %"
    for per, tax in (("item", item), ("invoice", invoice)):
        assert str(tax_of([each] * count, "7", per).tax) == tax


@pytest.mark.parametrize("percent", ["0", "1.225", "4.5", "5.75", "6", "7", "8.25", "10.5", "100"])
def test_tax_agrees_with_python_decimal(percent):
    """Every amount to 50.00 against decimal's ROUND_HALF_UP, the independent reference."""
    for minor in range(1, 5001, 7):
        amount = Decimal(minor).scaleb(-2)
        wanted = (amount * Decimal(percent) / 100).quantize(CENT, ROUND_HALF_UP)
        assert tax_of([str(amount)], percent).tax.decimal() == wanted


def test_third_decimal_over_four_goes_up():
    """TX014 (from memory): to the third decimal, up when it is over 4: 0.525 is 0.53, even 0.52."""
    assert str(tax_of(["7.50"], "7").tax) == "0.53"
    lines = [TaxLine("food", Money.of("7.50"))]
    rate = TaxClass(name="food", percent=Fraction(7))
    assert str(taxes(lines, [rate], on=DAY, rule=Rounding.HALF_EVEN).tax) == "0.52"
