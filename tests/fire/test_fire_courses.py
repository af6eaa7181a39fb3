"""Minutes as bands: from the heat model and from the shop, and the core each thing comes off at."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import numpy as np
import pytest
from coursekit import SAMPLES, flat_bird, item, piece, problem
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.fire import courses_model
from collop.fire.courses import course_of, courses_of, minimum_c
from collop.fire.courses_loss import MOST_GAP_POINTS, cooking_loss, curve_loss_pct
from collop.fire.courses_model import Cook, cook_samples, usual_minutes
from collop.fire.problem import BANDS, FORMS, METHODS, Body, Stage
from collop.fire.spreads import FIRE_CORRELATION, fire_state, own_state, shop_minutes
from collop.reference import cook_minimum, cooking_yield, shrink_rows, water_loss_pct

FIRE = problem()
#: A core that an oven brings a thick roast to on most evenings only.
STALLS_C = 76.0


def course(one, on=FIRE):
    """Return a course by few samples."""
    return course_of(one, on, samples=SAMPLES)


def band(one, on=FIRE):
    """Return the 10, 50 and 90 of a course [min]."""
    return np.quantile(course(one, on).minutes, BANDS)


# ---- the shop's own minutes


@pytest.mark.parametrize(("low", "high"), [(10, 16), (45, 75), (180, 240), (8, 8)])
def test_the_shops_minutes_are_the_band(low, high):
    """The 10th and 90th percentile are what the shop tells, and its source is named."""
    found = course_of(item("direct", minutes=(low, high)), FIRE)
    ten, _, ninety = np.quantile(found.minutes, BANDS)
    assert (ten, ninety) == (pytest.approx(low, rel=0.01), pytest.approx(high, rel=0.01))
    assert found.source == "shop"
    assert found.rise_c is None
    assert found.log_reduction is None


def test_the_shops_stages_keep_each_its_own_band():
    """Two stages have two bands, in their order."""
    stages = (Stage("indirect", 35, 60), Stage("direct", 3, 6))
    found = course_of(item("indirect then direct", stages=stages, minutes=(1, 2)), FIRE)
    assert [one.heat for one in found.stages] == ["indirect", "direct"]
    for one, told in zip(found.stages, stages, strict=True):
        ten, ninety = np.quantile(one.minutes, (0.1, 0.9))
        assert (ten, ninety) == (
            pytest.approx(told.low, rel=0.01),
            pytest.approx(told.high, rel=0.01),
        )


def test_minutes_told_in_one_are_split_nine_to_one():
    """Where two heats share one time, the coals have the last tenth, and it is said."""
    found = course_of(item("indirect then direct", minutes=(40, 60)), FIRE)
    cool, hot = (one.minutes for one in found.stages)
    assert cool == pytest.approx(9 * hot)
    assert any("tenth" in note for note in found.notes)


def test_a_slow_fire_slows_what_the_shop_tells_too():
    """The logarithm of the shop's minutes follows the fire of the sample with its correlation."""
    slow = fire_state(1000).slow
    logs = np.log(shop_minutes(10.0, 20.0, "C1", 1000))
    assert np.corrcoef(logs, slow)[0, 1] == pytest.approx(FIRE_CORRELATION, abs=0.06)


def test_food_that_nothing_tells_the_time_of_is_one_sentence():
    """A braise has no model: without the shop's minutes it is refused, with what to do."""
    with pytest.raises(BadValue, match="give its minutes"):
        course(piece("roast", 90, "pot"))
    with pytest.raises(BadValue, match="give its minutes"):
        course(piece("steak", 20, "direct", cook_as="none", species=None))


def test_a_braise_keeps_the_shops_minutes():
    """A pot takes the shop's minutes, even with a body."""
    found = course(piece("roast", 90, "pot", minutes=(150, 200)))
    assert found.source == "shop"
    assert found.pull_c == found.target_c == minimum_c("whole")


# ---- the heat model


