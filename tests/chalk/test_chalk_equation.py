"""The carcass equation: exact prices, what holds them, and the plan of a board."""

from __future__ import annotations

import doctest
import json
import time
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from collop.chalk import chalk, equation, equation_words, published_relatives
from collop.chalk.chalk_schema import SCHEMAS
from collop.chalk.equation import brought, solve_base, solve_board
from collop.chalk.equation_board import BoardCut
from collop.errors import BadValue

DOCS = Path(__file__).parents[2] / "docs"


def fraction(low, high, places=2):
    """Return decimals of so many places as fractions."""
    scale = 10**places
    return st.integers(int(low * scale), int(high * scale)).map(lambda n: Fraction(n, scale))


def maybe(strategy):
    return st.one_of(st.none(), strategy)


@st.composite
def cuts(draw, *, bounded=True, most=8):
    """Return cuts; bounded ones may have floor, cap or a fixed price."""
    found = []
    for index in range(draw(st.integers(1, most))):
        floor = draw(fraction(0, 5)) if bounded and draw(st.booleans()) else Fraction(0)
        room = draw(maybe(fraction(0, 6))) if bounded else None
        found.append(
            BoardCut(
                cut_id=f"C{index}",
                name=f"cut {index}",
                weight=draw(fraction(0.1, 60)),
                shrink=draw(fraction(0, 0.4)),
                relative=draw(fraction(0.1, 3)),
                fixed=draw(maybe(fraction(0, 9))) if bounded else None,
                floor=floor,
                cap=None if room is None else floor + room,
            )
        )
    return found


NEED = fraction(1, 3000)


def board(**more):
    """Return a small board: three cuts, nothing held."""
    return {
        "schema": "collop.chalk/1",
        "cost": {"bought": "100.00"},
        "margin": 0.35,
        "cuts": [
            {"id": "A", "name": "shoulder", "weight": "12", "relative": 0.8, "price": "4.00"},
            {"id": "B", "name": "leg", "weight": "20", "relative": 1, "price": "5.00"},
            {"id": "C", "name": "loin", "weight": "6", "relative": 1.5, "price": "8.00"},
        ],
        "endings": {"step": "0.05"},
    } | more


def with_cut(at, problem=None, **more):
    """Return the board with one cut changed; a key set to None is left out."""
    problem = problem or board()
    listed = [dict(cut) for cut in problem["cuts"]]
    listed[at] = {key: value for key, value in (listed[at] | more).items() if value is not None}
    return problem | {"cuts": listed}


def plan_of(problem):
    """Return the plan, held against both schemas."""
    jsonschema.validate(problem, SCHEMAS["chalk"])
    plan = chalk(problem)
    jsonschema.validate(plan, SCHEMAS["chalk.plan"])
    return plan


def test_the_documented_board_gives_the_documented_plan():
    """docs/examples/chalk.json runs into its plan, and both keep their schemas."""
    problem, plan = (
        json.loads((DOCS / f"examples/chalk{kind}.json").read_text(encoding="utf-8"))
        for kind in ("", ".plan")
    )
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    assert plan_of(problem) == plan


def test_every_key_of_a_board_is_described():
    """docs/chalk.md names each key of the problem, of a cut and of a pull's answer."""
    text = (DOCS / "chalk.md").read_text(encoding="utf-8")
    keys = set(SCHEMAS["chalk"]["properties"]) - {"schema"}
    keys |= set(SCHEMAS["chalk"]["properties"]["cuts"]["items"]["properties"])
    keys |= set(SCHEMAS["chalk"]["properties"]["cost"]["properties"])
    pull = set(SCHEMAS["chalk.plan"]["properties"]["pulls"]["items"]["properties"])
    for key in keys | (pull - {"to"}):
        assert f"`{key}" in text, key


@pytest.mark.parametrize("module", [equation, equation_words])
def test_the_examples_in_the_equation_are_true(module):
    """The doctests hold."""
    found = doctest.testmod(module, extraglobs={"Fraction": Fraction})
    assert found.attempted
    assert not found.failed


