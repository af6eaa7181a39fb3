"""From the answer of the program to weights that a scale can read, and to batches.

Every weight becomes a whole count of thousandths.  They add up to the finished weight, no bin gives
more than it holds and no published limit is passed, which is checked in exact fractions.  A limit
of the recipe's own is met to a thousandth of the unit of fat, protein or meat in each batch.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.bench.blending_amounts import PER_UNIT, dealt
from collop.bench.blending_bounds import Bound
from collop.bench.blending_problem import Added, Blend, Recipe
from collop.bench.blending_program import Answer, Line, Model, solve_lines
from collop.bench.blending_standards import limits_of
from collop.errors import PlanRejected
from collop.measures import round_fraction

__all__ = ["Mixed", "in_thousandths", "keeps_published", "mixed_batches"]

#: How far a weight may move from the answer [thousandths]; the wider ones only if needed.
_MOVES = (3, 40, 400)
#: Thousandths less of what need not be made; -1 is none less than the most of it.
_LESS = (-1, 0, 5, 30)
#: Steps of a swap that each batch keeps clear of a published limit.
_MARGINS = (2, 1, 0)
_NOISE = 1e-4
#: Swaps to each batch, before the dealing is given up.
_SWAPS = 40


@dataclass(frozen=True, slots=True)
class Mixed:
    """One recipe in thousandths: weight from each bin (by index), of each added thing, finished."""

    bins: dict[int, int]
    added: tuple[int, ...]

    @property
    def meat(self) -> int:
        """Return the weight of the meat."""
        return sum(self.bins.values())

    @property
    def finished(self) -> int:
        """Return the finished weight."""
        return self.meat + sum(self.added)

    def over(self, bound: Bound) -> Fraction:
        """Return by how much weight it breaks a limit; below zero is room [thousandths]."""
        return bound.over(self.bins, self.meat, self.finished)


def in_thousandths(
    blend: Blend, bounds: Sequence[Bound], model: Model, answer: Answer
) -> tuple[Mixed, ...]:
    """Return the answer in whole thousandths.

    Raises
    ------
    PlanRejected
        If no weights in thousandths keep every limit.
    """
    # what need not be made: all of the most if that can be, else some thousandths less; with a
    # little room, so that each batch keeps a published limit too
    for less, margin, moves in itertools.product(_LESS, _MARGINS, _MOVES):
        sizes = [_size(blend, model, answer, r, less=less) for r in range(len(blend.recipes))]
        found = _rounded(blend, bounds, model, answer, sizes=sizes, moves=moves, margin=margin)
        if found is not None and _keeps(blend, bounds, found):
            return found
    raise PlanRejected(
        "No weights in steps of 0.001 keep every limit; allow a little more room in one of them, "
        "or make another weight."
    )


def _size(
    blend: Blend, model: Model, answer: Answer, r: int, *, less: int
) -> tuple[int, tuple[int, ...]]:
    """Return meat and added weights of a recipe, which add up to the weight wanted."""
    recipe = blend.recipes[r]
    pairs = zip(model.pairs, answer.values, strict=True)
    meat = int(sum(value for (of, _), value in pairs if of == r) * PER_UNIT + _NOISE)
    meat = max(0, meat - max(0, less))
    finished = meat * recipe.finished_per_meat
    wanted = recipe.make
    if less < 0 and recipe.most is not None and meat and finished > recipe.most - 2:
        wanted = recipe.most
    if wanted is not None:
        added = _added_weights(recipe, wanted)
        return wanted - sum(added), added
    return meat, _added_weights(recipe, finished.numerator // finished.denominator)


def _added_weights(recipe: Recipe, finished: int) -> tuple[int, ...]:
    return tuple(_added_weight(recipe, one, finished) for one in recipe.added)


def _added_weight(recipe: Recipe, one: Added, finished: int) -> int:
    """Return the weight of an added thing; what a standard limits is the same in each batch."""
    share = recipe.share_of(one)
    limited = {limit.what for limit in limits_of(recipe.standard)}
    if one.kind not in limited and "meat" not in limited:
        return round_fraction(share * finished)
    count = batches(recipe, finished)
    each = share * (finished // count)
    return count * (each.numerator // each.denominator)


def batches(recipe: Recipe, finished: int) -> int:
    """Return how many fillings of the mixer a finished weight takes."""
    return max(1, -(-finished // recipe.batch)) if recipe.batch else 1


def _rounded(
    blend: Blend, bounds: Sequence[Bound], model: Model, answer: Answer, *,
    sizes: Sequence[tuple[int, tuple[int, ...]]], moves: int, margin: int,
) -> tuple[Mixed, ...] | None:  # fmt: skip
    """Return the nearest weights in thousandths; None if there are none within `moves`."""
    start = [int(value * PER_UNIT + _NOISE) for value in answer.values]
    used = [column for column, value in enumerate(answer.values) if value * PER_UNIT > _NOISE]
    place = {model.pairs[column]: at for at, column in enumerate(used)}
    base = {model.pairs[column]: start[column] for column in used}
    if not used:
        return tuple(Mixed({}, (0,) * len(one.added)) for one in blend.recipes)
    limits, misses = _limit_lines(blend, bounds, sizes, base, place, margin=margin)
    lines = [*_total_lines(blend, sizes, base, place), *limits]
    dearest = max(abs(model.costs[column]) for column in used) or Fraction(1)
    costs = [model.costs[c] / dearest for c in used] + [Fraction(100)] * len(misses)
    lows = [-min(moves, start[column]) for column in used] + [0] * len(misses)
    found = solve_lines(costs, [*(Fraction(moves) for _ in used), *misses], lines, least=lows,
                        whole=[True] * len(used) + [False] * len(misses))  # fmt: skip
    if found is None:
        return None
    final = {model.pairs[c]: start[c] + round(found[0][at]) for at, c in enumerate(used)}
    return tuple(
        Mixed({b: count for (of, b), count in final.items() if of == r and count}, added)
        for r, (_, added) in enumerate(sizes)
    )


def _limit_lines(
    blend: Blend, bounds: Sequence[Bound], sizes: Sequence[tuple[int, tuple[int, ...]]],
    base: dict[tuple[int, int], int], place: dict[tuple[int, int], int], *, margin: int,
) -> tuple[list[Line], list[Fraction]]:  # fmt: skip
    """Return the line of each limit, and how far each of the recipes' own may be missed."""
    lines: list[Line] = []
    misses: list[Fraction] = []
    for bound in bounds:
        recipe, (meat, added) = blend.recipes[bound.recipe], sizes[bound.recipe]
        finished = meat + sum(added)
        mine = {b: count for (r, b), count in base.items() if r == bound.recipe}
        room = -bound.over(mine, meat, finished)
        parts = _parts(bound, place)
        if bound.published is None:
            parts = (*parts, (len(place) + len(misses), Fraction(-1)))
            misses.append(own_miss(recipe, finished))
        else:
            room -= margin * _dealing_room(recipe, bound, finished, mine)
        lines.append(Line(None, room, parts))
    return lines, misses


