"""When the fire says no, no spread is shown: asks whose fire is small or short, held against Fire.

Each spread is written out as a fire of its own from ask and plan alone (`properties.fires`) and
planned by the fire kernel, which the spread kernel cannot talk round.
"""

from __future__ import annotations

from functools import cache

import pytest

from collop.fire import fire
from collop.spread import answer
from properties.fires import fire_problem
from properties.random_fires import fiery_ask
from talks.invariants import check_answer

SEEDS = range(40)


@cache
def answered(seed):
    return answer(fiery_ask(seed))


def shown():
    """Yield (ask, spread) of every spread shown."""
    for seed in SEEDS:
        for spread in answered(seed)["spreads"]:
            yield fiery_ask(seed), spread


@pytest.mark.parametrize("seed", SEEDS)
def test_a_spread_is_shown_only_if_the_fire_can_cook_it(seed):
    """Yes for yes; where rounds are said the fire may need them, and nowhere else."""
    for spread in answered(seed)["spreads"]:
        sheet = fire(fire_problem(fiery_ask(seed), spread))
        rounds = "rounds" in spread["binds"]
        assert sheet["answer"] == "yes" or (rounds and sheet["answer"] == "rounds")


@pytest.mark.parametrize("seed", SEEDS)
def test_each_plan_keeps_every_rule(seed):
    """The rules recomputed from ask and plan alone, the fire's among them."""
    check_answer(fiery_ask(seed), answered(seed))


def test_on_one_zone_the_loads_and_minutes_are_those_of_the_sheet():
    """On a single zone the fire is the same: so are the loads, their areas and their minutes."""
    same = 0
    for ask, spread in shown():
        if len(ask["fire"]["zones"]) > 1:
            continue
        sheet = fire(fire_problem(ask, spread))
        theirs = sorted(
            (item["id"], load["wave"], stage["heat"], stage["end_min"] - stage["start_min"],
             stage["start_min"], stage["zone"])
            for item in sheet["items"]
            for load in item["loads"]
            for stage in load["stages"]
            if stage["zone"] not in {"the oven", "pots"}
        )  # fmt: skip
        lit = min((one[4] for one in theirs), default=0)
        first = min((load["at_min"] for load in spread["loads"]), default=0)
        ours = sorted(
            (load["id"], load["wave"], load["heat"], load["minutes"],
             load["at_min"] - first + lit, load["zone"])
            for load in spread["loads"]
        )  # fmt: skip
        assert ours == theirs
        same += bool(ours)
    assert same >= 20


def test_the_asks_are_of_every_kind():
    """Enough are a yes, a no for the fire, in rounds, with meat-free food, in an oven."""
    plans = [answered(seed) for seed in SEEDS]
    assert sum(plan["answer"] == "yes" for plan in plans) >= 15
    assert sum("fire" in plan["blocked_by"] for plan in plans) >= 3
    spreads = [spread for _, spread in shown()]
    assert sum("rounds" in spread["binds"] for spread in spreads) >= 5
    assert sum(any(line["meat_free"] for line in spread["lines"]) for spread in spreads) >= 5
