"""What a shop's scale must be like: its division, its number of divisions, its tolerance.

The figures are rows of the table of weights and measures; most of them are from memory, which
`scale_rules` says of each.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from functools import cache

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference.rulebook import PublishedRule, rule_row

__all__ = [
    "LEAST_LOAD_DIVISIONS",
    "acceptance_tolerance",
    "check_capacity",
    "check_division",
    "divisions_range",
    "in_divisions",
    "is_permitted_division",
    "maintenance_tolerance",
    "scale_rules",
    "weight_text",
]

#: A class III scale is not for less than so many of its divisions (recommended; row WM011).
LEAST_LOAD_DIVISIONS = 20
_ONES = ("1", "2", "5")
_FINEST_POWER = 12
_TOLERANCES = ("WM006", "WM007", "WM008", "WM009")
_FINE_G = Fraction(5)
_FINE_LB = Fraction(1, 100)
_FINEST_G = Fraction(1, 10)
_FINEST_LB = Fraction(2, 10_000)
_FINER, _COARSER = "WM004", "WM005"
_PLACES = 6


def weight_text(weight: Weight) -> str:
    """Return a weight in its own unit without closing zeros, two decimals at the least.

    Examples
    --------
    >>> weight_text(Weight.of("0.005", WeightUnit.LB)), weight_text(Weight.of(5, WeightUnit.KG))
    ('0.005 lb', '5.00 kg')
    """
    exact = decimal_of(abs(weight.exact(weight.unit)), _PLACES).normalize()
    places = max(2, -int(exact.as_tuple().exponent))
    sign = "-" if weight < Weight.zero() else ""
    return f"{sign}{exact:.{places}f} {weight.unit.value}"


def in_divisions(weight: Weight, division: Weight) -> Fraction:
    """Return how many divisions a weight is, exactly.

    Raises
    ------
    BadValue
        If the division is not above zero.
    """
    if division <= Weight.zero():
        raise BadValue(
            f"A scale reads in steps above zero, not {weight_text(division)}; see its plate.",
            where="division",
        )
    return Fraction(weight.count, division.count)


def is_permitted_division(amount: Decimal | Fraction) -> bool:
    """Tell whether a division is 1, 2 or 5 times a power of ten.

    Parameters
    ----------
    amount : Decimal or Fraction
        Division in the unit of the scale.

    Notes
    -----
    NIST Handbook 44, Scales Code S.1.2 (from memory; row WM003).

    Examples
    --------
    >>> [is_permitted_division(Decimal(text)) for text in ("0.01", "0.02", "0.03", "50")]
    [True, True, False, True]
    """
    scaled = Fraction(amount) * 10**_FINEST_POWER
    return scaled.denominator == 1 and str(scaled.numerator).rstrip("0") in _ONES


def check_division(division: Weight) -> None:
    """Refuse a division that no scale may have.

    Raises
    ------
    BadValue
        If it is not 1, 2 or 5 times a power of ten of its unit.
    """
    in_divisions(division, division)
    if not is_permitted_division(division.exact(division.unit)):
        raise BadValue(
            f"A step of {weight_text(division)} is none a scale may have; it is 1, 2 or 5 times a "
            "power of ten, such as 0.01 lb or 0.005 kg.",
            where="division",
        )


def divisions_range(division: Weight) -> tuple[int, int]:
    """Return the least and the most divisions of a class III scale with that division.

    Raises
    ------
    BadValue
        If the division is finer than class III has.
    """
    if division.unit in (WeightUnit.LB, WeightUnit.OZ):
        size, finest, coarse = division.exact(WeightUnit.LB), _FINEST_LB, _FINE_LB
    else:
        size, finest, coarse = division.exact(WeightUnit.G), _FINEST_G, _FINE_G
    if size < finest:
        raise BadValue(
            f"A step of {weight_text(division)} is finer than a class III scale has; such a "
            "scale is of another class.",
            where="division",
        )
    low, high = rule_row(_COARSER if size >= coarse else _FINER).value.split("-")
    return int(low), int(high)


def check_capacity(capacity: Weight, division: Weight) -> int:
    """Return how many divisions a class III scale has.

    Raises
    ------
    BadValue
        If the division is none a scale may have, the capacity is no whole number of divisions,
        or there are too few or too many of them.
    """
    check_division(division)
    steps = in_divisions(capacity, division)
    low, high = divisions_range(division)
    if steps.denominator != 1 or not low <= steps <= high:
        raise BadValue(
            f"A capacity of {weight_text(capacity)} in steps of {weight_text(division)} is "
            f"{decimal_of(steps, 1).normalize():f} steps; a class III scale has {low} to {high}.",
            where="capacity",
        )
    return int(steps)


@cache
def _tolerances() -> tuple[tuple[int, int], ...]:
    """Return the most divisions of load, and the tolerance in divisions, of each step."""
    found = []
    for name in _TOLERANCES:
        row = rule_row(name)
        match = re.search(r"load \d+-(\d+) d", row.text)
        assert match is not None
        assert row.figure is not None
        found.append((int(match[1]), int(row.figure)))
    return tuple(found)


def maintenance_tolerance(load: Weight, division: Weight) -> Weight:
    """Return by how much a class III scale in service may be out at a load, either way.

    Parameters
    ----------
    load, division : Weight
        The test load, zero or more, and the scale's division.

    Raises
    ------
    BadValue
        If the load is below zero, or over 10 000 divisions.

    Notes
    -----
    NIST Handbook 44, Scales Code Table 6 (from memory; rows WM006 to WM009).

    Examples
    --------
    >>> lb = WeightUnit.LB
    >>> maintenance_tolerance(Weight.of("5.01", lb), Weight.of("0.01", lb)).text()
    '0.02 lb'
    """
    steps = in_divisions(load, division)
    most = _tolerances()[-1][0]
    if not 0 <= steps <= most:
        raise BadValue(
            f"A test load of {weight_text(load)} is no load of a class III scale with steps of "
            f"{weight_text(division)}; use zero to {weight_text(division * most)}.",
            where="load",
        )
    allowed = next(tolerance for top, tolerance in _tolerances() if steps <= top)
    return division * allowed


def acceptance_tolerance(load: Weight, division: Weight) -> Weight:
    """Return by how much a new, repaired or newly placed scale may be out: half as much.

    Raises
    ------
    BadValue
        As `maintenance_tolerance`.
    """
    allowed = maintenance_tolerance(load, division)
    return Weight(allowed.count // 2, allowed.unit)


def scale_rules() -> tuple[PublishedRule, ...]:
    """Return the rows these checks stand on: divisions, then tolerances (from WM006), then load."""
    names = ("WM003", _FINER, _COARSER, *_TOLERANCES, "WM010", "WM011")
    return tuple(rule_row(name) for name in names)
