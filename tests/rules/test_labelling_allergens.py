"""Allergens of a label: words known and unknown, ingredients that give one away, cautions."""

from __future__ import annotations

import pytest

from collop.errors import BadValue, Contradiction
from collop.reference import read_allergens
from collop.rules.labelling_allergens import (
    RULE_OF,
    check_ingredients,
    check_name_and_species,
    contains_words,
    declared,
    found_in,
)


@pytest.mark.parametrize("name", RULE_OF)
def test_each_major_allergen_is_read_by_its_name_and_other_words(name):
    """The name and every other word of the table lead to the declaration."""
    for word in (name, name.upper(), *read_allergens()[name].also_called):
        assert [one.name for one in declared([word])] == [name]


def test_kinds_are_named_beside_their_group():
    """A fish, a shellfish or a nut stands with its kind; two kinds of one group stand together."""
    found = declared(["salmon", "anchovy", "shrimp", "almond", "milk"])
    assert contains_words(found) == (
        "Contains: milk, fish (salmon, anchovy), crustaceans (shrimp), tree nuts (almond)"
    )


def test_nothing_declared_is_said():
    """An empty declaration is printed in words."""
    assert contains_words(declared([])) == "Contains: none declared"


@pytest.mark.parametrize("word", ["nuts", "shellfish", "seafood", "gluten", "moonlight", "pork"])
def test_a_vague_or_unknown_word_is_refused(word):
    """A word that means several, or none, is refused with what to write."""
    with pytest.raises(BadValue, match="write"):
        declared(["milk", word])


@pytest.mark.parametrize(
    ("ingredient", "names"),
    [
        ("sesame oil", ("sesame",)),
        ("Wheat-flour", ("wheat",)),
        ("soy sauce", ("soy", "wheat")),
        ("peanut butter", ("peanut",)),
        ("milk powder and whole eggs", ("milk", "egg")),
        ("pine nuts", ("tree nuts",)),
        ("coconut milk", ()),
        ("almond milk", ("tree nuts",)),
        ("cocoa butter", ()),
        ("butter beans", ()),
        ("cream of tartar", ()),
        ("oyster mushrooms", ()),
        ("nutmeg", ()),
        ("buckwheat", ()),
        ("milk-free chocolate", ()),
        ("gluten free oats", ("oats",)),
        ("goat", ()),
        ("milk-fed veal", ()),
    ],
)
def test_ingredients_give_away_what_is_in_them(ingredient, names):
    """Longest words first; compound words that only sound like an allergen do not."""
    assert found_in(ingredient) == names


@pytest.mark.parametrize("name", RULE_OF)
def test_an_undeclared_major_allergen_in_the_ingredients_is_refused(name):
    """Each of the nine is refused with its rule until it is declared."""
    word = read_allergens()[name].also_called[0]
    with pytest.raises(Contradiction, match=RULE_OF[name]):
        check_ingredients(("pork", word), ())
    check_ingredients(("pork", word), declared([name]))


def test_the_sentence_names_ingredient_and_allergen():
    """The refusal says which ingredient gave it away."""
    with pytest.raises(Contradiction) as caught:
        check_ingredients(("pork", "sesame oil"), declared(["wheat"]))
    assert caught.value.message.startswith(
        "sesame oil is among the ingredients, but sesame is not declared"
    )
    assert caught.value.where == "$.product.ingredients[1]"


@pytest.mark.parametrize(
    ("name", "species", "needs"),
    [("Chicken thigh, soy-sesame", "chicken", ["soy", "sesame"]), ("Block", "cheese", ["milk"]),
     ("Grilling cheese", "none", ["milk"]), ("Breaded cod", "none", ["fish"])],
)  # fmt: skip
def test_name_and_species_give_away_what_is_in_it(name, species, needs):
    """A name or species that tells of a major allergen is refused until it is declared."""
    for missing in needs:
        found = declared([one for one in needs if one != missing])
        with pytest.raises(Contradiction, match=f"{missing} is not declared"):
            check_name_and_species(name, species, found)
    check_name_and_species(name, species, declared(needs))
    check_name_and_species("Milk-fed veal shank", "veal", ())


def test_mixed_nuts_undeclared_are_refused():
    """A word for several major allergens needs at least one of them declared."""
    with pytest.raises(Contradiction, match="peanut or tree nuts"):
        check_ingredients(("mixed nuts",), ())
    check_ingredients(("mixed nuts",), declared(["walnut", "peanut"]))


@pytest.mark.parametrize(
    ("ingredient", "said"),
    [("breadcrumbs", "wheat"), ("rusk", "wheat"), ("flour", "wheat"),
     ("Worcestershire sauce", "fish"), ("mustard", "mustard")],
)  # fmt: skip
def test_what_usually_holds_an_allergen_is_a_caution(ingredient, said):
    """Common practice: such a food blocks nothing, and the person is told to look."""
    (caution,) = check_ingredients((ingredient,), ())
    assert said in caution


@pytest.mark.parametrize("ingredient", ["rice flour", "gluten-free bread", "chickpea flour"])
def test_other_flours_are_no_caution(ingredient):
    """A flour that says it is of something else needs no look for wheat."""
    assert check_ingredients((ingredient,), ()) == ()


def test_a_group_without_its_kind_is_a_caution():
    """`Fish` alone prints, with the hint to name the kind (from memory)."""
    (caution,) = check_ingredients(None, declared(["fish"]))
    assert "from memory" in caution


@pytest.mark.parametrize(
    ("ingredient", "names"),
    [("milk, free range egg", ("milk", "egg")), ("milk (free range)", ("milk",)),
     ("egg free range", ("egg",)), ("butter; fed to nobody", ("milk",)),
     ("free from milk", ()), ("milk-free spread", ()), ("wheat-free flour", ())],
)  # fmt: skip
def test_only_what_is_said_to_be_left_out_is_left_out(ingredient, names):
    """The words "free" and "fed" speak of the word before them, not of one behind a comma."""
    assert found_in(ingredient) == names


@pytest.mark.parametrize(
    ("ingredient", "names"),
    [("sodium caseinate", ("milk",)), ("crème fraîche", ("milk",)), ("Parmesan", ("milk",)),
     ("halva", ("sesame",)), ("surimi", ("fish",)), ("matzo meal", ("wheat",)),
     ("praline", ("tree nuts",)), ("wholewheat flour", ("wheat",)), ("milkpowder", ("milk",)),
     ("sesameoil", ("sesame",)), ("buckwheat", ()), ("milkcap mushrooms", ()), ("nutmeg", ()),
     ("butternut squash", ()), ("coconut", ()), ("eggplant", ()), ("beef and cod fat", ())],
)  # fmt: skip
def test_words_that_hide_an_allergen_are_known(ingredient, names):
    """Common practice: cheeses, pastes and words written together tell what they are made of."""
    assert found_in(ingredient) == names


def test_what_is_said_to_lack_it_is_no_caution():
    """Soy-free lecithin needs no look for soy."""
    assert check_ingredients(("soy-free lecithin",), ()) == ()
    assert check_ingredients(("lecithin",), ()) != ()
