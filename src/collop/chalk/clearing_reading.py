"""A problem of clearing prices, read from JSON: supply, cuts with their demand, ways to cut."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import UnitFrame, above_zero, exact, maybe, plain, read_unit_frame
from collop.chalk.clearing_curves import Curve, is_cleared
from collop.errors import BadValue, Contradiction
from collop.wire import Reader, checked_number

__all__ = ["SCHEMA_ID", "USUAL_CAP", "Activity", "Cut", "Market", "Supply", "read_market"]

SCHEMA_ID = "collop.clearing/1"
MOST_SUPPLIES, MOST_CUTS, MOST_ACTIVITIES = 100, 300, 1000
#: Cap of a cut whose elasticity is 1 or less, as a multiple of its price, if none is given.
USUAL_CAP = Fraction(5, 4)
LEAST_ELASTICITY, MOST_ELASTICITY = 0.1, 20.0
LEAST_CAP, MOST_CAP = 0.1, 10.0
LEAST_YIELD, MOST_YIELD = 0.0001, 2.0
_LEAST_WEIGHT, _LEAST_PRICE = Fraction(1, 1000), Fraction(1, 10_000)
_KEYS = ("schema", "name", "currency", "rounding", "unit", "supply", "cuts", "activities",
         "cap_factor", "animals")  # fmt: skip
_CUT_KEYS = ("id", "name", "price", "quantity", "elasticity", "cap", "floor", "making_cost",
             "on_hand")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Supply:
    """A large cut, or anything else that is cut up: its name and the weight there is."""

    name: str
    weight: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A cut with its demand, exact; weights in the unit of the problem, money per that unit.

    Parameters
    ----------
    price, quantity, elasticity : Fraction
        What was sold in a period at a price, and how buyers answer.
    cap, floor : Fraction or None
        The price stays within.
    making, on_hand : Fraction
        Cost tied to each unit sold; weight there already.
    cap_is_usual : bool
        Whether the cap is ours because none was given.
    """

    id: str
    name: str
    price: Fraction
    quantity: Fraction
    elasticity: Fraction
    cap: Fraction | None
    floor: Fraction | None
    making: Fraction
    on_hand: Fraction
    cap_is_usual: bool

    def curve(self) -> Curve:
        """Return its demand in floats."""
        return Curve(
            price0=float(self.price),
            quantity0=float(self.quantity),
            elasticity=float(self.elasticity),
            cap=math.inf if self.cap is None else float(self.cap),
            floor=float(self.floor or 0),
            making=float(self.making),
        )


@dataclass(frozen=True, slots=True)
class Activity:
    """One way to cut: the supply it takes from, the weight of each cut per unit of it, its labour.

    Parameters
    ----------
    name : str
    source : int
        Index of the supply.
    gives : tuple of (int, Fraction)
        Index of the cut, and its weight per unit of weight cut up.
    labour : Fraction
        Money per unit of weight cut up.
    """

    name: str
    source: int
    gives: tuple[tuple[int, Fraction], ...]
    labour: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Market:
    """The whole problem; `animals` is how many the supply came from, if it was said."""

    frame: UnitFrame
    supplies: tuple[Supply, ...]
    cuts: tuple[Cut, ...]
    activities: tuple[Activity, ...]
    animals: Fraction | None
    notes: tuple[str, ...]


