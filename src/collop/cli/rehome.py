"""Command ``rehome``: what a released booking left in the case, and the moves for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop.rehoming_model import Homeless, HomeMove, Rehoming

__all__ = ["rehome"]


def _move(one: HomeMove) -> dict[str, Any]:
    return {
        "way": one.way,
        "weight": str(one.weight.decimal(one.weight.unit, 3)),
        "unit": one.weight.unit.value,
        "money": str(one.money),
        "booking": one.booking,
        "price": None if one.price is None else f"{one.price.amount:f}",
        "words": one.words,
    }


def _item(one: Homeless) -> dict[str, Any]:
    unit = one.came.unit
    return {
        "case_id": one.case_id,
        "name": one.name,
        "is_meat": one.is_meat,
        "came": str(one.came.decimal(unit, 3)),
        "left": str(one.left.decimal(unit, 3)),
        "unit": unit.value,
        "lots": list(one.lots),
        "price": f"{one.price.amount:f}",
        "price_per": one.price.per.value,
        "value": str(one.value),
        "use_by": None if one.use_by is None else one.use_by.isoformat(),
        "days_left": one.days_left,
        "sell_by": None if one.sell_by is None else one.sell_by.isoformat(),
        "moves": [_move(move) for move in one.moves],
    }


def rehoming_json(found: Rehoming) -> dict[str, Any]:
    """Return what a released booking left, as plain JSON: money and weights as decimal strings."""
    told = found.deposit
    return {
        "booking": found.booking_id,
        "name": found.name,
        "currency": found.value.currency,
        "value": str(found.value),
        "sell_by": None if found.sell_by is None else found.sell_by.isoformat(),
        "words": found.words,
        "deposit": {
            "words": told.words, "paid": str(told.paid), "back": str(told.back),
            "keep": str(told.keep),
        },
        "items": [_item(one) for one in found.items],
    }  # fmt: skip


@click.command()
@click.argument("booking")
@DATABASE
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def rehome(booking: str, path: str, *, as_json: bool) -> None:
    """Tell what a released BOOKING left to sell, until when, and the moves for it, best first.

    Example: collop rehome H1 --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = shop.pickup.rehome(booking)
    if as_json:
        tell_json(rehoming_json(found))
        return
    click.echo(f"{found.booking_id} {found.name}: {found.words}")
    click.echo(found.deposit.words)
    for one in found.items:
        lots = ", ".join(one.lots)
        click.echo(f"{one.name}: {one.left.text()} of {one.came.text()}, {one.value}, lot {lots}")
        for move in one.moves:
            click.echo(f"{move.money!s:>9}  {move.words}")
