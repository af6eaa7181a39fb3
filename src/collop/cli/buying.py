"""Command ``buying``: offers of suppliers on one basis, from a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["buying"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def buying(file: str, *, as_json: bool) -> None:
    """Lay offers of suppliers side by side for a unit to sell, from FILE (- for standard input).

    Example: collop buying docs/examples/buying.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk.buying import buying as compare

        return compare

    answer_file(file, solve, _lines, as_json=as_json)


def _lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    for one in plan["offers"]:
        yield f"{one['rank']}. {one['say']}"
        weights = ", ".join(f"{w['name']} {w['usual']} {plan['unit']}" for w in one["weights"])
        parts = ", ".join(f"{part['name']} {part['money']}" for part in one["parts"])
        yield f"   {weights}"
        yield f"   {parts}: {one['cost']['usual']}"
    for basket in plan["baskets"]:
        yield f"The same {basket['weight']} {plan['unit']} of cuts as {basket['of']}:"
        for one in basket["from"]:
            yield f"   {one['id']}: {one['cost']['usual']}"
    yield from plan["say"]
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
