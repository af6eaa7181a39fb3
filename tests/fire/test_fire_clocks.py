"""Rests, waits, thaw and salt: counted back from the fire, never past a published limit."""

from __future__ import annotations

import doctest
import itertools
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue, ReferenceTableError
from collop.fire.clocks import (
    HOLD_MIN,
    LONG_WAIT_MIN,
    REST_MIN,
    degrees,
    form_of,
    hold_minutes,
    out_minutes,
    rest_minutes,
    wait_words,
)
from collop.fire.clocks_salt import FROM_MEMORY_WORDS, LEAD_H, salt_plan, takes_salt
from collop.fire.clocks_thaw import thaw_plan
from collop.fire.problem import FORMS, Body, FireItem
from collop.measures import Weight, WeightUnit
from collop.reference import cook_minimum, thaw_hours
from collop.reference.keepings import keeping_row

MEAL = datetime.fromisoformat("2026-06-13T19:00")


def pounds(amount) -> Weight:
    """Return a weight read on a pound scale."""
    return Weight.of(amount, WeightUnit.LB)


def item(name, cook_as="whole", method="direct", **more) -> FireItem:
    """Return five pounds of something."""
    given = {"minutes": (10, 20), "species": "pork"} | more
    return FireItem(
        id="X", name=name, serving="main", weight_mlb=5000, area_sq_in=Fraction(200),
        cook_as=cook_as, method=method, **given,
    )  # fmt: skip


@pytest.mark.parametrize("table", [REST_MIN, HOLD_MIN])
def test_every_form_has_a_rest_and_a_wait(table):
    """No form is without its figure, and none is below nothing."""
    assert set(table) == set(FORMS)
    assert all(minutes >= 0 for minutes in table.values())


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("asked", [None, 0, 1, 20])
@pytest.mark.parametrize("cook_as", ["whole", "ground", "poultry"])
def test_no_rest_is_under_the_published_one(form, asked, cook_as):
    """USDA FSIS, Safe minimum internal temperatures (FSIS_MIN): whole cuts rest 3 min."""
    piece = item("piece", cook_as, rest_min=asked, body=Body(form, 30.0))
    assert rest_minutes(piece) >= cook_minimum(cook_as).rest_min
    assert rest_minutes(piece) >= (REST_MIN[form] if asked is None else asked)


def test_what_the_shop_says_of_the_wait_counts():
    """A wait given with the item stands before that of its form; cheese waits a short time."""
    assert hold_minutes(item("chops", hold_min=7)) == 7
    assert hold_minutes(item("Lamb leg", piece_mlb=7000)) == 45
    assert hold_minutes(item("cheese", "none")) == 10
    assert rest_minutes(item("cheese", "none")) == 0


@pytest.mark.parametrize(
    ("name", "cook_as", "method", "form"),
    [
        ("Chicken, whole", "poultry", "indirect", "bird-flat"),
        ("Ducks, whole, frozen", "poultry", "oven", "bird-whole"),
        ("Duck legs", "poultry", "indirect", "joint"),
        ("Chicken thighs, bone in", "poultry", "indirect then direct", "joint"),
        ("Pork links with rusk", "ground", "indirect then direct", "links"),
        ("Lamb mince", "ground", "direct", "patty"),
        ("Goat shoulder, diced", "whole", "direct", "skewer"),
        ("Beef hanger and skirt", "whole", "direct", "thin"),
        ("Pork shoulder steaks", "whole", "direct", "steak"),
        ("Lamb shoulder, bone in", "whole", "oven then direct", "roast"),
        ("Beef brisket", "whole", "oven", "roast"),
        ("Flat mushrooms", "none", "direct", "steak"),
    ],
)
def test_a_form_is_read_from_the_name_where_no_body_is_known(name, cook_as, method, form):
    """Demo names (invented) fall into the form a butcher would give them."""
    assert form_of(item(name, cook_as, method)) == form


