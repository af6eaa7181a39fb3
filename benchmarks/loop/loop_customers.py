"""The same customers for every way of running the shop: drawn once from a seed, before any trade.

Each draw that a choice may need is made here, so that a customer is the same person whatever the
shop did before (common random numbers).
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from loop_shop import CUTS, OPEN_DAYS, PACE

__all__ = ["Ask", "Order", "WalkIn", "customers"]

WALK_INS_A_WEEK = 72
#: Party asks: so many each day, and up to so many more, likelier near the weekend.
LEAST_ASKS, MORE_ASKS = 4, 4
#: With this chance a walk-in whose cut is not there takes another of its group.
COUSIN_CHANCE = 0.5
#: A little less than wanted is taken too.
ENOUGH = 0.6
_BUSY = (0.2, 0.3, 0.4, 0.5, 0.8, 0.9, 0.0)
_LAGS, _LAG_CHANCES = (0, 1, 2, 3), (0.45, 0.30, 0.15, 0.10)


@dataclass(frozen=True, slots=True)
class WalkIn:
    """Somebody at the glass: cuts in the order wanted, how much of each [0.001 lb]."""

    day: int
    hour: float
    wants: tuple[str, ...]
    mlb: tuple[int, ...]
    takes_cousin: bool


@dataclass(frozen=True, slots=True)
class Ask:
    """A party: eaters, money, day of the meal, and how easily it follows the butcher's word.

    Parameters
    ----------
    dearer, plainer : float
        The proposal is taken if it costs no more than this share over the best value, and eats no
        worse than this much below it.
    """

    day: int
    hour: float
    adults: int
    children: int
    avoids: str | None
    cents_a_head: int
    style: str
    lag: int
    dearer: float
    plainer: float


@dataclass(frozen=True, slots=True)
class Order:
    """A booking by telephone: known from `day`, collected on the morning of `due`."""

    id: str
    day: int
    due: int
    lines: tuple[tuple[str, int], ...]


def _wanted(cut: str, share: float) -> int:
    """Return how much of a cut somebody wants who wants so much between the least and the most."""
    least, most = CUTS[cut].takes
    return 10 * round(100 * (least + share * (most - least)))


def _walk_ins(pick: random.Random, day: int) -> list[WalkIn]:
    mean = WALK_INS_A_WEEK * PACE[day % 7]
    # Poisson by the times between arrivals
    count, waited = 0, pick.expovariate(1.0)
    while waited < mean:
        count += 1
        waited += pick.expovariate(1.0)
    found = []
    for _ in range(count):
        liking = {
            cut: math.log(one.appeal) - math.log(-math.log(pick.random()))
            for cut, one in CUTS.items()
        }
        share = pick.random()
        wants = tuple(sorted(CUTS, key=liking.__getitem__, reverse=True))
        mlb = tuple(_wanted(cut, share) for cut in wants)
        found.append(WalkIn(day, pick.random(), wants, mlb, pick.random() < COUSIN_CHANCE))
    return found


def _asks(pick: random.Random, day: int) -> list[Ask]:
    more = sum(pick.random() < _BUSY[day % 7] for _ in range(MORE_ASKS))
    found = []
    for _ in range(LEAST_ASKS + more):
        heads = pick.choice((4, 4, 5, 6, 6, 7, 8, 8, 10, 12, 14))
        children = pick.choice((0, 0, 0, 1, 2)) if heads > 4 else 0
        found.append(Ask(
            day, pick.random(), heads - children, children,
            pick.choices((None, "species:pork", "species:lamb"), (0.78, 0.14, 0.08))[0],
            50 * round(pick.uniform(9, 22)), pick.choice(("plate", "plate", "shared", "stew")),
            pick.choices(_LAGS, _LAG_CHANCES)[0],
            pick.choice((0.0, 0.0, 0.05, 0.10)), pick.choice((0.02, 0.05, 0.10)),
        ))  # fmt: skip
    return found


def _orders(pick: random.Random, week: int) -> list[Order]:
    found = []
    for at in range(4):
        known = 7 * week + pick.choice((0, 0, 1, 2))
        due = min(7 * week + 5, known + pick.choice((2, 3, 4)))
        cut = pick.choices(("L1", "L8", "P1", "P2", "P8", "L4", "P6"), (3, 2, 2, 2, 3, 1, 1))[0]
        most = {"L1": 14, "L4": 4, "P2": 7}.get(cut, 8)
        mlb = 100 * round(10 * pick.uniform(most / 2, most))
        found.append(Order(f"W{week + 1}-{at + 1}", known, due, ((cut, mlb),)))
    return found


def customers(seed: int) -> tuple[tuple[WalkIn | Ask, ...], tuple[Order, ...]]:
    """Return all who come in two weeks, in the order in which they come, and what is booked.

    Parameters
    ----------
    seed : int
        The same seed gives the same people.
    """
    coming: list[WalkIn | Ask] = []
    for day in OPEN_DAYS:
        pick = random.Random(f"customers {seed} {day}")
        coming += _walk_ins(pick, day)
        coming += _asks(pick, day)
    coming.sort(key=lambda one: (one.day, one.hour))
    orders = [
        order for week in (0, 1) for order in _orders(random.Random(f"orders {seed} {week}"), week)
    ]
    return tuple(coming), tuple(orders)
