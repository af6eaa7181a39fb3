"""Prices on endings: the target kept, the surplus small, no price far from its exact one."""

from __future__ import annotations

import doctest
from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chalk.test_chalk_equation import NEED, board, cuts, fraction, plan_of, with_cut
from collop.chalk import endings
from collop.chalk.endings import Grid, Spot, carried, on_endings, step_on_smallest
from collop.chalk.equation import brought, solve_board
from collop.chalk.equation_plan import put_on_endings

GRIDS = [Grid(1), Grid(5), Grid(10), Grid(50), Grid(100, (29, 49, 99)), Grid(100, (99,)),
         Grid(100, (0, 50, 95))]  # fmt: skip


@st.composite
def spots(draw, *, low=2, high=40, lightest=0.2):
    """Return unheld prices of 2 to 40 and weights that a counter sees."""
    return [
        Spot(
            key=f"C{index:02d}",
            exact=Fraction(draw(st.integers(low * 997, high * 997)), 997) * 100,
            sells=draw(fraction(lightest, 40)),
            low=1,
        )
        for index in range(draw(st.integers(1, 14)))
    ]


def over(listed, prices):
    return sum(
        (price - spot.exact) * spot.sells for spot, price in zip(listed, prices, strict=True)
    )


def test_the_examples_in_the_endings_are_true():
    """The doctests hold."""
    found = doctest.testmod(endings)
    assert found.attempted
    assert not found.failed


