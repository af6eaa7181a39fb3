"""Mark-down with known demand: worked figures, search, uses elsewhere, endings, refusals."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from itertools import product
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from collop.chalk import markdown
from collop.chalk.markdown_reading import read_stock
from collop.chalk.markdown_schema import SCHEMAS
from collop.chalk.markdown_settled import as_it_is, at_price, clearing, settle
from collop.errors import ProblemError
from ending import that_ends

DOCS = Path(__file__).parents[2] / "docs"
VALID = {name: jsonschema.Draft202012Validator(schema) for name, schema in SCHEMAS.items()}


def ageing(**more):
    """Return the worked problem of docs/markdown.md; its inputs are for illustration."""
    return {
        "schema": "collop.markdown/1", "stock": "12", "price": "12", "usual": "5",
        "elasticity": 2, "salvage_per_unit": "4.50",
    } | more  # fmt: skip


def plan_of(problem):
    """Return the plan, once it keeps its schema and its weights close exactly."""
    found = markdown(problem)
    VALID["markdown"].validate(problem)
    VALID["markdown.plan"].validate(found)
    sold = sum(Decimal(step["sells"]) for step in found["steps"])
    moved = sum(Decimal(line["weight"]) for line in found["rest"])
    assert sold + moved == Decimal(problem["stock"])
    if found["steps"]:
        assert Decimal(found["steps"][-1]["left"]) == moved
    assert Decimal(found["gain"]) == Decimal(found["value"]) - Decimal(found["as_is"]["value"])
    return found


def test_the_documented_problem_gives_the_documented_plan():
    """docs/examples/markdown.json runs into its plan, and both keep their schemas."""
    problem, plan = (
        json.loads((DOCS / f"examples/markdown{kind}.json").read_text(encoding="utf-8"))
        for kind in ("", ".plan")
    )
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    assert plan_of(problem) == plan


def test_every_key_is_described():
    """docs/markdown.md names each key of the problem and of the plan."""
    text = (DOCS / "markdown.md").read_text(encoding="utf-8")
    keys = set(SCHEMAS["markdown"]["properties"])
    for one in ("convert", "freeze"):
        keys |= set(SCHEMAS["markdown"]["properties"][one]["anyOf"][0]["properties"])
    for key in keys - {"schema"}:
        assert f"`{key}`" in text, key
    head = {"schema", "name", "currency", "unit", "stock", "price", "aim", "assumptions"}
    for key in set(SCHEMAS["markdown.plan"]["properties"]) - head:
        assert f"`{key}`" in text, key


def test_eight_pounds_clear_above_the_best_price():
    """8 lb (computed): the clearing price 9.49 is above 9.00, all sells, 75.89."""
    plan = plan_of(ageing(stock="8"))
    assert (plan["price_now"], plan["sell_now"], plan["value"]) == ("9.49", "8", "75.89")
    assert plan["rest"] == []
    assert plan["clearing"] == {"price": "9.49", "value": "75.89"}


def test_of_twelve_pounds_some_is_moved():
    """12 lb (computed): 8.89 lb at 9.00 and 3.11 lb moved, 94.00 against 92.95 for clearing."""
    plan = plan_of(ageing())
    assert (plan["price_now"], plan["sell_now"], plan["value"]) == ("9.00", "8.89", "94.00")
    assert plan["rest"] == [
        {"way": "salvage", "to": "other use", "weight": "3.11", "value": "14.00"}
    ]
    assert plan["clearing"] == {"price": "7.75", "value": "92.95"}
    assert (plan["as_is"]["value"], plan["gain"]) == ("60.00", "34.00")
    assert plan["say"].startswith("Mark down from 12.00 to 9.00 and sell 8.89 lb; today put 3.11")


def test_a_mark_down_never_raises_unless_told_so():
    """Little stock keeps its price; with a cap above, the price goes up to what clears."""
    assert plan_of(ageing(stock="3"))["price_now"] == "12.00"
    assert plan_of(ageing(stock="3", cap="14"))["price_now"] == "14.00"
    assert plan_of(ageing(stock="4.8", cap="14"))["price_now"] == "12.25"


def test_the_floor_holds():
    """Below the floor nothing sells, and the rest is moved."""
    plan = plan_of(ageing(floor="10"))
    assert (plan["price_now"], plan["sell_now"]) == ("10.00", "7.2")


@pytest.mark.parametrize("periods", [1, 2, 7])
def test_more_periods_need_less_of_a_mark_down(periods):
    """With the same stock a period the price is the same, and the value grows in proportion."""
    plan = plan_of(ageing(stock=str(12 * periods), periods=periods))
    assert plan["price_now"] == "9.00"
    assert Decimal(plan["value"]) == 94 * periods


def test_part_of_the_first_period_counts_in_part():
    """Half a day and a day sell one and a half times the daily weight."""
    plan = plan_of(ageing(stock="18", periods=2, first_share=0.5))
    assert [step["sells"] for step in plan["steps"]] == ["4.44", "8.89"]
    assert plan["value"] == "141.00"


def test_past_its_date_there_is_only_the_bin():
    """With no period left nothing is sold, converted or frozen, whatever it would pay."""
    plan = plan_of(ageing(periods=0, convert={"price": "20"}, freeze={"price": "20"}))
    assert plan["rest"] == [{"way": "bin", "to": "bin", "weight": "12", "value": "0.00"}]
    assert (plan["price_now"], plan["steps"], plan["value"]) == (None, [], "0.00")
    assert [way["way"] for way in plan["ways"]] == ["bin"]
    assert "past its date is never sold, converted or frozen" in plan["say"]


def test_uses_are_filled_best_first_up_to_what_they_take():
    """Mince at 6.60 takes 2, freezing at 6.00 takes 3; what neither takes is sold down."""
    plan = plan_of(ageing(
        stock="30", salvage_per_unit=None,
        convert={"to": "mince", "price": "8", "yield": 0.95, "labour_per_unit": "1", "takes": "2"},
        freeze={"price": "8", "chance_sold": 0.8, "cost_per_unit": "0.40", "takes": "3"},
    ))  # fmt: skip
    assert [(line["way"], line["weight"]) for line in plan["rest"]] == [
        ("convert", "2"), ("freeze", "3")]  # fmt: skip
    assert [way["value"] for way in plan["ways"]] == ["6.6000", "6.0000", "0.0000"]
    assert plan["sell_now"] == "25"
    assert "today convert 2.00 lb to mince and freeze 3.00 lb, while it is sound" in plan["say"]


def test_a_use_that_costs_more_than_it_brings_is_left_out():
    """Mince at a loss is not made; the bin costs nothing."""
    plan = plan_of(ageing(salvage_per_unit="0", convert={"price": "1", "labour_per_unit": "2"}))
    assert [way["way"] for way in plan["ways"]] == ["bin", "convert"]
    assert plan["rest"] == []


def test_what_is_worth_more_elsewhere_is_not_sold():
    """With mince above the price the butcher is told to sell none, or only what mince leaves."""
    plan = plan_of(ageing(convert={"price": "16"}))
    assert (plan["price_now"], plan["value"]) == (None, "192.00")
    assert plan["say"].startswith("Sell none of it at 12.00 or less")
    some = plan_of(ageing(convert={"price": "16", "takes": "9"}))
    assert (some["price_now"], some["sell_now"]) == ("12.00", "3")


def test_a_low_elasticity_names_no_mark_down_and_says_why():
    """At 0.8 keeping the price and moving the rest earns most; clearing stands beside it."""
    plan = plan_of(ageing(elasticity=0.8))
    assert (plan["price_now"], plan["value"]) == ("12.00", "91.50")
    assert "At an elasticity of 0.8 a lower price earns less" in plan["say"]
    assert plan["clearing"] == {"price": "4.02", "value": "48.21"}


def test_clearing_stops_at_what_the_best_use_pays():
    """The aim of clearing sells down to 4.50, moves the rest and says what it costs."""
    plan = plan_of(ageing(elasticity=0.8, aim="clear"))
    assert (plan["price_now"], plan["sell_now"], plan["value"]) == ("4.50", "10.96", "54.00")
    assert plan["gain"] == "-6.00"
    assert "6.00 less than letting the rest pass its day unsold" in plan["say"]
    bare = plan_of(ageing(elasticity=0.8, aim="clear", salvage_per_unit=None))
    assert (bare["price_now"], bare["sell_now"]) == ("4.02", "12")


def _by_search(problem, worth):
    """Return the best money of one period and one use of any weight, by bounded search."""
    stock, price, usual = (float(problem[key]) for key in ("stock", "price", "usual"))

    def lost(asked):
        sold = min(stock, usual * (asked / price) ** -problem["elasticity"])
        return -(asked * sold + worth * (stock - sold))

    return -minimize_scalar(lost, bounds=(0.01, price), method="bounded",
                            options={"xatol": 1e-10}).fun  # fmt: skip


@pytest.mark.parametrize(
    ("stock", "elasticity", "worth"),
    list(product(["3", "8", "12", "40"], [1.3, 2, 3.5], ["0.10", "2.00", "4.50", "8.00"])),
)
def test_no_search_finds_more_money(stock, elasticity, worth):
    """SciPy's bounded search over the price finds the same money."""
    problem = ageing(stock=stock, elasticity=elasticity, salvage_per_unit=worth)
    best = settle(read_stock(problem)).value
    assert best == pytest.approx(_by_search(problem, float(worth)), rel=1e-7)


