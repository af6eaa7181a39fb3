"""How cost flows with weight: from what was paid at the door down to every lot. No database here.

The rules, each of them exact in fractions of a minor unit:

- A lot's cost is carried by all of it that was not lost. What went to the drip account leaves its
  cost on the rest of its lot; what was sold, binned or cut into other lots takes its share by
  weight with it; what the scale found brings none.
- A break carries its piece's cost and its labour over to what was cut. Parts that are no cuts are
  credited at the shop's worths, never at more than there is to carry. The rest falls on the cuts
  by their sales value at the split-off: weight times the board price at the start of the break.
- While a break is open, each part counts at what it weighs or is still expected to weigh by its
  style, and what is expected stays on the block.

References
----------
.. [1] Source J01 of the table of pricing sources, "Joint cost allocation, insurance settlement":
   a joint cost falls on the parts by their sales value at the split-off.
.. [2] Source J03, "Solutions 9-36, 9-38, 9-46 (relative sales value, constant gross margin,
   by-products)": what a by-product brings is taken off the joint cost.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

__all__ = [
    "Account", "Cost", "Cutting", "CuttingPart", "Door", "History", "Output", "flow", "parents_of",
    "split", "spread_cost",
]  # fmt: skip

_NOTHING = Fraction(0)


@dataclass(frozen=True, slots=True)
class Cost:
    """A cost in minor units and what it is made of; `shrink` is the part of `paid` that was lost.

    `credit` is below zero on cuts, for the by-products taken off them, and above zero on the
    by-products themselves: over all lots of an animal it sums to nothing.
    """

    invoice: Fraction = _NOTHING
    haulage: Fraction = _NOTHING
    labour: Fraction = _NOTHING
    credit: Fraction = _NOTHING
    shrink: Fraction = _NOTHING

    @property
    def paid(self) -> Fraction:
        """Return invoice and haulage."""
        return self.invoice + self.haulage

    @property
    def total(self) -> Fraction:
        """Return the whole cost."""
        return self.paid + self.labour + self.credit

    def times(self, share: Fraction) -> Cost:
        """Return a share of it."""
        return Cost(
            self.invoice * share, self.haulage * share, self.labour * share, self.credit * share,
            self.shrink * share,
        )  # fmt: skip

    def plus(self, other: Cost) -> Cost:
        """Return both together."""
        return Cost(
            self.invoice + other.invoice, self.haulage + other.haulage,
            self.labour + other.labour, self.credit + other.credit, self.shrink + other.shrink,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Door:
    """What was paid for a lot as it came in; None with `unknown` where nobody said."""

    cost: Cost | None
    unknown: str = ""


@dataclass(frozen=True, slots=True)
class CuttingPart:
    """One part of a style at a break: its share, what of it was weighed, its price per count."""

    name: str
    kind: str
    share: Fraction
    price: Fraction | None
    weighed: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Cutting:
    """A break of one piece. `labour` is in minor units; `notes` is what had to be assumed."""

    start: int
    labour: Fraction
    parts: tuple[CuttingPart, ...]
    notes: tuple[str, ...] = ()

    @property
    def lots(self) -> frozenset[str]:
        """Return the lots that were weighed at it."""
        return frozenset(lot for part in self.parts for lot in part.weighed)


@dataclass(frozen=True, slots=True)
class History:
    """What the ledger says of some lots and of everything they were cut from.

    `places` sums the entries of each lot by place, in counts; `links` what each lot gave to its
    children, net of what was taken back; `worths` is minor units per count by kind.
    """

    places: Mapping[str, Mapping[str, int]]
    links: Mapping[str, Mapping[str, int]]
    doors: Mapping[str, Door]
    cuttings: Mapping[str, Cutting] = field(default_factory=dict)
    worths: Mapping[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Account:
    """The cost of one lot by place; `lost` is that of a lot of which all was lost.

    `by_place` is empty and `unknown` says why where the cost is not known.
    """

    by_place: Mapping[str, Cost] = field(default_factory=dict)
    lost: Cost = field(default_factory=Cost)
    unknown: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Output:
    """What came from a break: kind, counts, and price per count if it is on the board."""

    kind: str
    count: Fraction
    price: Fraction | None = None


def _values(outputs: Sequence[Output]) -> list[Fraction]:
    """Return the sales value of each; one without a price is valued at the mean of the others."""
    priced = [one for one in outputs if one.price is not None]
    weight = sum((one.count for one in priced), _NOTHING)
    value = sum((one.count * one.price for one in priced if one.price is not None), _NOTHING)
    mean = value / weight if weight and value else Fraction(1)
    return [one.count * (mean if one.price is None else one.price) for one in outputs]


def _shares(values: Sequence[Fraction]) -> list[Fraction]:
    total = sum(values, _NOTHING)
    return [value / total if total else _NOTHING for value in values]


def split(
    pool: Fraction, outputs: Sequence[Output], worths: Mapping[str, Fraction]
) -> tuple[list[Fraction], list[Fraction]]:
    """Split a joint cost over what was cut.

    Parameters
    ----------
    pool : Fraction
        Joint cost in minor units, zero or more.
    outputs : sequence of Output
        What came from it.
    worths : mapping of str to Fraction
        Minor units per count of each kind but ``cut``; 0 where it is left out.

    Returns
    -------
    shares, credits : list of Fraction
        Each output carries its share of the pool less all credits, and its own credit. Shares sum
        to 1; without any cut they go by weight over the by-products.
    """
    is_cut = [one.kind == "cut" for one in outputs]
    credit = [
        _NOTHING if cut else one.count * worths.get(one.kind, _NOTHING)
        for one, cut in zip(outputs, is_cut, strict=True)
    ]
    whole = sum(credit, _NOTHING)
    if whole > pool:
        credit = [one * pool / whole for one in credit]
    cuts = [one for one, cut in zip(outputs, is_cut, strict=True) if cut]
    if not any(one.count for one in cuts):
        return _shares([one.count for one in outputs]), credit
    values = iter(_shares(_values(cuts)))
    return [next(values) if cut else _NOTHING for cut in is_cut], credit


def _expected(cutting: Cutting, left: int) -> list[Fraction]:
    """Return what is still to come of each part, within what is left on the block."""
    to_come = []
    for part in cutting.parts:
        usual = part.share * cutting.start - sum(part.weighed.values())
        to_come.append(max(usual, _NOTHING) if part.kind != "loss" else _NOTHING)
    total = sum(to_come, _NOTHING)
    if total <= left:
        return to_come
    return [one * left / total for one in to_come]


def _cut(
    cost: Cost, cutting: Cutting, left: int, worths: Mapping[str, Fraction]
) -> tuple[dict[str, Cost], Cost]:
    """Carry a piece's cost over to its parts; return theirs by lot, and what stays on the block."""
    names: list[str | None] = []
    outputs: list[Output] = []
    for part, to_come in zip(cutting.parts, _expected(cutting, left), strict=True):
        for lot, count in part.weighed.items():
            names.append(lot)
            outputs.append(Output(part.kind, Fraction(count), part.price))
        if to_come:
            names.append(None)
            outputs.append(Output(part.kind, to_come, part.price))
    shares, credits_ = split(cost.total, outputs, worths)
    whole = sum(credits_, _NOTHING)
    found: dict[str, Cost] = {}
    block = Cost()
    for name, share, credit in zip(names, shares, credits_, strict=True):
        one = cost.times(share).plus(Cost(credit=credit - share * whole))
        if name is None:
            block = block.plus(one)
        else:
            found[name] = found.get(name, Cost()).plus(one)
    return found, block


