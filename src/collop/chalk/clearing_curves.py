"""Demand of one cut: what is asked at a price, and what a weight brings.

A cut that sells q0 a period at the price p0, with the elasticity e, sells

    D(p) = q0 (p / p0)^(-e),    so    p(q) = min(cap, p0 (q / q0)^(-1/e))

What q brings is concave in q, in one of two forms:

- *e above 1*: the takings, min(cap q, p0 q0^(1/e) q^(1 - 1/e)).  More weight brings more money.
- *e of 1 or less*: more weight brings less money, so the takings would say: keep meat back.  A
  counter does not.  It takes the price as what clears the case, and that price is where the area
  under the capped curve, less costs, is greatest: the slope of the area is the price itself.

References
----------
.. [1] Inverse demand of constant elasticity and its marginal revenue p (1 - 1/e): standard results,
   from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Curve", "is_cleared"]

# so near to 1 the two forms cannot be told apart; the cut is then cleared at e = 1
_NEAR_ONE = 0.005
_WIDEST = 700.0  # e^700 is near the largest float


def _power(base: float, exponent: float) -> float:
    """Return base^exponent, held within what a float can carry."""
    return math.exp(max(-_WIDEST, min(_WIDEST, exponent * math.log(base))))


def is_cleared(elasticity: float) -> bool:
    """Tell whether a cut is sold for what clears it: its elasticity is 1 or less."""
    return elasticity <= 1 + _NEAR_ONE


@dataclass(frozen=True, slots=True)
class Curve:
    """Demand of one cut; money and weights in the units of the problem.

    Parameters
    ----------
    price0, quantity0 : float
        A price and what was sold in a period at it; above zero.
    elasticity : float
        Above zero: sales fall by so many percent for one percent on the price.
    cap, floor : float
        The price stays within; infinite and 0 where there is none.
    making : float
        Cost tied to each unit of weight sold, such as grinding.
    """

    price0: float
    quantity0: float
    elasticity: float
    cap: float = math.inf
    floor: float = 0.0
    making: float = 0.0

    @property
    def clears(self) -> bool:
        """Tell whether the cut is sold for what clears it (elasticity of 1 or less)."""
        return is_cleared(self.elasticity)

    @property
    def e(self) -> float:
        """Return the elasticity, as 1 where it cannot be told from 1."""
        return 1.0 if abs(self.elasticity - 1) <= _NEAR_ONE else self.elasticity

    def demand(self, price: float) -> float:
        """Return what sells at `price`; 0 at an infinite one, infinite at 0."""
        if math.isinf(price):
            return 0.0
        return self.quantity0 * _power(price / self.price0, -self.e) if price > 0 else math.inf

    def free_price(self, quantity: float) -> float:
        """Return the price at which `quantity` sells, cap and floor left aside."""
        return self.price0 * _power(quantity / self.quantity0, -1 / self.e)

    def price(self, quantity: float) -> float:
        """Return the price to write for `quantity`, never over the cap."""
        return min(self.cap, self.free_price(quantity)) if quantity > 0 else self.cap

    @property
    def at_cap(self) -> float:
        """Return how much sells at the cap."""
        return self.demand(self.cap)

    @property
    def most(self) -> float:
        """Return how much sells at the floor: no more can be sold."""
        return self.demand(self.floor)

    def brings(self, quantity: float) -> float:
        """Return the concave value of selling `quantity`, before any cost."""
        if quantity <= 0:
            return 0.0
        if quantity <= self.at_cap:
            return self.cap * quantity
        if not self.clears:
            return self.price(quantity) * quantity
        further, bend = math.log(quantity / self.at_cap), 1 / self.e - 1
        area = -math.expm1(-bend * further) / bend if bend else further
        return self.cap * self.at_cap * (1 + area)

    def best(self, cost: float) -> float:
        """Return the quantity that brings the most less `cost` [money per unit] on each unit.

        Returns
        -------
        float
            Infinite where nothing stops it: no cost, and no floor.
        """
        if cost >= self.cap:
            return 0.0
        if cost <= 0:
            return self.most
        price = cost if self.clears else cost * self.e / (self.e - 1)
        return min(self.most, max(self.at_cap, self.demand(price)))
