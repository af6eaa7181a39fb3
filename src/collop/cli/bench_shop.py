"""Commands on the open shop's cutting plan: ``worths`` of its cuts, ``benchplan`` as of now."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from collop.cli.bench import tell_bench
from collop.cli.progress import told_while_it_works
from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from datetime import datetime

    from collop.shop import Shop

__all__ = ["benchplan", "worths"]


def _worths_json(shop: Shop, on: date | None) -> dict[str, Any]:
    """Return the worths by the plan in force; one made now, and not kept, if there is none."""
    from collop.bench import bench
    from collop.shop.bench_worth import worth_sold

    kept, number, made = shop.bench.latest(), None, shop.now()
    if kept is not None and kept.is_current:
        problem, plan, number, made = kept.problem, kept.plan, kept.number, kept.at
    else:
        problem = shop.bench.problem(reasons=False)
        plan = bench(problem)
    prices = {cut["id"]: cut["price"] for cut in problem["cuts"]}
    days = [date.fromisoformat(day) for day in plan["days"]]
    at = min(len(days) - 1, max(0, ((on or days[0]) - days[0]).days))
    return {
        "plan": number,
        "at": made.isoformat(),
        "day": days[at].isoformat(),
        "currency": plan["currency"],
        "unit": plan["unit"],
        "cuts": [
            {
                "case_id": cut["id"],
                "name": cut["name"],
                "price": prices[cut["id"]],
                "worth": cut["worth"][at],
                "elsewhere": f"{worth_sold(cut, at):f}",
            }
            for cut in plan["cuts"]
        ],
    }


@click.command()
@DATABASE
@click.option("--on", "moment", type=click.DateTime(["%Y-%m-%d"]), help="On this day of the plan.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def worths(path: str, moment: datetime | None, *, as_json: bool) -> None:
    """Tell what one more of each case line is worth, and what one sold would bring elsewhere.

    Example: collop worths --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = _worths_json(shop, None if moment is None else moment.date())
    if as_json:
        tell_json(found)
        return
    by = f"plan {found['plan']}" if found["plan"] is not None else "a plan made now, not kept"
    click.echo(
        f"Worth of a {found['unit']} on {date.fromisoformat(found['day']):%a %d %b}, by {by}"
    )
    click.echo(f"  {'':<36}{'board':>9}{'one more':>11}{'elsewhere':>11}")
    for one in found["cuts"]:
        cells = f"{_cents(one['worth']):>11}{_cents(one['elsewhere']):>11}"
        click.echo(f"  {one['case_id']:<5}{one['name']:<31.31}{_cents(one['price']):>9}{cells}")


def _cents(text: str) -> str:
    return f"{Decimal(text):.2f}"


@click.command()
@DATABASE
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def benchplan(path: str, *, as_json: bool) -> None:
    """Tell the cutting plan of the shop as it stands now; nothing is kept.

    Example: collop benchplan --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop, told_while_it_works():
        plan = shop.bench.plan()
    if as_json:
        tell_json(plan)
        return
    tell_bench(plan)
