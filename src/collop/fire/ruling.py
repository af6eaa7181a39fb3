"""Which published minimum rules a thing, whatever it was called: what is known only ever raises it.

A bird is ruled as poultry and mince as mince, however its line was filled in. Which words tell a
bird or mince is common practice, no published source; the minimums are those of
`collop.reference.cook_minimum`.
"""

from __future__ import annotations

import re
from collections.abc import Collection

__all__ = ["MEAT_FREE_SPECIES", "has_meat", "ruling_cook_as"]

#: What is written as the species of food without meat.
MEAT_FREE_SPECIES = frozenset({"none", "", "plant", "cheese", "vegetable", "egg"})
# from the lowest published minimum to the highest
_ORDER = ("none", "whole", "ground", "poultry")
_BIRDS = re.compile(
    r"\b(bird|poultry|fowl|chicken|hen|cockerel|capon|poussin|duck|duckling|goose|geese|turkey|"
    r"guinea|quail|pheasant|partridge|grouse|pigeon|squab|ostrich|emu|rhea)s?\b"
)
# parts of words too: hamburger, bratwurst
_GROUND = re.compile(
    r"minced?\b|\bground\b|\blinks?\b|patt(y|ies)|sausage|burger|meat ?(ball|loaf)|wurst|"
    r"chipolata|chorizo|merguez|\bkoft[ae]"
)
_GROUND_FORMS = frozenset({"patty", "links"})
_NO_ANIMAL = frozenset({"meat"})


def _names(species: str | Collection[str] | None) -> set[str]:
    """Return every species that is meat, in small letters."""
    told = [species or ""] if species is None or isinstance(species, str) else species
    return {one.strip().casefold() for one in told} - MEAT_FREE_SPECIES


def has_meat(species: str | Collection[str] | None) -> bool:
    """Tell whether a species, or one of several, is meat.

    Examples
    --------
    >>> has_meat("pork"), has_meat(None), has_meat("none"), has_meat({"beef", "lamb"})
    (True, False, False, True)
    """
    return bool(_names(species))


def ruling_cook_as(
    species: str | Collection[str] | None,
    cook_as: str | None,
    *,
    treatment: str = "whole",
    form: str | None = None,
    casing: str | None = None,
    name: str = "",
) -> str:
    """Return ``whole``, ``ground``, ``poultry`` or ``none``: which published minimum rules.

    Parameters
    ----------
    species : str, collection of str or None
        Every animal it is made of; None, ``none`` or nothing without meat. Of ``meat`` alone, where
        nothing is told, and of mince, the name may tell a bird.
    cook_as : str or None
        What was said of it; it counts unless it is too low.
    treatment : str
        One of ``whole``, ``tenderised``, ``injected``, ``rolled`` and ``ground``: all but the first
        carry the outside in.
    form : str or None
        One of `collop.fire.problem.FORMS`.
    casing : str or None
        Of a link.
    name : str
        What it is called.

    Examples
    --------
    >>> ruling_cook_as("chicken", "whole"), ruling_cook_as("beef", "whole", form="patty")
    ('poultry', 'ground')
    >>> ruling_cook_as("beef", "whole", treatment="rolled"), ruling_cook_as("beef", "whole")
    ('ground', 'whole')
    >>> ruling_cook_as(None, "none", form="links", name="Bean links")
    'none'

    References
    ----------
    .. [1] USDA FSIS, Safe minimum internal temperatures. Source id ``FSIS_MIN``.
    """
    animals = _names(species)
    if form is not None and form.startswith("bird"):
        return "poultry"
    if not animals and cook_as in {None, "none"}:
        return "none"
    called = name.casefold()
    opened = treatment != "whole" or form in _GROUND_FORMS or casing is not None
    least = "ground" if opened or _GROUND.search(called) else "whole"
    ruled = max(least, cook_as or least, key=_ORDER.index)
    # the name of a whole cut may be that of a farm, or of a cut; that of a mixture tells what is in
    told = animals - _NO_ANIMAL
    if not told or ruled == "ground":
        told |= {called}
    return "poultry" if any(_BIRDS.search(one) for one in told) else ruled
