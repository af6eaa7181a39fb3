"""A joint cost shared out: to the cent, whatever the scale or the order, and refused in words."""

from __future__ import annotations

import copy
import doctest
import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from collop.chalk import (
    allocate,
    amounts,
    margin_from_markup,
    margin_of,
    margins,
    markup_from_margin,
    markup_of,
    price_from_margin,
    price_from_markup,
)
from collop.chalk.allocating_reading import METHODS
from collop.chalk.allocating_schema import SCHEMAS
from collop.errors import BadValue, Contradiction, ProblemError

DOCS = Path(__file__).parents[2] / "docs"
EXAMPLE = json.loads((DOCS / "examples/allocate.json").read_text(encoding="utf-8"))
PLAIN = {
    "schema": "collop.allocate/1",
    "joint_cost": "50",
    "method": "sales_value",
    "products": [
        {"name": "breasts", "quantity": "100", "unit": "lb", "price": "0.55"},
        {"name": "wings", "quantity": "20", "unit": "lb", "price": "0.20"},
    ],
}


def plan_of(problem):
    """Return the plan, both valid by their schemas."""
    jsonschema.validate(problem, SCHEMAS["allocate"])
    plan = allocate(problem)
    jsonschema.validate(plan, SCHEMAS["allocate.plan"])
    return plan


def with_product(**more):
    """Return the plain problem with keys of its first product set."""
    problem = copy.deepcopy(PLAIN)
    problem["products"][0] |= more
    return problem


def test_the_worked_example_gives_the_documented_plan():
    """docs/examples/allocate.json runs into allocate.plan.json."""
    text = (DOCS / "examples/allocate.plan.json").read_text(encoding="utf-8")
    assert plan_of(EXAMPLE) == json.loads(text)


def test_every_key_of_a_problem_is_described():
    """docs/allocate.md names each key of the problem, and each method."""
    text = (DOCS / "allocate.md").read_text(encoding="utf-8")
    for key in SCHEMAS["allocate"]["properties"].keys() - {"schema"}:
        assert f"`{key}" in text, key
    for key in SCHEMAS["allocate"]["properties"]["products"]["items"]["properties"]:
        assert f"`{key}" in text or f".{key}`" in text, key
    assert all(f"**{method}**" in text for method in METHODS)


@pytest.mark.parametrize("module", [amounts, margins])
def test_the_examples_of_the_modules_are_true(module):
    """Every example in a docstring gives what it says."""
    # a helper imported for the examples alone
    result = doctest.testmod(module, extraglobs={"Fraction": Fraction})
    assert result.attempted > 0
    assert result.failed == 0


def _cents(low, high):
    return st.integers(low, high).map(lambda cents: f"{cents // 100}.{cents % 100:02d}")


LINE = st.fixed_dictionaries(
    {
        "name": st.text("abc", min_size=1, max_size=3),
        "quantity": st.integers(1, 99_999).map(lambda n: f"{n / 1000:.3f}"),
        "price": _cents(1, 3000),
    }
)
LINES = st.lists(LINE, min_size=1, max_size=12)


def _with_costs(lines, method):
    """Give every other line a separable cost: a tenth of its sale, to the cent."""
    if method == "sales_value":
        return lines
    found = []
    for index, one in enumerate(lines):
        cost = Decimal(one["quantity"]) * Decimal(one["price"]) / 10 * (index % 2)
        found.append(one | {"separable_cost": f"{int(cost * 100) / 100:.2f}"})
    return found


def _ask(method, lines, cost, **more):
    return {"schema": "collop.allocate/1", "joint_cost": cost, "method": method,
            "products": _with_costs(lines, method), **more}  # fmt: skip


@pytest.mark.parametrize("method", METHODS)
@given(lines=LINES, cost=_cents(0, 10_000_000))
@examples(max_examples=60)
def test_the_parts_sum_to_the_cent(method, lines, cost):
    """By every method the printed costs sum to the joint cost exactly."""
    plan = allocate(_ask(method, lines, cost))
    assert sum(Decimal(one["allocated"]) for one in plan["products"]) == Decimal(cost)
    assert Decimal(plan["sum"]) == Decimal(cost) == Decimal(plan["shared_cost"])


