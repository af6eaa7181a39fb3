"""The schedule of a fire: least waiting, rules kept, and a no that says why."""

from __future__ import annotations

import itertools
import random
import time
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import numpy as np
import pytest
from firemenus import (
    OVEN,
    PLATE,
    POT,
    SUPPER,
    fire,
    fixed,
    item,
    kettle,
    random_menu,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.fire import schedule_refusal
from collop.fire.checker import check_laying
from collop.fire.clocks import LONG_WAIT_MIN
from collop.fire.laying import Laying
from collop.fire.schedule import Refusal, lay, where_it_waits
from collop.fire.scheduling import ROUND_MIN, TRAY_MIN, area_scale, solve
from collop.fire.scheduling_loads import split


def _sound(problem, courses) -> Laying:
    laying = lay(problem, courses)
    assert isinstance(laying, Laying), laying
    assert check_laying(problem, courses, laying) == []
    return laying


def _least_by_trying(problem, courses) -> int | None:
    """Return the least waiting (a tray counts 15) over every whole-minute plan; None if none.

    Written from the rules alone, for fires of one counted grill, one stage an item and no splits.
    """
    zone = problem.zones[0]
    ready = {i.id: range(courses[i.id].hold_min + 1) for i in problem.items}
    best = None
    for waits in itertools.product(*ready.values()):
        spans = []
        for one, wait in zip(problem.items, waits, strict=True):
            course = courses[one.id]
            long = int(course.stages[0].minutes[0])
            off = -wait - course.rest_min
            spans.append((off - long, off, one))
        moves = [minute for on, off, _ in spans for minute in (on, off)]
        if any(moves.count(minute) > problem.hands for minute in moves):
            continue
        if zone.minutes is not None and (
            max(off for _, off, _ in spans) - min(on for on, _, _ in spans) > zone.minutes
        ):
            continue
        if any(
            sum(o.area_sq_in for on, off, o in spans if on <= minute < off + 2) > zone.area_sq_in
            for minute in range(min(s[0] for s in spans), 1)
        ):
            continue
        meat = [on for on, _, o in spans if o.cook_as != "none"]
        trays = sum(o.cook_as == "none" and bool(meat) and off > min(meat) for _, off, o in spans)
        cost = sum(waits) + TRAY_MIN * trays
        best = cost if best is None else min(best, cost)
    return best


@pytest.mark.parametrize("seed", range(40))
def test_small_fires_have_the_least_waiting_there_is(seed):
    """Two or three items, every whole-minute plan tried: the same least waiting, the same no."""
    rng = random.Random(seed)
    items, courses = [], {}
    for name in "abc"[: rng.choice([2, 3, 3])]:
        kind = rng.choice(["whole", "whole", "none"])
        items.append(item(name, area=rng.choice([40, 70, 100]), cook_as=kind, pieces=1))
        courses[name] = fixed(rng.randint(2, 9), cook_as=kind, rest=rng.choice([3, 5]),
                              hold=rng.randint(0, 12))  # fmt: skip
    zone = kettle(rng.choice([110, 150, 300]), minutes=rng.choice([None, 12, 20]))
    problem = fire(items, [zone], hands=rng.choice([1, 2]), waves=False)
    least = _least_by_trying(problem, courses)
    found = solve(problem, courses, 0.9)
    if least is None:
        assert found.status == "none"
    else:
        assert (found.status, found.cost) == ("optimal", least)
        assert found.bound == found.cost


def test_the_trial_by_hand_meets_both_a_yes_and_a_no():
    """A steak and a chop of ten minutes on a grill for one: the first is off 13 min before."""
    courses = {"a": fixed(10, rest=3, hold=13), "b": fixed(10, rest=3, hold=13)}
    problem = fire([item("a", area=80, pieces=1), item("b", area=80, pieces=1)], [kettle(100)])
    laying = _sound(problem, courses)
    assert sorted(load.wait for load in laying.loads) == [0, 12]
    short = {name: replace(course, hold_min=11) for name, course in courses.items()}
    assert isinstance(lay(problem, short), Refusal)


def test_stages_follow_each_other_without_a_gap():
    """Indirect, then direct on the same grill: one stay; oven, then direct: two."""
    courses = {
        "links": fixed(15, 5, heats=("indirect", "direct"), cook_as="ground", rest=0, hold=20),
        "belly": fixed(120, 6, heats=("oven", "direct"), rest=10, hold=45),
    }
    items = [item("links", cook_as="ground", method="indirect then direct"),
             item("belly", method="oven then direct")]  # fmt: skip
    laying = _sound(fire(items, [kettle(130), OVEN]), courses)
    by_name = {load.item: load for load in laying.loads}
    assert [stage.zone for stage in by_name["links"].stages] == ["grill", "grill"]
    assert [stage.zone for stage in by_name["belly"].stages] == ["oven", "grill"]
    for load in laying.loads:
        assert load.stages[0].end == load.stages[1].start


def test_food_that_does_not_fit_at_once_is_cooked_in_two_loads_before_the_meal():
    """Pieces of bird that may wait go in two loads where their area does not fit at once."""
    birds = item("thighs", area=300, cook_as="poultry", method="indirect", pieces=8)
    courses = {"thighs": fixed(20, heats=("indirect",), cook_as="poultry", rest=3, hold=30)}
    laying = _sound(fire([birds], [kettle(200)]), courses)
    assert [load.waves for load in laying.loads] == [2, 2]
    assert all(load.eat == 0 for load in laying.loads)
    assert sum(load.weight_mlb for load in laying.loads) == birds.weight_mlb
    assert not laying.late_rounds


def test_what_may_not_wait_is_eaten_in_a_further_round():
    """Thin steaks on a small kettle: one round at seven, one as soon as it is ready."""
    steaks = item("steaks", area=200)
    courses = {"steaks": fixed(8, rest=3, hold=5)}
    laying = _sound(fire([steaks], [kettle(123)]), courses)
    first, second = laying.loads
    assert (first.eat, first.wait) == (0, 0)
    assert second.eat == second.ready
    assert 0 < second.eat <= ROUND_MIN
    assert laying.late_rounds == (second,)
    refused = lay(fire([steaks], [kettle(123)], waves=False), courses)
    assert isinstance(refused, Refusal)
    assert any(yes.change == "waves" for yes in refused.nearest)


def test_whole_pieces_are_never_cut():
    """Five pieces in two loads are three and two; one piece is one load."""
    five = item("five", area=100, pieces=5, weight_mlb=1001)
    assert split(five, 2) == [(600, Fraction(60)), (401, Fraction(40))]
    assert split(item("one", pieces=1), 2) is None
    assert [weight for weight, _ in split(item("cut", weight_mlb=1001), 3)] == [333, 334, 334]


def test_food_without_meat_goes_first_on_the_clean_grill():
    """Where peppers may wait for the meat to cook, they are off before it goes on."""
    items = [item("peppers", cook_as="none"), item("steaks")]
    courses = {"peppers": fixed(8, cook_as="none", rest=0, hold=30), "steaks": fixed(8, rest=3)}
    laying = _sound(fire(items, [kettle(300)]), courses)
    peppers, steaks = laying.loads
    assert (peppers.item, peppers.own_tray) == ("peppers", False)
    assert peppers.off <= steaks.start


def test_food_without_meat_lies_on_its_own_tray_if_it_would_wait_too_long():
    """Beside a bird of fifty minutes peppers get a tray; on a grill of their own they do not."""
    items = [item("peppers", cook_as="none"), item("bird", cook_as="poultry", method="indirect")]
    courses = {
        "peppers": fixed(8, cook_as="none", rest=0, hold=10),
        "bird": fixed(50, heats=("indirect",), cook_as="poultry", rest=5, hold=30),
    }
    shared = _sound(fire(items, [kettle(300)]), courses)
    assert {load.item: load.own_tray for load in shared.loads} == {"bird": False, "peppers": True}
    own = _sound(fire(items, [kettle(300), kettle(100, name="clean", meat_free=True)]), courses)
    peppers = next(load for load in own.loads if load.item == "peppers")
    assert (peppers.stages[0].zone, peppers.own_tray) == ("clean", False)


def test_meat_never_lies_on_what_is_kept_for_food_without_meat():
    """With a clean grill alone there is no place for steaks, and the no says so."""
    refused = lay(fire([item("steaks")], [kettle(meat_free=True)]), {"steaks": fixed(8)})
    assert [why.limit for why in refused.why] == ["heat"]
    assert refused.why[0].item == "steaks"


def test_two_meals_are_ready_each_at_its_time():
    """Food for seven and for eight from one fire."""
    items = [item("first", serving="main"), item("then", serving="later")]
    problem = fire(items, [kettle()], servings=((0, "main"), (60, "later")))
    laying = _sound(problem, {"first": fixed(10), "then": fixed(10)})
    assert [load.eat for load in laying.loads] == [0, 60]
    assert set(laying.ready) == {"main", "later"}


def test_coals_are_in_use_no_longer_than_they_last():
    """First use and last use are told, and lie within the hour."""
    items = [item("bird", cook_as="poultry", method="indirect"), item("steaks")]
    courses = {"bird": fixed(50, heats=("indirect",), cook_as="poultry", rest=5, hold=30),
               "steaks": fixed(10)}  # fmt: skip
    laying = _sound(fire(items, [kettle(minutes=60)]), courses)
    assert laying.out["grill"] - laying.lit["grill"] <= 60
    assert laying.lit["grill"] == min(load.start for load in laying.loads)


def test_ovens_and_pots_are_not_counted_by_area():
    """Food of any area goes into an oven and into pots; a plate has its area."""
    items = [item("belly", area=5000, method="oven"), item("beans", area=900, method="pot",
             cook_as="none"), item("bread", area=300, method="plate", cook_as="none")]  # fmt: skip
    courses = {"belly": fixed(90, heats=("oven",), hold=45),
               "beans": fixed(30, heats=("pot",), cook_as="none", rest=0, hold=60),
               "bread": fixed(4, heats=("plate",), cook_as="none", rest=0, hold=10)}  # fmt: skip
    laying = _sound(fire(items, [OVEN, POT, PLATE]), courses)
    assert {load.item: load.waves for load in laying.loads} == {"belly": 1, "beans": 1, "bread": 2}


def test_a_no_names_the_one_limit_that_stands_in_the_way():
    """Coals, time, room, waiting, hands and heat: each is named with its figures."""
    steaks, bird = item("steaks"), item("bird", cook_as="poultry", method="indirect")
    courses = {"steaks": fixed(10), "bird": fixed(50, heats=("indirect",), cook_as="poultry")}
    coals = lay(fire([bird, steaks], [kettle(minutes=45)]), courses)
    assert [(why.limit, why.item) for why in coals.why] == [("minutes", "bird")]
    assert "50 min" in coals.why[0].say
    assert "45 min" in coals.why[0].say
    longer = next(yes.to for yes in coals.nearest if yes.change == "fire.minutes")
    assert isinstance(lay(fire([bird, steaks], [kettle(minutes=longer)]), courses), Laying)
    assert longer - 5 < 50 <= longer
    assert ["bird"] in [yes.to for yes in coals.nearest if yes.change == "leave"]
    assert "bird" in [yes.to for yes in coals.nearest if yes.change == "oven"]

    large = lay(fire([item("steaks", pieces=1, area=200)], [kettle(123)]), courses)
    assert [(why.limit, why.item) for why in large.why] == [("area", "steaks")]
    baked = item("steaks", method="oven")
    oven = lay(fire([baked], [kettle()]), {"steaks": fixed(9, heats=("oven",))})
    assert oven.why[0].limit == "heat"
    raw = lay(fire([steaks], [kettle()]), {"steaks": fixed(9999)})
    assert raw.why[0].limit == "heat"


def test_a_no_for_want_of_time_says_how_much_later_it_goes():
    """Asked half an hour before the meal, a bird of 58 minutes goes an hour later: coals first."""
    bird = item("bird", cook_as="poultry", method="indirect")
    courses = {"bird": fixed(55, heats=("indirect",), cook_as="poultry")}
    now = SUPPER - timedelta(minutes=30)
    refused = lay(fire([bird], [kettle()], now=now), courses)
    assert [(why.limit, why.item) for why in refused.why] == [("minutes", "bird")]
    delay = next(yes.to for yes in refused.nearest if yes.change == "serve")
    assert delay == 60
    laying = _sound(fire([bird], [kettle()], now=now - timedelta(minutes=delay)), courses)
    assert laying.loads[0].start >= -60


def test_a_no_for_all_together_names_room_waiting_and_hands():
    """Two whole pieces that may not wait on a grill for one; five things at once for one person."""
    pair = [item("a", area=80, pieces=1), item("b", area=80, pieces=1)]
    room = lay(fire(pair, [kettle(100)]), {"a": fixed(10, hold=2), "b": fixed(10, hold=2)})
    assert {why.limit for why in room.why} == {"area", "hold"}
    assert all(why.item is None for why in room.why)
    assert {tuple(yes.to) for yes in room.nearest if yes.change == "leave"} == {("a",), ("b",)}
    five = [item(name, area=20, pieces=1) for name in "abcde"]
    courses = {name: fixed(10, hold=1) for name in "abcde"}
    hands = lay(fire(five, [kettle()]), courses)
    assert "hands" in {why.limit for why in hands.why}
    people = next(yes.to for yes in hands.nearest if yes.change == "hands")
    assert people == 3  # ready at the time or a minute before: two moves a minute are too few
    _sound(fire(five, [kettle()], hands=people), courses)


def test_each_nearest_yes_was_tried():
    """What is said to make it go does make it go."""
    tried = set()
    for seed in range(60):
        problem, courses = random_menu(seed, 1 + seed % 6, samples=40)
        found = lay(problem, courses)
        if isinstance(found, Laying):
            continue
        assert found.why
        for yes in found.nearest:
            tried.add(yes.change)
            assert isinstance(_changed(problem, courses, yes), Laying), (seed, yes)
    assert tried >= {"fire.minutes", "serve", "leave"}


def _changed(problem, courses, yes):
    """Lay the fire with a change made."""
    if yes.change == "fire.minutes":
        zones = tuple(
            zone if zone.minutes is None else replace(zone, minutes=max(zone.minutes, yes.to))
            for zone in problem.zones
        )
        return lay(replace(problem, zones=zones), courses, why=False)
    if yes.change == "serve":
        now = problem.now - timedelta(minutes=yes.to)
        return lay(replace(problem, now=now), courses, why=False)
    if yes.change == "hands":
        return lay(replace(problem, hands=yes.to), courses, why=False)
    if yes.change == "waves":
        return lay(replace(problem, waves=True), courses, why=False)
    if yes.change == "leave":
        left = tuple(one for one in problem.items if one.id not in yes.to)
        return lay(replace(problem, items=left), courses, why=False)
    assert yes.change == "oven"
    stages = tuple(replace(stage, heat="oven") for stage in courses[yes.to].stages)
    zones = (*problem.zones, replace(OVEN, id="another"))
    moved = courses | {yes.to: replace(courses[yes.to], stages=stages)}
    return lay(replace(problem, zones=zones), moved, why=False)


def test_where_done_food_waits_is_an_oven_without_raw_food():
    """A long wait goes to the oven, unless raw food is in it; a short one to a board."""
    items = [item("roast", area=100, pieces=1), item("second", area=100, pieces=1)]
    courses = {"roast": fixed(40, hold=60), "second": fixed(30, hold=10)}
    problem = fire(items, [kettle(120), OVEN])
    laying = _sound(problem, courses)
    assert where_it_waits(problem, laying) == {("roast", 1): "oven"}
    raw = item("belly", area=0, method="oven")
    both = fire([*items, raw], [kettle(120), OVEN])
    with_raw = _sound(both, courses | {"belly": fixed(60, heats=("oven",), hold=0)})
    assert where_it_waits(both, with_raw) == {}


def test_done_food_waits_on_a_board_as_long_as_is_said_and_in_an_oven_only_with_room():
    """Half an hour on a board; longer in an oven that is large enough, lasts, and may take meat."""
    items = [item("roast", area=100, pieces=1), item("second", area=100, pieces=1)]
    problem = fire(items, [kettle(120), OVEN])
    for long, wanted in ((LONG_WAIT_MIN - 2, {}), (LONG_WAIT_MIN - 1, {("roast", 1): "oven"})):
        courses = {"roast": fixed(40, hold=60), "second": fixed(long, hold=0)}
        laying = _sound(problem, courses)
        assert where_it_waits(problem, laying) == wanted
    for oven, told in (
        (replace(OVEN, area_sq_in=Fraction(100)), {("roast", 1): "oven"}),
        (replace(OVEN, area_sq_in=Fraction(99)), {}),
        (replace(OVEN, minutes=34), {("roast", 1): "oven"}),
        (replace(OVEN, minutes=33), {}),
        (replace(OVEN, meat_free=True), {}),
    ):
        assert where_it_waits(replace(problem, zones=(kettle(120), oven)), laying) == told


def test_two_that_wait_share_an_oven_only_if_both_fit():
    """Two roasts done early wait in one counted oven if it holds both, else one on the board."""
    items = [item(name, area=100, pieces=1) for name in ("one", "two", "last")]
    courses = {"one": fixed(40, hold=150), "two": fixed(41, hold=150), "last": fixed(40, hold=0)}
    problem = fire(items, [kettle(120), OVEN])
    laying = _sound(problem, courses)
    for area, waiting in ((200, 2), (199, 1)):
        ovens = (kettle(120), replace(OVEN, area_sq_in=Fraction(area)))
        assert len(where_it_waits(replace(problem, zones=ovens), laying)) == waiting


def test_a_no_is_not_told_as_proven_where_not_every_way_was_tried():
    """Nine small grills and a large one at the end of the list: the large one is found."""
    zones = [kettle(100, name=f"g{n}") for n in range(9)] + [kettle(300, name="large")]
    courses = {"steaks": fixed(8), "links": fixed(9, 3, heats=("indirect", "direct"))}
    whole = item("steaks", area=250, pieces=1)
    links = item("links", area=250, pieces=1, method="indirect then direct")
    for one in (whole, links):
        laying = _sound(fire([one], zones), courses)
        assert {stage.zone for load in laying.loads for stage in load.stages} == {"large"}
    # more ways than are tried, and none of them open: not proven
    alike = [kettle(100, name=f"g{n}", minutes=60) for n in range(12)]
    many = [item(f"i{n}", area=100, pieces=1) for n in range(13)]
    times = {one.id: fixed(20, hold=3) for one in many}
    refused = lay(fire(many, alike, hands=26, waves=False), times, why=False)
    assert isinstance(refused, Refusal)
    assert not refused.proven
    few = lay(fire(many[:9], alike[:8], hands=18, waves=False), times, why=False)
    assert isinstance(few, Refusal)
    assert few.proven


def test_a_no_names_only_limits_that_there_are_and_ends_soon():
    """Forty alike on eight grills, no coals told and no clock: neither is named as a limit."""
    names = [f"i{n}" for n in range(40)]
    zones = [kettle(200, name=f"g{n}") for n in range(8)]
    courses = {name: fixed(20, 5, heats=("indirect", "direct"), hold=3) for name in names}
    problem = fire([item(n, method="indirect then direct") for n in names], zones, waves=False)
    began = time.process_time()
    refused = lay(problem, courses)
    assert time.process_time() - began < 20  # about four seconds where it was measured
    assert isinstance(refused, Refusal)
    assert refused.why
    assert not any("lasts:" in why.say or "until the first" in why.say for why in refused.why)


def test_a_search_that_was_not_ended_is_not_told_as_one_that_was():
    """Without work left, nothing is said of what more of a limit would do."""
    pair = [item("a", area=80, pieces=1), item("b", area=80, pieces=1)]
    courses = {"a": fixed(10, hold=2), "b": fixed(10, hold=2)}
    problem = fire(pair, [kettle(100)])
    tried = schedule_refusal._Tried(problem, courses, 0.9)
    assert "Nothing near it" in schedule_refusal._say("hands", tried)
    tried.left = 0.0
    said = schedule_refusal._say("hands", tried)
    assert "not tried to the end" in said
    assert "Nothing" not in said


@settings(max_examples=20)
@given(seed=st.integers(0, 10_000))
def test_the_same_fire_gives_the_same_plan(seed):
    """Solved twice, a fire has the same plan to the minute."""
    problem, courses = random_menu(seed, 4, samples=20)
    assert lay(problem, courses, why=False) == lay(problem, courses, why=False)


@settings(max_examples=30)
@given(st.lists(st.fractions(0, 2000, max_denominator=9), max_size=12))
def test_areas_are_made_whole_without_losing_any(areas):
    """The scale makes every area whole where denominators are small."""
    scale = area_scale(areas)
    assert all((area * scale).denominator == 1 for area in areas) or scale == 1000


def test_nothing_to_cook_is_a_plan_without_loads():
    """An empty fire is ready."""
    laying = lay(fire([], [kettle()]), {})
    assert isinstance(laying, Laying)
    assert (laying.loads, laying.ready) == ((), {"main": 1.0})


def test_what_is_missing_is_said_in_words():
    """An item without times, or for no serving, is named."""
    with pytest.raises(BadValue, match="no cooking times for steaks"):
        lay(fire([item("steaks")], [kettle()]), {})
    with pytest.raises(BadValue, match="no serving time"):
        lay(fire([item("steaks", serving="breakfast")], [kettle()]), {"steaks": fixed(9)})
    never = fixed(9)
    stages = (replace(never.stages[0], minutes=np.full(20, np.nan)),)
    refused = lay(fire([item("steaks")], [kettle()]), {"steaks": replace(never, stages=stages)})
    assert isinstance(refused, Refusal)


def test_many_items_end_within_the_work_allowed():
    """Forty dishes, the most there may be, get a plan or a no within a bounded number of steps."""
    names = [f"i{n}" for n in range(40)]
    zones = [kettle(200, name=f"g{n}") for n in range(8)]
    courses = {name: fixed(20, 5, heats=("indirect", "direct"), hold=30) for name in names}
    problem = fire([item(n, method="indirect then direct") for n in names], zones, hands=3)
    found = lay(problem, courses, why=False)
    if isinstance(found, Laying):
        assert check_laying(problem, courses, found) == []
    else:
        assert not found.why  # nothing forbids one dish by itself
