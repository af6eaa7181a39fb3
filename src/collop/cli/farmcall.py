"""Command of the week's order: ``farmcall``, how many whole animals to have sent."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["farmcall"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def farmcall(file: str, *, as_json: bool) -> None:
    """Work out how many whole animals to order, from FILE (- for standard input).

    Example: collop farmcall docs/examples/farmcall.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.bench.farmcall import farmcall as work_out

        return work_out

    answer_file(file, solve, _lines, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<28}" + "".join(f"{cell:>12}" for cell in cells)


def _lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield from plan["say"]
    unit = plan["unit"]
    yield _row("", "order", unit, "cost", "one more", "one less")
    for one in plan["orders"]:
        less = one["one_less"]["money"] if one["one_less"] else ""
        yield _row(one["name"], str(one["count"]), one["weight"], one["cost"],
                   one["one_more"]["money"], less)  # fmt: skip
    spread = plan["spread"]
    yield (
        f"  brings {plan['expected']} in the mean: one week in ten under {spread['low']}, half of "
        f"them {spread['usual']} or more, one in ten over {spread['high']}"
    )
    if plan["room"]:
        binds = ": the rail sets the order" if plan["room"]["binds"] else ""
        yield f"  rail {plan['room']['used']} of {plan['room']['most']} {unit}{binds}"
    for one in [*plan["standing"], *plan["bookings"]]:
        yield f"  {one['name']}: {one['say']}"
    yield _row(f"mean week, {unit}", "made", "wanted", "short", "surplus", "runs short")
    for one in plan["cuts"]:
        yield _row(one["name"], one["made"], one["wanted"], one["short"], one["surplus"],
                   f"{one['chance_short']:.0%}")  # fmt: skip
    for one in plan["ends"]:
        yield f"  {one['say']}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