@pytest.mark.parametrize("seed", range(6))
def test_no_set_of_prices_and_moves_is_better(seed):
    """Every mix of two prices and moved weights on a fine grid stays at or under the plan."""
    made = np.random.default_rng(seed)
    stock = float(made.integers(5, 60))
    problem = ageing(
        stock=f"{stock:g}", elasticity=round(float(made.uniform(0.5, 4)), 2), periods=2,
        salvage_per_unit=f"{made.uniform(0, 5):.2f}",
        convert={"price": f"{made.uniform(2, 11):.2f}", "takes": f"{made.integers(1, 9)}"},
        floor=f"{made.uniform(0, 4):.2f}",
    )  # fmt: skip
    read = read_stock(problem)
    prices = np.geomspace(max(float(read.floor), 0.3), 12, 200)
    asked = 5 * (prices / 12) ** -problem["elasticity"]
    best = 0.0
    for moved in np.linspace(0, stock, 81):
        kept = stock - moved
        first = np.minimum(kept, asked)[:, None]
        second = np.minimum(kept - first, asked[None, :])
        rest = stock - first - second
        best = max(best, (prices[:, None] * first + prices[None, :] * second
                          + _uses(read, rest)).max())  # fmt: skip
    value = settle(read).value
    assert best <= value * (1 + 1e-12)
    assert best >= value * 0.995


