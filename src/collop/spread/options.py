"""Which offers can be used at all, in which dish style, and what each pound of them brings.

An `Option` is one offer in one dish style, ready for the model: exact coefficients per pound and
per selling step, and the steps themselves (0.01 lb, or whole pieces of real weights).

Thaw, days left and cooking time decide what is usable by the hour of the meal:

- frozen weight counts only if a refrigerator thaw (slower published figure) and the cooking fit
  between now and the meal;
- nothing is used after its last day;
- what takes longer to cook than there is time is left out;
- what can be cooked neither on this fire nor in an oven or pot is left out.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction

from collop.fire.methods import GRILL_HEATS
from collop.fire.problem import METHODS
from collop.fire.scheduling import ROUND_MIN
from collop.fire.scheduling_loads import CHANGEOVER_MIN, MOST_LOADS
from collop.measures import Weight, WeightUnit, minor_places
from collop.reference import thaw_hours
from collop.spread.cooking import NEVER_MIN, Times, method_of, times_of
from collop.spread.diet import anyone_eats
from collop.spread.problem import Fire, Offer, SpreadProblem, Zone

__all__ = [
    "Option",
    "Part",
    "Unusable",
    "is_slow",
    "thaw_and_cook",
    "thaw_hours_of",
    "usable_options",
]

#: Selling step of what is cut to weight [0.001 lb].
STEP_MLB = 10

_UNTIMED = Times(0, 0, 0)


@dataclass(frozen=True, slots=True)
class Part:
    """One kind of selling step: its weight [0.001 lb] and how many there are."""

    mlb: int
    most: int


@dataclass(frozen=True, slots=True)
class Unusable:
    """An offer left out, with the reason in words and the limit it runs into."""

    offer_id: str
    limit: str
    why: str


@dataclass(frozen=True, slots=True)
class Option:
    """One offer in one dish style.

    Attributes
    ----------
    parts : tuple of Part
        Selling steps.
    meals_per_lb, oz_per_lb : Fraction
        Usual adult meals, and raw boneless-equivalent ounces, per pound sold.
    cents_per_lb : Fraction
        Money in minor units per pound.
    eating : Fraction
        Eating score in this style, 0 to 1.
    help_per_lb : Fraction
        What selling a pound of it does for the rest of the animal [minor units].
    place : frozenset of str, or None
        Zones of the fire it may lie on; None if it is cooked in oven or pot.
    waves : int
        Loads that fit one after the other on its part of the grill.
    method : str
        One of `collop.fire.problem.METHODS`.
    times : Times
        Its planned minutes, rest and hold.
    """

    offer: Offer
    style: str
    parts: tuple[Part, ...]
    meals_per_lb: Fraction
    oz_per_lb: Fraction
    cents_per_lb: Fraction
    eating: Fraction
    help_per_lb: Fraction
    place: frozenset[str] | None
    waves: int = 1
    method: str = "direct"
    times: Times = _UNTIMED

    @property
    def free_mlb(self) -> int:
        """Return the weight that may be used [0.001 lb]."""
        return sum(part.mlb * part.most for part in self.parts)

    @property
    def strip_per_lb(self) -> Fraction:
        """Return the grill area held through the whole fire per pound [sq in]."""
        if self.place is None:
            return Fraction(0)
        return self.offer.sq_in_per_lb / self.waves


def thaw_and_cook(offer: Offer) -> timedelta | None:
    """Return how long a frozen offer takes to thaw and cook; None if it is not frozen."""
    if not offer.frozen_mlb:
        return None
    return timedelta(hours=thaw_hours_of(offer), minutes=minutes_to_table(offer))


def thaw_hours_of(offer: Offer) -> float:
    """Return how long the frozen part of an offer thaws in the refrigerator; 0 if none is [h]."""
    if not offer.frozen_mlb:
        return 0.0
    block = max(offer.pieces_mlb) if offer.pieces_mlb else offer.frozen_mlb
    return float(thaw_hours(Weight.of(Fraction(block, 1000), WeightUnit.LB)).planned)


def minutes_to_table(offer: Offer) -> int:
    """Return the least time from putting an offer on to eating it, over its styles [min].

    Its planned minutes on the fire and its rest, as the Fire Sheet has them.
    """
    styles = list(offer.eating) or [""]
    return min(
        times_of(offer, style, method_of(None, offer, style) or "oven").to_ready for style in styles
    )


def is_slow(offer: Offer) -> bool:
    """Tell whether the free stock lasts longer at the usual pace than the cut keeps."""
    return (
        offer.cover_days is not None
        and offer.days_left is not None
        and offer.cover_days > max(offer.days_left, 1)
    )


def _help_per_lb(offer: Offer) -> Fraction:
    """Return board price less the shadow price; without one, the part that would be left over."""
    cents_per_lb = offer.price.minor
    if offer.worth_per_lb:
        scale: int = 10 ** minor_places(offer.price.currency)
        return cents_per_lb - offer.worth_per_lb * scale
    if offer.cover_days is None or offer.days_left is None or offer.cover_days == 0:
        return Fraction(0)
    kept = Fraction(max(offer.days_left, 1)) / offer.cover_days
    return cents_per_lb * max(Fraction(0), 1 - kept)


def usable_options(
    problem: SpreadProblem, *, rounds: bool = False
) -> tuple[tuple[Option, ...], tuple[Unusable, ...]]:
    """Split the offers into usable options and those left out with their reason.

    With `rounds`, what does not fit the fire at once may be eaten after the rest.
    """
    options: list[Option] = []
    left_out: list[Unusable] = []
    for offer in problem.offers:
        found = _why_unusable(problem, offer)
        if isinstance(found, Unusable):
            left_out.append(found)
            continue
        made = list(_options(problem, offer, found, rounds=rounds))
        options += made
        if not made:
            left_out.append(Unusable(offer.id, "fire", f"{offer.name} fits neither fire nor oven"))
    return tuple(options), tuple(left_out)


def _why_unusable(problem: SpreadProblem, offer: Offer) -> Unusable | int:
    """Return the usable weight [0.001 lb], or why there is none."""
    name = offer.name
    styles = [style for style in offer.eating if style in problem.need_oz]
    if problem.rules.only and offer.id not in problem.rules.only and not offer.is_meat_free:
        return Unusable(offer.id, "only", f"{name} was not asked for")
    if not anyone_eats(problem.groups, offer):
        why = f"{name} is for those who eat no meat" if offer.is_meat_free else ""
        return Unusable(offer.id, "don't-eats", why or f"nobody here eats {name}")
    if not styles or not offer.boneless:
        return Unusable(offer.id, "style", f"{name} does not suit this way of eating")
    if offer.days_left is not None and _days(problem) > offer.days_left:
        return Unusable(offer.id, "use_at", f"{name} is past its last day by then")
    if not _time_for(problem, minutes_to_table(offer)):
        return Unusable(offer.id, "use_at", f"{name} takes longer to cook than there is time")
    usable = offer.free_mlb
    if offer.frozen_mlb and not _thaws(problem, offer):
        usable -= offer.frozen_mlb
        if usable <= 0:
            return Unusable(offer.id, "use_at", f"{name} cannot thaw in the refrigerator by then")
    if usable < (min(offer.pieces_mlb, default=1) if offer.pieces_mlb is not None else STEP_MLB):
        return Unusable(offer.id, "stock", f"no {name} is free")
    return usable


def _days(problem: SpreadProblem) -> int:
    """Return the days to the meal, 0 where its hour is not known."""
    if problem.use_at is None or problem.now is None:
        return 0
    return (problem.use_at.date() - problem.now.date()).days


def _thaws(problem: SpreadProblem, offer: Offer) -> bool:
    need = thaw_and_cook(offer)
    if need is None:
        return True
    if problem.use_at is None or problem.now is None:
        return False
    return problem.use_at - problem.now >= need


def _parts(offer: Offer, usable_mlb: int) -> tuple[Part, ...]:
    if offer.pieces_mlb is None:
        return (Part(STEP_MLB, usable_mlb // STEP_MLB),)
    pieces, left = Counter[int](), usable_mlb
    for mlb in offer.pieces_mlb:
        if mlb <= left:
            pieces[mlb] += 1
            left -= mlb
    return tuple(Part(mlb, most) for mlb, most in sorted(pieces.items()))


def _options(
    problem: SpreadProblem, offer: Offer, usable_mlb: int, *, rounds: bool
) -> Iterable[Option]:
    cents = offer.price.minor
    for style, score in offer.eating.items():
        if style not in problem.need_oz:
            continue
        method = method_of(problem.fire, offer, style)
        place = None if method is None else _place(problem.fire, offer, method)
        if method is None or (place is not None and not place):
            continue
        times = times_of(offer, style, method)
        waves = _waves(problem.fire, times, rounds=rounds) if place is not None else 1
        if waves < 1 or times.planned >= NEVER_MIN or not _time_for(problem, times.to_ready):
            continue
        oz = 16 * offer.boneless
        yield Option(
            offer=offer,
            style=style,
            parts=_parts(offer, usable_mlb),
            meals_per_lb=oz / problem.need_oz[style],
            oz_per_lb=oz,
            cents_per_lb=cents,
            eating=score,
            help_per_lb=_help_per_lb(offer),
            place=place,
            waves=waves,
            method=method,
            times=times,
        )


def _place(fire: Fire | None, offer: Offer, method: str) -> frozenset[str] | None:
    """Return the zones it begins on, none if no zone is for it; None for oven, pot, or no fire."""
    if fire is None or METHODS[method][0] not in GRILL_HEATS:
        return None
    zones = _zones_for(fire, offer)
    if not any(zone.area_sq_in for zone in zones):
        return frozenset()
    words = _words(offer.method)
    named = frozenset(zone.name for zone in zones if words & _words(zone.name))
    return named or frozenset(zone.name for zone in zones)


def _waves(fire: Fire | None, times: Times, *, rounds: bool) -> int:
    """Return how many loads of an option can follow each other on its place.

    All are off while the coals last, and the first is still good when the last is eaten: all at
    the meal, or in further rounds.
    """
    assert fire is not None
    step = times.planned + CHANGEOVER_MIN
    lasting = (fire.minutes + CHANGEOVER_MIN) // step
    waiting = 1 + (times.hold + (ROUND_MIN if rounds else 0)) // step
    return min(MOST_LOADS, lasting, waiting)


def _words(text: str) -> set[str]:
    return set(re.findall(r"[a-z]+", text.lower()))


def _zones_for(fire: Fire, offer: Offer) -> list[Zone]:
    """Return the zones an offer may lie in: where there is a meat-free side, it is kept so."""
    apart = [zone for zone in fire.zones if {"meat", "free"} <= _words(zone.name)]
    if apart and offer.is_meat_free:
        return apart
    return [zone for zone in fire.zones if zone not in apart]


def _time_for(problem: SpreadProblem, minutes: int) -> bool:
    if problem.use_at is None or problem.now is None:
        return True
    return problem.use_at - problem.now >= timedelta(minutes=minutes)
