"""What would have to give, where no blend keeps every limit.

Each limit of a recipe's own, each bin that has an end and each weight wanted is given room alone,
as little as makes the whole possible.  If none of them alone is enough, all of them are together.
A published limit never gives.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from collop.bench.blending_amounts import PER_UNIT, share_text, weight_text
from collop.bench.blending_bounds import Bound
from collop.bench.blending_problem import Blend
from collop.bench.blending_program import Line, Model, solve, solve_lines
from collop.bench.blending_rounding import in_thousandths
from collop.errors import PlanRejected

__all__ = ["nearest_yes"]

_SHARE_STEP = 10_000
_OFFERS = 3
_NOISE = Fraction(1, 1_000_000_000)
#: Making less is the last thing to be offered where several must give: room for it is so dear.
_LESS = 20
_FINER = (0, 1, 5, 20, 100)


@dataclass(frozen=True, slots=True)
class _Give:
    """One thing that may give: line of the model, room per unit of it, its scale and its most."""

    line: int
    per: Fraction
    scale: Fraction
    most: Fraction
    bound: int | None = None
    bin: int | None = None
    recipe: int | None = None


def nearest_yes(blend: Blend, bounds: Sequence[Bound]) -> list[dict[str, Any]]:
    """Return up to three ways to a yes, the smallest change first.

    Parameters
    ----------
    blend : Blend
        A blend that cannot be.
    bounds : sequence of Bound
        Its limits.

    Returns
    -------
    list of dict
        ``changes`` and ``say`` of each; more than one change where none is enough alone; empty if
        a published limit stands in the way of all of them.
    """
    asked = _only_wanted(blend)
    model = Model.of(asked, bounds)
    gives = list(_gives(asked, bounds, model))
    found: list[tuple[Fraction, dict[str, Any]]] = []
    for give in gives:
        room = _room(model, [give])
        if room is not None:
            told = _checked(asked, bounds, [(give, room[0])])
            if told is not None:
                found.append((room[0] / give.scale, told))
    if not found:
        room = _room(model, gives)
        if room is not None:
            used = [(g, r) for g, r in zip(gives, room, strict=True) if r / g.scale > _NOISE]
            told = _checked(asked, bounds, used)
            return [told] if told is not None else []
    found.sort(key=lambda one: one[0])
    return [told for _, told in found[:_OFFERS]]


def _only_wanted(blend: Blend) -> Blend:
    """Return the blend with nothing made of what need not be: it takes nothing from the bins."""
    recipes = tuple(
        one if one.make is not None else replace(one, most=0, price=Fraction(0))
        for one in blend.recipes
    )
    return replace(blend, recipes=recipes)


def _gives(blend: Blend, bounds: Sequence[Bound], model: Model) -> Iterator[_Give]:
    for at, bound in enumerate(bounds):
        recipe = blend.recipes[bound.recipe]
        if bound.published is not None or recipe.make is None:
            continue
        basis = Fraction(recipe.make, PER_UNIT)
        if bound.of == "meat":
            basis /= recipe.finished_per_meat
        most = 1 - bound.share if bound.side == "max" else bound.share
        if most > 0:
            yield _Give(at, basis, Fraction(1, 10), most, bound=at)
    wanted = Fraction(sum(one.make or 0 for one in blend.recipes), PER_UNIT)
    for at, b in enumerate(model.ends):
        yield _Give(model.bounds + at, Fraction(1), wanted, wanted, bin=b)
    line = model.bounds + len(model.ends)
    for r, recipe in enumerate(blend.recipes):
        if recipe.make is not None:
            size = Fraction(recipe.make, PER_UNIT)
            yield _Give(line, Fraction(-1), size, size, recipe=r)
        line += recipe.make is not None or recipe.most is not None


def _room(model: Model, gives: Sequence[_Give]) -> list[Fraction] | None:
    """Return the least room that makes the whole possible; None if none does."""
    columns = len(model.costs)
    lines = list(model.lines)
    for at, give in enumerate(gives):
        # a limit or a bin: sum <= b + room; a weight wanted: sum = b - room
        term = (columns + at, -give.per)
        old = lines[give.line]
        lines[give.line] = Line(old.low, old.high, (*old.terms, term))
    costs = [Fraction(0)] * columns
    costs += [(_LESS if one.recipe is not None else 1) / one.scale for one in gives]
    # a bin that is given room may fill all of what is wanted
    free = [max([model.most[column], *(one.most for one in gives if one.bin == b)])
            for column, (_, b) in enumerate(model.pairs)]  # fmt: skip
    found = solve_lines(costs, [*free, *(one.most for one in gives)], lines)
    return None if found is None else [Fraction(value) for value in found[0][columns:]]


def _checked(
    blend: Blend, bounds: Sequence[Bound], used: Sequence[tuple[_Give, Fraction]]
) -> dict[str, Any] | None:
    """Return the changes in round figures, if the blend can be made with them."""
    for finer in _FINER:  # a figure that is rounded may need some steps more
        changed = _changed(blend, bounds, used, finer)
        if changed is None:
            return None
        new_blend, new_bounds, changes = changed
        if _can_be_made(new_blend, new_bounds):
            words = "; ".join(one["say"] for one in changes)
            return {"changes": changes, "say": f"It can be made with {words}."}
    return None


def _can_be_made(blend: Blend, bounds: Sequence[Bound]) -> bool:
    """Tell whether a blend keeps every limit, in weights that a scale can read."""
    model = Model.of(blend, bounds)
    answer = solve(model)
    if answer is None:
        return False
    try:
        in_thousandths(blend, bounds, model, answer)
    except PlanRejected:
        return False
    return True


def _changed(
    blend: Blend, bounds: Sequence[Bound], used: Sequence[tuple[_Give, Fraction]], finer: int
) -> tuple[Blend, list[Bound], list[dict[str, Any]]] | None:
    recipes, bins, limits = list(blend.recipes), list(blend.bins), list(bounds)
    changes = []
    for give, room in used:
        if give.bound is not None:
            step = Fraction(_up(room - _NOISE, _SHARE_STEP) + finer, _SHARE_STEP)
            old = bounds[give.bound]
            limits[give.bound] = _kept_under(blend, bounds, old.moved(step))
            if limits[give.bound].share == old.share:
                return None
            changes.append(_limit_change(blend, old, limits[give.bound]))
        elif give.bin is not None:
            one = bins[give.bin]
            bins[give.bin] = replace(
                one, available=(one.available or 0) + _up(room - _NOISE, PER_UNIT) + finer
            )
            changes.append(_bin_change(blend, give.bin, bins[give.bin].available or 0))
        elif give.recipe is not None:
            recipe = recipes[give.recipe]
            make = (recipe.make or 0) - _up(room - _NOISE, PER_UNIT) - finer
            if make <= 0:
                return None
            recipes[give.recipe] = replace(recipe, make=make)
            changes.append(_make_change(blend, give.recipe, make))
    return replace(blend, recipes=tuple(recipes), bins=tuple(bins)), limits, changes


def _kept_under(blend: Blend, bounds: Sequence[Bound], changed: Bound) -> Bound:
    """Return a limit on fat no higher than the published one of its recipe."""
    share = changed.share
    for one in bounds:
        if one.published and one.recipe == changed.recipe and changed.side == "max":
            basis = blend.recipes[one.recipe].finished_per_meat if changed.of == "meat" else 1
            if one.what == changed.what:
                share = min(share, Fraction((one.share * basis * _SHARE_STEP).__floor__(),
                                            _SHARE_STEP))  # fmt: skip
    return replace(changed, share=max(share, Fraction(0)))


def _up(value: Fraction, steps: int) -> int:
    """Return how many steps of 1 / `steps` hold a value; never below zero."""
    return max(0, -((-value * steps).__floor__()))


def _limit_change(blend: Blend, old: Bound, new: Bound) -> dict[str, Any]:
    recipe = blend.recipes[old.recipe]
    what = blend.bins[old.bin].name if old.bin is not None else old.what
    more = "more" if old.side == "max" else "less"
    return {
        "change": f"{old.what} {old.side}", "recipe": recipe.id,
        "bin": None if old.bin is None else blend.bins[old.bin].id,
        "from": float(old.share), "to": float(new.share),
        "say": f"{more} {what} in {recipe.name}: {share_text(new.share)} of the "
               f"{old.of if old.of == 'meat' else 'finished weight'} instead of "
               f"{share_text(old.share)}",
    }  # fmt: skip


def _bin_change(blend: Blend, b: int, available: int) -> dict[str, Any]:
    one, unit = blend.bins[b], blend.frame.unit
    more = weight_text(available - (one.available or 0))
    return {
        "change": "available", "recipe": None, "bin": one.id,
        "from": weight_text(one.available or 0), "to": weight_text(available),
        "say": f"{more} {unit} more of {one.name}",
    }  # fmt: skip


def _make_change(blend: Blend, r: int, make: int) -> dict[str, Any]:
    recipe, unit = blend.recipes[r], blend.frame.unit
    return {
        "change": "make", "recipe": recipe.id, "bin": None,
        "from": weight_text(recipe.make or 0), "to": weight_text(make),
        "say": f"{weight_text(make)} {unit} of {recipe.name} instead of "
               f"{weight_text(recipe.make or 0)}",
    }  # fmt: skip