def _uses(read, rest):
    money, left = 0.0, rest
    for way in read.ways:
        goes = left if way.takes is None else np.minimum(left, float(way.takes))
        money, left = money + goes * float(way.value), left - goes
    return money


def test_the_price_stands_on_an_ending():
    """Near 9.00 the better of 8.99 and 9.49 is taken; a step of .05 gives 9.00."""
    assert plan_of(ageing(endings={"of": ["0.49", "0.99"]}))["price_now"] == "8.99"
    assert plan_of(ageing(endings={"step": "0.05"}))["price_now"] == "9.00"
    # 8 lb: 8.99 sells all for 71.92; 9.99 sells 7.21 for 72.07 and leaves .79 for 3.53
    assert plan_of(ageing(stock="8", endings={"of": ["0.99"]}))["price_now"] == "9.99"


def test_the_present_price_may_stay_off_an_ending():
    """A price that is on no ending is kept where keeping it is best."""
    plan = plan_of(ageing(stock="3", endings={"of": ["0.99"]}))
    assert plan["price_now"] == "12.00"


def test_clearing_takes_an_ending_that_clears():
    """Clearing at 7.75 means 7.49 on endings, at which all of it sells."""
    plan = plan_of(ageing(aim="clear", endings={"of": ["0.49", "0.99"]}))
    assert (plan["price_now"], plan["sell_now"]) == ("7.49", "12")