@pytest.mark.parametrize("method", METHODS)
@given(lines=LINES, cost=_cents(0, 10_000_000))
@examples(max_examples=60)
def test_no_part_is_a_cent_off_its_exact_share(method, lines, cost):
    """Each printed cost is less than a cent from the formula, worked out apart in fractions."""
    ask = _ask(method, lines, cost)
    plan = allocate(ask)
    joint = Fraction(cost)
    sales = [Fraction(one["price"]) * Fraction(one["quantity"]) for one in ask["products"]]
    own = [Fraction(one.get("separable_cost", "0")) for one in ask["products"]]
    weights = [Fraction(one["quantity"]) for one in ask["products"]]
    left = [sale - cost for sale, cost in zip(sales, own, strict=True)]
    margin = (sum(sales) - joint - sum(own)) / sum(sales)
    expected = {
        "physical": [joint * weight / sum(weights) for weight in weights],
        "sales_value": [joint * sale / sum(sales) for sale in sales],
        "net_realisable": [joint * net / sum(left) for net in left],
        "constant_margin": [s * (1 - margin) - k for s, k in zip(sales, own, strict=True)],
    }[method]
    for one, share in zip(plan["products"], expected, strict=True):
        assert abs(Fraction(one["allocated"]) - share) < Fraction(1, 100)


@pytest.mark.parametrize("method", METHODS[:3])
@given(lines=LINES, cost=_cents(0, 1_000_000), times=st.integers(2, 9))
@examples(max_examples=40)
def test_the_scale_of_the_quantities_does_not_matter(method, lines, cost, times):
    """As many times the weight and its own cost gives the same costs; prices scale alike."""
    ask = _ask(method, lines, cost)
    larger = copy.deepcopy(ask)
    dearer = copy.deepcopy(ask)
    for more, dear in zip(larger["products"], dearer["products"], strict=True):
        more["quantity"] = str(Decimal(more["quantity"]) * times)
        dear["price"] = str(Decimal(dear["price"]) * times)
        for one in (more, dear):
            one["separable_cost"] = str(Decimal(one.get("separable_cost", "0")) * times)
    costs = [[one["allocated"] for one in allocate(p)["products"]] for p in (ask, larger, dearer)]
    assert costs[0] == costs[1] == costs[2]


@given(lines=LINES, cost=_cents(0, 1_000_000), times=st.integers(2, 9))
@examples(max_examples=40)
def test_a_constant_margin_scales_with_everything(lines, cost, times):
    """As many times the weight, its own cost and the joint cost leaves margin and cost a unit."""
    ask = _ask("constant_margin", lines, cost)
    larger = copy.deepcopy(ask) | {"joint_cost": str(Decimal(cost) * times)}
    for one in larger["products"]:
        for key in ("quantity", "separable_cost"):
            one[key] = str(Decimal(one[key]) * times)
    for one, more in zip(allocate(ask)["products"], allocate(larger)["products"], strict=True):
        for key in ("cost_per_unit", "gross_margin_pct"):
            assert one[key] == more[key]


def test_an_odd_cent_goes_to_the_cheaper_of_two_that_share_a_name():
    """Two packs of one name and weight: whichever stands first, the same one has the cent."""
    packs = [{"name": "wings", "quantity": "0.001", "price": price, "separable_cost": "0.00"}
             for price in ("0.01", "0.02")]  # fmt: skip
    for order in (packs, packs[::-1]):
        told = allocate(_ask("physical", order, "0.01"))["products"]
        assert [one["allocated"] for one in told] == [
            "0.01" if one["price"] == "0.01" else "0.00" for one in order
        ]


@pytest.mark.parametrize("method", METHODS)
@given(lines=LINES, cost=_cents(0, 1_000_000), data=st.data())
@examples(max_examples=60)
def test_the_order_of_the_lines_does_not_matter(method, lines, cost, data):
    """Turned about, each line carries the same cost, equal remainders and all."""
    ask = _ask(method, lines, cost)
    turned = ask | {"products": data.draw(st.permutations(ask["products"]))}

    def told(problem):
        return sorted(json.dumps(one, sort_keys=True) for one in allocate(problem)["products"])

    assert told(ask) == told(turned)


