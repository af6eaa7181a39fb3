"""How much to put out when nobody knows what the day will ask for.

A unit too few costs Cu = price - cost, a unit too many Co = cost - salvage. The best stock is the
one that is enough with the chance

    critical ratio = Cu / (Cu + Co);  normal demand: quantity = mean + z sd

For a cut of a whole animal `cost` is what a pound is worth elsewhere, as another cut or as trim,
not the cost that an allocation gave it.

References
----------
.. [1] Matching Supply with Demand (Cachon and Terwiesch), solutions to ch. 12, Q12.1, source id
   ``O05`` (seen): price 20, cost 12, salvage 8, demand 200 give or take 80.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import plain
from collop.chalk.putting_out_demand import Counted, Normal
from collop.chalk.putting_out_reading import Stock, read_stock
from collop.measures import decimal_of

__all__ = ["PLAN_ID", "putout"]

PLAN_ID = "collop.putout.plan/1"
_FEW_DAYS = 20
_RARELY = 0.001


def putout(problem: object) -> dict[str, Any]:
    """Work out how much to put out, given as parsed JSON; see `docs/putout.md`.

    Parameters
    ----------
    problem : object
        The ``collop.putout/1`` object.

    Returns
    -------
    dict
        The ``collop.putout.plan/1`` object: money and quantities as decimal texts, ratios as
        numbers.

    Raises
    ------
    ProblemError
        If it cannot be read; if nothing is earned by selling, or nothing lost by having too much.
    """
    stock = read_stock(problem)
    frame, demand = stock.frame, stock.demand
    ratio = stock.underage / (stock.underage + stock.overage)
    quantity = demand.quantile(ratio)
    put_out = _on_step(stock, quantity)
    sold = demand.sold(put_out)
    chance = demand.enough(put_out)
    return {
        "schema": PLAN_ID,
        "name": frame.name,
        "currency": frame.currency,
        "unit": stock.unit,
        "underage": plain(stock.underage, at_least=frame.places),
        "overage": plain(stock.overage, at_least=frame.places),
        "critical_ratio": float(decimal_of(ratio, 4)),
        "z": round(demand.z(ratio), 4) if isinstance(demand, Normal) else None,
        "quantity": plain(quantity, 4),
        "put_out": plain(put_out),
        "expected_sold": plain(sold, 3),
        "expected_left": plain(put_out - sold, 3),
        "expected_profit": frame.money(stock.profit(put_out)),
        "chance_enough": round(chance, 4),
        "say": _say(stock, put_out, chance),
        "assumptions": list(_assumptions(stock)),
    }


def _on_step(stock: Stock, quantity: Fraction) -> Fraction:
    """Return the multiple of the step that earns most; of two that earn the same, the smaller.

    The mean profit rises to its best stock and falls after it, so one of the two multiples beside
    that stock is the best.
    """
    steps = quantity / stock.step
    low, high = math.floor(steps) * stock.step, math.ceil(steps) * stock.step
    return high if stock.profit(high) > stock.profit(low) else low


def _say(stock: Stock, put_out: Fraction, chance: float) -> str:
    short = plain(stock.underage, at_least=stock.frame.places)
    over = plain(stock.overage, at_least=stock.frame.places)
    return (
        f"Put out {plain(put_out)} {stock.unit}: one {stock.unit} too few costs {short}, one too "
        f"many {over}; it is enough on {round(chance * 100)} days of 100."
    )


def _assumptions(stock: Stock) -> Iterator[str]:
    demand = stock.demand
    yield "One filling of the case: what is left at the end is worth the salvage value."
    if isinstance(demand, Normal):
        yield "Demand is normal, with the mean and standard deviation given."
        if demand.below_zero > _RARELY:
            yield (
                f"The curve puts {demand.below_zero:.1%} below zero; that is counted as no demand, "
                "and the quantity is rough."
            )
    elif isinstance(demand, Counted) and stock.kind != "counts":
        yield "The demand is known."
    elif isinstance(demand, Counted):
        days = len(demand.seen)
        yield f"The {days} days seen stand for the days to come, each as likely as the next."
        if days < _FEW_DAYS:
            yield f"{days} days are few: a demand beyond the largest one seen is never planned for."
        yield "On days when all was sold the demand was larger than what was seen."
    elif stock.kind == "poisson":
        yield "Buyers come one by one, each for one piece."
    else:
        yield "Any demand from low to high is as likely as any other."
