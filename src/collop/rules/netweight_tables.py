"""The tables of net-weight checks: how many packages to take, and how short one may be.

Read from the rows of weights and measures. Nearly all of them are from memory, and every plan says
so; the t quantile behind each sample correction factor is worked out anew beside it.

References
----------
.. [1] NIST Handbook 133, Appendix A, tables 2-1, 2-2, 2-5 and 2-9.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from collop.measures import WeightUnit
from collop.reference.rulebook import PublishedRule, rule_row, rule_rows

__all__ = [
    "CATEGORIES",
    "PRODUCTS",
    "Allowance",
    "SamplingPlan",
    "allowance_for",
    "check_rules",
    "recomputed_factor",
    "sampling_plan",
]

#: A: packages put up and sold in the shop; B: at point of pack of an inspected plant.
CATEGORIES = ("A", "B")
#: Classes of Category B: a fluid is one that was fluid and alike throughout when filled.
PRODUCTS = ("other", "fluid")
_METRIC = (WeightUnit.KG, WeightUnit.G)
# exact by definition: 1 lb = 0.45359237 kg, 16 oz = 1 lb (NIST Handbook 44, Appendix C)
_POUNDS_PER = {
    WeightUnit.LB: Fraction(1),
    WeightUnit.OZ: Fraction(1, 16),
    WeightUnit.KG: Fraction(100_000_000, 45_359_237),
    WeightUnit.G: Fraction(100_000, 45_359_237),
}
_ONE_SIDED = 0.975
_PLAN = re.compile(r"Category (?P<category>[AB]) sampling, lot (?P<lot>.+)")
_SIZES = re.compile(
    r"(?P<only>\d+)|(?P<low>\d+) to (?P<high>\d+)|(?P<below>\d+) or less|(?P<above>\d+) or more"
    r"|over (?P<over>\d+)"
)
_VALUE = re.compile(r"sample (\d+)(?:; SCF ([\d.]+|n/a))?(?:; over-MAV allowed (\d+))")
_BRACKET = re.compile(
    r"MAV, labelled net weight (?:over (?P<low>[\d.]+)(?: to (?P<high>[\d.]+))?|(?P<least>[\d.]+)) "
    r"lb"
)
_ENDS = re.compile(r"([\d.]+) (k?g) \((\d+) oz\)")
_AMOUNT = re.compile(r"([\d.]+) g \(([\d.]+) oz\)")
_FLUID = "homogenous fluid when filled"


@dataclass(frozen=True, slots=True, kw_only=True)
class SamplingPlan:
    """How many packages of a lot are checked, and how.

    Parameters
    ----------
    low, high : int
        Lot sizes it is for; `high` is 0 for no end.
    size : int
        Packages to take.
    factor : Decimal or None
        Sample correction factor; None where the average is not corrected.
    over_allowed : int
        How many may be short beyond their allowance.
    row : PublishedRule
        Where it stands.
    """

    category: str
    low: int
    high: int
    size: int
    factor: Decimal | None
    over_allowed: int
    row: PublishedRule


@dataclass(frozen=True, slots=True)
class Allowance:
    """How short one package may be, exactly, in the unit asked for; and the row that says so."""

    amount: Fraction
    row: PublishedRule


@cache
def _plans() -> tuple[SamplingPlan, ...]:
    found = []
    for row in rule_rows("weights"):
        match = _PLAN.fullmatch(row.text)
        if match is None:
            continue
        value = _VALUE.fullmatch(row.value)
        assert value is not None, row.rule_id
        low, high = _lot_sizes(match["lot"])
        factor = None if value[2] in (None, "n/a") else Decimal(value[2])
        found.append(SamplingPlan(category=match["category"], low=low, high=high,
                                  size=int(value[1]), factor=factor, over_allowed=int(value[3]),
                                  row=row))  # fmt: skip
    return tuple(found)


def _lot_sizes(text: str) -> tuple[int, int]:
    """Return the least and most packages a row is for; 0 for no end."""
    match = _SIZES.fullmatch(text)
    assert match is not None, text
    if match["only"]:
        return int(match["only"]), int(match["only"])
    if match["below"]:
        return 1, int(match["below"])
    if match["above"] or match["over"]:
        return int(match["above"] or 0) or int(match["over"]) + 1, 0
    return int(match["low"]), int(match["high"])


def sampling_plan(category: str, lot_size: int) -> SamplingPlan:
    """Return the plan for a lot.

    Parameters
    ----------
    category : str
        One of `CATEGORIES`.
    lot_size : int
        Packages in the lot, 1 or more.

    Examples
    --------
    >>> [sampling_plan("A", size).size for size in (1, 11, 12, 250, 251, 3200, 3201)]
    [1, 11, 12, 12, 24, 24, 48]
    """
    return next(
        plan
        for plan in _plans()
        if plan.category == category and plan.low <= lot_size <= (plan.high or lot_size)
    )


@cache
def recomputed_factor(size: int) -> Decimal | None:
    """Return the factor worked out anew: the 97.5 % quantile of Student's t over sqrt(n).

    Parameters
    ----------
    size : int
        Packages in the sample.

    Returns
    -------
    Decimal or None
        Six decimals; None for one package, which has no spread.
    """
    if size < 2:
        return None
    from scipy.special import stdtrit  # noqa: PLC0415 -- slow to load

    return Decimal(f"{float(stdtrit(size - 1, _ONE_SIDED)) / size**0.5:.6f}")


def allowance_for(label: Fraction, unit: WeightUnit, category: str, product: str) -> Allowance:
    """Return how short a package with that label may be.

    Parameters
    ----------
    label : Fraction
        Labelled net weight [`unit`], above zero.
    unit : WeightUnit
        For kg and g the gram column is read, for lb and oz the pound column.
    category, product : str
        Of `CATEGORIES` and `PRODUCTS`; the product counts in Category B alone.

    Examples
    --------
    >>> allowance_for(Fraction("0.25"), WeightUnit.LB, "A", "other").amount
    Fraction(2, 125)
    """
    if category == "A":
        return _maximum_variation(label, unit)
    return _lower_limit(label, unit, product)


@cache
def _brackets() -> tuple[tuple[Fraction | None, PublishedRule], ...]:
    """Return the top of each bracket in pounds, None for the last, with its row."""
    found: list[tuple[Fraction | None, PublishedRule]] = []
    for row in rule_rows("weights"):
        match = _BRACKET.match(row.text)
        if match:
            top = match["least"] or match["high"]
            found.append((None if top is None else Fraction(top), row))
    return tuple(found)


def _maximum_variation(label: Fraction, unit: WeightUnit) -> Allowance:
    pounds = label * _POUNDS_PER[unit]
    row = next(row for top, row in _brackets() if top is None or pounds <= top)
    if row.unit != "lb":
        return Allowance(_percent(row) * label, row)
    if unit in _METRIC:
        return Allowance(_grams(row.worked_result.removesuffix(" g"), unit), row)
    return Allowance(Fraction(row.value) / _POUNDS_PER[unit], row)


def _grams(text: str, unit: WeightUnit) -> Fraction:
    grams = Fraction(text)
    return grams if unit is WeightUnit.G else grams / 1000


def _percent(row: PublishedRule) -> Fraction:
    """Return a value such as ``10 %`` as a share."""
    return Fraction(row.value.split()[0]) / 100


@dataclass(frozen=True, slots=True)
class _Limit:
    """One bracket of the lower limits: its top in ounces and grams, None for no end."""

    top_oz: Fraction | None
    top_g: Fraction | None
    is_top_in: bool
    row: PublishedRule


@cache
def _limits(product: str) -> tuple[_Limit, ...]:
    found = []
    rows = [row for row in rule_rows("weights") if row.text.startswith("USDA lower limit")]
    for row in rows:
        if (_FLUID in row.text) != (product == "fluid"):
            continue
        ends = _ENDS.findall(row.text.partition("labelled ")[2])
        grams, unit, ounces = ends[-1]
        is_last = "labelled over" in row.text and len(ends) == 1
        found.append(
            _Limit(
                top_oz=None if is_last else Fraction(ounces),
                top_g=None if is_last else Fraction(grams) * (1000 if unit == "kg" else 1),
                is_top_in="labelled under" not in row.text,
                row=row,
            )
        )
    return tuple(found)


def _lower_limit(label: Fraction, unit: WeightUnit, product: str) -> Allowance:
    is_metric = unit in _METRIC
    if is_metric:
        weight = label if unit is WeightUnit.G else label * 1000
    else:
        weight = label if unit is WeightUnit.OZ else label * 16

    def holds(limit: _Limit) -> bool:
        top = limit.top_g if is_metric else limit.top_oz
        return top is None or weight < top or (limit.is_top_in and weight == top)

    row = next(limit.row for limit in _limits(product) if holds(limit))
    if row.value.endswith("% of label"):
        return Allowance(_percent(row) * label, row)
    match = _AMOUNT.fullmatch(row.value)
    assert match is not None
    if is_metric:
        return Allowance(_grams(match[1], unit), row)
    ounces = Fraction(match[2])
    return Allowance(ounces if unit is WeightUnit.OZ else ounces / 16, row)


def check_rules(category: str) -> tuple[PublishedRule, ...]:
    """Return the rows that say how a lot is judged, beside its plan and allowances."""
    shared = ("WM061", "WM062", "WM063", "WM064", "WM083", "WM126")
    own = ("WM065", "WM066") if category == "A" else ()
    return tuple(rule_row(name) for name in (*own, *shared))
