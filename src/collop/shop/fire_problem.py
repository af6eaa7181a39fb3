"""From a booking to a fire: the problem the kernel lays, and what was taken for granted in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Any

from collop.errors import WrongState
from collop.fire.methods import STEW, Way, stages_of, stewed, way_for
from collop.fire.plan_measures import SAFETY_ASKS, thickness_words
from collop.fire.problem import METHODS
from collop.fire.reading_texts import printable
from collop.measures import Weight, WeightUnit
from collop.shop.fire_cooks import body_of, cook_as_told, minutes_of, treatment_of
from collop.shop.fire_dont_eats import plates
from collop.shop.fire_facts import check_home
from collop.shop.fire_guesses import (
    RIDE,
    RIDE_MIN,
    Hearth,
    guess_hearth,
    guess_meal,
    largest_piece,
    pounds,
)
from collop.shop.fire_model import Assumption, FireFacts
from collop.shop.model import Booking, BookingLine, CaseLine, Settings, State
from collop.spread.contents import tags_of

__all__ = ["Dish", "dishes_of", "fire_problem", "offer_cook"]

_ROLE_OF = {"in-the-hand": "in-hand"}
_STEW = "stew"


@dataclass(frozen=True, slots=True)
class Dish:
    """One line of the case as a booking holds it: all its weight that is cooked alike.

    Attributes
    ----------
    pieces : tuple of Weight or None
        The pieces of goods sold whole.
    is_stew : bool
        Whether it is eaten as a stew.
    id, name : str
        Of the line; told apart where a booking holds it both as a stew and otherwise.
    """

    line: CaseLine
    weight: Weight
    pieces: tuple[Weight, ...] | None
    way: Way
    is_stew: bool
    id: str
    name: str

    @property
    def has_body(self) -> bool:
        """Tell whether its time comes from the heat model."""
        cook = self.line.cook
        return cook is not None and cook.form is not None and not self.is_stew

    @property
    def minutes(self) -> tuple[int, int]:
        """Return the shop's own minutes of it, 0 where nobody gave them."""
        return stewed(self.line.minutes) if self.is_stew else self.line.minutes


def _there(booking: Booking, line: BookingLine) -> tuple[tuple[str, Weight], ...]:
    """Return what of a line is cooked, by line of the case: worked meat as what it became."""
    if booking.state.holds:
        return tuple((case_id, weight) for case_id, weight in line.held_as if weight)
    return ((line.case_id, line.weighed),) if line.weighed else ()


def dishes_of(
    booking: Booking, case: Mapping[str, CaseLine]
) -> tuple[tuple[Dish, ...], tuple[CaseLine, ...]]:
    """Return what of a booking is cooked at a fire, and the lines of it that are not.

    Parameters
    ----------
    booking : Booking
        Held weight counts; of one that has gone, what was handed over.
    case : mapping of str to CaseLine
        The case, by id.
    """
    weights: dict[tuple[str, bool], Weight] = {}
    pieces: dict[tuple[str, bool], tuple[Weight, ...]] = {}
    for line in booking.lines:
        for case_id, there in _there(booking, line):
            key = case_id, line.style == _STEW
            before = weights.get(key)
            weights[key] = there if before is None else before + there
            own = line.pieces if case_id == line.case_id and not line.worked.after else None
            pieces[key] = pieces.get(key, ()) + (own or ())
    dishes, left = [], []
    for (case_id, is_stew), weight in weights.items():
        found = case[case_id]
        way = STEW if is_stew else _way(found)
        if way is None:
            left.append(found)
            continue
        apart = is_stew and (case_id, False) in weights
        dishes.append(
            Dish(
                line=found, weight=weight, pieces=pieces[case_id, is_stew] or None, way=way,
                is_stew=is_stew, id=f"{case_id}-{_STEW}" if apart else case_id,
                name=f"{found.name}, {_STEW}" if apart else found.name,
            )
        )  # fmt: skip
    return tuple(dishes), tuple(left)


def _way(line: CaseLine) -> Way | None:
    # without a time and without a body nobody can say how long it takes
    has_body = line.cook is not None and line.cook.form is not None
    if not has_body and line.minutes[1] <= 0:
        return None
    return way_for(line.method, None if line.cook is None else line.cook.method)


