"""Command on training: ``cards``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.carcass.cards import Card

__all__ = ["cards"]


@click.command()
@DATABASE
@click.option("--json", "as_json", is_flag=True, help="Print every card as JSON.")
def cards(path: str, *, as_json: bool) -> None:
    """Tell of each line of today's case what it is, where it sat, its cousin, how it is carved.

    Example: collop cards --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        from collop.carcass.cards import card_json
        from collop.shop.cards import cards as cards_of_today

        found, at = cards_of_today(shop), shop.now()
    if as_json:
        told = [card_json(card) for card in found]
        tell_json({"schema": "collop.cards/1", "at": at.isoformat(), "cards": told})
        return
    for card in found:
        _tell(card)


def _tell(card: Card) -> None:
    click.echo(f"{card.case_id}  {card.name}")
    for one in card.questions:
        click.echo(f"  {one.ask:<32}{one.answer}")
        if one.reason:
            click.echo(f"  {'':<32}{one.reason}")
