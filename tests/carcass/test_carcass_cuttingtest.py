"""The cutting test: costs, yields, factors, and what is said when it does not close."""

from __future__ import annotations

import doctest
import json
from copy import deepcopy
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass import cuttingtest, cuttingtest_amounts
from collop.carcass.cuttingtest_amounts import in_unit, largest_remainder
from collop.carcass.cuttingtest_schema import SCHEMAS
from collop.errors import BadValue, Contradiction, ProblemError
from collop.measures import Weight, WeightUnit

DOCS = Path(__file__).parents[2] / "docs"


def rib(**more):
    """Return a small sheet: ten pounds at two, a pound of fat off, the rest remains."""
    return {
        "schema": "collop.cuttingtest/1",
        "bought": {"weight": "10", "unit": "lb", "price_per_unit": "2.00"},
        "credits": [{"part": "fat", "weight": "1", "value_per_unit": "0.50"}],
        "products": [{"part": "rib"}],
    } | more


def test_the_documented_sheet_gives_the_documented_plan():
    """docs/examples/cuttingtest.json runs into its plan, and both keep their schemas."""
    problem, plan = (
        json.loads((DOCS / f"examples/cuttingtest{kind}.json").read_text(encoding="utf-8"))
        for kind in ("", ".plan")
    )
    assert cuttingtest(problem) == plan
    for name, value in (("cuttingtest", problem), ("cuttingtest.plan", plan)):
        jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])
        jsonschema.validate(value, SCHEMAS[name])


def test_every_key_of_a_sheet_is_described():
    """docs/cuttingtest.md names each key of the problem."""
    text = (DOCS / "cuttingtest.md").read_text(encoding="utf-8")
    for key in SCHEMAS["cuttingtest"]["properties"]:
        assert key == "schema" or f"`{key}" in text, key


def test_the_examples_in_the_amounts_are_true():
    """The doctests of the exact amounts hold."""
    found = doctest.testmod(cuttingtest_amounts)
    assert found.attempted >= 3
    assert not found.failed


@pytest.mark.parametrize("unit", list(WeightUnit))
def test_a_unit_is_the_unit_of_the_measures(unit):
    """The conversion of a sheet agrees with the exact weights of the shop."""
    thousand = Weight.of(1000, unit)
    for other in WeightUnit:
        assert in_unit(Fraction(1000), unit, other) == thousand.exact(other)


def test_mixed_units_are_exact():
    """Pounds, ounces, kilograms and grams on one sheet lose nothing."""
    plan = cuttingtest(
        rib(
            credits=[
                {"part": "fat", "weight": "8", "unit": "oz", "value_per_unit": "0.50", "per": "lb"},
                {"part": "bone", "weight": "0.45359237", "unit": "kg"},
                {"part": "scrap", "weight": "226.796185", "unit": "g"},
            ]
        )
    )
    assert plan["net_weight"] == "8"
    assert plan["credit_value"] == "0.25"


def test_a_price_by_the_kilogram_on_pounds():
    """A sheet weighed in pounds may be paid by the kilogram."""
    plan = cuttingtest(
        rib(bought={"weight": "10", "unit": "lb", "price_per_unit": "10.00", "per": "kg"},
            credits=[], portion={"size": "250", "unit": "g"})
    )  # fmt: skip
    assert plan["as_purchased_cost"] == "45.36"
    assert plan["cost_per_unit"] == "10.0000"
    assert plan["portion_cost"] == "2.5000"


def test_several_products_share_the_cost_by_weight():
    """Each product carries the same cost a pound, and the costs sum to the net cost."""
    plan = cuttingtest(rib(products=[{"part": "steak", "weight": "4"}, {"part": "trim"}]))
    assert [one["cost"] for one in plan["products"]] == ["8.67", "10.83"]
    assert len({one["cost_per_unit"] for one in plan["products"]}) == 1
    assert plan["net_cost"] == "19.50"


def test_cost_shared_by_sales_value_gives_one_margin():
    """By sales value each product shows the same margin, whatever its price."""
    products = [{"part": "steak", "weight": "4", "price_per_unit": "9.00"},
                {"part": "trim", "weight": "5", "price_per_unit": "3.00"}]  # fmt: skip
    plan = cuttingtest(rib(products=products, share_by="sales_value"))
    margins = [one["margin_pct"] for one in plan["products"]]
    assert margins == [plan["margin_pct"]] * 2
    assert plan["sales_value"] == "51.00"


def test_margin_and_mark_up_aims_are_prices():
    """A margin of 50 % doubles the cost, so does a mark-up of 100 %."""
    for aim in ({"target_margin_pct": 50}, {"target_markup_pct": 100}):
        plan = cuttingtest(rib(products=[{"part": "rib"} | aim]))
        (product,) = plan["products"]
        assert product["price_per_unit"] == "4.3333"
        assert (product["margin_pct"], product["markup_pct"]) == (50.0, 100.0)


