"""Editions of the retail food code, and what differs between them.

States adopt different editions, so the edition is a setting. The newest is the usual one.

References
----------
.. [1] Wisconsin Food Code 3-502.12: 30 days in a vacuum pack, text of 2013 and later. Source id
   ``WI502_12``, row SF061.
.. [2] 7 Pa. Code 46.402: 14 days, text of 2009 or older. Source id ``PA46402``, row SF062.
.. [3] Food Code 3-401.11(A)(2), quoted in a state's violation 03C-06-5: 17 s, older texts 15 s.
   Source id ``FL03C``, row SF024.
.. [4] 18 AAC 31.232: roasts 112 min at 130 degF. Source id ``AK31232``, row SF031. An older text
   has 121 min (row SF048, from memory, not checked).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from collop.errors import BadValue, ReferenceTableError
from collop.reference.rulebook import PublishedRule, rule_row

__all__ = [
    "EDITIONS", "USUAL_EDITION", "Edition", "edition", "edition_of", "laxer_than_usual",
    "seconds_in",
]  # fmt: skip

#: The edition where a shop chose none.
USUAL_EDITION = "2022"
#: Each edition and how it is called, newest first.
EDITIONS: Mapping[str, str] = {
    "2022": "Food Code 2022",
    "2017": "Food Code 2017",
    "2013": "Food Code 2013",
    "2009": "Food Code 2009 or older",
}
_OLDER = re.compile(r"older texts say (\d+ s)")
_TIME = re.compile(r"(\d+) (min|s)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """What one edition says where editions differ.

    Parameters
    ----------
    key, name : str
        As in `EDITIONS`.
    pack_days : int
        Longest time raw meat keeps in a vacuum pack under 3-502.12(B) [days].
    pack_row : PublishedRule
        Where `pack_days` stands.
    ground_s, poultry_s : int
        Hold of ground meat at 155 degF and of poultry at 165 degF [s]; 0 is at once.
    roast_130_s : int
        Hold of a roast at 130 degF [s].
    roast_row : PublishedRule
        Where `roast_130_s` stands; its status may be ``memory``.
    """

    key: str
    name: str
    pack_days: int
    pack_row: PublishedRule
    ground_s: int
    poultry_s: int
    roast_130_s: int
    roast_row: PublishedRule


def seconds_in(text: str, rule_id: str = "") -> int:
    """Return the seconds in the time of a row, such as ``112 min`` or ``17 s``.

    Raises
    ------
    ReferenceTableError
        If it holds no time.

    Examples
    --------
    >>> seconds_in("112 min"), seconds_in("17 s")
    (6720, 17)
    """
    found = _TIME.fullmatch(text)
    if found is None:
        raise ReferenceTableError(f"The row {rule_id} has no time, but {text!r}; restore it.")
    return int(found[1]) * (60 if found[2] == "min" else 1)


def _older(row: PublishedRule) -> int:
    """Return the hold that older texts give for a row, from its note."""
    found = _OLDER.search(row.note)
    if found is None:
        raise ReferenceTableError(f"The row {row.rule_id} lost its older figure; restore it.")
    return seconds_in(found[1], row.rule_id)


def _days(row: PublishedRule) -> int:
    if row.figure is None or "days" not in row.unit:
        raise ReferenceTableError(f"The row {row.rule_id} has no days; restore it.")
    return int(row.figure)


@cache
def edition(key: str = USUAL_EDITION) -> Edition:
    """Return one edition by its year.

    Raises
    ------
    BadValue
        If it is none of `EDITIONS`.

    Notes
    -----
    The 121 min of the older roast table are taken for 2009 and older alone: the rows do not say
    with which edition the 112 min began, and of the newer texts the 112 min were read.

    Examples
    --------
    >>> edition("2022").pack_days, edition("2009").pack_days, edition("2013").ground_s
    (30, 14, 15)
    """
    if key not in EDITIONS:
        names = ", ".join(EDITIONS)
        raise BadValue(
            f"There is no edition {str(key)[:20]!r} of the food code here; use one of {names}.",
            where="food_code",
        )
    old_holds, oldest = key in ("2013", "2009"), key == "2009"
    ground, poultry = rule_row("SF024"), rule_row("SF028")
    pack = rule_row("SF062" if oldest else "SF061")
    roast = rule_row("SF048" if oldest else "SF031")
    return Edition(
        key=key, name=EDITIONS[key], pack_days=_days(pack), pack_row=pack,
        ground_s=_older(ground) if old_holds else seconds_in(ground.when, ground.rule_id),
        poultry_s=_older(poultry) if old_holds else 0,
        roast_130_s=seconds_in(roast.when, roast.rule_id), roast_row=roast,
    )  # fmt: skip


def edition_of(chosen: Mapping[str, str]) -> Edition:
    """Return the edition a shop chose, the usual one if it chose none."""
    return edition(chosen.get("food_code") or USUAL_EDITION)


def laxer_than_usual(key: str) -> str:
    """Return in what an edition is laxer than the usual one, in a sentence; empty if in nothing.

    Such an edition counts only where the local code is that edition.

    Examples
    --------
    >>> laxer_than_usual("2017")
    ''
    >>> laxer_than_usual("2013")[:68]
    'Food Code 2013 is laxer than Food Code 2022: mince at 155 F for 15 s'
    """
    one, usual = edition(key), edition()
    held = (
        ("mince at 155 F", one.ground_s, usual.ground_s),
        ("poultry at 165 F", one.poultry_s, usual.poultry_s),
        ("a roast at 130 F", one.roast_130_s, usual.roast_130_s),
    )
    found = [f"{what} for {mine} s, not {theirs} s" for what, mine, theirs in held if mine < theirs]
    if one.pack_days > usual.pack_days:
        found.append(f"a vacuum pack for {one.pack_days} days, not {usual.pack_days} days")
    if not found:
        return ""
    return (f"{one.name} is laxer than {usual.name}: {', '.join(found)}. It counts only where your "
            "local code is that edition; ask your local authority.")  # fmt: skip