@pytest.mark.parametrize("stock", ["6", "9", "15", "33"])
@pytest.mark.parametrize("endings", [{"of": ["0.29", "0.99"]}, {"step": "0.25"}])
def test_no_other_ending_earns_more(stock, endings):
    """Every allowed price between zero and the present one earns no more than the plan."""
    problem = ageing(stock=stock, periods=2, endings=endings)
    read = read_stock(problem)
    best = settle(read).value
    for cents in range(1, 1201):
        price = Fraction(cents, 100)
        allowed = cents % 100 in (29, 99) if "of" in endings else cents % 25 == 0
        if allowed:
            assert at_price(read, float(price)).value <= best * (1 + 1e-12)


def test_no_ending_between_floor_and_cap_is_refused():
    """With floor and cap between two endings there is no price, and the sentence says so."""
    problem = ageing(floor="8.10", cap="8.40", endings={"of": ["0.49", "0.99"]})
    with pytest.raises(ProblemError, match=r"leave no price between 8\.1 and 8\.4"):
        markdown(problem)
    with pytest.raises(ProblemError, match="leave no price between"):
        markdown(problem | {"demand_cv": 0.5})


amount = st.integers(1, 6000).map(lambda n: f"{n / 100:.2f}")
cheap = st.integers(0, 900).map(lambda n: f"{n / 100:.2f}")
problems = st.fixed_dictionaries(
    {
        "stock": amount,
        "usual": amount,
        "price": st.integers(100, 3000).map(lambda n: f"{n / 100:.2f}"),
        "elasticity": st.integers(30, 500).map(lambda n: n / 100),
        "salvage_per_unit": cheap,
        "periods": st.integers(1, 5),
        "convert": st.none() | st.fixed_dictionaries({"price": cheap, "takes": amount}),
        "freeze": st.none() | st.fixed_dictionaries({"price": cheap, "takes": st.none() | amount}),
        "endings": st.none() | st.just({"step": "0.05"}) | st.just({"of": ["0.49", "0.99"]}),
    }
)


@settings(max_examples=60)
@given(problems)
def test_the_plan_is_never_worse_than_clearing_or_doing_nothing(problem):
    """Weights close; value is at or above clearing (where any price may stand) and as-is."""
    plan = plan_of(ageing(**problem))
    assert Decimal(plan["value"]) >= Decimal(plan["as_is"]["value"])
    assert Decimal(plan["gain"]) >= 0
    if problem["endings"] is None:
        assert Decimal(plan["value"]) >= Decimal(plan["clearing"]["value"])
    if plan["price_now"] is not None:
        assert Decimal(plan["price_now"]) <= Decimal(problem["price"])


@given(problems, amount, st.integers(1, 300))
def test_more_stock_or_a_better_use_never_earns_less(problem, more, cents):
    """The value rises with stock, a better use and time; the price falls with stock."""
    problem["endings"] = None
    before = settle(read_stock(ageing(**problem)))
    stock = f"{float(problem['stock']) + float(more):.2f}"
    bigger = settle(read_stock(ageing(**problem | {"stock": stock})))
    pays = f"{float(problem['salvage_per_unit']) + cents / 100:.2f}"
    better = settle(read_stock(ageing(**problem | {"salvage_per_unit": pays})))
    longer = settle(read_stock(ageing(**problem | {"periods": problem["periods"] + 1})))
    slack = 1e-9 * (1 + before.value)
    assert min(bigger.value, better.value, longer.value) >= before.value - slack
    assert bigger.price <= before.price * (1 + 1e-9)
    assert longer.price >= before.price * (1 - 1e-9)


@given(problems, st.sampled_from([2, 10]))
def test_units_do_not_matter(problem, times):
    """All weights times a number: same price, money times that number."""
    problem |= {"convert": None, "freeze": None, "endings": None}
    scaled = {key: f"{float(problem[key]) * times:.2f}" for key in ("stock", "usual")}
    one = settle(read_stock(ageing(**problem)))
    many = settle(read_stock(ageing(**problem | scaled)))
    assert many.price == pytest.approx(one.price, rel=1e-9)
    assert many.value == pytest.approx(times * one.value, rel=1e-9)