def fire_problem(
    booking: Booking, facts: FireFacts, case: Mapping[str, CaseLine], chosen: Settings,
    wanted: Sequence[str] = (),
) -> tuple[dict[str, Any], tuple[Assumption, ...]]:  # fmt: skip
    """Return the ``collop.fire/1`` problem of a booking, and what was taken for granted.

    Parameters
    ----------
    booking, facts : Booking, FireFacts
        What is cooked, and on what.
    case : mapping of str to CaseLine
        The case, by id.
    chosen : Settings
        For the units.
    wanted : sequence of str
        What the booking wants that is still to be cut or made, in words.

    Raises
    ------
    WrongState
        If the booking is off, or nothing in it goes on a fire.
    BadValue
        If it is to be eaten before its food can be home.
    """
    if booking.state is State.OFF:
        raise WrongState(f"{booking.id} is off; there is no sheet for it.")
    dishes, left = dishes_of(booking, case)
    if not dishes:
        raise WrongState(f"{booking.id} holds nothing that goes on a fire; book its food first.")
    hearth, assumed = guess_hearth(facts)
    serve, guessed = _serve(booking, facts, dishes)
    if facts.ride_min is None:
        assumed.append(RIDE)
    # in the order of a spread's own fire, so that both choose the same loads
    items = [
        _item(dish, facts, hearth, len(serve)) for dish in sorted(dishes, key=lambda one: one.id)
    ]
    metric = chosen.legal_unit is WeightUnit.KG
    problem = {
        "schema": "collop.fire/1",
        "name": printable(booking.name),
        # nothing can begin before it is collected
        "now": f"{booking.collect_at:%Y-%m-%dT%H:%M}",
        "heads": booking.heads if booking.heads and booking.heads <= 2000 else None,
        "serve": serve,
        "fire": {
            "zones": _zones(hearth, items),
            "hands": hearth.hands,
            "covered": hearth.covered,
            "air_f": facts.air_f,
        },
        "ride_min": RIDE_MIN if facts.ride_min is None else facts.ride_min,
        "unit": facts.unit or ("C" if metric else "F"),
        "weight_unit": "kg" if metric else "lb",
        "items": items,
        "dont_eats": plates(facts.dont_eats or (), [dish.line for dish in dishes]),
    }
    if not any(_is_at_a_grill(item) for item in items):
        assumed = [one for one in assumed if one.ask in SAFETY_ASKS]
    more = _of_the_food(facts, items, left, wanted)
    return problem, (*guessed, *assumed, *more, *_thicknesses(facts, items))


def _is_at_a_grill(item: Mapping[str, Any]) -> bool:
    return bool({*METHODS[item["method"]]} - {"oven", "pot"})


def _thicknesses(facts: FireFacts, items: Sequence[Mapping[str, Any]]) -> list[Assumption]:
    """Return how thick each piece is that this customer told nothing of."""
    found = []
    for item in items:
        body = item["body"]
        if body is None or item["id"] in facts.thickness:
            continue
        known = "as the shop cuts it" if body["measured"] else "as it usually is"
        inches, metric = (
            thickness_words(item["name"], float(body["thickness_mm"]), known, unit) for unit in "FC"
        )
        found.append(Assumption(inches, f"Thickness of: {item['name']}", metric))
    return found


def _serve(
    booking: Booking, facts: FireFacts, dishes: Sequence[Dish]
) -> tuple[list[dict[str, str]], list[Assumption]]:
    times = tuple(sorted(facts.serve))
    guessed = []
    if times:
        check_home(booking, facts, times[0])
    else:
        longest = max(
            (dish.minutes if dish.is_stew else minutes_of(dish.line))[1] for dish in dishes
        )
        frozen = [
            largest_piece(dish.weight, dish.pieces) for dish in dishes if dish.line.form == "frozen"
        ]
        at, assumption = guess_meal(booking, longest, frozen)
        times, guessed = (at,), [assumption]
    names = ["main"] if len(times) == 1 else [f"meal-{n}" for n in range(1, len(times) + 1)]
    found = [
        {"id": name, "at": f"{at:%Y-%m-%dT%H:%M}"} for name, at in zip(names, times, strict=True)
    ]
    return found, guessed


