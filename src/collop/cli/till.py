"""The till's sum: ``till`` adds tax by class and tells what is paid in cash."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["till"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def till(file: str, *, as_json: bool) -> None:
    """Add a slip up: lines, tax by class, total, and cash to five cents (- for standard input).

    Example: collop till docs/examples/till.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.rules.till import till as add_up

        return add_up

    answer_file(file, solve, _lines, as_json=as_json)


def _lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield f"  {'before tax':<24}{plan['before_tax']:>12}"
    for one in plan["taxes"]:
        rate = "no rate" if one["percent"] is None else f"{one['percent']} %"
        yield f"  {one['tax_class'] + ', ' + rate:<24}{one['tax']:>12}"
    yield f"  {'total':<24}{plan['total']:>12}"
    if float(plan["paid"]):
        yield f"  {'paid before':<24}{plan['paid']:>12}"
    cash = plan["cash"]
    yield f"  {'due':<24}{plan['due']:>12}"
    if cash["rule"] != "off":
        yield f"  {'in cash':<24}{cash['to_pay']:>12}  ({cash['rule']}, {cash['rounding']})"
    for note in plan["cautions"]:
        yield f"Mind: {note}"
    yield "Rates and classes are the shop's own; ask your tax authority."
