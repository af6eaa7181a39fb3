"""What orders left over tells of the appetites of a shop's own eaters: slowly, and shown.

The tables say how many meals a party needs.  Of each order the shop was told about, what was
eaten over what was needed is one look at the factor f between its eaters and the tables:

    log f ~ N(0, prior_sd^2)          log(eaten / needed) ~ N(log f, order_sd^2)

An order that ran out, with nobody saying by how much, tells only that at least all of it would
have been eaten.  Without such orders the answer is the normal mean with a normal prior; with them
it is summed over both flanks of the curve of log f.  The figures of the prior are starting figures
of ours.

References
----------
.. [1] Normal data with a normal prior, and data cut off at a bound: standard, quoted from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

from collop.wire import Reader

__all__ = ["LEAST_ORDERS", "ORDER_SD", "PLAN_ID", "PRIOR_SD", "SCHEMA_ID", "appetite"]

SCHEMA_ID = "collop.appetite/1"
PLAN_ID = "collop.appetite.plan/1"
#: How far a shop's eaters are thought to be from the tables: a figure of ours, no published source.
PRIOR_SD = 0.08
#: How far one party is from the next: a figure of ours, no published source.
ORDER_SD = 0.25
#: Fewer orders than this change nothing at the counter: a figure of ours.
LEAST_ORDERS = 5
MOST_ORDERS = 2000
_BOUNDS = (0.85, 1.15)
# steps on each flank of the curve, how far down in logs it is followed, and how its top is found
_STEPS = 400
_DROP = 36.0
_HALVINGS = 50
_TAIL = NormalDist().inv_cdf(0.95)
_KEYS = ("schema", "orders", "prior_sd", "order_sd", "bounds", "least_orders")
_ORDER_KEYS = ("label", "needed_meals", "supplied_meals", "left_over", "ran_out")


@dataclass(frozen=True, slots=True)
class Order:
    """One order: meals needed by the tables, meals handed over, and the share of them left.

    `left_over` below zero is what was missing, as a share of what was there; None with `ran_out`
    if nobody said.
    """

    label: str
    needed: float
    supplied: float
    left_over: float | None
    ran_out: bool

    @property
    def ratio(self) -> float:
        """Return what was eaten, or would have been, over what was needed; a floor if unknown."""
        return self.supplied * (1 - (self.left_over or 0.0)) / self.needed

    @property
    def is_floor(self) -> bool:
        """Tell whether it ran out and nobody said by how much."""
        return self.ran_out and self.left_over is None


@dataclass(frozen=True, slots=True)
class _Asked:
    orders: tuple[Order, ...]
    prior_sd: float
    order_sd: float
    bounds: tuple[float, float]
    least_orders: int


def appetite(problem: object) -> dict[str, Any]:
    """Learn the appetite of a shop's eaters from what its orders left over.

    Parameters
    ----------
    problem : object
        The ``collop.appetite/1`` object; see `docs/learning.md`.

    Returns
    -------
    dict
        The ``collop.appetite.plan/1`` object: `factor` is the learned one with its 90 % band,
        `used` what the counter plans with, `each` what every order said.

    Raises
    ------
    ProblemError
        If it cannot be read.
    """
    asked = _read(problem)
    mean, sd = _posterior(asked.orders, asked.prior_sd, asked.order_sd)
    factor = math.exp(mean)
    used = _used(asked, factor)
    low, high = math.exp(mean - _TAIL * sd), math.exp(mean + _TAIL * sd)
    return {
        "schema": PLAN_ID,
        "orders": len(asked.orders),
        "prior_worth_orders": round((asked.order_sd / asked.prior_sd) ** 2, 1),
        "factor": round(factor, 4),
        "sd_log": round(sd, 4),
        "low": round(low, 4),
        "high": round(high, 4),
        "used": used,
        "each": [
            {"label": one.label, "ratio": round(one.ratio, 4), "at_least": one.is_floor}
            for one in asked.orders
        ],
        "say": _say(asked, factor, (low, high), used),
    }


def _used(asked: _Asked, factor: float) -> float:
    """Return the factor the counter plans with: none from few orders, never out of its bounds."""
    if len(asked.orders) < asked.least_orders:
        return 1.0
    return round(min(max(factor, asked.bounds[0]), asked.bounds[1]), 2)


def _posterior(orders: Sequence[Order], prior_sd: float, order_sd: float) -> tuple[float, float]:
    """Return mean and standard deviation of log f."""
    seen = [math.log(one.ratio) for one in orders if not one.is_floor]
    floors = [math.log(one.ratio) for one in orders if one.is_floor]
    weight = 1 / prior_sd**2 + len(seen) / order_sd**2
    mean, sd = sum(seen) / order_sd**2 / weight, 1 / math.sqrt(weight)
    return (mean, sd) if not floors else _with_floors(mean, sd, floors, order_sd)


def _with_floors(
    mean: float, sd: float, floors: Sequence[float], order_sd: float
) -> tuple[float, float]:
    """Return mean and sd of a normal times the chance that each order reached its floor."""

    def height(x: float) -> float:
        tails = math.fsum(_log_tail((floor - x) / order_sd) for floor in floors)
        return -(((x - mean) / sd) ** 2) / 2 + tails

    top = _top(height, mean, sd)
    most = height(top)
    points, weights = [], []
    for way in (-1.0, 1.0):
        # one look that is a floor can make one flank steep and leave the other wide
        step = way * _flank(height, top, way * sd, most) / _STEPS
        for n in range(_STEPS + 1):
            x = top + n * step
            points.append(x)
            # Simpson's rule on each flank
            share = 1.0 if n in {0, _STEPS} else 4.0 if n % 2 else 2.0
            weights.append(abs(step) * share * math.exp(height(x) - most))
    total = math.fsum(weights)
    found = math.fsum(w * x for w, x in zip(weights, points, strict=True)) / total
    spread = math.fsum(w * (x - found) ** 2 for w, x in zip(weights, points, strict=True)) / total
    return found, math.sqrt(spread)


def _top(height: Callable[[float], float], mean: float, sd: float) -> float:
    """Return where a curve with one top is highest; floors only pull up, so not below `mean`."""
    width = sd
    while height(mean + 2 * width) > height(mean + width):
        width *= 2
    low, high = mean, mean + 2 * width
    for _ in range(_HALVINGS):
        third = (high - low) / 3
        if height(low + third) < height(high - third):
            low += third
        else:
            high -= third
    return (low + high) / 2


def _flank(height: Callable[[float], float], top: float, sd: float, most: float) -> float:
    """Return how far from its top, on the side of `sd`, a curve has fallen to nothing.

    It falls at least as fast as the prior alone: by `_DROP` within the root of twice that many sd.
    """
    near, far = 0.0, math.sqrt(2 * _DROP)
    for _ in range(_HALVINGS // 2):
        middle = (near + far) / 2
        near, far = (near, middle) if height(top + middle * sd) < most - _DROP else (middle, far)
    return far * abs(sd)


def _log_tail(z: float) -> float:
    """Return the log of the chance of more than `z` standard deviations."""
    chance = math.erfc(z / math.sqrt(2)) / 2
    # far out the tail is phi(z) / z (standard, quoted from memory)
    return math.log(chance) if chance > 0 else -z * z / 2 - math.log(z * math.sqrt(2 * math.pi))


def _say(asked: _Asked, factor: float, band: tuple[float, float], used: float) -> str:
    count = len(asked.orders)
    if not count:
        return "Nobody told yet how an order ate: portions are those of the tables."
    few = "1 order" if count == 1 else f"{count} orders"
    percent = round(abs(factor - 1) * 100)
    way = "as much as" if not percent else f"{percent} % {'more' if factor > 1 else 'less'} than"
    low, high = (round((edge - 1) * 100) for edge in band)
    told = f"From {few}: eaters here eat about {way} the tables say ({low:+d} to {high:+d} %)."
    if count < asked.least_orders:
        return f"{told} Portions change from {asked.least_orders} orders on."
    if used == 1:
        return f"{told} Portions stay."
    return f"{told} Portions are planned at {used:.2f} of the tables."


def _read(problem: object) -> _Asked:
    top = Reader(problem, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    if len(top.items("orders")) > MOST_ORDERS:
        raise top.fail("orders", f"has more than {MOST_ORDERS} orders; leave the oldest out.")
    bounds = _BOUNDS
    if top.has("bounds"):
        edges = Reader(top.value["bounds"], "$.bounds", ("low", "high"))
        bounds = (edges.number("low", 0.5, 1.0), edges.number("high", 1.0, 2.0))
    return _Asked(
        orders=tuple(_orders(top)),
        prior_sd=top.number("prior_sd", 0.001, 1.0, PRIOR_SD),
        order_sd=top.number("order_sd", 0.01, 2.0, ORDER_SD),
        bounds=bounds,
        least_orders=top.whole("least_orders", 1, 1000, LEAST_ORDERS),
    )


def _orders(top: Reader) -> Iterator[Order]:
    for index, (path, value) in enumerate(top.each("orders"), start=1):
        row = Reader(value, path, _ORDER_KEYS)
        ran_out = row.flag("ran_out", default=False)
        left = row.number("left_over", -2.0, 0.95) if row.has("left_over") else None
        if left is None and not ran_out:
            raise row.fail("left_over", "is missing; write the share left, 0 for nothing.")
        if left is not None and left > 0 and ran_out:
            raise row.fail("left_over", "says food was left, and ran_out says it ran out.")
        yield Order(
            label=row.text("label", None) or f"order {index}",
            needed=row.number("needed_meals", 0.01, 100_000),
            supplied=row.number("supplied_meals", 0.01, 100_000),
            left_over=left,
            ran_out=ran_out,
        )
