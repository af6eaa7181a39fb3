"""How much of each thing a spread can hold at all: the bounds the model is drawn within."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from collop.spread.diet import may_eat
from collop.spread.need import Union
from collop.spread.options import Option
from collop.spread.problem import SpreadProblem

__all__ = ["bounds_oz", "eaters", "least_oz", "plenty_caps", "style_share"]


def plenty_caps(
    problem: SpreadProblem, needs: Sequence[Union], slack: Fraction
) -> dict[bool, Fraction]:
    """Return the most meals wanted for {False: meat-eaters, True: those who eat no meat}.

    At most `slack` times the mean need, but never less than a tenth over what is enough.
    """
    caps: dict[bool, Fraction] = {}
    for part in {union.part for union in needs}:
        mine = [union for union in needs if union.part == part]
        meat_free = all(problem.offer(i).is_meat_free for union in mine for i in union.offers)
        plenty = max(max(slack * u.mean, u.meals * Fraction(11, 10)) for u in mine)
        caps[meat_free] = caps.get(meat_free, Fraction(0)) + plenty
    return caps


def least_oz(problem: SpreadProblem, option: Option, eaters: int) -> Fraction:
    """Return the least useful line [oz].

    A portion for one in `one_in` of the `eaters` who may eat it, and never under half a portion.
    """
    if not problem.rules.one_in:
        return Fraction(0)
    portions = max(Fraction(eaters, problem.rules.one_in), Fraction(1, 2))
    return problem.portion_oz[option.style] * portions


def eaters(problem: SpreadProblem, options: Sequence[Option]) -> dict[str, int]:
    """Return how many may eat each offer."""
    offers = {option.offer.id: option.offer for option in options}
    return {
        offer.id: sum(group.count for group in problem.groups if may_eat(group, offer))
        for offer in offers.values()
    }


def style_share(problem: SpreadProblem, options: Sequence[Option]) -> Fraction:
    """Return the most meals in one style that the rows of style allow."""
    if len({option.style for option in options}) == 1:
        return Fraction(1)
    return problem.rules.max_style_share


def bounds_oz(
    problem: SpreadProblem,
    options: Sequence[Option],
    needs: Sequence[Union],
    caps: Mapping[bool, Fraction] | None,
) -> tuple[Fraction, Fraction | None]:
    """Return the least and the most food a spread can hold [oz]; the latter may be unbounded.

    The meals lie between need and plenty; most of them are in the lightest style, or in the
    heaviest, as far as a style may go.
    """
    share = style_share(problem, options)
    ounces = sorted(problem.need_oz[style] for style in {option.style for option in options})
    parts = {union.part for union in needs}
    need = sum((max(u.meals for u in needs if u.part == part) for part in parts), Fraction(0))
    fewest = need * _filled(ounces, share)
    return fewest, None if caps is None else sum(caps.values()) * _filled(ounces[::-1], share)


def _filled(ounces: Sequence[Fraction], share: Fraction) -> Fraction:
    """Return the ounces of a mean meal when each style in turn takes its full share."""
    left, mean = Fraction(1), Fraction(0)
    for each in ounces:
        taken = min(left, share)
        mean, left = mean + taken * each, left - taken
    return mean
