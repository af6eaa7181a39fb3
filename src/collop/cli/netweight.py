"""The command that judges a lot of packages: ``netweight``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["netweight"]

Plan = dict[str, Any]
_FOUND = {"full": "", "short": "short", "beyond": "SHORT BEYOND ITS ALLOWANCE"}


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def netweight(file: str, *, as_json: bool) -> None:
    """Tell whether a lot of packages holds what its labels say, from FILE (- for standard input).

    Example: collop netweight docs/examples/netweight.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.rules.netweight import netweight as judge

        return judge

    answer_file(file, solve, _lines, as_json=as_json)


def _lines(plan: Plan) -> Iterator[str]:
    from collop.rules.netweight_saying import evened

    unit = plan["unit"]
    if plan["name"]:
        yield plan["name"]
    yield plan["say"]
    yield (
        f"{plan['checked']} of {plan['lot_size']} packages, Category {plan['category']}, "
        f"{plan['kind']} weights."
    )
    yield f"  {'package':<16}{'label':>10}{'net':>10}{'error':>10}{'allowed':>10}"
    for one in evened(plan["packages"]):
        figures = (one[key] for key in ("label", "net", "error", "allowance"))
        row = "".join(f"{figure:>10}" for figure in figures)
        yield f"  {one['name'][:15]:<16}{row}  {_FOUND[one['found']]}".rstrip()
    yield f"  average error {plan['mean_error']} {unit}"
    if plan["sel"] is not None and plan["s"] is not None:
        yield f"  allowed {plan['scf']} x {plan['s']} = {plan['sel']} {unit} short"
    for note in plan["cautions"]:
        yield f"Mind: {note}"
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
    for rule in plan["rules"]:
        mark = " (from memory, not checked)" if rule["status"] == "memory" else ""
        yield f"Rule {rule['id']}: {rule['text']}{mark}"