def _item(dish: Dish, facts: FireFacts, hearth: Hearth, servings: int) -> dict[str, Any]:
    line, cook = dish.line, dish.line.cook
    method = dish.way.method(oven=hearth.oven, covered=hearth.covered, pots=hearth.pots > 0)
    at = facts.served.get(dish.id, 0) if servings > 1 else 0
    minutes = (max(1, dish.minutes[0]), dish.minutes[1]) if dish.minutes[1] else None
    stages = stages_of(method, minutes) if minutes else None
    # the weight as sold, exact: the area is that of what is there
    area = dish.weight.exact(WeightUnit.LB) * Fraction(line.grill_sq_in_per_lb)
    item = {
        "id": dish.id,
        "name": dish.name,
        "species": None if line.species == "none" else line.species,
        "serve": "main" if servings == 1 else f"meal-{at + 1}",
        "weight_lb": pounds(dish.weight),
        "pieces": len(dish.pieces) if dish.pieces else None,
        "piece_lb": pounds(max(dish.pieces)) if dish.pieces else None,
        "area_sq_in": ceil(area * 1000) / 1000,
        "cook_as": cook_as_told(line),
        "role": _ROLE_OF.get(line.slots[0], line.slots[0]) if line.slots else "",
        "frozen": line.form == "frozen",
        "allergens": _allergens(line),
        "done_f": None if cook is None else cook.done_f,
        "minutes": list(minutes) if minutes else None,
        "stages": [{"heat": one.heat, "minutes": [one.low, one.high]} for one in stages]
        if stages
        else None,
        **_cook(line, method),
    }
    if dish.is_stew:
        return item | {"body": None}
    told = facts.thickness.get(dish.id)
    if told is not None and item["body"] is not None:
        item["body"] |= {"thickness_mm": float(told.mm), "measured": told.measured}
    return item


def _allergens(line: CaseLine) -> list[str]:
    tags = tags_of(line.species, line.casing, line.contains)
    return sorted(tag.name for tag in tags if tag.kind == "allergen")


def _cook(line: CaseLine, method: str) -> dict[str, Any]:
    """Return how a line is cooked, in the keys of a fire's item."""
    cook = line.cook
    return {
        "method": method,
        "treatment": treatment_of(cook, cook_as_told(line)),
        "body": body_of(cook),
        "rest_min": None if cook is None else cook.rest_min,
        "hold_min": None if cook is None else cook.hold_min,
        "carve": (cook.carve if cook else "") or None,
    }


def offer_cook(line: CaseLine) -> dict[str, Any] | None:
    """Return the ``cook`` of a line's offer to a spread, None if it is not cooked at a fire.

    The method is the one that was told, or that of its words on a covered grill.
    """
    way, cook = _way(line), line.cook
    if way is None:
        return None
    method = (cook.method if cook else None) or way.grill
    return _cook(line, method) | {"done_f": None if cook is None else cook.done_f}


def _zones(hearth: Hearth, items: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    wanted = {item["method"] for item in items}
    heats = ["direct", *["indirect"] * hearth.covered, *["plate"] * ("plate" in wanted)]
    zones: list[dict[str, Any]] = [
        {
            "id": "grill", "name": hearth.name, "heats": heats,
            "area_sq_in": float(hearth.area_sq_in), "minutes": hearth.coals_min,
        }
    ]  # fmt: skip
    used = {item["method"].split(" then ")[0] for item in items}
    if hearth.oven and "oven" in used:
        zones.append({"id": "oven", "name": "Oven", "heats": ["oven"], "area_sq_in": None})
    if hearth.pots and "pot" in used:
        zones.append({"id": "pot", "name": "Pots", "heats": ["pot"], "area_sq_in": None})
    return zones


def _of_the_food(
    facts: FireFacts, items: Sequence[Mapping[str, Any]], left: Sequence[CaseLine],
    wanted: Sequence[str],
) -> list[Assumption]:  # fmt: skip
    """Return what was taken for granted of oven, pots, guests and what is not on the sheet."""
    found = []
    first = {item["method"].split(" then ")[0] for item in items}
    if facts.oven is None and "oven" in first:
        found.append(Assumption("There is an oven.", "Oven"))
    if facts.pots is None and "pot" in first:
        found.append(Assumption("There is a stove with a pot large enough.", "Pots"))
    if facts.dont_eats is None:
        found.append(Assumption("Nobody said who does not eat something.", "Don't eat"))
    if left:
        names = ", ".join(line.name for line in left)
        found.append(Assumption(f"Not cooked at this fire: {names}.", "Anything else"))
    if wanted:
        names = ", ".join(wanted)
        found.append(Assumption(f"Not on this sheet yet, still to be made: {names}.", "More food"))
    return found
