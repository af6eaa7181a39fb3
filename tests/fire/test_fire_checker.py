"""The second look finds what is broken in a plan that was sound."""

from __future__ import annotations

from dataclasses import replace

import pytest
from firemenus import OVEN, fire, fixed, item, kettle, random_menu

from collop.errors import CollopError
from collop.fire import kernel
from collop.fire.checker import check_laying, check_waits
from collop.fire.laying import LaidStage, Laying
from collop.fire.schedule import lay
from fire.fires import item as told_item
from fire.fires import one_fire


def _supper():
    """Return a sound plan: a bird and steaks, an oven, and corn on a tray of its own."""
    items = [
        item("bird", area=180, cook_as="poultry", method="indirect", pieces=2),
        item("steaks", area=100),
        item("corn", area=40, cook_as="none"),
        item("belly", area=0, method="oven"),
    ]
    courses = {
        "bird": fixed(50, heats=("indirect",), cook_as="poultry", rest=5, hold=30),
        "steaks": fixed(10, rest=5, hold=20),
        "corn": fixed(10, cook_as="none", rest=0, hold=120),
        "belly": fixed(90, heats=("oven",), rest=10, hold=45),
    }
    problem = fire(items, [kettle(300, minutes=120), OVEN])
    laying = lay(problem, courses)
    assert isinstance(laying, Laying)
    return problem, courses, laying


def _with(laying: Laying, name: str, change) -> Laying:
    """Return a plan with the first load of an item changed."""
    place = next(n for n, load in enumerate(laying.loads) if load.item == name)
    loads = list(laying.loads)
    loads[place] = change(loads[place])
    return replace(laying, loads=tuple(loads))


def _shifted(load, by: int):
    stages = tuple(replace(s, start=s.start + by, end=s.end + by) for s in load.stages)
    return replace(load, stages=stages, ready=load.ready + by)


def _on(load, zone: str):
    return replace(load, stages=tuple(replace(stage, zone=zone) for stage in load.stages))


def test_a_sound_plan_has_nothing_to_say():
    """The plan the other tests break is sound."""
    problem, courses, laying = _supper()
    assert check_laying(problem, courses, laying) == []


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        ("steaks", lambda load: _shifted(load, 30), "after it is eaten"),
        ("steaks", lambda load: _shifted(load, -60), "waits"),
        ("bird", lambda load: _on(load, "oven"), "gives no indirect heat"),
        ("belly", lambda load: _on(load, "grill"), "gives no oven heat"),
        ("bird", lambda load: _on(load, "nowhere"), "which is no zone"),
        ("bird", lambda load: replace(load, ready=load.off), "rests 0 min"),
        ("bird", lambda load: replace(load, area_sq_in=load.area_sq_in + 200), "overfull"),
        ("bird", lambda load: replace(load, weight_mlb=load.weight_mlb - 1), "all of its weight"),
        ("bird", lambda load: replace(load, area_sq_in=load.area_sq_in / 4), "cut in two"),
        ("bird", lambda load: replace(load, wave=2), "numbered"),
        ("bird", lambda load: replace(load, waves=2), "as many"),
        ("bird", lambda load: replace(load, eat=load.eat + 50), "after its serving time"),
        ("corn", lambda load: replace(load, own_tray=False), "without its own tray"),
        ("steaks", lambda load: replace(load, item="cake"), "is of no item"),
        (
            "steaks",
            lambda load: replace(load, stages=(replace(load.stages[0], heat="indirect"),)),
            "not direct",
        ),
        (
            "steaks",
            lambda load: replace(
                load, stages=(replace(load.stages[0], start=load.start + 5),)
            ),
            "enough in 0 of 20 samples",
        ),
        (
            "steaks",
            lambda load: replace(
                load,
                stages=(
                    LaidStage("direct", "grill", load.start - 2, load.start - 1),
                    *load.stages,
                ),
            ),
            "off the fire between",
        ),
    ],
)  # fmt: skip
def test_what_is_broken_is_named(name, change, said):
    """Each broken rule of one load is found and named."""
    problem, courses, laying = _supper()
    found = check_laying(problem, courses, _with(laying, name, change))
    assert any(said in sentence for sentence in found), found


def test_food_that_is_left_out_is_named():
    """A plan without one of its items is not sound."""
    problem, courses, laying = _supper()
    fewer = replace(laying, loads=tuple(one for one in laying.loads if one.item != "corn"))
    assert any("corn is not cooked" in said for said in check_laying(problem, courses, fewer))