@given(lines=LINES, cost=_cents(0, 1_000_000))
@examples(max_examples=40)
def test_sales_value_shows_one_margin(lines, cost):
    """All sold at split-off: every line shows the same gross margin."""
    shown = {
        one["gross_margin_pct"] for one in allocate(_ask("sales_value", lines, cost))["products"]
    }
    assert len(shown) == 1


def test_a_costly_finish_may_leave_a_cost_below_zero_at_one_margin():
    """Constant margin: the plan says which product the others carry; the sum still holds."""
    problem = {
        "schema": "collop.allocate/1", "joint_cost": "100", "method": "constant_margin",
        "products": [{"name": "ham", "quantity": "10", "price": "20"},
                     {"name": "head cheese", "quantity": "5", "price": "8",
                      "separable_cost": "39"}],
    }  # fmt: skip
    plan = plan_of(problem)
    ham, cheese = plan["products"]
    # g = (240 - 100 - 39) / 240, so the cheese is left 40 x 139/240 - 39
    assert cheese["allocated"] == "-15.83"
    assert ham["allocated"] == "115.83"
    assert ham["gross_margin_pct"] == cheese["gross_margin_pct"] == 42.1
    assert cheese["markup_pct"] == 72.7
    assert any(
        note.startswith("head cheese: the cost is below zero") for note in plan["assumptions"]
    )


def test_of_two_equal_remainders_the_dearer_line_gets_the_cent():
    """0.02 over weights of 1 and 3 is half a cent and one and a half: the heavier gets the cent."""
    lines = [{"name": "back", "quantity": "1", "price": "1"},
             {"name": "wing", "quantity": "3", "price": "1"}]  # fmt: skip
    for products in (lines, lines[::-1]):
        plan = plan_of(PLAIN | {"joint_cost": "0.02", "products": products})
        assert {one["name"]: one["allocated"] for one in plan["products"]} == {
            "back": "0.00",
            "wing": "0.02",
        }


def test_of_two_equal_lines_the_earlier_name_gets_the_cent():
    """A cent over two lines of one weight goes by the name, wherever they stand."""
    lines = [{"name": name, "quantity": "1", "price": "1"} for name in ("wing", "back")]
    for products in (lines, lines[::-1]):
        plan = plan_of(PLAIN | {"joint_cost": "0.01", "products": products})
        assert {one["name"]: one["allocated"] for one in plan["products"]} == {
            "wing": "0.00",
            "back": "0.01",
        }


def test_weights_of_several_units_share_by_weight():
    """Physical measure turns ounces and kilograms into one unit: 1 lb is 16 oz, 0.45359237 kg."""
    lines = [
        {"name": "a", "quantity": "2", "unit": "lb"},
        {"name": "b", "quantity": "32", "unit": "oz"},
        {"name": "c", "quantity": "0.90718474", "unit": "kg"},
    ]
    plan = plan_of(PLAIN | {"method": "physical", "products": lines, "joint_cost": "9"})
    assert [one["allocated"] for one in plan["products"]] == ["3.00", "3.00", "3.00"]
    assert plan["total"] is None
    assert plan["products"][0]["gross_margin_pct"] is None


def test_by_products_move_the_line_and_not_the_margin():
    """Taken off the cost or shown as income, the whole earns the same."""
    totals = {}
    for way in ("less_cost", "other_income"):
        plan = plan_of(EXAMPLE | {"by_product_as": way})
        totals[way] = plan["total"]
        assert plan["by_product_value"] == "14.20"
        assert any("by-products" in note for note in plan["assumptions"])
    assert totals["less_cost"]["gross_margin"] == totals["other_income"]["gross_margin"]
    assert totals["less_cost"]["other_income"] == "0.00"
    assert totals["other_income"]["other_income"] == "14.20"


def test_a_by_product_that_costs_more_than_it_brings_adds_to_the_cost():
    """Paying to have bones taken away is part of the joint cost."""
    bones = [{"name": "bones", "quantity": "10", "price": "0", "separable_cost": "3.50"}]
    plan = plan_of(PLAIN | {"by_products": bones})
    assert (plan["by_product_value"], plan["shared_cost"], plan["sum"]) == (
        "-3.50",
        "53.50",
        "53.50",
    )


