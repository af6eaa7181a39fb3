"""The cutting test: what a trimmed part really costs, and what every part yields.

One chain, in exact fractions, rounded only on the way out:

    as-purchased cost   = weight bought x price
    net cost            = as-purchased cost - value of what is credited
    net weight          = weight bought - credits - loss
    cost per unit       = net cost / net weight
    cost factor         = cost per unit / price paid
    portion cost        = cost per unit x portion
    yield               = weight of a part / weight bought

References
----------
.. [1] The butcher's yield test as taught in cooking schools, source ids ``S01``, ``S03``, ``S05``
   (sheets seen): the steps above.
.. [2] Worked tenderloin, source id ``S09`` (seen): several products share the net cost by weight,
   so each carries the same cost a pound.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.carcass.cuttingtest_amounts import plain, rounded
from collop.carcass.cuttingtest_sheet import Line, Product, Sheet, read_sheet
from collop.errors import BadValue, Contradiction
from collop.measures import decimal_of, minor_places

__all__ = ["PLAN_ID", "cuttingtest"]

PLAN_ID = "collop.cuttingtest.plan/1"
UNIT_PLACES = 4


@dataclass(frozen=True, slots=True)
class _Cut:
    """A product once its weight is known, with its share of the net cost [money]."""

    product: Product
    weight: Fraction
    cost: Fraction


def cuttingtest(problem: object) -> dict[str, Any]:
    """Work out one cutting test given as parsed JSON; see `docs/cuttingtest.md`.

    Parameters
    ----------
    problem : object
        The ``collop.cuttingtest/1`` object.

    Returns
    -------
    dict
        The ``collop.cuttingtest.plan/1`` object: money and weights as decimal texts, shares and
        factors as numbers.

    Raises
    ------
    ProblemError
        If the sheet cannot be read, or more comes off than was bought.
    """
    sheet = read_sheet(problem)
    paid = sheet.priced(sheet.weight) * sheet.price
    credited = sum((line.value for line in sheet.credits), Fraction(0))
    if credited > paid:
        raise Contradiction(
            f"The credits are worth {plain(credited, 2)}, more than the {plain(paid, 2)} paid; "
            "check their values and weights.",
            where="$.credits",
        )
    cuts = _cuts(sheet, paid - credited)
    gap = _gap(sheet, cuts)
    net_cost, net = paid - credited, sum((cut.weight for cut in cuts), Fraction(0))
    per_unit = net_cost / sheet.priced(net)
    plan = {
        "schema": PLAN_ID,
        "name": sheet.name,
        "currency": sheet.currency,
        "unit": sheet.unit.value,
        "price_unit": sheet.per.value,
        "as_purchased_cost": _money(sheet, paid),
        "credit_value": _money(sheet, credited),
        "net_cost": _money(sheet, net_cost),
        "net_weight": plain(net),
        "cost_per_unit": _unit_money(sheet, per_unit),
        "yield_pct": _percent(sheet, net),
        "cost_factor": rounded(per_unit / sheet.price, 4),
        **_after_market(sheet, per_unit),
        **_cooked(sheet, net_cost, net),
        "closes": abs(gap) <= sheet.tolerance,
        "gap_weight": plain(gap),
        "likely": _likely(sheet, cuts, gap),
        "loss_weight": plain(sheet.loss or Fraction(0)),
        "loss_pct": _percent(sheet, sheet.loss or Fraction(0)),
        "share_by": sheet.share_by,
        "credits": [_line_json(sheet, line) for line in sheet.credits],
        "products": [_cut_json(sheet, cut) for cut in cuts],
        **_sales(sheet, cuts),
    }
    return plan | _portion(sheet, _salable_cost(sheet, net_cost, net))


def _cuts(sheet: Sheet, net_cost: Fraction) -> tuple[_Cut, ...]:
    off = sum((line.weight for line in sheet.credits), sheet.loss or Fraction(0))
    known = sum((one.weight for one in sheet.products if one.weight is not None), Fraction(0))
    remains = sheet.weight - off - known
    weights = [remains if one.weight is None else one.weight for one in sheet.products]
    for product, weight in zip(sheet.products, weights, strict=True):
        if weight <= 0:
            where = f"{product.path}.weight"
            raise BadValue(
                f"{where} is what remains, and that is {plain(weight)} {sheet.unit}; the other "
                "parts are too heavy for what was bought, so weigh them again.",
                where=where,
            )
    bases = [
        weight * (one.price or 0) if sheet.share_by == "sales_value" else weight
        for one, weight in zip(sheet.products, weights, strict=True)
    ]
    whole = sum(bases, Fraction(0))
    return tuple(
        _Cut(one, weight, net_cost * base / whole)
        for one, weight, base in zip(sheet.products, weights, bases, strict=True)
    )


def _gap(sheet: Sheet, cuts: tuple[_Cut, ...]) -> Fraction:
    parts = sum((line.weight for line in sheet.credits), sheet.loss or Fraction(0))
    return sheet.weight - parts - sum((cut.weight for cut in cuts), Fraction(0))


def _likely(sheet: Sheet, cuts: tuple[_Cut, ...], gap: Fraction) -> str | None:
    """Return what a gap most likely is, in the words of the bench; None if there is none."""
    if abs(gap) <= sheet.tolerance:
        return None
    size = f"{plain(abs(gap))} {sheet.unit}"
    if gap > 0:
        share = f"{plain(gap / sheet.weight * 100, 1)} %"
        if sheet.loss is None:
            return (
                f"{size} ({share}) is not accounted for: enter the cutting loss if it is that, "
                "else weigh the part that is missing (bone, fat, trim)."
            )
        return f"{size} ({share}) is missing beside the loss: weigh the bone, fat or trim left out."
    named = [(line.part, line.weight) for line in sheet.credits]
    named += [(cut.product.part, cut.weight) for cut in cuts]
    for part, weight in named:
        if weight == -gap:
            return f"The parts weigh {size} too much, just the {part}: was it weighed twice?"
    return (
        f"The parts weigh {size} more than was bought: a tub not tared, or a part weighed twice; "
        "weigh again."
    )


def _after_market(sheet: Sheet, per_unit: Fraction) -> dict[str, Any]:
    """Return the cost at a new price by the factor: true while credits move with the price."""
    if sheet.new_price is None:
        return {}
    return {"new_cost_per_unit": _unit_money(sheet, per_unit / sheet.price * sheet.new_price)}


def _salable(sheet: Sheet, net: Fraction) -> Fraction:
    if sheet.cooked is None:
        if sheet.after_cooking:
            raise BadValue(
                "$.after_cooking is given without $.cooked_weight; weigh the cooked meat too.",
                where="$.after_cooking",
            )
        return net
    if sheet.cooked > net:
        raise Contradiction(
            f"$.cooked_weight is {plain(sheet.cooked)} {sheet.unit}, more than the {plain(net)} "
            "that went in; check the two weights.",
            where="$.cooked_weight",
        )
    left = sheet.cooked - sum((line.weight for line in sheet.after_cooking), Fraction(0))
    if left <= 0:
        raise BadValue(
            f"$.after_cooking leaves {plain(left)} {sheet.unit} to serve; weigh it again.",
            where="$.after_cooking",
        )
    return left


def _salable_cost(sheet: Sheet, net_cost: Fraction, net: Fraction) -> Fraction:
    """Return the cost a unit of what is served; parts with a value after cooking are credited."""
    credit = sum((line.value for line in sheet.after_cooking), Fraction(0))
    if credit > net_cost:
        raise Contradiction(
            "$.after_cooking is worth more than the whole net cost; check its values.",
            where="$.after_cooking",
        )
    return (net_cost - credit) / sheet.priced(_salable(sheet, net))


def _cooked(sheet: Sheet, net_cost: Fraction, net: Fraction) -> dict[str, Any]:
    salable, per_unit = _salable(sheet, net), _salable_cost(sheet, net_cost, net)
    if sheet.cooked is None:
        return {}
    return {
        "salable_weight": plain(salable),
        "cooked_cost_per_unit": _unit_money(sheet, per_unit),
        "cooked_cost_factor": rounded(per_unit / sheet.price, 4),
        "cooked_yield_pct": _percent(sheet, salable),
        "cooking_loss_weight": plain(net - sheet.cooked),
        "cooking_loss_pct": _percent(sheet, net - sheet.cooked),
        "after_cooking": [_line_json(sheet, line) for line in sheet.after_cooking],
    }


def _portion(sheet: Sheet, per_unit: Fraction) -> dict[str, Any]:
    if sheet.portion is None:
        return {}
    cost = per_unit * sheet.portion
    found: dict[str, Any] = {
        "portion_cost": _unit_money(sheet, cost),
        "portion_cost_factor": rounded(cost / sheet.price, 4),
    }
    if sheet.plate is not None:
        true_cost = (cost + sheet.plate.accompaniments) * (1 + sheet.plate.waste)
        found["true_cost"] = _unit_money(sheet, true_cost)
        if sheet.plate.food_cost is not None:
            found["menu_price"] = _money(sheet, true_cost / sheet.plate.food_cost)
    return found


def _line_json(sheet: Sheet, line: Line) -> dict[str, Any]:
    return {
        "part": line.part,
        "weight": plain(line.weight),
        "value": _money(sheet, line.value),
        "yield_pct": _percent(sheet, line.weight),
    }


def _price(sheet: Sheet, cut: _Cut) -> Fraction | None:
    """Return the selling price per priced unit: given, or from the margin or mark-up wanted."""
    one, per_unit = cut.product, cut.cost / sheet.priced(cut.weight)
    if one.margin is not None:
        return per_unit / (1 - one.margin)
    if one.markup is not None:
        return per_unit * (1 + one.markup)
    return one.price


def _cut_json(sheet: Sheet, cut: _Cut) -> dict[str, Any]:
    found = {
        "part": cut.product.part,
        "weight": plain(cut.weight),
        "yield_pct": _percent(sheet, cut.weight),
        "cost": _money(sheet, cut.cost),
        "cost_per_unit": _unit_money(sheet, cut.cost / sheet.priced(cut.weight)),
    }
    price = _price(sheet, cut)
    if price is None:
        return found
    sales = price * sheet.priced(cut.weight)
    return found | {
        "price_per_unit": _unit_money(sheet, price),
        "sales_value": _money(sheet, sales),
        **_earned(sales, cut.cost),
    }


def _earned(sales: Fraction, cost: Fraction) -> dict[str, float | None]:
    """Return margin (on the sale) and mark-up (on the cost); None where there is no base."""
    return {
        "margin_pct": rounded((sales - cost) / sales * 100, 2) if sales else None,
        "markup_pct": rounded((sales - cost) / cost * 100, 2) if cost else None,
    }


def _all_sales(sheet: Sheet, cuts: tuple[_Cut, ...]) -> Iterator[Fraction | None]:
    for cut in cuts:
        price = _price(sheet, cut)
        yield None if price is None else price * sheet.priced(cut.weight)


def _sales(sheet: Sheet, cuts: tuple[_Cut, ...]) -> dict[str, Any]:
    """Return the sale of all products against their cost, where each has a price."""
    sales, cost = Fraction(0), sum((cut.cost for cut in cuts), Fraction(0))
    for one in _all_sales(sheet, cuts):
        if one is None:
            return {}
        sales += one
    return {
        "sales_value": _money(sheet, sales),
        "gross_profit": _money(sheet, sales - cost),
        **_earned(sales, cost),
    }


def _money(sheet: Sheet, amount: Fraction) -> str:
    return f"{decimal_of(amount, minor_places(sheet.currency), sheet.rounding):f}"


def _unit_money(sheet: Sheet, amount: Fraction) -> str:
    """Return a price or cost a unit, two places finer than money (four at the least)."""
    places = max(UNIT_PLACES, minor_places(sheet.currency) + 2)
    return f"{decimal_of(amount, places, sheet.rounding):f}"


def _percent(sheet: Sheet, weight: Fraction) -> float:
    return rounded(weight / sheet.weight * 100, 2)
