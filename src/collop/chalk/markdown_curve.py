"""What sells at a price, what else the stock can become, and the prices that may stand.

Demand a period is D(p) = q0 (p/p0)^-e: constant elasticity through the present price and the usual
sale.  Powers are taken as logarithms, so that no input, however far from the usual, overflows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.markdown_reading import Stock, Way
from collop.measures import minor_places

__all__ = ["Curve", "allowed_near", "curve_of", "first_moved", "worth_of_rest"]

_HIGHEST_POWER = 700.0  # e**709 is the largest float


@dataclass(frozen=True, slots=True)
class Curve:
    """Demand of one period between two prices.

    Parameters
    ----------
    price, usual, elasticity : float
        p0 [money per unit], q0 [unit a period], e.
    floor, cap : float
        Bounds of the price.
    """

    price: float
    usual: float
    elasticity: float
    floor: float
    cap: float

    def sold(self, price: float) -> float:
        """Return the weight asked for in one period at `price`; without end at zero."""
        if price <= 0:
            return math.inf
        power = math.log(self.usual) - self.elasticity * math.log(price / self.price)
        return math.exp(power) if power < _HIGHEST_POWER else math.inf

    def price_for(self, weight: float) -> float:
        """Return the price within the bounds at which `weight` is asked for in one period."""
        if weight <= 0:
            return self.cap
        power = math.log(self.price) - math.log(weight / self.usual) / self.elasticity
        return self.within(math.exp(power) if power < _HIGHEST_POWER else math.inf)

    def within(self, price: float) -> float:
        """Return the nearest price within the bounds."""
        return min(self.cap, max(self.floor, price))


def curve_of(stock: Stock) -> Curve:
    """Return the demand curve of a problem."""
    return Curve(
        price=float(stock.price),
        usual=float(stock.usual),
        elasticity=float(stock.elasticity),
        floor=float(stock.floor),
        cap=float(stock.cap),
    )


def worth_of_rest(
    ways: Sequence[Way], weight: Fraction
) -> Iterator[tuple[Way | None, Fraction, Fraction]]:
    """Yield where a rest goes, the best use first: (way, weight, money); None is the bin.

    Parameters
    ----------
    ways : sequence of Way
        Best first.
    weight : Fraction
        What is not sold [unit]; zero yields nothing.
    """
    left = weight
    for way in ways:
        goes = left if way.takes is None else min(left, way.takes)
        if goes > 0:
            yield way, goes, goes * way.value
        left -= goes
    if left > 0:
        yield None, left, Fraction(0)


def first_moved(ways: Sequence[Way], price: Fraction, weight: Fraction) -> Fraction:
    """Return how much of `weight` is worth more elsewhere than `price`, so that it goes first."""
    return sum(
        (goes for way, goes, _ in worth_of_rest(ways, weight) if way and way.value > price),
        Fraction(0),
    )


def allowed_near(stock: Stock, price: Fraction) -> Iterator[Fraction]:
    """Yield the highest ending up to `price`, if any, and the lowest from it up.

    Parameters
    ----------
    stock : Stock
        With endings.
    price : Fraction
        Money per unit.
    """
    assert stock.endings is not None
    scale = 10 ** minor_places(stock.frame.currency)
    low = stock.endings.down(math.floor(price * scale))
    if low > 0:
        yield Fraction(low, scale)
    high = stock.endings.up(math.ceil(price * scale))
    if high != low:
        yield Fraction(high, scale)
