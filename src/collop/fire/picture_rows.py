"""What the picture shows of a plan: one row for each load, in words and minutes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from collop.measures import Weight, WeightUnit

__all__ = [
    "HEAT_WORDS",
    "OWN_TRAY",
    "Row",
    "best_text",
    "clock_at",
    "degrees",
    "minimum_text",
    "rows_of",
    "weight_text",
]

#: What is said of food on a tray of its own; the last words of where it lies.
OWN_TRAY = "own tray"
#: From so far above the published minimum a wanted core is told beside it [degF].
_WELL_ABOVE_F = 5

#: How a place on the fire is told.
HEAT_WORDS: Mapping[str, str] = {
    "direct": "over the coals",
    "indirect": "cool side, lid on",
    "plate": "on the plate",
    "oven": "in the oven",
    "pot": "in the pot",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One load as the picture draws it; minutes count from the first serving time.

    Attributes
    ----------
    what, where : str
        Where it lies, when it moves and how it rests; the same without the rest.
    stages : tuple of (heat, start, end)
        Where it lies and from when to when.
    has_rule : bool
        Whether `minimum` is a temperature.
    best : str
        The core it is wanted at, where that is well above the minimum; else empty.
    has_loads : bool
        Whether it is one of several loads.
    is_made_up : bool
        Whether `what` and `where` begin with how it is made up for the fire.
    early, late : int
        When it is done in ten and in ninety of a hundred fires.
    """

    item: str
    name: str
    weight: str
    what: str
    where: str
    minimum: str
    has_rule: bool
    best: str
    has_loads: bool
    is_made_up: bool
    start: int
    off: int
    ready: int
    eat: int
    early: int
    late: int
    starts_at: str
    off_at: str
    stages: tuple[tuple[str, int, int], ...]


def clock_at(plan: dict[str, Any], minute: int) -> str:
    """Return the clock time of a minute counted from the first serving time."""
    return f"{_first(plan) + timedelta(minutes=minute):%H:%M}"


def _first(plan: dict[str, Any]) -> datetime:
    return datetime.fromisoformat(plan["serve"][0]["at"])


def _minute(plan: dict[str, Any], at: str) -> int:
    return round((datetime.fromisoformat(at) - _first(plan)).total_seconds() / 60)


def degrees(fahrenheit: int, celsius: int, unit: str) -> str:
    """Return a temperature in both scales, the asked one first."""
    f, c = f"{fahrenheit} \N{DEGREE SIGN}F", f"{celsius} \N{DEGREE SIGN}C"
    return f"{c} ({f})" if unit == "C" else f"{f} ({c})"


def minimum_text(item: dict[str, Any], unit: str) -> str:
    """Return the least core an item comes off at, in both scales; words where there is none.

    The published minimum, or more for what cools in its rest.
    """
    if item["minimum"] is None:
        return "meat-free, own tool" if item["meat_free"] else "no minimum"
    return degrees(*_due(item), unit)


def _due(item: dict[str, Any]) -> tuple[int, int]:
    """Return the least core it comes off at [degF, degC]; older plans tell the minimum alone."""
    told = item["minimum"]
    if item.get("due_f") is None:
        return told["core_f"], told["core_c"]
    return item["due_f"], item["due_c"]


def best_text(item: dict[str, Any], unit: str) -> str:
    """Return ``best 190 °F (88 °C)`` for what is wanted well above its minimum; else empty."""
    told, target = item["minimum"], item["target_f"]
    if told is None or target is None or target < told["core_f"] + _WELL_ABOVE_F:
        return ""
    return f"best {degrees(target, item['target_c'], unit)}"


def weight_text(pounds: str, unit: str) -> str:
    """Return a weight given in pounds, in pounds or kilograms with one or two decimals."""
    if unit == "kg":
        return Weight.of(pounds, WeightUnit.LB).text(WeightUnit.KG, 2)
    return f"{Decimal(pounds).normalize():f} lb"


def rows_of(plan: dict[str, Any], *, unit: str = "F", weight_unit: str = "lb") -> list[Row]:
    """Return a row for each load of a plan, by the clock.

    Parameters
    ----------
    plan : dict
        A ``collop.fire.plan/1`` object.
    unit, weight_unit : str
        ``F`` or ``C`` is told first; ``lb`` or ``kg``.
    """
    rows = [
        _row(plan, item, load, unit, weight_unit)
        for item in plan["items"]
        for load in item["loads"]
    ]
    return sorted(rows, key=lambda row: (row.start, row.off, row.item))


def _row(
    plan: dict[str, Any], item: dict[str, Any], load: dict[str, Any], unit: str, weight_unit: str
) -> Row:
    stages = tuple((one["heat"], one["start_min"], one["end_min"]) for one in load["stages"])
    start, off = stages[0][1], load["off_min"]
    return Row(
        item=item["id"],
        name=item["name"],
        weight=weight_text(load["weight_lb"], weight_unit),
        what=", ".join([*_where(item, load), *_then(item, load, unit)]),
        where=", ".join(_where(item, load)),
        minimum=minimum_text(item, unit),
        has_rule=item["minimum"] is not None,
        best=best_text(item, unit),
        has_loads=load["waves"] > 1,
        is_made_up=bool(item.get("made")),
        start=start,
        off=off,
        ready=load["ready_min"],
        eat=load["eat_min"],
        early=_minute(plan, load["early"]),
        late=_minute(plan, load["late"]),
        starts_at=clock_at(plan, start),
        off_at=clock_at(plan, off),
        stages=stages,
    )


def _where(item: dict[str, Any], load: dict[str, Any]) -> list[str]:
    """Return in words how a load is made up, where it lies, and when it moves."""
    first, *later = load["stages"]
    parts = [f"load {load['wave']} of {load['waves']}"] if load["waves"] > 1 else []
    if item.get("made"):
        parts.append(item["made"])
    parts.append(HEAT_WORDS[first["heat"]])
    parts += [f"{_hour(one['start'])} {HEAT_WORDS[one['heat']]}" for one in later]
    if load["eat_min"] > 0 and load["wave"] > 1:
        parts.append(f"eat {_hour(load['eat'])}")
    return [*parts, OWN_TRAY] if load["own_tray"] else parts


def _then(item: dict[str, Any], load: dict[str, Any], unit: str) -> list[str]:
    """Return in words at which core it comes off, and how it rests."""
    parts = _pull(item, unit)
    rest = load["ready_min"] - load["off_min"]
    if rest:
        parts.append(f"rest {rest} min")
    if load["wait_min"]:
        parts.append(f"wait {load['wait_min']} min")
    return parts


def _pull(item: dict[str, Any], unit: str) -> list[str]:
    """Return at which core it comes off, where that is a figure not told beside it."""
    if item["minimum"] is None or item["pull_f"] is None or item["pull_f"] == _due(item)[0]:
        return []
    if best_text(item, unit) and item["pull_f"] == item["target_f"]:
        return []
    return [f"off at {degrees(item['pull_f'], item['pull_c'], unit)}"]


def _hour(at: str) -> str:
    return f"{datetime.fromisoformat(at):%H:%M}"
