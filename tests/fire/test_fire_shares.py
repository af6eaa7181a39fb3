"""Each item has its own share of samples: the joint chance is kept with few planned minutes."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from collop.fire.schedule import lay
from collop.fire.scheduling_loads import planned_minutes
from collop.fire.shares import SHARES, shares_for
from fire.firemenus import course, fire, item, kettle


def menu(*bands):
    """Return a fire and its courses; bands are 10th and 90th percentiles [min]."""
    names = "abcdefgh"[: len(bands)]
    courses = {
        name: course("whole", "direct", [band], hold=60, seed=n, fire=0.0)
        for n, (name, band) in enumerate(zip(names, bands, strict=True))
    }
    return fire([item(name, area=20) for name in names], [kettle()]), courses


def joint(courses, shares):
    """Return the share of samples in which nothing takes longer than planned."""
    done = [one.minutes <= sum(planned_minutes(one, shares[name])) for name, one in courses.items()]
    return float(np.logical_and.reduce(done).mean())


@pytest.mark.parametrize("chance", [0.8, 0.9, 0.95])
def test_the_joint_chance_is_kept(chance):
    """All items together are done within what is planned in the share of samples asked for."""
    problem, courses = menu((10, 14), (40, 80), (20, 30))
    assert joint(courses, shares_for(problem, courses, chance)) >= chance


def test_dear_minutes_are_covered_less_than_cheap_ones():
    """Covering a bird more costs half an hour, a chop two minutes: the chop is covered more."""
    problem, courses = menu((10, 14), (40, 90))
    shares = shares_for(problem, courses, 0.9)
    assert shares["a"] > shares["b"] >= SHARES[0]


def test_no_choice_of_shares_needs_many_fewer_minutes():
    """Against every choice of shares for three items, the one found is within a minute or two."""
    problem, courses = menu((10, 14), (40, 80), (20, 30))
    found = shares_for(problem, courses, 0.9)

    def minutes(shares):
        return sum(sum(planned_minutes(one, shares[name])) for name, one in courses.items())

    every = (dict(zip("abc", some, strict=True)) for some in itertools.product(SHARES, repeat=3))
    best = min(minutes(shares) for shares in every if joint(courses, shares) >= 0.9)
    assert best <= minutes(found) <= best + 2


def test_a_chance_that_cannot_be_kept_takes_the_highest_shares():
    """Eight wide items cannot all be sure: the highest share of each is what there is."""
    problem, courses = menu(*[(10, 30)] * 8)
    assert set(shares_for(problem, courses, 0.99).values()) == {SHARES[-1]}


def test_the_schedule_plans_fewer_minutes_than_one_share_for_all_would():
    """The plan keeps its chance, and its longest item is planned under the common share."""
    problem, courses = menu((10, 14), (10, 14), (10, 14), (40, 90))
    laying = lay(problem, courses)
    assert laying.ready["main"] >= 0.9
    common = next(share for share in SHARES if joint(courses, dict.fromkeys("abcd", share)) >= 0.9)
    bird = next(load for load in laying.loads if load.item == "d")
    assert bird.stages[0].minutes < sum(planned_minutes(courses["d"], common))
