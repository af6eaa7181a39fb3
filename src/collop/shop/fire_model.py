"""The shop's side of a fire sheet as records: the customer's fire, how a line cooks, the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Any

__all__ = [
    "FIRE_KINDS",
    "Assumption",
    "CaseCook",
    "CookChange",
    "DontEat",
    "FireFacts",
    "FireKind",
    "FireSheet",
    "Thickness",
]


@dataclass(frozen=True, slots=True)
class FireKind:
    """A fire people of the town have, with its gross area [sq in]; 0 asks for the area."""

    label: str
    area_sq_in: int


#: The fires the ask offers, by the same words and sizes, but for no grill at all; a test holds
#: the two lists together.
FIRE_KINDS: Mapping[str, FireKind] = MappingProxyType(
    {
        "half-drum": FireKind("half drum", 1200),
        "big-drum": FireKind("big drum", 1800),
        "kettle": FireKind("balcony kettle", 154),
        "pit": FireKind("boathouse pit", 3000),
        "own": FireKind("another size", 0),
    }
)
_NOTHING: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class DontEat:
    """Some of the heads do not eat one thing; `count` is None where nobody counted them.

    `what` is an animal, an allergen, or ``meat``.
    """

    what: str
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Thickness:
    """How thick a line of this booking is [mm], measured or told over the counter."""

    mm: Decimal
    measured: bool = False


@dataclass(frozen=True, slots=True)
class FireFacts:
    """What is known of a customer's fire and meal; None, or empty, is "not told".

    Attributes
    ----------
    kind : str or None
        One of `FIRE_KINDS`.
    area_sq_in : Decimal or None
        Gross area of the grill [sq in]; left out, that of its kind.
    usable_pct : int or None
        How much of it holds food [%].
    coals_min : int or None
        How long the coals last [min].
    covered, oven : bool or None
        Whether the grill has a lid; whether there is an oven.
    pots : int or None
        Pots that can be on a stove at once.
    serve : tuple of datetime
        When it is eaten, shop-local; up to four times.
    served : mapping of str to int
        For a case line, which of `serve` it is for, from 0; the first if it is not named.
    ride_min : int or None
        From the counter to the refrigerator at home [min].
    unit : str or None
        How temperatures are spoken, ``F`` or ``C``.
    hands, air_f : int or None
        People at the fire; how warm the day is [degF].
    thickness : mapping of str to Thickness
        Told or measured for this booking, by case line.
    dont_eats : tuple of DontEat or None
        None if nobody was asked; empty if nobody minds.
    """

    kind: str | None = None
    area_sq_in: Decimal | None = None
    usable_pct: int | None = None
    coals_min: int | None = None
    covered: bool | None = None
    oven: bool | None = None
    pots: int | None = None
    serve: tuple[datetime, ...] = ()
    served: Mapping[str, int] = field(default_factory=lambda: _NOTHING)
    ride_min: int | None = None
    unit: str | None = None
    hands: int | None = None
    air_f: int | None = None
    thickness: Mapping[str, Thickness] = field(default_factory=lambda: _NOTHING)
    dont_eats: tuple[DontEat, ...] | None = None

    @property
    def gross_sq_in(self) -> Decimal | None:
        """Return the grill's area as told, or that of its kind [sq in]; None if neither is."""
        if self.area_sq_in is not None:
            return self.area_sq_in
        kind = FIRE_KINDS.get(self.kind or "")
        return Decimal(kind.area_sq_in) if kind and kind.area_sq_in else None


@dataclass(frozen=True, slots=True)
class CaseCook:
    """How a line of the case is cooked, as the shop cuts it.

    Attributes
    ----------
    form : str or None
        One of `collop.fire.problem.FORMS`; None where no heat model fits, such as a braise: then
        the minutes of the case count.
    thickness_mm : Decimal or None
        Its least measure through the middle [mm]; goes with `form`.
    measured : bool
        Whether the shop cuts it to that measure, or it is only usual.
    shape : Decimal or None
        Shape factor from 0 (slab) to 2 (sphere); None for that of the form.
    method : str or None
        One of `collop.fire.problem.METHODS`; None for what the words of the case say.
    fat_rich, bone : bool
        Belly and the like; bone inside.
    done_f : int or None
        Wanted at the core [degF], never below the published minimum.
    treatment : str or None
        ``whole``, ``tenderised``, ``injected``, ``rolled`` or ``ground``; None for what the line
        is cooked as.
    rest_min, hold_min : int or None
        Rest, and longest wait after it [min]; None for those of the form.
    carve : str
        One sentence on how to slice it; empty for the usual one.
    """

    form: str | None = None
    thickness_mm: Decimal | None = None
    measured: bool = False
    shape: Decimal | None = None
    method: str | None = None
    fat_rich: bool = False
    bone: bool = False
    done_f: int | None = None
    treatment: str | None = None
    rest_min: int | None = None
    hold_min: int | None = None
    carve: str = ""


@dataclass(frozen=True, slots=True)
class CookChange:
    """What was said of how a line cooks: when (shop-local), and by whom (a person's id)."""

    cook: CaseCook
    at: datetime
    by: str | None


@dataclass(frozen=True, slots=True)
class Assumption:
    """What was taken for granted, and what to ask to put it right.

    `metric` is the same with metric figures first; empty where there are none.
    """

    what: str
    ask: str
    metric: str = ""

    def as_json(self, unit: str = "F") -> dict[str, str]:
        """Return it as the plan's ``assumptions`` hold it, for ``F`` or ``C``."""
        return {"what": (self.metric if unit == "C" else "") or self.what, "ask": self.ask}


@dataclass(frozen=True, slots=True)
class FireSheet:
    """One customer's sheet: nothing of the booking but its name, its day and its food.

    Attributes
    ----------
    token : str or None
        The unguessable part of its address; None until one is made.
    problem, plan : dict
        ``collop.fire/1`` and ``collop.fire.plan/1``; the plan's assumptions begin with the shop's.
    made_at : datetime or None
        When the address was made.
    assumed : tuple of Assumption
        What the shop took for granted, in every unit.
    """

    token: str | None
    booking_id: str
    name: str
    collect_at: datetime
    made_at: datetime | None
    problem: Mapping[str, Any]
    plan: Mapping[str, Any]
    assumed: tuple[Assumption, ...] = ()
