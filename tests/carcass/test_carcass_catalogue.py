"""Cuts are found by any of their names, and no bare word is guessed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass import SPECIES, cut_by_id, cuts_of, find_cuts, large_cuts
from collop.errors import BadValue


def names(text, species=""):
    """Return (species, name) of what a text finds."""
    return [(cut.species, cut.name) for cut in find_cuts(text, species)]


EVERY = [cut for species in SPECIES for cut in cuts_of(species)]


def test_there_are_more_than_110_published_cuts_and_some_of_goat_and_duck():
    """Every animal has cuts; ids do not repeat."""
    assert sum(cut.species in {"beef", "pork", "lamb", "chicken"} for cut in EVERY) == 121
    assert len(cuts_of("goat")) >= 10
    assert len(cuts_of("duck")) >= 6
    assert len({cut.cut_id for cut in EVERY}) == len(EVERY)


@pytest.mark.parametrize("cut", EVERY, ids=lambda cut: cut.cut_id)
def test_every_cut_is_found_first_by_its_own_name(cut):
    """The full name finds its cut among the exact hits, by every other name as well."""
    for text in (cut.name, *cut.other_names):
        found = find_cuts(text, cut.species)
        assert cut in found
    assert cut in find_cuts(cut.name)[: len(SPECIES)]


@pytest.mark.parametrize("cut", EVERY, ids=lambda cut: cut.cut_id)
def test_every_cut_lies_in_a_large_cut_of_its_animal(cut):
    """The only other places are trim and the whole animal."""
    assert cut.large_cut in {one.name for one in large_cuts(cut.species)} | {"trim", "whole"}


@pytest.mark.parametrize("cut", EVERY, ids=lambda cut: cut.cut_id)
def test_what_was_not_read_is_marked(cut):
    """Goat and duck are the shop's own figures; published rows are recalled as a whole."""
    own = cut.species in {"goat", "duck"}
    assert cut.basis.standing == ("shop" if own else "memory")
    assert not cut.basis.is_cited
    if own:
        assert (cut.imps, cut.unece) == (None, None)
        assert "common practice, no published source" in cut.basis.text()


@pytest.mark.parametrize(
    "text", ["osso buco cut", "OSSO BUCO CUT", "Osso-Bûco  (cut)", "osso buco, cut!"]
)
def test_case_accents_and_punctuation_do_not_matter(text):
    """The same cut is found however it is typed."""
    assert names(text) == [("beef", "Foreshank, cross-cut")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("onglet", ("beef", "Hanger steak")),
        ("butcher's steak", ("beef", "Hanger steak")),
        ("butchers steak", ("beef", "Hanger steak")),
        ("coulotte", ("beef", "Sirloin cap")),
        ("spatchcock", ("chicken", "Flat whole chicken, backbone out")),
        ("magret", ("duck", "Duck breast, boneless")),
        ("116a", ("beef", "Chuck roll")),
        ("St. Louis", ("pork", "Spareribs")),
        ("gigot", ("lamb", "Leg, sirloin on")),
    ],
)
def test_other_names_and_numbers_find_the_cut(text, expected):
    """A regional name or an item number that was read stands for its cut."""
    assert names(text)[0] == expected


@pytest.mark.parametrize(
    ("text", "animals"),
    [
        ("butt", {"beef", "pork"}),
        ("sirloin", {"beef", "pork", "lamb"}),
        ("fillet", {"beef", "pork", "lamb", "chicken", "duck"}),
        ("chop", {"pork", "lamb", "goat"}),
    ],
)
def test_an_ambiguous_word_finds_all_with_their_animals(text, animals):
    """No bare butt, sirloin or fillet is decided for the customer."""
    found = find_cuts(text)
    assert animals <= {cut.species for cut in found}
    assert all(cut.species in cut.title.casefold() for cut in found)


def test_an_animal_narrows_the_search_by_any_of_its_names():
    """A pig is pork."""
    assert {cut.species for cut in find_cuts("butt", "pig")} == {"pork"}


def test_a_name_half_typed_finds_what_it_begins():
    """The last word may be unfinished, from three letters on."""
    assert ("beef", "Brisket flat") in names("brisk")
    assert names("br") == []


def test_a_muscle_finds_every_cut_of_it():
    """The muscle is the identity that does not change with the region."""
    assert {"beef", "pork", "lamb"} <= {animal for animal, _ in names("psoas major")}


@pytest.mark.parametrize("text", ["", "  ", "?!", "unicorn", "beef unicorn"])
def test_nothing_is_found_for_no_name(text):
    """No name, no cut; never a near miss."""
    assert find_cuts(text) == ()


def test_an_unknown_animal_or_id_is_one_sentence():
    """What cannot be meant is refused, with what can."""
    with pytest.raises(BadValue, match="'horse' is no animal here; use one of beef"):
        find_cuts("leg", "horse")
    with pytest.raises(BadValue, match="There is no cut 'X1'"):
        cut_by_id("X1")
    assert cut_by_id("B029").name == "Hanger steak"


@given(st.text(max_size=60))
def test_any_text_is_a_search(text):
    """No text raises; narrowing by an animal keeps exactly its cuts, in the same order."""
    found = find_cuts(text)
    for species in SPECIES:
        assert find_cuts(text, species) == tuple(cut for cut in found if cut.species == species)