@given(cuts(bounded=False), NEED)
def test_free_prices_bring_the_need_exactly(listed, need):
    """Price x selling weight sums to what is needed, in fractions, at the asked ratios."""
    solved = solve_board(listed, need)
    assert solved.revenue == need
    assert solved.reached
    for cut, price in zip(listed, solved.prices, strict=True):
        assert price == cut.relative * solved.base


@given(cuts(bounded=False), fraction(1, 900), fraction(0, 0.9))
def test_cost_and_margin_come_back(listed, cost, margin):
    """What the exact prices bring, less the cost, is just the margin wanted on those sales."""
    revenue = solve_board(listed, cost / (1 - margin)).revenue
    assert (revenue - cost) / revenue == margin


@given(cuts(), NEED)
def test_held_prices_bring_the_need_or_say_why_not(listed, need):
    """With floors, caps and fixed prices the need is met exactly, or every free cut is held."""
    solved = solve_board(listed, need)
    assert solved.revenue == brought(listed, solved.prices)
    for cut, price, why in zip(listed, solved.prices, solved.whys, strict=True):
        if why == "fixed":
            assert price == cut.fixed
            continue
        assert cut.floor <= price
        assert cut.cap is None or price <= cut.cap
        assert price == {"free": cut.relative * solved.base, "floor": cut.floor,
                         "cap": cut.cap}[why]  # fmt: skip
    moving = [cut for cut in listed if cut.fixed is None]
    if solved.revenue < need:
        assert not solved.reached
        assert all(p == c.cap for c, p in zip(listed, solved.prices, strict=True) if c in moving)
    elif solved.revenue > need:
        assert all(p == c.floor for c, p in zip(listed, solved.prices, strict=True) if c in moving)


@given(cuts(), NEED, fraction(1, 50))
def test_more_need_never_lowers_a_price(listed, need, more):
    """The base rises with what is needed, and no price falls."""
    low, high = solve_board(listed, need), solve_board(listed, need + more)
    assert all(a <= b for a, b in zip(low.prices, high.prices, strict=True))


@given(cuts(), NEED, fraction(0, 4))
def test_a_higher_floor_never_lowers_what_comes_in(listed, need, more):
    """Raising one floor (within its cap) brings no less and misses no target that was met."""
    first = listed[0]
    floor = first.floor + more if first.cap is None else min(first.floor + more, first.cap)
    before = solve_board(listed, need)
    after = solve_board([replace(first, floor=floor), *listed[1:]], need)
    assert after.revenue >= before.revenue
    assert after.reached >= before.reached


@given(cuts(), NEED, fraction(0.1, 20))
def test_twice_the_animal_has_the_same_prices(listed, need, times):
    """Weights and cost times k: the same exact prices."""
    larger = [replace(cut, weight=cut.weight * times) for cut in listed]
    assert solve_board(larger, need * times).prices == solve_board(listed, need).prices


@given(cuts(), NEED, fraction(0.1, 20))
def test_another_currency_only_scales(listed, need, rate):
    """Cost, floors, caps and fixed prices times k: prices times k."""
    changed = [
        replace(
            cut,
            fixed=None if cut.fixed is None else cut.fixed * rate,
            floor=cut.floor * rate,
            cap=None if cut.cap is None else cut.cap * rate,
        )
        for cut in listed
    ]
    there = solve_board(changed, need * rate)
    here = solve_board(listed, need)
    assert there.prices == tuple(price * rate for price in here.prices)


@given(cuts(), NEED, st.randoms(use_true_random=False))
def test_the_order_of_the_cuts_does_not_matter(listed, need, random):
    """Any order gives each cut the same price."""
    mixed = list(listed)
    random.shuffle(mixed)
    one, other = solve_board(listed, need), solve_board(mixed, need)
    by_id = dict(zip((cut.cut_id for cut in mixed), other.prices, strict=True))
    assert [by_id[cut.cut_id] for cut in listed] == list(one.prices)


