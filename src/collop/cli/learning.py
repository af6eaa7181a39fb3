"""Commands on what a shop learns: ``appetite``, ``pace``, ``learned``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import answer_file, one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop import Shop

__all__ = ["appetite", "learned", "pace"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def appetite(file: str, *, as_json: bool) -> None:
    """Tell how eaters differ from the tables by what orders left, from FILE (- for standard input).

    Example: collop appetite docs/examples/appetite.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.spread.appetites import appetite as learn

        return learn

    answer_file(file, solve, _appetite_lines, as_json=as_json)


def _appetite_lines(plan: Plan) -> Iterator[str]:
    for one in plan["each"]:
        floor = "at least " if one["at_least"] else ""
        yield f"  {one['label'][:40]:<42}{floor}{one['ratio']:.2f} of the tables"
    yield plan["say"]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def pace(file: str, *, as_json: bool) -> None:
    """Tell what a line sells a day, by days of sales, from FILE (- for standard input).

    Example: collop pace docs/examples/pace.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.chalk.pace import pace as learn

        return learn

    answer_file(file, solve, lambda plan: iter([plan["say"]]), as_json=as_json)


@click.command()
@DATABASE
@click.option("--json", "as_json", is_flag=True, help="Print everything as JSON.")
def learned(path: str, *, as_json: bool) -> None:
    """Tell what the shop learned: appetites, boneless shares, paces of sale.

    Example: collop learned
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = _all_of(shop)
    if as_json:
        tell_json(found)
        return
    click.echo(found["appetite"]["say"])
    for cut in found["boneless"]:
        click.echo(f"  {cut['case_id']:<5} {cut['name'][:36]:<38} boneless {cut['learned']},"
                   f" {cut['written']} written down, {cut['tests']} tests")  # fmt: skip
    for one in found["paces"]:
        click.echo(f"  {one['case_id']:<5} {one['plan']['say']}")


def _all_of(shop: Shop) -> Plan:
    return {
        "schema": "collop.learned/1",
        "appetite": shop.learning.appetite(),
        "boneless": [
            {"case_id": cut.case_id, "name": cut.name, "written": f"{cut.written:f}",
             "learned": f"{cut.learned:f}", "tests": cut.tests}
            for cut in shop.learning.cuts()
        ],
        "paces": [
            {"case_id": one.case_id, "plan": dict(one.plan)} for one in shop.learning.paces()
        ],
    }  # fmt: skip
