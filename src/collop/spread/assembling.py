"""Turn solved aims into spreads: lines with reasons, money, chances, loads, what binds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from collop.measures import Money, round_fraction, sum_money
from collop.spread.aims import Answer, eating_of
from collop.spread.cousins import cousins, serving_cost
from collop.spread.diet import may_eat
from collop.spread.loads import collect_by, late_min, loads_of
from collop.spread.need import Union, chance_enough, chance_everyone, planned_meals
from collop.spread.options import STEP_MLB, is_slow
from collop.spread.picks import Pick
from collop.spread.plan import Line, Spread
from collop.spread.problem import SpreadProblem
from collop.spread.setting import Setting
from collop.spread.words import AIM_TITLES, cook_to, gave_up, reason, say_line

__all__ = ["assemble"]

#: What binds is what leaves less than this of the limit; a step of 0.01 lb is a few cents.
_TIGHT_MINOR = 10
_TIGHT_SHARE = Fraction(1, 1000)


def assemble(setting: Setting, answers: Sequence[Answer]) -> tuple[Spread, ...]:
    """Return the spreads in the order of the answers; the first is what others differ from."""
    made = [_spread(setting, found, answers[0]) for found in answers]
    # what was given up can only be told beside the others
    return tuple(replace(spread, gave_up=gave_up(spread, made)) for spread in made)


def _spread(setting: Setting, found: Answer, first: Answer) -> Spread:
    problem = setting.problem
    picks = sorted(found.picks, key=lambda pick: (pick.option.offer.is_meat_free, -pick.oz))
    whole = sum((pick.oz for pick in picks), Fraction(0))
    slots = _slots(picks)
    lines = tuple(_line(problem, pick, whole, slots[pick.option.offer.id]) for pick in picks)
    total = sum_money((line.total for line in lines), problem.currency)
    left, over_by = _spare(problem, total)
    per_head = total.shared_by(problem.heads, problem.rounding)
    meals = sum((pick.meals for pick in picks), Fraction(0))
    chances = _chances(setting, picks)
    late = late_min(setting.hearth, picks)
    helped = sum((p.option.help_per_lb * p.pounds for p in picks), Fraction(0))
    return Spread(
        aim=found.aim,
        title=AIM_TITLES[found.aim],
        status="optimal" if found.status == "optimal" else "gap",
        gap=found.gap,
        among=_among(found),
        lines=lines,
        total=total,
        per_head=per_head,
        left=left,
        over_by=over_by,
        boneless_oz=whole,
        eating=eating_of(picks, planned_meals(problem)),
        feeds=_feeds(problem, meals),
        chance_enough=chance_enough(meals, problem.groups, problem.appetite_cv),
        chance_each=tuple((tuple(g.name for g in union.groups), c) for union, c in chances),
        chance_everyone=chance_everyone(chances),
        loads=loads_of(setting.hearth, picks),
        binds=_binds(setting, picks, total, late),
        say=say_line(problem, lines, per_head, left, late),
        gave_up="",
        differs=_difference(picks, first.picks),
        help=Money(round_fraction(helped), problem.currency),
        collect_by=collect_by(setting.hearth, picks),
    )


def _spare(problem: SpreadProblem, total: Money) -> tuple[Money | None, Money | None]:
    """Return (left, over by): one of them is None, both are without a budget."""
    if problem.budget is None:
        return None, None
    if total > problem.budget:
        return None, total - problem.budget
    return problem.budget - total, None


def _feeds(problem: SpreadProblem, meals: Fraction) -> dict[str, int]:
    return {
        "light": int(meals * problem.light),
        "usual": int(meals),
        "hungry": int(meals * problem.hungry),
    }


def _among(found: Answer) -> str:
    if not found.apart_from:
        return "all spreads that keep the rules"
    return (
        f"spreads with at most {found.shared:.0%} of their meat from the cuts of: "
        f"{', '.join(AIM_TITLES[aim].lower() for aim in found.apart_from)}"
    )


def _line(problem: SpreadProblem, pick: Pick, whole: Fraction, slot: str | None) -> Line:
    offer = pick.option.offer
    near = cousins(problem, pick.option)
    return Line(
        option=pick.option,
        mlb=pick.mlb,
        pieces_mlb=pick.pieces,
        slot=slot,
        total=pick.total(problem.rounding),
        serving_cost=serving_cost(problem, offer, pick.option.style),
        portion_oz=problem.portion_oz[pick.option.style],
        share=pick.oz / whole,
        oz=pick.oz,
        meals=pick.meals,
        slow=is_slow(offer),
        pinned=any(pin.offer_id == offer.id for pin in problem.pinned),
        not_for=tuple(g.name for g in problem.groups if g.count and not may_eat(g, offer)),
        cook_to=cook_to(offer),
        reason=reason(problem, pick, near),
        cousins=near,
    )


def _slots(picks: Sequence[Pick]) -> dict[str, str | None]:
    """Give each line one role, the rarest first, so that the roles are spread out."""
    found: dict[str, str | None] = {}
    counts: dict[str, int] = {}
    for pick in sorted(picks, key=lambda p: (len(p.option.offer.slots), -p.oz)):
        roles = pick.option.offer.slots
        if pick.option.style not in {"plate", "shared"}:
            roles = roles - {"centre"} or roles  # what is sliced small is no centre piece
        free = sorted(roles, key=lambda slot: (counts.get(slot, 0), slot))
        found[pick.option.offer.id] = free[0] if free else None
        if free:
            counts[free[0]] = counts.get(free[0], 0) + 1
    return found


def _supply(union: Union, picks: Sequence[Pick]) -> Fraction:
    """Return the meals that a union of groups may eat."""
    return sum((p.meals for p in picks if p.option.offer.id in union.offers), Fraction(0))


def _chances(setting: Setting, picks: Sequence[Pick]) -> tuple[tuple[Union, float], ...]:
    """Return the chance of each union of groups to have enough of what it may eat."""
    cv = setting.problem.appetite_cv
    return tuple(
        (union, chance_enough(_supply(union, picks), union.groups, cv)) for union in setting.needs
    )


def _difference(picks: Sequence[Pick], others: Sequence[Pick]) -> float:
    """Return the share of the food that is of other cuts: half the summed share differences."""

    def shares(lines: Sequence[Pick]) -> dict[str, Fraction]:
        whole = sum((line.oz for line in lines), Fraction(0))
        return {line.option.offer.id: line.oz / whole for line in lines}

    one, two = shares(picks), shares(others)
    zero = Fraction(0)
    gaps = (abs(one.get(key, zero) - two.get(key, zero)) for key in one.keys() | two.keys())
    return float(sum(gaps, zero) / 2)


def _binds(setting: Setting, picks: Sequence[Pick], total: Money, late: int) -> tuple[str, ...]:
    """Return the limits that leave less than one selling step of room."""
    problem, found = setting.problem, []
    if problem.budget is not None and problem.budget.minor - total.minor < _TIGHT_MINOR:
        found.append("budget")
    found += [
        "need" if len(setting.needs) == 1 else f"need:{union.name}"
        for union in setting.needs
        if _supply(union, picks) - union.meals < Fraction(1, 20)
    ]
    found += [
        f"stock:{p.option.offer.id}" for p in picks if p.mlb >= p.option.free_mlb - STEP_MLB // 2
    ]
    whole = sum((pick.oz for pick in picks), Fraction(0))
    limit = problem.rules.max_share
    found += [
        f"share:{p.option.offer.id}" for p in picks
        if limit < 1 and limit * whole - p.oz < _TIGHT_SHARE * whole
    ]  # fmt: skip
    if len(picks) == problem.rules.max_items:
        found.append("max_items")
    if late:
        found.append("rounds")
    return (*found, *_fire_binds(problem, picks))


def _fire_binds(problem: SpreadProblem, picks: Sequence[Pick]) -> list[str]:
    if problem.fire is None or not problem.fire.zones:
        return []
    used = sum((pick.option.strip_per_lb * pick.pounds for pick in picks), Fraction(0))
    room = sum((zone.area_sq_in for zone in problem.fire.zones), Fraction(0))
    return ["fire"] if used > room * (1 - Fraction(2, 100)) else []
