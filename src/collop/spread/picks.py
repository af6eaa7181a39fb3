"""One line of an answer: what is taken of an option, and what that brings."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from fractions import Fraction

from collop.measures import Money, Rounding, Weight, WeightUnit
from collop.spread.options import Option

__all__ = ["Pick"]


@dataclass(frozen=True, slots=True)
class Pick:
    """One line of an answer: an option and how many of each of its steps."""

    option: Option
    counts: tuple[int, ...]

    @property
    def mlb(self) -> int:
        """Return the weight [0.001 lb]."""
        return sum(p.mlb * n for p, n in zip(self.option.parts, self.counts, strict=True))

    @property
    def pounds(self) -> Fraction:
        """Return the weight [lb]."""
        return Fraction(self.mlb, 1000)

    @property
    def pieces(self) -> tuple[int, ...] | None:
        """Return the weights of the pieces taken [0.001 lb], or None if cut to weight."""
        if self.option.offer.pieces_mlb is None:
            return None
        parts = zip(self.option.parts, self.counts, strict=True)
        return tuple(itertools.chain.from_iterable([p.mlb] * n for p, n in parts))

    def total(self, rule: Rounding) -> Money:
        """Return the money of the line, rounded once."""
        return self.option.offer.price.line(Weight.of(self.pounds, WeightUnit.LB), rule)

    @property
    def oz(self) -> Fraction:
        """Return the raw boneless-equivalent weight [oz]."""
        return self.option.oz_per_lb * self.pounds

    @property
    def meals(self) -> Fraction:
        """Return how many usual adult meals it makes."""
        return self.option.meals_per_lb * self.pounds
