"""Lines laid on the fire: loads to scale, never over a zone at any moment, inside the minutes."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.fire.checker import check_laying
from collop.fire.laying import Laying
from collop.spread.firing import Hearth, fire_of
from collop.spread.loads import loads_of
from collop.spread.options import usable_options
from collop.spread.picks import Pick
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


def test_one_load_ends_with_the_fire_and_is_eaten_after_its_rest():
    """1.75 lb at 40 sq in a pound: 70 sq in for the last twenty of sixty minutes, rested five."""
    spread = first(ask(grilled(), fire=kettle()))
    assert spread["loads"] == [
        {"at_min": 40, "minutes": 20, "zone": "direct", "area_sq_in": 70.0, "id": "A",
         "heat": "direct", "wave": 1, "ready_min": 65, "eat_min": 65, "own_tray": False}
    ]  # fmt: skip
    assert "rounds" not in spread["binds"]


def test_on_a_small_fire_what_keeps_is_cooked_in_loads_one_after_the_other():
    """Two loads of 35 sq in with two minutes between them, eaten together."""
    keeps = grilled(cook={"hold_min": 30})
    spread = first(ask(keeps, fire=kettle(area=40)))
    assert [(load["at_min"], load["area_sq_in"]) for load in spread["loads"]] == [
        (18, 35.0), (40, 35.0)]  # fmt: skip
    assert {load["eat_min"] for load in spread["loads"]} == {65}
    assert "rounds" not in spread["binds"]


def test_on_a_small_fire_what_does_not_keep_is_eaten_in_rounds_and_that_is_said():
    """A steak waits ten minutes: the second load is eaten twelve minutes after the first."""
    found = plan(ask(grilled(), fire=kettle(area=40)))
    spread = found["spreads"][0]
    one, two = spread["loads"]
    assert two["at_min"] - one["at_min"] == 22
    assert one["eat_min"] - one["ready_min"] == 10
    assert two["eat_min"] == two["ready_min"] == one["eat_min"] + 12
    assert "rounds" in spread["binds"]
    assert "in rounds over 12 minutes" in spread["say"]
    assert any("further round" in text for text in found["assumptions"])


def test_rounds_are_not_said_where_a_spread_without_them_exists():
    """Steaks for all would go in rounds: what keeps is taken beside them though it is dearer."""
    problem = ask(
        grilled(), grilled("B", price="30.00", cook={"hold_min": 60}), fire=kettle(area=40)
    )
    found = plan(problem)
    assert all("B" in {line["id"] for line in s["lines"]} for s in found["spreads"])
    assert all("rounds" not in spread["binds"] for spread in found["spreads"])


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


def test_longer_coals_are_a_nearest_yes_of_the_fire():
    """Forty minutes twice need 82 minutes of coals: ninety are offered, and are a yes."""
    problem = ask(grilled(minutes=40), fire=kettle(area=40))
    found = plan(problem)
    assert found["answer"] == "no"
    assert "fire" in found["blocked_by"]
    changes = [(yes["change"], yes["to"]) for yes in found["nearest_yes"]]
    assert ("fire", 90) in changes
    for yes in found["nearest_yes"]:
        if yes["change"] == "fire":
            patched = problem | {"fire": problem["fire"] | yes["patch"]["fire"]}
            assert plan(patched)["answer"] == "yes"


def test_the_fire_says_itself_why_it_cannot():
    """The sentence of the no holds the figures of the fire: 70 sq in are needed, 40 are there."""
    found = plan(ask(grilled(minutes=40), fire=kettle(area=40)))
    assert "70 sq in" in found["why_no"]
    assert "40 sq in" in found["why_no"]


def test_a_piece_is_never_halved_over_two_loads():
    """Three birds in two loads are two places and one."""
    birds = grilled(pieces_lb=["4.00"] * 3, free_lb="12.00", cook={"hold_min": 60})
    problem = read(ask(birds, fire=kettle()))
    (option,), _ = usable_options(problem)
    assert option.waves == 2
    loads = loads_of(Hearth(problem), [Pick(option, (3,))])
    assert sorted(load.area_sq_in for load in loads) == [160, 320]


def test_a_line_of_two_heats_holds_its_place_in_both():
    """Indirect then direct: two stages that follow, one load, one place."""
    cut = offer("A", method="indirect then direct", grill_sq_in_per_lb=40, minutes=[20, 30])
    one, two = first(ask(cut, fire=kettle()))["loads"]
    assert (one["heat"], two["heat"]) == ("indirect", "direct")
    assert one["at_min"] + one["minutes"] == two["at_min"]
    assert one["area_sq_in"] == two["area_sq_in"] == 70.0
    assert one["wave"] == two["wave"] == 1


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


def test_what_nobody_timed_is_said():
    """No minutes: its place on the fire is not kept, and the answer says so."""
    untimed = offer("A", method="direct grill", grill_sq_in_per_lb=40)
    told = " ".join(plan(ask(untimed, fire=kettle()))["assumptions"])
    assert "No cooking time is known for Cut A" in told


@st.composite
def layouts(draw):
    """Draw zones, and lines with their places, loads and weights."""
    rooms = draw(st.lists(st.integers(1, 60), min_size=1, max_size=3))
    named = NAMES[: len(rooms)]
    lines = draw(
        st.lists(
            st.tuples(
                st.sampled_from([*named, "skewers"]), st.integers(5, 40), st.integers(1, 150),
                st.sampled_from([0, 10, 45]),
            ),
            min_size=1, max_size=4,
        )
    )  # fmt: skip
    return rooms, lines


def laid_out(layout, *, rounds):
    """Return (problem, picks) of a layout."""
    rooms, lines = layout
    zones = [{"name": n, "area_sq_in": room} for n, room in zip(NAMES, rooms, strict=False)]
    cuts = [
        offer(f"L{index}", method=f"{place} grill", grill_sq_in_per_lb=40, minutes=[1, minutes],
              cook={"hold_min": hold})
        for index, (place, minutes, _, hold) in enumerate(lines)
    ]  # fmt: skip
    problem = read(ask(*cuts, fire={"zones": zones, "minutes": 60}))
    options, _ = usable_options(problem, rounds=rounds)
    steps = [steps for *_, steps, _ in lines]
    return problem, [Pick(o, (n,)) for o, n in zip(options, steps, strict=True)]


@given(layouts(), st.booleans())
def test_loads_never_pass_a_zone_at_any_moment(layout, rounds):
    """Random zones and lines: area at each minute, the minutes, and all of each line laid."""
    problem, picks = laid_out(layout, rounds=rounds)
    hearth = Hearth(problem, rounds=rounds)
    if not hearth.can_cook(picks):
        return
    loads = loads_of(hearth, picks)
    for zone, moment in itertools.product(problem.fire.zones, range(61)):
        assert taken(loads, zone.name, moment) <= zone.area_sq_in
    assert all(load.at_min >= 0 and load.at_min + load.minutes <= 60 for load in loads)
    for pick in picks:
        mine = [load for load in loads if load.offer_id == pick.option.offer.id]
        assert sum(load.area_sq_in for load in mine) == 40 * pick.pounds
        assert {load.zone for load in mine} <= pick.option.place
        assert all(load.minutes >= pick.option.offer.minutes[1] - 1 for load in mine)
        assert all(load.at_min + load.minutes + 3 <= load.ready_min for load in mine)
        assert all(load.ready_min <= load.eat_min for load in mine)


@given(layouts(), st.booleans())
def test_what_is_refused_has_no_room_or_no_time(layout, rounds):
    """A single line that fits its places as the program counts them is never refused."""
    problem, picks = laid_out(layout, rounds=rounds)
    hearth = Hearth(problem, rounds=rounds)
    room = {zone.name: zone.area_sq_in for zone in problem.fire.zones}
    for pick in picks:
        strip = pick.option.strip_per_lb * pick.pounds
        if strip <= max(room[name] for name in pick.option.place) - Fraction(1, 50):
            assert hearth.can_cook([pick])


@given(layouts())
def test_less_food_and_fewer_lines_are_never_refused_where_more_is_cooked(layout):
    """What the rows of a refusal rest on: leaving food away never makes a schedule wrong."""
    problem, picks = laid_out(layout, rounds=False)
    hearth = Hearth(problem)
    if not hearth.can_cook(picks):
        return
    for index, pick in enumerate(picks):
        without = picks[:index] + picks[index + 1 :]
        if without:
            assert hearth.can_cook(without)
        (steps,) = pick.counts
        less = [*without, Pick(pick.option, (-(-steps // 2),))]
        assert hearth.can_cook(less)


@given(layouts(), st.booleans())
def test_each_schedule_passes_the_check_of_the_fire(layout, rounds):
    """The fire's own checker, which uses no solver, finds no fault."""
    problem, picks = laid_out(layout, rounds=rounds)
    found = Hearth(problem, rounds=rounds).lay(picks)
    if isinstance(found, Laying):
        made, courses = fire_of(problem, picks, rounds=rounds)
        assert check_laying(made, courses, found) == []


@pytest.mark.parametrize("pounds", ["0.50", "7.00"])
def test_areas_are_to_scale(pounds):
    """The area drawn is weight times area a pound."""
    spread = first(ask(grilled(), pinned=[{"id": "A", "weight_lb": pounds}], fire=kettle(),
                       heads=1, rules=rules()))  # fmt: skip
    (load,) = spread["loads"]
    assert load["area_sq_in"] == pytest.approx(40 * float(pounds))