def test_the_body_wins_over_stages_and_minutes():
    """With a body the model tells the time."""
    plain = piece("steak", 25, "direct")
    told = piece("steak", 25, "direct", minutes=(100, 200), stages=(Stage("direct", 90, 99),))
    assert np.array_equal(course(plain).minutes, course(told).minutes)
    assert course(plain).source == "model"


def test_what_the_fire_cannot_do_is_one_sentence_whatever_minutes_are_told():
    """A core that the cool side never brings: minutes beside it would send it to the table raw."""
    for told in ({}, {"minutes": (10, 20)}, {"stages": (Stage("indirect", 10, 20),)}):
        with pytest.raises(BadValue, match="roast 120, 120 mm thick, does not reach 99 degC"):
            course(piece("roast", 120, "indirect", done_c=99.0, **told))
    turkey = piece("bird-whole", 300.0, "oven", cook_as="poultry", species="turkey",
                   id="turkey", minutes=(10, 20))  # fmt: skip
    with pytest.raises(BadValue, match="does not reach 74 degC"):
        course(turkey)


def test_food_without_a_rule_keeps_the_shops_minutes_where_the_fire_cannot_do_it():
    """Nobody is hurt by a marrow that is eaten firm: its own minutes count."""
    marrow = piece("roast", 120, "indirect", cook_as="none", species=None, done_c=99.0,
                   minutes=(40, 60))  # fmt: skip
    assert course(marrow).source == "shop"


def test_a_refusal_is_worked_out_once(monkeypatch):
    """Asked again, what the fire cannot do is not run again."""
    hopeless = piece("roast", 121, "indirect", done_c=99.0)
    with pytest.raises(BadValue, match="does not reach"):
        course(hopeless)

    def none(*_args, **_more):
        raise AssertionError

    monkeypatch.setattr(courses_model, "run", none)
    with pytest.raises(BadValue, match="does not reach"):
        course(hopeless)


def test_an_evening_that_never_gets_it_done_is_never_done():
    """A roast asked for 76 degC stalls in some evenings: infinite there, and it is said."""
    found = course_of(piece("roast", 100, "oven", done_c=STALLS_C), FIRE)
    never = ~np.isfinite(found.minutes)
    assert 0.01 < never.mean() < 0.1
    assert np.isfinite(np.quantile(found.minutes, BANDS)).all()
    assert any(f"In {100 * never.mean():.0f} of 100 evenings" in note for note in found.notes)
    assert not any("evenings" in note for note in course_of(flat_bird(), FIRE).notes)


def test_same_input_gives_the_same_samples_and_they_cannot_be_changed():
    """The same item gives equal arrays from a new run; they are read only."""
    cook = Cook("x", Body("steak", 25.0), "direct", 62.8, rest_min=3)
    first = cook_samples(cook, 50)
    again = cook_samples(cook, 50)
    assert first is not again
    assert np.array_equal(first.minutes[0], again.minutes[0])
    with pytest.raises(ValueError, match="read-only"):
        course(piece("steak", 25, "direct")).minutes[0] = 1.0


def test_a_second_asking_costs_nothing(monkeypatch):
    """An item asked for again is not run again, whatever its weight, area and name."""
    course(piece("steak", 26.0, "direct"))

    def none(*_args, **_more):
        raise AssertionError

    monkeypatch.setattr(courses_model, "run", none)
    heavier = piece("steak", 26.0, "direct", weight_mlb=9000, area_sq_in=Fraction(200))
    assert course(heavier) is course(piece("steak", 26.0, "direct"))


def test_all_items_of_a_sample_are_cooked_on_one_fire():
    """Two steaks of two items are slow and fast together, but not in step."""
    one, two = (course(piece("steak", 25, "direct", id=name)).minutes for name in ("a", "b"))
    together = np.corrcoef(np.log(one), np.log(two))[0, 1]
    assert 0.02 < together < 0.8
    assert not np.array_equal(own_state("a", 100).size, own_state("b", 100).size)


