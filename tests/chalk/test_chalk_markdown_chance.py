"""Mark-down with uncertain demand: beside SciPy's integrals and search, and a second recursion."""

from __future__ import annotations

from decimal import Decimal

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.stats import gamma

from collop.chalk import markdown
from collop.chalk.markdown_chance import chance, expected_sale, fixed_price_value, recursion
from collop.chalk.markdown_reading import read_stock
from collop.chalk.markdown_schema import SCHEMAS
from collop.chalk.markdown_settled import settle


def ageing(**more):
    """Return ageing stock with uncertain demand; the figures are invented."""
    return {
        "schema": "collop.markdown/1", "stock": "12", "price": "12", "usual": "5",
        "elasticity": 2, "salvage_per_unit": "4.50", "demand_cv": 0.5,
    } | more  # fmt: skip


@pytest.mark.parametrize("cv", [0.1, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("most", [0.5, 5.0, 30.0])
def test_the_expected_sale_is_the_integral(cv, most):
    """E[min(D, a)] of a gamma (scipy.stats) by adaptive integration (scipy.integrate) agrees."""
    shape, mean = cv**-2, 6.0
    law = gamma(shape, scale=mean / shape)
    # the integral of the survival function up to a is E[min(D, a)]
    integral, _ = quad(law.sf, 0, most, epsabs=1e-12, epsrel=1e-11, limit=400)
    found = expected_sale(np.array([mean]), shape, np.array([most]))[0, 0]
    assert found == pytest.approx(integral, rel=1e-8)


@pytest.mark.parametrize("cv", [0.2, 0.5, 1.0])
@pytest.mark.parametrize("worth", ["0", "2.00", "4.50"])
def test_one_period_is_what_a_search_finds(cv, worth):
    """SciPy's bounded search over the integrated money finds the same value and price."""
    problem = ageing(demand_cv=cv, salvage_per_unit=worth)
    shape, pays = cv**-2, float(worth)

    def lost(asked):
        law = gamma(shape, scale=5 * (asked / 12) ** -2 / shape)
        sold, _ = quad(law.sf, 0, 12, epsabs=1e-11, epsrel=1e-11, limit=400)
        return -(asked * sold + pays * (12 - sold))

    found = minimize_scalar(lost, bounds=(2, 12), method="bounded", options={"xatol": 1e-8})
    best = chance(read_stock(problem))
    assert best.value == pytest.approx(-found.fun, rel=1e-5)
    assert best.prices[0] == pytest.approx(found.x, rel=0.005)


def test_two_periods_are_what_a_second_recursion_finds():
    """Equal-chance points of the gamma and another grid give the same value within 0.1 %."""
    problem = ageing(stock="18", periods=2, demand_cv=0.6, salvage_per_unit="3.00")
    shape = 0.6**-2
    points = gamma(shape, scale=1 / shape).ppf((np.arange(1500) + 0.5) / 1500)
    prices = np.linspace(3, 12, 181)
    demand = 5 * (prices / 12) ** -2.0
    grid = np.linspace(0, 18, 73)
    after = 3.0 * grid
    for stocks in (grid, [18.0]):
        found = []
        for left in stocks:
            sold = np.minimum(demand[:, None] * points[None, :], left)
            worth = prices[:, None] * sold + np.interp(left - sold, grid, after)
            found.append(worth.mean(axis=1).max())
        after = np.array(found)
    assert chance(read_stock(problem)).value == pytest.approx(after[0], rel=1e-3)


@pytest.mark.parametrize("cv", [0.2, 0.7, 1.5])
@pytest.mark.parametrize("periods", [2, 5])
def test_halving_the_steps_hardly_moves_the_value(cv, periods):
    """Half the width of the grid moves the value by less than 0.1 %."""
    read = read_stock(ageing(
        stock=str(9 * periods), periods=periods, demand_cv=cv, salvage_per_unit="1.00",
        convert={"price": "6", "takes": "4"}))  # fmt: skip
    coarse, usual, fine = (chance(read, cells=cells).value for cells in (120, 240, 480))
    assert usual == pytest.approx(fine, rel=1e-3)
    assert abs(usual - fine) <= abs(coarse - fine)


@pytest.mark.parametrize("stock", ["5", "12", "25"])
@pytest.mark.parametrize("periods", [1, 3])
def test_without_spread_it_is_the_known_case(stock, periods):
    """At a spread of 1 % price and value are those of known demand."""
    read = read_stock(ageing(stock=stock, periods=periods, demand_cv=0.01))
    known, best = settle(read), chance(read)
    assert best.value == pytest.approx(known.value, rel=5e-3)
    assert best.prices[0] == pytest.approx(known.price, rel=0.02)


def test_the_price_falls_with_time_and_with_stock():
    """The published pattern (O09, from memory): lower with less time and with more stock.

    A property, no cited figure; one step of the price grid is left for ties.
    """
    read = read_stock(ageing(stock="40", periods=6, demand_cv=0.6, salvage_per_unit="1.00"))
    prices = np.geomspace(1, 12, 240)
    start = 1.0 * np.linspace(0, 40, 241)
    _, best = recursion(read, prices, start, 40.0)
    places = np.array(best)[:, 6:]
    assert (np.diff(places, axis=1) <= 1).all()
    assert (np.diff(places, axis=0) >= -1).all()
    assert (places[-1, 0], places[0, -1]) != (places[0, 0], places[-1, -1])
    assert prices[places[0, -1]] < prices[places[-1, -1]] < 12


def test_the_same_problem_gives_the_same_plan():
    """Nothing is drawn at random."""
    problem = ageing(periods=3, stock="30")
    assert markdown(problem) == markdown(problem)


def test_the_plan_closes_and_says_about():
    """Mean sales and the rest sum to the stock; words say that they are means."""
    problem = ageing(stock="30", periods=3, endings={"step": "0.05"},
                     convert={"to": "mince", "price": "6", "takes": "3"})  # fmt: skip
    plan = markdown(problem)
    jsonschema.validate(plan, SCHEMAS["markdown.plan"])
    sold = sum(Decimal(step["sells"]) for step in plan["steps"])
    assert sold + sum(Decimal(line["weight"]) for line in plan["rest"]) == 30
    assert all(Decimal(step["price"]) % Decimal("0.05") == 0 for step in plan["steps"])
    assert "sell about" in plan["say"]
    assert "by the last period convert about" in plan["say"]


def test_what_is_worth_more_elsewhere_goes_first():
    """Mince above the price takes its share before anything is sold."""
    read = read_stock(ageing(convert={"price": "15", "takes": "5"}))
    best = chance(read)
    assert best.first == 5
    without = chance(read_stock(ageing(stock="7")))
    assert best.value == pytest.approx(75 + without.value, rel=1e-6)


def test_spread_costs_money():
    """More spread at the same mean never brings more, for money is concave in what is asked."""
    values = [chance(read_stock(ageing(demand_cv=cv))).value for cv in (0.05, 0.3, 0.8, 1.6)]
    assert values == sorted(values, reverse=True)


def test_clearing_keeps_its_one_price():
    """With the aim to clear, every period asks the price that clears mean demand."""
    plan = markdown(ageing(aim="clear", stock="24", periods=2))
    assert {step["price"] for step in plan["steps"]} == {"7.75"}


problems = st.fixed_dictionaries(
    {
        "stock": st.integers(10, 400).map(lambda n: f"{n / 10:.1f}"),
        "elasticity": st.integers(50, 400).map(lambda n: n / 100),
        "salvage_per_unit": st.integers(0, 800).map(lambda n: f"{n / 100:.2f}"),
        "periods": st.integers(1, 3),
        "demand_cv": st.sampled_from([0.1, 0.4, 0.9]),
        "endings": st.none() | st.just({"of": ["0.49", "0.99"]}),
    }
)


@settings(max_examples=10)
@given(problems)
def test_never_worse_than_one_price_or_doing_nothing(problem):
    """The value is at or above leaving the price alone, clearing, and any one price kept."""
    plan = markdown(ageing(**problem))
    value = Decimal(plan["value"])
    assert value >= Decimal(plan["as_is"]["value"])
    if problem["endings"] is None:
        assert value >= Decimal(plan["clearing"]["value"])
        read = read_stock(ageing(**problem))
        best = chance(read).value
        for price in (6.0, 9.0, 12.0):
            one = fixed_price_value(read, price, keeps=True)
            assert best >= one * (1 - 1e-4)


@settings(max_examples=10)
@given(problems, st.integers(1, 100))
def test_more_stock_or_a_better_use_never_earns_less(problem, more):
    """The value rises with stock and with what a use pays."""
    problem["endings"] = None
    before = chance(read_stock(ageing(**problem))).value
    stock = f"{float(problem['stock']) + more / 10:.1f}"
    pays = f"{float(problem['salvage_per_unit']) + more / 100:.2f}"
    assert chance(read_stock(ageing(**problem | {"stock": stock}))).value >= before * (1 - 1e-4)
    better = read_stock(ageing(**problem | {"salvage_per_unit": pays}))
    assert chance(better).value >= before * (1 - 1e-4)
