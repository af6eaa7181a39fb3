"""The case's words on how a line is cooked, read as one of the methods the fire knows.

The words are the shop's; what they mean on a grill is common practice, no published source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

__all__ = ["METHOD_WORDS", "Way", "stages_of", "way_by_method", "way_of"]


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


#: Every way the demo's case and starting lines say it. Other words are read by `_by_word`.
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
    (r"grill|direct|skewer|fire|flame|coals|barbecue", Way("direct")),
)
# a method somebody named outright: where it needs an oven and there is none, the lid does it
_NAMED = {
    "oven": Way("indirect", "oven"),
    "oven then direct": Way("indirect then direct", "oven then direct"),
}
#: A last browning over the coals, of all the minutes of a line that has them in one figure [min].
FINISH_MIN = (6, 12)


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


def stages_of(method: str, minutes: tuple[int, int]) -> list[dict[str, Any]] | None:
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
    finish, slow = [least, most], [low - least, high - most]
    return [
        {"heat": first, "minutes": slow},
        {"heat": last, "minutes": finish},
    ]
