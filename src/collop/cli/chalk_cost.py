"""Commands on cost: ``allocate``, what each part carries; ``putout``, how much to put out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["allocate", "putout"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def allocate(file: str, *, as_json: bool) -> None:
    """Share a joint cost out over what came of it, from FILE (- for standard input).

    Example: collop allocate docs/examples/allocate.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk.allocating import allocate as share_out

        return share_out

    answer_file(file, solve, _allocate_lines, as_json=as_json)


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def putout(file: str, *, as_json: bool) -> None:
    """Tell how much to put out when the demand is not known, from FILE (- for standard input).

    Example: collop putout docs/examples/putout.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk.putting_out import putout as work_out

        return work_out

    answer_file(file, solve, _putout_lines, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<24}" + "".join(f"{cell:>14}" for cell in cells)


def _pct(value: float | None) -> str:
    return "" if value is None else f"{value:.1f} %"


def _allocate_lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield _row("", "quantity", "cost", "a unit", "margin", "mark-up")
    for one in plan["products"]:
        yield _row(one["name"], f"{one['quantity']} {one['unit']}", one["allocated"],
                   one["cost_per_unit"], _pct(one["gross_margin_pct"]),
                   _pct(one["markup_pct"]))  # fmt: skip
    yield _row("shared out", "", plan["sum"])
    for one in plan["by_products"]:
        yield _row(one["name"], f"{one['quantity']} {one['unit']}", f"worth {one['value']}")
    total = plan["total"]
    if total is not None:
        yield (
            f"  All sold: {total['sales_value']}, gross margin {total['gross_margin']} "
            f"({_pct(total['gross_margin_pct']) or 'of nothing'})."
        )
    for one in plan["products"]:
        if "further" in one:
            yield f"  {one['further']['say']}"
    if plan["closes"]:
        yield f"  Closes within {plan['tolerance']} {plan['input_unit']}."
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _putout_lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    yield plan["say"]
    yield _row("critical ratio", f"{plan['critical_ratio']:.4f}")
    yield _row("best quantity", f"{plan['quantity']} {unit}")
    yield _row("sold, on average", f"{plan['expected_sold']} {unit}")
    yield _row("left, on average", f"{plan['expected_left']} {unit}")
    yield _row("profit, on average", plan["expected_profit"])
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