def test_what_comes_off_after_cooking_may_have_a_value():
    """Bones sold after cooking lower the cost of what is served."""
    bones = {"part": "bones", "weight": "1", "value_per_unit": "1.50"}
    plan = cuttingtest(rib(cooked_weight="7", after_cooking=[bones]))
    assert plan["cooked_cost_per_unit"] == "3.0000"
    assert plan["cooked_cost_factor"] == 1.5
    assert plan["cooked_yield_pct"] == 60.0
    assert (plan["cooking_loss_weight"], plan["cooking_loss_pct"]) == ("2", 20.0)


def test_the_portion_is_cut_from_cooked_weight():
    """With a cooked weight the portion costs more than raw."""
    raw = cuttingtest(rib(portion={"size": "8", "unit": "oz"}))
    cooked = cuttingtest(rib(portion={"size": "8", "unit": "oz"}, cooked_weight="6"))
    assert raw["portion_cost"] == "1.0833"
    assert cooked["portion_cost"] == "1.6250"


def test_the_money_of_a_currency_without_cents():
    """A currency without cents shows whole amounts; a cost a unit stays finer."""
    plan = cuttingtest(rib(currency="JPY", bought={"weight": "10", "price_per_unit": "205"}))
    assert plan["as_purchased_cost"] == "2050"
    assert plan["cost_per_unit"] == "227.7222"


def test_half_even_is_a_rounding_of_its_own():
    """The named rule decides the last cent."""
    bought = {"weight": "1", "price_per_unit": "0.125"}
    assert cuttingtest(rib(credits=[], bought=bought))["net_cost"] == "0.13"
    even = rib(credits=[], bought=bought, rounding="half-even")
    assert cuttingtest(even)["net_cost"] == "0.12"


@pytest.mark.parametrize(
    ("weight", "loss", "gap", "word"),
    [
        ("8", None, "1", "cutting loss"),
        ("8", "0.5", "0.5", "bone, fat or trim"),
        ("10", None, "-1", "just the fat"),
        ("9.7", None, "-0.7", "not tared"),
    ],
)
def test_a_sheet_that_does_not_close_says_what_is_likely(weight, loss, gap, word):
    """The gap is told with the usual slip; the sheet is still worked out."""
    plan = cuttingtest(rib(products=[{"part": "rib", "weight": weight}], loss_weight=loss))
    assert not plan["closes"]
    assert plan["gap_weight"] == gap
    assert word in plan["likely"]
    assert plan["cost_per_unit"]


def test_a_tolerance_lets_a_small_gap_pass():
    """Within the tolerance a sheet closes, with its gap told."""
    sheet = rib(products=[{"part": "rib", "weight": "8.95"}], tolerance="0.05")
    plan = cuttingtest(sheet)
    assert (plan["closes"], plan["gap_weight"], plan["likely"]) == (True, "0.05", None)


BAD = {
    "a negative remainder": (rib(loss_weight="9.5"), "$.products[0].weight"),
    "nothing left": (rib(loss_weight="9"), "$.products[0].weight"),
    "two remainders": (rib(products=[{"part": "a"}, {"part": "b"}]), "$.products[1].weight"),
    "no product": (rib(products=[]), "$.products"),
    "nothing bought": (rib(bought={"weight": "0", "price_per_unit": "1"}), "$.bought.weight"),
    "no price": (rib(bought={"weight": "1", "price_per_unit": "0"}), "$.bought.price_per_unit"),
    "dear fat": (rib(credits=[{"part": "f", "weight": "1", "value_per_unit": "30"}]), "$.credits"),
    "cooked up": (rib(cooked_weight="9.5"), "$.cooked_weight"),
    "bones without meat": (
        rib(cooked_weight="5", after_cooking=[{"part": "bone", "weight": "5"}]),
        "$.after_cooking",
    ),
    "bones without cooking": (
        rib(after_cooking=[{"part": "bone", "weight": "1"}]),
        "$.after_cooking",
    ),
    "plate without portion": (rib(plate={"waste_pct": 5}), "$.plate"),
    "a stone": (rib(bought={"weight": "1", "unit": "st", "price_per_unit": "1"}), "$.bought.unit"),
    "two aims": (
        rib(products=[{"part": "rib", "target_margin_pct": 30, "target_markup_pct": 40}]),
        "$.products[0].target_markup_pct",
    ),
    "a price missing": (rib(share_by="sales_value"), "$.products[0].price_per_unit"),
    "a binary price": (rib(bought={"weight": "1", "price_per_unit": 1.3}),
                       "$.bought.price_per_unit"),
    "no currency": (rib(currency="shells"), "$.currency"),
    "nothing": ({}, "$.schema"),
}  # fmt: skip