@pytest.mark.parametrize(("rule", "value"), [("half-up", "0.13"), ("half-even", "0.12")])
def test_a_by_product_is_rounded_once_by_the_named_rule(rule, value):
    """An exact half cent goes up, or to the even cent."""
    bones = [{"name": "bones", "quantity": "0.5", "price": "0.25"}]
    plan = plan_of(PLAIN | {"by_products": bones, "rounding": rule})
    assert plan["by_product_value"] == value


def test_weights_that_close_say_how_closely():
    """Products, by-products and loss against the input, in its unit, within the tolerance."""
    plan = plan_of(
        PLAIN | {"input": {"quantity": "125"}, "loss_quantity": "4.8", "tolerance": "0.2"}
    )
    assert (plan["closes"], plan["gap_quantity"], plan["tolerance"]) == (True, "0.2", "0.2")
    ounces = plan_of(PLAIN | {"input": {"quantity": "1920", "unit": "oz"}})
    assert (ounces["gap_quantity"], ounces["input_unit"]) == ("0", "oz")
    over = plan_of(PLAIN | {"input": {"quantity": "119.9"}, "tolerance": "0.1"})
    assert over["gap_quantity"] == "-0.1"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"input": {"quantity": "125"}, "loss_quantity": "4"}, "1 lb is missing, so weigh it"),
        ({"input": {"quantity": "118"}}, "2 lb is too much, so weigh the parts again"),
    ],
)
def test_weights_that_do_not_close_are_refused_with_the_gap(more, said):
    """How much is missing, or too much, stands in the sentence."""
    with pytest.raises(Contradiction, match=said) as caught:
        allocate(PLAIN | more)
    assert caught.value.where == "$.input.quantity"


@pytest.mark.parametrize(
    ("problem", "where", "said"),
    [
        (PLAIN | {"products": []}, "$.products", "names nothing"),
        (PLAIN | {"joint_cost": "50.005"}, "$.joint_cost", "more decimals than USD"),
        (PLAIN | {"joint_cost": 50}, "$.joint_cost", "decimal in quotes"),
        (PLAIN | {"joint_cost": "NaN"}, "$.joint_cost", "write a decimal"),
        (PLAIN | {"joint_cost": "1e-999999"}, "$.joint_cost", "write a decimal"),
        (PLAIN | {"joint_cost": "1e24"}, "$.joint_cost", "at most"),
        (PLAIN | {"method": "fair"}, "$.method", "use one of physical"),
        (PLAIN | {"currency": "usd"}, "$.currency", "three capital letters"),
        (PLAIN | {"unit": " "}, "$.unit", "write a unit"),
        (PLAIN | {"unit": "x" * 21}, "$.unit", "write a unit"),
        (PLAIN | {"loss_quantity": "1"}, "$.input", "is missing; loss_quantity needs"),
        (PLAIN | {"tolerance": "1"}, "$.input", "is missing; tolerance needs"),
        (PLAIN | {"products": [[]]}, "$.products[0]", "must be an object"),
        (PLAIN | {"products": [PLAIN["products"][0]] * 501}, "$.products", "more than 500 lines"),
        (PLAIN | {"by_products": 5}, "$.by_products", "must be a list"),
        (PLAIN | {"moonstone": 1}, "$.moonstone", "not a known key"),
        (with_product(quantity="0"), "$.products[0].quantity", "more than zero"),
        (with_product(quantity="0.0000001"), "$.products[0].quantity", "a millionth"),
        (with_product(quantity="-1"), "$.products[0].quantity", "zero or more"),
        (with_product(price=None), "$.products[0].price", "sales_value needs the price"),
        (with_product(price=True), "$.products[0].price", "decimal in quotes"),
        (with_product(further={"quantity": "1"}), "$.products[0].further.price", "is missing"),
        (with_product(further=[]), "$.products[0].further", "must be an object"),
        (with_product(unit="piece") | {"method": "physical"}, "$.products[1].unit",
         "does not turn into the 'piece' of the first"),
        (with_product(unit="piece") | {"input": {"quantity": "9"}}, "$.products[0].unit",
         "does not turn into the 'lb' that went in"),
        (with_product(separable_cost="55.01") | {"method": "net_realisable"},
         "$.products[0].separable_cost", "costs 0.01 more to finish than it brings"),
        (PLAIN | {"by_products": [{"name": "b", "quantity": "1", "price": "50.01"}]},
         "$.by_products", "bring 50.01, more than the joint cost of 50.00"),
        (with_product(further={"quantity": "1", "price": "2"}, price=None)
         | {"method": "physical"}, "$.products[0].price", "going further is weighed against"),
    ],
)  # fmt: skip
def test_a_bad_problem_is_one_sentence_with_its_path(problem, where, said):
    """What is wrong, where, and what to do."""
    with pytest.raises(ProblemError) as caught:
        allocate(problem)
    assert caught.value.where == where
    assert said in caught.value.message
    assert "\n" not in caught.value.message