def test_the_bands_are_as_wide_as_the_spreads_say():
    """Measured steaks vary by 20 to 26 %, roasts and flat birds by 22 to 34 %, log sd."""

    def spread(one):
        minutes = course_of(one, FIRE).minutes
        return float(np.std(np.log(minutes[np.isfinite(minutes)])))

    assert 0.20 <= spread(piece("steak", 25, "direct", measured=True)) <= 0.26
    assert 0.22 <= spread(piece("roast", 100, "oven", measured=True)) <= 0.30
    assert 0.24 <= spread(flat_bird(measured=True)) <= 0.34


@pytest.mark.parametrize("form", FORMS)
def test_a_piece_told_over_the_counter_has_the_wider_band(form):
    """Thickness that is only told widens the band of every form."""
    method = "direct" if form in {"steak", "thin", "patty", "skewer"} else "indirect"
    as_ = "poultry" if form.startswith("bird") else "whole"
    told, measured = (
        band(piece(form, 30, method, measured=how, cook_as=as_)) for how in (False, True)
    )
    assert told[2] / told[0] > measured[2] / measured[0]


def test_a_bone_widens_the_band_by_a_tenth():
    """The logarithm of the band is a tenth wider, about the same middle."""
    with_bone, without = (
        band(piece("joint", 40, "indirect", bone=bone, cook_as="poultry")) for bone in (True, False)
    )
    assert with_bone[1] == pytest.approx(without[1])
    wide = np.log(with_bone[2] / with_bone[0]) / np.log(without[2] / without[0])
    assert wide == pytest.approx(1.1, abs=0.01)


@pytest.mark.parametrize(
    ("form", "mm", "method"),
    [
        ("steak", 25, "direct"), ("thin", 12, "direct"), ("patty", 19, "plate"),
        ("links", 30, "indirect then direct"), ("skewer", 35, "direct"), ("roast", 100, "oven"),
        ("steak", 50, "indirect then direct"), ("steak", 45, "oven then direct"),
    ],
)  # fmt: skip
def test_the_middle_of_the_band_is_the_usual_piece(form, mm, method):
    """Half the samples are under the time of the very piece on the usual fire, within 15 %."""
    usual = usual_minutes(Cook("", Body(form, mm), method, 62.778, species="beef"))
    assert np.median(course(piece(form, mm, method)).minutes) == pytest.approx(usual, rel=0.15)


@settings(max_examples=20)
@given(
    thickness=st.floats(10, 60),
    more=st.floats(1.05, 1.5),
    method=st.sampled_from(["direct", "indirect", "oven", "plate"]),
)
def test_thicker_takes_longer(thickness, more, method):
    """A thicker piece takes longer by any heat, and a colder start too."""

    def minutes(mm, start_c=4.0):
        return usual_minutes(Cook("", Body("steak", mm, start_c=start_c), method, 60.0))

    assert minutes(thickness * more) > minutes(thickness)
    assert minutes(thickness) > minutes(thickness, 15.0)


def test_turns_are_told_by_the_lid():
    """Once at half time under a lid; every few minutes without; a crust is turned often."""
    chops = piece("steak", 25, "direct")
    assert course(chops).stages[0].turns == (0.5,)
    assert len(course(chops, problem(covered=False)).stages[0].turns) >= 4
    centre = course(piece("steak", 55, "indirect then direct"))
    assert centre.stages[0].turns == ()
    assert len(centre.stages[1].turns) >= 2
    assert all(0 < one < 1 for one in centre.stages[1].turns)


def test_a_thick_centre_piece_is_taken_over_before_its_pull():
    """The cool side ends 8 K under the pull, most of the clock; the coals bring the rest."""
    found = course(piece("steak", 55, "indirect then direct"))
    cool, hot = found.stages
    assert cool.until_c == pytest.approx(found.pull_c - 8)
    assert hot.until_c == found.pull_c
    assert np.median(cool.minutes / found.minutes) > 0.8


# ---- the core