def test_a_body_says_the_form():
    """A measured body stands before its name."""
    assert form_of(item("Pork links", "ground", body=Body("roast", 80.0))) == "roast"


def test_waiting_longer_than_half_an_hour_needs_heat():
    """Nothing is said without a wait; a board up to 30 min; then 140 F, in both units."""
    assert wait_words(0) == ""
    assert wait_words(LONG_WAIT_MIN) == "on a clean board under loose foil"
    assert "140 °F (60 °C) or above" in wait_words(LONG_WAIT_MIN + 1)
    assert "60 °C (140 °F) or above" in wait_words(45, "C")


@given(st.integers(-40, 1000), st.booleans())
def test_whole_degrees_never_pass_the_rule(fahrenheit, least):
    """A minimum is rounded up in degrees Celsius, a maximum down."""
    shown = int(degrees(Decimal(fahrenheit), "C", least=least).split(" ")[0])
    exact = Fraction(fahrenheit - 32) * 5 / 9
    assert 0 <= (shown - exact if least else exact - shown) < 1


def test_three_ducks_do_not_thaw_in_the_fridge_by_lunch_but_do_in_cold_water():
    """Wednesday at four for Thursday at one: 24.96 h against 21 h; 2.6 h a bird from 10:24."""
    wednesday = datetime.fromisoformat("2026-06-10T16:00")
    lunch = datetime.fromisoformat("2026-06-11T13:00")
    thaw = thaw_plan(pounds("5.2"), 3, "bird-whole", wednesday, lunch)
    assert Decimal(thaw.refrigerator.least_min) / 60 >= Decimal("24.96")
    assert thaw.minutes == 21 * 60
    assert not thaw.refrigerator.fits
    assert thaw.best is thaw.cold_water
    assert thaw.cold_water.start == datetime.fromisoformat("2026-06-11T10:24")
    assert thaw.cold_water.done == lunch  # cooked at once
    assert [f"{at:%H:%M}" for at in thaw.cold_water.changes] == [
        "10:54", "11:24", "11:54", "12:24", "12:54",
    ]  # fmt: skip


def test_the_ride_home_counts_before_cold_water():
    """What fits at the counter may not fit at home."""
    now = MEAL - timedelta(minutes=156)
    assert thaw_plan(pounds("5.2"), 1, "bird-flat", now, MEAL).cold_water.fits
    assert not thaw_plan(pounds("5.2"), 1, "bird-flat", now, MEAL, ride_min=1).cold_water.fits


def test_a_large_roast_starts_as_early_as_its_longest_hours_where_there_is_time():
    """10 lb: 60 h are planned, 70 h are published at the most; it starts at once in between."""
    for hours_before, start in ((100, 70), (65, 65), (60, 60)):
        now = MEAL - timedelta(hours=hours_before)
        fridge = thaw_plan(pounds(10), 1, "roast", now, MEAL).refrigerator
        assert fridge.fits
        assert fridge.start == MEAL - timedelta(hours=start)
    late = thaw_plan(pounds(10), 1, "roast", MEAL - timedelta(hours=59), MEAL)
    assert not late.refrigerator.fits


def test_a_thin_steak_that_lies_apart_is_quicker_than_a_package():
    """1 in or less in single pieces: 14 h; thicker, unknown or in one block: 24 h."""
    steak = thaw_plan(pounds("0.6"), 8, "steak", None, MEAL, thickness_mm=25)
    assert steak.refrigerator.planned_min == 14 * 60
    for pieces, thickness in ((8, None), (8, 30), (None, 25)):
        slow = thaw_plan(pounds("0.6"), pieces, "steak", None, MEAL, thickness_mm=thickness)
        assert slow.refrigerator.planned_min == 24 * 60


def test_over_its_chart_nothing_is_planned_in_cold_water():
    """The chart of cold water ends at 24 lb."""
    assert thaw_plan(pounds(24), 1, "bird-whole", None, MEAL).cold_water.fits
    heavy = thaw_plan(pounds("24.001"), 1, "bird-whole", None, MEAL).cold_water
    assert not heavy.fits
    assert not heavy.changes


