"""Before the fire, after it, beside it, and how each thing is sliced."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.fire.around import (
    COALS_MIN,
    KINDS,
    OVEN_MIN,
    after_steps,
    before_steps,
    cautions,
    coals,
    earliest_start,
    thaw_refusal,
)
from collop.fire.around_after import NUMBER_RULES, leftover_advice
from collop.fire.clocks import carve_line
from collop.fire.laying import LaidLoad, LaidStage, Laying
from collop.fire.paper_text import wrap
from collop.fire.problem import FORMS, METHODS, Body, FireItem, FireProblem, Serving, Zone

LUNCH = datetime.fromisoformat("2026-06-11T13:00")
WEDNESDAY = datetime.fromisoformat("2026-06-10T16:00")
ZONES = (
    Zone("grill", "Kettle, 22 in", frozenset({"direct", "indirect"}), Fraction(300), minutes=90),
    Zone("gas", "Gas grill", frozenset({"plate"}), Fraction(100)),
    Zone("oven", "Oven", frozenset({"oven"}), None),
)


def item(name, cook_as="whole", method="direct", **more) -> FireItem:
    """Return something to cook; its id is its name."""
    given = {"minutes": (10, 20), "species": "pork", "weight_mlb": 5000} | more
    return FireItem(
        id=name, name=name, serving="main", area_sq_in=Fraction(200), cook_as=cook_as,
        method=method, **given,
    )  # fmt: skip


def fire(*items, **more) -> FireProblem:
    """Return a lunch of these items."""
    given = {"zones": ZONES} | more
    return FireProblem("Lunch", (Serving("main", LUNCH, 0),), items=items, **given)


def load(name, start, end, *, zone="grill", heat="direct", eat=0, wave=1, rest=5) -> LaidLoad:
    """Return one load of one stage."""
    stage = LaidStage(heat, zone, start, end)
    return LaidLoad(name, wave, 1, 5000, Fraction(200), (stage,), end + rest, eat)


DUCKS = item(
    "Ducks, whole", "poultry", "oven", species="duck", pieces=3, piece_mlb=5200, frozen=True,
    weight_mlb=15600,
)  # fmt: skip
STEAKS = item("Pork shoulder steaks")
CHEESE = item("Grilling cheese", "none", species="none", allergens=("milk",))


def at(steps, words):
    """Return the hours of the steps that say these words."""
    return [step["at"] for step in steps if words in step["what"]]


def test_three_ducks_thaw_in_cold_water_back_from_lunch():
    """On at 10:30: into water at 07:54, five changes, no fridge step, salt as they go on."""
    problem = fire(DUCKS, now=WEDNESDAY, ride_min=20)
    steps = before_steps(problem, {DUCKS.id: -150})
    assert at(steps, "into cold water") == ["2026-06-11T07:54"]
    assert at(steps, "08:24, 08:54, 09:24, 09:54, 10:24. Straight to the fire at 10:30")
    assert at(steps, "no time to salt ahead") == ["2026-06-11T10:30"]
    assert not at(steps, "out of the fridge and patted dry")
    assert at(steps, "Oven: light it") == ["2026-06-11T10:10"]


def test_a_piece_that_is_told_too_light_thaws_by_its_fair_share():
    """Three ducks of 15.6 lb are 5.2 lb each, whatever is told of one: hours go by that."""
    light = replace(DUCKS, piece_mlb=1000)
    problem = fire(light, now=LUNCH - timedelta(hours=3))
    assert thaw_refusal(problem, light, -60) == thaw_refusal(problem, DUCKS, -60)
    assert "31 h 12 min" in thaw_refusal(problem, light, -60)


def test_with_days_to_spare_they_thaw_in_the_fridge_and_are_salted_after():
    """The fridge ends a day before, so that salt has its 24 h."""
    problem = fire(DUCKS, now=LUNCH - timedelta(days=4))
    steps = before_steps(problem, {DUCKS.id: -150})
    (thaw,), (salt,) = at(steps, "freezer to the fridge"), at(steps, "salt ahead")
    put_on = LUNCH - timedelta(minutes=150)
    assert datetime.fromisoformat(salt) == put_on - timedelta(hours=24)
    assert datetime.fromisoformat(salt) - datetime.fromisoformat(thaw) >= timedelta(hours=31.2)
    assert any("3 pieces side by side" in one["what"] for one in steps)


def test_what_cannot_thaw_is_said_with_its_figures():
    """An hour before, neither fridge nor water will do; the sentence holds every figure."""
    problem = fire(DUCKS, now=LUNCH - timedelta(hours=3))
    refusal = thaw_refusal(problem, DUCKS, -60)
    for figure in ("31 h 12 min", "24 h 58 min", "2 h 36 min", "there is 2 h."):
        assert figure in refusal
    assert at(before_steps(problem, {DUCKS.id: -60}), "cannot thaw") == [None]
    assert thaw_refusal(problem, DUCKS, 0) is None
    assert thaw_refusal(problem, STEAKS, -60) is None


def test_no_item_can_start_before_ride_lighting_and_thaw():
    """From the counter: 20 min ride, then 30 min of coals, or 2 h 36 min of cold water."""
    problem = fire(DUCKS, STEAKS, now=WEDNESDAY, ride_min=20)
    assert earliest_start(problem, STEAKS) == -21 * 60 + 20 + COALS_MIN
    first = earliest_start(problem, DUCKS)
    assert first == -21 * 60 + 20 + 156
    assert thaw_refusal(problem, DUCKS, first) is None
    assert thaw_refusal(problem, DUCKS, first - 1) is not None
    assert earliest_start(fire(STEAKS), STEAKS) is None
    small = replace(DUCKS, piece_mlb=500, weight_mlb=1500)
    assert earliest_start(replace(problem, items=(small,)), small) == -21 * 60 + 20 + OVEN_MIN


@given(st.integers(1, 80_000), st.integers(0, 9000), st.integers(0, 120))
def test_the_earliest_start_is_the_first_that_thaws(mlb, minutes, ride):
    """At that minute it thaws; where thawing is what takes longest, a minute before it does not."""
    roast = item("Beef brisket", method="oven", piece_mlb=mlb, pieces=1, frozen=True)
    problem = fire(roast, now=LUNCH - timedelta(minutes=minutes), ride_min=ride)
    first = earliest_start(problem, roast)
    assert thaw_refusal(problem, roast, first) is None
    if first > -minutes + ride + OVEN_MIN:
        assert thaw_refusal(problem, roast, first - 1) is not None


def test_each_grill_is_lit_before_its_own_first_use():
    """By a schedule: coals 30 min, gas 15 min, oven 20 min before; unused ones are not lit."""
    gas = Zone("gas", "Gas grill", frozenset({"direct"}), Fraction(100))
    lamb = item("Lamb shoulder", method="oven then direct")
    problem = fire(STEAKS, lamb, CHEESE, zones=(*ZONES[::2], gas))
    stages = (LaidStage("oven", "oven", -240, -40), LaidStage("direct", "grill", -40, -30))
    laying = Laying(
        (
            LaidLoad(lamb.id, 1, 1, 5000, Fraction(140), stages, -15, 0),
            load(STEAKS.id, -25, -6),
            load(CHEESE.id, -10, -2, zone="gas"),
        ),
        0.9,
        lit={"grill": -40},
    )
    lit = coals(problem, laying)
    assert lit == [
        {"zone": "grill", "name": "Kettle, 22 in", "light": "2026-06-11T11:50",
         "ready": "2026-06-11T12:20", "out": "2026-06-11T13:50"},
        {"zone": "gas", "name": "Gas grill", "light": "2026-06-11T12:35",
         "ready": "2026-06-11T12:50", "out": "2026-06-11T12:58"},
    ]  # fmt: skip
    steps = before_steps(problem, {lamb.id: -240, STEAKS.id: -25, CHEESE.id: -10}, laying)
    assert at(steps, "light the coals") == [lit[0]["light"]]
    assert at(steps, "Gas grill: light it") == [lit[1]["light"]]
    assert at(steps, "Oven: light it") == ["2026-06-11T08:40"]
    assert coals(problem, Laying((), 0.9)) == []


def test_steps_come_in_the_order_of_the_clock():
    """What has no hour stands first; an item without a load has no steps."""
    problem = fire(STEAKS, DUCKS, CHEESE, now=WEDNESDAY)
    steps = before_steps(problem, {STEAKS.id: -25, CHEESE.id: -12})
    assert not [step for step in steps if step["item"] == DUCKS.id]
    hours = [step["at"] or "" for step in steps]
    assert hours == sorted(hours)
    assert steps[0]["at"] is None


def test_a_long_ride_asks_for_a_cool_box():
    """Over half the time out, or half an hour in heat, there is ice; the limit is named."""

    def ride(minutes, air=None):
        return before_steps(fire(STEAKS, ride_min=minutes, air_f=air), {})[0]["what"]

    assert "straight to the fridge; it counts in the 2 h" in ride(60)
    assert "cool box with ice; without it 2 h is the most" in ride(61)
    assert "1 h is the most" in ride(31, 95)
    assert "cool box if it is over 1 h" in ride(None)
    assert not before_steps(fire(CHEESE), {})


def test_meat_that_is_told_as_warm_is_taken_out_in_time_but_within_the_limit():
    """A start of 15 C takes half the time out: an hour, half an hour in heat; else 10 min."""
    warm = replace(STEAKS, body=Body("steak", 40.0, start_c=15.0))
    for problem, piece, minutes in (
        (fire(warm), warm, 60), (fire(warm, air_f=95), warm, 30), (fire(STEAKS), STEAKS, 10),
    ):  # fmt: skip
        (out,) = at(before_steps(problem, {piece.id: 0}), ": out of the fridge")
        assert datetime.fromisoformat(out) == LUNCH - timedelta(minutes=minutes)


def test_salt_is_marked_as_recalled_and_given_by_weight_only():
    """Grams and ounces, no spoons; the mark stands once for all of them."""
    steps = before_steps(fire(STEAKS), {STEAKS.id: -25})
    note, step = (one for one in steps if one["kind"] == "salt")
    assert "23 g (0.8 oz)" in step["what"]
    assert "from memory, no published source" in note["what"]
    assert note["at"] is None
    assert "spoon" not in step["what"]
    assert step["at"] == "2026-06-11T11:35"


def test_leftovers_name_each_figure_and_its_source():
    """2 h (1 h in heat), 135 to 70 to 41 F, 3 to 4 days, 165 F; Celsius first if asked."""
    usual, hot = leftover_advice(), leftover_advice(95)
    assert "within 2 h" in usual[0].what
    assert "within 1 h" in hot[0].what
    assert "70 °F (21 °C) in 2 h, to 41 °F (5 °C) in 4 h more" in usual[0].what
    assert "3 to 4 days" in usual[1].what
    assert "74 °C (165 °F)" in leftover_advice(unit="C")[2].what
    assert all(advice.source for advice in usual)
    assert "other meat alike: common practice" in usual[1].source
    with pytest.raises(BadValue, match="use F or C"):
        leftover_advice(unit="K")


def test_the_hour_for_the_fridge_counts_from_the_heat_not_from_the_table():
    """What came off at 12:20 is in the fridge by 14:20, however late it was eaten."""
    laying = Laying((load(STEAKS.id, -60, -40), load(DUCKS.id, -60, -10)), 0.9)
    assert "off at 12:20 is in the fridge by 14:20" in after_steps(fire(STEAKS), laying)[1]["what"]
    hot = after_steps(fire(STEAKS, air_f=95), laying)[1]["what"]
    assert "by 13:20" in hot
    assert len(after_steps(fire(STEAKS))) == 3


def test_cautions_say_what_a_colour_tells_and_name_each_kind_only_where_it_is_cooked():
    """Birds and mince all through, whole cuts may be pink after their 3 min rest (FSIS_MIN)."""
    links = item("Pork links", "ground", treatment="ground")
    needled = item("Beef rump, needled", "ground", treatment="tenderised")
    lines = cautions(fire(DUCKS, links, STEAKS, CHEESE))
    assert lines[0] == NUMBER_RULES
    said = " ".join(lines)
    assert "Birds, mince and links: done all through, at their number" in said
    assert "Whole cuts may be pink at their number; then 3 min rest at least." in said
    assert "never on the counter" in said
    assert "running water is no warmer than 70 °F (21 °C)" in said
    assert "Food without meat first on the clean grill" in said
    assert "Needled, injected or rolled meat: done" in " ".join(cautions(fire(needled)))
    only = " ".join(cautions(fire(STEAKS)))
    for words in ("Birds", "ince", "counter", "without meat", "colour"):
        assert words not in only
    assert cautions(fire(CHEESE))[-1] == "Local food rules come first."
    assert NUMBER_RULES not in cautions(fire(CHEESE))


def test_allergens_are_said_in_one_sentence():
    """Each thing that declares one is named once, with what it declares."""
    links = item("Pork links", "ground", treatment="ground", allergens=("mustard", "wheat"))
    (line,) = [line for line in cautions(fire(links, STEAKS, CHEESE)) if "allergens" in line]
    assert line.endswith(": Pork links (mustard, wheat); Grilling cheese (milk).")
    assert not any("allergens" in line for line in cautions(fire(STEAKS)))


def test_each_step_before_the_fire_names_its_kind():
    """Ride, thaw, salt, fridge, lighting: told by a key, not by words of a sentence."""
    roast = item("Beef brisket", method="oven", piece_mlb=9000, pieces=1, frozen=True)
    steps = before_steps(
        fire(roast, STEAKS, now=LUNCH - timedelta(days=9)), {roast.id: -300, STEAKS.id: -25}
    )
    for kind, words in (
        ("ride", "Ride home"), ("thaw", "freezer to the fridge"), ("salt", "dry salt"),
        ("fridge", "out of the fridge"), ("light", "light "),
    ):  # fmt: skip
        found = [step for step in steps if step["kind"] == kind]
        assert found
        assert all(words in step["what"] for step in found)
    assert {step["kind"] for step in steps} == set(KINDS)


def test_nothing_is_said_of_the_ride_in_more_than_one_line_of_paper():
    """Whatever the ride and the weather, its line fits the width of an A4 sheet (553 pt)."""
    for minutes in (None, 5, 59, 61, 95, 155):
        for air in (None, 75, 95):
            (line,) = [s["what"] for s in before_steps(fire(STEAKS, ride_min=minutes, air_f=air),
                                                       {})]  # fmt: skip
            assert len(wrap(line, 553)) == 1, line


def test_heat_and_unknown_weather_are_said():
    """In heat 1 h; not told: 2 h, with the 1 h beside it."""
    assert any("over 1 h in all" in line for line in cautions(fire(STEAKS, air_f=95)))
    assert any("2 h (1 h in air over 90 °F" in line for line in cautions(fire(STEAKS)))


def test_long_waits_and_later_loads_have_their_lines():
    """Over 30 min: 140 F; a second load stays in the fridge."""
    laying = Laying((load(STEAKS.id, -90, -60), load(DUCKS.id, 0, 20, eat=25, wave=2)), 0.9)
    said = cautions(fire(STEAKS, DUCKS), laying)
    assert (
        "Pork shoulder steaks: kept at 140 °F (60 °C) or above until the table; probe it." in said
    )
    assert any(line.startswith("Ducks, whole: later loads stay in the fridge") for line in said)


def test_raw_meat_that_does_not_keep_until_the_meal_is_said():
    """Fresh birds keep 2 days, cuts 3 to 5; frozen and unknown dates say nothing."""
    bird = item("Chicken, whole", "poultry", "indirect")
    for days, lines in ((2, 0), (3, 1), (4, 2)):
        said = cautions(fire(bird, STEAKS, now=LUNCH - timedelta(days=days)))
        assert sum("days in the fridge" in line for line in said) == lines
    assert not any("days in the fridge" in line for line in cautions(fire(bird, STEAKS)))


names = st.text(max_size=30) | st.sampled_from(["Lamb shoulder", "Beef rump", "Pork links", "x"])


@given(
    names, st.sampled_from(["whole", "ground", "poultry", "none"]),
    st.sampled_from(sorted(METHODS)), st.booleans(), st.integers(-3000, 500),
    st.one_of(st.none(), st.integers(-3000, 3000)), st.one_of(st.none(), st.integers(-40, 130)),
)  # fmt: skip
def test_any_item_has_sound_steps(name, cook_as, method, frozen, start, now, air):
    """Whatever it is: no step is after the fire, and no thaw starts before now."""
    piece = item(name, cook_as, method, frozen=frozen, pieces=2, piece_mlb=3000)
    problem = fire(piece, now=None if now is None else LUNCH + timedelta(minutes=now), air_f=air)
    put_on = (LUNCH + timedelta(minutes=start)).isoformat(timespec="minutes")
    for step in before_steps(problem, {piece.id: start}):
        assert set(step) == {"at", "item", "kind", "what"}
        assert step["at"] is None or step["at"] <= put_on
        if problem.now is not None and ("freezer" in step["what"] or "cold water" in step["what"]):
            assert step["at"] is None or step["at"] >= problem.now.isoformat(timespec="minutes")
    lines = cautions(problem)
    assert len(lines) == len(set(lines))


def test_a_date_without_a_day_before_is_refused_in_words():
    """A meal in the first year leaves no room to thaw."""
    first = datetime.min.replace(hour=12)  # noqa: DTZ901
    problem = FireProblem("x", (Serving("main", first, 0),), ZONES, (DUCKS,))
    with pytest.raises(BadValue, match="leaves no room"):
        before_steps(problem, {DUCKS.id: 0})


@pytest.mark.parametrize(
    ("name", "species", "form", "role", "words"),
    [
        ("Lamb shoulder, bone in", "lamb", "roast", "centre", "Pull from the bone"),
        ("Lamb leg, bone in", "lamb", "roast", "centre", "across the grain .* shank"),
        ("Beef hanger and skirt", "beef", "thin", "goes-far", "thin, straight across"),
        ("Flank steak", "beef", "thin", "", "thin, straight across"),
        ("Chicken, whole", "chicken", "bird-flat", "bird", "Legs off first, then each breast"),
        ("Ducks, whole, frozen", "duck", "", "bird", "Legs off first, then each breast"),
        ("Duck legs", "duck", "joint", "bird", "As they are"),
        ("Chicken thighs, bone in", "chicken", "joint", "bird", "As they are"),
        ("Beef rump", "beef", "steak", "centre", "across the grain"),
        ("Beef rump, whole", "beef", "roast", "centre", "Seam the muscles apart first"),
        ("Beef cross-cut, two inch", "beef", "steak", "centre", "Seam .* across its own grain"),
        ("Beef top piece", "beef", "roast", "centre", "Seam the muscles apart first"),
        ("Beef blade steaks", "beef", "steak", "", "gristle in the middle"),
        ("Pork belly slices", "pork", "steak", "", "As they are"),
        ("Pork belly", "pork", "roast", "", "across the layers"),
        ("Lamb loin chops", "lamb", "steak", "centre", "As they are"),
        ("Pork shoulder steaks", "pork", "steak", "in-hand", "As they are"),
        ("Pork links with rusk", "pork", "links", "in-hand", "As they are"),
        ("Beef mince, 20 % fat", "beef", "patty", "in-hand", "As they are"),
        ("Goat shoulder, diced", "goat", "skewer", "goes-far", "Slide off the skewer"),
        ("Beef short ribs", "beef", "roast", "centre", "Cut between the bones"),
        ("Lamb breast and riblets", "lamb", "", "in-hand", "Cut between the bones"),
        ("Lamb neck slices", "lamb", "", "goes-far", "spoon"),
        ("Beef shin on the bone", "beef", "", "goes-far", "spoon"),
        ("Beef brisket", "beef", "roast", "centre", "it turns where the two muscles meet"),
        ("Beef fillet", "beef", "roast", "centre", "straight across"),
        ("Grilling cheese, 8 oz block", "none", "", "meat-free", "own knife"),
        ("Something", "beef", "", "", "across the grain"),
    ],
)
def test_each_kind_of_cut_is_sliced_its_own_way(name, species, form, role, words):
    """Common practice, no published source."""
    import re

    assert re.search(words, carve_line(name, species, form, role))


@given(st.text(max_size=60), st.none() | st.text(max_size=10), st.sampled_from(["", *FORMS]),
       st.sampled_from(["", "centre", "bird", "meat-free"]))  # fmt: skip
def test_any_name_has_one_short_line(name, species, form, role):
    """One sentence, short enough for the sheet."""
    line = carve_line(name, species, form, role)
    assert line.endswith(".")
    assert 10 < len(line) < 110
