"""What a farm call is asked: animals that can be had, how they are cut, and what a week may sell.

Weights and money are exact fractions in the problem's one unit and currency, all of one week.
`collop.bench.farm_reading` makes these from JSON.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from collop.bench.problem import Ground, Kind, Make
from collop.measures import Rounding

__all__ = [
    "Animal", "Drawn", "FarmBin", "FarmCut", "FarmProblem", "Hanging", "Labour", "Listed",
    "Promise", "Room", "Scenario", "Season",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Animal:
    """An animal, or a side or quarter of one, as the farm sells it.

    Parameters
    ----------
    id, name, kind : str
        Which, and the id of its kind.
    weight, price_per_unit, haulage : Fraction
        What one weighs, money per unit of weight, and money per animal to fetch it.
    least, most : int
        How many must and may be ordered.
    usual : int, optional
        How many a usual order has.
    """

    id: str
    name: str
    kind: str
    weight: Fraction
    price_per_unit: Fraction
    haulage: Fraction
    least: int
    most: int
    usual: int | None

    @property
    def cost(self) -> Fraction:
        """Return what one costs, fetched."""
        return self.weight * self.price_per_unit + self.haulage


@dataclass(frozen=True, slots=True)
class Hanging:
    """A piece that hangs already: it may be broken that week, in part or whole, or stay."""

    kind: str
    weight: Fraction
    worth_left: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class FarmCut:
    """A line of the case over one week.

    Parameters
    ----------
    id, name, species : str
        Which.
    price, week : Fraction
        Board price per unit, and the weight that a usual week sells at it.
    cv : Fraction
        Standard deviation of the week's sale over its mean, from causes of its own.
    elasticity : Fraction
        Its sale at a price p is week x (p / price)^-elasticity.
    steps : tuple of Fraction
        Prices that may be asked, as shares of the board price, the highest first.
    salvage, on_hand : Fraction
        Money per unit of what is not sold, and weight there already.
    ground : Ground, optional
        Whether it may become trim.
    """

    id: str
    name: str
    species: str
    price: Fraction
    week: Fraction
    cv: Fraction
    elasticity: Fraction
    steps: tuple[Fraction, ...]
    salvage: Fraction
    on_hand: Fraction
    ground: Ground | None


@dataclass(frozen=True, slots=True)
class FarmBin:
    """A trim bin: `fat` is its share of fat; what is not made into something brings `worth`."""

    id: str
    name: str
    species: str
    fat: Fraction
    worth: Fraction
    on_hand: Fraction


@dataclass(frozen=True, slots=True)
class Promise:
    """A standing order or a booking of one cut; `price` per unit is agreed."""

    name: str
    cut: str
    weight: Fraction
    price: Fraction
    standing: bool


@dataclass(frozen=True, slots=True)
class Labour:
    """Minutes of the week at the block, and what an hour that is used costs."""

    minutes: Fraction
    per_hour: Fraction
    overtime_minutes: Fraction
    overtime_per_hour: Fraction


@dataclass(frozen=True, slots=True)
class Room:
    """Weight that the rail holds, and what hangs on it when the order comes."""

    rail: Fraction
    hanging: Fraction


@dataclass(frozen=True, slots=True)
class Season:
    """A multiple of a week's sale: of a cut (its id), of a species, or of ``all``."""

    what: str
    index: Fraction
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """Scenarios are drawn: how many, by which seed, and the scatter that all cuts share."""

    count: int
    seed: int
    common_cv: Fraction


@dataclass(frozen=True, slots=True)
class Listed:
    """One scenario that was given: `factors` by cut, species or ``all`` multiply the sale."""

    name: str
    chance: Fraction
    factors: Mapping[str, Fraction]


@dataclass(frozen=True, slots=True)
class Scenario:
    """One week that may come: its chance, and what each cut would sell at the board price."""

    name: str
    chance: Fraction
    wants: Mapping[str, Fraction]


@dataclass(frozen=True, slots=True, kw_only=True)
class FarmProblem:
    """Everything a farm call is asked.

    `scenarios` are either drawn or listed; `notes` say what was taken for granted in reading.
    """

    name: str
    currency: str
    rounding: Rounding
    unit: str
    week_of: date
    animals: tuple[Animal, ...]
    kinds: Mapping[str, Kind]
    hanging: tuple[Hanging, ...]
    cuts: Mapping[str, FarmCut]
    bins: Mapping[str, FarmBin]
    makes: tuple[Make, ...]
    promises: tuple[Promise, ...]
    labour: Labour | None
    room: Room | None
    seasons: tuple[Season, ...]
    scenarios: Drawn | tuple[Listed, ...]
    notes: tuple[str, ...] = ()