@settings(max_examples=40)
@given(
    form=st.sampled_from(FORMS),
    cook_as=st.sampled_from(["whole", "ground", "poultry"]),
    method=st.sampled_from(sorted(METHODS)),
    thickness=st.floats(5, 60),
    over=st.none() | st.floats(0, 8),
)
def test_nothing_comes_off_under_its_published_minimum(form, cook_as, method, thickness, over):
    """FSIS_MIN, Safe minimum internal temperatures: whatever is asked, the pull is no lower."""
    least = cook_minimum(cook_as).temperature.count / 9000 - 273.15
    done = None if over is None else least + over
    one = piece(form, thickness, method, cook_as=cook_as, done_c=done, minutes=(20, 40))
    try:
        found = course_of(one, FIRE, samples=20)
    except BadValue as no:  # or it is not cooked at all
        assert "does not reach" in no.message
        return
    assert found.pull_c >= least
    assert found.target_c >= max(least, done or 0.0)
    assert found.rest_min >= cook_minimum(cook_as).rest_min
    if cook_as != "whole":
        assert found.pull_c == found.target_c


def test_a_core_asked_for_under_the_minimum_is_lifted_to_it():
    """The kernel lifts what a caller forgot to refuse."""
    assert course(piece("steak", 25, "direct", done_c=50.0)).pull_c == minimum_c("whole")


def test_a_whole_cut_asked_above_its_minimum_comes_off_early_by_its_rise():
    """71 degC asked: off a little under, by no more than the published 10 degF, never under 63."""
    asked = course(piece("steak", 38, "direct", done_c=71.1))
    assert minimum_c("whole") <= asked.pull_c < 71.1
    assert 71.1 - asked.pull_c <= 10 / 1.8
    assert 71.1 - asked.pull_c == pytest.approx(asked.rise_c[1], abs=1.0)
    bird = course(flat_bird(done_c=76.0))
    assert bird.pull_c == bird.target_c == 76.0


@pytest.mark.parametrize("thickness", [6, 8, 10, 12, 19, 38])
def test_the_published_rest_of_a_whole_cut_is_at_its_minimum(thickness):
    """FSIS_MIN: 145 degF and 3 min rest; the usual core is no lower after 3 min than the minimum.

    A thin slice cools in its rest, so it comes off above the minimum, at most at that of mince,
    for which no rest is asked.
    """
    found = course(piece("thin", thickness, "direct"))
    cook = Cook("", Body("thin", thickness), "direct", found.pull_c, rest_min=3, species="beef",
                air_c=(75 - 32) / 1.8)  # fmt: skip
    left = found.pull_c - courses_model.usual_fall(cook)
    assert left >= minimum_c("whole") - 0.1 or found.pull_c == minimum_c("ground")


def test_a_whole_cut_at_its_minimum_kills_what_appendix_a_asks():
    """FSIS_APXA_1999: the median log reduction through the rest is 6.5 or more; capped at 12."""
    for one in (piece("steak", 25, "direct"), piece("thin", 10, "direct"), flat_bird()):
        assert 6.5 <= course(one).log_reduction <= 12.0


def test_the_minimum_is_never_rounded_under_the_rule():
    """FSIS_MIN: 145, 160 and 165 degF in degC, at most a thousandth above."""
    for cook_as, rule_f in (("whole", 145), ("ground", 160), ("poultry", 165)):
        exact = (rule_f - 32) / 1.8
        assert exact <= minimum_c(cook_as) <= exact + 0.0015
    assert minimum_c("none") is None


def test_food_without_a_rule_is_cooked_to_what_is_asked():
    """A vegetable with a body and a core has a time, no minimum and no log reduction."""
    found = course(piece("steak", 30, "direct", cook_as="none", species=None, done_c=85.0))
    assert (found.pull_c, found.target_c) == (85.0, 85.0)
    assert found.log_reduction is None


def test_the_weather_cools_the_open_grill():
    """A cold day lengthens the time without a lid; with one it does not."""
    chops = piece("steak", 25, "direct")
    cold, warm = (problem(covered=False, air_f=air) for air in (20, 90))
    assert np.median(course(chops, cold).minutes) > np.median(course(chops, warm).minutes)
    assert band(chops, problem(air_f=20)) == pytest.approx(band(chops, problem(air_f=90)))


