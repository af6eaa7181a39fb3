"""What an offer costs for one unit to sell, at its usual figures and at both ends of the band.

A live animal, weight by weight:

    hot = live x (1 - shrink on the way) x dressing
    cold = hot x (1 - cooler shrink)
    to sell = carcass x take-home

    cost = weight x price + haulage + kill fees + cutting fee x hot
           + minutes x to sell x rate / 60 - credits

The dear end takes the low shares and the high shrink, the cheap end the other way round. Of a box
the weights are known, so its ends are one.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.buying_reading import Buying, Carcass, Offer

__all__ = ["ENDS", "Costed", "EndCost", "cost_offer"]

#: Of the cost: the low end is where the animal gives most.
ENDS = ("usual", "low", "high")
_GIVES = {"usual": "usual", "low": "high", "high": "low"}


@dataclass(frozen=True, slots=True)
class EndCost:
    """One end of an offer; weights in the problem's unit, money exact.

    Parameters
    ----------
    weights : tuple of (str, Fraction)
        ``live``, ``hot``, ``cold`` as far as they are known, and ``to sell`` last.
    parts : tuple of (str, Fraction)
        What the cost is made of; credits below zero.
    """

    weights: tuple[tuple[str, Fraction], ...]
    parts: tuple[tuple[str, Fraction], ...]

    @property
    def saleable(self) -> Fraction:
        """Return what is there to sell."""
        return self.weights[-1][1]

    @property
    def cost(self) -> Fraction:
        """Return the money of all parts."""
        return sum((money for _, money in self.parts), Fraction(0))

    @property
    def per_unit(self) -> Fraction:
        """Return the money for one unit to sell."""
        return self.cost / self.saleable


@dataclass(frozen=True, slots=True)
class Costed:
    """An offer with its three ends, and what it is worth at the board; None if not known."""

    offer: Offer
    ends: dict[str, EndCost]
    worth: dict[str, Fraction] | None

    @property
    def per_unit(self) -> tuple[Fraction, Fraction, Fraction]:
        """Return the usual, low and high money for one unit to sell."""
        usual, low, high = (self.ends[end].per_unit for end in ENDS)
        return usual, low, high

    @property
    def shares(self) -> tuple[Fraction, Fraction, Fraction] | None:
        """Return cost over board value: usual, low and high; None if the value is not known."""
        if self.worth is None or not all(self.worth.values()):
            return None
        usual, low, high = (self.ends[end].cost / self.worth[end] for end in ENDS)
        return usual, low, high


def _weights(one: Carcass, gives: str) -> tuple[tuple[tuple[str, Fraction], ...], Fraction]:
    """Return the weights on the way, and the hot one (the cold one where no other is known)."""
    loses = {"usual": "usual", "low": "high", "high": "low"}[gives]
    shrink = None if one.shrink is None else one.shrink.at(loses)
    found: dict[str, Fraction] = {one.weight_is: one.weight}
    if one.dressing is not None:
        found["hot"] = one.weight * (1 - one.live_shrink) * one.dressing.at(gives)
    if "hot" in found and shrink is not None:
        found["cold"] = found["hot"] * (1 - shrink)
    hot = found.get("hot", one.weight)
    carcass = found["cold"] if one.take_home.of == "cold" and "cold" in found else hot
    found["to sell"] = carcass * one.take_home.at(gives)
    return tuple(found.items()), hot


def _end(asked: Buying, offer: Offer, end: str) -> EndCost:
    if offer.carcass is None:
        weights: tuple[tuple[str, Fraction], ...] = (
            ("bought", sum((one.weight for one in offer.box), Fraction(0))),
            ("to sell", sum((one.net for one in offer.box), Fraction(0))),
        )
        bought = [("bought", sum((one.weight * one.price for one in offer.box), Fraction(0)))]
    else:
        one = offer.carcass
        weights, hot = _weights(one, _GIVES[end])
        bought = [
            ("bought", one.weight * one.price + one.animals * one.price_head),
            ("kill fee", one.animals * one.kill_fee),
            ("cutting fee", hot * one.cutting_fee),
        ]
    own = weights[-1][1] * offer.labour * asked.labour_per_hour / 60
    parts = [*bought, ("haulage", offer.haulage), ("own labour", own),
             *((f"credit: {name}", -money) for name, money in offer.credits)]  # fmt: skip
    return EndCost(weights, tuple(part for part in parts if part[1] or part[0] == "bought"))


def _worth(asked: Buying, offer: Offer, saleable: Fraction) -> Fraction | None:
    """Return what an offer brings at the board; None if a cut of it has no price there."""
    if offer.carcass is not None:
        if not any(one.share for one in asked.cuts):
            return None
        cuts = sum((one.share * one.price for one in asked.cuts), Fraction(0))
        rest = max(Fraction(0), 1 - sum((one.share for one in asked.cuts), Fraction(0)))
        return saleable * (cuts + rest * asked.rest_price)
    total = Fraction(0)
    for one in offer.box:
        cut = asked.cut(one.cut)
        if cut is None:
            return None
        total += one.net * cut.price
    return total


def cost_offer(asked: Buying, offer: Offer) -> Costed:
    """Return one offer with its costs, exact.

    Parameters
    ----------
    asked : Buying
        Gives the rate of labour and the board.
    offer : Offer
        One of it.
    """
    ends = {end: _end(asked, offer, end) for end in ENDS}
    worth = {end: _worth(asked, offer, ends[end].saleable) for end in ENDS}
    known = {end: value for end, value in worth.items() if value is not None}
    return Costed(offer, ends, known if len(known) == len(ENDS) else None)
