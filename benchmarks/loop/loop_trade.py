"""Two weeks of one shop, run in one of six ways."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from loop_counter import serve_ask, serve_walk_in
from loop_customers import Ask, Order, WalkIn, customers
from loop_morning import DAY_GAP, Asked, Usual, by_plan, by_rule, left_takes, locks_of, plan_of
from loop_morning import plan_problem as problem_of
from loop_shop import CUTS, ENDS, LEFT_SHARE, OPEN_DAYS, Animal, deliveries
from loop_store import Store, cents

__all__ = ["WAYS", "Way", "pilot", "trade", "usual_figures"]

Json = dict[str, Any]
USUAL = Path(__file__).with_name("usual.json")


@dataclass(frozen=True, slots=True)
class Way:
    """Whether the plan decides the cutting, whether the counter knows its worths, which rule."""

    plans: bool
    knows: bool
    rule: str = "usual"


WAYS = {
    "loop": Way(plans=True, knows=True),
    "plan alone": Way(plans=True, knows=False),
    "counter alone": Way(plans=False, knows=True),
    "neither": Way(plans=False, knows=False),
    "varied, counter": Way(plans=False, knows=True, rule="varied"),
    "varied, neither": Way(plans=False, knows=False, rule="varied"),
}


def usual_figures() -> Usual:
    """Return what is asked for on each day of the week, as the pilot kept it [0.001 lb]."""
    found: Usual = json.loads(USUAL.read_text(encoding="utf-8"))["usual_mlb"]
    return found


class _Shop:
    """A shop that trades day by day."""

    def __init__(self, seed: int, way: Way, usual: Usual) -> None:
        self.way, self.usual = way, usual
        self.store = Store(seed)
        self.coming: tuple[Animal, ...] = deliveries(seed, way.rule)
        people, orders = customers(seed)
        self.people: tuple[WalkIn | Ask, ...] = people
        self.orders: list[Order] = list(orders)
        self.plan: Json | None = None

    def _problem(self, day: int, asked: Asked) -> Json:
        return problem_of(self.store, day, self.orders, self.coming, self.usual,
                          asked=asked)  # fmt: skip

    def _known(self, day: int) -> list[Order]:
        return [one for one in self.orders if one.day <= day]

    def morning(self, day: int) -> None:
        """Take in what comes, cut, set aside, hand over."""
        for animal in self.coming:
            if animal.comes == day:
                self.store.receive(animal)
        self.store.hold(self._known(day))
        if self.way.plans:
            self.plan = plan_of(self._problem(day, Asked()))
            by_plan(self.store, day, self.plan)
        else:
            by_rule(self.store, day, self._known(day))
        self.store.hold(self._known(day))
        for order in [one for one in self.orders if one.due == day]:
            self.store.hand_over(order)
            self.orders.remove(order)

    def worths(self, day: int, hour: float) -> Json | None:
        """Return a plan of this moment with all cutting settled: what a pound is worth now."""
        if not self.way.knows:
            return None
        locks = () if self.plan is None else locks_of(self.store, self.plan, 0)
        asked = Asked(today=1 - hour, locks=locks, ruled=not self.way.plans, gap=DAY_GAP)
        return plan_of(self._problem(day, asked))

    def serve(self, day: int) -> None:
        """Serve who comes that day."""
        for one in self.people:
            if one.day != day:
                continue
            if isinstance(one, WalkIn):
                serve_walk_in(self.store, one)
            else:
                serve_ask(self.store, one, self.usual, self.worths(day, one.hour))

    def evening(self, day: int) -> None:
        """Close; on a Saturday look what is left of the ends."""
        store = self.store
        store.close(day)
        if day % 7 == 5:
            there = sum(lot.mlb for cut in ENDS for lot in store.stock[cut])
            there += sum(lot.mlb for lots in store.trim.values() for lot in lots)
            store.ends_left.append(there)
        store.check()


def trade(seed: int, way: str, usual: Usual, days: tuple[int, ...] = OPEN_DAYS) -> Json:
    """Return what two weeks come to.

    Parameters
    ----------
    seed : int
        Of animals and customers: the same for every way.
    way : str
        One of `WAYS`.
    usual : mapping
        What is asked for on each day of the week.
    days : tuple of int
        Fewer days, for a test.
    """
    shop = _Shop(seed, WAYS[way], usual)
    last = days[0]
    for day in days:
        shop.store.hang(day - last)
        last = day
        shop.morning(day)
        shop.serve(day)
        shop.evening(day)
    return _told(shop, seed, way, last)


def _told(shop: _Shop, seed: int, way: str, last: int) -> Json:
    store = shop.store
    left = {cut: sum(lot.mlb for lot in store.stock[cut]) for cut in CUTS}
    takes = {cut: round(left_takes(cut, last, shop.usual)) for cut in left}
    worth_left = sum(
        cents(min(mlb, takes[cut]), round(CUTS[cut].cents * LEFT_SHARE))
        for cut, mlb in left.items()
    )
    hanging = sum(piece.cost for piece in store.rail.values())
    paid = sum(one.cost for one in shop.coming if one.comes <= last)
    takings = sum(store.money.values())
    return {
        "seed": seed, "way": way, "days": last + 1,
        "contribution": takings - store.labour + worth_left + hanging,
        "contribution_left_at_nothing": takings - store.labour + hanging,
        "takings": takings, "money": dict(store.money), "labour": store.labour,
        "worth_left": worth_left, "animals": paid, "where_mlb": dict(store.where),
        "left_mlb": sum(left.values()), "left_by_cut_mlb": left,
        "trim_left_mlb": sum(lot.mlb for lots in store.trim.values() for lot in lots),
        "hanging_mlb": sum(piece.mlb for piece in store.rail.values()),
        "held_mlb": sum(store.held.values()),
        "binned_mlb": store.where["binned"], "binned_by_cut_mlb": dict(store.binned),
        "sold_by_cut_mlb": dict(store.sold), "ends_left_mlb": list(store.ends_left),
        "lost": dict(store.lost), "said": dict(store.said),
    }  # fmt: skip


def pilot(seeds: range) -> dict[str, list[float]]:
    """Return what is asked for on each day of the week in a shop that knows nothing [0.001 lb].

    Walk-ins count by the cut they asked for first, whether it was there or not (the shop keeps a
    note of what was asked for in vain); parties by what they took; bookings not at all, since the
    plan counts them beside. Each cut's week is spread over the days as all cuts together are.
    """
    sums: dict[str, list[float]] = {cut: [0.0] * 7 for cut in CUTS}
    for seed in seeds:
        shop = _Shop(seed, WAYS["neither"], sums)
        last = 0
        for day in OPEN_DAYS:
            shop.store.hang(day - last)
            last = day
            shop.morning(day)
            before: dict[str, int] = defaultdict(int)
            for one in shop.people:
                if one.day != day:
                    continue
                if isinstance(one, WalkIn):
                    sums[one.wants[0]][day % 7] += one.mlb[0]
                    serve_walk_in(shop.store, one)
                    continue
                before = defaultdict(int, shop.store.sold)
                serve_ask(shop.store, one, sums, None)
                for cut, mlb in shop.store.sold.items():
                    sums[cut][day % 7] += mlb - before[cut]
            shop.evening(day)
    weeks = 2 * len(seeds)
    by_day = [sum(days[at] for days in sums.values()) for at in range(7)]
    return {
        cut: [round(sum(days) * share / sum(by_day) / weeks, 1) for share in by_day]
        for cut, days in sums.items()
    }