def test_leaving_it_alone_counts_only_the_usual_sale():
    """Two periods of 5 lb at 12.00 are 120.00; what is left then is lost."""
    read = read_stock(ageing(stock="30", periods=2))
    assert as_it_is(read) == 120
    assert clearing(read).sells == pytest.approx((15, 15))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"schema": "x"}, r"\$\.schema"),
        ({"stock": "0"}, r"\$\.stock is zero"),
        ({"stock": None}, r"\$\.stock"),
        ({"stock": "NaN"}, r"\$\.stock"),
        ({"stock": "1e-999999"}, r"\$\.stock"),
        ({"stock": 12}, r"in quotes"),
        ({"stock": "-1"}, r"zero or more"),
        ({"price": "0"}, r"\$\.price is zero"),
        ({"usual": "0"}, r"\$\.usual is zero"),
        ({"elasticity": 0}, r"\$\.elasticity"),
        ({"elasticity": float("inf")}, r"\$\.elasticity"),
        ({"elasticity": True}, r"\$\.elasticity must be a number"),
        ({"elasticity": 10**400}, r"\$\.elasticity"),
        ({"periods": -1}, r"\$\.periods"),
        ({"periods": 1.5}, r"\$\.periods must be a whole number"),
        ({"periods": 10_000}, r"\$\.periods"),
        ({"first_share": 0}, r"\$\.first_share"),
        ({"floor": "13"}, r"\$\.floor is 13, above the highest price 12"),
        ({"cap": "0"}, r"\$\.cap is zero"),
        ({"convert": []}, r"\$\.convert must be an object"),
        ({"convert": {}}, r"\$\.convert\.price is missing"),
        ({"convert": {"price": "8", "into": "x"}}, r"\$\.convert\.into is not a known key"),
        ({"freeze": {"price": "8", "chance_sold": 2}}, r"\$\.freeze\.chance_sold"),
        ({"demand_cv": 3}, r"\$\.demand_cv"),
        ({"endings": {}}, r"\$\.endings takes one"),
        ({"endings": {"step": "0.05", "of": ["0.99"]}}, r"just one"),
        ({"endings": {"step": "0"}}, r"\$\.endings\.step is zero"),
        ({"endings": {"step": "0.001"}}, r"finer than the currency"),
        ({"endings": {"of": []}}, r"\$\.endings\.of"),
        ({"endings": {"of": ["1.50"]}}, r"\$\.endings\.of\[0\]"),
        ({"endings": {"of": ["0.99"] * 10_000}}, r"\$\.endings\.of"),
        ({"aim": "win"}, r"\$\.aim"),
        ({"unit": "oz"}, r"\$\.unit"),
        ({"use_by": "2026-01-01"}, r"\$\.use_by is not a known key"),
    ],
)
def test_bad_input_gets_one_sentence(change, words):
    """Each bad value is refused in one sentence with its path, however long the value is."""
    with that_ends(), pytest.raises(ProblemError, match=words) as refused:
        markdown(ageing(**change))
    assert refused.value.message.endswith(".")
    assert "\n" not in refused.value.message


@pytest.mark.parametrize("cv", [0, 2])
@pytest.mark.parametrize("elasticity", [0.05, 1, 20])
@pytest.mark.parametrize(
    "change",
    [
        {"stock": "1000000", "usual": "0.00000000001"},
        {"stock": "0.00000000001", "usual": "1000000"},
        {"price": "1000000", "cap": "1000000", "periods": 60},
        {"usual": "0.00000000001", "price": "0.01", "cap": "1000000", "demand_cv": 0.001},
        {"price": "0.01", "endings": {"step": "0.01"}},
        {"stock": "1000000", "price": "1000000", "salvage_per_unit": "1000000", "cap": "1000000"},
        {"aim": "clear", "stock": "1000000", "endings": {"of": ["0.99"]}, "price": "0.99"},
    ],
)
def test_extremes_still_give_a_plan(cv, elasticity, change):
    """The largest and smallest values that may be written run through, and come to an end."""
    with that_ends():
        plan_of(ageing(elasticity=elasticity, **{"demand_cv": cv} | change))
