"""What a cut is made of, at any depth of its batch, and who may eat it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.spread.diet import may_eat, why_not
from collop.spread.problem import Avoid
from spread.asked import ask, first, group, offer, plan, read, rules


def batch(word, depth):
    """Return a word wrapped in batches within batches."""
    content = word
    for level in range(depth):
        content = {"name": f"mix {level}", "contains": ["salt", content]}
    return content


def eaten_by(avoid, **more):
    """Tell whether somebody who avoids something may eat a beef line of this make."""
    found = read(ask(offer("A", **more), groups=[group(1, avoid), group(1)]))
    return may_eat(found.groups[0], found.offers[0])


@given(depth=st.integers(0, 20), word=st.sampled_from(["sesame", "milk", "wheat", "peanut"]))
def test_an_allergen_is_found_at_any_depth_of_a_batch(depth, word):
    """Sesame in an oil in a paste in a marinade is sesame."""
    contains = [batch(word, depth)]
    assert not eaten_by(f"allergen:{word}", contains=contains)
    assert eaten_by("allergen:lupin", contains=contains)


def test_a_batch_nested_without_end_is_refused():
    """More than twenty levels deep is no recipe."""
    with pytest.raises(BadValue, match="nested too deeply"):
        read(ask(offer("A", contains=[batch("salt", 23)])))


@pytest.mark.parametrize(
    ("casing", "animals"),
    [("hog", {"pork"}), ("sheep", {"lamb"}), ("collagen", {"beef", "pork"}), ("beef", {"beef"}),
     ("goat", {"goat"}), ("cellulose", set()), ("plant", set())],
)  # fmt: skip
def test_a_casing_counts_as_its_animal(casing, animals):
    """Chicken links in hog casing are pork; collagen may be of cattle or pigs."""
    for animal in ("beef", "pork", "lamb", "goat"):
        eaten = eaten_by(f"species:{animal}", species="chicken", casing=casing)
        assert eaten == (animal not in animals)
    assert not eaten_by(f"casing:{casing}", species="chicken", casing=casing)


def test_a_casing_inside_a_batch_counts_too():
    """A filling with links in hog casing is not for a table without pork."""
    filling = [{"name": "links", "species": "beef", "casing": "hog"}]
    assert not eaten_by("species:pork", contains=filling)
    assert not eaten_by("casing:hog", contains=filling)


@pytest.mark.parametrize(
    ("avoid", "word"),
    [("gluten", "wheat"), ("gluten", "barley"), ("wheat", "gluten"), ("nuts", "almond"),
     ("soya", "soy"), ("dairy", "milk"), ("groundnut", "peanut")],
)  # fmt: skip
def test_words_that_cover_each_other_keep_a_line_off(avoid, word):
    """Who avoids gluten gets no wheat; what only says gluten may be wheat; nuts are almonds."""
    assert not eaten_by(f"allergen:{avoid}", contains=[word])


@pytest.mark.parametrize(
    ("avoid", "species"),
    [("pig", "pork"), ("pork", "pig"), ("hog", "pork"), ("sheep", "lamb"), ("lamb", "mutton"),
     ("mutton", "lamb"), ("lamb", "sheep"), ("beef", "veal"), ("cow", "beef"), ("kid", "goat"),
     ("Pork", "pork")],
)  # fmt: skip
def test_an_animal_is_left_out_under_any_of_its_names(avoid, species):
    """Pig is pork, mutton is lamb at another age, a cow is beef."""
    assert not eaten_by(f"species:{avoid}", species=species)


def test_meat_in_a_batch_makes_it_meat():
    """Cheese with ham in it feeds nobody who eats no meat."""
    ham = [{"name": "filling", "contains": ["ham"]}]
    assert eaten_by("meat", species="none")
    assert not eaten_by("meat", species="none", contains=ham)
    assert not eaten_by("species:pork", species="none", contains=ham)
    assert not eaten_by("meat", species="none", casing="sheep")


def test_a_slip_of_the_pen_in_an_allergen_is_asked_about():
    """`sesme` is refused with what may be meant; an ordinary word is not."""
    with pytest.raises(BadValue, match="did you mean sesame"):
        read(ask(offer("A", contains=["sesme"])))
    assert read(ask(offer("A", contains=["thyme"]))).offers[0].allergens == ()


def test_declared_allergens_are_shown_in_order():
    """The plan says what a line contains, from every depth."""
    contains = ["wheat", {"name": "marinade", "contains": ["soy", "sesame"]}]
    spread = first(ask(offer("A", contains=contains)))
    assert spread["lines"][0]["contains"] == ["sesame", "soy", "wheat"]


def test_meat_free_food_never_counts_for_those_who_eat_meat():
    """Four meat-eaters beside a heap of cheese and little beef are not fed."""
    cheese = offer("C", species="none")
    assert plan(ask(offer("A", free_lb="1.00"), cheese))["answer"] == "no"
    both = ask(offer("A"), cheese, groups=[group(4), group(2, "meat")])
    lines = {line["id"]: line for line in first(both)["lines"]}
    assert lines["A"]["not_for"] == ["meat"]
    assert lines["C"]["not_for"] == ["all"]
    assert lines["C"]["meals"] >= 2


def test_why_a_group_may_not_eat_something_is_told_in_order():
    """The avoids that a line runs into, sorted."""
    found = read(ask(offer("A", species="pork", contains=["milk", "wheat"]),
                     groups=[group(1, "species:pork", "allergen:milk"), group(1)]))  # fmt: skip
    assert why_not(found.groups[0], found.offers[0]) == (
        Avoid("allergen", "milk"), Avoid("species", "pork"))  # fmt: skip


def test_one_cut_nobody_avoids_can_feed_all_tables():
    """Two tables with different don't-eats share what both may eat: Hall's condition."""
    tables = [group(4, "species:pork"), group(4, "species:beef")]
    shared = ask(offer("A", species="lamb"), groups=tables)
    assert first(shared)["lines"][0]["not_for"] == []
    apart = ask(offer("A"), offer("B", species="pork"), groups=tables, rules=rules())
    assert {line["weight_lb"] for line in first(apart)["lines"]} == {"1.75"}
    short = ask(offer("A", free_lb="1.00"), offer("B", species="pork"), groups=tables)
    assert plan(short)["answer"] == "no"
