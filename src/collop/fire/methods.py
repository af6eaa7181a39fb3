"""How a thing is cooked: the words of a case, a method the fire knows, and its stages.

The one table that a spread and a fire sheet both read, so that they never differ. The words are the
shop's; what they mean on a grill is common practice, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from collop.fire.problem import Stage
from collop.fire.ruling import ruling_cook_as

__all__ = [
    "FINISH_MIN",
    "GRILL_HEATS",
    "METHOD_WORDS",
    "STEW",
    "STEW_MIN",
    "Way",
    "cook_as_of",
    "stages_of",
    "stewed",
    "way_by_method",
    "way_for",
    "way_of",
]


@dataclass(frozen=True, slots=True)
class Way:
    """How a line is cooked on a covered grill, and in an oven if the words name one.

    Both are of `collop.fire.problem.METHODS`; `oven` is None where the fire is wanted.
    """

    grill: str
    oven: str | None = None

    def method(self, *, oven: bool, covered: bool = True, pots: bool = True) -> str:
        """Return the method at a fire: into the oven where the words allow it and there is one.

        Without a lid nothing can be cooked beside the coals, and without a pot on a stove nothing
        can be braised there: an oven takes both.
        """
        if oven and self.oven:
            return self.oven
        if oven and self.grill == "pot" and not pots:
            return "oven"
        if oven and not covered:
            return self.grill.replace("indirect", "oven")
        return self.grill


#: What lies on a grill over or beside coals, on its bars or on a plate.
GRILL_HEATS = frozenset({"direct", "indirect", "plate"})
#: How what is eaten as a stew is cooked, whatever its words say.
STEW = Way("pot")
#: A stew of shoulder, neck or shin is not done sooner; common practice, no published source [min].
STEW_MIN = 120
#: A last browning over the coals, of all the minutes of a line that has them in one figure; common
#: practice, no published source [min].
FINISH_MIN = (6, 12)
#: Every way the demo's case and starting lines say it. Other words are read by `_BY_WORD`.
METHOD_WORDS: dict[str, Way | None] = {
    "direct grill": Way("direct"),
    "direct grill, as patties": Way("direct"),
    "direct grill, meat-free side": Way("direct"),
    "skewers, direct grill": Way("direct"),
    "indirect then direct": Way("indirect then direct"),
    "opened flat, covered grill": Way("indirect"),
    "covered grill": Way("indirect"),
    "covered grill, whole": Way("indirect"),
    "covered grill or oven": Way("indirect", "oven"),
    "low oven or smoke": Way("indirect", "oven"),
    "low oven, finish on grill": Way("indirect then direct", "oven then direct"),
    "braise": Way("pot"),
    "stock": None,
}
# the first that fits counts
_BY_WORD: tuple[tuple[str, Way | None], ...] = (
    (r"\bstock\b", None),
    (r"brais|stew|\bpot\b|simmer", Way("pot")),
    (r"oven.*(then|finish)", Way("indirect then direct", "oven then direct")),
    (r"(indirect|cover|low|smok).*(then|finish)", Way("indirect then direct")),
    (r"oven|roast", Way("indirect", "oven")),
    (r"indirect|cover|smok|low", Way("indirect")),
    (r"\bpan\b|plate|griddle", Way("plate")),
    (r"grill|direct|skewer|fire|flame|\bcoals?\b|barbecue|\bspit\b", Way("direct")),
)
# a method somebody named outright: where it needs an oven and there is none, the lid does it
_NAMED = {
    "oven": Way("indirect", "oven"),
    "oven then direct": Way("indirect then direct", "oven then direct"),
}


def way_of(words: str) -> Way | None:
    """Return how a line is cooked, None if it is not cooked at a fire or the words do not say.

    Parameters
    ----------
    words : str
        As the case says it, e.g. ``"low oven, finish on grill"``.

    Examples
    --------
    >>> way_of("covered grill or oven").method(oven=True)
    'oven'
    >>> way_of("covered grill or oven").method(oven=False)
    'indirect'
    >>> way_of("stock") is None
    True
    """
    said = " ".join(words.casefold().split())
    if said in METHOD_WORDS:
        return METHOD_WORDS[said]
    return next((way for pattern, way in _BY_WORD if re.search(pattern, said)), None)


def way_by_method(method: str) -> Way:
    """Return the way of one of `collop.fire.problem.METHODS`."""
    return _NAMED.get(method) or Way(method)


def way_for(words: str, method: str | None) -> Way | None:
    """Return how a line is cooked by its words and the method that was told of it, if any.

    A method told counts before the words. Told the same as the words mean on a grill it changes
    nothing: what may go in an oven still may.

    Parameters
    ----------
    words : str
        As the case says it.
    method : str or None
        One of `collop.fire.problem.METHODS`.

    Examples
    --------
    >>> way_for("covered grill or oven", "indirect").method(oven=True)
    'oven'
    >>> way_for("covered grill or oven", "direct").method(oven=True)
    'direct'
    """
    said = way_of(words)
    if method is None or (said is not None and method in {said.grill, said.oven}):
        return said
    return way_by_method(method)


def stages_of(method: str, minutes: tuple[int, int]) -> tuple[Stage, ...] | None:
    """Return the shop's minutes split into a method's two stages; None where it has but one.

    The browning at the end takes 6 to 12 minutes of them, at most half of a short time. Less than a
    minute for each stage is not told.

    Parameters
    ----------
    method : str
        One of `collop.fire.problem.METHODS`.
    minutes : (int, int)
        All of the time on the fire, low to high [min].
    """
    first, _, last = method.partition(" then ")
    if not last:
        return None
    low, high = max(2, minutes[0]), max(2, *minutes)
    least = min(FINISH_MIN[0], low // 2)
    # the slow part is not longer at its low end than at its high one
    most = min(FINISH_MIN[1], high // 2, least + high - low)
    return (Stage(first, low - least, high - most), Stage(last, least, most))


def stewed(minutes: tuple[int, int]) -> tuple[int, int]:
    """Return the minutes of a line eaten as a stew: `STEW_MIN` at the least [min].

    Examples
    --------
    >>> stewed((30, 150))
    (120, 150)
    """
    return max(minutes[0], STEW_MIN), max(minutes[1], STEW_MIN)


def cook_as_of(
    said: str | None, *, name: str, species: Collection[str], casing: str | None = None,
    treatment: str = "whole", form: str | None = None,
) -> str:  # fmt: skip
    """Return ``whole``, ``ground``, ``poultry`` or ``none``: which published minimum rules it.

    What the shop says counts, and never makes it less: birds are always poultry, links and mince
    always ground, and so is a whole cut that a blade or needle has gone through, or that is rolled.
    See `collop.fire.ruling.ruling_cook_as`.

    Parameters
    ----------
    said : str or None
        What the shop says of the line.
    name : str
        Of the line.
    species : collection of str
        Every animal it is made of; none if nothing in it is meat.
    casing : str or None
        The animal of its casing.
    treatment : str
        One of ``whole``, ``tenderised``, ``injected``, ``rolled`` and ``ground``.
    form : str or None
        One of `collop.fire.problem.FORMS`.

    Examples
    --------
    >>> cook_as_of("whole", name="Duck legs", species={"duck"})
    'poultry'
    >>> cook_as_of("whole", name="Rump", species={"beef"}, treatment="tenderised")
    'ground'
    """
    if not species:
        return "none"
    return ruling_cook_as(species, said, treatment=treatment, form=form, casing=casing, name=name)