def test_cooking_from_frozen_is_told_for_roasts_and_birds_only():
    """The published factor is information: no time of the plan holds it."""
    assert thaw_plan(pounds(9), 1, "roast", None, MEAL).from_frozen == Decimal("1.5")
    assert thaw_plan(pounds(1), 4, "steak", None, MEAL).from_frozen is None


@given(
    st.integers(1, 60_000), st.integers(0, 10_000), st.integers(0, 300),
    st.sampled_from(FORMS), st.one_of(st.none(), st.floats(5, 200)),
)  # fmt: skip
def test_a_thaw_is_never_planned_too_short_or_too_early(mlb, minutes, ride, form, thickness):
    """A way that fits starts after the ride, lasts its planned time, and ends by the fire."""
    weight = pounds(Decimal(mlb).scaleb(-3))
    now = MEAL - timedelta(minutes=minutes)
    thaw = thaw_plan(weight, 2, form, now, MEAL, thickness_mm=thickness, ride_min=ride)
    for way in (thaw.refrigerator, thaw.cold_water):
        assert way.least_min <= way.planned_min <= way.longest_min
        assert MEAL - way.start >= timedelta(minutes=way.planned_min)
        assert way.done <= MEAL
        if way.fits:
            assert way.start >= now + timedelta(minutes=ride)
        edges = [way.start, *way.changes, MEAL]
        if way.changes:
            steps = [after - before for before, after in itertools.pairwise(edges)]
            assert max(steps) <= timedelta(minutes=30)
    if form in {"roast", "bird-flat", "bird-whole", "joint", "patty"}:
        assert thaw.refrigerator.planned_min >= thaw_hours(weight).planned * 60
    assert (thaw.best is None) == (not thaw.refrigerator.fits and not thaw.cold_water.fits)


@given(st.integers(1, 30_000), st.integers(0, 6000), st.integers(0, 600))
def test_more_time_never_makes_a_thaw_impossible(mlb, minutes, more):
    """What fits with less time fits with more."""
    weight = pounds(Decimal(mlb).scaleb(-3))
    late = thaw_plan(weight, 1, "roast", MEAL - timedelta(minutes=minutes), MEAL)
    early = thaw_plan(weight, 1, "roast", MEAL - timedelta(minutes=minutes + more), MEAL)
    assert early.refrigerator.fits >= late.refrigerator.fits
    assert early.cold_water.fits >= late.cold_water.fits


@pytest.mark.parametrize(
    ("weight", "pieces", "form", "at", "words"),
    [
        ("0", 1, "roast", MEAL, "cannot be thawed"),
        ("-1", 1, "roast", MEAL, "cannot be thawed"),
        ("5", 0, "roast", MEAL, "count at least one"),
        ("5", -3, "roast", MEAL, "count at least one"),
        ("5", 1, "slab", MEAL, "no form of a piece"),
        ("1000000000", 1, "roast", MEAL, "no single piece"),
        ("5", 1, "roast", datetime.min, "leaves no room"),  # noqa: DTZ901
    ],
)
def test_what_cannot_be_is_refused_in_words(weight, pieces, form, at, words):
    """One sentence, no traceback."""
    with pytest.raises(BadValue, match=words):
        thaw_plan(pounds(weight), pieces, form, None, at)


def test_now_at_the_end_of_the_calendar_is_refused_in_words():
    """A ride home may not pass the last day."""
    last = datetime.max  # noqa: DTZ901
    with pytest.raises(BadValue, match="leaves no room"):
        thaw_plan(pounds(5), 1, "roast", last, last, ride_min=30)


def test_one_percent_of_the_raw_weight_is_salt():
    """8.2 lb = 3719.46 g take 37 g, 28 to 46 g; put on a day before; marked as recalled."""
    salt = salt_plan(pounds("8.2"), "roast", "lamb", MEAL)
    assert (salt.least_g, salt.grams, salt.most_g) == (28, 37, 46)
    assert salt.ounces == Decimal("1.3")
    assert salt.at == MEAL - timedelta(hours=24)
    assert salt.earliest == MEAL - timedelta(hours=72)
    assert salt.source == FROM_MEMORY_WORDS


