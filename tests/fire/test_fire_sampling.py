"""How sure a fire is: counted over samples."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from firemenus import course, fire, fixed, item, kettle

from collop.errors import BadValue
from collop.fire.laying import Laying
from collop.fire.problem import Course, StageTime
from collop.fire.sampling import off_minutes, ready_chance
from collop.fire.schedule import lay
from collop.fire.scheduling_loads import CHANGEOVER_MIN
from collop.fire.shares import SHARES, highest_share, shares_for


def _times(*minutes: float, heat: str = "direct", hold: int = 60) -> Course:
    stage = StageTime(heat, np.array(minutes, dtype=float))
    return replace(fixed(1, hold=hold), stages=(stage,))


def test_the_share_of_samples_in_time_is_counted():
    """One item, nine samples of ten done by the planned minute: nine in ten."""
    courses = {"a": _times(*[10.0] * 9, 30.0)}
    problem = fire([item("a")], [kettle()])
    laying = lay(replace(problem, chance=0.9), courses)
    assert laying.loads[0].stages[0].minutes == 10
    assert laying.ready == {"main": 0.9}


def test_a_late_load_makes_the_next_one_late():
    """On a full grill the next load waits for its place; on a larger one it does not."""
    courses = {"a": _times(*[10.0] * 9, 30.0), "b": _times(*[10.0] * 10)}
    items = [item("a", area=100), item("b", area=100)]
    small = fire(items, [kettle(120)], chance=0.5)
    laying = lay(small, courses)
    first, second = laying.loads
    assert second.start == first.off + 2  # brushed in between
    one, other = off_minutes(small, courses, laying)
    late = {first.item: one, second.item: other}["b"] if first.item == "a" else None
    large = fire(items, [kettle(400)], chance=0.5)
    beside = ready_chance(large, courses, laying)
    if first.item == "a":
        assert late[-1] > late[0]
        assert laying.ready["main"] <= beside["main"]
    assert 0.9 <= beside["main"] <= 1.0


def test_a_place_is_free_when_enough_has_left():
    """With two loads before it, the third goes on when the first of them to leave makes room."""
    courses = {"a": _times(20.0, 40.0), "b": _times(20.0, 26.0), "c": _times(5.0, 5.0)}
    items = [item("a", area=100), item("b", area=100), item("c", area=100)]
    problem = fire(items, [kettle(200)], hands=3, chance=0.1)
    base = lay(fire(items, [kettle(900)], hands=3, chance=0.1), courses)
    stages = {load.item: load.stages[0] for load in base.loads}
    starts = {"a": -40, "b": -40, "c": -18}
    loads = tuple(
        replace(
            next(one for one in base.loads if one.item == name),
            stages=(replace(stages[name], start=at, end=at + stages[name].minutes),),
        )
        for name, at in starts.items()
    )
    off = off_minutes(problem, courses, replace(base, loads=loads))
    assert off[0].tolist() == [-20, 0]
    assert off[1].tolist() == [-20, -14]
    # second fire: b leaves at -14, and the bars are brushed for two minutes
    assert off[2].tolist() == [-13, -14 + CHANGEOVER_MIN + 5]


def test_the_share_is_raised_until_all_is_ready_together():
    """Eight items that vary by themselves need more minutes each than one alone."""
    names = "abcdefgh"
    courses = {
        name: course("whole", "direct", [(10, 16)], hold=30, seed=n, fire=0.0)
        for n, name in enumerate(names)
    }
    one = lay(fire([item("a")], [kettle()]), courses)
    all_of_them = lay(fire([item(n, area=30) for n in names], [kettle()]), courses)
    assert one.quantile == SHARES[0]
    assert all_of_them.quantile > one.quantile
    assert all_of_them.ready["main"] >= 0.9


def test_the_chance_is_told_as_it_is_where_time_is_short():
    """If more minutes do not fit, the best plan is kept and its chance is under what was asked."""
    courses = {
        name: course("whole", "direct", [(10, 16)], hold=5, seed=n, fire=0.0)
        for n, name in enumerate("abcd")
    }
    problem = fire([item(n) for n in "abcd"], [kettle(minutes=17)], hands=4)
    laying = lay(problem, courses)
    assert isinstance(laying, Laying)
    assert laying.quantile < SHARES[-1]
    assert laying.ready["main"] < problem.chance
    assert laying.ready == ready_chance(problem, courses, laying)


def test_a_fire_shared_by_all_is_surer_than_fires_of_their_own():
    """Items that are slow together are ready together more often than if each is by itself."""
    laid = {}
    for shared in (0.0, 0.95):
        courses = {
            name: course("whole", "direct", [(10, 16)], hold=20, seed=n, fire=shared, samples=2000)
            for n, name in enumerate("abcd")
        }
        problem = fire([item(n) for n in "abcd"], [kettle(900)], hands=4, chance=0.5)
        laying = lay(problem, courses)
        laid[shared] = laying.ready["main"]
        alone = [(courses[x.item].minutes <= x.stages[0].minutes).mean() for x in laying.loads]
        if not shared:
            assert abs(laid[shared] - np.prod(alone)) < 0.02  # each nine in ten, and a bit
    assert laid[0.95] > laid[0.0] + 0.05


def test_samples_of_different_numbers_are_refused():
    """A sample is one fire for all items, so all have the same number."""
    courses = {"a": _times(10.0, 11.0), "b": _times(10.0)}
    problem = fire([item("a"), item("b")], [kettle()])
    with pytest.raises(BadValue, match="different numbers of samples"):
        lay(problem, courses)


def test_food_that_is_never_done_is_never_ready():
    """Samples that do not end count as not in time."""
    courses = {"a": _times(*[10.0] * 19, float("inf")), "b": _times(*[10.0] * 19, float("nan"))}
    problem = fire([item("a"), item("b")], [kettle()], chance=0.99)
    assert lay(problem, courses).ready["main"] == 0.95


def test_food_that_is_on_the_fire_when_it_is_out_is_never_done():
    """A load that may wait an hour and runs over by 20 min is late only where the coals end."""
    courses = {"a": _times(*[10.0] * 9, 30.0)}
    laying = lay(fire([item("a")], [kettle(minutes=20)]), courses)
    early = tuple(
        replace(load, stages=tuple(replace(s, start=s.start - 40, end=s.end - 40)
                                   for s in load.stages), ready=load.ready - 40)
        for load in laying.loads
    )  # fmt: skip
    early_laying = replace(laying, loads=early)
    for minutes, chance, last in ((20, 0.9, float("inf")), (30, 1.0, -23.0), (None, 1.0, -23.0)):
        problem = fire([item("a")], [kettle(minutes=minutes)])
        off = off_minutes(problem, courses, early_laying)[0]
        assert (off[0], off[-1]) == (-43, last)
        assert ready_chance(problem, courses, early_laying) == {"main": chance}


def test_a_plan_that_uses_a_fire_to_its_last_minute_is_in_time():
    """Coals for just what is planned are enough in the samples that keep to the plan."""
    courses = {"a": _times(*[10.0] * 19, 30.0), "b": _times(*[10.0] * 20)}
    items = [item("a", area=100), item("b", area=100)]
    laying = lay(fire(items, [kettle(120, minutes=22)]), courses)
    assert laying.out["grill"] - laying.lit["grill"] == 22
    assert laying.ready == {"main": 0.95}


def test_a_share_that_reaches_what_is_never_done_is_not_tried():
    """One that stalls in 3 of 100 samples has at most the share below, the other its own."""
    courses = {
        "a": _times(*np.linspace(9, 12, 97), *[float("inf")] * 3),
        "b": _times(*np.linspace(9, 12, 100)),
    }
    assert highest_share(courses["a"], 0.995) == 0.97
    problem = fire([item("a"), item("b")], [kettle()])
    shares = shares_for(problem, courses, 0.96)
    assert shares["a"] <= 0.97
    laying = lay(replace(problem, chance=0.96), courses)
    assert 0.9 < laying.ready["main"] <= 0.97
    assert laying.ready == ready_chance(problem, courses, laying)
