"""The moves worth most today: stock in its last days, marked down, ground or frozen in time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.chalk import markdown
from collop.measures import Money, UnitPrice, Weight, WeightUnit, decimal_of, minor_places
from collop.shop.ageing import Ageing, CaseView, ageing_of, markdown_problem, mince_of
from collop.shop.chalk_model import Move

__all__ = ["LEAST_GAIN", "LEAST_WEIGHT", "MOST", "best_moves"]

MOST = 3
#: A move that gains or moves less than this is a trifle: a figure of ours.
LEAST_GAIN = Decimal(1)
LEAST_WEIGHT = {WeightUnit.LB: Decimal("0.5"), WeightUnit.KG: Decimal("0.2")}
_OTHER = ("convert", "freeze")


@dataclass(frozen=True, slots=True)
class _Plan:
    """A mark-down worked out: its problem, its plan, and what it brings."""

    one: Ageing
    problem: dict[str, Any]
    plan: dict[str, Any]

    @property
    def gain(self) -> Decimal:
        return Decimal(self.plan["gain"])

    @property
    def elsewhere(self) -> Mapping[str, Any] | None:
        """Return the other use that takes most, None if all is sold or binned."""
        rest = [line for line in self.plan["rest"] if line["way"] in _OTHER]
        return max(rest, key=lambda line: Decimal(line["weight"]), default=None)

    @property
    def is_move(self) -> bool:
        """Tell whether there is anything to do."""
        return self.is_marked_down or self.elsewhere is not None

    @property
    def is_marked_down(self) -> bool:
        now = self.plan["price_now"]
        return now is not None and Decimal(now) < self.present

    @property
    def present(self) -> Decimal:
        """Return the price in force to the minor unit: one set per lb has more places per kg."""
        places = minor_places(self.problem["currency"])
        return decimal_of(Fraction(self.problem["price"]), places)


def _worked_out(view: CaseView, one: Ageing, elasticity: float, taken: Fraction) -> _Plan:
    """Work out a mark-down; a use that takes a trifle is left out, and it is worked out anew."""
    problem = markdown_problem(view, one, elasticity, taken)
    while True:
        plan = markdown(problem)
        trifles = [line["way"] for line in plan["rest"]
                   if line["way"] in _OTHER and Decimal(line["weight"]) < _least(view)]  # fmt: skip
        if not trifles:
            return _Plan(one, problem, plan)
        problem = problem | dict.fromkeys(trifles)


def _least(view: CaseView) -> Decimal:
    return LEAST_WEIGHT[view.chosen.legal_unit]


def best_moves(view: CaseView, most: int = MOST) -> tuple[Move, ...]:
    """Return the moves that are worth most, best first, each line once; no trifles.

    Mince made of one line leaves less room for the next, so each is worked out after those before
    it.

    Parameters
    ----------
    view : CaseView
        The case; nothing past its day is in it.
    most : int
        At most so many.
    """
    waiting = {}
    for case_id in view.stock:
        one = ageing_of(view, case_id)
        if one is not None:
            waiting[case_id] = (one, float(view.demand(case_id)["elasticity"]))
    taken: dict[str, Fraction] = defaultdict(Fraction)
    worked = {key: _worked_out(view, *told, Fraction(0)) for key, told in waiting.items()}
    found: list[Move] = []
    while worked and len(found) < most:
        key = max(worked, key=lambda name: (worked[name].gain, name))
        best = worked.pop(key)
        if best.gain < LEAST_GAIN:
            break
        move = _move(view, best)
        if move.weight.decimal(view.chosen.legal_unit, 3) < _least(view) or not best.is_move:
            continue
        found.append(move)
        mince = mince_of(view, best.one.line)
        ground = _ground(view, best)
        if mince is not None and ground:
            taken[mince.id] += ground
            for name in worked:
                if mince_of(view, waiting[name][0].line) == mince:
                    worked[name] = _worked_out(view, *waiting[name], taken[mince.id])
    return tuple(found)


def _ground(view: CaseView, best: _Plan) -> Fraction:
    """Return the mince a plan makes, in counts."""
    convert = best.problem["convert"]
    weight = sum((Fraction(line["weight"]) for line in best.plan["rest"]
                  if line["way"] == "convert"), Fraction(0))  # fmt: skip
    if convert is None:
        return Fraction(0)
    one = Weight.of(1, view.chosen.legal_unit).count
    return weight * Fraction(str(convert["yield"])) * one


def _move(view: CaseView, best: _Plan) -> Move:
    chosen, one = view.chosen, best.one
    other = best.elsewhere
    way = "price" if best.is_marked_down or other is None else str(other["way"])
    weight = best.problem["stock"] if way == "price" or other is None else other["weight"]
    price = None
    if best.is_marked_down:
        price = UnitPrice.of(best.plan["price_now"], chosen.legal_unit, chosen.currency)
    return Move(
        case_id=one.line.id, name=one.line.name, weight=Weight.of(weight, chosen.legal_unit),
        days_left=(one.last - view.today).days, way=way, price=price,
        gain=Money.of(best.plan["gain"], chosen.currency),
        value=Money.of(best.plan["value"], chosen.currency),
        say=_say(view, best), plan=best.plan, problem=best.problem,
    )  # fmt: skip


def _say(view: CaseView, best: _Plan) -> str:
    """Return one sentence: what there is, by when, what to do, what it is worth."""
    chosen, one, plan = view.chosen, best.one, best.plan
    days = (one.last - view.today).days
    by = {0: "today", 1: "tomorrow"}.get(days, f"{one.last:%a %d %b}")
    stock = Weight(one.count, chosen.legal_unit).text()
    sells = Weight(min(one.count, int(one.will_sell)), chosen.legal_unit).text()
    todo = []
    if best.is_marked_down:
        todo.append(f"mark it down from {best.present} to {plan['price_now']}")
    for line in plan["rest"]:
        if line["way"] in _OTHER:
            weight = Weight.of(line["weight"], chosen.legal_unit).text()
            about = f"about {weight} in whole pieces" if one.line.by_piece else weight
            into = f" into {line['to']}" if line["way"] == "convert" else ""
            todo.append(f"{'grind' if into else 'freeze'} {about}{into}")
    return (
        f"{one.line.name}: {stock} to go by {by}, {sells} of it sells at the price of now; "
        f"{' and '.join(todo)}, worth {plan['gain']} more than letting it pass its day."
    )
