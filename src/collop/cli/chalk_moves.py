"""Commands of the two counter moves: ``whole`` (or cut) and ``markdown``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["markdown", "whole"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def whole(file: str, *, as_json: bool) -> None:
    """Tell whether a piece earns more whole or cut, from FILE (- for standard input).

    Example: collop whole docs/examples/whole.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk import whole as work_out

        return work_out

    answer_file(file, solve, _whole_lines, as_json=as_json)


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def markdown(file: str, *, as_json: bool) -> None:
    """Tell what to charge for ageing stock, and what to move, from FILE (- for standard input).

    Example: collop markdown docs/examples/markdown.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk import markdown as work_out

        return work_out

    answer_file(file, solve, _markdown_lines, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<28}" + "".join(f"{cell:>14}" for cell in cells)


def _whole_lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    yield plan["say"]
    yield _row(f"per {unit} of {plan['piece']}", "share", "price", "brings")
    for term in plan["terms"]:
        yield _row(term["name"], f"{term['share']:.3f}", term["price"], term["per_unit"])
    yield from _even_lines(plan)
    if plan["at"]:
        for turn in plan["at"]["turns"]:
            if turn["price"] is not None:
                yield f"  Both earn the same with {turn['name']} at {turn['price']}."
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _even_lines(plan: Plan) -> Iterator[str]:
    """Yield the way from what the cuts bring to the price at which whole earns as much."""
    for key in ("labour", "packaging", "risk"):
        if float(plan[f"{key}_per_unit"]):
            yield _row(key, "", "", f"-{plan[f'{key}_per_unit']}")
    yield _row("cut", "", "", plan["separated_per_unit"])
    if float(plan["whole_cost_per_unit"]):
        yield _row("labour and packing, whole", "", "", plan["whole_cost_per_unit"])
    if plan["whole_keeps"] != 1:
        yield _row("divided by what whole keeps", "", "", f"/ {plan['whole_keeps']:g}")
    yield _row("break-even, sold whole", "", "", plan["break_even"])


def _markdown_lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    yield plan["say"]
    if plan["steps"]:
        yield _row("period", "price", "sells", "left")
    for step in plan["steps"]:
        yield _row(str(step["period"]), step["price"], step["sells"], step["left"])
    for line in plan["rest"]:
        name = line["way"] if line["way"] == line["to"] else f"{line['way']} ({line['to']})"
        yield _row(name, f"{line['weight']} {unit}", line["value"])
    yield _row("in all", "", plan["value"])
    if plan["clearing"]["price"]:
        yield _row(f"clearing all at {plan['clearing']['price']}", "", plan["clearing"]["value"])
    yield _row("leaving the price alone", "", plan["as_is"]["value"])
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
