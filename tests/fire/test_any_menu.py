"""Five hundred random menus: no overload, nothing under its minimum, nothing raw over done."""

from __future__ import annotations

from functools import cache

import pytest
from firemenus import random_menu

from collop.fire.checker import check_laying, check_waits
from collop.fire.laying import Laying
from collop.fire.schedule import lay, where_it_waits
from collop.reference import cook_minimum

MENUS = 500
BATCH = 50


@cache
def _laid(seed: int):
    problem, courses = random_menu(seed, 1 + seed % 7, samples=40)
    return problem, courses, lay(problem, courses, why=False)


@pytest.mark.parametrize("first", range(0, MENUS, BATCH))
def test_each_plan_of_a_random_menu_is_sound(first):
    """The checker finds nothing to say of any plan, nor of where done food waits."""
    for seed in range(first, first + BATCH):
        problem, courses, laying = _laid(seed)
        if isinstance(laying, Laying):
            assert check_laying(problem, courses, laying) == [], seed
            assert check_waits(problem, laying, where_it_waits(problem, laying)) == [], seed


@pytest.mark.parametrize("first", range(0, MENUS, BATCH))
def test_no_grill_is_overfull_counted_minute_by_minute(first):
    """Counted anew for each minute, the food on a zone never takes more than its area."""
    for seed in range(first, first + BATCH):
        problem, _, laying = _laid(seed)
        if not isinstance(laying, Laying):
            continue
        room = {zone.id: zone.area_sq_in for zone in problem.zones}
        used: dict[tuple[str, int], object] = {}
        for load in laying.loads:
            for stage in load.stages:
                for minute in range(stage.start, stage.end):
                    at = stage.zone, minute
                    used[at] = used.get(at, 0) + load.area_sq_in
        assert all(room[zone] is None or area <= room[zone] for (zone, _), area in used.items())


@pytest.mark.parametrize("first", range(0, MENUS, BATCH))
def test_nothing_comes_off_before_its_minimum_in_the_share_it_claims(first):
    """At least the claimed share of samples is done in the planned minutes, at the minimum.

    The minimum is the published one: USDA FSIS, safe minimum internal temperatures, source id
    ``FSIS_MIN``.
    """
    for seed in range(first, first + BATCH):
        problem, courses, laying = _laid(seed)
        if not isinstance(laying, Laying):
            continue
        items = {item.id: item for item in problem.items}
        for load in laying.loads:
            course, item = courses[load.item], items[load.item]
            if item.cook_as != "none":
                least = cook_minimum(item.cook_as)
                assert course.target_c >= float(least.temperature.in_celsius(6))
                assert load.ready - load.off >= least.rest_min
            for stage, wanted in zip(load.stages, course.stages, strict=True):
                assert (wanted.minutes <= stage.minutes).mean() >= laying.quantile


def test_menus_are_of_every_kind():
    """Among the menus are plans at once, plans in more loads, further rounds and refusals."""
    plans = [laying for _, _, laying in map(_laid, range(MENUS)) if isinstance(laying, Laying)]
    assert len(plans) > MENUS // 3
    assert MENUS - len(plans) > MENUS // 20
    assert any(plan.late_rounds for plan in plans)
    assert any(load.waves > 1 for plan in plans for load in plan.loads if not plan.late_rounds)
    assert any(load.own_tray for plan in plans for load in plan.loads)
