"""Allergens: the names that are known, and what is left out with each."""

from __future__ import annotations

import re
from dataclasses import replace
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue, ReferenceTableError
from collop.reference import ALLERGENS, Status, allergen_named, allergens_covered, read_allergens
from collop.reference.allergens import words_of

HEADER = "name,also_called,list,covers,source_id,status,note\n"
SOURCES = "source_id,title,publisher,year,locator,url\nS1,A title,,,,\n"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("peanuts", "peanut"),
        ("PEANUT", "peanut"),
        ("Groundnuts", "peanut"),
        ("soya", "soy"),
        ("soybeans", "soy"),
        ("soy-bean", "soy"),
        ("dairy", "milk"),
        (" Yoghurt. ", "milk"),
        ("eggs", "egg"),
        ("anchovies", "fish"),
        ("Tree  nuts", "tree nuts"),
        ("almonds", "tree nuts"),
        ("brazil nuts", "tree nuts"),
        ("crustacean shellfish", "crustaceans"),
        ("prawns", "crustaceans"),
        ("sulfites", "sulphites"),
        ("SO2", "sulphites"),
        ("mollusks", "molluscs"),
        ("mussels", "molluscs"),
        ("oat", "oats"),
        ("tahini", "sesame"),
        ("sesame seeds", "sesame"),
        ("gluten", "gluten"),
        ("spelt", "wheat"),
        ("\uff57heat", "wheat"),
        ("nuts", "nuts"),
    ],
)
def test_an_allergen_is_known_by_many_words(text, name):
    """Case, plural, hyphens and other words do not matter."""
    assert allergen_named(text) == name


@pytest.mark.parametrize(
    "text", ["", "s", "es", "moonlight", "pork", "nutmeg", "milkweed", "wheats on"]
)
def test_an_unknown_word_is_told_as_unknown(text):
    """Nothing is matched by a part of a word."""
    assert allergen_named(text) is None


@pytest.mark.parametrize("text", ["", "moonlight"])
def test_to_avoid_an_unknown_word_is_refused(text):
    """An allergen that is not known never means that nothing is left out."""
    with pytest.raises(BadValue, match="is not a known allergen; use one of milk, egg"):
        allergens_covered(text)


def test_avoiding_gluten_leaves_out_every_cereal_that_holds_it():
    """Gluten is an entry of its own and covers wheat, rye, barley and oats."""
    assert allergens_covered("gluten") == {"gluten", "wheat", "rye", "barley", "oats"}
    assert allergens_covered("coeliac") == allergens_covered("gluten")


def test_avoiding_wheat_does_not_leave_out_barley():
    """Wheat is one cereal; a food that only says gluten still meets it."""
    assert allergens_covered("wheat") == {"wheat"}
    assert not allergens_covered("wheat") & allergens_covered("barley malt")
    assert allergens_covered("wheat") & allergens_covered("gluten")


@pytest.mark.parametrize(
    ("word", "left_out"),
    [
        ("shellfish", {"crustaceans", "molluscs"}),
        ("seafood", {"fish", "crustaceans", "molluscs"}),
        ("nuts", {"tree nuts", "peanut"}),
        ("soy sauce", {"soy", "wheat"}),
    ],
)
def test_a_word_that_means_several_leaves_out_all(word, left_out):
    """Where people mean different things by a word, the widest is taken."""
    assert allergens_covered(word) == left_out | {word}


@given(st.sampled_from(sorted(ALLERGENS)))
def test_every_name_is_known_and_covers_itself(name):
    """Names, and all they cover, are names that are known."""
    assert allergen_named(name) == name
    assert name in allergens_covered(name) <= set(ALLERGENS)


@given(st.text(max_size=40))
def test_no_text_makes_naming_fail(text):
    """Any text is a known name or none."""
    assert allergen_named(text) in {None, *ALLERGENS}


def test_every_other_word_leads_to_its_allergen_in_any_case():
    """All words of the table resolve, in capitals and in the plural."""
    for allergen in ALLERGENS.values():
        for word in allergen.also_called:
            assert allergen_named(word.upper()) == allergen.name
            assert allergen_named(word if word.endswith("s") else f"{word}s") == allergen.name


def test_only_the_major_allergens_of_the_united_states_were_read():
    """The names of the European annex are marked as recalled."""
    for allergen in ALLERGENS.values():
        expected = Status.SEEN if allergen.listed_in == "us-major" else Status.MEMORY
        assert allergen.status is expected


def test_the_list_cannot_be_changed():
    """The names are fixed while the program runs."""
    assert isinstance(ALLERGENS, MappingProxyType)


def test_a_covered_name_that_is_not_in_the_list_is_a_fault(tmp_path):
    """A misspelt cover would leave an allergen in, so it stops the reading."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "sources.csv").write_text(SOURCES)
    row = "gluten,,eu-annex,wheta,S1,memory,\n"
    (tmp_path / "rules" / "allergens.csv").write_text(HEADER + row)
    message = re.escape("rules/allergens.csv, row 2, column covers: 'wheta' is not a name")
    with pytest.raises(ReferenceTableError, match=message):
        read_allergens(tmp_path)


def test_a_word_with_two_meanings_is_a_fault():
    """One word never leads to two allergens."""
    one, two = ALLERGENS["milk"], replace(ALLERGENS["egg"], also_called=("Dairy",))
    with pytest.raises(ReferenceTableError, match=r"row 3, column also_called: 'Dairy' has two"):
        words_of({"milk": one, "egg": two})
