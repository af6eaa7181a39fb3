"""Command ``heat``: how a piece heats, when its core gets there, and how sure that is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["heat"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def heat(file: str, *, as_json: bool) -> None:
    """Work out how a piece heats, from FILE (- for standard input).

    Example: collop heat docs/examples/heat.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.fire.heat import heat as work_out

        return work_out

    answer_file(file, solve, _lines, as_json=as_json)


def _lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    if plan["minutes_to_core"] is not None:
        yield f"  core reached after {plan['minutes_to_core']:.1f} min"
    uppers = plan["upper_c"] or [None] * len(plan["core_c"])
    rows = zip(plan["core_c"], plan["surface_c"], uppers, plan["theta"], strict=True)
    for number, (core, surface, upper, theta) in enumerate(rows, start=1):
        other = "" if upper is None else f", upper {upper:.1f} C"
        share = "" if theta is None else f", theta {theta:.4f}"
        yield f"  time {number}: core {core:.1f} C, surface {surface:.1f} C{other}{share}"
    if plan["rest"]:
        rest = plan["rest"]
        yield (
            f"  rest: from {rest['pull_c']:.1f} C up to {rest['peak_c']:.1f} C "
            f"(+{rest['rise_c']:.1f}) after {rest['peak_min']:.0f} min"
        )
    if plan["bands"]:
        yield from _bands(plan["bands"])
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _bands(bands: Plan) -> Iterator[str]:
    for key, word, unit in (("minutes_to_core", "minutes", "min"), ("rise_c", "rise", "C")):
        if bands[key]:
            told = ["never" if one is None else f"{one:g}" for one in bands[key].values()]
            yield f"  {word}: {told[0]} to {told[2]} {unit}, middle {told[1]} (80 of 100)"
    if bands["reached"] < 1:
        yield f"  {100 * bands['reached']:.1f} of 100 samples get there."
