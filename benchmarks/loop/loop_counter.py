"""The counter: walk-ins take what they want or its cousin, parties take a spread."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

from loop_customers import ENOUGH, Ask, WalkIn
from loop_morning import FIRST, Usual
from loop_shop import CUTS
from loop_store import Store

from collop.spread import answer

__all__ = ["serve_ask", "serve_walk_in", "worth_elsewhere"]

Json = dict[str, Any]
_LEAVES = ("booked", "sold", "ground", "spoilt", "on_hand")
_NEED = {"plate": {"plate": 7}, "shared": {"plate": 7, "shared": 6}, "stew": {"stew": 6, "wrap": 5}}


def serve_walk_in(store: Store, one: WalkIn) -> None:
    """Sell the first cut wanted, else perhaps the next of its group, else nothing."""
    first = one.wants[0]
    wishes = [(first, one.mlb[0])]
    if one.takes_cousin:
        wishes += [(cut, mlb) for cut, mlb in zip(one.wants[1:], one.mlb[1:], strict=True)
                   if CUTS[cut].group == CUTS[first].group][:1]  # fmt: skip
    store.said["walk-ins"] += 1
    for cut, mlb in wishes:
        there = store.free(store.stock[cut], one.day)
        if there >= ENOUGH * mlb:
            store.sell(cut, min(mlb, there), one.day, "walk-ins")
            return
    store.lost["walk-ins"] += 1
    store.lost["walk-ins_mlb"] += one.mlb[0]


def _offers(store: Store, one: Ask, usual: Usual, worths: Mapping[str, Decimal] | None
            ) -> list[Json]:  # fmt: skip
    use = one.day + one.lag
    found = []
    for cut, about in CUTS.items():
        lots = [lot for lot in store.stock[cut] if lot.last >= use]
        free = sum(lot.mlb for lot in lots) // 10
        if not free:
            continue
        row: Json = {
            "id": cut, "name": about.name, "species": about.species, "contains": [],
            "casing": None, "price_per_lb": f"{Decimal(about.cents) / 100:.2f}",
            "free_lb": f"{Decimal(free) / 100:.2f}", "boneless_fraction": about.boneless,
            "minutes": [20, 30], "method": "oven", "styles": list(about.styles),
            "slots": list(about.slots), "eating": about.styles, "neighbour": about.neighbour,
            "days_left": min(lot.last for lot in lots) - one.day,
        }  # fmt: skip
        if worths is not None:
            pace = sum(usual[cut]) / 6
            row["cover_days"] = round(10 * free / pace, 2)
            row["worth_per_lb"] = f"{max(Decimal('0.01'), worths[cut]):f}"
        found.append(row)
    return found


def _problem(store: Store, one: Ask, usual: Usual, worths: Mapping[str, Decimal] | None) -> Json:
    avoids = [] if one.avoids is None else [one.avoids]
    groups: list[Json] = [
        {"name": "adults", "count": one.adults, "kind": "adult", "avoids": avoids}
    ]
    if one.children:
        groups.append({"name": "children", "count": one.children, "kind": "child",
                       "avoids": avoids})  # fmt: skip
    hour = 8 + int(9 * one.hour)
    return {
        "schema": "collop.spread/1", "currency": "USD", "groups": groups,
        "need_oz": _NEED[one.style], "fire": None,
        "budget_per_head": f"{Decimal(one.cents_a_head) / 100:.2f}",
        "rules": {"help_animal": worths is not None},
        "now": f"{FIRST + timedelta(one.day)}T{hour:02}:00",
        "use_at": f"{FIRST + timedelta(one.day + one.lag)}T19:00",
        "offers": _offers(store, one, usual, worths), "want": 1 if worths is None else 5,
    }  # fmt: skip


def worth_elsewhere(cut: Json, at: int) -> Decimal:
    """Return what a pound of a cut that leaves on a day would have brought otherwise.

    As the shop's own counter reads a plan (see docs/loop.md): of the last day up to then on which
    there is any; if there is none, what one more is worth.
    """
    for day in range(at, -1, -1):
        if any(Decimal(cut["days"][day][name]) for name in _LEAVES):
            return Decimal(cut["parting"][day])
    return Decimal(cut["worth"][at])


def worths_by_cut(plan: Json, at: int) -> dict[str, Decimal]:
    """Return `worth_elsewhere` of each cut on a day of the plan."""
    last = len(plan["days"]) - 1
    return {cut["id"]: worth_elsewhere(cut, min(at, last)) for cut in plan["cuts"]}


def serve_ask(store: Store, one: Ask, usual: Usual, plan: Json | None) -> None:
    """Sell a spread: what helps the animal if the party follows, else the best value.

    It follows if the proposal costs hardly more than the best value and eats hardly worse, by its
    own measure.

    Parameters
    ----------
    plan : dict or None
        The plan whose worths the counter knows; None if it knows none.
    """
    worths = None if plan is None else worths_by_cut(plan, one.lag)
    problem = _problem(store, one, usual, worths)
    store.said["asks"] += 1
    found = answer(problem)["spreads"] if problem["offers"] else []
    if not found:
        store.lost["asks"] += 1
        return
    taken = found[0]
    for other in found[1:]:
        if other["aim"] == "helps-the-animal":
            dear = float(other["total"]) <= float(taken["total"]) * (1 + one.dearer)
            if dear and other["eating"] >= taken["eating"] - one.plainer:
                taken = other
                store.said["helps taken"] += 1
    for line in taken["lines"]:
        store.sell(line["id"], round(1000 * float(line["weight_lb"])), one.day + one.lag, "asks")
