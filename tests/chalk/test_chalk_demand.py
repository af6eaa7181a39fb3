"""A cut's own demand: the line, the belief, the two together, refusals."""

from __future__ import annotations

import json
import math
import random
from copy import deepcopy
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import linregress

from collop.chalk import clearing, demand, published_prior
from collop.chalk.demand_plan import NOISE_SD, NOISE_WEEKS, Fit, fit, together
from collop.chalk.demand_schema import SCHEMAS
from collop.errors import ProblemError

EXAMPLE = json.loads(
    (Path(__file__).parents[2] / "docs/examples/demand.json").read_text(encoding="utf-8")
)
PRIOR = {"elasticity": 1.6, "sd": 0.6, "source": "a table", "status": "seen"}
QUICK = settings(max_examples=40)


def problem(pairs, **keys):
    """Return a problem of weeks (price, quantity)."""
    sales = [{"price": f"{p:.4f}", "quantity": f"{q:.3f}"} for p, q in pairs]
    return {"schema": "collop.demand/1", "sales": sales, "prior": PRIOR} | keys


def checked(one):
    """Return the plan, its schema kept."""
    jsonschema.validate(one, SCHEMAS["demand"])
    plan = demand(one)
    jsonschema.validate(plan, SCHEMAS["demand.plan"])
    return plan


def shop(rng, elasticity, weeks, noise, prices):
    """Return simulated weeks of a shop whose elasticity is known."""
    found = []
    for _ in range(weeks):
        price = rng.choice(prices)
        found.append((price, 30 * (price / 7) ** -elasticity * math.exp(rng.gauss(0, noise))))
    return found


@given(st.integers(0, 10**6), st.integers(3, 40))
@QUICK
def test_the_line_is_that_of_a_reference_library(seed, weeks):
    """Slope and standard error are those of scipy's linregress on the logarithms."""
    rng = random.Random(seed)
    pairs = shop(rng, rng.uniform(0.5, 3), weeks - 2, 0.2, [5.9, 6.9, 7.4, 7.8])
    pairs += [(6.1, 31.0), (8.3, 24.0)]
    prices, quantities = zip(*pairs, strict=True)
    found = fit(prices, quantities)
    ours = linregress(np.log(prices), np.log(quantities))
    assert found.elasticity == pytest.approx(-ours.slope, rel=1e-8)
    assert found.sd == pytest.approx(ours.stderr, rel=1e-7, abs=1e-12)


@given(st.floats(-1, 5), st.floats(0.05, 2), st.floats(0.3, 4), st.floats(0.1, 1.5))
@QUICK
def test_the_two_together_are_the_closed_form_posterior(own, noise, believed, sd):
    """By Bayes on a fine grid: normal belief times normal likelihood has our mean and spread."""
    line = Fit(own, 0.0, noise, 0.5, 10)
    found = together(line, believed, sd)
    low, high = min(own, believed) - 12 * sd, max(own, believed) + 12 * sd
    grid = np.linspace(low, high, 200_001)
    log = -((grid - believed) ** 2) / (2 * sd**2) - (grid - own) ** 2 / (2 * line.cautious_sd**2)
    mass = np.exp(log - log.max())
    mass /= mass.sum()
    mean = float((grid * mass).sum())
    spread = math.sqrt(float(((grid - mean) ** 2 * mass).sum()))
    if spread > 20 * (high - low) / 200_000:
        assert found.elasticity == pytest.approx(mean, abs=1e-4)
        assert found.sd == pytest.approx(spread, rel=1e-3)
    assert min(own, believed) - 1e-9 <= found.elasticity <= max(own, believed) + 1e-9
    assert found.sd < min(sd, line.cautious_sd) + 1e-12


def test_the_cautious_error_pools_four_usual_weeks():
    """The scatter is (RSS + 4 x 0.25^2) over (n - 2 + 4): worked by hand for six weeks."""
    line = Fit(1.0, 0.0, 0.1, 0.04, 6)
    variance = (4 * 0.1**2 + NOISE_WEEKS * NOISE_SD**2) / (4 + NOISE_WEEKS)
    assert line.cautious_sd == pytest.approx(math.sqrt(variance / 0.04))
    assert variance == pytest.approx((0.04 + 0.25) / 8)


