"""docs/firesheet.md gives the figures and the words that the code has."""

from __future__ import annotations

import re
from pathlib import Path

from collop.fire.methods import FINISH_MIN, METHOD_WORDS
from collop.shop import fire_guesses as guesses

TEXT = (Path(__file__).parents[2] / "docs" / "firesheet.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| ([^|]+) \| ([^|]+) \|(?: ([^|]+) \|)?$", TEXT, re.MULTILINE)
FIGURES = {name: value for name, value, third in ROWS if not third}


def test_every_figure_of_ours_is_the_one_in_use():
    """Grill, share of it, coals, meal and browning: as the code has them."""
    assert FIGURES["grill"] == f"{guesses.GRILL_IN} in across, {guesses.GRILL_SQ_IN} sq in"
    assert FIGURES["ride home"] == f"{guesses.RIDE_MIN} min at the most"
    assert FIGURES["of it holds food"] == f"{guesses.USABLE_PCT} %"
    assert FIGURES["coals last"] == f"{guesses.COALS_MIN} min"
    hours = guesses.MEAL_AFTER.total_seconds() / 3600
    assert FIGURES["meal after collecting"] == f"{hours:.0f} h at the soonest"
    told = FIGURES["last browning of a two-stage dish"]
    assert told == f"{FINISH_MIN[0]} to {FINISH_MIN[1]} min of its minutes"


def test_the_assumed_grill_is_a_circle_of_its_measure():
    """22 in across: 3.14159 x 11 x 11 = 380.1 sq in, rounded down."""
    assert int(3.14159265 * (guesses.GRILL_IN / 2) ** 2) == guesses.GRILL_SQ_IN


def test_every_word_of_the_case_is_listed_with_its_methods():
    """Each row of the table is what the code reads, and none is left out."""
    listed = {}
    for words, with_oven, without in ROWS:
        for one in words.split("; ") if without else ():
            listed[one] = (with_oven, without)
    told = {
        words: ("not cooked at a fire",) * 2
        if way is None
        else (way.method(oven=True), way.method(oven=False))
        for words, way in METHOD_WORDS.items()
    }
    assert {one: listed.get(one) for one in told} == told
