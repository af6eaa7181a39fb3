"""Whose cost lies in which lot: the flow of cost once more, told apart by animal.

Cost flows as `collop.shop.cost_flow` tells; here each cent keeps the name of the animal it was paid
or worked for, also in mince and links that are mixed of several. No database here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

from collop.shop.cost_flow import Account, Cost, Cutting, History, parents_of, spread_cost

__all__ = ["OriginCosts", "costs_by_origin"]

ByOrigin = dict[str, Cost]


@dataclass(frozen=True, slots=True)
class OriginCosts:
    """Costs in minor units, exact, by origin.

    Parameters
    ----------
    places : mapping of str to mapping of str to Cost
        By origin, then by place; what was lost whole is at the place ``lost``. For each origin
        they sum to what was paid and worked for it.
    labour : mapping of str to Fraction
        What was worked at its breaks.
    """

    places: Mapping[str, Mapping[str, Cost]] = field(default_factory=dict)
    labour: Mapping[str, Fraction] = field(default_factory=dict)


def costs_by_origin(history: History, origins: Mapping[str, str]) -> OriginCosts:
    """Return what each origin's cost lies in.

    Parameters
    ----------
    history : History
        Must hold every lot that its lots were cut from, and all that was cut of the origins.
    origins : mapping of str to str
        Name of the origin of each lot that came through the door. A door without a price brings
        nothing; lots that came without a delivery bring nothing either.

    Returns
    -------
    OriginCosts
        Empty if the lots were cut from each other in a circle.
    """
    try:
        above = parents_of(history.links, history.places)
        order = list(TopologicalSorter(above).static_order())
    except CycleError:  # the ledger's check names it; no cost can be told of such lots
        return OriginCosts()
    arrived: dict[str, ByOrigin] = defaultdict(dict)
    places: dict[str, dict[str, Cost]] = defaultdict(dict)
    labour: dict[str, Fraction] = defaultdict(Fraction)
    for lot in order:
        came = dict(arrived.pop(lot, {}))
        if lot in origins:
            door = history.doors.get(lot)
            paid = door.cost if door is not None and door.cost is not None else Cost()
            _add(came, origins[lot], paid)
        cutting = history.cuttings.get(lot)
        for origin, worked in _worked(came, cutting).items():
            labour[origin] += worked
        for origin, account, children in _spread(lot, came, history):
            for place, cost in account.by_place.items():
                _add(places[origin], place, cost)
            _add(places[origin], "lost", account.lost)
            for child, cost in children.items():
                _add(arrived[child], origin, cost)
    return OriginCosts(places, labour)


def _add(into: dict[str, Cost], name: str, cost: Cost) -> None:
    into[name] = into[name].plus(cost) if name in into else cost


def _parts(came: ByOrigin) -> dict[str, Fraction]:
    """Return the share of each origin in a lot's cost; of one that cost nothing, even shares."""
    whole = sum((cost.total for cost in came.values()), Fraction(0))
    if not whole:
        return {origin: Fraction(1, len(came)) for origin in came}
    return {origin: cost.total / whole for origin, cost in came.items()}


def _worked(came: ByOrigin, cutting: Cutting | None) -> dict[str, Fraction]:
    if cutting is None:
        return {}
    return {origin: share * cutting.labour for origin, share in _parts(came).items()}


def _spread(
    lot: str, came: ByOrigin, history: History
) -> list[tuple[str, Account, dict[str, Cost]]]:
    """Spread each origin's cost over a lot's places and children.

    But for a break all of it is in proportion. At a break credits are, of the whole; it is of one
    origin in practice, and then its own.
    """
    at, links = history.places.get(lot, {}), history.links.get(lot, {})
    cutting = history.cuttings.get(lot)
    if cutting is None:
        return [
            (origin, *spread_cost(cost, at, links, None, history.worths))
            for origin, cost in came.items()
        ]
    whole = Cost()
    for cost in came.values():
        whole = whole.plus(cost)
    account, children = spread_cost(whole, at, links, cutting, history.worths)
    found = []
    for origin, share in _parts(came).items():
        given = {child: one.times(share) for child, one in children.items()}
        found.append((origin, _share(account, share), given))
    return found


def _share(account: Account, share: Fraction) -> Account:
    by_place = {place: cost.times(share) for place, cost in account.by_place.items()}
    return Account(by_place, account.lost.times(share))
