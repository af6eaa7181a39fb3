"""What a case line is made of, at any depth, and what a guest avoids."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

from collop.errors import BadValue
from collop.reference import ALLERGENS, allergen_named, allergens_covered
from collop.spread.diet import CASING_SPECIES, MEAT_FREE_SPECIES, casing_tags
from collop.spread.problem import Avoid
from collop.wire import Reader

__all__ = ["avoid_tags", "gather_tags", "read_avoids", "tags_of"]

_MEATS = frozenset(
    (
        "beef",
        "veal",
        "pork",
        "lamb",
        "mutton",
        "goat",
        "chicken",
        "duck",
        "goose",
        "turkey",
        "rabbit",
        "venison",
        "game",
    )
)
#: Other words for an animal's meat.
_SAME_MEAT: dict[str, tuple[str, ...]] = {
    "pig": ("pork",),
    "hog": ("pork",),
    "swine": ("pork",),
    "ham": ("pork",),
    "bacon": ("pork",),
    "cow": ("beef",),
    "cattle": ("beef",),
    "ox": ("beef",),
    "calf": ("veal",),
    "sheep": ("lamb", "mutton"),
    "kid": ("goat",),
    "hen": ("chicken",),
}
#: Who leaves out the one leaves out the other: it is the same animal at another age.
_SAME_ANIMAL = {"lamb": "mutton", "mutton": "lamb", "beef": "veal"}
_MAX_DEPTH = 20


def read_avoids(row: Reader) -> frozenset[Avoid]:
    """Read ``avoids``: ``species:X``, ``casing:X``, ``allergen:X`` or ``meat``."""
    return frozenset(
        tag
        for index, text in enumerate(row.texts("avoids", []))
        for tag in _avoid(text, f"{row.where('avoids')}[{index}]")
    )


def _avoid(text: str, where: str) -> set[Avoid]:
    kind, _, name = text.strip().lower().partition(":")
    if kind == "meat" and not name:
        return {Avoid("meat")}
    if kind == "species" and name:
        return _avoided_animal(name, text, where)
    if kind == "casing" and name in CASING_SPECIES:
        return {Avoid("casing", name)}
    if kind == "allergen" and name:
        known = allergen_named(name)
        if known is None:
            raise BadValue(
                f"{where} is {text!r}, an allergen this tool does not know; use one of "
                f"{', '.join(sorted(ALLERGENS))}.",
                where=where,
            )
        return {Avoid("allergen", covered) for covered in allergens_covered(known)}
    raise BadValue(
        f"{where} is {text!r}; write species:X, casing:X, allergen:X or meat.", where=where
    )


def _avoided_animal(name: str, text: str, where: str) -> set[Avoid]:
    if name not in _MEATS and name not in _SAME_MEAT:
        # a slip of the pen here would put on the table what somebody does not eat
        near = difflib.get_close_matches(name, (*_MEATS, *_SAME_MEAT), n=1, cutoff=0.7)
        if near:
            raise BadValue(f"{where} is {text!r}; did you mean species:{near[0]}?", where=where)
    names = set(_SAME_MEAT.get(name, (name,)))
    return {Avoid("species", one) for one in names | {_SAME_ANIMAL.get(one, one) for one in names}}


def gather_tags(
    row: Reader, species: str | None, casing: str | None
) -> tuple[frozenset[Avoid], tuple[str, ...]]:
    """Return all tags of an offer and its declared allergens, from every depth of its batch."""
    tags = _animal(species) | _casing(casing, row.where("casing"))
    for path, value in row.each("contains", []):
        tags |= _content(value, path, 0)
    allergens = sorted(tag.name for tag in tags if tag.kind == "allergen")
    return frozenset(tags), tuple(allergens)


def tags_of(
    species: str | None, casing: str | None, contains: Sequence[object]
) -> frozenset[Avoid]:
    """Return all that a case line is made of, at any depth of its batch."""
    row = Reader({"contains": list(contains), "casing": casing}, "$", ("contains", "casing"))
    return gather_tags(row, species, casing)[0]


def avoid_tags(words: Iterable[str]) -> frozenset[Avoid]:
    """Return the tags of don't-eats such as ``species:pork`` or ``allergen:sesame``."""
    return read_avoids(Reader({"avoids": list(words)}, "$", ("avoids",)))


def _animal(species: str | None) -> set[Avoid]:
    name = (species or "none").strip().lower()
    if name in MEAT_FREE_SPECIES:
        return set()
    return {Avoid("meat"), *(Avoid("species", one) for one in _SAME_MEAT.get(name, (name,)))}


def _casing(casing: str | None, where: str) -> set[Avoid]:
    if casing is None:
        return set()
    name = casing.strip().lower()
    if name not in CASING_SPECIES:
        known = ", ".join(CASING_SPECIES)
        raise BadValue(f"{where} is {casing!r}; use one of {known}.", where=where)
    return set(casing_tags(name))


def _content(value: object, path: str, depth: int) -> set[Avoid]:
    if isinstance(value, str):
        return _word(value.strip().lower(), path)
    if depth > _MAX_DEPTH:
        raise BadValue(f"{path} is nested too deeply; flatten the recipe.", where=path)
    row = Reader(value, path, ("name", "species", "casing", "contains"))
    tags = _animal(row.text("species", None)) | _casing(row.text("casing", None), f"{path}.casing")
    if row.has("name"):
        tags |= _word(row.text("name").strip().lower(), row.where("name"))
    for inner, part in row.each("contains", []):
        tags |= _content(part, inner, depth + 1)
    return tags


def _word(word: str, path: str) -> set[Avoid]:
    kind, _, name = word.partition(":")
    if kind == "species" and name:
        return _animal(name)
    if kind == "casing" and name:
        return _casing(name, path)
    if kind == "allergen" and name:
        word = name
    known = allergen_named(word)
    if known is not None:
        # "nuts" or "gluten" stands for several: each of them counts as contained
        return {Avoid("allergen", covered) for covered in allergens_covered(known)}
    if word in _MEATS or word in _SAME_MEAT:
        return _animal(word)
    # a slip of the pen in a declared allergen must not let it through
    near = difflib.get_close_matches(word, ALLERGENS, n=1, cutoff=0.8)
    if near:
        raise BadValue(f"{path} is {word!r}; did you mean {near[0]}?", where=path)
    return set()
