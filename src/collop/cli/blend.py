"""The command ``blend``: trim into mince and links."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["blend"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def blend(file: str, *, as_json: bool) -> None:
    """Blend trim into mince and links at the least cost, from FILE (- for standard input).

    Example: collop blend docs/examples/blend.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.bench.blend import blend as work_out

        return work_out

    answer_file(file, solve, _lines, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<28}" + "".join(f"{cell:>14}" for cell in cells)


def _lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    if plan["no"] is not None:
        yield from _no_lines(plan["no"])
    for recipe in plan["recipes"]:
        yield from _recipe_lines(recipe, plan["unit"])
    if plan["bins"]:
        yield from _bin_lines(plan)
    if plan["cost"] is not None:
        takings = "" if plan["takings"] is None else f", brings {plan['takings']}"
        yield f"  costs {plan['cost']}{takings}; proven to within {plan['proof']['gap']}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _no_lines(no: Plan) -> Iterator[str]:
    yield f"NO. {no['say']}"
    for one in no["nearest"][1:]:
        yield f"  Or: {one['say']}"
    for one in no["published"]:
        yield f"  Stays: {one}"


def _recipe_lines(recipe: Plan, unit: str) -> Iterator[str]:
    yield recipe["say"]
    for one in recipe["bins"]:
        yield _row(one["name"], f"{one['weight']} {unit}", f"{100 * one['share']:.1f} %")
    for one in recipe["added"]:
        yield _row(one["name"], f"{one['weight']} {unit}")
    if recipe["fat"] is not None:
        yield f"  {_held(recipe)}"
    yield from _links_lines(recipe, unit)
    yield from (f"  {limit['say']}" for limit in recipe["limits"] if limit["say"])
    if recipe["verdict"]:
        for line in recipe["verdict"]["lines"]:
            yield f"  {line['say']} ({line['source']})"
        for reminder in recipe["verdict"]["reminders"]:
            yield f"  Mind: {reminder}"


def _held(recipe: Plan) -> str:
    told = recipe["lean_fat"] or f"fat {100 * recipe['fat']:.1f} % of the meat"
    protein = recipe["protein"]
    return str(told) + ("" if protein is None else f", protein {100 * protein:.1f} %")


def _links_lines(recipe: Plan, unit: str) -> Iterator[str]:
    """Yield pieces, fillings of the mixer, and what must be declared."""
    if recipe["pieces"] is not None:
        yield f"  {recipe['pieces']} pieces, {recipe['over']} {unit} over"
    for batch in recipe["batches"]:
        parts = [f"{one['name']} {one['weight']}" for one in (*batch["bins"], *batch["added"])]
        yield f"  {batch['times']} x {batch['finished']} {unit}: {', '.join(parts)}"
    if recipe["contains"]:
        yield f"  contains {', '.join(recipe['contains'])}"
    if recipe["casing"]:
        yield f"  casing: {recipe['casing']}"


def _bin_lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    yield _row("bin", "used", "left", f"saves /{unit}", "enters at")
    for one in plan["bins"]:
        left = "" if one["left"] is None else f"{one['left']} {unit}"
        yield _row(one["name"], f"{one['used']} {unit}", left, one["saves"] or "",
                   one["enters_at"] or "")  # fmt: skip
