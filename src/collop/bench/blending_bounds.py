"""The limits on a recipe's blend, its own and the published ones, all of one form.

With x_b the weight from bin b, M their sum and k the finished weight per unit of meat, each is

    sum_b c_b x_b <= 0

For a most share v of fat: c_b = f_b - v (of the meat) or f_b - v k (of the finished weight); for a
least share the signs turn; for a share of one bin, f is 1 there and 0 elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from collop.bench.blending_problem import Blend, Range, Recipe
from collop.bench.blending_standards import PublishedLimit, limits_of

__all__ = ["Bound", "bounds_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """One limit.

    Parameters
    ----------
    recipe : int
        Index of the recipe.
    what : str
        ``fat``, ``protein`` or ``bin``.
    side : str
        ``max`` or ``min``.
    of : str
        What it is a share of: ``meat`` or ``finished``.
    share : Fraction
        The limit itself.
    bin : int or None
        Index of the bin, of ``bin`` only.
    parts : tuple of (int, Fraction)
        Index of each bin of the recipe, and the share of `what` in it.
    published : PublishedLimit or None
        Where it is published; None for the recipe's own.
    """

    recipe: int
    what: str
    side: str
    of: str
    share: Fraction
    bin: int | None
    parts: tuple[tuple[int, Fraction], ...]
    published: PublishedLimit | None = None

    def terms(self, finished_per_meat: Fraction) -> dict[int, Fraction]:
        """Return c_b by the index of the bin."""
        basis = finished_per_meat if self.of == "finished" else Fraction(1)
        sign = 1 if self.side == "max" else -1
        return {index: sign * (part - self.share * basis) for index, part in self.parts}

    def over(self, weights: dict[int, int], meat: int, finished: int) -> Fraction:
        """Return by how much weight the limit is broken; below zero is room.

        Parameters
        ----------
        weights : dict of int to int
            Weight from each bin, in thousandths of the unit.
        meat, finished : int
            Weight of all meat, and with what is added [thousandths].
        """
        held = sum((part * weights.get(index, 0) for index, part in self.parts), Fraction(0))
        over = held - self.share * (finished if self.of == "finished" else meat)
        return over if self.side == "max" else -over

    def moved(self, by: Fraction) -> Bound:
        """Return the limit with so much more room, within 0 and 1."""
        share = self.share + (by if self.side == "max" else -by)
        return replace(self, share=min(Fraction(1), max(Fraction(0), share)))


def bounds_of(blend: Blend) -> tuple[Bound, ...]:
    """Return every limit of every recipe; the published maximum of fat is always among them."""
    return tuple(
        bound
        for index, recipe in enumerate(blend.recipes)
        for bound in _bounds(blend, index, recipe)
    )


def _bounds(blend: Blend, index: int, recipe: Recipe) -> Iterator[Bound]:
    fat = tuple((b, blend.bins[b].fat) for b in recipe.bins)
    protein = tuple((b, blend.bins[b].protein or Fraction(0)) for b in recipe.bins)
    yield from _of_range(index, "fat", recipe.fat, fat)
    yield from _of_range(index, "protein", recipe.protein, protein)
    for one in recipe.bin_limits:
        own = tuple((b, Fraction(b == one.bin)) for b in recipe.bins)
        yield from _of_range(index, "bin", Range(one.low, one.high, "meat"), own, one.bin)
    for limit in limits_of(recipe.standard):
        if limit.what == "fat":
            yield Bound(recipe=index, what="fat", side="max", of="finished", share=limit.figure,
                        bin=None, parts=fat, published=limit)  # fmt: skip


def _of_range(
    index: int, what: str, limits: Range | None, parts: tuple[tuple[int, Fraction], ...],
    bin_index: int | None = None,
) -> Iterator[Bound]:  # fmt: skip
    if limits is None:
        return
    for side, share in (("min", limits.low), ("max", limits.high)):
        if share is not None:
            yield Bound(recipe=index, what=what, side=side, of=limits.of, share=share,
                        bin=bin_index, parts=parts)  # fmt: skip
