"""Offers on one basis: sums by hand, bands, the same basket, the break-even, hostile problems."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.chalk.buying import buying
from collop.chalk.buying_schema import SCHEMAS
from collop.errors import ProblemError
from ending import that_ends

PCT = {"pct": 60, "of": "hot"}


def problem(*offers, **more):
    """Return a problem of these offers."""
    return {"schema": "collop.buying/1", "species": "beef", "offers": list(offers)} | more


def live(name="a", **more):
    """Return a live animal whose figures are all given: 1000 lb, dressing 60, take-home 60 %."""
    return {"id": name, "basis": "live", "weight": "1000", "price": "2.00", "dressing": {"pct": 60},
            "take_home": PCT} | more  # fmt: skip


def hanging(name="h", **more):
    """Return a carcass of 600 lb at four."""
    return {
        "id": name,
        "basis": "hanging",
        "weight": "600",
        "price": "4.00",
        "take_home": PCT,
    } | more


def box(name="b", **more):
    """Return a box of one cut: 100 lb at six, a tenth trimmed off."""
    cuts = [{"cut": "rump", "weight": "100", "price": "6.00", "trim_loss_pct": 10}]
    return {"id": name, "basis": "box", "cuts": cuts} | more


def offer(plan, name):
    """Return one offer of a plan."""
    return next(one for one in plan["offers"] if one["id"] == name)


def test_a_live_animal_by_hand():
    """1000 x 0.6 = 600 hot, x 0.6 = 360 to sell; 2000 + 60 + 90 + 480 - 30 + 360 x 2/60 x 30."""
    one = live(haulage="60", kill_fee="90", cutting_fee="0.80", labour_minutes=2,
               credits=[{"name": "hide", "money": "30"}])  # fmt: skip
    told = offer(buying(problem(one, labour_per_hour="30")), "a")
    assert {w["name"]: w["usual"] for w in told["weights"]}["to sell"] == "360"
    assert told["cost"]["usual"] == "2960.00"
    assert told["per_unit"]["usual"] == "8.2222"
    assert sum(Decimal(part["money"]) for part in told["parts"]) == Decimal("2960.00")


def test_a_price_a_head_and_two_animals():
    """Two at 1000 a head with 90 of fees each."""
    one = live(price_head="1000", kill_fee="90", animals=2)
    del one["price"]
    assert offer(buying(problem(one)), "a")["cost"]["usual"] == "2180.00"


def test_what_is_lost_on_the_way_comes_off_the_live_weight_only():
    """1000 x 0.96 x 0.6 x 0.6 = 345.6; what is paid stays 2000."""
    told = offer(buying(problem(live(live_shrink_pct=4))), "a")
    assert told["weights"][-1]["usual"] == "345.6"
    assert told["cost"]["usual"] == "2000.00"


def test_hot_and_cold_are_told_apart():
    """Take-home of the cold carcass: 600 hot x 0.97 x 0.7; of 600 cold: 600 x 0.7."""
    cold = {"pct": 70, "of": "cold"}
    hot = hanging("hot", take_home=cold, shrink={"pct": 3})
    plan = buying(problem(hot, hanging("cold", weight_is="cold", take_home=cold)))
    assert offer(plan, "hot")["weights"][-1]["usual"] == "407.4"
    assert offer(plan, "cold")["weights"][-1]["usual"] == "420"


def test_the_band_takes_the_dear_and_the_cheap_ends():
    """Dressing 55 to 65, take-home 50 to 70: 1000 x 0.65 x 0.7 = 455, 1000 x 0.55 x 0.5 = 275."""
    one = live(dressing={"pct": 60, "low": 55, "high": 65},
               take_home={"pct": 60, "low": 50, "high": 70})  # fmt: skip
    told = offer(buying(problem(one)), "a")
    assert (told["weights"][-1]["low"], told["weights"][-1]["high"]) == ("455", "275")
    assert told["per_unit"] == {"usual": "5.5556", "low": "4.3956", "high": "7.2727"}


CUTS = [{"id": "rump", "price": "12.00", "share": 0.25}, {"id": "shin", "price": "6.00",
                                                         "share": 0.25}]  # fmt: skip


def test_the_same_basket_and_the_break_even():
    """Carcass: 360 lb x (3 + 1.5 + 0.5 x 3) = 2160 at the board for 2400; the box is 1080 for 600.

    90 lb of rump from the carcass cost 2400/2160 x 1080 = 1200, so the box wins under 12 a lb less
    its haulage: (1200 - 20)/100 = 11.80.
    """
    plan = buying(problem(hanging(), box(haulage="20"), cuts=CUTS, rest_price="3.00"))
    assert plan["by"] == "cost over board value"
    assert [one["id"] for one in plan["offers"]] == ["b", "h"]
    (basket,) = plan["baskets"]
    assert {one["id"]: one["cost"]["usual"] for one in basket["from"]} == {
        "h": "1200.00", "b": "620.00",
    }  # fmt: skip
    (level,) = plan["break_even"]
    assert (level["under"], level["asked"], level["wins"]) == ("11.8000", "6.0000", True)
    assert "b wins under 11.80 a lb against h; 6.00 is asked." in plan["say"]


def test_without_a_board_a_unit_to_sell_decides_and_it_is_said():
    """2400/360 = 6.6667 against 600/90 = 6.6667: level at six a lb bought; ties go to the id."""
    plan = buying(problem(hanging(), box()))
    assert plan["by"] == "cost for a unit to sell"
    assert [one["id"] for one in plan["offers"]] == ["b", "h"]
    assert plan["break_even"][0]["under"] == "6.0000"
    assert not plan["break_even"][0]["wins"]
    assert any("dear cut counts as much" in one for one in plan["assumptions"])


def test_bands_that_overlap_are_said():
    """Two animals a cent apart, with a wide band."""
    wide = {"pct": 60, "low": 50, "high": 70}
    plan = buying(problem(live("a", dressing=wide), live("b", dressing=wide, price="2.01")))
    assert any("bands overlap" in one for one in plan["say"])
    plan = buying(problem(live("a"), live("b", price="2.01")))
    assert not any("bands overlap" in one for one in plan["say"])


def test_published_figures_fill_what_is_left_out_and_pork_shrink_is_marked():
    """A row from memory is never told as checked."""
    plan = buying(problem({"id": "p", "basis": "live", "weight": "250", "price": "0.90"},
                          species="pork"))  # fmt: skip
    figures = {one["name"]: one for one in plan["offers"][0]["figures"]}
    assert not figures["cooler shrink"]["checked"]
    assert "from memory, not checked" in figures["cooler shrink"]["source"]
    assert figures["take-home"]["checked"]


@given(
    st.decimals("0.50", "9", places=2), st.decimals("0.50", "9", places=2),
    st.integers(50, 70), st.integers(0, 12),
)  # fmt: skip
def test_any_two_offers_keep_order_and_schema(first, second, dressing, minutes):
    """Cheapest first; the low end is never above the usual, the high never below; parts sum."""
    asked = problem(
        live("a", price=str(first), dressing={"pct": dressing, "low": 50, "high": 70}),
        hanging("b", price=str(second), labour_minutes=minutes), box("x"), labour_per_hour="24",
        cuts=CUTS, rest_price="2",
    )  # fmt: skip
    jsonschema.validate(asked, SCHEMAS["buying"])
    plan = buying(asked)
    jsonschema.validate(plan, SCHEMAS["buying.plan"])
    shares = [one["cost_share"]["usual"] for one in plan["offers"]]
    assert shares == sorted(shares)
    for one in plan["offers"]:
        per = {end: Fraction(text) for end, text in one["per_unit"].items()}
        assert per["low"] <= per["usual"] <= per["high"]
        gap = sum(Fraction(part["money"]) for part in one["parts"]) - Fraction(one["cost"]["usual"])
        assert abs(gap) <= Fraction(len(one["parts"]) + 1, 200)
    again = buying({**asked, "offers": asked["offers"][::-1]})
    assert [one["id"] for one in again["offers"]] == [one["id"] for one in plan["offers"]]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"weight": "NaN"}, "weight"), ({"weight": "1e-999999"}, "weight"),
        ({"weight": "0"}, "zero"), ({"weight": 3}, "in quotes"), ({"price": "-1"}, "zero or more"),
        ({"price": None}, "price"),
        ({"price_head": "5"}, "keep one"), ({"dressing": {"pct": 101}}, "from 1 to 100"),
        ({"dressing": {"pct": 60, "low": 61}}, "not between"), ({"take_home": []}, "an object"),
        ({"basis": "pen"}, "live, hanging, box"), ({"basis": 7}, "text"), ({"cuts": []}, "cuts"),
        ({"credits": [{"name": "x", "money": "99999"}]}, "worth more"), ({"id": ""}, "letters"),
        ({"animals": 0}, "from 1"), ({"animals": True}, "whole number"),
        ({"zzz": 1}, "not a known"),
        ({"labour_minutes": float("nan")}, "labour_minutes"), ({"credits": {}}, "a list"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_said_in_one_sentence(change, said):
    """With the path of the bad value."""
    with pytest.raises(ProblemError) as refused:
        buying(problem(live(**change)))
    assert said in str(refused.value)
    assert str(refused.value).endswith(".")


@pytest.mark.parametrize(
    ("bad", "said"),
    [
        (problem(), "at least one offer"), (problem(live(), live()), "twice"), ([], "an object"),
        (problem(live(), cuts=[{"id": "x", "price": "1", "share": 0.6},
                               {"id": "y", "price": "1", "share": 0.6}]), "more than 1"),
        (problem(live(), cuts=[{"id": "x", "price": "1"}] * 2), "twice"),
        (problem(box(cuts=[])), "empty"), (problem(box(cuts=[{"cut": "x"}])), "weight is missing"),
        (problem(*[live(str(n)) for n in range(10_000)]), "at most 200"),
        (problem({"id": "g", "basis": "hanging", "weight": "20", "price": "7"}, species="goat"),
         "not published for goat"),
        (problem(live(take_home={"pct": 60, "of": "cold"}), species="goat"), "shrink is not"),
    ],
)  # fmt: skip
def test_a_problem_that_cannot_be_is_refused(bad, said):
    """Empty, doubled, far too long, or of an animal nothing is published for."""
    with that_ends(), pytest.raises(ProblemError, match=said):
        buying(bad)
