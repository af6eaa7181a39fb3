"""What a blend is asked: trim bins with their fat, and what is to be made of them.

Weights and money are exact fractions in the problem's one unit and currency; a share is of weight.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from collop.bench.blending_amounts import BlendFrame

__all__ = ["Added", "BinLimit", "Blend", "Casing", "Range", "Recipe", "TrimBin"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimBin:
    """One bin of trim.

    Parameters
    ----------
    id, name, species : str
        Which.
    fat, protein : Fraction
        Shares of its weight; protein may be unknown.
    available : int or None
        Whole thousandths of the unit; None if as much as is wanted may be had.
    price : Fraction
        Money per unit that it costs, or is worth elsewhere.
    contains : tuple of str
        Allergens in it.
    """

    id: str
    name: str
    species: str
    fat: Fraction
    protein: Fraction | None
    available: int | None
    price: Fraction
    contains: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Range:
    """Least and most share, of the ``meat`` or of the ``finished`` weight."""

    low: Fraction | None
    high: Fraction | None
    of: str


@dataclass(frozen=True, slots=True)
class BinLimit:
    """Least and most share of the meat that comes from one bin, given by its index."""

    bin: int
    low: Fraction | None
    high: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What is added to the meat: a share of the ``meat`` or ``finished`` weight, at a price."""

    name: str
    of: str
    share: Fraction
    price: Fraction
    contains: tuple[str, ...]
    kind: str


@dataclass(frozen=True, slots=True)
class Casing:
    """Skin of a link: its species, money per unit of finished weight, allergens."""

    species: str
    per_unit: Fraction
    contains: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """One thing to be made.

    Parameters
    ----------
    id, name : str
        Which.
    standard : str or None
        Published standard that its name falls under.
    make : int or None
        Finished weight wanted [thousandths of the unit].
    most : int or None
        Most finished weight [thousandths], for what is made as long as it pays.
    price : Fraction or None
        Money per unit of finished weight.
    fat, protein : Range or None
        The recipe's own limits.
    bins : tuple of int
        Indices of the bins it may take from.
    bin_limits : tuple of BinLimit
        Limits on single bins.
    added : tuple of Added
        What is no meat.
    casing : Casing or None
        Its skin.
    batch, piece : int or None
        What the mixer holds, and the weight of one link [thousandths of the unit].
    """

    id: str
    name: str
    standard: str | None
    make: int | None
    most: int | None
    price: Fraction | None
    fat: Range | None
    protein: Range | None
    bins: tuple[int, ...]
    bin_limits: tuple[BinLimit, ...]
    added: tuple[Added, ...]
    casing: Casing | None
    batch: int | None
    piece: int | None

    @property
    def finished_per_meat(self) -> Fraction:
        """Return finished weight per unit of meat: (1 + shares of meat) / (1 - shares of it)."""
        of_meat = sum((one.share for one in self.added if one.of == "meat"), Fraction(0))
        of_finished = sum((one.share for one in self.added if one.of == "finished"), Fraction(0))
        return (1 + of_meat) / (1 - of_finished)

    def added_share(self, kind: str) -> Fraction:
        """Return the share of the finished weight that is of one kind of added thing."""
        return sum((self.share_of(one) for one in self.added if one.kind == kind), Fraction(0))

    def share_of(self, one: Added) -> Fraction:
        """Return the share of the finished weight that an added thing is."""
        return one.share if one.of == "finished" else one.share / self.finished_per_meat

    @property
    def cost_per_meat(self) -> Fraction:
        """Return what is added and cased around a unit of meat, in money."""
        added = sum((self.share_of(one) * one.price for one in self.added), Fraction(0))
        casing = self.casing.per_unit if self.casing else Fraction(0)
        return (added + casing) * self.finished_per_meat


@dataclass(frozen=True, slots=True)
class Blend:
    """The whole problem; `notes` is what the reading took for granted."""

    frame: BlendFrame
    bins: tuple[TrimBin, ...]
    recipes: tuple[Recipe, ...]
    notes: tuple[str, ...]
