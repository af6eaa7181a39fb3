"""From an ask to spreads: the kernel's front door."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from collop.spread.aims import ABS_GAP, SHARED, Answer, Solver, shared_meat, total_money
from collop.spread.assembling import assemble
from collop.spread.checker import check_spread
from collop.spread.curve import more_money, quality_curve
from collop.spread.nearest import nearest_yes, what_blocks
from collop.spread.need import mean_and_sd, planned_meals
from collop.spread.plan import Spread, SpreadPlan, plan_json
from collop.spread.problem import AIMS, Avoid, SpreadProblem
from collop.spread.reading import read_problem
from collop.spread.refusing import why_no
from collop.spread.setting import PLENTY, Setting, first_setting

__all__ = ["answer", "make_plan"]


#: The least money of much the same cuts is shown beside the best value if it saves this much.
_WORTH_LESS = Fraction(97, 100)


def answer(problem: object) -> dict[str, Any]:
    """Answer one ask given as parsed JSON; see `docs/spread.md`.

    Raises
    ------
    ProblemError
        If the ask cannot be read, or contradicts itself.
    """
    return plan_json(make_plan(read_problem(problem)))


def make_plan(problem: SpreadProblem) -> SpreadPlan:
    """Return the spreads for an ask, or no with the nearest yes.

    The first spread is the best value; each is optimal for its aim or marked with its gap, and
    each has passed the independent check.
    """
    setting = first_setting(problem)
    if setting is None:
        return _no(problem, None)
    if not setting.within_money:
        return _no(problem, setting)
    solver = setting.solver
    solver.budget = _budget(setting)
    answers = _alternatives(solver, problem.want)
    spreads = assemble(setting, answers)
    for spread in spreads:
        check_spread(setting.problem, spread)
    head = _head(problem, setting)
    head["assumptions"] += tuple(_without_time(problem, spreads))
    return SpreadPlan(
        answer="yes",
        spreads=spreads,
        curve=quality_curve(setting),
        more_money=more_money(setting),
        **head,
    )


def _without_time(problem: SpreadProblem, spreads: Sequence[Spread]) -> Iterator[str]:
    """Yield the lines on the fire of which nobody has said how long they take."""
    if problem.fire is None:
        return
    offers = {line.option.offer.id: line.option.offer for s in spreads for line in s.lines}
    names = [
        offer.name
        for offer in offers.values()
        if not offer.minutes[1] and not (offer.cook and offer.cook.body)
    ]
    if names:
        yield f"No cooking time is known for {', '.join(names)}: its place on the fire is not kept."


def _head(problem: SpreadProblem, setting: Setting | None) -> dict[str, Any]:
    mean, _ = mean_and_sd(problem.groups, problem.appetite_cv)
    notes = setting.notes if setting else ()
    left_out = setting.left_out if setting else ()
    return {
        "currency": problem.currency,
        "heads": problem.heads,
        "need_meals": mean,
        "planned_meals": planned_meals(problem),
        "need_oz": mean * max(problem.need_oz.values()),
        "assumptions": (*_assumptions(problem), *notes),
        "unusable": tuple((item.offer_id, item.why) for item in left_out),
    }


def _assumptions(problem: SpreadProblem) -> tuple[str, ...]:
    found = []
    if problem.fire is None:
        found.append("The fire is not known, so nothing was checked against its size or time.")
    elif problem.fire.oven:
        found.append("The oven is taken to be large enough for what is cooked in it.")
    if problem.use_at is None:
        found.append("The hour of the meal is not known: nothing frozen is offered.")
    mean, _ = mean_and_sd(problem.groups, problem.appetite_cv)
    planned = planned_meals(problem)
    if planned * Fraction(11, 10) > PLENTY * mean:
        found.append(
            f"In a small table appetites even out less: {float(planned):.1f} meals are planned for "
            f"{float(mean):.1f} on average."
        )
    if problem.appetite_cv == 0:
        found.append("Every eater is taken to be as hungry as planned.")
    return (*found, *_table_manners(problem))


def _table_manners(problem: SpreadProblem) -> Iterator[str]:
    """Yield what those with don't-eats need beside the right cuts."""
    groups = [group for group in problem.groups if group.count]
    meat = Avoid("meat")
    none = [group.name for group in groups if meat in group.avoids]
    if none:
        yield (
            f"For {' and '.join(none)}: their own part of a clean grate or foil, on it first, "
            "with its own tool. Ask once whether cheese suits them (rennet, milk)."
        )
    allergic = {
        avoid.name for group in groups for avoid in group.avoids if avoid.kind == "allergen"
    }
    if allergic:
        yield (
            f"For {', '.join(sorted(allergic))} only declared contents were checked: ask how "
            "serious it is, use an own tray and tool, and call nothing free of it."
        )
    strict = [g.name for g in groups if any(a.kind in {"species", "casing"} for a in g.avoids)]
    if strict and len(strict) < len(groups):
        who = " and ".join(strict)
        yield f"For {who}: their own tray and tool, and their own part of the grate."


def _budget(setting: Setting) -> int | None:
    problem = setting.problem
    if problem.budget is None:
        return None
    if not problem.over_budget:
        return problem.budget.minor
    # soft money: a tenth over the least that feeds the table, each spread says by how much
    return max(problem.budget.minor, setting.least.minor * 11 // 10)


def _no(problem: SpreadProblem, setting: Setting | None) -> SpreadPlan:
    blocked = what_blocks(problem, setting)
    return SpreadPlan(
        answer="no",
        blocked_by=blocked,
        why_no=why_no(problem, setting, blocked),
        nearest_yes=nearest_yes(problem, setting),
        **_head(problem, setting),
    )


def _alternatives(solver: Solver, want: int) -> list[Answer]:
    """Return the answers in the order shown; the least money is already in the solver.

    The best value is the best of all spreads.  The least money is shown beside it if it really
    differs in its cuts, or saves three hundredths of the money; each further aim differs from all
    before.
    """
    (cheapest,) = solver.answers
    solver.answers.clear()
    best = solver.aim(AIMS[0], apart=False)
    if best is None:
        # to the last cent of the budget it can be that rounding leaves the cheapest alone
        best = replace(cheapest, aim=AIMS[0], status="limit")
        solver.answers.append(best)
    least, total = (total_money(solver.problem, one.picks).minor for one in (cheapest, best))
    differs = shared_meat(solver.problem, best, cheapest) <= SHARED[-1]
    if want > 1 and (differs or least <= total * _WORTH_LESS):
        solver.answers.append(cheapest)
    for aim in AIMS[1:]:
        if len(solver.answers) >= want:
            break
        if aim != cheapest.aim:
            solver.aim(aim, apart=True)
    return sorted(solver.answers, key=lambda found: AIMS.index(found.aim))


assert ABS_GAP <= 1  # an answer is called optimal when no other is better by a minor unit
