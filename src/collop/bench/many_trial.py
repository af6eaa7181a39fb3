"""One van tried: put into the problems of its two shops, and judged by the plans that come back."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from collop.bench.many_reading import Shop
from collop.bench.transfers import Link, Load, Use, fits
from collop.measures import decimal_of

__all__ = ["Standing", "Trip", "carries", "standing_of", "with_loads"]

Json = dict[str, Any]
_CRUMB = Fraction(1, 1000)
#: A van that brings this much of what was hoped goes as it is; one that brings less is looked into.
_MOST_OF = Fraction(1, 2)
_NONE = Fraction(0)
#: Price of what leaves: a booking has one, and this is under a cent for any van.
_NEXT_TO_NOTHING = "0.000001"


@dataclass(frozen=True, slots=True)
class Standing:
    """How a shop stands.

    Parameters
    ----------
    plan, first : dict
        Its plan now, and by itself.
    money, short : Fraction
        Contribution, and what is short at its price.
    """

    plan: Json
    first: Json
    money: Fraction
    short: Fraction


@dataclass(frozen=True, slots=True)
class Trip:
    """What goes from one shop to another, on one day or several.

    `gain` is what it brings with its cost taken off; None if it was not planned.
    """

    at: int
    link: Link
    loads: tuple[Load, ...]
    gain: Fraction | None = None

    @staticmethod
    def of(loads: Sequence[Load], links: Sequence[Link]) -> list[Trip]:
        """Return the loads by van."""
        return [
            Trip(at, links[at], tuple(load for load in loads if load.link == at))
            for at in sorted({load.link for load in loads})
        ]

    @property
    def key(self) -> tuple[int, int, str]:
        """Return what tells it from others."""
        return self.at, self.loads[0].leaves, self.loads[0].cut

    @property
    def shops(self) -> tuple[int, int]:
        """Return the places of the two shops."""
        return self.link.source, self.link.target

    @property
    def hoped(self) -> float:
        """Return what the worths say it would bring."""
        return sum(load.hoped for load in self.loads)

    @property
    def urgency(self) -> float:
        """Return the same with what is short counted many times."""
        return sum(load.urgency for load in self.loads)

    @property
    def weight(self) -> Fraction:
        """Return all it carries."""
        return sum((load.weight for load in self.loads), Fraction(0))

    @property
    def cost(self) -> Fraction:
        """Return what the van costs."""
        return self.weight * self.link.cost

    def arrives(self, load: Load) -> int:
        """Return the day from which a load may be sold."""
        return load.leaves + self.link.days

    def parts(self) -> list[Trip]:
        """Return it day by day or, of one day, cut by cut; itself alone if there is one part."""
        days = sorted({load.leaves for load in self.loads})
        cuts = sorted({load.cut for load in self.loads})
        groups = [[load for load in self.loads if load.leaves == day] for day in days]
        if len(days) == 1:
            groups = [[load for load in self.loads if load.cut == cut] for cut in cuts]
        return [replace(self, loads=tuple(group), gain=None) for group in groups]

    def with_gain(self, gain: Fraction | None) -> Trip:
        """Return it with what it brings."""
        return replace(self, gain=gain)

    def pays(self, before: Sequence[Standing], after: Sequence[Standing]) -> bool:
        """Tell whether less is short with it or, that being equal, more money comes in."""
        change = _change(before, after)
        if abs(change) > _CRUMB:
            return change < 0
        return self.gain is not None and self.gain > 0

    def is_as_hoped(self, before: Sequence[Standing], after: Sequence[Standing]) -> bool:
        """Tell whether it brings most of what the worths promised, so that its parts do too."""
        if len(self.parts()) == 1 or _change(before, after) < -_CRUMB:
            return True
        return self.gain is not None and self.gain >= _MOST_OF * Fraction(self.hoped)

    def told(self, shops: Sequence[Shop], money: Callable[[Fraction], str]) -> Json:
        """Return it as the plan tells it."""
        source, target = (shops[at] for at in self.shops)
        names = {key: cut.name for key, cut in source.problem.cuts.items()}
        return {
            "from": source.id, "to": target.id,
            "lines": [
                {"cut": load.cut, "name": names[load.cut], "day": load.leaves,
                 "arrives": self.arrives(load), "weight": _text(load.weight),
                 "last_day": load.last}
                for load in sorted(self.loads, key=lambda one: (one.leaves, one.cut, one.last))
            ],
            "weight": _text(self.weight), "cost": money(self.cost),
            "gain": None if self.gain is None else money(self.gain),
        }  # fmt: skip


def _change(before: Sequence[Standing], after: Sequence[Standing]) -> Fraction:
    """Return how much more is short, at its price."""
    return sum((one.short for one in after), _NONE) - sum((one.short for one in before), _NONE)


def _text(weight: Fraction) -> str:
    text = f"{decimal_of(weight, 3):f}"
    return text.rstrip("0").rstrip(".")


def _free(name: str, taken: Collection[str]) -> str:
    """Return a name that nobody has."""
    found, number = name, 1
    while found in taken:
        number += 1
        found = f"{name} ({number})"
    return found


def with_loads(
    shop: Shop, first: Json, at: int, trips: Sequence[Trip], *, reasons: bool = False
) -> Json:
    """Return a shop's problem with what leaves and arrives, its breaks as they are.

    Parameters
    ----------
    shop : Shop
        The shop.
    first : dict
        Its plan by itself; the breaks are locked.
    at : int
        Its place: what it is the source of leaves, the rest arrives.
    trips : sequence of Trip
        The vans.
    reasons : bool
        Whether reasons are asked as well.
    """
    asked = dict(shop.asked)
    asked["reasons"] = reasons
    asked["before"] = [
        {"tag": row["id"], "style": row["style"], "day": row["day"]} for row in first["breaks"]
    ]
    asked["locks"] = _locks(shop, first)
    asked["bookings"] = [*(asked.get("bookings") or [])]
    asked["kinds"] = [*(asked.get("kinds") or [])]
    asked["rail"] = [*(asked.get("rail") or [])]
    for trip in trips:
        for load in trip.loads:
            if trip.link.source == at:
                asked["bookings"].append(_leaving(asked, trip, load))
            else:
                _arriving(asked, shop, trip, load)
    return asked


def _locks(shop: Shop, first: Json) -> list[Json]:
    found = [{"tag": row["tag"], "style": row["style"], "day": row["day"]}
             for row in first["breaks"] if row["of"] is None]  # fmt: skip
    # a piece that should have been broken and was not is left open
    must = {piece.tag for piece in shop.problem.rail if piece.must or piece.claims}
    kept = [{"tag": row["tag"], "style": None, "day": None}
            for row in first["kept"] if row["tag"] not in must]  # fmt: skip
    return [*found, *kept]


def _leaving(asked: Json, trip: Trip, load: Load) -> Json:
    name = _free(f"van {trip.at + 1}, day {load.leaves}", {one["id"] for one in asked["bookings"]})
    line = {"cut": load.cut, "weight": _text(load.weight), "price": _NEXT_TO_NOTHING}
    return {"id": name, "name": name, "due": load.leaves, "lines": [line]}


def _arriving(asked: Json, shop: Shop, trip: Trip, load: Load) -> None:
    kind = f"sent: {load.cut}"[:80]
    if not any(one["id"] == kind for one in asked["kinds"]):
        cut = shop.problem.cuts[load.cut]
        style = {"id": kind, "name": "put into the case", "minutes": "0",
                 "outputs": [{"cut": load.cut, "share": "1"}]}  # fmt: skip
        asked["kinds"].append({"id": kind, "name": f"{cut.name}, sent", "species": cut.species,
                               "holds_days": 0, "styles": [style]})  # fmt: skip
    tag = _free(f"van {trip.at + 1}, day {load.leaves}", {one["tag"] for one in asked["rail"]})
    day = trip.arrives(load)
    asked["rail"].append({
        "tag": tag, "kind": kind, "weight": _text(load.weight), "shrink_per_day": "0",
        "from": day, "until": day, "must": True, "worth_left": "0", "claims": [],
    })  # fmt: skip


def standing_of(shop: Shop, plan: Json, first: Json) -> Standing:
    """Return how a shop stands with a plan; `first` is its plan by itself."""
    prices = {(booking.id, at): line.price for booking in shop.problem.bookings
              for at, line in enumerate(booking.lines)}  # fmt: skip
    short = Fraction(0)
    for booking in plan["bookings"]:
        for at, line in enumerate(booking["lines"]):
            short += Fraction(line["short"]) * prices.get((booking["id"], at), Fraction(0))
    worths = {piece.tag: piece.worth_left for piece in shop.problem.rail}
    for tag in {claim["tag"] for claim in plan["claims"] if not claim["met"]}:
        short += max(Fraction(1), worths[tag])
    return Standing(plan, first, Fraction(plan["contribution"]), short)


def carries(shop: Shop, at: int, plan: Json, trips: Sequence[Trip]) -> bool:
    """Tell whether a plan can send and get what it should, each weight within its true days.

    A receiving plan counts the days of a cut from its arrival, so all uses are laid against the
    lots as they are.

    Parameters
    ----------
    shop, at : Shop, int
        The shop and its place.
    plan : dict
        Its plan with these vans.
    trips : sequence of Trip
        All vans of this shop.
    """
    own = {booking.id for booking in shop.problem.bookings}
    if any(not one["met"] for one in plan["bookings"] if one["id"] not in own):
        return False
    out = [load for trip in trips if trip.link.source == at for load in trip.loads]
    into = [Use(trip.arrives(load), load.last, load.weight) for trip in trips
            if trip.link.target == at for load in trip.loads]  # fmt: skip
    names = [load.cut for trip in trips if trip.link.target == at for load in trip.loads]
    rows = {row["id"]: row for row in plan["cuts"]}
    for cut in sorted({*names, *(load.cut for load in out)}):
        got = [one for one, name in zip(into, names, strict=True) if name == cut]
        sent = [Use(load.leaves, load.last, load.weight) for load in out if load.cut == cut]
        if not _true_days_hold(shop, rows[cut], got, sent):
            return False
    return True


def _true_days_hold(shop: Shop, row: Json, got: Sequence[Use], sent: Sequence[Use]) -> bool:
    cut = shop.problem.cuts[row["id"]]
    lots = [Use(0, lot.days_left, lot.weight) for lot in cut.stock]
    uses = []
    for day in row["days"]:
        here = day["day"]
        made = Fraction(day["in"]) - sum((one.weight for one in got if one.day == here), _NONE)
        lots.append(Use(here, here + cut.keeps_days, made))
        away = sum((one.weight for one in sent if one.day == here), _NONE)
        used = Fraction(day["booked"]) + Fraction(day["sold"]) + Fraction(day["ground"])
        uses.append(Use(here, here, used - away))
    uses.append(Use(len(row["days"]) - 1, len(row["days"]), Fraction(row["left"])))
    return fits([*lots, *got], [*sent, *uses])
