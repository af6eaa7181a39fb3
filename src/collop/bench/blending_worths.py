"""What a little more room would save: a point of each limit that holds, a unit of each bin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from collop.bench.blending_bounds import Bound
from collop.bench.blending_problem import Blend
from collop.bench.blending_program import Answer, Line, Model, limit_line, solve_lines

__all__ = ["POINT", "binds", "enters_at", "saved_by_bin", "saved_by_limit"]

#: One point of a share: 1 % of the weight.
POINT = Fraction(1, 100)
_AT = 1e-6
_USED = 1e-6


def binds(model: Model, answer: Answer, line: int) -> bool:
    """Tell whether the answer stands at a line, to a millionth of the unit."""
    one = model.lines[line]
    reached = sum(float(value) * answer.values[column] for column, value in one.terms)
    return reached > float(one.high or 0) - _AT


def saved_by_limit(
    blend: Blend, bounds: Sequence[Bound], model: Model, answer: Answer, at: int
) -> Fraction | None:
    """Return the money that one point more room in a limit saves; None if it has no room.

    The blend is worked out once more with it, so that the figure holds for the whole point.
    """
    changed = bounds[at].moved(POINT)
    if changed.share == bounds[at].share:
        return None
    place = {pair: column for column, pair in enumerate(model.pairs)}
    line = limit_line(changed, blend.recipes[changed.recipe].finished_per_meat, place)
    return _saved(model, answer, at, line)


def saved_by_bin(model: Model, answer: Answer, line: int) -> Fraction:
    """Return the money that one more unit in a bin saves, at that bin's price."""
    old = model.lines[line]
    mine = {column for column, _ in old.terms}
    most = tuple(one + (column in mine) for column, one in enumerate(model.most))
    more = replace(old, high=Fraction(1) + (old.high or 0))
    return _saved(replace(model, most=most), answer, line, more)


def _saved(model: Model, answer: Answer, at: int, line: Line) -> Fraction:
    lines = (*model.lines[:at], line, *model.lines[at + 1 :])
    found = solve_lines(model.costs, model.most, lines)
    if found is None:
        return Fraction(0)
    pairs = zip(model.costs, found[0], strict=True)
    cost = sum((cost * Fraction(value) for cost, value in pairs), Fraction(0))
    return max(Fraction(0), answer.cost - cost)


def enters_at(blend: Blend, model: Model, answer: Answer, b: int) -> Fraction | None:
    """Return the price under which an unused bin would be used; None if it is, or never is."""
    mine = [column for column, (_, of) in enumerate(model.pairs) if of == b]
    if blend.bins[b].available == 0 or any(answer.values[column] > _USED for column in mine):
        return None
    if not mine:
        return None
    price = blend.bins[b].price - Fraction(min(answer.reduced[column] for column in mine))
    return price if price > 0 else None