def own_miss(recipe: Recipe, finished: int) -> Fraction:
    """Return by how much weight a limit of the recipe's own may be missed: 0.001 a batch."""
    return Fraction(batches(recipe, finished))


def _parts(
    bound: Bound, place: dict[tuple[int, int], int]
) -> tuple[tuple[int, Fraction], ...]:  # fmt: skip
    # the meat of a recipe stands fixed here, so its share needs no terms
    sign = 1 if bound.side == "max" else -1
    return tuple(
        (place[bound.recipe, b], sign * part)
        for b, part in bound.parts
        if part and (bound.recipe, b) in place
    )


def _dealing_room(recipe: Recipe, bound: Bound, finished: int, mine: dict[int, int]) -> Fraction:
    """Return the weight that a limit is kept clear by, so that uneven batches keep it."""
    count = batches(recipe, finished)
    parts = [part for b, part in bound.parts if mine.get(b)]
    # a swap between two bins moves one step of it
    return count * (max(parts) - min(parts)) if count > 1 and parts else Fraction(0)


def _total_lines(
    blend: Blend, sizes: Sequence[tuple[int, tuple[int, ...]]],
    base: dict[tuple[int, int], int], place: dict[tuple[int, int], int],
) -> list[Line]:  # fmt: skip
    lines = []
    for r, (meat, _) in enumerate(sizes):
        left = Fraction(meat - sum(count for (of, _), count in base.items() if of == r))
        terms = tuple((at, Fraction(1)) for (of, _), at in place.items() if of == r)
        lines.append(Line(left, left, terms))
    for b, one in enumerate(blend.bins):
        if one.available is not None:
            left = Fraction(one.available - sum(n for (_, of), n in base.items() if of == b))
            terms = tuple((at, Fraction(1)) for (_, of), at in place.items() if of == b)
            lines.append(Line(None, left, terms))
    return lines


