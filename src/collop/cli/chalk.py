"""The board of one animal: ``chalk``, the prices that bring its cost and margin."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["board_told", "chalk"]

Plan = dict[str, Any]
_HELD = {"free": "", "fixed": "fixed", "floor": "at its floor", "cap": "at its cap"}


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def chalk(file: str, *, as_json: bool) -> None:
    """Price the cuts so that the whole animal pays, from FILE (- for standard input).

    Example: collop chalk docs/examples/chalk.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk.equation_plan import chalk as work_out

        return work_out

    answer_file(file, solve, board_told, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<28.28}" + "".join(f"{cell:>12}" for cell in cells)


def board_told(plan: Plan) -> Iterator[str]:
    """Yield a plan of ``collop.chalk.plan/1`` in words: sales needed, prices, what moves them."""
    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    yield _row("cost", plan["cost"])
    yield _row("by-products", f"-{plan['credit_value']}")
    yield _row("sales needed", plan["needed"])
    yield _row("", f"sells {unit}", "exact", "price", "now", "change")
    for cut in plan["cuts"]:
        yield _row(cut["name"], cut["sells"], cut["exact"], cut["price"], cut["present"] or "",
                   cut["change"] or "").rstrip() + f"  {_HELD[cut['why']]}".rstrip()  # fmt: skip
    margin = "none" if plan["margin"] is None else f"{plan['margin'] * 100:.2f} %"
    over = Decimal(plan["over"]).quantize(Decimal(plan["revenue"]))
    yield f"  This board brings {plan['revenue']}, {over} over; margin {margin}."
    if not plan["reached"]:
        yield f"  NOT REACHED: {plan['short_by']} short."
    now = plan["present"]
    if now is not None:
        over = now.get("over_by")
        enough = f", {over} over" if over else ", enough"
        short = f", {now['short_by']} short" if now["short_by"] else enough
        yield f"  The present board brings {now['revenue']}{short}."
        if now.get("guess"):
            yield f"  {now['guess']}."
    if plan["earned"] is not None:
        yield f"  Sold so far: {plan['earned']}."
    if plan["closes"]:
        yield f"  Weights close; loss {plan['loss_weight'] or 0} {unit}."
    for pull in plan["pulls"]:
        yield f"  {pull['say']}."
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
