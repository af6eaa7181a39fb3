"""Prices that sell the whole animal: how to cut each supply, and what to ask for each cut.

The prices, the weights and the ways to cut are found together, so that the animal brings the most
money over the costs of cutting.  The worth of a cut (what one more unit would bring) and of a
supply come out with them: an animal is worth buying while its supplies are worth more than its
price.

At the optimum, with mu the worth of a cut and pi that of a supply:

    mu_j = p_j (1 - 1/e_j) - making_j     between cap and floor (e > 1)
    mu_j = p_j - making_j                 where the cut is sold for what clears it (e <= 1)
    pi_k = sum_j y_aj mu_j - labour_a     for each way to cut that is used; less for the others

References
----------
.. [1] Concave revenue under linear supply: standard results, from memory; see docs/clearing.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import UnitFrame, plain
from collop.chalk.clearing_curves import Curve
from collop.chalk.clearing_program import STRETCHES, solve
from collop.chalk.clearing_proof import STEP, Amounts, Proof, prove, rounded_down, verify
from collop.chalk.clearing_reading import USUAL_CAP, Cut, Market, read_market
from collop.errors import PlanRejected
from collop.measures import decimal_of, minor_places

__all__ = ["PLAN_ID", "clearing"]

PLAN_ID = "collop.clearing.plan/1"
#: A price so near to its cap or floor is at it.
_AT = 1e-6


def clearing(problem: object) -> dict[str, Any]:
    """Find the prices and ways to cut that make the whole supply pay; see `docs/clearing.md`.

    Parameters
    ----------
    problem : object
        The ``collop.clearing/1`` object.

    Returns
    -------
    dict
        The ``collop.clearing.plan/1`` object: money and weights as decimal texts.

    Raises
    ------
    ProblemError
        If the problem cannot be read.
    PlanRejected
        If the optimum could not be proven; no plan is then shown.
    """
    market = read_market(problem)
    proof = _proven(market)
    shown = rounded_down(market, proof.amounts)
    verify(market, shown, proof)
    frame = market.frame
    cuts = [_cut_json(market, proof, shown, index) for index in range(len(market.cuts))]
    return {
        "schema": PLAN_ID,
        **frame.json(),
        "contribution": frame.money(_contribution(market, proof.amounts)),
        "cuts": cuts,
        "supply": [_supply_json(market, proof, shown, k) for k in range(len(market.supplies))],
        "activities": [
            {"name": one.name, "weight": plain(level)}
            for one, level in zip(market.activities, shown.levels, strict=True)
        ],
        "one_more": _one_more(market, proof),
        "proof": {
            "status": "proven",
            "objective": frame.unit_money(Fraction(proof.value)),
            "gap": frame.unit_money(Fraction(max(0.0, proof.bound - proof.value))),
        },
        "assumptions": [*market.notes, *_notes(market, proof)],
    }


def _proven(market: Market) -> Proof:
    for stretch in STRETCHES[:-1]:
        try:
            return prove(market, solve(market, stretch))
        except PlanRejected:
            continue
    return prove(market, solve(market, STRETCHES[-1]))


def _contribution(market: Market, amounts: Amounts) -> Fraction:
    """Return takings less making and labour, before weights and prices are rounded."""
    total = Fraction(0)
    for cut, sold in zip(market.cuts, amounts.sold, strict=True):
        if sold:
            total += (Fraction(cut.curve().price(float(sold))) - cut.making) * sold
    for one, level in zip(market.activities, amounts.levels, strict=True):
        total -= one.labour * level
    return total


def _cut_json(market: Market, proof: Proof, shown: Amounts, index: int) -> dict[str, Any]:
    cut, frame = market.cuts[index], market.frame
    curve, fine = cut.curve(), proof.amounts
    price = curve.price(float(fine.sold[index])) if _can_be_made(market, index) else math.inf
    has_price = math.isfinite(price)
    return {
        "id": cut.id,
        "name": cut.name,
        "present": frame.unit_money(cut.price),
        "price": _board_price(frame, cut, price) if has_price else None,
        "exact": frame.unit_money(Fraction(price)) if has_price else None,
        "quantity": plain(shown.sold[index]),
        "unsold": plain((fine.made[index] - fine.sold[index]) // STEP * STEP),
        "worth": frame.unit_money(Fraction(proof.cut_worths[index])) if has_price else None,
        "binds": _binds(curve, price) if has_price else "none",
    }


def _can_be_made(market: Market, index: int) -> bool:
    return bool(market.cuts[index].on_hand) or any(
        cut == index and market.supplies[one.source].weight
        for one in market.activities
        for cut, _ in one.gives
    )


def _binds(curve: Curve, price: float) -> str:
    """Return what holds the price where it is."""
    if math.isfinite(curve.cap) and price >= curve.cap * (1 - _AT):
        return "cap"
    if curve.floor and price <= curve.floor * (1 + _AT):
        return "floor"
    return "cleared" if curve.clears else "none"


def _board_price(frame: UnitFrame, cut: Cut, price: float) -> str:
    """Return the price in the currency's decimals; rounding takes it past no cap and no floor."""
    places = minor_places(frame.currency)
    found, step = decimal_of(Fraction(price), places, frame.rounding), Decimal(1).scaleb(-places)
    if cut.cap is not None and Fraction(found) > cut.cap:
        found = Decimal(price).quantize(step, ROUND_FLOOR)
    if cut.floor is not None and Fraction(found) < cut.floor:
        found = Decimal(price).quantize(step, ROUND_CEILING)
    return f"{found:f}"


def _supply_json(market: Market, proof: Proof, shown: Amounts, index: int) -> dict[str, Any]:
    supply = market.supplies[index]
    used = sum(
        (level for one, level in zip(market.activities, shown.levels, strict=True)
         if one.source == index), Fraction(0))  # fmt: skip
    return {
        "name": supply.name,
        "worth": market.frame.unit_money(Fraction(proof.supply_worths[index])),
        "used": plain(used),
        "left": plain(supply.weight - used),
    }


def _one_more(market: Market, proof: Proof) -> str | None:
    """Return what one more animal would bring over the costs of cutting it, at these worths."""
    if market.animals is None:
        return None
    worth = sum(
        (Fraction(worth) * supply.weight
         for worth, supply in zip(proof.supply_worths, market.supplies, strict=True)),
        Fraction(0))  # fmt: skip
    return market.frame.money(worth / market.animals)


def _notes(market: Market, proof: Proof) -> Iterator[str]:
    yield (
        "Quantities, supply and what is on hand are of the same period; each cut's demand has one "
        "elasticity, and the price of one cut does not move the sales of another."
    )
    yield (
        "Weights are shown rounded down to 0.001; prices and contribution are of those before "
        "that. Worth is that of a little more, and falls as more comes in."
    )
    for index, cut in enumerate(market.cuts):
        curve, fine = cut.curve(), proof.amounts.sold[index]
        if not _can_be_made(market, index):
            yield f"{cut.name}: nothing there is gives it, so it has no price."
        elif math.isinf(curve.cap) and curve.price(float(fine)) > cut.price * USUAL_CAP:
            yield (
                f"{cut.name} has no cap, and its price is more than 1.25 times the present one: "
                "no sale was seen there, so give a cap if buyers would not pay it."
            )
