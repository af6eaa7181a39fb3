"""Command of the fire: ``fire``, when each thing goes on, comes off and is eaten."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["fire", "fire_lines"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def fire(file: str, *, as_json: bool) -> None:
    """Plan a fire so that all is ready in time, from FILE (- for standard input).

    Example: collop fire docs/examples/fire.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.fire import fire as work_out

        return work_out

    answer_file(file, solve, fire_lines, as_json=as_json)


def fire_lines(plan: Plan) -> Iterator[str]:
    """Yield a ``collop.fire.plan/1`` for people, line by line."""
    if plan["name"]:
        yield plan["name"]
    for serving in plan["serve"]:
        sure = serving["ready_chance"]
        told = "" if sure is None else f"; all ready in {sure:.0%} of the fires that were tried"
        yield f"Eat at {serving['at'].replace('T', ' ')}{told}"
    for one in plan["dont_eats"]:
        count = "" if one["count"] is None else f"{one['count']} "
        yield f"DON'T EAT: {count}{one['what']}; {one['plate']}".rstrip("; ")
    if plan["answer"] == "no":
        yield "NO: it does not go on this fire."
    elif plan["answer"] == "rounds":
        yield "It is eaten in more than one round."
    for why in plan["why_no"]:
        yield f"  {why['say']}"
    for way in plan["nearest_yes"]:
        yield f"  or: {way['say']}"
    yield from _items(plan)
    yield from _clock(plan)
    for line in plan["cautions"]:
        yield f"Mind: {line}"
    for one in plan["assumptions"]:
        yield f"Assumed: {one['what']}"


def _items(plan: Plan) -> Iterator[str]:
    yield f"  {'':<30}{'minutes':>12}{'plan':>6}{'core':>18}"
    for item in plan["items"]:
        times = item["minutes"]
        band = f"{times['p10']} to {times['p90']}"
        planned = "-" if times["planned"] is None else str(times["planned"])
        core = "-"
        if item["pull_f"] is not None:
            core = f"{item['pull_f']} °F ({item['pull_c']} °C)"
            if plan["unit"] == "C":
                core = f"{item['pull_c']} °C ({item['pull_f']} °F)"
        yield f"  {item['name'][:29]:<30}{band:>12}{planned:>6}{core:>18}"


def _clock(plan: Plan) -> Iterator[str]:
    for one in plan["before"]:
        at = "" if one["at"] is None else one["at"].replace("T", " ")
        yield f"  {at:<18}{one['what']}"
    for step in plan["steps"]:
        tool = "" if step["tool"] == "none" else f"  [{step['tool']}]"
        yield f"  {step['at'].replace('T', ' '):<18}{step['what']}{tool}"
    for one in plan["after"]:
        yield f"  {'after':<18}{one['what']}"
