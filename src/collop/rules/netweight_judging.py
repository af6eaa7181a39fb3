"""Judging a lot exactly: the average against its error limit, each package against its allowance.

The error limit is a factor times a standard deviation, which has no end as a decimal. So squares
are compared, as fractions, and nothing near the limit is decided by a rounding.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

from collop.rules.netweight_reading import CheckedLot
from collop.rules.netweight_tables import recomputed_factor

__all__ = ["Judged", "judge", "root"]

_DIGITS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What was found of a lot, in its unit.

    Parameters
    ----------
    mean : Fraction
        Average of the errors; below zero is short.
    variance : Fraction or None
        With n - 1; None for one package.
    factor : Fraction or None
        Sample correction factor; None if the average may not be below zero, or is not judged.
    average : str
        ``passes``, ``fails``, ``not judged`` (one package) or ``too few``.
    average_by_recomputed : str
        The same with the factor worked out anew.
    beyond : tuple of int
        Positions of the packages short beyond their allowance.
    """

    mean: Fraction
    variance: Fraction | None
    factor: Fraction | None
    average: str
    average_by_recomputed: str
    beyond: tuple[int, ...]
    over_allowed: int

    @property
    def packages_pass(self) -> bool:
        """Tell whether no more packages are beyond their allowance than may be."""
        return len(self.beyond) <= self.over_allowed

    @property
    def verdict(self) -> str:
        """Return ``passes``, ``fails`` or ``undecided``."""
        if not self.packages_pass or self.average == "fails":
            return "fails"
        return "undecided" if self.average == "too few" else "passes"

    def limit(self) -> Decimal:
        """Return the sample error limit, to many digits."""
        if self.factor is None or self.variance is None:
            return Decimal(0)
        return root(self.factor**2 * self.variance)


def root(square: Fraction) -> Decimal:
    """Return the square root of an exact value to 60 digits, for showing; never to decide."""
    with localcontext() as context:
        context.prec = _DIGITS
        context.rounding = ROUND_HALF_UP
        return (Decimal(square.numerator) / Decimal(square.denominator)).sqrt()


def judge(lot: CheckedLot) -> Judged:
    """Judge a lot by its plan and by the allowance of each package.

    Parameters
    ----------
    lot : CheckedLot
        With at least one package.
    """
    errors = [package.error for package in lot.packages]
    count = len(errors)
    mean = sum(errors, Fraction(0)) / count
    variance = None
    if count > 1:
        variance = sum(((error - mean) ** 2 for error in errors), Fraction(0)) / (count - 1)
    factor = None if lot.plan.factor is None else Fraction(lot.plan.factor)
    anew = recomputed_factor(lot.sample) if factor is not None else None
    beyond = tuple(
        index
        for index, package in enumerate(lot.packages)
        if -package.error > package.allowance.amount
    )
    return Judged(
        mean=mean,
        variance=variance,
        factor=factor,
        average=_average(lot, mean, variance, factor),
        average_by_recomputed=_average(
            lot, mean, variance, factor if anew is None else Fraction(anew)
        ),
        beyond=beyond,
        over_allowed=lot.plan.over_allowed,
    )


def _average(
    lot: CheckedLot, mean: Fraction, variance: Fraction | None, factor: Fraction | None
) -> str:
    if len(lot.packages) < lot.sample:
        return "too few"
    if lot.category == "A" and factor is None:
        return "not judged"
    if mean >= 0:
        return "passes"
    if factor is None or variance is None:
        return "fails"
    # |mean| <= factor x s, with both sides squared
    return "passes" if mean**2 <= factor**2 * variance else "fails"
