"""Regional names of a cut as the shop calls it, for finding it by what a customer says.

The names are those of the catalogue of cuts (`collop.reference.cuts`); its rows are from memory,
not checked, so they only ever widen a search: no name is put on a paper by them.
"""

from __future__ import annotations

import re
from functools import cache

from collop.reference.cuts import cut_rows

__all__ = ["other_names"]

#: Words of a name that do not tell which cut it is.
_PLAIN = frozenset((
    "a", "and", "bone", "boneless", "chop", "commonwealth", "cut", "full", "in", "of",
    "on", "or", "piece", "regional", "roast", "slice", "steak", "the", "whole", "with",
))  # fmt: skip


def _telling(name: str) -> frozenset[str]:
    """Return the words of a name that tell the cut, in the singular."""
    words = (word.removesuffix("s") for word in re.findall("[a-z]+", name.casefold()))
    return frozenset(word for word in words if word not in _PLAIN)


@cache
def other_names(species: str, name: str) -> tuple[str, ...]:
    """Return what else a cut is called.

    Parameters
    ----------
    species : str
        Kind of meat, as the catalogue has it; another finds nothing.
    name : str
        What the shop calls the cut, such as ``Beef hanger and skirt``.

    Returns
    -------
    tuple of str
        Each other name once. A row of the catalogue counts if all telling words of one of its
        names stand in `name`.

    Examples
    --------
    >>> "onglet" in other_names("beef", "Beef hanger and skirt")
    True
    """
    words = _telling(name) - {species}
    found: dict[str, None] = {}
    for row in cut_rows():
        names = (row.name, *row.other_names)
        told = [_telling(one) for one in names]
        if row.species == species and any(one and one <= words for one in told):
            found |= dict.fromkeys(names)
    return tuple(one for one in found if one.casefold() != name.casefold())
