"""The independent check: no plan is shown that breaks a rule.

Everything is recomputed from the problem and the bare lines (offer, style, weight) in exact
arithmetic.  Nothing of the model, the options or the solver is used.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import timedelta
from fractions import Fraction

from collop.errors import PlanRejected
from collop.measures import Weight, WeightUnit, sum_money
from collop.reference import cook_minimum, thaw_hours
from collop.spread.cooking import cook_as
from collop.spread.diet import may_eat
from collop.spread.need import need_meals
from collop.spread.plan import Line, Spread
from collop.spread.problem import Offer, SpreadProblem

__all__ = ["broken_rules", "check_spread"]


def check_spread(problem: SpreadProblem, spread: Spread) -> None:
    """Raise if the spread breaks any rule.

    Raises
    ------
    PlanRejected
        Naming the broken rules.
    """
    broken = list(broken_rules(problem, spread))
    if broken:
        raise PlanRejected(f"The {spread.aim} spread was held back: {'; '.join(broken)}.")


def broken_rules(problem: SpreadProblem, spread: Spread) -> Iterator[str]:
    """Yield each broken rule in words."""
    for line in spread.lines:
        yield from _line_rules(problem, line)
    yield from _money_rules(problem, spread)
    yield from _need_rules(problem, spread.lines)
    yield from _variety_rules(problem, spread.lines)
    yield from _fire_rules(problem, spread)
    yield from _pin_rules(problem, spread.lines)


def _line_rules(problem: SpreadProblem, line: Line) -> Iterator[str]:
    offer = line.option.offer
    known = {other.id: other for other in problem.offers}
    if known.get(offer.id) != offer:
        yield f"{offer.id} is not on offer"
        return
    style = line.option.style
    if style not in problem.need_oz or style not in offer.eating:
        yield f"{offer.id} cannot be eaten as {style}"
    if line.mlb <= 0 or line.mlb > _free_mlb(problem, offer):
        yield f"{offer.id} takes {line.mlb / 1000} lb of {_free_mlb(problem, offer) / 1000} free"
    if offer.pieces_mlb is None and line.mlb % 10:
        yield f"{offer.id} is not in steps of 0.01 lb"
    if offer.pieces_mlb is not None:
        taken = Counter(line.pieces_mlb or ())
        if taken - Counter(offer.pieces_mlb) or sum(taken.elements()) != line.mlb:
            yield f"{offer.id} takes pieces that are not there"
    if not any(may_eat(group, offer) for group in problem.groups if group.count):
        yield f"nobody at the table may eat {offer.id}"
    yield from _time_rules(problem, offer)


def _free_mlb(problem: SpreadProblem, offer: Offer) -> int:
    if not offer.frozen_mlb or _thaw_fits(problem, offer):
        return offer.free_mlb
    return offer.free_mlb - offer.frozen_mlb


def _thaw_fits(problem: SpreadProblem, offer: Offer) -> bool:
    if problem.use_at is None or problem.now is None:
        return False
    block = max(offer.pieces_mlb) if offer.pieces_mlb else offer.frozen_mlb
    hours = thaw_hours(Weight.of(Fraction(block, 1000), WeightUnit.LB)).planned
    need = timedelta(hours=float(hours), minutes=offer.minutes[1])
    return problem.use_at - problem.now >= need


def _time_rules(problem: SpreadProblem, offer: Offer) -> Iterator[str]:
    use_at, now = problem.use_at, problem.now
    days = 0 if use_at is None or now is None else (use_at.date() - now.date()).days
    if offer.days_left is not None and days > offer.days_left:
        yield f"{offer.id} is past its last day"
    if use_at is None or now is None:
        return
    if use_at - now < timedelta(minutes=offer.minutes[1]):
        yield f"{offer.id} cannot be cooked in time"


def _money_rules(problem: SpreadProblem, spread: Spread) -> Iterator[str]:
    for line in spread.lines:
        net = Weight.of(Fraction(line.mlb, 1000), WeightUnit.LB)
        if line.option.offer.price.line(net, problem.rounding) != line.total:
            yield f"{line.option.offer.id} is not weight times price, rounded once"
    total = sum_money((line.total for line in spread.lines), problem.currency)
    if total != spread.total:
        yield "the total is not the sum of its lines"
    if problem.budget is None:
        return
    over = total - problem.budget
    if over.minor > 0 and not problem.over_budget:
        yield f"it is {over} over the budget"
    if over.minor > 0 and spread.over_by != over:
        yield "it does not say how much it is over the budget"


def _supply(problem: SpreadProblem, line: Line) -> Fraction:
    per_meal = problem.need_oz.get(line.option.style)
    if per_meal is None:  # told by the rules of its line
        return Fraction(0)
    return Fraction(line.mlb, 1000) * 16 * line.option.offer.boneless / per_meal


def _need_rules(problem: SpreadProblem, lines: Sequence[Line]) -> Iterator[str]:
    """Try every union of groups that differ in what they may eat of these lines."""
    tables: dict[frozenset[str], list[int]] = {}
    for index, group in enumerate(problem.groups):
        if group.count:
            reach = frozenset(
                line.option.offer.id for line in lines if may_eat(group, line.option.offer)
            )
            tables.setdefault(reach, []).append(index)
    for size in range(1, len(tables) + 1):
        for some in itertools.combinations(tables, size):
            reach = frozenset[str]().union(*some)
            groups = [problem.groups[index] for table in some for index in tables[table]]
            supply = sum(
                (_supply(problem, line) for line in lines if line.option.offer.id in reach),
                Fraction(0),
            )
            need = need_meals(groups, problem.appetite_cv, problem.enough_chance)
            if supply < need:
                names = " + ".join(group.name for group in groups)
                yield f"{names} get {float(supply):.3f} meals of {float(need):.3f}"


def _variety_rules(problem: SpreadProblem, lines: Sequence[Line]) -> Iterator[str]:
    rules = problem.rules
    if not rules.min_items <= len(lines) <= rules.max_items:
        yield f"{len(lines)} items are not within {rules.min_items} to {rules.max_items}"
    ids = [line.option.offer.id for line in lines]
    if len(set(ids)) != len(ids):
        yield "an item stands on two lines"
    ounces = {
        line.option.offer.id: Fraction(line.mlb, 1000) * 16 * line.option.offer.boneless
        for line in lines
    }
    whole = sum(ounces.values(), Fraction(0))
    for offer_id, oz in ounces.items():
        if oz > rules.max_share * whole:
            yield f"{offer_id} is over {float(rules.max_share):.0%} of the food"
    yield from _style_rules(problem, lines)
    for wish, times in Counter(rules.slots).items():
        filled = sum(
            wish.slot in line.option.offer.slots
            and wish.species in (None, line.option.offer.species)
            for line in lines
        )
        if filled < times:
            yield f"the slot {wish.slot} is not filled"


def _style_rules(problem: SpreadProblem, lines: Sequence[Line]) -> Iterator[str]:
    share = problem.rules.max_style_share
    meals: dict[str, Fraction] = {}
    for line in lines:
        style = line.option.style
        meals[style] = meals.get(style, Fraction(0)) + _supply(problem, line)
    for style, part in meals.items():
        if part > share * sum(meals.values()):
            yield f"{style} is over {float(share):.0%} of the meals"


def _fire_rules(problem: SpreadProblem, spread: Spread) -> Iterator[str]:
    fire = problem.fire
    if fire is None:
        return
    area = {zone.name: zone.area_sq_in for zone in fire.zones}
    for load in spread.loads:
        if load.at_min < 0 or load.minutes <= 0 or load.at_min + load.minutes > fire.minutes:
            yield f"{load.offer_id} does not fit the {fire.minutes} minutes of fire"
    for moment, zone in {(load.at_min, load.zone) for load in spread.loads}:
        taken = sum(
            (load.area_sq_in for load in spread.loads
             if load.zone == zone and load.at_min <= moment < load.at_min + load.minutes),
            Fraction(0),
        )  # fmt: skip
        if taken > area.get(zone, Fraction(0)):
            yield f"{zone} holds {float(taken):.0f} of {float(area.get(zone, 0)):.0f} sq in"
    for line in spread.lines:
        yield from _cooked_rules(problem, spread, line)
        yield from _served_rules(spread, line)


def _cooked_rules(problem: SpreadProblem, spread: Spread, line: Line) -> Iterator[str]:
    """All of a line that goes on the fire is in some load; the rest needs oven or pot."""
    offer, fire = line.option.offer, problem.fire
    assert fire is not None
    mine = [load for load in spread.loads if load.offer_id == offer.id]
    # a load that goes through two heats holds its place in each, but is cooked once
    laid = sum({load.wave: load.area_sq_in for load in mine}.values(), Fraction(0))
    wanted = offer.sq_in_per_lb * Fraction(line.mlb, 1000)
    method = offer.method.lower()
    told = offer.cook is not None and offer.cook.method == "pot"
    potted = told or line.option.style == "stew" or "brais" in method or "pot" in method
    indoors = fire.oven or (fire.pots and potted)
    if laid < wanted and not (indoors and not laid):
        yield f"{offer.id} is not wholly cooked"


def _served_rules(spread: Spread, line: Line) -> Iterator[str]:
    """Each load has the published minimum and rest, and is at the table when the meal is.

    Later only where the spread says that it is eaten in rounds.
    """
    kind = cook_as(line.option.offer)
    if kind != "none":
        rule, told = cook_minimum(kind), line.cook_to or {}
        if told.get("f", 0) < rule.whole_fahrenheit or told.get("rest_min", -1) < rule.rest_min:
            yield f"{line.option.offer.id} is told less than its published minimum"
    least = 0 if kind == "none" else cook_minimum(kind).rest_min
    mine = [load for load in spread.loads if load.offer_id == line.option.offer.id]
    for wave in {load.wave for load in mine}:
        last = max((load for load in mine if load.wave == wave), key=lambda one: one.at_min)
        off = last.at_min + last.minutes
        if not off + least <= last.ready_min <= last.eat_min:
            yield f"{line.option.offer.id} is eaten before it has rested"
        # each zone counts from its own lighting: only loads of one zone share a clock
        later = last.eat_min > min(load.eat_min for load in mine if load.zone == last.zone)
        if later and "rounds" not in spread.binds:
            yield f"{line.option.offer.id} is eaten in rounds, which is not said"


def _pin_rules(problem: SpreadProblem, lines: Sequence[Line]) -> Iterator[str]:
    by_id = {line.option.offer.id: line for line in lines}
    for pin in problem.pinned:
        line = by_id.get(pin.offer_id)
        if line is None:
            yield f"the pinned {pin.offer_id} is missing"
        elif pin.mlb is not None and pin.mlb != line.mlb:
            yield f"the pinned {pin.offer_id} changed its weight"
        elif pin.style is not None and pin.style != line.option.style:
            yield f"the pinned {pin.offer_id} changed its style"
