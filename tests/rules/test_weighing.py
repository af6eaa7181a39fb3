"""The price of a weighed sale, and what is refused before there is one. Demo figures are ours."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.rules.weighing import (
    declared,
    dry_tare_net,
    net_of,
    price_of,
    tare_in_divisions,
    tare_was_missed,
)
from collop.rules.weighing_scale import check_division, is_permitted_division, weight_text

LB, KG = WeightUnit.LB, WeightUnit.KG


def lb(text):
    return Weight.of(text, LB)


def priced(gross, tare="0.02", price="8.40", rule=Rounding.HALF_UP, **scale):
    division, capacity = scale.get("division", "0.01"), scale.get("capacity", "30")
    return price_of(
        lb(gross), lb(tare), UnitPrice.of(price, LB), rule, division=lb(division),
        capacity=lb(capacity),
    )  # fmt: skip


def test_net_weight_times_price_is_the_total():
    """A usual sale: gross 4.87, tare 0.02, 8.40 a pound."""
    sale = priced("4.87")
    assert (sale.net, str(sale.total), sale.rule) == (lb("4.85"), "40.74", Rounding.HALF_UP)
    assert (sale.is_tie, sale.cautions) == (False, ())


@pytest.mark.parametrize(
    ("gross", "more", "word"),
    [
        ("0.02", {}, "nothing is left"),
        ("0", {}, "nothing is left"),
        ("-0.05", {}, "nothing is left"),
        ("30.01", {}, "over its capacity"),
        ("4.875", {}, "no reading"),
        ("4.87", {"division": "0.03"}, "none a scale may have"),
        ("4.87", {"division": "0"}, "above zero"),
        ("4.87", {"price": "8.405"}, "part of a cent"),
        ("4.87", {"tare": "-0.01"}, "zero or more"),
    ],
)
def test_there_is_no_price_for_a_wrong_weight(gross, more, word):
    """Nothing left, too heavy, off the steps, a step no scale has, part of a cent: one sentence."""
    with pytest.raises(BadValue) as told:
        priced(gross, **more)
    assert word in told.value.message
    assert told.value.message.count(".") >= 1
    assert told.value.where


def test_capacity_itself_may_be_weighed():
    """At capacity there is still a price."""
    assert priced("30", tare="0").net == lb("30")


def test_a_tare_between_steps_is_rounded_up_and_said():
    """A tare of 0.017 lb is taken as 0.02 lb, which the person is told."""
    sale = priced("1.00", tare="0.017")
    assert (sale.tare, sale.net) == (lb("0.02"), lb("0.98"))
    assert "0.02 lb" in sale.cautions[0]


def test_a_tare_rounded_up_may_leave_nothing():
    """A reading of one step with a tare of part of a step has nothing left."""
    with pytest.raises(BadValue, match="nothing is left"):
        priced("0.01", tare="0.001")


def test_little_on_the_scale_is_a_caution_not_a_refusal():
    """Under 20 steps the price stands with a caution; at 20 steps there is none."""
    assert "0.20 lb" in priced("0.19", tare="0").cautions[0]
    assert priced("0.20", tare="0").cautions == ()


def test_a_price_that_rounds_to_nothing_is_said():
    """So little that it costs no cent is told."""
    assert "nothing can be charged" in priced("0.01", tare="0", price="0.49").cautions[-1]
    assert priced("0.01", tare="0", price="0").total.minor == 0


def test_a_kilogram_scale_prices_by_the_pound():
    """Net weight is exact in both units: 1.005 kg at 8.99 a pound."""
    sale = price_of(
        Weight.of("1.010", KG), Weight.of("0.005", KG), UnitPrice.of("8.99", LB),
        division=Weight.of("0.005", KG), capacity=Weight.of("15", KG),
    )  # fmt: skip
    exact = Fraction("1.005") / Fraction("0.45359237") * Fraction("8.99")
    assert sale.total.minor == int(exact * 100 + Fraction(1, 2))


@given(
    gross=st.integers(1, 3000), tare=st.integers(0, 300), cents=st.integers(0, 10_000),
    step=st.sampled_from([1, 2, 5]),
)  # fmt: skip
def test_the_customer_never_pays_for_packaging(gross, tare, cents, step):
    """Whatever is weighed: net is gross less a tare that is never less than the real one."""
    division, reading = Weight(lb("0.01").count * step), Weight(lb("0.01").count * gross * step)
    real = Weight(lb("0.001").count * tare)
    price = UnitPrice.of(str(Decimal(cents) / 100), LB)
    try:
        sale = price_of(reading, real, price, division=division, capacity=lb("150"))
    except BadValue:
        assert reading <= tare_in_divisions(real, division)
        return
    assert sale.net == reading - sale.tare
    assert real <= sale.tare < real + division
    assert sale.net.count % division.count == 0
    exact = sale.net.exact(LB) * cents
    assert abs(sale.total.minor - exact) <= Fraction(1, 2)


@given(st.integers(0, 10**9), st.integers(0, 4))
def test_a_declared_weight_is_never_more_than_there_is(grams, places):
    """Cut off at any number of decimals, in pounds and kilograms."""
    weight = Weight(grams * 10**8, KG)
    for unit in (LB, KG):
        shown = declared(weight, unit, places)
        assert 0 <= weight.exact(unit) - Fraction(shown) < Fraction(1, 10**places)


@pytest.mark.parametrize("power", range(-6, 4))
def test_divisions_are_one_two_or_five(power):
    """Of the digits 1 to 9 and 25, only 1, 2 and 5 times a power of ten are divisions."""
    for one in [*range(1, 10), 25]:
        assert is_permitted_division(Decimal(one).scaleb(power)) == (one in (1, 2, 5))
    assert not is_permitted_division(Decimal(0))
    assert not is_permitted_division(Fraction(1, 3))
    assert not is_permitted_division(Decimal(-1))


def test_a_step_is_refused_in_words():
    """A step of 0.03 lb is none, with what is one."""
    with pytest.raises(BadValue, match=r"0\.01 lb or 0\.005 kg"):
        check_division(lb("0.03"))


def test_weights_are_written_with_two_decimals_at_least():
    """Closing zeros go, but for two; the sign stays."""
    assert [weight_text(lb(text)) for text in ("4.85", "5", "0.005", "-0.05")] == [
        "4.85 lb", "5.00 lb", "0.005 lb", "-0.05 lb"
    ]  # fmt: skip


def test_small_helpers_agree():
    """Net, dry tare and the shelf test are one sum seen three ways."""
    assert net_of(lb("1.24"), lb("0.03")) == dry_tare_net(lb("1.24"), lb("0.03"))
    assert not tare_was_missed(lb("1.24"), lb("1.21"))
