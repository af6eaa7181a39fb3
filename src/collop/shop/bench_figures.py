"""Figures the cutting plan begins with where the shop's own books do not tell.

All of them are ours: common practice of a small shop, no published source. What a plan took from
here is said among its assumptions.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from collop.shop.sales import Line

__all__ = [
    "ADDED_SHARE",
    "BLOCK_SHARE",
    "BOOKING_WAITS_DAYS",
    "CASING_COST_PER_LB",
    "LINKS_MINUTES_PER_LB",
    "MINCE_MINUTES_PER_LB",
    "OTHER_FAT",
    "RUSK_COST_PER_LB",
    "SHRINK_PER_DAY",
    "STEPS",
    "TRIM_FAT",
    "TRIM_KEEPS_DAYS",
    "USUAL_MINUTES",
    "fat_limit",
    "is_links",
    "is_mince",
    "takes_rusk",
]  # fmt: skip

#: Share of fat in trim as it is sorted at the block, by species.
TRIM_FAT: Mapping[str, Fraction] = {
    "beef": Fraction(20, 100), "pork": Fraction(30, 100), "lamb": Fraction(20, 100),
    "goat": Fraction(15, 100),
}  # fmt: skip
OTHER_FAT = Fraction(20, 100)
#: Days trim may wait for the grinder after the day it was cut.
TRIM_KEEPS_DAYS = 2
#: Share of its weight a piece loses to air in a day where it was not weighed twice yet.
SHRINK_PER_DAY = Fraction(3, 1000)
#: Price steps that may be asked, as shares of the board price.
STEPS = ("1", "0.9", "0.8", "0.7")
#: A cut without a line of the case counts at this share of the mean board price of its species.
BLOCK_SHARE = Fraction(6, 10)
#: Labour for a pound.
MINCE_MINUTES_PER_LB = Fraction(1, 2)
LINKS_MINUTES_PER_LB = Fraction(3)
#: Share of finished links with rusk that is rusk and water, and what a pound of that costs.
ADDED_SHARE = Fraction(15, 100)
RUSK_COST_PER_LB = Fraction(60, 100)
#: Casing and wrapping for a pound of links.
CASING_COST_PER_LB = Fraction(40, 100)
#: Days a booking that was not collected is still one of the plan; its weight is held beyond.
BOOKING_WAITS_DAYS = 60
#: Minutes at the block on an open day where nobody is named.
USUAL_MINUTES = 480
_FAT = re.compile(r"(\d{1,2})\s*%\s*fat")
_LEAN = re.compile(r"(\d{2})\s*%\s*lean")


def is_links(line: Line) -> bool:
    """Tell whether a line is raw links: it has a casing, or says so."""
    return line.form == "fresh" and (line.casing is not None or "link" in line.name.casefold())


def is_mince(line: Line) -> bool:
    """Tell whether a line is raw, plain mince."""
    name = line.name.casefold()
    return (
        line.form == "fresh" and not line.contains and line.casing is None
        and ("mince" in name or "ground" in name)
    )  # fmt: skip


def takes_rusk(line: Line) -> bool:
    """Tell whether links are made with rusk: wheat is declared, or the name says so."""
    name = line.name.casefold()
    return "wheat" in line.contains or ("rusk" in name and "no rusk" not in name)


def fat_limit(name: str) -> Fraction | None:
    """Return the most fat a name promises, as a share; None if it promises nothing.

    Examples
    --------
    >>> fat_limit("Beef mince, 20 % fat"), fat_limit("Beef, ground, 85% lean"), fat_limit("Mince")
    (Fraction(1, 5), Fraction(3, 20), None)
    """
    fat, lean = _FAT.search(name.casefold()), _LEAN.search(name.casefold())
    if fat is not None:
        return Fraction(int(fat[1]), 100)
    return None if lean is None else 1 - Fraction(int(lean[1]), 100)
