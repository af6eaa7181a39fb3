"""Commands on the shop's own board: ``piece``, what one gives, and ``moves`` of the day."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from collop.cli.chalk import board_told
from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from datetime import datetime

    from collop.shop import ChalkPart, Move

__all__ = ["moves", "piece"]


def _move_json(move: Move) -> dict[str, Any]:
    return {
        "case_id": move.case_id,
        "name": move.name,
        "weight": str(move.weight.decimal(move.weight.unit, 3)),
        "unit": move.weight.unit.value,
        "days_left": move.days_left,
        "way": move.way,
        "price": None if move.price is None else f"{move.price.amount:f}",
        "gain": str(move.gain),
        "value": str(move.value),
        "say": move.say,
        "problem": dict(move.problem),
        "plan": dict(move.plan),
    }


@click.command()
@DATABASE
@click.option("--at", "moment", type=click.DateTime(), help="At this moment, shop-local.")
@click.option("--most", type=click.IntRange(1, 100), default=3, show_default=True,
              help="At most so many.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON, each move with its problem.")
def moves(path: str, moment: datetime | None, most: int, *, as_json: bool) -> None:
    """Tell the moves worth most for stock in its last days: mark down, grind or freeze.

    Example: collop moves --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = [_move_json(move) for move in shop.chalk.moves(moment, most)]
        at = moment or shop.now()
        currency = shop.settings().currency
    if as_json:
        tell_json({"at": at.isoformat(), "currency": currency, "moves": found})
        return
    click.echo(f"Moves, {at:%a %d %b %H:%M}")
    if not found:
        click.echo("Nothing in its last days gains by a move.")
    for one in found:
        click.echo(f"{one['gain']:>8}  {one['say']}")


def _part_line(part: ChalkPart) -> str:
    price = "" if part.price is None else f"{part.price.amount:f}/{part.price.per.value}"
    sold = part.sold.text() if part.sold else ""
    weights = f"{part.weight.text():>13}  sold {sold or '-':>10}"
    return f"  {part.name:<32.32}{weights}  {price or part.kind}"


def _present(plan: dict[str, Any]) -> dict[str, Any] | None:
    """Return what the board in force brings, guessed prices too; None if there is no price."""
    guessed = plan["guessed"]
    if guessed["board"] is None:
        return None
    short = Decimal(plan["needed"]) - Decimal(guessed["board"])
    bare = ", ".join(guessed["names"])
    return {
        "revenue": guessed["board"],
        "short_by": f"{short:f}" if short > 0 else None,
        "over_by": f"{-short:f}",
        "guess": f"{guessed['revenue']} of it is guessed, no price for {bare}" if bare else "",
    }


@click.command()
@click.argument("tag")
@DATABASE
@click.option("--style", help="Id of the cutting style, for a piece that hangs.")
@click.option("--json", "as_json", is_flag=True, help="Print the problem, for `collop chalk -`.")
def piece(tag: str, path: str, style: str | None, *, as_json: bool) -> None:
    """Tell what a piece gives, what of it is sold, the prices it needs, and what each moves.

    Example: collop piece B-41F --db demo.db --json | collop chalk -
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        if as_json:
            tell_json(shop.chalk.problem(tag, style_id=style))
            return
        parts = shop.chalk.parts(tag, style_id=style)
        plan = shop.chalk.plan(tag, style_id=style)
    click.echo(plan["name"])
    for part in parts:
        click.echo(_part_line(part).rstrip())
    for told in board_told(plan | {"name": "", "present": _present(plan)}):
        click.echo(told)
