"""What happens after the meal, and what to mind beside the fire.

References
----------
.. [1] USDA FSIS, Serving temperatures and two-hour rule. Source id ``FSIS_SERVE``.
.. [2] FDA, Food Code 3-501.14, cooling. Source id ``FOODCODE_COOL``.
.. [3] National Cattlemen's Beef Association, Beef made easy: leftover cooked beef 3-4 days. Source
   id ``NCBA_EASY``; for other meat the same is common practice, no published source.
.. [4] Kansas State University Extension, Prepared turkey dinner safety tips. Source id ``KSTATE``.
.. [5] USDA FSIS, Grilling and food safety: never cook partly and finish later. Source id
   ``FSIS_GRILL``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from collop.errors import BadValue
from collop.fire.around_items import clock_text, hours_text, moment_of
from collop.fire.clocks import LONG_WAIT_MIN, degrees, out_minutes
from collop.fire.laying import Laying
from collop.fire.problem import COAL_HEATS, METHODS, FireItem, FireProblem
from collop.reference import cook_minimum
from collop.reference.keepings import (
    cooling_steps,
    hold_hot,
    keeping_row,
    storage_row,
    time_out,
)

__all__ = [
    "COMMON_PRACTICE",
    "NUMBER_RULES",
    "Advice",
    "after_steps",
    "cautions",
    "leftover_advice",
]

#: First of the cautions where there is meat; paper and page end with it.
NUMBER_RULES = "Probe the middle. Times are a guide, the number is the rule."

COMMON_PRACTICE = "common practice, no published source"
_COOLED_FROM, _COOLED_TO, _COLD = Decimal(135), Decimal(70), Decimal(41)  # names of the two rows


@dataclass(frozen=True, slots=True)
class Advice:
    """One sentence, and where its figures come from."""

    what: str
    source: str


def leftover_advice(air_f: float | None = None, unit: str = "F") -> tuple[Advice, ...]:
    """Return what to do with what is left over, each sentence with its source.

    Parameters
    ----------
    air_f : float or None
        Air temperature [degF]; above 90 the time out is half as long.
    unit : str
        ``F`` or ``C``: which temperature is spoken first.

    Raises
    ------
    BadValue
        If `unit` is neither.

    Examples
    --------
    >>> leftover_advice()[2].what
    'Reheat to 165 °F (74 °C) in the middle.'

    References
    ----------
    .. [1] FDA, Food Code 3-501.14. Source id ``FOODCODE_COOL``.
    """
    if unit not in {"F", "C"}:
        raise BadValue(f"{unit!r} is no unit of temperature; use F or C.")
    first, second = cooling_steps()
    hot, warm, cold = (degrees(one, unit, least=False) for one in (_COOLED_FROM, _COOLED_TO, _COLD))
    keeps = keeping_row("store", "leftover cooked beef, refrigerated")
    reheat = keeping_row("reheat", "leftovers")
    assert reheat.high is not None  # keeping_row asks for both figures
    _, out = time_out(air_f)
    return (
        Advice(
            f"Leftovers into the fridge within {hours_text(out_minutes(air_f))} of leaving the "
            f"heat. Off the bone, in shallow dishes: from {hot} to {warm} in {first.high} h, to "
            f"{cold} in {second.high} h more.",
            f"{out.citation()}; {first.citation()}; shallow dishes: {COMMON_PRACTICE}",
        ),
        Advice(
            f"Eat leftovers within {keeps.low} to {keeps.high} days.",
            f"{keeps.citation()}, of cooked beef; other meat alike: {COMMON_PRACTICE}",
        ),
        Advice(
            f"Reheat to {degrees(reheat.high, unit)} in the middle.",
            reheat.citation(),
        ),
    )


def after_steps(problem: FireProblem, laying: Laying | None = None) -> list[dict[str, Any]]:
    """Return what to do after the meal.

    Parameters
    ----------
    laying : Laying or None
        If given, the hour is named by which what came off first is to be in the fridge.

    Returns
    -------
    list of dict
        ``what``, one sentence or two; for its sources see `leftover_advice`.
    """
    found = [{"what": advice.what} for advice in leftover_advice(problem.air_f, problem.unit)]
    if laying is not None and laying.loads:
        off = min(load.off for load in laying.loads)
        by = moment_of(problem, off + out_minutes(problem.air_f))
        warm = degrees(hold_hot()[0], problem.unit)
        what = (
            f"What came off at {clock_text(problem, moment_of(problem, off))} is in the fridge by "
            f"{clock_text(problem, by)}, unless it was kept at {warm} or above."
        )
        found.insert(1, {"what": what})
    return found


def cautions(problem: FireProblem, laying: Laying | None = None) -> list[str]:
    """Return what to mind, the gravest first.

    Parameters
    ----------
    laying : Laying or None
        If given, long waits and later loads have their own lines.

    Returns
    -------
    list of str
        Whole sentences, each once.
    """
    return [
        *_probe(problem),
        *_clean(problem, laying),
        *_cold(problem),
        *_fire(problem),
        *(_laid(problem, laying) if laying is not None else ()),
        "Local food rules come first.",
    ]


def _meat(problem: FireProblem) -> list[FireItem]:
    return [item for item in problem.items if item.cook_as != "none"]


def _probe(problem: FireProblem) -> Iterator[str]:
    meat = _meat(problem)
    if not meat:
        return
    yield NUMBER_RULES
    # the numbers themselves stand beside each item; here is what a colour may and may not tell
    through = ["birds"] if any(item.cook_as == "poultry" for item in meat) else []
    if any(_is_minced(item) for item in meat):
        through += ["mince", "links"]
    if any(item.cook_as == "ground" and not _is_minced(item) for item in meat):
        through.append("needled, injected or rolled meat")
    if through:
        *most, last = through
        who = f"{', '.join(most)} and {last}" if most else last
        yield f"{who.capitalize()}: done all through, at their number, whatever the colour."
    if any(item.cook_as == "whole" for item in meat):
        rest = cook_minimum("whole").rest_min
        yield f"Whole cuts may be pink at their number; then {rest} min rest at least."
    yield "Probe clear of bone."


def _is_minced(item: FireItem) -> bool:
    return item.cook_as == "ground" and item.treatment in {"ground", "whole"}


def _clean(problem: FireProblem, laying: Laying | None) -> Iterator[str]:
    meat = _meat(problem)
    loads = laying.loads if laying is not None else ()
    free = {item.id for item in problem.items if item.cook_as == "none"}
    trays = {load.own_tray for load in loads if load.item in free}
    if meat:
        yield "Clean plate, clean tongs, clean hands for cooked food."
    if meat and free and trays == {True}:
        yield "Food without meat on a tray or foil of its own, with its own tongs and plate."
    elif meat and free:
        yield "Food without meat first on the clean grill, with its own tongs and plate."
    told = [f"{one.name} ({', '.join(one.allergens)})" for one in problem.items if one.allergens]
    if told:
        yield f"Own tongs, own plate for what has allergens: {'; '.join(told)}."


def _cold(problem: FireProblem) -> Iterator[str]:
    meat = _meat(problem)
    if not meat:
        return
    hot = keeping_row("time out", "above 90 F air")
    most = hours_text(out_minutes(problem.air_f))
    if problem.air_f is None:
        most += f" ({hot.high} h in air over {degrees(Decimal(90), problem.unit, least=False)})"
    yield f"Raw or cooked, nothing is out of fridge and heat over {most} in all."
    if any(item.frozen for item in problem.items):
        tap = keeping_row("thaw", "running water maximum").high
        assert tap is not None  # keeping_row asks for both figures
        yield (
            "Thaw in the fridge or in cold water, never on the counter; running water is no warmer "
            f"than {degrees(tap, problem.unit, least=False)}."
        )
    too_long: dict[str, list[str]] = {}
    for item in meat:
        told = _keeping(problem, item)
        if told:
            too_long.setdefault(told, []).append(item.name)
    for told, names in too_long.items():
        yield f"{'; '.join(names)}: {told}: collect later, or freeze."


def _keeping(problem: FireProblem, item: FireItem) -> str:
    """Return what is said of raw meat that is eaten later than it keeps; empty if it keeps."""
    if problem.now is None or item.frozen:
        return ""
    row = storage_row(item.cook_as)
    at = next(one.at for one in problem.servings if one.id == item.serving)
    days = (at.date() - problem.now.date()).days
    if row.low is None or row.high is None or days <= row.low:
        return ""
    keeps = f"{row.low} to {row.high}" if row.low < row.high else f"{row.high}"
    return f"raw, {keeps} days in the fridge at most, and eaten in {days}"


def _fire(problem: FireProblem) -> Iterator[str]:
    if any(len(METHODS[item.method]) > 1 for item in _meat(problem)):
        yield "From heat straight to heat: never cook meat partly and finish it later."
    heats = {heat for item in problem.items for heat in METHODS[item.method]}
    if heats & COAL_HEATS:
        yield "Fire only in the open air; embers indoors give a gas that kills."


def _laid(problem: FireProblem, laying: Laying) -> Iterator[str]:
    names = {item.id: item.name for item in problem.items}
    out = out_minutes(problem.air_f)
    long = [
        load
        for load in laying.loads
        if load.wait > LONG_WAIT_MIN or (load.wait > 0 and load.eat - load.off > out)
    ]
    if long:
        warm = degrees(hold_hot()[0], problem.unit)
        who = ", ".join(dict.fromkeys(names[load.item] for load in long))
        yield f"{who}: kept at {warm} or above until the table; probe it."
    later = [load for load in laying.loads if load.wave > 1]
    if later:
        who = ", ".join(dict.fromkeys(names[load.item] for load in later))
        yield f"{who}: later loads stay in the fridge until then."