def _after_loss(cost: Cost, lost: int, kept: int) -> Cost:
    """Return the cost with the part of it that was paid for `lost` told as shrink."""
    if lost <= 0 or lost + kept <= 0:
        return cost
    more = (cost.paid - cost.shrink) * Fraction(lost, lost + kept)
    return Cost(cost.invoice, cost.haulage, cost.labour, cost.credit, cost.shrink + more)


def spread_cost(
    cost: Cost, places: Mapping[str, int], links: Mapping[str, int], cutting: Cutting | None,
    worths: Mapping[str, Fraction],
) -> tuple[Account, dict[str, Cost]]:  # fmt: skip
    """Spread a lot's cost over its places and the lots cut from it.

    Parameters
    ----------
    cost : Cost
        What came into the lot.
    places : mapping of str to int
        Its counts by place.
    links : mapping of str to int
        What it gave to each lot cut from it, in counts.
    cutting : Cutting, optional
        Its break; the labour comes on top of `cost`.
    worths : mapping of str to Fraction
        Minor units per count, by kind of by-product.
    """
    ends = {place: count for place, count in places.items() if place != "drip" and count > 0}
    given = {child: count for child, count in links.items() if count > 0}
    whole = sum(ends.values()) + sum(given.values())
    cost = _after_loss(cost, places.get("drip", 0), whole)
    if not whole:
        return Account(lost=cost), {}
    by_place: dict[str, Cost] = {}
    children: dict[str, Cost] = {}
    if cutting is not None:
        left = ends.pop("block", 0)
        weighed = {child: given.pop(child) for child in sorted(cutting.lots & set(given))}
        at_knife = left + sum(weighed.values())
        pool = cost.times(Fraction(at_knife, whole)).plus(Cost(labour=cutting.labour))
        children, block = _cut(pool, cutting, left, worths)
        if left or block.total:
            by_place["block"] = block
    for place, count in ends.items():
        by_place[place] = cost.times(Fraction(count, whole))
    for child, count in given.items():
        children[child] = cost.times(Fraction(count, whole))
    return Account(by_place), children


