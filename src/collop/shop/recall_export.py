"""A recall for other programs: JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from collop.measures import Weight
from collop.shop.exporting import csv_text
from collop.shop.recall_model import AffectedLot, Customer, Recall

__all__ = ["RECALL_COLUMNS", "recall_csv", "recall_json"]

#: Columns of the CSV: a row for each place a lot lies at, each booking and each ticket.
RECALL_COLUMNS = (
    "row", "lot", "what", "species", "share_pct", "place", "weight", "unit", "booking", "name",
    "phone_end", "state", "ticket", "at",
)  # fmt: skip


def _weight(weight: Weight) -> str:
    return str(weight.decimal(weight.unit, 3))


def _lot_json(lot: AffectedLot) -> dict[str, Any]:
    return {
        "lot": lot.lot_id, "what": lot.what, "kind": lot.kind, "species": lot.species,
        "case_id": lot.case_id, "made": lot.made.isoformat(),
        "weight_in": _weight(lot.weight_in), "share_pct": lot.share_pct,
        "from": list(lot.from_lots),
        "where": {place: _weight(weight) for place, weight in lot.where},
        "here": _weight(lot.here),
    }  # fmt: skip


def _customer_json(one: Customer) -> dict[str, Any]:
    return {
        "booking": one.booking_id, "name": one.name, "phone_end": one.phone_end,
        "collect_at": one.collect_at.isoformat(), "state": one.state, "has_it": one.has_it,
        "taken": [
            {
                "lot": taken.lot_id, "what": taken.what, "weight": _weight(taken.weight),
                "sold_at": None if taken.at is None else taken.at.isoformat(),
            }
            for taken in one.taken
        ],
    }  # fmt: skip


def _tickets_json(found: Recall) -> list[dict[str, Any]]:
    return [
        {
            "ticket": one.ticket_id, "lot": one.lot_id, "what": one.what, "net": _weight(one.net),
            "total": str(one.total), "at": one.at.isoformat(), "booking": one.booking_id,
            "void": one.is_void,
        }
        for one in found.tickets
    ]  # fmt: skip


def recall_json(found: Recall) -> dict[str, Any]:
    """Return a recall as JSON; weights are text in `unit`, times shop-local ISO 8601."""
    balance = found.balance
    return {
        "schema": "collop.recall/1",
        "asked": found.asked,
        "scope": found.scope,
        "at": found.at.isoformat(),
        "unit": balance.came_in.unit.value,
        "origins": [
            {
                "tag": one.tag, "species": one.species, "farm": one.farm,
                "establishment": one.establishment,
                "killed_on": None if one.killed_on is None else one.killed_on.isoformat(),
                "arrived": None if one.arrived is None else one.arrived.isoformat(),
            }
            for one in found.origins
        ],
        "roots": list(found.roots),
        "chain": list(found.chain),
        "lots": [_lot_json(lot) for lot in found.lots],
        "customers": [_customer_json(one) for one in found.customers],
        "walk_in": _weight(found.walk_in),
        "tickets": _tickets_json(found),
        "makings": [
            {"code": one.code, "kind": one.kind, "name": one.name, "lot": one.lot_id,
             "at": one.at.isoformat()}
            for one in found.makings
        ],
        "balance": {
            "came_in": _weight(balance.came_in), "others": _weight(balance.others),
            "places": {place: _weight(weight) for place, weight in balance.places},
            "found": _weight(balance.found), "gap": _weight(balance.gap),
            "found_pct": balance.found_pct, "scale_error": _weight(balance.error),
            "closes": balance.closes,
        },
    }  # fmt: skip


def _rows(found: Recall) -> Iterator[tuple[object, ...]]:
    lots = {lot.lot_id: lot for lot in found.lots}
    for lot in found.lots:
        for place, weight in lot.where:
            yield ("lot", lot.lot_id, lot.what, lot.species, lot.share_pct, place, _weight(weight),
                   weight.unit.value, "", "", "", "", "", lot.made.isoformat())  # fmt: skip
    for one in found.customers:
        for taken in one.taken:
            lot = lots[taken.lot_id]
            yield ("booking", taken.lot_id, taken.what, lot.species, lot.share_pct,
                   "sold" if taken.is_sold else "booked", _weight(taken.weight),
                   taken.weight.unit.value, one.booking_id, one.name, one.phone_end, one.state, "",
                   "" if taken.at is None else taken.at.isoformat())  # fmt: skip
    for ticket in found.tickets:
        lot = lots[ticket.lot_id]
        yield ("ticket", ticket.lot_id, ticket.what, lot.species, lot.share_pct, "",
               _weight(ticket.net), ticket.net.unit.value, ticket.booking_id, "", "",
               "void" if ticket.is_void else "printed", ticket.ticket_id,
               ticket.at.isoformat())  # fmt: skip


def recall_csv(found: Recall) -> str:
    """Return a recall as CSV with the columns `RECALL_COLUMNS`, guarded against formulas."""
    return csv_text(RECALL_COLUMNS, _rows(found))