@pytest.mark.parametrize("how", BAD)
def test_a_wrong_sheet_gets_one_sentence_with_its_path(how):
    """Each wrong sheet is refused in one sentence that names the place."""
    problem, where = BAD[how]
    with pytest.raises(ProblemError) as caught:
        cuttingtest(problem)
    assert caught.value.where == where
    assert caught.value.message.endswith(".")
    assert "\n" not in caught.value.message


def test_a_contradiction_is_told_apart_from_a_bad_value():
    """Two weights that cannot both hold are a contradiction, a wrong one is a bad value."""
    with pytest.raises(Contradiction):
        cuttingtest(rib(cooked_weight="9.5"))
    with pytest.raises(BadValue):
        cuttingtest(rib(loss_weight="9.5"))


def test_the_problem_is_left_as_it_was():
    """Working a sheet out changes nothing in it."""
    problem = rib(portion={"size": "8", "unit": "oz"})
    before = deepcopy(problem)
    cuttingtest(problem)
    assert problem == before


CENTS = st.integers(1, 99_999).map(lambda n: f"{Decimal(n) / 100}")
PARTS = st.lists(st.tuples(st.integers(0, 300), st.integers(0, 199)), max_size=6)


def _any(parts, price, loss=50):
    credits_ = [
        {"part": f"part {n}", "weight": f"{w / 100}", "value_per_unit": f"{v / 100}"}
        for n, (w, v) in enumerate(parts)
    ]
    bought = {"weight": "100", "price_per_unit": price}
    return rib(bought=bought, credits=credits_, loss_weight=f"{loss / 100}")


@given(parts=PARTS, price=st.integers(2000, 90_000).map(lambda n: f"{n / 100}"))
def test_any_sheet_with_a_remainder_closes(parts, price):
    """Credits, loss and remainder sum to what was bought, their money to what was paid."""
    plan = cuttingtest(_any(parts, price))
    weights = [Decimal(line["weight"]) for line in plan["credits"]]
    assert sum(weights) + Decimal(plan["loss_weight"]) + Decimal(plan["net_weight"]) == 100
    money = Decimal(plan["credit_value"]) + Decimal(plan["net_cost"])
    assert abs(money - Decimal(plan["as_purchased_cost"])) <= Decimal("0.01")
    assert plan["closes"]


@given(parts=PARTS, price=st.integers(2000, 90_000).map(lambda n: f"{n / 100}"), data=st.data())
def test_the_order_of_the_credits_does_not_matter(parts, price, data):
    """A sheet filled in another order has the same cost, yield and factor."""
    other = data.draw(st.permutations(parts))
    one, two = cuttingtest(_any(parts, price)), cuttingtest(_any(other, price))
    for key in ("net_cost", "net_weight", "cost_per_unit", "cost_factor", "yield_pct"):
        assert one[key] == two[key]


@given(grams=st.lists(st.integers(1, 2000), min_size=1, max_size=5), price=CENTS)
def test_grams_and_kilograms_give_the_same_sheet(grams, price):
    """A sheet in grams, priced by the kilogram, is the sheet in kilograms."""
    one = rib(
        bought={"weight": "20", "unit": "kg", "price_per_unit": price},
        credits=[{"part": "p", "weight": f"{g / 1000}"} for g in grams],
    )
    two = rib(
        bought={"weight": "20000", "unit": "g", "price_per_unit": price, "per": "kg"},
        credits=[{"part": "p", "weight": str(g)} for g in grams],
    )
    first, second = cuttingtest(one), cuttingtest(two)
    for key in ("net_cost", "cost_per_unit", "cost_factor", "yield_pct"):
        assert first[key] == second[key]
    assert Decimal(first["net_weight"]) * 1000 == Decimal(second["net_weight"])


@given(st.lists(st.fractions(0, 50), min_size=1, max_size=8), st.integers(0, 400))
def test_largest_remainder_sums_to_what_it_must(parts, steps):
    """Whole steps sum to the total, none is negative, none is far from its part."""
    whole = sum(parts)
    scaled = [part * steps / whole for part in parts] if whole else [Fraction(0)] * len(parts)
    found = largest_remainder(scaled, steps if whole else 0)
    assert sum(found) == (steps if whole else 0)
    assert all(count >= 0 and abs(count - part) < 1
               for count, part in zip(found, scaled, strict=True))  # fmt: skip


def test_largest_remainder_takes_nothing_from_nothing():
    """Where the sum was rounded down, what is zero stays zero."""
    assert largest_remainder([Fraction(0), Fraction(5, 2), Fraction(0)], 1) == [0, 1, 0]
