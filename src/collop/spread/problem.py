"""The ask as frozen data: guests, fire, rules, money and the free case lines.

Amounts are exact: ounces, fractions and appetites are `fractions.Fraction`, weights are whole
thousandths of a pound (`mlb`), money is `Money` and `UnitPrice`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from fractions import Fraction

from collop.fire.problem import Body
from collop.measures import Money, Rounding, UnitPrice

__all__ = [
    "AIMS",
    "DISH_STYLES",
    "Avoid",
    "Cook",
    "Fire",
    "Group",
    "Offer",
    "Pin",
    "Rules",
    "SlotWish",
    "SpreadProblem",
    "Weights",
    "Zone",
]

AIMS = ("best-value", "least-money", "showpiece", "variety", "helps-the-animal")

#: Raw boneless-equivalent ounces that make one usual adult's whole meal of meat in a dish style,
#: and one portion of the dish.  House defaults; published ranges: see `docs/sources.md`.
DISH_STYLES: Mapping[str, tuple[Fraction, Fraction]] = {
    "plate": (Fraction(7), Fraction(7)),
    "shared": (Fraction(6), Fraction(4)),
    "hand": (Fraction(6), Fraction(5)),
    "wrap": (Fraction(5), Fraction(5, 2)),
    "stew": (Fraction(4), Fraction(4)),
}


@dataclass(frozen=True, slots=True, order=True)
class Avoid:
    """One thing a group does not eat: a species, a casing, an allergen, or all meat."""

    kind: str
    name: str = ""

    def __str__(self) -> str:
        return f"{self.kind}:{self.name}" if self.name else self.kind


@dataclass(frozen=True, slots=True)
class Group:
    """Eaters alike in appetite and in what they do not eat.  Groups do not overlap."""

    name: str
    count: int
    appetite: Fraction
    avoids: frozenset[Avoid]
    kind: str = "adult"

    @property
    def meals(self) -> Fraction:
        """Return the mean need in usual adult meals."""
        return self.count * self.appetite


@dataclass(frozen=True, slots=True)
class Zone:
    """One part of the fire with its usable area [sq in]."""

    name: str
    area_sq_in: Fraction


@dataclass(frozen=True, slots=True)
class Fire:
    """Where the food is cooked; `minutes` [min] is how long the coals or gas last."""

    zones: tuple[Zone, ...]
    minutes: int
    oven: bool = False
    pots: int = 0


@dataclass(frozen=True, slots=True)
class SlotWish:
    """A role that must be filled, optionally by one species ("lamb for the centre")."""

    slot: str
    species: str | None = None


@dataclass(frozen=True, slots=True)
class Rules:
    """Variety.  `told` is false where the shop's defaults were taken.

    `max_share` bounds each item by its part of the raw boneless-equivalent food,
    `max_style_share` each dish style by its part of the meals ("a mixed meal is not all wraps").
    """

    min_items: int
    max_items: int
    max_share: Fraction
    max_style_share: Fraction = Fraction(1)
    slots: tuple[SlotWish, ...] = ()
    only: frozenset[str] = frozenset()
    one_in: int = 10
    help_animal: bool = True
    told: bool = False

    def without_variety(self) -> Rules:
        """Return the rules with any number of items, and any share of one."""
        return replace(self, min_items=1, max_share=Fraction(1), max_style_share=Fraction(1))


@dataclass(frozen=True, slots=True)
class Weights:
    """How much each wish counts in "best value"; 1 is the house setting."""

    eating: Fraction = Fraction(1)
    money: Fraction = Fraction(1)
    animal: Fraction = Fraction(1)
    leftover: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class Pin:
    """A line that must stay; with `mlb` also its weight."""

    offer_id: str
    mlb: int | None = None
    style: str | None = None


@dataclass(frozen=True, slots=True)
class Cook:
    """What the shop says of cooking a case line, as in an item of ``collop.fire/1``.

    Attributes
    ----------
    method : str or None
        One of `collop.fire.problem.METHODS`; None where the words of the offer tell it.
    body : Body or None
        If known, times come from the heat model instead of the offer's minutes.
    treatment : str
        What is not ``whole`` is cooked as ground.
    rest_min, hold_min : int or None
        Rest, and longest wait after it [min]; None for those of the form.
    carve : str or None
        How it is carved, one line.
    done_c : float or None
        Wanted at the core [degC]; the published minimum counts where that is more.
    """

    method: str | None = None
    body: Body | None = None
    treatment: str = "whole"
    rest_min: int | None = None
    hold_min: int | None = None
    carve: str | None = None
    done_c: float | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """One free case line.

    Attributes
    ----------
    free_mlb, frozen_mlb : int
        Free weight, and the part of it that is frozen [0.001 lb].
    pieces_mlb : tuple of int, or None
        Real piece weights [0.001 lb] if it is sold whole piece by whole piece.
    boneless : Fraction
        Raw edible weight as if boned over weight sold.
    tags : frozenset of Avoid
        All it is made of, at any depth of a batch: species, casings, allergens, meat.
    eating : mapping of style to Fraction
        The shop's eating score, 0 to 1; its keys are the dish styles the line suits.
    worth_per_lb : Fraction
        What one more pound is worth to the shop elsewhere [major unit/lb]; 0 if unknown.
    side_mlb : int or None
        What one side of its animal gives of this cut, by the shop's own yield [0.001 lb].
    cook : Cook or None
        What the shop says of cooking it.
    """

    id: str
    name: str
    species: str | None
    tags: frozenset[Avoid]
    allergens: tuple[str, ...]
    casing: str | None
    price: UnitPrice
    free_mlb: int
    frozen_mlb: int
    pieces_mlb: tuple[int, ...] | None
    boneless: Fraction
    sq_in_per_lb: Fraction
    minutes: tuple[int, int]
    method: str
    slots: frozenset[str]
    eating: Mapping[str, Fraction]
    worth_per_lb: Fraction
    days_left: int | None = None
    cover_days: Fraction | None = None
    neighbour: str | None = None
    side_mlb: int | None = None
    cook_as: str | None = None
    cook: Cook | None = None

    @property
    def is_meat_free(self) -> bool:
        """Return whether nothing in it is meat."""
        return Avoid("meat") not in self.tags


@dataclass(frozen=True, slots=True)
class SpreadProblem:
    """Everything the kernel needs to answer one ask."""

    currency: str
    rounding: Rounding
    groups: tuple[Group, ...]
    need_oz: Mapping[str, Fraction]
    portion_oz: Mapping[str, Fraction]
    enough_chance: float
    appetite_cv: float
    budget: Money | None
    fire: Fire | None
    rules: Rules
    offers: tuple[Offer, ...]
    use_at: datetime | None = None
    now: datetime | None = None
    pinned: tuple[Pin, ...] = ()
    budget_each: Money | None = None
    want: int = 5
    over_budget: bool = False
    weights: Weights = field(default_factory=Weights)
    light: Fraction = Fraction(7, 5)
    hungry: Fraction = Fraction(7, 8)

    @property
    def heads(self) -> int:
        """Return how many people eat."""
        return sum(group.count for group in self.groups)

    def offer(self, offer_id: str) -> Offer:
        """Return the offer with this id."""
        return next(offer for offer in self.offers if offer.id == offer_id)
