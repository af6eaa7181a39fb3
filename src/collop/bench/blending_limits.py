"""What the limits of a recipe do in a plan: which of them hold, what room saves, the verdict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.bench.blending_amounts import PER_UNIT, share_text
from collop.bench.blending_bounds import Bound
from collop.bench.blending_problem import Recipe
from collop.bench.blending_rounding import Mixed
from collop.bench.blending_standards import PublishedLimit, limits_of, reminders_of
from collop.bench.blending_worths import binds, saved_by_limit
from collop.measures import decimal_of

if TYPE_CHECKING:
    from collop.bench.blending_recipe import Weighed

__all__ = ["limits_json", "verdict_json"]


def limits_json(weighed: Weighed, r: int) -> list[dict[str, Any]]:
    """Return each limit of a recipe, whether it holds the blend back, and what a point saves."""
    return [
        _limit(weighed, at, bound) for at, bound in enumerate(weighed.bounds) if bound.recipe == r
    ]


def _limit(weighed: Weighed, at: int, bound: Bound) -> dict[str, Any]:
    blend, mixed = weighed.blend, weighed.mixed[bound.recipe]
    held = bool(mixed.finished) and binds(weighed.model, weighed.answer, at)
    saved = None
    if held:
        saved = saved_by_limit(blend, weighed.bounds, weighed.model, weighed.answer, at)
    each = None if saved is None else saved * PER_UNIT / mixed.finished
    return {
        "what": bound.what,
        "side": bound.side,
        "of": bound.of,
        "bin": None if bound.bin is None else blend.bins[bound.bin].id,
        "limit": float(bound.share),
        "reached": _reached(bound, mixed),
        "binds": held,
        "saves_per_unit": None if each is None else blend.frame.unit_money(each),
        "source": bound.published.source if bound.published else None,
        "say": None if each is None else _say(weighed, bound, each),
    }


def _reached(bound: Bound, mixed: Mixed) -> float | None:
    basis = mixed.finished if bound.of == "finished" else mixed.meat
    if not basis:
        return None
    parts = dict(bound.parts)
    held = sum((parts[b] * count for b, count in mixed.bins.items()), Fraction(0))
    return float(decimal_of(held / basis, 6))


def _say(weighed: Weighed, bound: Bound, each: Fraction) -> str:
    blend = weighed.blend
    what = bound.what if bound.bin is None else blend.bins[bound.bin].name
    more = "more" if bound.side == "max" else "less"
    unit = blend.frame.unit
    saves = f"1 % {more} {what} would save {blend.frame.unit_money(each)} a {unit}"
    if bound.published:
        return f"{saves}, but the published limit stays ({bound.published.source})."
    return f"{saves}."


def verdict_json(
    recipe: Recipe, mixed: Mixed, bounds: Sequence[Bound]
) -> dict[str, Any] | None:  # fmt: skip
    """Return how a recipe stands against the standard of its name; None without one.

    Parameters
    ----------
    recipe : Recipe
        What it is.
    mixed : Mixed
        Its weights.
    bounds : sequence of Bound
        Its limits, the published one of fat among them.
    """
    if recipe.standard is None:
        return None
    lines = list(_verdict_lines(recipe, mixed, bounds)) if mixed.finished else []
    return {
        "standard": recipe.standard,
        "keeps": all(line["keeps"] for line in lines),
        "lines": lines,
        "reminders": list(reminders_of(recipe.standard)),
    }


def _verdict_lines(
    recipe: Recipe, mixed: Mixed, bounds: Sequence[Bound]
) -> Iterator[dict[str, Any]]:
    for limit in limits_of(recipe.standard):
        held = _held(limit, recipe, mixed, bounds)
        if held is None:
            continue
        share = held / mixed.finished
        least = limit.what == "meat"
        yield {
            "what": limit.what,
            "side": "min" if least else "max",
            "limit": float(limit.figure),
            "reached": float(decimal_of(share, 6)),
            "keeps": share >= limit.figure if least else share <= limit.figure,
            "status": limit.row.status.value,
            "source": limit.source,
            "say": f"{limit.what} {share_text(share)}, limit {share_text(limit.figure)} at the "
                   f"{'least' if least else 'most'}",
        }  # fmt: skip


def _held(
    limit: PublishedLimit, recipe: Recipe, mixed: Mixed, bounds: Sequence[Bound]
) -> Fraction | None:
    """Return the weight of what a standard limits; None where bins were kept out for it."""
    if limit.what == "meat":
        return Fraction(mixed.meat)
    if limit.what == "fat":
        (bound,) = (one for one in bounds if one.published)
        parts = dict(bound.parts)
        return sum((parts[b] * count for b, count in mixed.bins.items()), Fraction(0))
    if limit.what == "fat as such":
        return None
    pairs = zip(recipe.added, mixed.added, strict=True)
    return Fraction(sum(count for one, count in pairs if one.kind == limit.what))
