"""Appetites learned from what orders left: against closed forms and numerical integrals."""

from __future__ import annotations

import math

import jsonschema
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from collop.errors import ProblemError
from collop.spread.appetites import LEAST_ORDERS, ORDER_SD, PRIOR_SD, appetite
from collop.spread.appetites_schema import SCHEMAS


def asked(*orders, **more):
    return {"schema": "collop.appetite/1", "orders": list(orders)} | more


def left(share, needed=40.0, supplied=40.0):
    return {"needed_meals": needed, "supplied_meals": supplied, "left_over": share}


OUT = {"needed_meals": 40.0, "supplied_meals": 42.0, "ran_out": True}


def integrals(orders, prior_sd=PRIOR_SD, order_sd=ORDER_SD):
    """Return mean and sd of log f by scipy's quadrature over the whole density."""

    def density(x):
        found = stats.norm.pdf(x, 0, prior_sd)
        for one in orders:
            ratio = one["supplied_meals"] * (1 - one.get("left_over", 0.0)) / one["needed_meals"]
            if one.get("ran_out") and "left_over" not in one:
                found *= stats.norm.sf(math.log(ratio), x, order_sd)
            else:
                found *= stats.norm.pdf(math.log(ratio), x, order_sd)
        return found

    def moment(power):
        parts = [integrate.quad(lambda x: x**power * density(x), a, a + 0.25, epsabs=0)[0]
                 for a in (-1.0, -0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75)]  # fmt: skip
        return sum(parts)

    whole = moment(0)
    mean = moment(1) / whole
    return mean, math.sqrt(moment(2) / whole - mean**2)


def test_nobody_told_leaves_the_tables_as_they_are():
    """Without an order the factor is 1 with the prior's spread, and nothing is used."""
    plan = appetite(asked())
    assert (plan["factor"], plan["sd_log"], plan["used"]) == (1.0, PRIOR_SD, 1.0)
    assert "Nobody told" in plan["say"]


def test_known_orders_are_the_normal_mean_with_a_normal_prior():
    """Against the closed form: precisions add, means weigh by them."""
    ratios = [0.9, 1.05, 0.8, 0.97, 1.1, 0.85]
    plan = appetite(asked(*(left(round(1 - ratio, 10)) for ratio in ratios)))
    precision = 1 / PRIOR_SD**2 + len(ratios) / ORDER_SD**2
    mean = sum(map(math.log, ratios)) / ORDER_SD**2 / precision
    assert plan["factor"] == pytest.approx(math.exp(mean), abs=1e-4)
    assert plan["sd_log"] == pytest.approx(1 / math.sqrt(precision), abs=1e-4)


@pytest.mark.parametrize("orders", [
    [OUT], [OUT] * 6, [left(0.1), OUT, left(0.33), OUT], [OUT, OUT | {"supplied_meals": 60.0}],
])  # fmt: skip
def test_orders_that_ran_out_are_taken_as_floors(orders):
    """Against scipy's quadrature of the same density: mean and spread of the logarithm."""
    plan = appetite(asked(*orders))
    mean, sd = integrals(orders)
    assert plan["factor"] == pytest.approx(math.exp(mean), abs=2e-4)
    assert plan["sd_log"] == pytest.approx(sd, abs=2e-4)


@pytest.mark.parametrize(("many", "prior_sd", "order_sd", "floor"), [
    (400, PRIOR_SD, ORDER_SD, 0.0), (5, 0.5, 0.05, 0.5), (1, PRIOR_SD, ORDER_SD, 0.6),
])  # fmt: skip
def test_many_floors_and_sharp_ones_are_summed_over_the_whole_curve(
    many, prior_sd, order_sd, floor
):
    """Against a sum of scipy's log densities over 100,001 points from -1 to 3."""
    order = OUT | {"supplied_meals": 40 * math.exp(floor)}
    plan = appetite(asked(*[order] * many, prior_sd=prior_sd, order_sd=order_sd))
    at = np.linspace(-1, 3, 100_001)
    logs = stats.norm.logpdf(at, 0, prior_sd) + many * stats.norm.logcdf((at - floor) / order_sd)
    weights = np.exp(logs - logs.max())
    mean = np.average(at, weights=weights)
    sd = math.sqrt(np.average((at - mean) ** 2, weights=weights))
    assert plan["factor"] == pytest.approx(math.exp(mean), abs=2e-4)
    assert plan["sd_log"] == pytest.approx(sd, abs=2e-4)


def test_it_is_slow():
    """Ten orders that left a fifth move portions by about half of that, five by a third."""
    ten = appetite(asked(*[left(0.2)] * 10))["factor"]
    five = appetite(asked(*[left(0.2)] * 5))["factor"]
    assert 0.86 < ten < 0.92
    assert ten < five < 0.95


def test_few_orders_change_nothing_and_many_stay_in_bounds():
    """Under five orders nothing is used; a thousand that left half stop at 0.85."""
    few = appetite(asked(*[left(0.3)] * (LEAST_ORDERS - 1)))
    assert few["used"] == 1.0
    assert few["factor"] < 1
    assert appetite(asked(*[left(0.5)] * 1000))["used"] == 0.85
    assert appetite(asked(*[left(-0.5)] * 1000))["used"] == 1.15


@given(st.lists(st.floats(-0.5, 0.6).map(left), max_size=12), st.floats(0.0, 0.5))
def test_more_left_over_never_makes_portions_larger(orders, more):
    """Another order that left food lowers the factor against the same order that left none."""
    low = appetite(asked(*orders, left(more)))
    high = appetite(asked(*orders, left(0.0)))
    assert low["factor"] <= high["factor"]
    assert low["low"] <= low["factor"] <= low["high"]
    jsonschema.validate(low, SCHEMAS["appetite.plan"])


@pytest.mark.parametrize(("order", "said"), [
    ({"needed_meals": 40, "supplied_meals": 40}, "left_over"),
    ({"needed_meals": 0, "supplied_meals": 40, "left_over": 0}, "needed_meals"),
    ({"needed_meals": float("nan"), "supplied_meals": 40, "left_over": 0}, "needed_meals"),
    ({"needed_meals": 40, "supplied_meals": 40, "left_over": 1}, "left_over"),
    ({"needed_meals": 40, "supplied_meals": 40, "left_over": 0.2, "ran_out": True}, "ran_out"),
    ({"needed_meals": 40, "supplied_meals": 40, "left_over": 0, "x": 1}, "not a known key"),
])  # fmt: skip
def test_what_cannot_be_is_one_sentence_with_its_path(order, said):
    """Each bad order is named by its place."""
    with pytest.raises(ProblemError, match=said) as error:
        appetite(asked(order))
    assert error.value.where.startswith("$.orders[0]")
