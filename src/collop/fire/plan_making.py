"""How a piece is made up for the fire when its name does not say so: opened flat, as patties."""

from __future__ import annotations

import re

from collop.fire.plan_times import whole
from collop.fire.problem import FireItem

__all__ = ["made_words"]

#: Words of a form, and what in a name makes them needless.
_MADE = {
    "bird-flat": ("opened flat", r"open|flat|butterfl"),
    "patty": ("as patties {thick} thick", r"patt"),
    "skewer": ("on skewers, {thick} cubes", r"skewer|kebab"),
    "thin": ("sliced thin, {thick}", r"thin|slice"),
}


def made_words(item: FireItem, unit: str) -> str:
    """Return how a piece is made up for the fire; empty if there is nothing to say.

    Parameters
    ----------
    item : FireItem
    unit : str
        ``F`` or ``C``: whether inches or millimetres are spoken first.
    """
    if item.body is None or item.body.form not in _MADE:
        return ""
    words, known = _MADE[item.body.form]
    if re.search(known, item.name.casefold()):
        return ""
    mm, inches = whole(item.body.thickness_mm), f"{item.body.thickness_mm / 25.4:.1f} in"
    return words.format(thick=f"{mm} mm ({inches})" if unit == "C" else f"{inches} ({mm} mm)")
