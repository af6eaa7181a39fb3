"""Which published minimum rules a thing, however its line was filled in.

USDA FSIS, Safe minimum internal temperatures (source id FSIS_MIN): 145 °F for whole cuts, 160 °F
for mince, 165 °F for birds. Which words tell a bird or mince: common practice, no published source.
"""

from __future__ import annotations

import itertools

import pytest

from collop.errors import BadValue
from collop.fire import fire
from collop.fire.problem import FORMS
from collop.fire.reading import read_problem
from collop.fire.reading_items import COOK_AS, TREATMENTS
from collop.fire.ruling import ruling_cook_as
from collop.reference import cook_minimum
from fire.fires import item, one_fire

ORDER = {"none": 0, "whole": 1, "ground": 2, "poultry": 3}


def body(form):
    """Return a body of an ordinary thickness."""
    return {"form": form, "thickness_mm": 25}


@pytest.mark.parametrize(
    ("change", "ruled", "core_f"),
    [
        ({"species": "chicken"}, "poultry", 165),
        ({"species": " Duck "}, "poultry", 165),
        ({"species": "guinea fowl"}, "poultry", 165),
        ({"species": "turkey", "cook_as": "ground"}, "poultry", 165),
        ({"species": None, "name": "Chicken thighs"}, "poultry", 165),
        ({"species": "pork", "name": "Chicken and pork links"}, "poultry", 165),
        ({"body": body("bird-flat")}, "poultry", 165),
        ({"body": body("bird-whole"), "species": None}, "poultry", 165),
        ({"body": body("links")}, "ground", 160),
        ({"body": body("patty")}, "ground", 160),
        ({"name": "Pork sausages"}, "ground", 160),
        ({"name": "Hamburgers"}, "ground", 160),
        ({"name": "Lamb mince"}, "ground", 160),
        ({"name": "Kofta"}, "ground", 160),
        ({"treatment": "tenderised"}, "ground", 160),
        ({"name": "Goose skirt"}, "whole", 145),
        ({"name": "Duck Creek lamb leg", "species": "lamb"}, "whole", 145),
        ({"name": "Silverside, uncooked"}, "whole", 145),
    ],
)
def test_a_rule_that_is_told_too_low_is_raised(change, ruled, core_f):
    """A bird is ruled as poultry, links and mince as ground; a whole cut stays one."""
    found = read_problem(one_fire(item("steaks", **change))).items[0]
    assert found.cook_as == ruled
    assert cook_minimum(found.cook_as).whole_fahrenheit == core_f


@pytest.mark.parametrize(
    ("species", "form", "core_f"),
    [("chicken", "bird-flat", 165), ("chicken", "steak", 165), ("pork", "links", 160),
     ("beef", "patty", 160)],
)  # fmt: skip
def test_no_sheet_plans_a_bird_or_a_link_as_a_whole_cut(species, form, core_f):
    """Told as whole, it comes off at its own published minimum all the same."""
    wrong = item("it", species=species, body=body(form), method="indirect", cook_as="whole")
    plan = fire(one_fire(wrong))
    one = plan["items"][0]
    assert one["minimum"]["core_f"] == core_f
    assert min(one["pull_f"], one["target_f"], one["due_f"]) >= core_f
    assert not any("145" in step["what"] for step in plan["steps"])


def test_the_ruling_only_ever_raises():
    """Whatever is known besides, the rule is never under the one that was told of meat."""
    for species, told, treatment, form, casing, name in itertools.product(
        ("beef", "chicken", "meat", None, {"pork", "duck"}), COOK_AS, TREATMENTS,
        (None, *FORMS), (None, "hog"), ("", "Links", "Chicken"),
    ):  # fmt: skip
        ruled = ruling_cook_as(
            species, told, treatment=treatment, form=form, casing=casing, name=name
        )
        assert ORDER[ruled] >= ORDER[told]
        if species is not None:
            assert ruled != "none"


@pytest.mark.parametrize("species", ["pork", "chicken", "fish"])
def test_meat_without_a_rule_is_refused(species):
    """None is for food without meat; what is ready to eat is left off the fire."""
    with pytest.raises(BadValue, match=r"whole, ground or poultry.*left off the fire") as caught:
        read_problem(one_fire(item("ham", species=species, cook_as="none")))
    assert caught.value.where == "$.items[0].cook_as"


def test_a_bird_is_not_without_a_rule_for_want_of_a_species():
    """Its form tells it."""
    bird = item("it", species=None, cook_as="none", body=body("bird-flat"))
    with pytest.raises(BadValue, match="give poultry") as caught:
        read_problem(one_fire(bird))
    assert caught.value.where == "$.items[0].cook_as"


@pytest.mark.parametrize("species", [None, "none", "vegetable", "cheese"])
def test_food_without_meat_has_no_rule(species):
    """Bean links in no casing of an animal are no meat."""
    links = item("links", species=species, cook_as="none", name="Bean links")
    assert read_problem(one_fire(links)).items[0].is_meat_free


def test_a_core_under_the_raised_rule_is_refused():
    """150 °F would do for a whole cut, and is told of a bird."""
    with pytest.raises(BadValue, match="165") as caught:
        read_problem(one_fire(item("bird", species="chicken", done_f=150)))
    assert caught.value.where == "$.items[0].done_f"
