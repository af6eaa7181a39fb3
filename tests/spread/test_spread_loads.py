"""Lines laid on the fire: loads to scale, never over a zone at any moment, inside the minutes."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.spread.loads import lay_loads, strip_area
from collop.spread.options import usable_options
from collop.spread.picks import Pick
from collop.spread.problem import Fire, Zone
from spread.asked import ask, first, group, offer, plan, read, rules

NAMES = ("direct", "indirect", "covered")


def kettle(area=400, minutes=60, **more):
    zones = [{"name": "direct", "area_sq_in": area}]
    return {"zones": zones, "minutes": minutes, "usable_fraction": 1, **more}


def grilled(offer_id="A", minutes=20, **more):
    return offer(
        offer_id, method="direct grill", grill_sq_in_per_lb=40, minutes=[5, minutes], **more
    )


def taken(loads, zone, moment):
    return sum(
        load.area_sq_in
        for load in loads
        if load.zone == zone and load.at_min <= moment < load.at_min + load.minutes
    )


def test_one_load_ends_when_the_meal_is_served():
    """1.75 lb at 40 sq in a pound: 70 sq in for the last twenty of sixty minutes."""
    spread = first(ask(grilled(), fire=kettle()))
    assert spread["loads"] == [
        {"at_min": 40, "minutes": 20, "zone": "direct", "area_sq_in": 70.0, "id": "A"}
    ]


def test_on_a_small_fire_there_are_loads_one_after_the_other():
    """Two loads of 35 sq in with two minutes between them."""
    spread = first(ask(grilled(), fire=kettle(area=40)))
    assert [(load["at_min"], load["area_sq_in"]) for load in spread["loads"]] == [
        (18, 35.0), (40, 35.0)]  # fmt: skip


def test_what_does_not_fit_even_in_three_loads_is_a_no():
    """Three loads of 17 minutes fit an hour: 1.75 lb need 23.4 sq in each."""
    assert plan(ask(grilled(minutes=17), fire=kettle(area=24)))["answer"] == "yes"
    short = plan(ask(grilled(minutes=17), fire=kettle(area=23)))
    assert short["answer"] == "no"
    assert "fire" in short["blocked_by"]


def test_only_the_usable_part_of_a_fire_counts():
    """Eighty hundredths of 80 sq in hold 64, not the 70 of one load."""
    whole = first(ask(grilled(minutes=40), fire=kettle(area=80)))
    assert len(whole["loads"]) == 1
    part = ask(grilled(minutes=40), fire=kettle(area=80) | {"usable_fraction": 0.8})
    assert plan(part)["answer"] == "no"


def test_a_piece_is_never_halved_over_two_loads():
    """Three birds in two loads hold two places, not one and a half."""
    birds = grilled(pieces_lb=["4.00"] * 3, free_lb="12.00")
    problem = read(ask(birds, fire=kettle()))
    (option,), _ = usable_options(problem)
    assert option.waves == 2
    assert strip_area(Pick(option, (3,)), 2) == 2 * 4 * 40
    assert strip_area(Pick(option, (3,)), 1) == 3 * 4 * 40


def test_meat_free_food_keeps_to_its_own_side():
    """Where the fire has a meat-free side, cheese lies there alone and meat never."""
    zones = [{"name": "direct", "area_sq_in": 80}, {"name": "meat-free side", "area_sq_in": 60}]
    cheese = offer(
        "C", species="none", method="direct grill, meat-free side", grill_sq_in_per_lb=60,
        minutes=[5, 8],
    )  # fmt: skip
    spread = first(ask(grilled(), cheese, groups=[group(4), group(2, "meat")], rules=rules(),
                       fire={"zones": zones, "minutes": 60}))  # fmt: skip
    zone_of = {load["id"]: load["zone"] for load in spread["loads"]}
    assert zone_of == {"A": "direct", "C": "meat-free side"}
    crowded = ask(
        grilled(), fire={"zones": [zones[0] | {"area_sq_in": 20}, zones[1]], "minutes": 60}
    )
    assert plan(crowded)["answer"] == "no"


def test_without_a_fire_no_loads_are_drawn():
    """Unknown fire: nothing is claimed."""
    assert first(ask(grilled()))["loads"] == []


@st.composite
def layouts(draw):
    """Draw zones, and lines with their places, loads and weights."""
    rooms = draw(st.lists(st.integers(0, 60), min_size=1, max_size=3))
    zones = tuple(Zone(name, Fraction(room)) for name, room in zip(NAMES, rooms, strict=False))
    named = [zone.name for zone in zones]
    lines = draw(
        st.lists(
            st.tuples(
                st.sampled_from([*named, "skewers"]), st.integers(5, 40), st.integers(1, 150)
            ),
            min_size=1, max_size=4,
        )
    )  # fmt: skip
    return zones, lines


def picks_of(zones, lines):
    fire = {"zones": [{"name": z.name, "area_sq_in": max(1, int(z.area_sq_in))} for z in zones],
            "minutes": 60}  # fmt: skip
    cuts = [
        offer(f"L{index}", method=f"{place} grill", grill_sq_in_per_lb=40, minutes=[1, minutes])
        for index, (place, minutes, _) in enumerate(lines)
    ]
    options, _ = usable_options(read(ask(*cuts, fire=fire)))
    return [Pick(option, (steps,)) for option, (*_, steps) in zip(options, lines, strict=True)]


@given(layouts())
def test_loads_never_pass_a_zone_at_any_moment(layout):
    """Random zones and lines: area at each minute, the minutes, and all of each line laid."""
    zones, lines = layout
    fire, picks = Fire(zones, 60), picks_of(zones, lines)
    loads = lay_loads(fire, picks)
    if loads is None:
        return
    for zone, moment in itertools.product(zones, range(61)):
        assert taken(loads, zone.name, moment) <= zone.area_sq_in
    assert all(load.at_min >= 0 and load.at_min + load.minutes <= 60 for load in loads)
    for pick in picks:
        mine = [load for load in loads if load.offer_id == pick.option.offer.id]
        assert sum(load.area_sq_in for load in mine) >= 40 * pick.pounds
        assert {load.zone for load in mine} <= pick.option.place
        assert max(load.at_min + load.minutes for load in mine) == 60


@given(layouts())
def test_lines_are_laid_wherever_hall_says_they_fit(layout):
    """A layout is found exactly where, for each set of zones, what must lie there fits."""
    zones, lines = layout
    picks = picks_of(zones, lines)
    room = {zone.name: zone.area_sq_in for zone in zones}
    fits = all(
        sum(
            (p.option.strip_per_lb * p.pounds for p in picks if p.option.place <= set(some)),
            Fraction(0),
        )
        <= sum(room[name] for name in some)
        for size in range(1, len(room) + 1)
        for some in itertools.combinations(room, size)
    )
    assert (lay_loads(Fire(zones, 60), picks) is not None) == fits


@pytest.mark.parametrize("pounds", ["0.50", "7.00"])
def test_areas_are_to_scale(pounds):
    """The area drawn is weight times area a pound."""
    spread = first(ask(grilled(), pinned=[{"id": "A", "weight_lb": pounds}], fire=kettle(),
                       heads=1, rules=rules()))  # fmt: skip
    (load,) = spread["loads"]
    assert load["area_sq_in"] == pytest.approx(40 * float(pounds))
