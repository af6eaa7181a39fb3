"""Checks clearing prices without the solver: a bound from the worths, and sums that hold exactly.

For any worths mu >= 0, with pi_k the most that any way to cut pays for a unit of supply k,

    bound = sum_k pi_k S_k + sum_j mu_j on_hand_j + sum_j max_q [value_j(q) - (making_j + mu_j) q]

is at least the value of every plan there can be (weak duality).  So the plan in hand is the best
to within `bound - value`, whoever found it.  That gap is a sum of four kinds of terms, none below
zero: worth of supply left, worth of cuts unsold, losses by a way to cut that pays less than its
supply is worth, and cuts sold at another price than their worth asks for.  Each is worked out
here from the demand curves; at an optimum each is nothing.

References
----------
.. [1] Weak duality and the conditions of Karush, Kuhn and Tucker: standard results, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import plain
from collop.chalk.clearing_curves import Curve
from collop.chalk.clearing_program import Answer
from collop.chalk.clearing_reading import Market
from collop.errors import PlanRejected

__all__ = ["STEP", "Amounts", "Proof", "prove", "rounded_down", "verify"]

#: Weights are shown in these steps.
STEP = Fraction(1, 1000)
#: A gap of so much of the money that turns over is none; nor is a hundredth of a cent.
_CLOSE, _NOTHING = 1e-6, 1e-4
#: Of so little of a supply the solver cannot tell whether it is used.
_USED_UP = Fraction(1, 10**6)


@dataclass(frozen=True, slots=True)
class Amounts:
    """What is cut and sold, exact; feasible by construction.

    Parameters
    ----------
    levels : tuple of Fraction, shape (activities,)
        Weight cut up in each way.
    made, sold : tuple of Fraction, shape (cuts,)
        Weight there is of a cut, what was on hand included, and weight sold.
    """

    levels: tuple[Fraction, ...]
    made: tuple[Fraction, ...]
    sold: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """A checked answer.

    Parameters
    ----------
    amounts : Amounts
        The plan before its weights are rounded.
    cut_worths, supply_worths : tuple of float
        mu, shape (cuts,), and pi, shape (supplies,): money per unit of weight.
    value, bound : float
        What the plan brings by the objective, and what no plan can pass [money].
    """

    amounts: Amounts
    cut_worths: tuple[float, ...]
    supply_worths: tuple[float, ...]
    value: float
    bound: float


def _made(market: Market, levels: Sequence[Fraction]) -> list[Fraction]:
    made = [cut.on_hand for cut in market.cuts]
    for one, level in zip(market.activities, levels, strict=True):
        for cut, share in one.gives:
            made[cut] += share * level
    return made


def _feasible(market: Market, answer: Answer) -> Amounts:
    """Return the solver's amounts brought exactly within what there is."""
    levels = [Fraction(level) for level in answer.levels]
    for index, supply in enumerate(market.supplies):
        own = [a for a, one in enumerate(market.activities) if one.source == index]
        taken = sum((levels[a] for a in own), Fraction(0))
        if taken > supply.weight:
            for a in own:
                levels[a] *= supply.weight / taken
    made = _made(market, levels)
    sold = tuple(
        min(Fraction(found), there, _most(cut.curve()))
        for found, there, cut in zip(answer.quantities, made, market.cuts, strict=True)
    )
    return Amounts(tuple(levels), tuple(made), sold)


def _most(curve: Curve) -> Fraction:
    return Fraction(10**30) if math.isinf(curve.most) else Fraction(curve.most)


def _value(market: Market, amounts: Amounts) -> float:
    curves = [cut.curve() for cut in market.cuts]
    takings = [
        curve.brings(float(sold)) - curve.making * float(sold)
        for curve, sold in zip(curves, amounts.sold, strict=True)
    ]
    labour = [
        float(one.labour * level)
        for one, level in zip(market.activities, amounts.levels, strict=True)
    ]
    return math.fsum([*takings, *(-cost for cost in labour)])


def _supply_worths(market: Market, cut_worths: Sequence[float]) -> tuple[float, ...]:
    """Return the most that any way to cut pays for a unit of each supply, never below zero."""
    worths = [0.0] * len(market.supplies)
    for one in market.activities:
        pays = math.fsum(float(share) * cut_worths[cut] for cut, share in one.gives)
        worths[one.source] = max(worths[one.source], pays - float(one.labour))
    return tuple(worths)