def read_market(value: object) -> Market:
    """Read one problem of clearing prices.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.clearing/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    frame = read_unit_frame(top)
    factor = top.number("cap_factor", LEAST_CAP, MOST_CAP, None)
    animals = top.number("animals", 0.01, 100_000.0, None)
    supplies = tuple(_supplies(top))
    cuts = tuple(_cuts(top, None if factor is None else exact(factor)))
    if not cuts:
        raise top.fail("cuts", "names nothing; give at least one cut that is sold.")
    activities = tuple(_activities(top, supplies, cuts))
    market = Market(
        frame=frame,
        supplies=supplies,
        cuts=cuts,
        activities=activities,
        animals=None if animals is None else exact(animals),
        notes=tuple(_notes(cuts, activities)),
    )
    _something_to_sell(market)
    return market


def _rows(top: Reader, key: str, most: int, keys: tuple[str, ...]) -> Iterator[Reader]:
    if len(top.items(key, [])) > most:
        raise top.fail(key, f"has more than {most} lines; join some of them.")
    seen: set[str] = set()
    label = keys[0]
    for path, value in top.each(key, []):
        row = Reader(value, path, keys)
        name = row.text(label)
        if not name.strip():
            raise row.fail(label, "is empty; name it.")
        if name in seen:
            raise row.fail(label, f"is {name[:40]!r} once more; give each its own.")
        seen.add(name)
        yield row


def _weight(row: Reader, key: str, default: str | None = None) -> Fraction:
    found = Fraction(row.decimal(key) if default is None else row.decimal(key, default) or 0)
    if 0 < found < _LEAST_WEIGHT:
        raise row.fail(key, "is finer than a scale can read; use 0.001 or more, or 0.")
    return found


def _supplies(top: Reader) -> Iterator[Supply]:
    for row in _rows(top, "supply", MOST_SUPPLIES, ("name", "weight")):
        yield Supply(row.text("name"), _weight(row, "weight"))


def _price(row: Reader, key: str) -> Fraction | None:
    found = maybe(row, key)
    if found is not None and found < _LEAST_PRICE:
        raise row.fail(key, f"is {plain(found, 24)}; a price is 0.0001 or more.")
    return found


def _cuts(top: Reader, factor: Fraction | None) -> Iterator[Cut]:
    for row in _rows(top, "cuts", MOST_CUTS, _CUT_KEYS):
        yield _cut(row, factor)


def _cut(row: Reader, factor: Fraction | None) -> Cut:
    above_zero(row, "price")
    price, quantity = _price(row, "price"), _weight(row, "quantity")
    if price is None or not quantity:
        raise row.fail("quantity", "is zero; give what sold in a period at that price.")
    elasticity = exact(row.number("elasticity", LEAST_ELASTICITY, MOST_ELASTICITY))
    cap, floor = _price(row, "cap"), maybe(row, "floor")
    if cap is None and factor is not None:
        cap = price * factor
    is_usual = cap is None and is_cleared(float(elasticity))
    if is_usual:
        # a floor above the usual cap lifts it: the floor was given, the cap is only ours
        cap = max(price * USUAL_CAP, floor or Fraction(0))
    if cap is not None and floor is not None and floor > cap:
        raise Contradiction(
            f"{row.where('floor')} is {plain(floor)}, over the cap of {plain(cap)}; lower the "
            "floor or lift the cap.",
            where=row.where("floor"),
        )
    return Cut(
        id=row.text("id"),
        name=row.text("name", None) or row.text("id"),
        price=price,
        quantity=quantity,
        elasticity=elasticity,
        cap=cap,
        floor=floor or None,
        making=maybe(row, "making_cost") or Fraction(0),
        on_hand=_weight(row, "on_hand", "0"),
        cap_is_usual=is_usual,
    )


def _activities(
    top: Reader, supplies: tuple[Supply, ...], cuts: tuple[Cut, ...]
) -> Iterator[Activity]:
    where_supply = {one.name: index for index, one in enumerate(supplies)}
    where_cut = {one.id: index for index, one in enumerate(cuts)}
    for row in _rows(top, "activities", MOST_ACTIVITIES, ("name", "from", "gives",
                                                          "labour_per_unit")):  # fmt: skip
        source = row.text("from")
        if source not in where_supply:
            raise row.fail("from", f"is {source[:40]!r}, which is no supply; name one of them.")
        yield Activity(
            name=row.text("name"),
            source=where_supply[source],
            gives=_gives(row, where_cut),
            labour=maybe(row, "labour_per_unit") or Fraction(0),
        )


def _gives(row: Reader, where_cut: dict[str, int]) -> tuple[tuple[int, Fraction], ...]:
    if not row.has("gives"):
        raise row.fail("gives", "is missing; add the weight of each cut per unit cut up.")
    found = Reader(row.value["gives"], row.where("gives"), where_cut)
    if not found.value:
        raise row.fail("gives", "is empty; name at least one cut.")
    gives = tuple(
        (where_cut[key], exact(checked_number(value, LEAST_YIELD, MOST_YIELD, found.where(key))))
        for key, value in found.value.items()
    )
    total = sum((share for _, share in gives), Fraction(0))
    if total > MOST_YIELD:
        raise Contradiction(
            f"{row.where('gives')} sums to {plain(total)}: more than twice what is cut up; give "
            "shares of 1.",
            where=row.where("gives"),
        )
    return gives


def _notes(cuts: tuple[Cut, ...], activities: tuple[Activity, ...]) -> Iterator[str]:
    for cut in cuts:
        if cut.cap_is_usual and cut.cap is not None:
            yield (
                f"{cut.name}: elasticity {plain(cut.elasticity)} is not above 1, so it is sold for "
                f"what clears it, up to {plain(cut.cap, 4)} (1.25 times its price, or its floor)."
            )
        elif is_cleared(float(cut.elasticity)):
            yield (
                f"{cut.name}: elasticity {plain(cut.elasticity)} is not above 1, so it is sold for "
                "what clears it; nothing is kept back to lift its price."
            )
    for one in activities:
        if sum(share for _, share in one.gives) > 1:
            yield f"{one.name} gives more weight than it takes; water or another meat goes in."


def _something_to_sell(market: Market) -> None:
    on_hand = any(cut.on_hand for cut in market.cuts)
    made = any(market.supplies[one.source].weight for one in market.activities)
    if not (on_hand or made):
        raise BadValue(
            "$.supply gives nothing to sell: give a weight, and an activity that cuts it up, or "
            "what is on hand.",
            where="$.supply",
        )
