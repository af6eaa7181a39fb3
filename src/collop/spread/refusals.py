"""What a refusal of the fire teaches the program, as a row.

If lines cannot be laid on a fire, neither can more of them, nor others beside them: leaving food
away never makes a schedule wrong.  So when a set of lines is refused even in its least amounts,
no spread with all of them can be cooked, and the row ``sum of their uses <= how many - 1`` is
*sure*: it takes no spread away that can be cooked, and what is then proven best is best among
those that can.  The set is first made as small as it can be, so that the row says most.

Where the least amounts do go, the row is a guess: it may take away less of the same lines.  Before
it, the rows of what is slow are tried (`collop.spread.model_fire`), which are a guess too.  Guesses
count for the aim at hand alone, and the answer is marked with the gap to the bound before them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from collop.spread.firing import Hearth
from collop.spread.model import SpreadModel
from collop.spread.picks import Pick
from collop.spread.program import Row, make_row

__all__ = ["MOST_REFUSALS", "refusal_row"]

#: So many refusals of one aim, and it is given up.
MOST_REFUSALS = 8


def refusal_row(
    hearth: Hearth, model: SpreadModel, picks: Sequence[Pick], name: str
) -> tuple[Row, bool]:
    """Return a row that takes a refused answer away, and whether it is sure.

    Parameters
    ----------
    hearth : Hearth
        What refused the answer.
    model : SpreadModel
    picks : sequence of Pick
        The answer.
    name : str
        Of the row.
    """
    least = [_least(model, pick) for pick in picks]
    is_sure = hearth.cannot_cook(least)
    chosen = _smallest(hearth, least) if is_sure else least
    uses = [model.used[_place(model, pick)] for pick in chosen]
    return make_row(name, dict.fromkeys(uses, 1.0), -math.inf, len(uses) - 1), is_sure


def _place(model: SpreadModel, pick: Pick) -> int:
    return next(i for i, option in enumerate(model.options) if option is pick.option)


def _least(model: SpreadModel, pick: Pick) -> Pick:
    """Return no more of an option than any answer that uses it takes, in its smallest parts."""
    option, index = pick.option, _place(model, pick)
    mlb = model.least[index] * max(part.mlb for part in option.parts)
    first = option.parts[0]  # the smallest
    steps = max(1, math.floor(mlb / first.mlb + 1e-9)) if option.offer.pieces_mlb is None else 1
    counts = (min(steps, first.most), *(0 for _ in option.parts[1:]))
    return Pick(option, counts)


def _smallest(hearth: Hearth, picks: list[Pick]) -> list[Pick]:
    """Return a part of refused lines that is refused too, and of which none can be left away."""
    kept = list(picks)
    for pick in picks:
        fewer = [one for one in kept if one is not pick]
        if fewer and hearth.cannot_cook(fewer):
            kept = fewer
    return kept
