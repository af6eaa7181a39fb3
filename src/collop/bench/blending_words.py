"""Words that a blend must not lose: species, casings and allergens."""

from __future__ import annotations

import difflib

from collop.errors import BadValue
from collop.reference import ALLERGENS, allergen_named
from collop.wire import Reader

__all__ = ["CASINGS", "allergens", "casing_species", "species_word"]

#: Animal a casing comes from; common practice of the trade, no published source.  A collagen
#: casing may be of cattle or pigs, so it counts as both until the shop knows better.
CASINGS: dict[str, tuple[str, ...]] = {
    "hog": ("pork",),
    "sheep": ("lamb",),
    "lamb": ("lamb",),
    "goat": ("goat",),
    "beef": ("beef",),
    "collagen": ("beef", "pork"),
    "cellulose": (),
    "plant": (),
}
_SAME = {"pig": "pork", "hog": "pork", "swine": "pork", "cow": "beef", "cattle": "beef",
         "ox": "beef", "sheep": "lamb", "calf": "veal"}  # fmt: skip
_MOST_LETTERS = 40
_MOST_ALLERGENS = 40


def species_word(row: Reader, key: str) -> str:
    """Return the species of a bin in one word, such as ``pork`` for ``hog``."""
    word = " ".join(str(row.text(key)).lower().split())
    if not word or len(word) > _MOST_LETTERS:
        raise row.fail(key, "is empty or too long; write the animal, such as pork.")
    return _SAME.get(word, word)


def casing_species(casing: str) -> tuple[str, ...]:
    """Return the animals that a casing comes from."""
    return CASINGS[casing]


def allergens(row: Reader, key: str) -> tuple[str, ...]:
    """Return declared allergens by their one name each.

    Raises
    ------
    BadValue
        If a word is not known: to leave one out would be a guess on safety.
    """
    words = row.texts(key, [])
    if len(words) > _MOST_ALLERGENS:
        raise row.fail(key, f"has more than {_MOST_ALLERGENS} words; name each allergen once.")
    found = []
    for index, word in enumerate(words):
        known = allergen_named(word[:_MOST_LETTERS])
        if known is None:
            where = f"{row.where(key)}[{index}]"
            near = difflib.get_close_matches(word[:_MOST_LETTERS].lower(), ALLERGENS, n=1)
            hint = f"did you mean {near[0]}?" if near else f"use one of {', '.join(ALLERGENS)}."
            raise BadValue(
                f"{where} is {word[:_MOST_LETTERS]!r}, an allergen that is not known here; {hint}",
                where=where,
            )
        found.append(known)
    return tuple(sorted(set(found)))
