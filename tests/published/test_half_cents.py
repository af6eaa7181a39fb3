"""Exact half cents: the table of ties, and every tie there is up to 30.00 a pound.

The rows WM036 to WM042 are sums of a script (source id CALC, "Computed from the stated rule by
script"), kept as from memory; they are worked again here from Python's decimal module, which is the
independent reference: `decimal.ROUND_HALF_UP` and `ROUND_HALF_EVEN` of the General Decimal
Arithmetic Specification.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from math import gcd

import pytest

from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.reference import rule_row
from collop.rules.weighing import price_of

LB = WeightUnit.LB
CENT = Decimal("0.01")
RULES = {Rounding.HALF_UP: ROUND_HALF_UP, Rounding.HALF_EVEN: ROUND_HALF_EVEN}
HIGHEST_CENTS, HEAVIEST = 3000, 3000


def parts_of(name):
    row = rule_row(name)
    net, price, exact = re.fullmatch(
        r"net ([\d.]+) lb; \$([\d.]+)/lb; exact product ([\d.]+)", row.worked_inputs
    ).groups()
    told = re.fullmatch(
        r"half up \$([\d.]+); half even \$([\d.]+); binary float round\(\) gives ([\d.]+)",
        row.worked_result,
    ).groups()
    return net, price, exact, told


@pytest.mark.parametrize("name", [f"WM{number:03d}" for number in range(36, 43)])
def test_the_ties_of_the_table(name):
    """WM036 to WM042: the total under both rules, the tie told, and what binary floats say."""
    net, price, exact, (up, even, binary) = parts_of(name)
    assert Decimal(net) * Decimal(price) == Decimal(exact)
    for rule, total in ((Rounding.HALF_UP, up), (Rounding.HALF_EVEN, even)):
        sale = price_of(
            Weight.of(net, LB), Weight.zero(), UnitPrice.of(price, LB), rule,
            division=Weight.of("0.01", LB), capacity=Weight.of(30, LB),
        )  # fmt: skip
        assert (str(sale.total), sale.is_tie) == (total, True)
        assert (Decimal(net) * Decimal(price)).quantize(CENT, RULES[rule]) == Decimal(total)
    assert f"{round(float(net) * float(price), 2):.2f}" == binary


def test_binary_floats_agree_with_no_one_rule():
    """In the table itself floats follow half-up in some rows and half-even in another."""
    against = set()
    for number in range(36, 43):
        *_, (up, even, binary) = parts_of(f"WM{number:03d}")
        against |= {rule for rule, total in (("up", up), ("even", even)) if total != binary}
    assert against == {"up", "even"}


def ties():
    """Yield (hundredths of a pound, cents) whose product is exactly half a cent, all of them."""
    for cents in range(1, HIGHEST_CENTS + 1):
        # weight x cents = 50 modulo 100
        shared = gcd(cents, 100)
        if 50 % shared:
            continue
        for weight in range(1, HEAVIEST + 1):
            if weight * cents % 100 == 50:
                yield weight, cents


def test_every_tie_under_both_rules():
    """All ties of 0.01 to 30.00 a pound by 0.01 to 30.00 lb agree with Python's decimal."""
    by_count = {}
    count = Weight.of("0.01", LB).count
    found = 0
    for weight, cents in ties():
        product = Decimal(weight * cents).scaleb(-4)
        price = by_count.get(cents) or by_count.setdefault(
            cents, UnitPrice(Decimal(cents).scaleb(-2), LB)
        )
        net = Weight(count * weight, LB)
        # exactly half a cent: the two neighbours are one cent apart
        up = int(product.quantize(CENT, ROUND_HALF_UP).scaleb(2))
        even = int(product.quantize(CENT, ROUND_HALF_EVEN).scaleb(2))
        assert price.line(net).minor == up
        assert price.line(net, Rounding.HALF_EVEN).minor == even
        found += 1
    assert found == sum(1 for a in range(1, 101) for b in range(1, 101) if a * b % 100 == 50) * 900