@given(cuts(), NEED)
def test_the_base_agrees_with_halving(listed, need):
    """A blind search by halving finds the same base as the walk along the bends."""
    free = [replace(cut, fixed=None) for cut in listed]
    base, reached = solve_base(free, need)

    def brings(at):
        return sum(
            min(max(cut.relative * at, cut.floor), Fraction(10**9) if cut.cap is None else cut.cap)
            * cut.sells
            for cut in free
        )

    assume(reached and base > 0)
    low, high = Fraction(0), Fraction(2)
    while brings(high) < need:
        high *= 2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if brings(middle) < need else (low, middle)
    assert brings(base) == need
    assert abs(high - base) < Fraction(1, 10**9)


def test_the_cost_is_what_was_paid_and_done():
    """Haulage, labour by the minute, other and curing join the cost; by-products leave it."""
    problem = with_cut(2, extra_cost_per_unit="0.50") | {
        "cost": {"bought": "80", "haulage": "5", "labour_minutes": "20", "labour_per_hour": "24",
                 "other": "1"},
        "credits": [{"name": "bone", "weight": "4", "value_per_unit": "0.25"},
                    {"name": "scrap", "weight": "1"}],
    }  # fmt: skip
    plan = plan_of(problem)
    assert plan["cost"] == "97.00"
    assert plan["credit_value"] == "1.00"
    assert Decimal(plan["needed"]) == round(Decimal(96) / Decimal("0.65"), 2)


def test_present_prices_stand_for_relatives():
    """Without relatives every price moves by one factor, and that is said."""
    problem = board(endings=None)
    for cut in problem["cuts"]:
        del cut["relative"]
    plan = plan_of(problem)
    factor = Decimal(plan["needed"]) / Decimal(196)
    assert abs(Decimal(plan["base"]) - factor) < Decimal("0.0001")
    for cut in plan["cuts"]:
        assert abs(Decimal(cut["exact"]) - Decimal(cut["present"]) * factor) < Decimal("0.001")
    assert plan["assumptions"] == [
        "The relative of every free cut is taken from its present price."
    ]


def test_a_present_price_is_put_on_the_scale_of_the_given_relatives():
    """A cut without a relative keeps its ratio to the prices of those that have one."""
    plan = plan_of(with_cut(2, relative=None))
    # shoulder and leg: 148 of money for 29.6 of relative, so one relative is 5.00
    assert plan["cuts"][2]["relative"] == 1.6
    assert "The relative of loin is taken from its present price." in plan["assumptions"]


def test_a_cut_without_relative_or_price_is_refused_by_name():
    """The sentence names the cut and what to give."""
    with pytest.raises(BadValue, match="'loin' is missing and it has no present price either"):
        chalk(with_cut(2, relative=None, price=None))
    bare = [{"name": "A", "weight": "1", "relative": 1}, {"name": "B", "weight": "1", "price": "3"}]
    with pytest.raises(BadValue, match="'B' is missing and no cut has both"):
        chalk(board(cuts=bare))


def test_caps_out_of_reach_are_said():
    """With every cut at its cap the plan is not reached and tells how much is short."""
    problem = board()
    for cut, cap in zip(problem["cuts"], ("3.00", "3.50", "6.00"), strict=True):
        cut["cap"] = cap
    plan = plan_of(problem)
    assert not plan["reached"]
    assert [cut["price"] for cut in plan["cuts"]] == ["3.00", "3.50", "6.00"]
    assert {cut["why"] for cut in plan["cuts"]} == {"cap"}
    assert plan["short_by"] == "11.85"
    assert "11.85 less than is needed" in plan["assumptions"][0]


def test_fixed_prices_that_bring_enough_leave_the_rest_at_their_floor():
    """Free cuts fall to their floor, or to the lowest ending, and the surplus is told."""
    problem = with_cut(1, with_cut(0, floor="2.00"), fixed="9.00")
    plan = plan_of(problem)
    assert [cut["price"] for cut in plan["cuts"]] == ["2.00", "9.00", "0.05"]
    assert plan["reached"]
    assert plan["over"] == "50.453846"
    assert any("more than is needed" in note for note in plan["assumptions"])


