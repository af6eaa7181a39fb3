"""Commands of the cutting room: ``cuttingtest``, ``yields`` and ``balance``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["balance", "cuttingtest", "yields"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def cuttingtest(file: str, *, as_json: bool) -> None:
    """Work out what a trimmed cut costs, from FILE (- for standard input).

    Example: collop cuttingtest docs/examples/cuttingtest.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.carcass.cuttingtest_costing import cuttingtest as work_out

        return work_out

    answer_file(file, solve, _cuttingtest_lines, as_json=as_json)


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def yields(file: str, *, as_json: bool) -> None:
    """Combine published yields with the shop's own tests, from FILE (- for standard input).

    Example: collop yields docs/examples/yields.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.carcass.combining import combine_yields

        return combine_yields

    answer_file(file, solve, _yields_lines, as_json=as_json)


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def balance(file: str, *, as_json: bool) -> None:
    """Tell whether weights close, and make them close, from FILE (- for standard input).

    Example: collop balance docs/examples/balance.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.carcass.reconciling import reconcile

        return reconcile

    answer_file(file, solve, _balance_lines, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<28}" + "".join(f"{cell:>14}" for cell in cells)


def _cuttingtest_lines(plan: Plan) -> Iterator[str]:
    unit, per = plan["unit"], plan["price_unit"]
    if plan["name"]:
        yield plan["name"]
    yield _row("as-purchased cost", plan["as_purchased_cost"])
    for line in plan["credits"]:
        yield _row(line["part"], f"{line['weight']} {unit}", f"{line['yield_pct']:.2f} %",
                   f"-{line['value']}" if float(line["value"]) else "")  # fmt: skip
    yield _row("loss", f"{plan['loss_weight']} {unit}", f"{plan['loss_pct']:.2f} %")
    for line in plan["products"]:
        yield _row(line["part"], f"{line['weight']} {unit}", f"{line['yield_pct']:.2f} %",
                   line["cost"], f"{line['cost_per_unit']} /{per}")  # fmt: skip
    yield _row("net cost", f"{plan['net_weight']} {unit}", f"{plan['yield_pct']:.2f} %",
               plan["net_cost"], f"{plan['cost_per_unit']} /{per}")  # fmt: skip
    yield f"  cost factor {plan['cost_factor']:.4f}"
    yield from _further_lines(plan, per)
    if plan["closes"]:
        yield "  Closes."
    else:
        yield f"  DOES NOT CLOSE by {plan['gap_weight']} {unit}. {plan['likely']}"


def _further_lines(plan: Plan, per: str) -> Iterator[str]:
    """Yield what was asked beyond the cost a unit."""
    if "cooked_cost_per_unit" in plan:
        yield (
            f"  cooked: {plan['salable_weight']} {plan['unit']} to serve "
            f"({plan['cooked_yield_pct']:.2f} %), {plan['cooked_cost_per_unit']} /{per}, "
            f"factor {plan['cooked_cost_factor']:.4f}"
        )
    names = {
        "portion_cost": "portion cost",
        "true_cost": "plate, true cost",
        "menu_price": "menu price",
        "new_cost_per_unit": f"cost /{per} at the new price",
        "sales_value": "sales value",
        "gross_profit": "gross profit",
    }
    for key, name in names.items():
        if key in plan:
            yield _row(name, plan[key])
    if plan.get("margin_pct") is not None:
        yield f"  margin {plan['margin_pct']:.2f} % of the sale"
    if plan.get("markup_pct") is not None:
        yield f"  mark-up {plan['markup_pct']:.2f} % of the cost"


def _yields_lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield _row("part", "published", "combined", "give or take")
    for part in plan["parts"]:
        spread = "" if part["sd"] is None else f"{part['sd']:.4f}"
        more = [f"{part['next_weight']}"] if "next_weight" in part else []
        yield _row(part["part"], f"{part['published']:.4f}", f"{part['share']:.4f}", spread, *more)
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _balance_lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    told = f"chi-square {plan['chi_square']:.2f}, limit {plan['limit']:.2f}"
    if plan["closes"]:
        yield f"Closes ({told})."
        yield _row("", "reading", "weight")
        yield from _closed_lines(plan["whole"], 0)
    else:
        yield f"REFUSED: the weights do not close ({told}). Weigh again."
        for line in plan["sums"]:
            gap = "not all weighed" if line["z"] is None else f"{line['gap_weight']} {unit}"
            yield _row(line["whole"], gap)
        for cause in plan["likely"]:
            yield f"  {cause['say']}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _closed_lines(piece: Plan, depth: int) -> Iterator[str]:
    yield _row("  " * depth + piece["name"], piece["reading"] or "", piece["weight"])
    for part in piece.get("parts", ()):
        yield from _closed_lines(part, depth + 1)
    if piece.get("loss"):
        name = "  " * (depth + 1) + "kerf and loss"
        yield _row(name, f"({piece['loss']['usual']})", piece["loss"]["weight"])
