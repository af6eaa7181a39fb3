"""Command ``lethality``: what a core temperature over time has done, beside the minimum."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["lethality"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def lethality(file: str, *, as_json: bool) -> None:
    """Count a core temperature over time from FILE (- for standard input).

    The published minimum is told beside it, and is the rule.

    Example: collop lethality docs/examples/lethality.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.fire.lethality_plan import lethality as count

        return count

    answer_file(file, solve, _lines, as_json=as_json)


def _lines(plan: Plan) -> Iterator[str]:
    if "published_minimum" in plan:
        yield from _counted(plan)
    for temp, minutes in plan["required_min_at_c"].items():
        yield f"  {temp:>6} C  {minutes:10.2f} min required by the table"
    for note in plan.get("assumptions", ()):
        yield f"Assumed: {note}"


def _counted(plan: Plan) -> Iterator[str]:
    minimum = plan["published_minimum"]
    yield f"{'MET' if minimum['met'] else 'NOT MET'}: {minimum['text']}, {minimum['rule']}."
    yield f"  {minimum['say']}"
    yield f"  {minimum['source']}"
    word = "reached" if plan["reached"] else "not reached"
    yield (
        f"The core peaked at {plan['peak_c']:g} C. {plan['table']}: "
        f"{plan['log_reduction']:.2f} log of {plan['target']:g}, {word}."
    )
    for one in plan["kinetics"]:
        word = "reached" if one["reached"] else "not reached"
        yield f"  {one['name']}: {one['log_reduction']:.2f} log of {one['target']:g}, {word}."
    for caution in plan["cautions"]:
        yield f"Caution: {caution}"
