"""Commands on what buyers take: ``clearing`` prices, and the ``demand`` they rest on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["clearing", "demand"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def clearing(file: str, *, as_json: bool) -> None:
    """Find the prices that sell the whole animal, from FILE (- for standard input).

    Example: collop clearing docs/examples/clearing.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk import clearing as work_out

        return work_out

    answer_file(file, solve, _clearing_lines, as_json=as_json)


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def demand(file: str, *, as_json: bool) -> None:
    """Tell how sales of a cut answer its price, from FILE (- for standard input).

    Example: collop demand docs/examples/demand.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk import demand as work_out

        return work_out

    answer_file(file, solve, _demand_lines, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<28}" + "".join(f"{cell:>14}" for cell in cells)


_BINDS = {"none": "", "cap": "at its cap", "floor": "at its floor", "cleared": "clears"}


def _clearing_lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    yield _row("cut up", "weight")
    for way in plan["activities"]:
        yield _row(way["name"], f"{way['weight']} {unit}")
    yield _row("sell", "weight", "price", f"worth /{unit}")
    for cut in plan["cuts"]:
        if cut["price"] is None:
            yield _row(cut["name"], "none")
            continue
        notes = [_BINDS[cut["binds"]]] if _BINDS[cut["binds"]] else []
        if cut["unsold"] != "0":
            notes.append(f"{cut['unsold']} {unit} unsold")
        yield _row(cut["name"], f"{cut['quantity']} {unit}", cut["price"], cut["worth"],
                   *([f"  {', '.join(notes)}"] if notes else []))  # fmt: skip
    yield _row("supply", "used", "left", f"worth /{unit}")
    for supply in plan["supply"]:
        yield _row(supply["name"], f"{supply['used']} {unit}", f"{supply['left']} {unit}",
                   supply["worth"])  # fmt: skip
    yield (
        f"  brings {plan['contribution']} over the costs of cutting; proven to within "
        f"{plan['proof']['gap']}"
    )
    if plan["one_more"] is not None:
        yield f"  one more animal would bring {plan['one_more']}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _demand_lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield plan["say"]
    if plan["price"] is not None:
        yield _row("usual week", f"{plan['quantity']} {plan['unit']}", f"at {plan['price']}")
    yield _row("", "elasticity", "give or take")
    if plan["own"] is not None:
        own = plan["own"]
        yield _row(f"own, {plan['points']} weeks", f"{own['elasticity']:.2f}",
                   f"{own['cautious_sd']:.2f}")  # fmt: skip
    yield _row("published", f"{plan['prior']['elasticity']:.2f}", f"{plan['prior']['sd']:.2f}")
    yield _row("together", f"{plan['elasticity']:.2f}", f"{plan['sd']:.2f}")
    if plan["prior"]["source"]:
        yield f"  source: {plan['prior']['source']}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
