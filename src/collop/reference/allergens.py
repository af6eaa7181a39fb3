"""The allergens that are known by name, and what is left out with each.

References
----------
.. [1] US FDA, The FASTER Act: Sesame Is the Ninth Major Food Allergen, 2023. Source id
   ``FDASESAME`` (nine major food allergens, 21 USC 321(qq)).
.. [2] Regulation (EU) No 1169/2011, Annex II. Source id ``EU1169``; from memory, not checked.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from types import MappingProxyType

from collop.errors import BadValue, ReferenceTableError
from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = [
    "ALLERGENS",
    "ALLERGEN_TABLE",
    "Allergen",
    "allergen_named",
    "allergens_covered",
    "read_allergens",
]

ALLERGEN_TABLE = Table(
    "rules/allergens.csv",
    (
        Column("name", required=True),
        Column("also_called", kind=Kind.LIST),
        Column("list", required=True, choices=("us-major", "eu-annex", "common")),
        Column("covers", kind=Kind.LIST),
    ),
    key="name",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergen(Row):
    """One allergen.

    Parameters
    ----------
    name : str
        The word used everywhere.
    also_called : tuple of str
        Other words for it, and plain foods that are it.
    listed_in : str
        ``us-major``, ``eu-annex``, or ``common`` for a word people use for several.
    covers : frozenset of str
        Names left out by somebody who avoids it; holds its own name.
    """

    name: str
    also_called: tuple[str, ...]
    listed_in: str
    covers: frozenset[str]


def read_allergens(root: Traversable | None = None) -> Mapping[str, Allergen]:
    """Read the allergens by name.

    Raises
    ------
    ReferenceTableError
        If the table is malformed, a covered name is unknown, or a word has two meanings.
    """
    found = {
        cells.text("name"): Allergen(
            name=cells.text("name"),
            also_called=cells.listed("also_called"),
            listed_in=cells.text("list"),
            covers=frozenset({cells.text("name"), *cells.listed("covers")}),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(ALLERGEN_TABLE, root)
    }
    for row, allergen in enumerate(found.values(), start=2):
        unknown = sorted(allergen.covers - found.keys())
        if unknown:
            raise ReferenceTableError(
                f"{ALLERGEN_TABLE.path}, row {row}, column covers: {unknown[0]!r} is not a name; "
                "correct the table."
            )
    return MappingProxyType(found)


def _plain(text: str) -> str:
    """Return a word without case, accents of width, hyphens and doubled blanks."""
    folded = unicodedata.normalize("NFKC", text).casefold()
    return re.sub(r"[\s\-_]+", " ", folded).strip(" .,;:!?")


def _singulars(word: str) -> tuple[str, ...]:
    """Return the word and what it may be the plural of."""
    found = [word]
    if word.endswith("ies"):
        found.append(word[:-3] + "y")
    if word.endswith("es"):
        found.append(word[:-2])
    if word.endswith("s"):
        found.append(word[:-1])
    return tuple(found)


def words_of(allergens: Mapping[str, Allergen]) -> dict[str, str]:
    """Return the name that each word leads to.

    Raises
    ------
    ReferenceTableError
        If a word has two meanings.
    """
    found: dict[str, str] = {}
    for row, allergen in enumerate(allergens.values(), start=2):
        for word in (allergen.name, *allergen.also_called):
            if found.setdefault(_plain(word), allergen.name) != allergen.name:
                raise ReferenceTableError(
                    f"{ALLERGEN_TABLE.path}, row {row}, column also_called: {word!r} has two "
                    "meanings; correct the table."
                )
    return found


ALLERGENS = read_allergens()
_BY_WORD = words_of(ALLERGENS)


def allergen_named(text: str) -> str | None:
    """Return the name of the allergen that somebody wrote, or None if it is not known.

    None means *ask*, never *safe*: a word that is not known may still be an allergen.

    Examples
    --------
    >>> allergen_named("Peanuts"), allergen_named("soya"), allergen_named("Dairy")
    ('peanut', 'soy', 'milk')
    >>> allergen_named("moonlight") is None
    True
    """
    for word in _singulars(_plain(text)):
        if word in _BY_WORD:
            return _BY_WORD[word]
    return None


def allergens_covered(name: str) -> frozenset[str]:
    """Return every name to leave out for somebody who avoids `name`.

    Parameters
    ----------
    name : str
        A name or another word for it.

    Raises
    ------
    BadValue
        If the word is not known: to leave out nothing would be a guess on safety.

    Notes
    -----
    A food that only says ``gluten`` may be wheat. So test that the covers of what is avoided and
    of what is contained have nothing in common, not only that the names differ.

    Examples
    --------
    >>> sorted(allergens_covered("gluten"))
    ['barley', 'gluten', 'oats', 'rye', 'wheat']
    >>> sorted(allergens_covered("wheat"))
    ['wheat']
    """
    known = allergen_named(name)
    if known is None:
        raise BadValue(f"{name!r} is not a known allergen; use one of {', '.join(ALLERGENS)}.")
    return ALLERGENS[known].covers