def test_courses_of_a_problem_are_by_id():
    """One course for each item."""
    items = (flat_bird(), item("direct", id="C2", minutes=(10, 12)))
    found = courses_of(problem(), samples=20)
    assert found == {}
    both = problem()
    both = type(both)(both.name, both.servings, both.zones, items)
    assert list(courses_of(both, samples=20)) == ["bird", "C2"]


def test_the_room_loads_without_numpy():
    """Importing the courses pulls in no numpy; the first course does."""
    code = "import sys, collop.fire.courses; assert 'numpy' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)


# ---- cooking loss


def test_the_loss_is_the_published_yield_at_its_end():
    """USDA_CY2, retail all cuts of beef, grilled: 78 % is left, so 22 % is lost."""
    row = cooking_yield("beef", "retail all cuts", "grilled", cited_only=True)[0]
    found = cooking_loss("beef", "direct", 70, words="retail all cuts")
    assert found.share == Fraction(100 - row.yield_pct) / 100
    assert found.rows == (row,)
    assert found.notes == ()


def test_the_loss_grows_with_the_end_and_says_what_is_from_memory():
    """0.7 points a degree between 57 and 77 degC, not beyond; the slope is from memory."""
    at = {end: cooking_loss("beef", "direct", end, words="retail all cuts") for end in (57, 63, 77)}
    assert at[63].share - at[57].share == Fraction(42, 1000)
    assert "memory" in at[63].notes[0]
    assert cooking_loss("beef", "direct", 90, words="retail all cuts").share == at[77].share


def test_nothing_is_made_up_for_a_species_without_a_table():
    """There is no published yield of goat or duck."""
    assert cooking_loss("goat", "direct", 63) is None
    assert cooking_loss("duck", "oven", 74) is None


@pytest.mark.parametrize("end", ["NaN", "1e-999999", "-5", "300", "hot", 10**400])
def test_a_core_that_is_none_is_one_sentence(end):
    """Hostile cores are refused."""
    with pytest.raises(BadValue, match="no core of cooked meat"):
        cooking_loss("beef", "direct", end)


def test_an_unknown_method_is_one_sentence():
    """A way to cook that is not known is refused."""
    with pytest.raises(BadValue, match="no way to cook"):
        cooking_loss("beef", "hung", 63)


def test_the_water_curve_is_that_of_the_table():
    """FEYISSA: the curve's twelve computed rows, to their printed tenth."""
    rows = [row for row in shrink_rows() if row.kind == "curve"]
    assert len(rows) == 12
    for row in rows:
        assert water_loss_pct(float(row.temp_c.low)) == pytest.approx(
            float(row.loss_pct), abs=0.051
        )


def mean_of(cook):
    """Return the mean of the piece over its volume when it comes off [degC]."""
    return float(np.median(cook_samples(cook, SAMPLES).mean_c))


def test_the_water_curve_bears_the_table_out_for_a_roast():
    """USDA_CY2 (beef roasts, boneless) against FEYISSA: a 100 mm roast, within six points."""
    roast = Cook("x", Body("roast", 100.0, measured=True), "oven", 62.778, species="beef")
    mean = mean_of(roast)
    found = cooking_loss("beef", "oven", 63, words="retail boneless all temps", mean_c=mean)
    assert curve_loss_pct(63.0, mean) == pytest.approx(
        float(found.share) * 100, abs=MOST_GAP_POINTS
    )
    assert not any("curve" in note for note in found.notes)


def test_where_the_water_curve_differs_the_table_is_trusted_and_the_gap_told():
    """A 1 in steak straight from the fire: the curve gives some ten points more than USDA_CY2."""
    steak = Cook("x", Body("steak", 25.4, measured=True), "direct", 62.778, species="beef")
    plain = cooking_loss("beef", "direct", 63, words="retail all cuts")
    found = cooking_loss("beef", "direct", 63, words="retail all cuts", mean_c=mean_of(steak))
    assert found.share == plain.share
    assert "the table is trusted" in found.notes[-1]
    assert curve_loss_pct(60.0, 60.0) == pytest.approx(water_loss_pct(60.0))
