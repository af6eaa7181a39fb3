"""Commands on the board and on cost: ``board`` and ``costs``."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from collop.measures import Money, UnitPrice
    from collop.shop.chalk_model import BoardLine, LotCost
    from collop.shop.model import BoardChange, Settings

__all__ = ["board", "costs"]

_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
_MOST_NAMED = 8
_PARTS = ("invoice", "haulage", "labour", "credit", "shrink")


def _price(price: UnitPrice) -> str:
    from collop.shop.board import price_text

    return price_text(price)


def _money(money: Money | None) -> str | None:
    return None if money is None else str(money)


def _line_json(line: BoardLine) -> dict[str, Any]:
    return {
        "case_id": line.case_id,
        "name": line.name,
        "species": line.species,
        "form": line.form,
        "price": _price(line.price),
        "price_per": line.price.per.value,
        "per_lb": str(line.per_lb),
        "per_kg": str(line.per_kg),
        "since": line.since.isoformat(),
        "out": line.is_out,
    }


def _change_json(change: BoardChange) -> dict[str, Any]:
    return {
        "case_id": change.case_id,
        "price": _price(change.price),
        "price_per": change.price.per.value,
        "from": change.from_at.isoformat(),
        "entered": change.entered_at.isoformat(),
        "by": change.by,
        "why": change.why,
    }


@click.command()
@DATABASE
@click.option("--at", "moment", type=click.DateTime(), help="As of this moment, shop-local.")
@click.option("--history", "wanted",
              help="Every price of one case line; its id, or part of its name.")  # fmt: skip
@_JSON
def board(path: str, moment: datetime | None, wanted: str | None, *, as_json: bool) -> None:
    """Tell the prices in force, now or as of another moment, or the history of one line.

    Example: collop board --db demo.db --history C09
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        currency = shop.settings().currency
        if wanted is not None:
            names = {line.id: line.name for line in shop.case()}
            _tell_history(shop.chalk.history(_line_like(wanted, names)), currency, as_json=as_json)
            return
        found = shop.chalk.board(moment)
        at = moment or shop.now()
    lines = [_line_json(line) for line in found]
    if as_json:
        tell_json({"at": at.isoformat(), "currency": currency, "board": lines})
        return
    click.echo(f"Board, {at:%a %d %b %H:%M}, in {currency}")
    for one in lines:
        out = "  out" if one["out"] else ""
        price = f"{one['price']} / {one['price_per']}"
        click.echo(f"{one['case_id']:5} {price:>12}  {one['name']}{out}")


def _line_like(wanted: str, names: Mapping[str, str]) -> str:
    """Return the id of the one line meant; what fits no name is returned as it is.

    Raises
    ------
    BadValue
        If it fits the names of several.
    """
    from collop.errors import BadValue

    said = wanted.strip().casefold()
    ids = [key for key in names if key.casefold() == said]
    fits = ids or [key for key, name in names.items() if said and said in name.casefold()]
    if len(fits) > 1:
        told = ", ".join(f"{key} {names[key]}" for key in fits[:_MOST_NAMED])
        more = f" and {len(fits) - _MOST_NAMED} more" if len(fits) > _MOST_NAMED else ""
        raise BadValue(f"{wanted[:40]!r} fits {told}{more}; choose one by its id.", where="history")
    return fits[0] if fits else wanted


def _tell_history(changes: tuple[BoardChange, ...], currency: str, *, as_json: bool) -> None:
    told = [_change_json(change) for change in changes]
    if as_json:
        tell_json({"currency": currency, "changes": told})
        return
    for one in told:
        price = f"{one['price']} / {one['price_per']}"
        by = one["by"] or "-"
        click.echo(f"{one['from'][:16]}  {price:>12}  {by:10} {one['why']}")


def _cost_json(cost: LotCost, chosen: Settings) -> dict[str, Any]:
    legal = chosen.legal_unit
    return {
        "lot": cost.lot_id,
        "what": cost.what,
        "place": cost.place,
        "case_id": cost.case_id,
        "weight": str(cost.weight.decimal(legal, 3)),
        "cost": _money(cost.cost),
        "cost_per_unit": None if cost.per_unit is None else str(cost.per_unit.amount),
        **{part: _money(getattr(cost, part)) for part in _PARTS},
        "unknown": cost.unknown,
        "notes": list(cost.notes),
    }


@click.command()
@DATABASE
@_JSON
def costs(path: str, *, as_json: bool) -> None:
    """Tell what everything on hand cost: invoice, haulage, labour, less by-products.

    Example: collop costs --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        chosen, at = shop.settings(), shop.now()
        lots = [_cost_json(one, chosen) for one in shop.chalk.costs()]
    unit = chosen.legal_unit.value
    if as_json:
        tell_json({"at": at.isoformat(), "currency": chosen.currency, "unit": unit, "costs": lots})
        return
    click.echo(f"Cost of what is on hand, {at:%a %d %b %H:%M}, in {chosen.currency} per {unit}")
    for one in lots:
        if one["cost"] is not None:
            _tell_cost(one, unit)
    # a shop begins with much that no delivery brought: each reason is told once
    for why, count in Counter(one["unknown"] for one in lots if one["cost"] is None).items():
        told = "1 lot" if count == 1 else f"{count} lots"
        click.echo(f"{why.removesuffix('.')} ({told}; --json names them).")
    for note in dict.fromkeys(note for one in lots for note in one["notes"]):
        click.echo(f"Assumed: {note}")


def _tell_cost(one: dict[str, Any], unit: str) -> None:
    weight = f"{one['weight']} {unit}"
    parts = ", ".join(f"{part} {one[part]}" for part in _PARTS[:4] if one[part].strip("-0."))
    click.echo(
        f"{one['lot']:12} {one['place']:7} {weight:>12} {one['cost_per_unit']:>10}"
        f" {one['cost']:>9}  {one['what']} ({parts or 'nothing'})"
    )
