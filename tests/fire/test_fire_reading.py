"""Reading a fire: what is meant is kept, what is wrong is named in one sentence with its path."""

from __future__ import annotations

from fractions import Fraction
from xml.etree.ElementTree import ParseError, fromstring

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


@pytest.mark.parametrize(("cook_as", "rule_f"), [("whole", 145), ("ground", 160), ("poultry", 165)])
def test_a_wish_a_hair_under_the_published_minimum_is_refused(cook_as, rule_f):
    """FSIS_MIN: at it and over it are read as they are; a hundredth less is refused, F and C."""
    for name, least, step in (("done_f", rule_f, 0.01), ("done_c", (rule_f - 32) / 1.8, 0.005)):
        for done in (least, least + step):
            read = read_problem(one_fire(item("steaks", cook_as=cook_as, **{name: done})))
            asked_f = done if name == "done_f" else done * 1.8 + 32
            assert read.items[0].done_c * 1.8 + 32 == pytest.approx(asked_f, abs=1e-9)
        with pytest.raises(CollopError, match="published minimum"):
            read_problem(one_fire(item("steaks", cook_as=cook_as, **{name: least - step})))


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
        ({"allergens": ["milk"] * 21}, "$.items[0].allergens"),
        ({"allergens": ["milk", "x" * 121]}, "$.items[0].allergens[1]"),
        ({"carve": "x" * 241}, "$.items[0].carve"),
        ({"species": "x" * 121}, "$.items[0].species"),
        ({"weight_lb": "0.009"}, "$.items[0].weight_lb"),
        ({"piece_lb": "0.001"}, "$.items[0].piece_lb"),
        ({"piece_lb": "2.21"}, "$.items[0].piece_lb"),
        ({"pieces": 4, "piece_lb": "0.44"}, "$.items[0].piece_lb"),
        ({"rest_min": 61}, "$.items[0].rest_min"),
        ({"hold_min": 241}, "$.items[0].hold_min"),
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
        ({"dont_eats": [{"what": "x" * 121}]}, "$.dont_eats[0].what"),
        ({"dont_eats": [{"what": "pork", "plate": "x" * 6001}]}, "$.dont_eats[0].plate"),
        ({"name": "x" * 121}, "$.name"),
    ],
)
def test_a_bad_fire_is_named_by_its_path(change, where):
    """One sentence, with the path of the bad value."""
    with pytest.raises(CollopError) as caught:
        read_problem(one_fire(**change))
    assert caught.value.where == where


def everywhere(text):
    """Return fires that hold a text each at another place, with the path of it."""
    grill = {"id": "g", "heats": ["direct"], "area_sq_in": 300}
    serve = {"id": "main", "at": "2026-06-13T19:00"}
    yield "$.name", one_fire(name=text)
    yield "$.serve[0].id", one_fire(serve=[serve | {"id": text}])
    yield "$.fire.zones[0].id", one_fire(fire={"zones": [grill | {"id": text}]})
    yield "$.fire.zones[0].name", one_fire(fire={"zones": [grill | {"name": text}]})
    yield "$.dont_eats[0].what", one_fire(dont_eats=[{"what": text}])
    yield "$.dont_eats[0].plate", one_fire(dont_eats=[{"what": "pork", "plate": text}])
    for key in ("id", "name", "species", "carve"):
        yield f"$.items[0].{key}", one_fire(item("steaks", **{key: text}))
    yield "$.items[0].allergens[0]", one_fire(item("steaks", allergens=[text]))


@pytest.mark.parametrize("sign", ["\ud800", "\ufffe", "\uffff", "\x00", "\x1b", "\x7f"])
def test_what_cannot_be_printed_is_refused_wherever_it_stands(sign):
    """No half of a pair, no control; an XML reader (expat) takes none of them either, but DEL."""
    if sign != "\x7f":
        with pytest.raises((ParseError, UnicodeEncodeError)):
            fromstring(f"<a>{sign}</a>")  # noqa: S314 -- our own text
    for where, problem in everywhere(f"a{sign}b"):
        with pytest.raises(CollopError, match="cannot be printed") as caught:
            read_problem(problem)
        assert caught.value.where == where
        assert caught.value.message.encode("utf-8")


def test_pieces_of_unlike_weight_are_read():
    """The heaviest of three birds is well over a third of them all."""
    birds = item("birds", weight_lb="12.0", pieces=3, piece_lb="5.5")
    assert read_problem(one_fire(birds)).items[0].piece_mlb == 5500


def test_areas_are_read_in_thousandths_on_the_safe_side():
    """What lies there is rounded up, where it lies down: no grill is fuller than it is told."""
    grill = {"id": "g", "heats": ["direct"], "area_sq_in": 100.00099}
    problem = read_problem(one_fire(item("a", area_sq_in=20.00001), fire={"zones": [grill]}))
    assert problem.items[0].area_sq_in == Fraction(20001, 1000)
    assert problem.zones[0].area_sq_in == 100


def test_now_counts_against_the_first_meal_that_has_food():
    """Lunch is over, and nothing was for it: supper is planned all the same."""
    serve = [{"id": "lunch", "at": "2026-06-13T12:00"}, {"id": "supper", "at": "2026-06-13T19:00"}]
    fire = one_fire(item("steaks", serve="supper"), serve=serve, now="2026-06-13T13:00")
    assert read_problem(fire).now is not None
    with pytest.raises(CollopError) as caught:
        read_problem(one_fire(item("steaks", serve="lunch"), serve=serve, now="2026-06-13T13:00"))
    assert caught.value.where == "$.now"


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