@pytest.mark.parametrize("method", ["sales_value", "net_realisable", "constant_margin"])
def test_products_that_bring_nothing_have_nothing_to_share_by(method):
    """Every price zero is refused, in all three methods that go by money."""
    free = [one | {"price": "0"} for one in PLAIN["products"]]
    with pytest.raises(BadValue, match="bring nothing at all"):
        allocate(PLAIN | {"method": method, "products": free})


@pytest.mark.parametrize("value", [None, [], "x", 5, {"schema": "collop.allocate/2"}, {}])
def test_what_is_no_problem_is_refused(value):
    """Neither a list nor another contract is read."""
    with pytest.raises(ProblemError):
        allocate(value)


def test_ten_thousand_lines_are_refused_at_once():
    """The limit is told before any line is read."""
    unreadable = PLAIN["products"][0] | {"id": None}
    with pytest.raises(ProblemError, match="more than 500 lines"):
        allocate(PLAIN | {"products": [unreadable] * 10_000})


def test_currency_without_decimals_deals_whole_units():
    """A yen is not parted."""
    plan = plan_of(PLAIN | {"joint_cost": "100", "currency": "JPY", "products": [
        {"name": name, "quantity": "1", "price": "3"} for name in "abc"]})  # fmt: skip
    assert [one["allocated"] for one in plan["products"]] == ["34", "33", "33"]
    assert plan["sum"] == "100"


def test_a_separable_cost_at_split_off_is_told():
    """Sales value takes split-off prices: the cost of its own counts in the margin only."""
    plan = plan_of(with_product(separable_cost="10"))
    without = plan_of(PLAIN)
    assert plan["products"][0]["allocated"] == without["products"][0]["allocated"]
    assert Decimal(plan["products"][0]["profit"]) + 10 == Decimal(without["products"][0]["profit"])
    assert any("prices are those at split-off" in note for note in plan["assumptions"])


def test_working_on_a_part_that_loses_says_so():
    """The gain may be a loss, and then it is not worth it."""
    further = {"quantity": "90", "price": "0.60", "cost": "2"}
    more = plan_of(with_product(further=further))["products"][0]["further"]
    # 90 x 0.60 - 2 - 55
    assert (more["gain"], more["worth_it"]) == ("-3.00", False)
    assert "loses 3.00" in more["say"]


@given(st.fractions(0, 20), st.fractions(Fraction(1, 100), 1000))
@examples(max_examples=100)
def test_margin_and_markup_are_two_words_for_one_profit(markup, cost):
    """There and back, and through the price, each gives the other."""
    margin = margin_from_markup(markup)
    assert markup_from_margin(margin) == markup
    price = price_from_markup(cost, markup)
    assert price_from_margin(cost, margin) == price
    assert (margin_of(price, cost), markup_of(price, cost)) == (margin, markup)


def test_no_margin_is_the_whole_price():
    """100 % of the price, or a mark-up that takes all the cost off, is refused."""
    for work in (markup_from_margin, lambda m: price_from_margin(Fraction(1), m)):
        with pytest.raises(BadValue, match="must be under 1"):
            work(Fraction(1))
    for work in (margin_from_markup, lambda u: price_from_markup(Fraction(1), u)):
        with pytest.raises(BadValue, match="must be above -1"):
            work(Fraction(-1))
    assert margin_of(Fraction(0), Fraction(1)) is None
    assert markup_of(Fraction(1), Fraction(0)) is None