def test_simulated_shops_find_their_elasticity():
    """Of 400 seeded shops drawn from the belief, about 95 in 100 are within two spreads."""
    rng = random.Random(20260)
    hits = {8: 0, 30: 0}
    for weeks in hits:
        for _ in range(400):
            true = max(0.1, rng.gauss(PRIOR["elasticity"], PRIOR["sd"]))
            pairs = shop(rng, true, weeks, 0.15, [5.9, 6.9, 7.8, 8.4])
            plan = demand(problem(pairs))
            hits[weeks] += abs(plan["elasticity"] - true) <= 1.96 * plan["sd"]
    assert 0.92 <= hits[8] / 400 <= 0.995
    assert 0.92 <= hits[30] / 400 <= 0.995


def test_the_belief_helps_where_weeks_are_few_and_fades_where_they_are_many():
    """Mean squared error is lower than the own line's for 6 weeks; 200 weeks weigh 95 in 100."""
    rng = random.Random(7)
    ours = alone = 0.0
    for _ in range(200):
        true = max(0.1, rng.gauss(1.6, 0.6))
        pairs = [(5.9, 1.0), *shop(rng, true, 5, 0.2, [6.9, 7.8])]
        pairs[0] = (5.9, 30 * (5.9 / 7) ** -true * math.exp(rng.gauss(0, 0.2)))
        plan = demand(problem(pairs))
        ours += (plan["elasticity"] - true) ** 2
        alone += (plan["own"]["elasticity"] - true) ** 2
    assert ours < 0.6 * alone
    long = checked(problem(shop(rng, 2.4, 200, 0.15, [5.9, 6.9, 7.8, 8.4])))
    assert long["own_weight"] > 0.95
    assert long["elasticity"] == pytest.approx(2.4, abs=0.25)
    assert long["basis"] == "own"


def test_a_perfect_line_still_leaves_room_for_doubt():
    """Three weeks exactly on a line are no certainty: the belief keeps a say."""
    plan = checked(problem([(p, 30 * (p / 7) ** -3) for p in (6, 7, 8)]))
    assert plan["own"]["elasticity"] == pytest.approx(3, abs=1e-3)
    assert plan["own"]["sd"] == pytest.approx(0, abs=1e-3)
    assert plan["basis"] == "shrunk"
    assert 0 < plan["own_weight"] < 0.5
    assert 1.6 < plan["elasticity"] < 3


@pytest.mark.parametrize(
    ("pairs", "why"),
    [
        ([], "fewer than 3"),
        ([(7, 30), (8, 25)], "fewer than 3"),
        ([(7, 30), (7, 25), (7, 28), (7, 29)], "one price only"),
        ([(7, 30), (7, 25), (7, 28), (8, 0)], "one price only"),
    ],
)
def test_without_a_slope_the_published_figure_stands(pairs, why):
    """Too few weeks, or one price, say nothing: the belief is returned as it is."""
    plan = checked(problem(pairs))
    assert (plan["basis"], plan["own_weight"], plan["own"]) == ("published", 0, None)
    assert (plan["elasticity"], plan["sd"]) == (1.6, 0.6)
    assert any(why in note for note in plan["assumptions"])
    assert (plan["price"] is None) == (not pairs)


def test_the_usual_week_is_on_the_line():
    """Price and quantity are geometric means, through which the line passes."""
    plan = checked(problem([(4, 10), (9, 40), (6, 20)]))
    assert float(plan["price"]) == pytest.approx(6, abs=1e-4)
    assert float(plan["quantity"]) == pytest.approx(20, abs=1e-3)


def test_weeks_without_sale_and_empty_cases_are_left_out_and_said():
    """They move nothing, and the plan says how many there were."""
    pairs = [(6, 35), (7, 30), (8, 25), (7, 31)]
    plain = checked(problem(pairs))
    more = problem(pairs)
    more["sales"] += [{"price": "9", "quantity": "0"},
                      {"price": "5", "quantity": "60", "sold_out": True}]  # fmt: skip
    found = checked(more)
    assert found["elasticity"] == plain["elasticity"]
    assert found["points"] == 4
    assert any("1 week without a sale" in note for note in found["assumptions"])
    assert any("ran empty" in note for note in found["assumptions"])