@given(st.sampled_from(GRIDS), st.integers(-50, 2000))
def test_up_and_down_are_the_neighbours(grid, price):
    """Up and down agree with a plain list of all endings."""
    every = [p * grid.period + end for p in range(-60, 2500 // grid.period + 2)
             for end in grid.ends]  # fmt: skip
    assert grid.up(price) == min(end for end in every if end >= max(price, 1))
    assert grid.down(price) == max(end for end in every if end <= price)
    assert grid.gap == max(high - low for low, high in pairwise(sorted(every)))


@given(spots(), st.sampled_from(GRIDS))
def test_carrying_keeps_the_target_and_its_bounds(listed, grid):
    """No less comes in, and each price stays within the bound of the carried error."""
    listed = sorted(listed, key=lambda spot: (-spot.sells, spot.key))
    prices = carried(listed, grid)
    half = Fraction(grid.gap, 2)
    ratios = [0, *(heavy.sells / light.sells for heavy, light in pairwise(listed))]
    for index, (spot, price, ratio) in enumerate(zip(listed, prices, ratios, strict=True)):
        last = index == len(listed) - 1
        far = abs(price - spot.exact)
        low_end = price == grid.up(1)
        assert low_end or far <= half * ratio + (grid.gap if last else half)
    if grid.up(1) not in prices:
        assert 0 <= over(listed, prices) < grid.gap * listed[-1].sells


@given(spots(), st.sampled_from(GRIDS))
def test_endings_keep_the_target_within_one_step_on_the_smallest(listed, grid):
    """Sales are never under the target, and over it by less than a step on the lightest cut.

    The surplus may only be more where carrying would move a price by more than half.
    """
    prices = on_endings(listed, grid)
    extra = over(listed, prices)
    assert extra >= 0
    for price in prices:
        assert grid.up(price) == price
    if extra >= step_on_smallest(listed, grid):
        order = sorted(listed, key=lambda spot: (-spot.sells, spot.key))
        half = Fraction(1, 2)
        assert any(abs(price - spot.exact) > spot.bound(grid.gap, half)
                   for spot, price in zip(order, carried(order, grid), strict=True)) or (
            grid.up(1) in carried(order, grid))  # fmt: skip


@given(spots(), st.sampled_from(GRIDS), st.randoms(use_true_random=False))
def test_the_order_does_not_matter_for_endings(listed, grid, random):
    """Any order of the cuts gives each the same ending."""
    mixed = list(listed)
    random.shuffle(mixed)
    by_key = dict(zip((spot.key for spot in mixed), on_endings(mixed, grid), strict=True))
    assert [by_key[spot.key] for spot in listed] == on_endings(listed, grid)


@given(cuts(), NEED, st.sampled_from(GRIDS))
def test_held_boards_keep_floors_and_caps(listed, need, grid):
    """With floors and caps every price stays within them, and what could be reached is."""
    solved = solve_board(listed, need)
    prices, step, odd = put_on_endings(listed, solved, grid, 100)
    for cut, price, why in zip(listed, prices, solved.whys, strict=True):
        if why == "fixed":
            assert price == cut.fixed
            continue
        assert cut in odd or grid.up(int(price * 100)) == price * 100
        assert cut.cap is None or price <= cut.cap
        # an ending is above zero, even for a cut that need bring nothing
        assert price >= cut.floor
    revenue = brought(listed, prices)
    if any(cut.cap is None and cut.fixed is None for cut in listed):
        assert revenue >= need
    assert step is None or step > 0


def test_a_light_cut_beside_heavy_ones_keeps_its_price():
    """Where the carried error would shift half a pound by far, others take it up."""
    random, grid, shifted = Random(3), Grid(5), 0
    for _ in range(60):
        weights = [Fraction(random.randint(50, 500), 10) for _ in range(7)] + [Fraction(1, 2)]
        listed = [
            Spot(key=str(n), exact=Fraction(random.randint(900, 4000), 3), sells=weight, low=1)
            for n, weight in enumerate(sorted(weights, reverse=True))
        ]
        plain = zip(listed, carried(listed, grid), strict=True)
        shifted += any(abs(price - spot.exact) > spot.bound(5) for spot, price in plain)
        prices = on_endings(listed, grid)
        for spot, price in zip(listed, prices, strict=True):
            assert abs(price - spot.exact) <= spot.bound(5)
        assert 0 <= over(listed, prices) < step_on_smallest(listed, grid)
    # else nothing was shown
    assert shifted > 5


@pytest.mark.parametrize("grid", GRIDS[:4])
def test_a_long_board_has_no_silly_price(grid):
    """Sixty cuts down to two ounces: every price within a step or 5 %, the surplus kept small."""
    listed = [
        Spot(key=f"{n:02d}", exact=Fraction(350 + 1361 * n % 1500) + Fraction(n, 61),
             sells=Fraction(40, n + 1) if n < 59 else Fraction(1, 8), low=1)
        for n in range(60)
    ]  # fmt: skip
    prices = on_endings(listed, grid)
    assert 0 <= over(listed, prices) < step_on_smallest(listed, grid)
    for spot, price in zip(listed, prices, strict=True):
        assert abs(price - spot.exact) <= spot.bound(grid.gap)


def test_a_board_on_dear_endings_tells_its_step():
    """The step on the smallest is the largest gap times the lightest selling weight."""
    plan = plan_of(with_cut(2, board(endings={"of": ["0.29", "0.49", "0.99"]}), shrink=0.5))
    assert plan["step_on_smallest"] == "1.50"
    assert Fraction(plan["over"]) < Fraction(plan["step_on_smallest"])
    assert all(cut["price"][-3:] in {".29", ".49", ".99"} for cut in plan["cuts"])


def test_floor_and_cap_without_an_ending_between_keep_the_exact_price():
    """A cut held between two endings keeps its price to the cent, and that is said."""
    problem = with_cut(0, board(endings={"of": ["0.99"]}), floor="3.10", cap="3.20")
    plan = plan_of(problem)
    assert plan["cuts"][0]["price"] == "3.19"
    assert any("shoulder has no ending between" in note for note in plan["assumptions"])


def test_caps_just_under_an_ending_lose_the_target_and_say_so():
    """Reached exactly, but not on endings under the caps: short by what is missing."""
    problem = board(endings={"of": ["0.99"]})
    for cut, cap in zip(problem["cuts"], ("3.50", "4.30", "6.50"), strict=True):
        cut["cap"] = cap
    plan = plan_of(problem)
    assert [cut["price"] for cut in plan["cuts"]] == ["2.99", "3.99", "5.99"]
    assert not plan["reached"]
    assert plan["short_by"] == "2.23"


def test_a_held_lightest_cut_leaves_more_over():
    """Where the cut that should close is capped, the next ones do, and the surplus is said."""
    problem = board(endings={"of": ["0.49", "0.99"]}, margin=0.34)
    problem = with_cut(2, problem, cap="5.50")
    plan = plan_of(problem)
    assert plan["reached"]
    assert plan["cuts"][2]["price"] == "5.49"
    assert Fraction(plan["over"]) < Fraction(1, 2) * 20


def unlike(bought, step):
    """Return the plan of two heavy cuts and two ounces of a third."""
    weights = {"A": "40.3", "B": "20.9", "C": "0.12"}
    problem = board(cost={"bought": bought}, endings={"step": step})
    listed = [{**cut, "weight": weights[cut["id"]]} for cut in problem["cuts"]]
    return plan_of(problem | {"cuts": listed})


def off(cut):
    """Return how far a price is from its exact one, as a part of it."""
    return abs(Fraction(cut["price"]) / Fraction(cut["exact"]) - 1)


def test_no_price_becomes_silly_for_a_small_surplus():
    """Where two ounces would have to pay for two heavy cuts, the surplus gives way, and is told."""
    gave_way = 0
    for cents in range(16000, 20000, 173):
        plan = unlike(f"{cents / 100:.2f}", "0.10")
        assert plan["reached"]
        assert all(off(cut) <= Fraction(1, 2) for cut in plan["cuts"])
        if Fraction(plan["over"]) >= Fraction(plan["step_on_smallest"]):
            gave_way += 1
            assert all(off(cut) <= Fraction(1, 20) for cut in plan["cuts"])
            # less than a step on the middle cut, which can still close
            assert Fraction(plan["over"]) < Fraction("0.10") * Fraction("20.9")
            assert any("more than one step on the smallest cut" in n for n in plan["assumptions"])
        elif any(off(cut) > Fraction(1, 20) for cut in plan["cuts"]):
            assert any(" from its exact price: " in note for note in plan["assumptions"])
    assert gave_way


@pytest.mark.parametrize("grid", [Grid(1), Grid(5), Grid(100, (29, 49, 99))])
@pytest.mark.parametrize("size", [6, 12, 30])
def test_boards_of_a_counter_meet_both_bounds(size, grid):
    """Half a pound to thirty, 3 to 12 a pound: within one step on the smallest and 20 %."""
    random = Random(size)
    for _ in range(15):
        listed = [
            Spot(key=str(n), exact=Fraction(random.randint(30_000, 120_000), 97),
                 sells=Fraction(random.randint(50, 3000), 100), low=1)
            for n in range(size)
        ]  # fmt: skip
        prices = on_endings(listed, grid)
        assert 0 <= over(listed, prices) < step_on_smallest(listed, grid)
        for spot, price in zip(listed, prices, strict=True):
            assert abs(price - spot.exact) <= spot.bound(grid.gap, Fraction(1, 5))
