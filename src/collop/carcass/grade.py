"""US beef yield grade: the full equation and the short method.

Decimals are dropped, never rounded, for the grade. The two methods differ by a few hundredths for
one carcass; each is shown with its steps.

References
----------
.. [1] Beef Improvement Federation, Guidelines: Final Calculated Yield Grade:
   YG = 2.50 + 2.50 AFT + 0.20 KPH + 0.0038 HCW - 0.32 REA. Source id ``BIFYG``.
.. [2] South Dakota State University Extension, Beef carcass yield grades: start 2.0, 0.25 per
   0.1 in of fat; required ribeye 11.0 sq in at 600 lb and 0.3 per 25 lb; 0.3 of a grade per sq in;
   0.1 per half point of fat from 3.5 %. Source id ``SDSUYG``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.carcass.standing import Basis
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.reference import Row, carcass_rules

__all__ = ["GradeStep", "YieldGrade", "yield_grade", "yield_grade_short"]

_GRADES = (1, 5)
_WORDS = {
    "adjusted_fat_in": "fat over the ribeye [in]",
    "fat_in": "back fat [in]",
    "kph_pct": "kidney, pelvic and heart fat [%]",
    "ribeye_sq_in": "ribeye area [sq in]",
}


@dataclass(frozen=True, slots=True)
class GradeStep:
    """One term of a grade: what it is, and by how much it moves the grade."""

    what: str
    amount: Fraction


@dataclass(frozen=True, slots=True)
class YieldGrade:
    """A grade with its working.

    Parameters
    ----------
    method : str
        ``equation`` or ``short``.
    value : Fraction
        Exact sum of the steps.
    steps : tuple of GradeStep
        What was added up.
    basis : Basis
        What the method rests on.
    retail_pct : tuple of Decimal or None
        Published share of the carcass in retail cuts for this grade, lower and upper end [%];
        an end is None where the table leaves it open.
    retail_basis : Basis
        What `retail_pct` rests on.
    """

    method: str
    value: Fraction
    steps: tuple[GradeStep, ...]
    basis: Basis
    retail_pct: tuple[Decimal | None, Decimal | None]
    retail_basis: Basis

    @property
    def grade(self) -> int:
        """Return the grade from 1 to 5, decimals dropped."""
        return _grade(self.value)


def _grade(value: Fraction) -> int:
    low, high = _GRADES
    return min(max(value.numerator // value.denominator, low), high)


def _checked(amount: Decimal, low: int, high: int, key: str) -> Fraction:
    if not amount.is_finite() or not low <= amount <= high:
        raise BadValue(
            f"The {_WORDS[key]} is {amount}; it must be from {low} to {high}.", where=f"$.{key}"
        )
    return Fraction(amount)


def _told(method: str, steps: tuple[GradeStep, ...], row: Row) -> YieldGrade:
    value = sum((step.amount for step in steps), Fraction(0))
    (table,) = (
        found
        for found in carcass_rules("pct_total_retail_cuts", species="beef")
        if found.inputs == f"yield grade {_grade(value)}"
    )
    return YieldGrade(method, value, steps, Basis.of(row), (table.low, table.high), Basis.of(table))


def yield_grade(
    *, adjusted_fat_in: Decimal, kph_pct: Decimal, ribeye_sq_in: Decimal, hot_carcass: Weight
) -> YieldGrade:
    """Return the yield grade by the full equation.

    Parameters
    ----------
    adjusted_fat_in : Decimal
        Fat over the ribeye at the 12th rib, adjusted [in].
    kph_pct : Decimal
        Kidney, pelvic and heart fat [% of hot carcass].
    ribeye_sq_in : Decimal
        Ribeye area [sq in].
    hot_carcass : Weight
        Hot carcass weight.

    Raises
    ------
    BadValue
        If a measure is outside what carcasses have.

    Examples
    --------
    >>> from decimal import Decimal as D
    >>> from collop.measures import Weight, WeightUnit
    >>> found = yield_grade(adjusted_fat_in=D("0.40"), kph_pct=D("2.5"), ribeye_sq_in=D("12.8"),
    ...                     hot_carcass=Weight.of(750, WeightUnit.LB))
    >>> float(found.value), found.grade
    (2.754, 2)
    """
    fat = _checked(adjusted_fat_in, 0, 4, "adjusted_fat_in")
    inner = _checked(kph_pct, 0, 12, "kph_pct")
    eye = _checked(ribeye_sq_in, 3, 30, "ribeye_sq_in")
    pounds = _pounds(hot_carcass, 200, 1600)
    (row,) = carcass_rules("yield_grade_equation", species="beef", cited_only=True)
    steps = (
        GradeStep("start", Fraction("2.50")),
        GradeStep("2.50 x adjusted fat", Fraction("2.50") * fat),
        GradeStep("0.20 x kidney, pelvic and heart fat", Fraction("0.20") * inner),
        GradeStep("0.0038 x hot carcass", Fraction("0.0038") * pounds),
        GradeStep("-0.32 x ribeye area", Fraction("-0.32") * eye),
    )
    return _told("equation", steps, row)


def _pounds(weight: Weight, low: int, high: int) -> Fraction:
    pounds = weight.exact(WeightUnit.LB)
    if not low <= pounds <= high:
        raise BadValue(
            f"The hot carcass weighs {weight.text(WeightUnit.LB)}; "
            f"it must be from {low} to {high} lb.",
            where="$.hot_carcass_lb",
        )
    return pounds


def yield_grade_short(
    *, fat_in: Decimal, kph_pct: Decimal, ribeye_sq_in: Decimal, hot_carcass: Weight
) -> YieldGrade:
    """Return the yield grade by the short method, within the published steps only.

    Parameters
    ----------
    fat_in : Decimal
        Back fat [in], 0 to 1.4.
    kph_pct : Decimal
        Kidney, pelvic and heart fat [% of hot carcass], 1 to 4.5.
    ribeye_sq_in : Decimal
        Ribeye area [sq in].
    hot_carcass : Weight
        Hot carcass weight, 600 to 1000 lb.

    Raises
    ------
    BadValue
        If a measure lies outside the published steps.
    """
    fat = _in_steps(fat_in, Decimal(0), Decimal("1.4"), "fat_in")
    inner = _in_steps(kph_pct, Decimal(1), Decimal("4.5"), "kph_pct")
    eye = _checked(ribeye_sq_in, 3, 30, "ribeye_sq_in")
    pounds = _pounds(hot_carcass, 600, 1000)
    required = Fraction(11) + (pounds - 600) * Fraction("0.3") / 25
    (row,) = carcass_rules("yield_grade_short_method_example", species="beef", cited_only=True)
    steps = (
        GradeStep("start and 0.25 per 0.1 in of back fat", 2 + fat * Fraction("2.5")),
        GradeStep("0.3 per sq in of ribeye short of the required", (required - eye) * 3 / 10),
        GradeStep("0.1 per half point of inner fat from 3.5 %", (inner - Fraction("3.5")) / 5),
    )
    return _told("short", steps, row)


def _in_steps(amount: Decimal, low: Decimal, high: Decimal, key: str) -> Fraction:
    if not amount.is_finite() or not low <= amount <= high:
        raise BadValue(
            f"The {_WORDS[key]} is {amount}; the short method holds from {low} to {high}: "
            "use the equation.",
            where=f"$.{key}",
        )
    return Fraction(amount)
