"""Steps of the clock in few words, as the paper has them: who is put on, moved and taken off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from collop.fire.picture_rows import HEAT_WORDS, degrees

__all__ = ["ShortStep", "short_steps"]

Step = dict[str, Any]


@dataclass(frozen=True, slots=True)
class ShortStep:
    """What to do at one time with one tool.

    Attributes
    ----------
    at : str
        Local time as the plan has it.
    tool : str
        ``raw``, ``cooked``, ``meat-free`` or ``none``.
    moves : bool
        Whether something is put on, moved or taken off, or a fire is lit.
    """

    at: str
    tool: str
    names: tuple[str, ...]
    what: str
    moves: bool

    @property
    def text(self) -> str:
        """Return it in words."""
        return f"{', '.join(self.names)}: {self.what}" if self.names else self.what


def short_steps(plan: dict[str, Any]) -> list[ShortStep]:
    """Return the steps of a plan by the clock, those alike in one.

    What a load does at its start, its changes and its end is told from the load; all else keeps
    the words of the plan. Fires are lit where the plan says so before the meal.
    """
    items = {item["id"]: item for item in plan["items"]}
    lit = [
        ShortStep(one["at"], "none", (), one["what"], moves=True)
        for one in plan["before"]
        if one["kind"] == "light"
    ]
    told = [_short(plan, items.get(step["item"]), step) for step in plan["steps"]]
    return list(_together(sorted([*lit, *told], key=lambda step: step.at)))


def _short(plan: dict[str, Any], item: dict[str, Any] | None, step: Step) -> ShortStep:
    at, minute, tool = step["at"], step["at_min"], step["tool"]
    found = None if item is None else _of_a_load(plan, item, minute)
    if item is None or found is None:
        return ShortStep(at, tool, (), step["what"], moves=item is None)
    name, what = found
    return ShortStep(at, tool, (name,), what, moves=True)


def _of_a_load(plan: dict[str, Any], item: dict[str, Any], minute: int) -> tuple[str, str] | None:
    """Return name and words if a load of an item goes on, moves or comes off at a minute."""
    for load in item["loads"]:
        name = item["name"]
        if load["waves"] > 1:
            name += f" ({load['wave']} of {load['waves']})"
        for stage in load["stages"]:
            if stage["start_min"] == minute:
                return name, HEAT_WORDS[stage["heat"]]
        if load["off_min"] == minute:
            if item["minimum"] is None:
                return name, "off"
            return name, f"off at {_own_scale(item, plan['unit'])}"
    return None


def _own_scale(item: dict[str, Any], unit: str) -> str:
    """Return at which core it comes off, in the asked scale; both stand beside its bar."""
    both = degrees(item["pull_f"], item["pull_c"], unit)
    return both.partition(" (")[0]


def _together(steps: list[ShortStep]) -> Iterator[ShortStep]:
    """Yield the steps; neighbours of one time, tool and act become one."""
    last: ShortStep | None = None
    for step in steps:
        if (
            last
            and last.names
            and (last.at, last.tool, last.what) == (step.at, step.tool, step.what)
        ):
            last = replace(last, names=(*last.names, *step.names))
            continue
        if last:
            yield last
        last = step
    if last:
        yield last
