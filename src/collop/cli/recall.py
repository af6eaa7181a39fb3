"""Tracing forward: ``recall`` finds all that is affected, and who has it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop import Recall

__all__ = ["recall"]


@click.command()
@click.argument("name")
@DATABASE
@click.option(
    "--scope", type=click.Choice(["source", "lot"]), default="source",
    help="Begin at the animals above, or at the lot itself.",
)  # fmt: skip
@click.option("--csv", "as_csv", is_flag=True, help="Print a table for other programs.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def recall(name: str, path: str, scope: str, *, as_csv: bool, as_json: bool) -> None:
    """Find all that comes from the source of a ticket, lot or booking: where it is, who has it.

    Example: collop recall B-41F.03 --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        from collop.shop import recall_csv, recall_json

        found = shop.tracing.recall(name, scope=scope)
        if as_json:
            tell_json(recall_json(found))
        elif as_csv:
            click.echo(recall_csv(found), nl=False)
        else:
            for line in _lines(found):
                click.echo(line)


def _lines(found: Recall) -> Iterator[str]:
    for origin in found.origins:
        plant = f", plant {origin.establishment}" if origin.establishment else ""
        killed = f", killed {origin.killed_on}" if origin.killed_on else ""
        yield f"{origin.tag}: {origin.species} of {origin.farm or 'no farm written'}{plant}{killed}"
    yield f"Asked: {found.asked}; {' < '.join(found.chain)}"
    balance = found.balance
    yield (
        f"{len(found.lots)} lots, {len(found.tickets)} tickets, {len(found.customers)} bookings;"
        f" {balance.found_pct} % of {(balance.came_in + balance.others).text()} found."
    )
    for lot in found.here:
        places = ", ".join(f"{weight.text()} {place}" for place, weight in lot.where_here)
        mixed = "" if lot.share == 1 else f"  ({lot.share_pct} % of it is recalled weight)"
        yield f"  hold {lot.lot_id:16} {lot.what:30} {places}{mixed}"
    for one in found.customers:
        has = "has it" if one.has_it else one.state
        yield (
            f"  call {one.booking_id:6} {one.name}, phone ends {one.phone_end or '-'}, {has},"
            f" {', '.join(taken.weight.text() + ' ' + taken.what for taken in one.taken)}"
        )
    if found.walk_in.count:
        yield f"  {found.walk_in.text()} went over the counter to people of no name."
    for making in found.makings:
        yield f"  {making.kind} {making.code}: {making.name}"
    yield "Local authorities come first; what is held and what is called back is their decision."