def test_a_target_under_the_published_minimum_is_named():
    """A course aimed a degree under 165 °F, or without the published rest, is found.

    Source: USDA FSIS, safe minimum internal temperatures, source id ``FSIS_MIN``.
    """
    problem, courses, laying = _supper()
    low = courses | {"bird": replace(courses["bird"], target_c=73.3)}
    assert any("published minimum" in said for said in check_laying(problem, low, laying))
    early = courses | {"steaks": replace(courses["steaks"], pull_c=60.0)}
    assert any("comes off under" in said for said in check_laying(problem, early, laying))
    hasty = courses | {"steaks": replace(courses["steaks"], rest_min=2)}
    assert any("published rest is 3" in said for said in check_laying(problem, hasty, laying))
    none = courses | {"steaks": replace(courses["steaks"], target_c=float("nan"), pull_c=None)}
    assert len(check_laying(problem, none, laying)) >= 2


def test_a_fire_that_is_used_too_long_is_named():
    """Coals that last an hour do not last for two; the use told must be the use made."""
    problem, courses, laying = _supper()
    zones = (replace(problem.zones[0], minutes=30), *problem.zones[1:])
    said = check_laying(replace(problem, zones=zones), courses, laying)
    assert any("it lasts 30" in one for one in said)
    other = replace(laying, lit={"grill": 0})
    assert any("not told as they are" in one for one in check_laying(problem, courses, other))


def test_two_moves_in_one_minute_need_two_people():
    """One pair of hands does one move a minute."""
    items = [item("a"), item("b")]
    courses = {"a": fixed(10), "b": fixed(10)}
    two = fire(items, [kettle()], hands=2)
    laying = lay(two, courses)
    assert sum(load.wait for load in laying.loads) == 0
    assert check_laying(two, courses, laying) == []
    assert any("2 moves" in said for said in check_laying(fire(items, [kettle()]), courses, laying))


def test_raw_food_in_the_oven_where_done_food_waits_is_named():
    """Done food that waits in an oven has no raw food put in with it."""
    problem, _, laying = _supper()
    steaks = next(load for load in laying.loads if load.item == "steaks")
    early = _with(laying, "steaks", lambda load: _shifted(load, -20))
    assert steaks.wait <= 20
    assert check_waits(problem, early, {("steaks", 1): "oven"}) != []
    assert check_waits(problem, early, {}) == []


def test_an_oven_too_small_for_what_waits_in_it_is_named():
    """The room of a counted oven holds for done food as well."""
    problem, _, laying = _supper()
    waiting = {("steaks", 1): "oven", ("bird", 1): "oven"}
    kept = replace(laying, loads=tuple(one for one in laying.loads if one.item != "belly"))
    kept = _with(kept, "steaks", lambda load: _shifted(load, -20))
    kept = _with(kept, "bird", lambda load: _shifted(load, -30))

    def said(area):
        oven = replace(OVEN, area_sq_in=area)
        return check_waits(replace(problem, zones=(problem.zones[0], oven)), kept, waiting)

    assert said(280) == []
    assert any("overfull" in one for one in said(279))


def test_no_plan_is_shown_whose_done_food_waits_with_raw_food(monkeypatch):
    """The kernel asks the second look about waiting as well."""
    ovens = {"id": "oven", "heats": ["oven"]}
    told = one_fire(told_item("steaks"), told_item("marrow", species=None, cook_as="none",
                                                   method="oven", minutes=[40, 50]))  # fmt: skip
    told["fire"]["zones"].append(ovens)
    assert kernel.plan_fire(told)["answer"] == "yes"
    monkeypatch.setattr(kernel, "where_it_waits", lambda *_: {("steaks", 1): "oven"})
    with pytest.raises(CollopError, match="waits there, done"):
        kernel.plan_fire(told)


def test_changes_at_random_are_found():
    """Of every sound random plan: a load that is late, one without rest, an overfull zone."""
    seen = 0
    for seed in range(60):
        problem, courses = random_menu(seed, 4, samples=40)
        laying = lay(problem, courses, why=False)
        if not isinstance(laying, Laying):
            continue
        seen += 1
        name = laying.loads[seed % len(laying.loads)].item
        for change in (
            lambda load: _shifted(load, load.wait + 1),
            lambda load: replace(load, ready=load.ready + load.wait + 1),
            lambda load: _shifted(load, -600),
        ):
            assert check_laying(problem, courses, _with(laying, name, change)) != []
        zones = tuple(
            replace(zone, area_sq_in=zone.area_sq_in and min(
                (load.area_sq_in for load in laying.loads for stage in load.stages
                 if stage.zone == zone.id), default=1) - 1)
            for zone in problem.zones
        )  # fmt: skip
        small = replace(problem, zones=zones)
        if any(
            stage.zone == zone.id and load.area_sq_in and zone.area_sq_in is not None
            for zone in zones for load in laying.loads for stage in load.stages
        ):  # fmt: skip
            assert any("overfull" in said for said in check_laying(small, courses, laying))
    assert seen > 20
