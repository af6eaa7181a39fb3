"""What a day may ask for: the chance of each demand, and what is sold of a given stock.

Each demand answers three things. `quantile(ratio)`: the least stock whose chance of being enough
is `ratio`. `enough(stock)`: that chance. `sold(stock)`: the mean of what is sold, which is the
integral of one less the chance from 0 to the stock; a demand below zero counts as zero.

Uniform and counted demands are exact. A normal quantile and a Poisson sum are irrational, so those
two are computed in floating point; their error is far below a gram.

References
----------
.. [1] Wichura, Algorithm AS 241: The Percentage Points of the Normal Distribution, Applied
   Statistics 37, 1988: what the standard library computes; from memory, checked in the tests
   against an independent library.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from statistics import NormalDist
from typing import Protocol

__all__ = ["Counted", "Demand", "Normal", "Poisson", "Uniform"]

_STANDARD = NormalDist()
_HALF = Fraction(1, 2)


class Demand(Protocol):
    """A demand in the unit of the stock; chances are from 0 to 1."""

    def quantile(self, ratio: Fraction) -> Fraction:
        """Return the least stock that is enough with the chance `ratio`, above 0 and under 1."""

    def enough(self, stock: Fraction) -> float:
        """Return the chance that the stock is enough."""

    def sold(self, stock: Fraction) -> Fraction:
        """Return the mean of what is sold of the stock."""


def _z(ratio: Fraction) -> float:
    """Return the normal quantile; near 1 it comes from the other tail, which a float can hold."""
    return -_z(1 - ratio) if ratio > _HALF else _STANDARD.inv_cdf(float(ratio))


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal demand.

    Parameters
    ----------
    mean, sd : Fraction
        In the unit of the stock; `sd` above zero.
    """

    mean: Fraction
    sd: Fraction

    def z(self, ratio: Fraction) -> float:
        """Return how many standard deviations above the mean the quantile lies."""
        return _z(ratio)

    @property
    def below_zero(self) -> float:
        """Return the chance that the curve gives to a demand below zero."""
        return _STANDARD.cdf(float(-self.mean / self.sd))

    def quantile(self, ratio: Fraction) -> Fraction:
        """Return mean + z sd, at least zero."""
        return max(Fraction(0), self.mean + Fraction(_z(ratio)) * self.sd)

    def enough(self, stock: Fraction) -> float:
        """Return the chance that the stock is enough."""
        return _STANDARD.cdf(float((stock - self.mean) / self.sd))

    def _mean_below(self, stock: Fraction) -> float:
        """Return the mean of the smaller of the stock and a demand that may be below zero."""
        z = float((stock - self.mean) / self.sd)
        lost = _STANDARD.pdf(z) - z * _STANDARD.cdf(-z)
        return float(self.mean) - float(self.sd) * lost

    def sold(self, stock: Fraction) -> Fraction:
        """Return the mean of what is sold of the stock."""
        found = self._mean_below(stock) - self._mean_below(Fraction(0))
        return min(stock, max(Fraction(0), Fraction(found)))


@dataclass(frozen=True, slots=True)
class Uniform:
    """Demand that is as likely anywhere from `low` to `high`, which is above it."""

    low: Fraction
    high: Fraction

    def quantile(self, ratio: Fraction) -> Fraction:
        """Return the stock that is enough with the chance `ratio`."""
        return self.low + ratio * (self.high - self.low)

    def _share(self, stock: Fraction) -> Fraction:
        return min(Fraction(1), max(Fraction(0), (stock - self.low) / (self.high - self.low)))

    def enough(self, stock: Fraction) -> float:
        """Return the chance that the stock is enough."""
        return float(self._share(stock))

    def sold(self, stock: Fraction) -> Fraction:
        """Return the mean of what is sold of the stock."""
        share, reach = self._share(stock), min(stock, self.high)
        return reach - share * share * (self.high - self.low) / 2


@dataclass(frozen=True, slots=True)
class Poisson:
    """Demand in whole pieces that come one by one, `mean` of them, above zero."""

    mean: Fraction

    def _chance(self, pieces: int) -> float:
        mean = float(self.mean)
        return math.exp(pieces * math.log(mean) - mean - math.lgamma(pieces + 1))

    def _last(self) -> int:
        """Return a number of pieces that a float cannot tell from never being passed."""
        mean = float(self.mean)
        return math.ceil(mean + 40 * math.sqrt(mean) + 40)

    def quantile(self, ratio: Fraction) -> Fraction:
        """Return the fewest pieces that are enough with the chance `ratio`."""
        short = float(1 - ratio)
        tail, pieces = 0.0, self._last()
        # the tail is summed from its thin end, so that a ratio near 1 keeps its digits
        while pieces > 0:
            tail += self._chance(pieces)
            if tail > short:
                return Fraction(pieces)
            pieces -= 1
        return Fraction(0)

    def enough(self, stock: Fraction) -> float:
        """Return the chance that the stock is enough."""
        return min(1.0, math.fsum(self._chance(k) for k in range(self._top(stock) + 1)))

    def _top(self, stock: Fraction) -> int:
        return min(math.floor(stock), self._last())

    def sold(self, stock: Fraction) -> Fraction:
        """Return the mean of what is sold of the stock."""
        pieces = float(stock)
        left = math.fsum((pieces - k) * self._chance(k) for k in range(self._top(stock) + 1))
        return min(stock, self.mean, max(Fraction(0), stock - Fraction(left)))


@dataclass(frozen=True, slots=True)
class Counted:
    """Demand that was seen, each day as likely as the next.

    Parameters
    ----------
    seen : tuple of Fraction
        In rising order, at least one.
    """

    seen: tuple[Fraction, ...]

    def quantile(self, ratio: Fraction) -> Fraction:
        """Return the least demand seen that is enough with the chance `ratio`."""
        return self.seen[math.ceil(ratio * len(self.seen)) - 1]

    def enough(self, stock: Fraction) -> float:
        """Return the share of days on which the stock would have been enough."""
        return bisect_right(self.seen, stock) / len(self.seen)

    def sold(self, stock: Fraction) -> Fraction:
        """Return the mean of what would have been sold of the stock."""
        return sum((min(stock, one) for one in self.seen), Fraction(0)) / len(self.seen)
