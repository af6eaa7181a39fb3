"""Command ``longlist``: the weeks ahead of a shop, in animals."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from datetime import datetime
    from fractions import Fraction

    from collop.shop import LongList, SeasonCell

__all__ = ["longlist"]


def _number(count: Fraction) -> float:
    from collop.measures import decimal_of

    return float(decimal_of(count, 3))


def _cell(cell: SeasonCell) -> dict[str, Any]:
    return {
        "booked": _number(cell.booked),
        "aside": _number(cell.aside),
        "decides": cell.decides,
        "next_need": _number(cell.next_need),
        "next_cut": cell.next_cut,
        "hung": _number(cell.hung),
        "tags": list(cell.tags),
        "ordered": cell.ordered,
        "short": cell.short,
        "short_cut": cell.short_cut,
        "body": cell.body,
        "body_cut": cell.body_cut,
    }


def _json(sheet: LongList) -> dict[str, Any]:
    return {
        "weeks": [
            {
                "monday": one.monday.isoformat(),
                "open_days": [day.isoformat() for day in one.open_days],
                "opened": [day.isoformat() for day in one.opened],
                "closed": [day.isoformat() for day in one.closed],
                "bookings": one.bookings,
                "deposits": str(one.deposits),
                "currency": one.deposits.currency,
            }
            for one in sheet.weeks
        ],
        "rows": [
            {"species": row.species, "name": row.name, "cells": [_cell(one) for one in row.cells]}
            for row in sheet.rows
        ],
        "assumptions": list(sheet.notes),
    }


@click.command()
@DATABASE
@click.option("--week", type=click.DateTime(["%Y-%m-%d"]), help="Any day of the first week.")
@click.option("--weeks", type=int, default=12, show_default=True, help="How many weeks.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def longlist(path: str, week: datetime | None, weeks: int, *, as_json: bool) -> None:
    """Tell the weeks ahead in animals: booked, hung, ordered and short; and the deposits.

    Example: collop longlist --db demo.db --weeks 6
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        first = None if week is None else week.date()
        sheet = shop.season.long_list(first, weeks=weeks)
    if as_json:
        tell_json(_json(sheet))
        return
    for line in _lines(sheet):
        click.echo(line)


def _lines(sheet: LongList) -> Iterator[str]:
    for at, week in enumerate(sheet.weeks):
        days = " ".join(f"{day:%a}" for day in week.open_days) or "shut"
        yield (
            f"Week of {week.monday:%a %d %b}: {week.bookings} booked, deposits {week.deposits},"
            f" open {days}"
        )
        for row in sheet.rows:
            cell = row.cells[at]
            if not cell.is_empty:
                yield f"  {row.name}: {', '.join(_said(cell))}"
    for note in sheet.notes:
        yield f"Assumed: {note}"


def _said(cell: SeasonCell) -> Iterator[str]:
    if cell.booked:
        reason = f" for {cell.decides}" if cell.decides else ""
        yield f"booked {float(cell.booked):.1f}{reason}"
    if cell.aside:
        yield f"set aside {float(cell.aside):.1f}"
    if cell.hung:
        yield f"hung {float(cell.hung):.1f} ({', '.join(cell.tags)})"
    if cell.ordered:
        yield f"ordered {cell.ordered}"
    if cell.body:
        yield f"SHORT {cell.body}"
    if cell.short > cell.body:
        yield f"short {cell.short} for {cell.short_cut} only"
