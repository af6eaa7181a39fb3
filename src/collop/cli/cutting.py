"""Commands on the cutting room: ``rail``, ``stock``, ``trace`` and ``flow``."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.measures import Money, UnitPrice, Weight
    from collop.shop import Flow, RailPiece, StockLine, Trace, TracedLot

__all__ = ["flow", "rail", "stock", "trace"]

_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


def _lb(weight: Weight) -> str:
    from collop.measures import WeightUnit

    return str(weight.decimal(WeightUnit.LB, 3))


def _money(money: Money | None) -> str | None:
    return None if money is None else str(money)


def _price(price: UnitPrice | None) -> str | None:
    return None if price is None else f"{price.amount}"


def _piece_json(piece: RailPiece) -> dict[str, Any]:
    return {
        "tag": piece.tag,
        "species": piece.species,
        "what": piece.what,
        "farm": piece.farm,
        "days": piece.days,
        "weight_in_lb": _lb(piece.weight_in),
        "weight_now_lb": _lb(piece.weight_now),
        "shrink_pct": float(piece.shrink_pct),
        "paid": _money(piece.paid),
        "lost_money": _money(piece.lost_money),
        "draw_price": _price(piece.draw_price),
        "draw_price_per": None if piece.draw_price is None else piece.draw_price.per.value,
        "break_on": None if piece.break_on is None else piece.break_on.isoformat(),
        "late": piece.is_late,
        "bookings": [claim.booking_id for claim in piece.claims],
    }


@click.command()
@DATABASE
@_JSON
def rail(path: str, *, as_json: bool) -> None:
    """Tell what hangs, what it lost to air in money, and what a saleable pound costs today.

    Example: collop rail --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = shop.cutting.rail()
        at = shop.now()
    pieces = [_piece_json(piece) for piece in found]
    if as_json:
        tell_json({"at": at.isoformat(), "pieces": pieces})
        return
    click.echo(f"Rail, {at:%a %d %b %H:%M}")
    for one in pieces:
        late = "  LATE" if one["late"] else ""
        draw = f"{one['draw_price']}/{one['draw_price_per']}" if one["draw_price"] else "-"
        click.echo(
            f"{one['tag']:8} {one['days']:3} d {one['weight_now_lb']:>9} lb"
            f"  lost {one['shrink_pct']:4.1f} % {one['lost_money'] or '-':>7}"
            f"  draw {draw:>10}  {one['what']}{late}"
        )


def _stock_json(line: StockLine) -> dict[str, Any]:
    return {
        "lot": line.lot_id,
        "what": line.what,
        "species": line.species,
        "place": line.place,
        "case_id": line.case_id,
        "weight_lb": _lb(line.weight),
        "use_by": None if line.use_by is None else line.use_by.isoformat(),
    }


@click.command()
@DATABASE
@click.option("--at", "moment", type=click.DateTime(), help="As of this moment, shop-local.")
@_JSON
def stock(path: str, moment: datetime | None, *, as_json: bool) -> None:
    """Tell what is on hand, lot by lot, now or as of any past moment.

    Example: collop stock --db demo.db --at 2026-06-08T09:00:00
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = shop.cutting.stock(moment)
        at = moment or shop.now()
    lines = [_stock_json(line) for line in found]
    if as_json:
        tell_json({"at": at.isoformat(), "stock": lines})
        return
    for one in lines:
        click.echo(f"{one['lot']:16} {one['place']:7} {one['weight_lb']:>10} lb  {one['what']}")


def _traced_json(lot: TracedLot) -> dict[str, Any]:
    return {
        "lot": lot.lot_id,
        "from": lot.parent_id,
        "what": lot.what,
        "weight_lb": _lb(lot.weight),
        "where": {place: _lb(weight) for place, weight in lot.where},
        "bookings": list(lot.bookings),
    }


def _trace_json(found: Trace) -> dict[str, Any]:
    return {
        "lot": found.asked,
        "origins": [
            {
                "tag": one.tag,
                "species": one.species,
                "farm": one.farm,
                "establishment": one.establishment,
                "killed_on": None if one.killed_on is None else one.killed_on.isoformat(),
                "arrived": None if one.arrived is None else one.arrived.isoformat(),
            }
            for one in found.origins
        ],
        "up": [_traced_json(lot) for lot in found.up],
        "sisters": [_traced_json(lot) for lot in found.sisters],
    }


@click.command()
@click.argument("name")
@DATABASE
@_JSON
def trace(name: str, path: str, *, as_json: bool) -> None:
    """Follow a ticket, a lot, or each lot of a booking, to its animal and every sister lot.

    Example: collop trace B-41F.03 --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        is_booking = name[:1].upper() == "H" and name[1:].isdigit()
        names = shop.cutting.lots_of_booking(name) if is_booking else shop.tracing.meant(name)
        found = [_trace_json(shop.cutting.trace(one)) for one in names]
    if as_json:
        tell_json({"asked": name, "traces": found})
        return
    for one in found:
        for origin in one["origins"]:
            killed = f", killed {origin['killed_on']}" if origin["killed_on"] else ""
            click.echo(f"{origin['tag']}: {origin['species']} of {origin['farm'] or '?'}{killed}")
        click.echo(f"  {' < '.join(lot['lot'] for lot in one['up'])}")
        for lot in one["sisters"]:
            places = ", ".join(f"{weight} lb {place}" for place, weight in lot["where"].items())
            held = f"  ({', '.join(lot['bookings'])})" if lot["bookings"] else ""
            click.echo(f"    {lot['lot']:16} {lot['what']:30} {places or 'cut up'}{held}")


def _flow_json(found: Flow) -> dict[str, Any]:
    return {
        "title": found.title,
        "into_lb": _lb(found.into),
        "money_lost": _money(found.money_lost),
        "money_is_whole": found.money_is_whole,
        "links": [
            {"source": one.source, "target": one.target, "weight_lb": _lb(one.weight)}
            for one in found.links
        ],
    }


@click.command()
@click.argument("lot", required=False)
@click.option("--day", type=click.DateTime(["%Y-%m-%d"]), help="All that moved on this day.")
@click.option("--week", type=click.DateTime(["%Y-%m-%d"]), help="The seven days from this one.")
@DATABASE
@_JSON
def flow(
    lot: str | None, day: datetime | None, week: datetime | None, path: str, *, as_json: bool
) -> None:
    """Tell where every pound went: of an animal (by any of its lots), a day, or a week.

    Example: collop flow B-41F --db demo.db
    """
    if (lot is not None) + (day is not None) + (week is not None) != 1:
        raise click.UsageError("Name one lot, or give --day or --week.")
    with one_sentence(as_json=as_json), open_at(path) as shop:
        if lot is not None:
            found = shop.cutting.flow(lot)
        else:
            first = (day or week or shop.now()).date()
            found = shop.cutting.flow_between(*_span(first, 1 if day else 7), title=f"{first}")
    told = _flow_json(found)
    if as_json:
        tell_json(told)
        return
    click.echo(f"{told['title']}: {told['into_lb']} lb came in")
    for one in told["links"]:
        click.echo(f"  {one['source']:28} -> {one['target']:28} {one['weight_lb']:>10} lb")
    if told["money_lost"]:
        rest = "" if told["money_is_whole"] else ", as far as prices are known"
        click.echo(f"Paid for what was lost: {told['money_lost']}{rest}")


def _span(first: date, days: int) -> tuple[datetime, datetime]:
    start = datetime.combine(first, time()) - timedelta(microseconds=1)
    return start, start + timedelta(days=days)
