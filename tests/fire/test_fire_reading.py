"""Reading a fire: what is meant is kept, what is wrong is named in one sentence with its path."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import CollopError
from collop.fire.reading import read_problem
from fire.fires import example, item, one_fire


def test_an_example_is_read_as_it_stands():
    """Weights, areas and times arrive exactly; the first serving is minute nought."""
    problem = read_problem(example())
    bird = next(one for one in problem.items if one.id == "bird")
    assert (bird.weight_mlb, bird.piece_mlb, bird.area_sq_in) == (8200, 4100, Fraction(280))
    assert problem.servings[0].at_min == 0
    assert problem.zones[0].heats == {"direct", "indirect"}
    assert problem.notes == (("pork", 3, "lamb, chicken and goat on their own board"),)


def test_later_servings_count_from_the_first():
    """Servings are put in the order of the clock, whatever their order in the file."""
    serve = [{"id": "b", "at": "2026-06-13T20:15"}, {"id": "a", "at": "2026-06-13T19:00"}]
    problem = read_problem(one_fire(serve=serve))
    assert [(one.id, one.at_min) for one in problem.servings] == [("a", 0), ("b", 75)]


@pytest.mark.parametrize("treatment", ["tenderised", "injected", "rolled", "ground"])
def test_meat_that_was_opened_counts_as_mince(treatment):
    """Blade-tenderised, injected, rolled and ground meat is treated as ground."""
    found = read_problem(one_fire(item("steaks", treatment=treatment)))
    assert found.items[0].cook_as == "ground"


def test_a_treated_bird_stays_a_bird():
    """The bird's minimum is the higher one: it is kept."""
    found = read_problem(one_fire(item("bird", cook_as="poultry", treatment="injected")))
    assert found.items[0].cook_as == "poultry"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"done_f": 140}, "published minimum"),
        ({"done_c": 60}, "published minimum"),
        ({"rest_min": 2}, "published rest is 3"),
        ({"done_f": 150, "done_c": 66}, "keep one of them"),
        ({"cook_as": "ground", "done_f": 155}, "published minimum"),
        ({"cook_as": "poultry", "done_f": 160}, "published minimum"),
        ({"treatment": "tenderised", "done_f": 145}, "published minimum"),
    ],
)
def test_nothing_is_asked_for_under_the_published_minimum(change, words):
    """USDA FSIS, Safe minimum internal temperatures (source id FSIS_MIN): no lower wish is read."""
    with pytest.raises(CollopError, match=words) as caught:
        read_problem(one_fire(item("steaks", **change)))
    assert caught.value.where.startswith("$.items[0].")


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"colour": "red"}, "$.items[0].colour"),
        ({"weight_lb": 2}, "$.items[0].weight_lb"),
        ({"weight_lb": "0"}, "$.items[0].weight_lb"),
        ({"weight_lb": "1e-999999"}, "$.items[0].weight_lb"),
        ({"area_sq_in": -1}, "$.items[0].area_sq_in"),
        ({"area_sq_in": float("nan")}, "$.items[0].area_sq_in"),
        ({"cook_as": "fish"}, "$.items[0].cook_as"),
        ({"method": "grill"}, "$.items[0].method"),
        ({"minutes": [20, 10]}, "$.items[0].minutes"),
        ({"minutes": [True, 10]}, "$.items[0].minutes"),
        ({"minutes": None}, "$.items[0].minutes"),
        ({"stages": [{"heat": "oven", "minutes": [5, 9]}]}, "$.items[0].stages"),
        ({"body": {"form": "steak", "thickness_mm": 0}}, "$.items[0].body.thickness_mm"),
        ({"body": {"form": "fish", "thickness_mm": 20}}, "$.items[0].body.form"),
        ({"serve": "supper"}, "$.items[0].serve"),
        ({"name": " "}, "$.items[0].name"),
        ({"role": "king"}, "$.items[0].role"),
        ({"allergens": [1]}, "$.items[0].allergens[0]"),
    ],
)
def test_a_bad_item_is_named_by_its_path(change, where):
    """One sentence, with the path of the bad value."""
    with pytest.raises(CollopError) as caught:
        read_problem(one_fire(item("steaks", **change)))
    assert caught.value.where == where
    assert str(caught.value.message).endswith(".")


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"schema": "collop.fire/2"}, "$.schema"),
        ({"serve": []}, "$.serve"),
        ({"serve": [{"id": "a", "at": "seven"}]}, "$.serve[0].at"),
        ({"serve": [{"id": "a", "at": "2026-06-13T19:00+02:00"}]}, "$.serve[0].at"),
        ({"serve": [{"id": "a", "at": "2026-06-13T19:00"}] * 2}, "$.serve[1].id"),
        (
            {
                "serve": [
                    {"id": "a", "at": "2026-06-13T01:00"},
                    {"id": "b", "at": "2026-06-13T19:00"},
                ]
            },
            "$.serve",
        ),
        ({"now": "2026-06-13T19:00"}, "$.now"),
        ({"fire": {"zones": []}}, "$.fire.zones"),
        ({"fire": {"zones": [{"id": "g", "heats": ["direct"]}]}}, "$.fire.zones[0].area_sq_in"),
        ({"fire": {"zones": [{"id": "g", "heats": ["warm"]}]}}, "$.fire.zones[0].heats"),
        ({"fire": {"zones": [{"id": "g", "heats": ["oven"]}] * 2}}, "$.fire.zones[1].id"),
        ({"fire": None}, "$.fire"),
        ({"items": []}, "$.items"),
        ({"items": [item("a")] * 2}, "$.items[1].id"),
        ({"items": [item(f"a{n}") for n in range(41)]}, "$.items"),
        ({"chance": 1.0}, "$.chance"),
        ({"unit": "K"}, "$.unit"),
        ({"dont_eats": [{"what": "pork"}] * 21}, "$.dont_eats"),
    ],
)
def test_a_bad_fire_is_named_by_its_path(change, where):
    """One sentence, with the path of the bad value."""
    with pytest.raises(CollopError) as caught:
        read_problem(one_fire(**change))
    assert caught.value.where == where


_ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda more: (
        st.lists(more, max_size=3) | st.dictionaries(st.text(max_size=8), more, max_size=3)
    ),
    max_leaves=6,
)
_KEYS = st.sampled_from([*sorted(one_fire()), "now", "ride_min", "unit", "dont_eats", "heads"])
_ITEM_KEYS = st.sampled_from([*sorted(item("a")), "body", "stages", "done_f", "rest_min", "pieces"])


@given(_KEYS, _ANYTHING)
def test_any_value_is_read_or_refused_in_words(key, value):
    """Whatever stands at a key of the fire, it is read or refused by a `CollopError`."""
    try:
        read_problem(one_fire(**{key: value}))
    except CollopError as error:
        assert error.message


@given(_ITEM_KEYS, _ANYTHING)
def test_any_value_of_an_item_is_read_or_refused_in_words(key, value):
    """Whatever stands at a key of an item, it is read or refused by a `CollopError`."""
    try:
        read_problem(one_fire(item("steaks", **{key: value})))
    except CollopError as error:
        assert error.message