def test_a_fixed_price_keeps_its_own_decimals():
    """A price that stays is not moved to an ending."""
    plan = plan_of(with_cut(1, fixed="5.125"))
    assert plan["cuts"][1]["price"] == "5.125"
    assert plan["cuts"][1]["why"] == "fixed"


def test_all_fixed_has_no_base():
    """A board of fixed prices is only added up."""
    problem = board()
    for cut in problem["cuts"]:
        cut["fixed"] = "4.00"
    plan = plan_of(problem)
    assert plan["base"] is None
    assert plan["revenue"] == "152.00"
    assert plan["step_on_smallest"] is None
    assert plan["short_by"] == "1.85"
    assert all(not pull["alone"] and not pull["together"] for pull in plan["pulls"])


def test_the_present_board_is_held_against_the_need():
    """What present prices bring, their margin, and whether that is short."""
    plan = plan_of(with_cut(0, shrink=0.25))
    assert plan["present"] == {"revenue": "184.00", "margin": 0.456522, "short_by": None}
    dear = plan_of(board(cost={"bought": "130"}))
    assert dear["present"] == {"revenue": "196.00", "margin": 0.336735, "short_by": "4.00"}
    assert plan_of(with_cut(0, price=None))["present"] is None


def test_what_was_sold_is_told():
    """Share by weight for each cut, and the money at present prices."""
    plan = plan_of(with_cut(0, sold="3.0"))
    assert plan["cuts"][0]["sold_share"] == 0.25
    assert plan["cuts"][1]["sold"] is None
    assert plan["earned"] == "12.00"
    assert plan_of(board())["earned"] is None
    assert any("More of shoulder" in one for one in plan_of(with_cut(0, sold="13"))["assumptions"])


@pytest.mark.parametrize("rule", ["half-up", "half-even"])
def test_money_is_rounded_by_the_named_rule(rule):
    """Half a cent goes up, or to the even cent."""
    problem = board(margin=0, rounding=rule, cost={"bought": "100.125"})
    assert plan_of(problem)["needed"] == {"half-up": "100.13", "half-even": "100.12"}[rule]


def test_currencies_without_cents_have_whole_prices():
    """In yen a price, a pull and money have no decimals."""
    problem = board(currency="JPY", cost={"bought": "30000"}, endings={"step": "10"})
    plan = plan_of(problem)
    assert all(int(cut["price"]) % 10 == 0 for cut in plan["cuts"])
    assert plan["revenue"].isdigit()
    assert plan["pulls"][0]["by"] == "-1"


def test_a_long_board_is_quick():
    """Sixty cuts, endings and sixty pulls take a fraction of a second."""
    listed = [
        {"name": f"cut {n}", "weight": f"{n % 17 + 0.4:.1f}", "shrink": 0.04,
         "relative": 0.5 + n % 7 / 4}
        for n in range(60)
    ]  # fmt: skip
    problem = board(cuts=listed)
    start = time.process_time()
    plan = chalk(problem)
    # some 12 ms on one core; the limit only catches a search that runs away
    assert time.process_time() - start < 0.5
    assert len(plan["pulls"]) == 60
    assert all(len(pull["together"]) == 59 for pull in plan["pulls"])


def test_published_relatives_are_retail_and_keep_their_source():
    """Pork ratios come newest first with date and status; wholesale ones are left out."""
    pork = published_relatives("pork")
    assert pork[0].date == "2025-02"
    bacon = next(one for one in pork if one.cut == "bacon sliced")
    assert (bacon.against, bacon.relative) == ("chops bone-in", Fraction("1.525"))
    assert bacon.source.source_id == "P04"
    assert not any("cut-out" in one.series or "LM_" in one.series for one in pork)
    with pytest.raises(BadValue, match="No published retail ratio"):
        published_relatives("lamb")