def _bound(market: Market, cut_worths: Sequence[float], supply_worths: Sequence[float]) -> float:
    terms = [
        worth * float(supply.weight)
        for worth, supply in zip(supply_worths, market.supplies, strict=True)
    ]
    can_be_had = {cut for one in market.activities for cut, _ in one.gives
                  if market.supplies[one.source].weight}  # fmt: skip
    for index, cut in enumerate(market.cuts):
        if index not in can_be_had and not cut.on_hand:
            continue  # none can be sold at any worth
        curve, cost = cut.curve(), cut_worths[index] + float(cut.making)
        best = curve.best(cost)
        if math.isinf(best):
            return math.inf
        terms += [cut_worths[index] * float(cut.on_hand), curve.brings(best) - cost * best]
    return math.fsum(terms)


def prove(market: Market, answer: Answer) -> Proof:
    """Bring the solver's answer within what there is, and bound what any plan could bring.

    Raises
    ------
    PlanRejected
        If the two are not close: the plan is then not shown.
    """
    if not all(map(math.isfinite, (*answer.levels, *answer.quantities, *answer.worths))):
        raise _not_proven()
    amounts = _feasible(market, answer)
    worths = answer.worths
    supply_worths = _supply_worths(market, worths)
    value, bound = _value(market, amounts), _bound(market, worths, supply_worths)
    turnover = math.fsum(
        cut.curve().brings(float(sold)) for cut, sold in zip(market.cuts, amounts.sold, strict=True)
    )
    if not math.isfinite(bound) or abs(bound - value) > _NOTHING + _CLOSE * max(
        turnover, abs(bound)
    ):
        raise _not_proven()
    return Proof(amounts, worths, supply_worths, value, bound)


def _not_proven() -> PlanRejected:
    return PlanRejected(
        "No prices could be proven the best for these figures, so none are shown; look for a "
        "price, weight or elasticity far out of line with the others.",
        where="$",
    )


def _down(amount: Fraction) -> Fraction:
    return amount // STEP * STEP


def rounded_down(market: Market, amounts: Amounts) -> Amounts:
    """Return the amounts in whole steps, so that they still fit in what there is.

    The ways to cut one supply share its steps by largest remainder; what is sold is rounded down.
    """
    levels = list(amounts.levels)
    for index, supply in enumerate(market.supplies):
        own = [a for a, one in enumerate(market.activities) if one.source == index]
        taken = sum((levels[a] for a in own), Fraction(0))
        if supply.weight - taken <= _USED_UP * supply.weight:
            taken = supply.weight
        floors = {a: _down(levels[a]) for a in own}
        spare = int((_down(taken) - sum(floors.values(), Fraction(0))) / STEP)
        order = sorted(own, key=lambda a: (floors[a] - levels[a], a))
        for a in order[:spare]:
            floors[a] += STEP
        for a in own:
            levels[a] = floors[a]
    made = _made(market, levels)
    sold = tuple(
        _down(min(there, wanted + STEP if wanted >= STEP else wanted, _most(cut.curve())))
        for there, wanted, cut in zip(made, amounts.sold, market.cuts, strict=True)
    )
    return Amounts(tuple(levels), tuple(made), sold)


def verify(market: Market, shown: Amounts, proof: Proof) -> None:
    """Check the weights that are shown, in exact sums: they fit, and are those that were proven.

    Raises
    ------
    PlanRejected
        Naming the first sum that does not hold.
    """
    for index, supply in enumerate(market.supplies):
        taken = sum(
            (level for one, level in zip(market.activities, shown.levels, strict=True)
             if one.source == index), Fraction(0))  # fmt: skip
        if taken > supply.weight:
            raise PlanRejected(f"The plan cuts up {plain(taken)} of {supply.name}, more than is "
                               "there; it is not shown.", where="$.supply")  # fmt: skip
    made = _made(market, shown.levels)
    for cut, there, sold in zip(market.cuts, made, shown.sold, strict=True):
        if not 0 <= sold <= there or sold > _most(cut.curve()):
            raise PlanRejected(f"The plan sells {plain(sold)} of {cut.name}, which cannot be; it "
                               "is not shown.", where="$.cuts")  # fmt: skip
    fine = proof.amounts
    # a shown weight is its proven one within a step, and what is sold within those of its ways
    ways = 2 + sum(len(one.gives) for one in market.activities)
    near = [abs(a - b) <= 2 * STEP for a, b in zip(shown.levels, fine.levels, strict=True)]
    near += [
        abs(a - b) <= 2 * ways * STEP + _USED_UP * b
        for a, b in zip(shown.sold, fine.sold, strict=True)
    ]
    if not (all(near) and min(shown.levels, default=Fraction(0)) >= 0):
        raise _not_proven()