def parents_of(links: Mapping[str, Mapping[str, int]], lots: Iterable[str]) -> dict[str, set[str]]:
    """Return the lots that each of `lots` was cut from, by what each lot gave to its children."""
    found: dict[str, set[str]] = {lot: set() for lot in lots}
    for parent, children in links.items():
        for child, count in children.items():
            if child in found and count > 0:
                found[child].add(parent)
    return found


def flow(history: History) -> dict[str, Account]:
    """Return what every lot of a history cost, parents before children.

    Parameters
    ----------
    history : History
        Must hold every lot that its lots were cut from.

    Returns
    -------
    dict of str to Account
        Summed over all places and what was lost, they are what was paid and worked, exactly.
    """
    above = parents_of(history.links, history.places)
    try:
        order = list(TopologicalSorter(above).static_order())
    except CycleError:  # the ledger's check names it; no cost can be told of such lots
        return {lot: Account(unknown="It was cut from itself.") for lot in history.places}
    arrived: dict[str, Cost] = {}
    unknown: dict[str, str] = {}
    notes: dict[str, tuple[str, ...]] = {}
    found: dict[str, Account] = {}
    for lot in order:
        cutting = history.cuttings.get(lot)
        cost, why = _arrived(lot, above.get(lot, set()), history, arrived, unknown)
        said = (*notes.get(lot, ()), *(cutting.notes if cutting else ()))
        links = history.links.get(lot, {})
        children: dict[str, Cost] = {}
        if why:
            unknown[lot] = why
            found[lot] = Account(unknown=why)
        else:
            account, children = spread_cost(
                cost, history.places.get(lot, {}), links, cutting, history.worths
            )
            found[lot] = Account(account.by_place, account.lost, notes=said)
        for child, one in children.items():
            arrived[child] = arrived.get(child, Cost()).plus(one)
        for child in links:
            notes[child] = tuple(dict.fromkeys((*notes.get(child, ()), *said)))
    return found


def _arrived(
    lot: str, parents: set[str], history: History, arrived: Mapping[str, Cost],
    unknown: Mapping[str, str],
) -> tuple[Cost, str]:  # fmt: skip
    """Return what came into a lot, or why it is not known."""
    for parent in sorted(parents):
        if parent in unknown:
            return Cost(), unknown[parent]
    cost = arrived.get(lot, Cost())
    door = history.doors.get(lot)
    if door is not None and door.cost is None:
        return Cost(), door.unknown
    if door is not None and door.cost is not None:
        return cost.plus(door.cost), ""
    if not parents:
        return Cost(), "Cost not known: it came without a delivery."
    return cost, ""


def worth_per_count(worths: Mapping[str, Decimal], scale: int, count: int) -> dict[str, Fraction]:
    """Return worths per legal unit as minor units per count.

    Parameters
    ----------
    worths : mapping of str to Decimal
        Money per legal unit by kind.
    scale : int
        Minor units of one unit of money.
    count : int
        Counts of one legal unit.
    """
    return {kind: Fraction(worth) * scale / count for kind, worth in worths.items()}
