"""A cut's own demand from its sales: how many percent fewer sell at a price one percent up.

Weeks at different prices give a line of log quantity on log price; its slope is -e.  A shop sees
few prices, so the slope is uncertain, and a published figure takes part by its precision:

    own:      e1 = -Sxy / Sxx,    sd1 = s / sqrt(Sxx),    s2 = RSS / (n - 2)
    noise:    s2' = (RSS + 4 x 0.25^2) / (n - 2 + 4),     sd1' = s' / sqrt(Sxx)
    together: e = w e1 + (1 - w) e0,    w = sd0^2 / (sd0^2 + sd1'^2)
    its sd:   1 / sqrt(1/sd0^2 + 1/sd1'^2)

The second line is ours: few weeks can lie on a line by chance, so the scatter of a week is taken
as if four more weeks of 25 % had been seen (common practice, no published source).

References
----------
.. [1] Least squares, and the mean of two normal beliefs weighed by precision: standard results,
   from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import plain
from collop.chalk.demand_reading import Prior, Sale, Weeks, read_weeks

__all__ = ["PLAN_ID", "Fit", "Together", "demand", "fit", "together"]

PLAN_ID = "collop.demand.plan/1"
NOISE_SD, NOISE_WEEKS = 0.25, 4
LEAST_ELASTICITY, MOST_ELASTICITY = 0.1, 20.0
OWN_WEIGHT = 0.8
_LEAST_POINTS = 3
#: Prices that differ by less than this share are one price.
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Fit:
    """The shop's own line.

    Parameters
    ----------
    elasticity, sd : float
        Minus the slope, and its standard error by least squares.
    noise : float
        Scatter of a week about the line, as a standard deviation of log quantity.
    spread : float
        Sxx: sum of squared distances of log price from its mean.
    points : int
        Weeks on the line.
    """

    elasticity: float
    sd: float
    noise: float
    spread: float
    points: int

    @property
    def cautious_sd(self) -> float:
        """Return the standard error with the scatter held near what is usual."""
        free = self.points - 2
        seen = self.noise**2 * free + NOISE_WEEKS * NOISE_SD**2
        return math.sqrt(seen / (free + NOISE_WEEKS) / self.spread)


@dataclass(frozen=True, slots=True)
class Together:
    """An own figure and a belief put together; `weight` is the share of the own one."""

    elasticity: float
    sd: float
    weight: float


def fit(prices: Sequence[float], quantities: Sequence[float]) -> Fit | None:
    """Return the line of log quantity on log price.

    Parameters
    ----------
    prices, quantities : sequence of float, shape (weeks,)
        Above zero.

    Returns
    -------
    Fit or None
        None where there is no slope: fewer than three weeks, or one price only.
    """
    if len(prices) < _LEAST_POINTS:
        return None
    x, y = [math.log(one) for one in prices], [math.log(one) for one in quantities]
    mean_x, mean_y = (math.fsum(values) / len(x) for values in (x, y))
    spread = math.fsum((one - mean_x) ** 2 for one in x)
    if max(x) - min(x) < _SAME:
        return None
    slope = math.fsum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / spread
    rest = math.fsum((b - mean_y - slope * (a - mean_x)) ** 2 for a, b in zip(x, y, strict=True))
    noise = math.sqrt(rest / (len(x) - 2))
    return Fit(-slope, noise / math.sqrt(spread), noise, spread, len(x))


def together(own: Fit | None, elasticity: float, sd: float) -> Together:
    """Put the shop's own line and a belief together by their precision.

    Parameters
    ----------
    own : Fit or None
    elasticity, sd : float
        The belief: mean and standard deviation.
    """
    if own is None:
        return Together(elasticity, sd, 0.0)
    weight = sd**2 / (sd**2 + own.cautious_sd**2)
    return Together(
        weight * own.elasticity + (1 - weight) * elasticity,
        1 / math.sqrt(1 / sd**2 + 1 / own.cautious_sd**2),
        weight,
    )


def demand(problem: object) -> dict[str, Any]:
    """Work out the demand of one cut from its sales; see `docs/demand.md`.

    Parameters
    ----------
    problem : object
        The ``collop.demand/1`` object.

    Returns
    -------
    dict
        The ``collop.demand.plan/1`` object: price and quantity as decimal texts, the elasticity
        (above zero: how many percent fewer sell at a price one percent up) as a number.

    Raises
    ------
    ProblemError
        If the problem cannot be read.
    """
    weeks = read_weeks(problem)
    used = [sale for sale in weeks.sales if sale.quantity and not sale.sold_out]
    own = fit([float(sale.price) for sale in used], [float(sale.quantity) for sale in used])
    found = together(own, weeks.prior.elasticity, weeks.prior.sd)
    elasticity = min(MOST_ELASTICITY, max(LEAST_ELASTICITY, found.elasticity))
    basis = _basis(weeks, own, found.weight)
    return {
        "schema": PLAN_ID,
        **weeks.frame.json(),
        "elasticity": round(elasticity, 4),
        "sd": round(found.sd, 4),
        **_middle(weeks, used),
        "own_weight": round(found.weight, 4),
        "basis": basis,
        "points": len(used),
        "own": None
        if own is None
        else {
            "elasticity": round(own.elasticity, 4),
            "sd": round(own.sd, 4),
            "cautious_sd": round(own.cautious_sd, 4),
            "noise": round(own.noise, 4),
        },
        "prior": _prior_json(weeks.prior),
        "say": _say(elasticity, found.sd, basis, weeks.prior),
        "assumptions": list(_notes(weeks, used, own, found)),
    }


def _basis(weeks: Weeks, own: Fit | None, weight: float) -> str:
    if own is None:
        return "published"
    return "own" if own.points >= weeks.enough and weight >= OWN_WEIGHT else "shrunk"


def _middle(weeks: Weeks, used: Sequence[Sale]) -> dict[str, str | None]:
    """Return the geometric means of price and quantity: the line passes through both."""
    if not used:
        return {"price": None, "quantity": None}
    price, quantity = (
        math.exp(math.fsum(math.log(float(value)) for value in values) / len(used))
        for values in ([sale.price for sale in used], [sale.quantity for sale in used])
    )
    return {
        "price": weeks.frame.unit_money(Fraction(price)),
        "quantity": plain(Fraction(quantity), 3),
    }


def _say(elasticity: float, sd: float, basis: str, prior: Prior) -> str:
    where = {
        "own": "from the shop's own sales",
        "shrunk": "from the shop's own sales and published figures",
        "published": "from published figures alone",
    }[basis]
    if prior.status == "memory" and basis != "own":
        where += " (from memory)"
    return (
        f"A price 10 % up sells {100 * (1 - 1.1**-elasticity):.0f} % less, one 10 % down "
        f"{100 * (0.9**-elasticity - 1):.0f} % more; elasticity {elasticity:.2f}, give or take "
        f"{sd:.2f}, {where}."
    )


def _prior_json(prior: Prior) -> dict[str, Any]:
    return {
        "elasticity": prior.elasticity,
        "sd": prior.sd,
        "source": prior.source,
        "status": prior.status,
        "say": prior.say,
    }


def _notes(weeks: Weeks, used: Sequence[Sale], own: Fit | None, found: Together) -> Iterator[str]:
    yield (
        "Special offers, feast days, weather and the prices of other cuts are not told apart from "
        "the price; leave odd weeks out."
    )
    empty = sum(not sale.quantity for sale in weeks.sales)
    if empty:
        yield f"{_weeks(empty)} without a sale left out: they have no logarithm."
    ran_out = sum(sale.sold_out and bool(sale.quantity) for sale in weeks.sales)
    if ran_out:
        yield f"{_weeks(ran_out)} left out because the case ran empty: more would have sold."
    if own is None:
        why = (
            "one price only" if len(used) >= _LEAST_POINTS else f"fewer than {_LEAST_POINTS} weeks"
        )
        yield f"The own sales show {why}, so they say nothing on the elasticity."
    else:
        yield "The scatter of a week is taken as if four more weeks of 25 % had been seen (ours)."
        if own.elasticity <= 0:
            yield (
                "In the own sales more sold at higher prices: something else moved both, such as "
                "the season; do not lean on this figure."
            )
    if not LEAST_ELASTICITY <= found.elasticity <= MOST_ELASTICITY:
        yield (
            f"The figure came out at {found.elasticity:.2f} and was brought within "
            f"{LEAST_ELASTICITY} and {MOST_ELASTICITY:g}."
        )
    if weeks.prior.status == "memory":
        yield "The published figure is from memory, not checked."
    if weeks.prior.say:
        yield f"Published: {weeks.prior.say}."


def _weeks(count: int) -> str:
    return "1 week" if count == 1 else f"{count} weeks"
