"""The one table of words and methods: what a spread and a fire sheet both read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.fire.methods import (
    METHOD_WORDS,
    STEW,
    STEW_MIN,
    cook_as_of,
    stages_of,
    stewed,
    way_by_method,
    way_for,
    way_of,
)
from collop.fire.problem import METHODS


def test_method_words_become_methods():
    """With and without an oven, a lid and pots, every word of the table is a method."""
    for words, way in METHOD_WORDS.items():
        assert way == way_of(words.upper() + " ")
        for oven in (True, False):
            for covered in (True, False):
                for pots in (True, False):
                    if way is not None:
                        assert way.method(oven=oven, covered=covered, pots=pots) in METHODS


@pytest.mark.parametrize(
    ("words", "oven", "there"),
    [
        ("roast in the oven", "oven", "indirect"),
        ("pan, then rest", "plate", "plate"),
        ("Stewed slowly", "pot", "pot"),
        ("smoke", "indirect", "indirect"),
        ("grill over hot coals", "direct", "direct"),
        ("low then finish over the flame", "indirect then direct", "indirect then direct"),
        ("oven, finish on grill", "oven then direct", "indirect then direct"),
    ],
)
def test_other_words_are_read_by_what_they_say(words, oven, there):
    """A shop writes its own words; those of the fire in them count."""
    way = way_of(words)
    assert (way.method(oven=True), way.method(oven=False)) == (oven, there)


def test_words_that_say_nothing_are_no_method():
    """Stock is not cooked at a fire, and nobody knows what no words mean."""
    assert way_of("stock") is way_of("") is way_of("as grandmother did") is None


def test_a_braise_goes_into_the_oven_where_there_is_no_pot():
    """A covered dish in an oven is a braise too."""
    way = way_of("braise")
    assert way.method(oven=True, pots=False) == "oven"
    assert way.method(oven=False, pots=False) == "pot"
    assert way_by_method("oven").method(oven=False) == "indirect"


@given(
    st.sampled_from(sorted(METHODS)), st.integers(2, 600), st.integers(0, 600),
)  # fmt: skip
def test_stages_make_the_minutes_they_are_split_from(method, low, more):
    """Low and high of the stages add up to those of the whole, each low to high."""
    stages = stages_of(method, (low, low + more))
    if " then " not in method:
        assert stages is None
        return
    assert [one.heat for one in stages] == method.split(" then ")
    assert [sum(ends) for ends in zip(*((s.low, s.high) for s in stages), strict=True)] == [
        low,
        low + more,
    ]
    assert all(1 <= one.low <= one.high for one in stages)


@pytest.mark.parametrize(
    ("words", "told", "oven", "there"),
    [
        ("direct grill", None, "direct", "direct"),
        ("direct grill", "oven", "oven", "indirect"),
        ("covered grill or oven", "direct", "direct", "direct"),
        ("covered grill or oven", "indirect", "oven", "indirect"),
        ("covered grill or oven", "oven", "oven", "indirect"),
        ("stock", "pot", "pot", "pot"),
    ],
)
def test_a_method_told_counts_before_the_words(words, told, oven, there):
    """Unless it says what the words mean anyway: then an oven is still allowed where they do."""
    way = way_for(words, told)
    assert (way.method(oven=True), way.method(oven=False)) == (oven, there)


def test_words_alone_may_say_nothing():
    """Nothing told and nothing to be read is no way to cook."""
    assert way_for("", None) is way_for("stock", None) is None


def test_a_stew_is_in_the_pot_or_covered_in_the_oven():
    """Without either the method stays the pot, which no fire has."""
    assert STEW.method(oven=True) == "pot"
    assert STEW.method(oven=True, pots=False) == "oven"
    assert STEW.method(oven=False, pots=False) == "pot"


@given(st.integers(0, 600), st.integers(0, 600))
def test_a_stew_is_never_hurried(low, more):
    """Two hours at the least, and never shorter than the line's own minutes."""
    found = stewed((low, low + more))
    assert STEW_MIN <= found[0] <= found[1]
    assert (low, low + more) <= found


@pytest.mark.parametrize("said", ["whole", "ground", "poultry", "none", None])
@pytest.mark.parametrize(
    ("facts", "least"),
    [
        ({"name": "Rump", "species": {"beef"}}, "whole"),
        ({"name": "Beef mince", "species": {"beef"}}, "ground"),
        ({"name": "Sausages", "species": {"pork"}}, "ground"),
        ({"name": "Roll", "species": {"pork"}, "casing": "hog"}, "ground"),
        ({"name": "Rump", "species": {"beef"}, "treatment": "injected"}, "ground"),
        ({"name": "Duck mince", "species": {"duck"}}, "poultry"),
        ({"name": "Skewer", "species": {"beef", "chicken"}}, "poultry"),
    ],
)
def test_what_the_shop_says_never_makes_a_minimum_less(said, facts, least):
    """Whole, ground, poultry: the stricter of what is said and what it is."""
    strict = ("none", "whole", "ground", "poultry")
    found = cook_as_of(said, **facts)
    assert strict.index(found) >= max(strict.index(least), strict.index(said or "none"))


def test_food_without_meat_has_no_minimum():
    """Nothing in it is an animal's."""
    assert cook_as_of("whole", name="Mushrooms", species=()) == "none"