def test_the_range_for_turkey_was_read():
    """How much salt per pound for turkey (DRYBRINE_WEB, seen): 0.5 to 1 %."""
    salt = salt_plan(Weight.of(5, WeightUnit.KG), "bird-whole", "turkey", MEAL)
    assert (salt.least_g, salt.grams, salt.most_g) == (25, 50, 50)
    assert "How much salt per pound for turkey" in salt.source


def test_too_late_to_salt_ahead_has_no_hour():
    """With less than the shortest lead there is none."""
    late = MEAL - timedelta(hours=2)
    assert salt_plan(pounds(8), "roast", "lamb", MEAL, from_at=late).at is None
    assert salt_plan(pounds(8), "steak", "lamb", MEAL, from_at=late).at is not None


@given(st.integers(1, 10**7), st.sampled_from(sorted(LEAD_H)))
def test_salt_follows_the_weight(mlb, form):
    """The range holds the usual amount, and the hours lie before the fire."""
    salt = salt_plan(pounds(Decimal(mlb).scaleb(-3)), form, "beef", MEAL)
    assert salt.least_g <= salt.grams <= salt.most_g
    assert abs(salt.grams - Decimal(mlb) * Decimal("0.0045359237")) <= Decimal("0.5")
    assert salt.earliest <= salt.at == salt.latest < MEAL


@pytest.mark.parametrize(
    ("weight", "form", "words"), [("0", "roast", "takes no salt"), ("1", "patty", "salted ahead")]
)
def test_salt_on_nothing_or_on_mince_is_refused(weight, form, words):
    """One sentence says why."""
    with pytest.raises(BadValue, match=words):
        salt_plan(pounds(weight), form, None, MEAL)


@pytest.mark.parametrize(
    ("piece", "salted"),
    [
        (item("Lamb leg, bone in", piece_mlb=7000), True),
        (item("Pork shoulder steaks"), True),
        (item("Chicken, whole", "poultry", "indirect"), True),
        (item("Chicken thigh, yoghurt-mint", "poultry"), False),
        (item("Beef brisket, corned"), False),
        (item("Pork belly, smoked"), False),
        (item("Pork links", "ground"), False),
        (item("Lamb mince", "ground"), False),
        (item("Pork chops", treatment="injected", cook_as="ground"), False),
        (item("Chicken breast", "poultry", allergens=("soy",)), False),
        (item("Beef shin", method="pot"), False),
        (item("Grilling cheese", "none"), False),
    ],
)
def test_what_is_dressed_already_is_not_salted(piece, salted):
    """Cured, brined, marinated, minced, injected or filled meat takes no more salt."""
    assert takes_salt(piece) is salted


def test_heat_halves_the_time_out():
    """Above 90 F one hour, at 90 F and unknown two."""
    assert [out_minutes(air) for air in (None, -10, 90, 91, 120)] == [120, 120, 120, 60, 60]


def test_a_recalled_row_is_not_taken_for_a_cited_one():
    """The planning range of salt is refused where a cited row is asked for."""
    with pytest.raises(ReferenceTableError, match="no cited row for salt"):
        keeping_row("salt", "dry brine, planning range")
    assert keeping_row("salt", "dry brine, planning range", cited=False).high == Decimal("1.25")


def test_the_document_holds_the_rests_and_waits():
    """docs/around.md prints the table of the kernel, and its example runs."""
    path = Path(__file__).parents[2] / "docs" / "around.md"
    text = path.read_text(encoding="utf-8")
    for form in FORMS:
        assert f"| {form} | {REST_MIN[form]} | {HOLD_MIN[form]} |" in text
    assert doctest.testfile(str(path), module_relative=False).failed == 0
