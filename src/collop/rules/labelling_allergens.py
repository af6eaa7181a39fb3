"""Allergens on a label: what is declared, and what the ingredients give away.

The words that stand for an allergen are those of `collop.reference.ALLERGENS`, those that hide one
stand in `labelling_hidden`.  Which compound
words do not mean it, and which foods usually hold one, is common practice, no published source.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from collop.errors import BadValue, Contradiction
from collop.reference.allergens import ALLERGENS, allergen_named
from collop.rules.labelling import cited
from collop.rules.labelling_hidden import HIDDEN, within

__all__ = [
    "RULE_OF",
    "Declared",
    "check_ingredients",
    "check_name_and_species",
    "contains_words",
    "declared",
    "found_in",
]

#: The rule that asks for each of the nine major allergens.
RULE_OF = {
    "milk": "LB096", "egg": "LB097", "fish": "LB098", "crustaceans": "LB099",
    "tree nuts": "LB100", "peanut": "LB101", "wheat": "LB102", "soy": "LB103", "sesame": "LB104",
}  # fmt: skip
# a label names the kind of these (from memory), so the word alone is too little
_NAME_THE_KIND = {"fish": "fish", "crustaceans": "shellfish", "tree nuts": "nut"}
# a word for one of several: a label must say which
_WHICH = frozenset({"gluten", "shellfish", "nuts", "seafood"})
# compound words in which the allergen's own word does not mean it, and words that hide one
_MEANS = {
    **HIDDEN,
    "coconut milk": (), "coconut cream": (), "rice milk": (), "cocoa butter": (),
    "shea butter": (), "apple butter": (), "butter bean": (), "butter lettuce": (),
    "cream of tartar": (), "milk lamb": (), "milk veal": (), "oyster mushroom": (),
    "lobster mushroom": (), "crab apple": (),
    "almond milk": ("tree nuts",), "cashew milk": ("tree nuts",), "almond butter": ("tree nuts",),
    "cashew butter": ("tree nuts",), "soy milk": ("soy",), "soya milk": ("soy",),
    "oat milk": ("oats",), "cod fat": (), "salmon cut": (),
}  # fmt: skip
_USUALLY = {
    "rusk": "wheat", "breadcrumb": "wheat", "bread crumb": "wheat", "bread": "wheat",
    "flour": "wheat", "panko": "wheat", "batter": "wheat", "beer": "barley", "ale": "barley",
    "worcestershire sauce": "fish", "worcester sauce": "fish", "tamari": "soy", "miso": "soy",
    "hoisin": "soy", "teriyaki": "soy", "lecithin": "soy", "vegetable protein": "soy",
    "pesto": "tree nuts", "hummus": "sesame", "noodle": "wheat", "pasta": "wheat",
    "pastry": "wheat", "biscuit": "wheat", "cracker": "wheat", "crouton": "wheat",
    "brioche": "wheat", "graham": "wheat", "gravy": "wheat", "roux": "wheat", "stout": "barley",
    "lager": "barley", "custard": "milk", "chocolate": "milk", "bechamel": "milk",
    "aioli": "egg", "remoulade": "egg", "dashi": "fish", "caesar dressing": "fish",
    "za atar": "sesame", "zaatar": "sesame", "dukkah": "sesame", "chestnut": "tree nuts",
}  # fmt: skip
# flours that are not of wheat
_OTHER_FLOURS = {"rice", "chickpea", "pea", "corn", "maize", "potato", "tapioca", "gram", "soy",
                 "soya", "oat", "rye", "barley", "coconut", "almond", "buckwheat", "lentil",
                 "mustard", "lupin"}  # fmt: skip
_LONGEST_PHRASE = 4
_CLAUSE = re.compile(r"[,;:/&+|()\[\]{}]|\.\s")
# "egg, free range" and "wheat, free of salt" hold them all the same
_NOT_WITHOUT = frozenset({"range", "run", "of", "from", "roaming"})


@dataclass(frozen=True, slots=True)
class Declared:
    """One declared allergen: its name, and the kind that was written, e.g. ``salmon``."""

    name: str
    kind: str = ""

    def words(self) -> str:
        """Return what stands on the label."""
        return f"{self.name} ({self.kind})" if self.kind else self.name


def declared(contains: Iterable[str]) -> tuple[Declared, ...]:
    """Return the allergens of a declaration, in the order of the table, each once.

    Parameters
    ----------
    contains : iterable of str
        Names, other words for them, or kinds such as ``salmon``.

    Raises
    ------
    BadValue
        If a word is not known, or does not say which of several is meant.

    Examples
    --------
    >>> [one.words() for one in declared(["Salmon", "soya", "soy"])]
    ['fish (salmon)', 'soy']
    """
    kinds: dict[str, list[str]] = {}
    for index, word in enumerate(contains):
        where = f"$.product.contains[{index}]"
        name = allergen_named(word)
        if name is None:
            raise BadValue(
                f"{word[:40]!r} is not a known allergen; write one of {', '.join(RULE_OF)}, or "
                "the food itself, such as salmon; an empty list says that none is declared.",
                where=where,
            )
        if name in _WHICH:
            which = ", ".join(sorted(ALLERGENS[name].covers - {name}))
            raise BadValue(
                f"{word[:40]!r} does not say which; write the one that is in it ({which}).",
                where=where,
            )
        both = sorted(ALLERGENS[name].covers - {name})  # soy sauce is soy and wheat
        for one in both or [name]:
            told = kinds.setdefault(one, [])
            if one in _NAME_THE_KIND and (kind := _kind(word, one)) and kind not in told:
                told.append(kind)
    order = list(ALLERGENS)
    return tuple(Declared(name, ", ".join(kinds[name])) for name in sorted(kinds, key=order.index))


def _kind(word: str, name: str) -> str:
    plain = _plain(word)
    general = {name, *name.split(), "crustacean", "crustacean shellfish", "tree nut"}
    return "" if plain in general else plain


def contains_words(found: tuple[Declared, ...]) -> str:
    """Return the line that is never blank, e.g. ``Contains: none declared``."""
    return f"Contains: {', '.join(one.words() for one in found) or 'none declared'}"


def _plain(text: str) -> str:
    folded = unicodedata.normalize("NFKC", text).casefold()
    return re.sub(r"[\s\-_]+", " ", folded).strip(" .,;:()")


def _words(text: str) -> list[str]:
    # "creme" and "crème" are one word
    bare = "".join(one for one in unicodedata.normalize("NFKD", text)
                   if not unicodedata.combining(one))  # fmt: skip
    return re.findall(r"[^\W_]+", _plain(bare))


def _looked_up(phrase: str) -> tuple[str, ...] | None:
    """Return the allergens a phrase stands for, None if it says nothing."""
    for one in (phrase, phrase.removesuffix("s"), phrase.removesuffix("es")):
        if one in _MEANS:
            return _MEANS[one]
    name = allergen_named(phrase)
    if name is None:
        return None
    return tuple(sorted(ALLERGENS[name].covers - {name})) if name == "soy sauce" else (name,)


def found_in(ingredient: str) -> tuple[str, ...]:
    """Return the allergens whose words stand in an ingredient, longest words first.

    Examples
    --------
    >>> found_in("sesame oil"), found_in("coconut milk"), found_in("peanut butter")
    (('sesame',), (), ('peanut',))
    """
    found: dict[str, None] = {}
    for clause in _CLAUSE.split(ingredient):
        found |= dict.fromkeys(_found_in_clause(_words(clause)))
    return tuple(found)


def _found_in_clause(words: list[str]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    at = 0
    while at < len(words):
        for size in range(min(_LONGEST_PHRASE, len(words) - at), 0, -1):
            meant = _looked_up(" ".join(words[at : at + size]))
            if meant is not None:
                if not _is_without(words, at, at + size):
                    found |= dict.fromkeys(meant)
                at += size
                break
        else:
            if not _is_without(words, at, at + 1):
                found |= dict.fromkeys(within(words[at]))
            at += 1
    return tuple(found)


def _is_without(words: list[str], first: int, after: int) -> bool:
    """Tell whether a word is said not to be in it: ``gluten-free``, ``free from egg``."""
    following = words[after : after + 2]
    if following[:1] == ["fed"]:  # what the animal ate
        return True
    if following[:1] == ["free"]:
        return following[-1] not in _NOT_WITHOUT
    return words[max(first - 2, 0) : first] in (["free", "from"], ["free", "of"])


def check_ingredients(
    ingredients: tuple[str, ...] | None, found: tuple[Declared, ...]
) -> tuple[str, ...]:
    """Refuse an ingredient that gives away a major allergen nobody declared.

    Parameters
    ----------
    ingredients : tuple of str or None
        None for a single ingredient.
    found : tuple of Declared
        What is declared.

    Returns
    -------
    tuple of str
        Cautions: foods that usually hold an allergen, and allergens of other places' lists.

    Raises
    ------
    Contradiction
        Naming the ingredient and the allergen.

    Notes
    -----
    A word that is not known may still be an allergen: this check only ever finds too little.
    """
    names = {one.name for one in found}
    cautions = []
    for index, ingredient in enumerate(ingredients or ()):
        where = f"$.product.ingredients[{index}]"
        for name in found_in(ingredient):
            if names & ALLERGENS[name].covers:
                continue
            if majors := [one for one in RULE_OF if one in ALLERGENS[name].covers]:
                which = " or ".join(sorted(ALLERGENS[name].covers - _WHICH))
                raise Contradiction(
                    f"{ingredient} is among the ingredients, but {which} is not declared; add it "
                    f"to what it contains {cited(RULE_OF[majors[0]])}.",
                    where=where,
                )
            cautions.append(
                f"{ingredient} is among the ingredients, and {name} is not declared: some places "
                "ask for it."
            )
        cautions += _usual(ingredient, names)
    for one in found:
        if one.name in _NAME_THE_KIND and not one.kind:
            cautions.append(
                f"A label says which {_NAME_THE_KIND[one.name]} it is; declare the kind instead "
                "of the group (the naming of kinds is from memory, not checked)."
            )
    return tuple(cautions)


def check_name_and_species(
    name: str, species: str, found: tuple[Declared, ...], *, casing: str = ""
) -> None:
    """Refuse a name, a species or a casing that tells a major allergen nobody declared.

    Parameters
    ----------
    name, species : str
        As the shop calls it, e.g. ``Chicken thigh, soy and sesame``; the animal, or ``cheese``.
    found : tuple of Declared
        What is declared.
    casing : str
        Of what the casing is, empty for none.

    Raises
    ------
    Contradiction
        Naming the allergen.
    """
    names = {one.name for one in found}
    for key, text in (("name", name), ("species", species), ("casing", casing)):
        for told in found_in(text):
            if told in RULE_OF and told not in names:
                raise Contradiction(
                    f"The {key} {text!r} tells of {told}, but {told} is not declared; add it to "
                    f"what it contains {cited(RULE_OF[told])}.",
                    where=f"$.product.{key}",
                )


def _usual(ingredient: str, names: set[str]) -> list[str]:
    """Return a caution for a food that usually holds an allergen nobody declared."""
    words = _words(ingredient)
    singular = " ".join(word.removesuffix("s") for word in words)
    for food, name in _USUALLY.items():
        if not re.search(rf"\b{food}\b", singular) or name in names:
            continue
        if re.search(rf"\b{name} free\b", singular):
            continue
        if food in {"flour", "bread", "rusk"} and (_OTHER_FLOURS & set(words) or "free" in words):
            continue
        return [f"{ingredient} usually holds {name}, and {name} is not declared: read its label."]
    return []
