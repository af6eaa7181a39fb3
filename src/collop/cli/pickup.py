"""Command ``pickup``: a booking before its customer comes, with the ways out of a short line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.measures import Weight
    from collop.shop.pickup_model import Pickup, PickupLine, Way

__all__ = ["pickup"]


def _text(weight: Weight) -> str:
    return str(weight.decimal(weight.unit, 3))


def _way(one: Way) -> dict[str, Any]:
    instead = one.instead
    return {
        "what": one.what,
        "money": str(one.money),
        "total": str(one.total),
        "due": str(one.due),
        "instead": None if instead is None else {
            "case_id": instead.case_id, "name": instead.name, "weight": _text(instead.weight),
            "unit": instead.weight.unit.value, "price": f"{instead.price.amount:f}",
            "price_per": instead.price.per.value, "money": str(instead.money),
        },
        "words": one.words,
    }  # fmt: skip


def _line(row: PickupLine) -> dict[str, Any]:
    line, plate = row.line, row.plate
    return {
        "id": line.id,
        "case_id": line.case_id,
        "name": line.name,
        "off": line.off,
        "unit": line.weight.unit.value,
        "booked": _text(line.weight),
        "held": _text(line.held),
        "weighed": None if line.ready is None else _text(line.ready),
        "short": _text(row.short),
        "short_pct": row.short_pct,
        "reason": row.reason,
        "topped_up": [one.words for one in line.topped_up],
        "lots": list(row.lots),
        "money": str(row.money),
        "half_cent": row.half_cent,
        "plate": None if plate is None else {
            "heads": plate.heads, "booked_oz": str(plate.booked_oz),
            "weighed_oz": str(plate.weighed_oz), "band": plate.band, "words": plate.words,
        },
        "ways": [_way(one) for one in row.ways],
        "renewal": None if row.renewal is None else row.renewal.words,
    }  # fmt: skip


def pickup_json(found: Pickup) -> dict[str, Any]:
    """Return a pick-up as plain JSON: money and weights as decimal strings."""
    booking = found.booking
    return {
        "booking": booking.id,
        "name": booking.name,
        "state": booking.state.value,
        "collect_at": booking.collect_at.isoformat(),
        "currency": found.total.currency,
        "rounding": found.rule,
        "total": str(found.total),
        "booked_total": str(found.money.booked.total),
        "deposit": str(booking.deposit),
        "due": str(found.due),
        "all_weighed": found.is_ready,
        "waits_for": None if found.hindrance is None else found.hindrance.words,
        "lines": [_line(row) for row in found.lines],
    }


def _told(row: PickupLine) -> str:
    line = row.line
    if line.off:
        return f"  {line.id} {line.name}: off"
    ready = "not weighed" if line.ready is None else f"{line.ready.text()} weighed"
    short = f", {row.short.text()} short ({row.reason})" if row.short else ""
    short += "".join(f", {one.words}" for one in line.topped_up)
    cent = f" ({row.half_cent})" if row.half_cent else ""
    return (
        f"  {line.id} {line.name}: {line.weight.text()} booked, {ready}{short}, {row.money}{cent}"
    )


@click.command()
@click.argument("booking")
@DATABASE
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def pickup(booking: str, path: str, *, as_json: bool) -> None:
    """Tell how a BOOKING stands before its customer comes, and the ways out of a short line.

    Example: collop pickup H8 --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found = shop.pickup.pickup(booking)
    if as_json:
        tell_json(pickup_json(found))
        return
    one = found.booking
    click.echo(f"{one.id} {one.name}, {one.collect_at:%a %d %b %H:%M}, {one.state}")
    for row in found.lines:
        click.echo(_told(row))
        if row.plate is not None:
            click.echo(f"    {row.plate.words}")
        if row.renewal is not None:
            click.echo(f"    {row.renewal.words}")
        for way in row.ways if row.short else ():
            click.echo(f"    {way.total!s:>8} in all, {way.due} due: {way.words}")
    if found.hindrance is not None:
        click.echo(f"  {found.hindrance.words}")
    click.echo(f"  total {found.total}, due {found.due}, rounded {found.rule}")
