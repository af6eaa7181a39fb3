"""A tree of weighed sums: side to large cuts to cuts, each whole with its parts and its loss."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.measures import WeightUnit

__all__ = [
    "LOSS_SD_SHARE",
    "LOSS_SHARE",
    "SCALE_SD",
    "SIGNIFICANCE",
    "STEPS",
    "USUAL_PARTS",
    "Balance",
    "Loss",
    "Piece",
    "Tare",
    "Usual",
]

#: Common practice, no published source: drip, bone dust and drying in breaking and cutting.
LOSS_SHARE = Fraction(1, 100)
LOSS_SD_SHARE = Fraction(5, 1000)
#: Standard deviation of one reading of a bench scale; common practice, no published source.
SCALE_SD = {
    WeightUnit.LB: Fraction(2, 100),
    WeightUnit.OZ: Fraction(3, 10),
    WeightUnit.KG: Fraction(1, 100),
    WeightUnit.G: Fraction(10),
}
#: Step in which reconciled weights are printed.
STEPS = {
    WeightUnit.LB: Fraction(1, 1000),
    WeightUnit.OZ: Fraction(1, 100),
    WeightUnit.KG: Fraction(1, 1000),
    WeightUnit.G: Fraction(1),
}
#: One true balance in a hundred is refused.
SIGNIFICANCE = 0.01
#: What is left out most often; common practice, no published source.
USUAL_PARTS = ("bone barrel", "fat", "trim lug")


@dataclass(frozen=True, slots=True)
class Loss:
    """An unweighed loss as a pseudo-measurement [unit of the balance]."""

    weight: Fraction
    sd: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A weighed or unweighed thing, with the parts it was cut into.

    Parameters
    ----------
    name, path : str
        What it is called, and where it stands in the problem.
    weight : Fraction or None
        Reading [unit of the balance]; None: not weighed.
    sd : Fraction
        Standard deviation of the reading [same unit].
    parts : tuple of Piece
        Empty for a thing that was not cut.
    loss : Loss or None
        Of the cutting into parts.
    """

    name: str
    path: str
    weight: Fraction | None
    sd: Fraction
    parts: tuple[Piece, ...] = ()
    loss: Loss | None = None

    def walk(self) -> Iterator[Piece]:
        """Yield this piece and all below it, a whole before its parts."""
        yield self
        for part in self.parts:
            yield from part.walk()


@dataclass(frozen=True, slots=True)
class Tare:
    """A tub, pan or hook that may have been left on the scale [unit of the balance]."""

    name: str
    weight: Fraction


@dataclass(frozen=True, slots=True)
class Usual:
    """What is often left out, with what it usually weighs [unit of the balance] if known."""

    name: str
    weight: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """One question: do these weights close, and what are they most likely.

    Parameters
    ----------
    unit : WeightUnit
        Of every weight here.
    step : Fraction
        Step of the printed weights.
    significance : float
        Chance of refusing weights that are true.
    root : Piece
        Has parts.
    tares : tuple of Tare
        Usual tares of the shop.
    usual_parts : tuple of Usual
        What is left out most often.
    """

    name: str
    unit: WeightUnit
    step: Fraction
    significance: float
    root: Piece
    tares: tuple[Tare, ...] = ()
    usual_parts: tuple[Usual, ...] = tuple(map(Usual, USUAL_PARTS))
    notes: tuple[str, ...] = ()