def _keeps(blend: Blend, bounds: Sequence[Bound], found: Sequence[Mixed]) -> bool:
    """Tell whether weights keep every limit and every bin, in exact fractions."""
    for b, one in enumerate(blend.bins):
        if one.available is not None and sum(m.bins.get(b, 0) for m in found) > one.available:
            return False
    for recipe, mixed in zip(blend.recipes, found, strict=True):
        if min(mixed.bins.values(), default=0) < 0:
            return False
        if recipe.make is not None and mixed.finished != recipe.make:
            return False
        if recipe.most is not None and mixed.finished > recipe.most:
            return False
    for bound in bounds:
        mixed = found[bound.recipe]
        recipe = blend.recipes[bound.recipe]
        room = Fraction(0) if bound.published else own_miss(recipe, mixed.finished)
        if mixed.over(bound) > room:
            return False
    return all(
        keeps_published(recipe, batch, [one for one in bounds if one.recipe == r])
        for r, recipe in enumerate(blend.recipes)
        for batch in mixed_batches(recipe, found[r], bounds, r)
    )


def keeps_published(recipe: Recipe, mixed: Mixed, bounds: Sequence[Bound]) -> bool:
    """Tell whether one mixing keeps the published limits, in exact fractions.

    Parameters
    ----------
    recipe : Recipe
        What it is.
    mixed : Mixed
        Its weights.
    bounds : sequence of Bound
        Limits of this recipe.
    """
    finished = mixed.finished
    for limit in limits_of(recipe.standard):
        if limit.what == "meat" and mixed.meat < limit.figure * finished:
            return False
        if limit.what in {"water", "binder"}:
            pairs = zip(recipe.added, mixed.added, strict=True)
            held = sum(weight for one, weight in pairs if one.kind == limit.what)
            if held > limit.figure * finished:
                return False
    return all(mixed.over(one) <= 0 for one in bounds if one.published)


def mixed_batches(
    recipe: Recipe, mixed: Mixed, bounds: Sequence[Bound], index: int
) -> tuple[Mixed, ...]:
    """Return the fillings of the mixer: even to a thousandth, and together the whole."""
    count = batches(recipe, mixed.finished)
    names = sorted(mixed.bins)
    lots = dealt([*mixed.added, *(mixed.bins[b] for b in names)], count)
    many = len(mixed.added)
    found = [Mixed(dict(zip(names, lot[many:], strict=True)), tuple(lot[:many])) for lot in lots]
    for bound in bounds:
        if bound.published and bound.recipe == index:
            _evened(bound, found)
    return tuple(found)


def _evened(bound: Bound, found: list[Mixed]) -> None:
    """Swap thousandths between batches until each keeps a published limit, if that can be."""
    parts = dict(bound.parts)
    for _ in range(_SWAPS * len(found)):
        worst = max(found, key=lambda one: one.over(bound))
        best = min(found, key=lambda one: one.over(bound))
        if worst.over(bound) <= 0 or worst is best:
            return
        fat = max((b for b in worst.bins if worst.bins[b]), key=lambda b: parts[b])
        lean = min((b for b in best.bins if best.bins[b]), key=lambda b: parts[b])
        if parts[fat] <= parts[lean]:
            return
        for one, out, into in ((worst, fat, lean), (best, lean, fat)):
            one.bins[out] -= 1
            one.bins[into] += 1
