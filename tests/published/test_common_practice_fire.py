"""What butchers and cooks know of a fire: common practice, no published source."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction

import numpy as np
import pytest

from collop.fire.courses import course_of, minimum_c
from collop.fire.problem import BANDS, Body, FireItem, FireProblem, Serving

AT = datetime.fromisoformat("2026-06-13T19:00")
FIRE = FireProblem("supper", (Serving("main", AT, 0),), (), ())
CENTRE = ("centre", Body("steak", 55.0), "indirect then direct", "whole", "beef")
BIRD = ("bird", Body("bird-flat", 44.0), "indirect", "poultry", "chicken")
CHOPS = ("chops", Body("steak", 25.0), "direct", "whole", "pork")
THIN = ("thin", Body("thin", 12.0), "direct", "whole", "beef")


def course(told, **more):
    """Return the course of one of the four on an ordinary covered grill."""
    name, body, method, cook_as, species = told
    one = FireItem(name, name, species, "main", 3000, Fraction(60), cook_as, method,
                   body=body, **more)  # fmt: skip
    return course_of(one, FIRE, samples=500)


def test_a_flattened_bird_takes_about_forty_five_to_sixty_minutes():
    """The usual 45 to 60 min overlap the 10 to 90 band, and its middle is within a quarter."""
    low, middle, high = np.quantile(course(BIRD).minutes, BANDS)
    assert low <= 60
    assert high >= 45
    assert 45 <= middle <= 60 * 1.25


def test_the_longest_goes_on_first():
    """A big centre piece, then the bird, then the chops, then a thin cut."""
    middles = [np.median(course(one).minutes) for one in (CENTRE, BIRD, CHOPS, THIN)]
    assert middles == sorted(middles, reverse=True)
    assert len(set(middles)) == 4


def test_chops_may_stay_pink_and_birds_may_not():
    """Chops come off at 145 degF (FSIS_MIN) and rest; a bird comes off at 165 degF, no sooner."""
    chops, bird = course(CHOPS), course(BIRD)
    assert chops.pull_c == pytest.approx((145 - 32) / 1.8, abs=0.01)
    assert chops.pull_c < 66  # pink goes from pork and beef a few degrees above this
    assert chops.rest_min >= 3
    assert bird.pull_c >= (165 - 32) / 1.8
    assert bird.pull_c == bird.target_c == minimum_c("poultry")


def test_a_thickness_told_over_the_counter_is_less_sure():
    """A guess of the thickness gives the wider band."""
    name, body, *rest = CHOPS
    measured = (name, Body(body.form, body.thickness_mm, measured=True), *rest)
    wide, narrow = (np.quantile(course(one).minutes, BANDS) for one in (CHOPS, measured))
    assert wide[2] / wide[0] > narrow[2] / narrow[0]


def test_a_chop_from_the_fridge_takes_longer_than_one_left_out():
    """Twenty minutes out of the fridge save a little, not much."""
    name, body, *rest = CHOPS
    warm = (name, Body(body.form, body.thickness_mm, start_c=10.0), *rest)
    cold, tempered = (float(np.median(course(one).minutes)) for one in (CHOPS, warm))
    assert 0.8 * cold < tempered < cold
