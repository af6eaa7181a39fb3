"""From a problem to a model that can be solved: what is usable, what is needed, what gives way.

Two things may give way, in this order, to what is free and to the money: the slow cut that every
spread should hold, then the cap on plenty (a single bird for two feeds four).  House rules of
variety that nobody asked for give way next, when too little is free.  That all is on the table at
once gives way last of all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from collop.measures import Money
from collop.spread.aims import Answer, Solver, total_money
from collop.spread.ceilings import plenty_caps
from collop.spread.firing import Hearth
from collop.spread.model import build_model
from collop.spread.need import Union, unions
from collop.spread.options import Option, Unusable, is_slow, usable_options
from collop.spread.problem import Rules, SpreadProblem

__all__ = ["PLENTY", "Setting", "first_setting"]

#: Most food for the mean need, unless whole pieces or a small table make more unavoidable.
PLENTY = Fraction(5, 4)
#: Parts that should be equal may each be a fiftieth larger.
_EVEN = Fraction(51, 50)
_ROUNDS = (
    "The fire is too small for all of it at once: what does not fit is eaten in a further round, "
    "while the first is already on the table."
)


@dataclass(frozen=True, slots=True)
class Setting:
    """A problem with its solver, set so that at least the cheapest spread exists."""

    problem: SpreadProblem
    options: tuple[Option, ...]
    left_out: tuple[Unusable, ...]
    needs: tuple[Union, ...]
    solver: Solver
    cheapest: Answer
    notes: tuple[str, ...]
    hearth: Hearth

    @property
    def least(self) -> Money:
        """Return the least money that feeds the table."""
        return total_money(self.problem, self.cheapest.picks)

    @property
    def within_money(self) -> bool:
        """Tell whether the least money is within the budget, or money is soft."""
        budget = self.problem.budget
        return budget is None or self.problem.over_budget or self.least <= budget


def first_setting(problem: SpreadProblem) -> Setting | None:
    """Return the first setting with an answer within the money, else the least dear, or None.

    Only where nothing can be ready all at once within the money, further rounds are tried.
    """
    whole, hearth = _setting(problem, Hearth(problem))
    if (whole is not None and whole.within_money) or not _rounds_help(problem, hearth):
        return whole
    rounds, _ = _setting(problem, Hearth(problem, rounds=True))
    dear = [found for found in (whole, rounds) if found is not None]
    return min(dear, key=lambda found: found.least) if dear else None


def _rounds_help(problem: SpreadProblem, hearth: Hearth) -> bool:
    """Tell whether further rounds could make anything possible that is not."""
    if problem.fire is None or not problem.fire.zones:
        return False
    once, later = (usable_options(problem, rounds=rounds)[0] for rounds in (False, True))
    return hearth.refused or [o.waves for o in once] != [o.waves for o in later]


def _setting(problem: SpreadProblem, hearth: Hearth) -> tuple[Setting | None, Hearth]:
    """Return the first setting that `hearth` can cook within the money, else the least dear."""
    options, left_out = usable_options(problem, rounds=hearth.rounds)
    if not options:
        return None, hearth
    problem = replace(problem, rules=_cut_to_steps(problem.rules, options))
    ids = {option.offer.id for option in options}
    needs = unions(problem, [offer for offer in problem.offers if offer.id in ids])
    if any(not union.offers for union in needs):
        return None, hearth
    dear: list[Setting] = []
    for tried, notes, caps, slow_line in _trials(problem, options, needs):
        if dear and tried is not dear[0].problem:
            break  # house rules of variety give way to what is free, not to money
        model = build_model(tried, options, needs, caps=caps, slow_line=slow_line)
        solver = Solver(tried, model, hearth=hearth)
        cheapest = solver.aim("least-money", apart=False)
        if cheapest is None:
            continue
        told = (*notes, _ROUNDS) if hearth.rounds else notes
        setting = Setting(tried, options, left_out, needs, solver, cheapest, told, hearth)
        if setting.within_money:
            return setting, hearth
        dear.append(setting)
    return (min(dear, key=lambda found: found.least) if dear else None), hearth


def _cut_to_steps(rules: Rules, options: Sequence[Option]) -> Rules:
    """Return rules whose shares can be cut.

    Exactly equal parts of cuts that are not alike cannot be had in steps of 0.01 lb, and the proof
    of that takes minutes: each part may be a fiftieth larger.  A mixed meal cannot be asked of
    what is eaten one way only.
    """
    items = min(rules.max_items, len({option.offer.id for option in options}))
    styles = len({option.style for option in options})
    share, style_share = rules.max_share, rules.max_style_share
    if 1 <= share * items < _EVEN:
        share = min(_EVEN / items, Fraction(1))
    if styles == 1:
        style_share = Fraction(1)
    elif 1 <= style_share * styles < _EVEN:
        style_share = _EVEN / styles
    return replace(rules, max_share=share, max_style_share=style_share)


def _trials(
    problem: SpreadProblem, options: tuple[Option, ...], needs: tuple[Union, ...]
) -> Iterator[tuple[SpreadProblem, tuple[str, ...], dict[bool, Fraction] | None, bool]]:
    slow = problem.rules.help_animal and any(is_slow(option.offer) for option in options)
    caps = plenty_caps(problem, needs, PLENTY)
    more = "More than a quarter over the need: whole pieces or a pinned weight leave no less."
    relaxed = replace(problem, rules=problem.rules.without_variety())
    few = "Fewer items, or one over half of the food, as too little else is free for this table."
    tries = [(problem, ())] if problem.rules.told else [(problem, ()), (relaxed, (few,))]
    for tried, notes in tries:
        if slow:
            yield tried, notes, caps, True
        yield tried, notes, caps, False
        yield tried, (*notes, more), None, False
