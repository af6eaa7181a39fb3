"""Common practice, no published source: what a butcher takes for granted about a spread.

None of these figures is cited; they are held so that nobody changes a default unawares.  Prices
and cuts are those of the invented demo shop.
"""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction

import pytest

from collop.shop import StillClock, create_shop
from collop.spread import answer, read_problem
from collop.spread.cousins import bird_against_parts, serving_cost
from collop.spread.problem import DISH_STYLES


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    """Return what is free in the demo shop on Tuesday at eight."""
    path = tmp_path_factory.mktemp("board") / "shop.db"
    clock = StillClock(datetime.fromisoformat("2026-06-09T08:00"))
    with create_shop(f"sqlite:///{path}", demo=True, clock=clock) as shop:
        return shop.offers()


@pytest.fixture(scope="module")
def table(board):
    """Return a table for ten with every dish style, over the demo board."""
    return read_problem(
        {
            "schema": "collop.spread/1",
            "groups": [{"name": "all", "count": 10}],
            "need_oz": {style: float(need) for style, (need, _) in DISH_STYLES.items()},
            "offers": board,
        }
    )


def _one_cut(pounds, style, heads, **more):
    """Return the plan for one boneless cut of `pounds` and nothing else."""
    cut = {
        "id": "S", "name": "Cross-cut steak", "species": "beef", "price_per_lb": "12.00",
        "free_lb": pounds, "pieces_lb": [pounds], "boneless_fraction": 0.95,
        "styles": [style], "eating": {style: 0.8}, "slots": ["centre"],
    }  # fmt: skip
    return answer(
        {
            "schema": "collop.spread/1",
            "groups": [{"name": "all", "count": heads}],
            "need_oz": {style: float(DISH_STYLES[style][0])},
            "appetite_cv": 0.0,
            "rules": {"min_items": 1, "max_share": 1.0},
            "offers": [cut],
        }
        | more
    )


def test_six_to_eight_ounces_raw_a_head_as_the_main():
    """Common practice, no published source: a full plate is 6 to 8 oz of raw meat."""
    assert 6 <= DISH_STYLES["plate"][0] <= 8


@pytest.mark.parametrize("heads", [12, 26, 40])
def test_a_default_spread_is_six_to_eight_ounces_a_head(board, heads):
    """Common practice, no published source: no spread for a crowd is outside the same 6 to 8 oz."""
    plan = answer(
        {
            "schema": "collop.spread/1",
            "groups": [{"name": "all", "count": heads}],
            "appetite_cv": 0.0,
            "offers": board,
        }
    )
    assert len(plan["spreads"]) >= 3
    for spread in plan["spreads"]:
        assert 6 <= spread["boneless_oz"] / heads <= 8


def test_two_to_three_ounces_sliced_into_wraps():
    """Common practice, no published source: one wrap holds 2 to 3 oz, two of them are a meal."""
    need, portion = DISH_STYLES["wrap"]
    assert 2 <= portion <= 3
    assert need == 2 * portion


def test_a_six_pound_mixed_muscle_steak_feeds_about_fifteen():
    """Common practice, no published source: 6 lb cut across several muscles, carved to share."""
    plan = _one_cut("6.00", "shared", 15)
    assert plan["answer"] == "yes"
    assert plan["spreads"][0]["feeds"]["usual"] == 15
    assert _one_cut("6.00", "shared", 18)["answer"] == "no"


def test_a_shoulder_chop_runs_well_under_the_loin_chop(table):
    """Common practice, no published source: 25 to 50 % less a pound, on the demo board."""
    shoulder, loin = table.offer("C16"), table.offer("C17")
    saving = 1 - Fraction(shoulder.price.amount) / Fraction(loin.price.amount)
    assert Fraction(1, 4) <= saving <= Fraction(1, 2)


def test_a_dearer_cut_costs_about_half_a_serving_once_sliced_small(table):
    """Common practice, no published source: rump in a wrap against pork loin chop on a plate."""
    rump, chop = table.offer("C13"), table.offer("C17")
    assert rump.price.amount > chop.price.amount
    in_wraps = serving_cost(table, rump, "wrap")
    on_plates = serving_cost(table, chop, "plate")
    assert 0.4 <= in_wraps.minor / on_plates.minor <= 0.6


def test_thirty_usual_plates_are_forty_light_or_twenty_five_hungry_ones():
    """Common practice, no published source: about 25, 30 and 40 for the same food."""
    plan = _one_cut("11.10", "shared", 28)
    feeds = plan["spreads"][0]["feeds"]
    assert feeds["usual"] == 28
    assert 25 <= _scaled(feeds["hungry"], feeds["usual"]) <= 27
    assert 39 <= _scaled(feeds["light"], feeds["usual"]) <= 43


def _scaled(count, usual):
    return count * 30 / usual


def test_a_whole_bird_is_bought_for_less_than_its_parts(table):
    """Common practice, no published source, on the demo board: parts at board prices cost more.

    Shares of the parts are those of the ten-bird study (source id FSANZCHK, seen).
    """
    bird, thighs = table.offer("C23"), table.offer("C24")
    price = Fraction(thighs.price.amount) * 100
    found = bird_against_parts(
        Fraction("4.1"),
        Fraction(bird.price.amount) * 100,
        [(part, price) for part in ("breast", "thigh", "drumstick", "wing")],
    )
    assert found.priced_share == 1
    assert found.parts > found.bird
