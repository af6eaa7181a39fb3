"""How warm the water of a sanitiser must be, by its kind, strength and pH.

References
----------
.. [1] La. Admin. Code 51:X-117 (Food Code 4-501.114 and 4-703.11). Source id ``LA117``, rows SF082
   to SF087 and SF090.
.. [2] WAC 246-215-04550 (Food Code 4-501.111). Source id ``WA04550``, row SF080; Minnesota Rules
   4626.0905, source id ``MN0905``, row SF081.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache

from collop.errors import BadValue
from collop.measures import Temperature
from collop.reference.rulebook import PublishedRule, rule_row, rule_rows

__all__ = ["SANITISERS", "Sanitiser", "sanitiser"]

#: Kinds of sanitiser.
SANITISERS = ("chlorine", "iodine", "quaternary ammonium", "hot water", "hot water machine")
_CHLORINE = re.compile(r"chlorine (\d+) mg/L: water min at pH (\d+) or less")
_SECONDS = re.compile(r"(\d+) s")
_MIN_F = re.compile(r"min (\d+) F")


@dataclass(frozen=True, slots=True)
class Sanitiser:
    """What a sanitiser asks for.

    Parameters
    ----------
    least : Temperature
        Least temperature of the water; of a machine, of the dish.
    contact_s : int or None
        Least time of contact [s]; None where it is the machine's own.
    row : PublishedRule
        The published row; `row.is_cited` is false where it is recalled.
    """

    least: Temperature
    contact_s: int | None
    row: PublishedRule


def _number(value: Decimal | str | int | None, what: str) -> Decimal:
    try:
        found = Decimal("NaN") if value is None else Decimal(value)
    except InvalidOperation:
        found = Decimal("NaN")
    # a strip is read to a tenth at best; 1e-999999 is short to write and long to tell
    if not found.is_finite() or not 0 <= found <= 10_000 or found != round(found, 3):
        raise BadValue(f"{what}: read the test strip and give a figure such as 50.", where=what)
    return found


@cache
def _bands() -> tuple[tuple[int, int, PublishedRule], ...]:
    """Return least strength, highest pH and row of chlorine, strongest and least pH first."""
    found = []
    for row in rule_rows("safety", "sanitiser", cited_only=True):
        band = _CHLORINE.fullmatch(row.text)
        if band:
            found.append((int(band[1]), int(band[2]), row))
    return tuple(sorted(found, key=lambda one: (-one[0], one[1])))


def _made(row: PublishedRule, least_f: str) -> Sanitiser:
    contact = _SECONDS.match(row.when)
    return Sanitiser(Temperature.fahrenheit(least_f), int(contact[1]) if contact else None, row)


def sanitiser(
    kind: str, mg_l: Decimal | str | int | None = None, ph: Decimal | str | int | None = None
) -> Sanitiser:
    """Return how warm the water must be and how long it must act.

    Parameters
    ----------
    kind : str
        One of `SANITISERS`.
    mg_l, ph : Decimal, str or int, optional
        Strength [mg/L] and pH, needed for chlorine; the time of contact is 10 s at any strength,
        as the shorter one is only recalled. Iodine and quaternary ammonium are from memory, not
        checked: the label on the product rules.

    Raises
    ------
    BadValue
        If there is no such kind, or chlorine is too weak or its water over pH 10.

    Examples
    --------
    >>> sanitiser("chlorine", 50, 8).least.text()
    '24 °C (75 °F)'
    >>> sanitiser("chlorine", 49, "8.1").least.text()
    '49 °C (120 °F)'
    """
    if kind not in SANITISERS:
        raise BadValue(f"No sanitiser {str(kind)[:20]!r} is known; use one of "
                       f"{', '.join(SANITISERS)}.")  # fmt: skip
    if kind == "chlorine":
        return _chlorine(_number(mg_l, "Strength"), _number(ph, "pH"))
    if kind in ("iodine", "quaternary ammonium"):
        row = rule_row("SF088" if kind == "iodine" else "SF089")
        least = _MIN_F.search(row.applies_to)
        assert least is not None  # the row holds it
        return _made(row, least[1])
    row = rule_row("SF080" if kind == "hot water" else "SF081")
    return _made(row, row.value)


def _chlorine(mg_l: Decimal, ph: Decimal) -> Sanitiser:
    bands = _bands()
    weakest, highest = min(one[0] for one in bands), max(one[1] for one in bands)
    if mg_l < weakest:
        raise BadValue(f"Chlorine at {mg_l:f} mg/L is too weak; bring it to {weakest} mg/L or "
                       "more.", where="Strength")  # fmt: skip
    if ph > highest:
        raise BadValue(f"Water of pH {ph:f} is over {highest}: chlorine does not act there. Use "
                       "another sanitiser.", where="pH")  # fmt: skip
    for least, most_ph, row in bands:
        if mg_l >= least and ph <= most_ph:
            return _made(row, row.value)
    raise BadValue("No row of chlorine fits this strength and pH.")
