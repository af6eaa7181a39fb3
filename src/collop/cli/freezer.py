"""Command of a household's freezer order: ``freezer``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["freezer"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def freezer(file: str, *, as_json: bool) -> None:
    """Cut a half or quarter to a family's choices, from FILE (- for standard input).

    Example: collop freezer docs/examples/freezer.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.carcass.freezer import freezer_order

        return freezer_order

    answer_file(file, solve, _lines, as_json=as_json)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<44}" + "".join(f"{cell:>12}" for cell in cells)


def _packs(count: int) -> str:
    return "1 pack" if count == 1 else f"{count} packs"


def _lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    for part in plan["parts"]:
        yield from _part_lines(part, unit)
    room = plan["freezer"]
    yield _row("in all", _packs(plan["packs"]), f"{plan['take_home']} {unit}")
    yield (
        f"  freezer room {room['cubic_feet_low']} to {room['cubic_feet_high']} cubic feet,"
        f" {room['litres_low']} to {room['litres_high']} litres ({room['mark']})"
    )
    yield from _money_lines(plan, unit)
    for one in plan["storage"]:
        keep = "keeps its" if one["kind"] == "mince" else "keep their"
        yield f"  {one['kind']} {keep} quality {one['freezer']} in a freezer"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _part_lines(part: Plan, unit: str) -> Iterator[str]:
    yield (
        f"{part['tag']} {part['piece']}, share {part['share']}:"
        f" {part['weight']} {unit} {part['weight_is']}"
    ).strip()
    for line in part["lines"]:
        yield _row(line["label"], _packs(line["packs"]), f"{line['weight']} {unit}")
    for one in part["left"]:
        yield _row(f"left: {one['what']}", "", f"{one['weight']} {unit}")
    yield _row("saw dust and drip", "", f"{part['loss']} {unit}")
    yield (
        f"  {part['take_home']} + {part['left_weight']} + {part['loss']} = {part['weight']}"
        f" {unit}. {'Closes.' if part['closes'] else 'DOES NOT CLOSE.'}"
    )
    if part["weighed"]:
        found = part["weighed"]
        yield (
            f"  weighed: {_packs(found['packs'])}, {found['take_home']} {unit},"
            f" {found['over_plan']} against the plan"
        )


def _money_lines(plan: Plan, unit: str) -> Iterator[str]:
    money = plan["money"]
    for line in money["lines"]:
        yield _row(line["what"], line["money"]) + f"   {line['how']}"
    yield _row("total", money["total"])
    if money["per_take_home"]:
        yield _row(f"for each {unit} taken home", money["per_take_home"])
    if money["board"]:
        yield (
            f"  at the board {money['board_weight']} {unit} of these packs would be"
            f" {money['board']}; {money['no_board_weight']} {unit} have no like there"
        )
    if money["half_cent"]:
        yield f"  an exact half cent was rounded {plan['rounding']}"
