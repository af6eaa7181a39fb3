"""The command ``standing``: standing orders, what is due of them, and making those bookings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from datetime import datetime

    from collop.measures import Weight
    from collop.shop import Due, MadeDue, Standing

__all__ = ["standing"]

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def _weight(weight: Weight | None) -> str | None:
    return None if weight is None else str(weight.decimal(weight.unit, 3))


def _order_json(one: Standing) -> dict[str, Any]:
    terms = one.terms
    return {
        "id": one.id, "name": terms.name, "state": one.state,
        "days": [_DAYS[day] for day in terms.days], "every_weeks": terms.every_weeks,
        "hour": f"{terms.hour:%H:%M}", "first_day": terms.first_day.isoformat(),
        "last_day": None if terms.last_day is None else terms.last_day.isoformat(),
        "on_account": terms.on_account,
        "lines": [
            {"case_id": line.case_id, "weight": _weight(line.weight), "cap": _weight(line.cap),
             "unit": line.weight.unit.value, "stand_in": line.stand_in}
            for line in terms.lines
        ],
    }  # fmt: skip


def _due_json(one: Due) -> dict[str, Any]:
    return {"order": one.order_id, "day": one.day.isoformat(), "moved": one.moved,
            "collect_at": one.collect_at.isoformat()}  # fmt: skip


def _made_json(one: MadeDue) -> dict[str, Any]:
    return {"order": one.order_id, "day": one.day.isoformat(), "booking": one.booking_id,
            "said": list(one.said)}  # fmt: skip


@click.command()
@DATABASE
@click.option("--until", type=click.DateTime(formats=["%Y-%m-%d"]),
              help="Last day of collection, by default a week ahead.")  # fmt: skip
@click.option("--make", is_flag=True, help="Make the bookings that are due, each once.")
@click.option("--by", help="Who makes them.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def standing(
    path: str, until: datetime | None, by: str | None, *, make: bool, as_json: bool
) -> None:
    """Tell the standing orders and what is due of them; with --make, make those bookings.

    Example: collop standing --until 2026-06-19 --make --by Ines --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        last = None if until is None else until.date()
        made: tuple[MadeDue, ...] = ()
        if make:
            from collop.errors import BadValue

            if not by:
                raise BadValue("Say who makes the bookings with --by.", where="by")
            made = shop.standing.make_due(last, by=by)
        orders, due = shop.standing.orders(), shop.standing.due(last)
    if as_json:
        tell_json({
            "orders": [_order_json(one) for one in orders], "due": [_due_json(one) for one in due],
            **({"made": [_made_json(one) for one in made]} if make else {}),
        })  # fmt: skip
        return
    for one in orders:
        days = ", ".join(_DAYS[day] for day in one.terms.days)
        weeks = "" if one.terms.every_weeks == 1 else f", every {one.terms.every_weeks} weeks"
        click.echo(f"{one.id:<5}{one.terms.name:<34.34}{days} {one.terms.hour:%H:%M}{weeks},"
                   f" {one.state}")  # fmt: skip
    for made_one in made:
        click.echo(f"Made {made_one.booking_id} of {made_one.order_id} for {made_one.day}."
                   f" {' '.join(made_one.said)}".rstrip())  # fmt: skip
    for due_one in due:
        click.echo(f"Due  {due_one.collect_at:%a %d %b %H:%M}  {due_one.order_id} {due_one.name}"
                   f"  {due_one.moved}".rstrip())  # fmt: skip
