"""A second look at a farm call's plan: exact, without a solver, by the problem alone.

Every figure shown is a mean that was rounded, so that sums may be off by what rounding takes; more
than that is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from collop.bench.farm_checker_flow import flow_faults
from collop.bench.farm_problem import Animal, FarmProblem
from collop.bench.farm_scenarios import scenarios_of
from collop.measures import minor_places

__all__ = ["check_farmcall"]

Json = Mapping[str, Any]
_HALF_STEP = Fraction(1, 2000)
_TENTHS = {"low": Fraction(1, 10), "usual": Fraction(1, 2), "high": Fraction(9, 10)}
_NEAR = Fraction(1, 10**6)


def check_farmcall(problem: FarmProblem, plan: Json) -> list[str]:
    """Return what is wrong with a plan, one sentence each; nothing if it is sound.

    Parameters
    ----------
    problem : FarmProblem
        As read.
    plan : mapping
        The ``collop.farmcall.plan/1`` object.

    Notes
    -----
    Checked are the orders, the room, what every cut and bin comes from and goes to, what is wanted,
    the promises, the money and its spread, and that the proof says what it may.  That no other
    order brings more is not checked: that is what the bound of the proof stands for.
    """
    return [
        *_orders(problem, plan["orders"]),
        *_room(problem, plan),
        *flow_faults(problem, plan),
        *_wanted(problem, plan["cuts"]),
        *_promised(problem, plan),
        *_money(problem, plan),
        *_weeks(problem, plan),
        *_steps(problem, plan),
        *_proof(problem, plan),
    ]


def _cent(problem: FarmProblem) -> Fraction:
    """Return half of the smallest unit of money: what rounding may take."""
    return Fraction(1, 2 * 10 ** minor_places(problem.currency))


def _orders(problem: FarmProblem, orders: Sequence[Json]) -> Iterator[str]:
    if [one["id"] for one in orders] != [one.id for one in problem.animals]:
        yield "The orders name other animals than were offered."
        return
    for animal, line in zip(problem.animals, orders, strict=True):
        count = line["count"]
        if not isinstance(count, int) or not animal.least <= count <= animal.most:
            yield f"{animal.name}: {count} is not from {animal.least} to {animal.most}."
            continue
        if Fraction(line["weight"]) != count * animal.weight:
            yield f"{animal.name}: {count} do not weigh {line['weight']}."
        cost = count * (animal.weight * animal.price_per_unit + animal.haulage)
        if abs(Fraction(line["cost"]) - cost) > _cent(problem):
            yield f"{animal.name}: {count} do not cost {line['cost']}."
        if (line["one_less"] is None) != (count == 0):
            yield f"{animal.name}: one less is told where there is none, or left out."


def _room(problem: FarmProblem, plan: Json) -> Iterator[str]:
    if problem.room is None:
        if plan["room"] is not None:
            yield "A rail is told that was not given."
        return
    used = problem.room.hanging + sum(Fraction(one["weight"]) for one in plan["orders"])
    if used > problem.room.rail:
        yield "The order does not fit on the rail."
    if Fraction(plan["room"]["used"]) != used:
        yield "What hangs on the rail does not add up."


def _wanted(problem: FarmProblem, lines: Sequence[Json]) -> Iterator[str]:
    weeks = scenarios_of(problem)
    if sum((one.chance for one in weeks), Fraction(0)) != 1:
        yield "The chances of the weeks do not sum to 1."
    for line in lines:
        cut = line["id"]
        counter = sum((one.chance * one.wants[cut] for one in weeks), Fraction(0))
        promised = sum((one.weight for one in problem.promises if one.cut == cut), Fraction(0))
        if abs(Fraction(line["wanted"]) - counter - promised) > _HALF_STEP:
            yield f"{line['name']}: what is wanted is not what the weeks say."


def _promised(problem: FarmProblem, plan: Json) -> Iterator[str]:
    lines = [*plan["standing"], *plan["bookings"]]
    asked = [one for one in problem.promises if one.standing]
    asked += [one for one in problem.promises if not one.standing]
    if len(lines) != len(asked):
        yield "A standing order or a booking is missing from the plan."
        return
    for promise, line in zip(asked, lines, strict=True):
        if (line["name"], line["cut"], Fraction(line["asks"])) != (
            promise.name, promise.cut, promise.weight,
        ):  # fmt: skip
            yield f"{promise.name}: the plan tells another order."
        if not 0 <= Fraction(line["gets"]) <= promise.weight + _HALF_STEP:
            yield f"{promise.name}: gets more than was asked."
        per = max(_most(problem, one, promise.cut) for one in problem.animals)
        needed = line["animals_needed"]
        if (needed is None) != (per == 0):
            yield f"{promise.name}: the animals it would take are told wrongly."
        elif per and not (needed - 1) * per < promise.weight <= needed * per:
            yield f"{promise.name}: {needed} animals are not what it would take."


def _most(problem: FarmProblem, animal: Animal, cut: str) -> Fraction:
    """Return the most weight of a cut that one animal gives, going down every style."""

    def best(kind: str, weight: Fraction) -> Fraction:
        found = Fraction(0)
        for style in problem.kinds[kind].styles:
            total = Fraction(0)
            for output in style.outputs:
                if output.to == "kind":
                    total += best(output.id, weight * output.share)
                elif output.to == "cut" and output.id == cut:
                    total += weight * output.share
            found = max(found, total)
        return found

    return best(animal.kind, animal.weight)


def _money(problem: FarmProblem, plan: Json) -> Iterator[str]:
    parts = {key: Fraction(text) for key, text in plan["money"].items()}
    expected, cent = Fraction(plan["expected"]), _cent(problem)
    if abs(sum(parts.values(), Fraction(0)) - expected) > cent * (len(parts) + 1):
        yield "The money does not add up to what is expected."
    cost = sum(Fraction(one["cost"]) for one in plan["orders"])
    if abs(parts["animals"] + cost) > cent * (len(plan["orders"]) + 1):
        yield "The animals do not cost what the orders say."
    for key in ("labour", "overtime", "making"):
        if parts[key] > 0:
            yield f"The cost of {key} is told as a gain."
    kept = sum((one.worth_left for one in problem.hanging), Fraction(0))
    if not 0 <= parts["kept"] <= kept + cent:
        yield "What still hangs is worth more than it was."
    for key, standing in (("standing", True), ("bookings", False)):
        asked = [one for one in problem.promises if one.standing is standing]
        paid = sum((Fraction(line["gets"]) * one.price
                    for one, line in zip(asked, plan[key], strict=False)), Fraction(0))  # fmt: skip
        slack = cent + sum((one.price for one in asked), Fraction(0)) * _HALF_STEP
        if abs(parts[key] - paid) > slack:
            yield f"The money of {key} is not that of what they get."
    yield from _salvage_and_sales(plan, parts, cent)


def _salvage_and_sales(plan: Json, parts: Mapping[str, Fraction], cent: Fraction) -> Iterator[str]:
    for key, ways in (("sales", ("at_board", "marked_down")), ("salvage", ("salvage",))):
        total = sum(Fraction(one[way]["money"]) for one in plan["cuts"] for way in ways)
        if abs(total - parts[key]) > cent * (len(ways) * len(plan["cuts"]) + 1):
            yield f"The money of {key} is not that of the cuts."


def _weeks(problem: FarmProblem, plan: Json) -> Iterator[str]:
    told, weeks, cent = plan["scenarios"], scenarios_of(problem), _cent(problem)
    if [one["name"] for one in told] != [one.name for one in weeks]:
        yield "The plan tells other weeks than were asked for."
        return
    if any(abs(Fraction(line["chance"]) - week.chance) > _NEAR
           for line, week in zip(told, weeks, strict=True)):  # fmt: skip
        yield "A week has another chance than was given."
    money = [Fraction(one["contribution"]) for one in told]
    mean = sum((week.chance * one for week, one in zip(weeks, money, strict=True)), Fraction(0))
    if abs(mean - Fraction(plan["expected"])) > 2 * cent:
        yield "What is expected is not the mean of the weeks."
    for key, share in _TENTHS.items():
        value = Fraction(plan["spread"][key])
        upto = sum(
            (week.chance for week, one in zip(weeks, money, strict=True) if one <= value),
            Fraction(0),
        )
        under = sum(
            (week.chance for week, one in zip(weeks, money, strict=True) if one < value),
            Fraction(0),
        )
        if not under < share <= upto:
            yield f"The spread's {key} week is not where it should be among the weeks."


def _steps(problem: FarmProblem, plan: Json) -> Iterator[str]:
    for animal, line in zip(problem.animals, plan["orders"], strict=True):
        cost = animal.weight * animal.price_per_unit + animal.haulage
        worth, step = Fraction(plan["worth"][animal.id]), Fraction(line["one_more"]["money"])
        if abs(worth - step - cost) > 3 * _cent(problem):
            yield f"{animal.name}: one more is not its worth less its price."


def _proof(problem: FarmProblem, plan: Json) -> Iterator[str]:
    proof = plan["proof"]
    objective, bound = Fraction(proof["objective"]), Fraction(proof["bound"])
    cent = _cent(problem)
    if objective > bound:
        yield "The plan is told to be better than the best that is possible."
    dear = max(
        *(one.price * one.steps[0] for one in problem.cuts.values()),
        *(one.price for one in problem.promises), Fraction(1, 100),
    )  # fmt: skip
    lines = [*plan["standing"], *plan["bookings"]]
    short = sum((Fraction(one["asks"]) - Fraction(one["gets"]) for one in lines), Fraction(0))
    if abs(Fraction(plan["expected"]) - dear * short - objective) > 2 * cent + dear * (
        len(lines) * _HALF_STEP
    ):
        yield "The value that was proven is not that of the plan."
    gap = (bound - objective) / max(Fraction(1), abs(objective))
    slack = 3 * cent / max(Fraction(1), abs(objective)) + _NEAR
    if abs(gap - Fraction(proof["gap"])) > slack:
        yield "The gap that is told is not that between plan and bound."
    if proof["status"] == "optimal" and Fraction(proof["gap"]) > _NEAR:
        yield "The plan is told to be the best, and its gap is too wide for that."
