"""How sure a sheet is, in words: the same on paper and page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

__all__ = ["eaten", "sure_lines", "unsure_line"]


def eaten(plan: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the serving times at which something is eaten, in their order."""
    wanted = {item["serve"] for item in plan["items"]}
    return [one for one in plan["serve"] if one["id"] in wanted]


def _sure(plan: dict[str, Any]) -> Sequence[dict[str, Any]]:
    if plan["answer"] == "no":
        return []
    return [one for one in eaten(plan) if one["ready_chance"] is not None]


def sure_lines(plan: dict[str, Any]) -> list[str]:
    """Return how often each meal is ready in time, a line each; none for a fire that cannot be.

    Parameters
    ----------
    plan : dict
        A ``collop.fire.plan/1`` object.
    """
    told = _sure(plan)
    return [
        f"{_what(plan, one, len(told))} in {round(100 * one['ready_chance'])} of 100 fires"
        for one in told
    ]


def _what(plan: dict[str, Any], serving: dict[str, Any], count: int) -> str:
    at = serving["at"][11:16]
    loads = [load for item in plan["items"] if item["serve"] == serving["id"]
             for load in item["loads"]]  # fmt: skip
    if len({load["eat"] for load in loads}) <= 1:
        return f"all ready at {at}"
    whose = f" from {at} on" if count > 1 else ""
    return f"each round{whose} at its time,"


def unsure_line(plan: dict[str, Any]) -> str:
    """Return what to do where a meal is less sure than was asked; else an empty text."""
    aim = round(100 * plan["chance"])
    if all(round(100 * one["ready_chance"]) >= aim for one in _sure(plan)):
        return ""
    return (
        f"Less sure than we like (aim: {aim} of 100): a bigger fire, or one dish less, makes it"
        " surer."
    )
