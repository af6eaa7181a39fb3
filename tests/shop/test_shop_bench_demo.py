"""The demo week's cutting plan: every booking covered or named, weights and money sound."""

from __future__ import annotations

import copy
from decimal import Decimal
from fractions import Fraction

import pytest
from jsonschema import Draft202012Validator
from wished import lb

from collop.bench.bench_schema import SCHEMAS
from collop.bench.checker import check_plan
from collop.bench.reading import read_problem
from collop.shop import DEMO_MONDAY, StillClock, open_shop
from collop.shop.demo_rail import demo_table


@pytest.fixture(scope="module", params=["tuesday", "monday"])
def kept(request, places, demos):
    """Return the plan of a demo day, made once."""
    clock = StillClock(DEMO_MONDAY) if request.param == "monday" else StillClock()
    with open_shop(places.copy(demos(request.param)), clock) as shop:
        found = shop.bench.refresh()
        assert shop.check() == []
        return found


def test_the_checker_finds_nothing_wrong_with_the_plan(kept):
    """Weights, days, hours and money hold in exact numbers; the schema holds too."""
    assert check_plan(read_problem(kept.problem), copy.deepcopy(kept.plan)) == []
    assert list(Draft202012Validator(SCHEMAS["bench.plan"]).iter_errors(kept.plan)) == []


def test_every_booking_is_covered_or_named(kept):
    """What is not met is in the list of the short, to the ounce; all else is met."""
    short = {(one["booking"], one["cut"]): Decimal(one["weight"]) for one in kept.plan["short"]}
    lacks = {}
    for booking in kept.plan["bookings"]:
        for line in booking["lines"]:
            assert Decimal(line["met"]) + Decimal(line["short"]) == Decimal(line["weight"])
            if Decimal(line["short"]):
                key = (booking["id"], line["cut"])
                lacks[key] = lacks.get(key, Decimal(0)) + Decimal(line["short"])
        assert booking["met"] is all(not Decimal(line["short"]) for line in booking["lines"])
    assert lacks == short
    assert all(claim["met"] for claim in kept.plan["claims"] if claim["booking"] == "H3")


def test_the_standing_order_is_capped_at_what_there_is(shop):
    """The restaurant asks 6.0 lb of hanger and skirt and 3.8 lb is all: 2.2 lb are named."""
    plan = shop.bench.plan()
    (short,) = plan["short"]
    assert (short["booking"], short["cut"], short["weight"]) == ("H4", "C14", "2.2")
    assert "2.2 lb of Beef hanger and skirt" in short["say"]
    assert plan["answer"] == "short"


def test_the_fair_s_links_are_made_in_time(shop):
    """4 lb are reserved and 20 lb wanted for Saturday; the plan makes them of trim by then."""
    plan = shop.bench.plan(reasons=False)
    fair = next(one for one in plan["bookings"] if one["id"] == "H6")
    assert fair["met"]
    made = sum(Decimal(one["weight"]) for one in plan["makes"]
               if one["cut"] == "C19" and one["day"] <= 4)  # fmt: skip
    assert made >= 20
    assert any(one["kind"] == "pork side" and one["day"] <= 4 for one in plan["breaks"])


def test_without_its_pigs_the_fair_is_short_and_said_so(shop):
    """Both sides left hanging, no trim is there for its links."""
    kept_back = [{"tag": tag, "style": None, "day": None} for tag in ("P-118", "P-119")]
    plan = shop.bench.plan(locks=kept_back, reasons=False)
    assert ("H6", "C19") in {(one["booking"], one["cut"]) for one in plan["short"]}


def test_a_person_s_choice_is_in_the_plan(shop):
    """A style and a day that are locked are the ones planned, at no more money."""
    free = shop.bench.plan(reasons=False)
    lock = {"tag": "L-207", "style": "lamb-boned", "day": 3}
    plan = shop.bench.plan(locks=[lock], reasons=False)
    found = next(one for one in plan["breaks"] if one["tag"] == "L-207")
    assert (found["style"], found["day"]) == ("lamb-boned", 3)
    assert Decimal(plan["contribution"]) <= Decimal(free["proof"]["bound"])


def test_the_same_shop_gives_the_same_plan(shop):
    """Nothing in it is chance."""
    assert shop.bench.plan() == shop.bench.plan()


def test_the_demo_s_styles_close_and_the_usual_one_stays_first(shop):
    """Each adds up to 1; the further ones sort after the style that was there."""
    for style in shop.cutting.styles():
        assert sum((part.share for part in style.parts), Fraction(0)) == 1
    first = {}
    for style in shop.cutting.styles():
        first.setdefault(style.piece, style.id)
    assert first == {
        "beef forequarter": "fore", "beef hindquarter": "hind", "beef side": "side",
        "goat carcass": "goat", "lamb carcass": "lamb", "pork side": "pig",
    }  # fmt: skip


def test_the_demo_s_wants_stand_as_its_table_says(shop):
    """Booking, line, weight and words are those of the table."""
    found = {(one.booking_id, one.case_id): (one.weight, one.note) for one in shop.bench.wants()}
    assert found == {
        (row["order"], row["case_id"]): (lb(row["lb"]), row["note"])
        for row in demo_table("wants.csv")
    }


def test_the_demo_s_hands_are_at_the_block(shop):
    """Ines in the mornings, Marek all day, Kofi five hours; nobody on Sunday."""
    hands = {one.person: one for one in shop.settings().hands}
    assert {name: sum(one.minutes) for name, one in hands.items()} == {
        "Ines": 1440, "Marek": 2880, "Kofi": 1800,
    }  # fmt: skip
    assert all(one.minutes[6] == one.overtime[6] == 0 for one in hands.values())
