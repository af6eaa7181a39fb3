"""Command of days that are over: ``replay``, with another cutting plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["replay"]

Plan = dict[str, Any]
_ROWS = (
    ("sold at the glass", "sales"), ("bookings", "bookings"), ("by-products", "by_products"),
    ("left, sound", "left"), ("still hanging", "kept"), ("labour", "labour"),
)  # fmt: skip
_THREE = ("actual", "seen", "estimated")


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def replay(file: str, *, as_json: bool) -> None:
    """Replay past days with another cutting plan, from FILE (- for standard input).

    Example: collop replay docs/examples/replay.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.bench.replaying import replay as work_out

        return work_out

    answer_file(file, solve, _lines, as_json=as_json)


def _row(name: str, cells: Iterator[str]) -> str:
    return f"  {name:<26}" + "".join(f"{cell:>14}" for cell in cells)


def _lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield from plan["say"]
    yield _row("", iter(("as it was", "seen to sell", "estimated")))
    for name, key in _ROWS:
        yield _row(name, (plan[one]["money"][key] for one in _THREE))
    yield _row("contribution", (plan[one]["contribution"] for one in _THREE))
    for name in ("sold", "booked", "binned", "left", "short", "short_estimated"):
        yield _row(f"{name.replace('_', ', ')} {plan['unit']}", (plan[one][name] for one in _THREE))
    yield _row("minutes", (plan[one]["minutes"] for one in _THREE))
    yield from _difference(plan)
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _difference(plan: Plan) -> Iterator[str]:
    """Yield the lines that the difference by what was seen adds up from."""
    for row in plan["lines"]["seen"]:
        yield _row(row["name"][:26], iter(("", row["more"])))
    if plan["lines"]["seen"]:
        yield _row("together", iter(("", plan["more"]["seen"])))