def test_sales_that_rise_with_the_price_are_not_believed():
    """An upward line is said to be one, and the figure stays above zero."""
    pairs = [(5, 10), (6, 14), (7, 22), (8, 30), (9, 44)] * 30
    plan = checked(problem(pairs))
    assert plan["own"]["elasticity"] < 0
    assert plan["elasticity"] == 0.1
    assert any("more sold at higher prices" in note for note in plan["assumptions"])
    assert any("brought within" in note for note in plan["assumptions"])


def test_a_figure_from_memory_says_so():
    """The mark of a belief from memory stands in the answer."""
    plan = checked(problem([(7, 30)], prior=PRIOR | {"status": "memory"}))
    assert "(from memory)" in plan["say"]
    assert any("from memory, not checked" in note for note in plan["assumptions"])


def test_enough_decides_whether_the_figure_is_the_shops_own():
    """The same weeks are `own` or `shrunk` by how many were asked for."""
    rng = random.Random(3)
    pairs = shop(rng, 2.0, 30, 0.1, [5.0, 6.5, 8.5])
    assert checked(problem(pairs))["basis"] == "own"
    assert checked(problem(pairs, enough=31))["basis"] == "shrunk"


def test_the_published_belief_can_be_handed_in_whole():
    """What `published_prior` returns is a prior of the problem, and gives the same plan."""
    by_name = {key: value for key, value in EXAMPLE.items() if key != "species"}
    given_whole = by_name | {"prior": published_prior("pork")}
    assert checked(given_whole) == checked(EXAMPLE)
    assert checked(by_name)["prior"]["elasticity"] == published_prior("beef")["elasticity"]


def test_the_figure_fits_into_clearing_prices():
    """Elasticity, price and quantity of the plan are what a cut of `clearing` takes."""
    plan = demand(EXAMPLE)
    cut = {"id": "roast", "price": plan["price"], "quantity": plan["quantity"],
           "elasticity": plan["elasticity"], "on_hand": plan["quantity"]}  # fmt: skip
    cleared = clearing({"schema": "collop.clearing/1", "cuts": [cut]})
    assert float(cleared["cuts"][0]["exact"]) == pytest.approx(float(plan["price"]), abs=1e-3)


WRONG = [None, True, 0, -1, 0.5, 1e308, 10**400, "", "x", "-1", "0", "1e9999999", "1e-999999",
         "NaN", math.nan, math.inf, "1000000", "9" * 300, [], {}, [[]], [None]]  # fmt: skip
FULL = EXAMPLE | {"prior": PRIOR | {"say": "x", "rows": []}, "species": None, "enough": 8,
                  "currency": "USD", "unit": "lb"}  # fmt: skip


def _places(value, path=()):
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    for key, below in steps:
        yield (*path, key)
        if isinstance(below, (dict, list)):
            yield from _places(below, (*path, key))


@pytest.mark.parametrize("path", list(_places(FULL)), ids=lambda p: ".".join(map(str, p)))
def test_any_wrong_value_gives_a_plan_or_one_sentence(path):
    """No value of any kind, at any place, gives more than one sentence."""
    for wrong in WRONG:
        spoilt = deepcopy(FULL)
        at = spoilt
        for key in path[:-1]:
            at = at[key]
        at[path[-1]] = wrong
        try:
            plan = demand(spoilt)
        except ProblemError as error:
            assert error.message.endswith(".")
            assert "\n" not in error.message
            assert len(error.message) < 600
            assert error.where.startswith("$")
        else:
            jsonschema.validate(plan, SCHEMAS["demand.plan"])
            json.dumps(plan, allow_nan=False)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"sales": [{"price": "1", "quantity": "1"}] * 10_000}, "more than 2000 lines"),
        ({"sales": [{"price": "0", "quantity": "1"}]}, "0.0001 or more"),
        ({"sales": [{"price": "1", "quantity": "0.0001"}]}, "finer than a scale"),
        ({"prior": PRIOR, "species": "beef"}, "beside prior"),
        ({"prior": PRIOR | {"sd": 0}, "species": None}, "from 0.01 to 10"),
        ({"prior": PRIOR | {"status": "guess"}, "species": None}, "seen, computed, memory"),
        ({"moonstone": 1}, "known key"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(change, words):
    """Each slip is named with its place."""
    with pytest.raises(ProblemError, match=words) as caught:
        demand(EXAMPLE | change)
    assert caught.value.where.startswith("$")
