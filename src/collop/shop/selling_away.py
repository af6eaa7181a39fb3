"""What a device needs to tell a customer what a sale comes to while the server is away.

Every figure is exact: a price is money in minor units per count of weight, as two whole numbers,
so a device that only knows whole numbers comes to the same cent.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import UnitPrice, Weight, minor_places
from collop.rules.taxing import rate_on
from collop.shop.acts import Room
from collop.shop.board import board_at
from collop.shop.settings import load_settings
from collop.shop.tables import case_lines
from collop.shop.ticket_tares import load_tares
from collop.shop.till import tax_names

__all__ = ["sale_facts"]

_CENT_PLACES = 2
_STEP_CENTS = 5


def sale_facts(conn: Connection, room: Room) -> dict[str, Any]:
    """Return prices, tares and taxes of now, JSON.

    Returns
    -------
    dict
        ``cuts``: by line of the case its ``name``, ``price`` as shown, ``over`` and ``under``
        (minor units per count of weight), ``tax`` class or None. ``tares``: count of each packing.
        ``taxes``: by class ``over`` and ``under`` of its rate, left out where none holds today.
        ``rule``, ``per``, ``cash``, ``step`` and ``places``: how a sum is rounded.
    """
    now, chosen = room.clock.now(), load_settings(conn)
    names = {row.id: row.name for row in conn.execute(select(case_lines.c.id, case_lines.c.name))}
    prices = board_at(conn, now, chosen.currency)
    classes = tax_names(conn, chosen, prices)
    rates = {name: rate_on(chosen.tax_classes, name, now.date())
             for name in set(classes.values()) if name is not None}  # fmt: skip
    places = minor_places(chosen.currency)
    return {
        "cuts": {
            line: {"name": names[line], "price": f"{price.amount} /{price.per}",
                   "tax": classes.get(line), **_per_count(price)}
            for line, price in sorted(prices.items()) if line in names
        },
        "tares": {one.name: str(one.weight.count) for one in load_tares(conn)},
        "taxes": {name: {"over": str(rate.numerator), "under": str(rate.denominator * 100)}
                  for name, rate in sorted(rates.items()) if rate is not None},
        "rule": str(chosen.rounding.value), "per": chosen.tax_per, "cash": chosen.cash_rounding,
        "step": str(_STEP_CENTS * 10 ** (places - _CENT_PLACES)) if places >= _CENT_PLACES else "1",
        "places": places,
    }  # fmt: skip


def _per_count(price: UnitPrice) -> dict[str, str]:
    per = Weight.of(1, price.per)
    exact = price.minor / per.count
    return {"over": str(exact.numerator), "under": str(exact.denominator)}
