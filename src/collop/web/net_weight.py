"""The sheet of net weights: packages drawn from a lot, weighed, and judged."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.rules.netweight import netweight
from collop.rules.netweight_reading import MOST_LOT
from collop.rules.netweight_saying import evened
from collop.rules.netweight_tables import sampling_plan
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import SumSheet, show

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
_ROWS = 48
_LEAST_ROWS = 12
_ROW = ("p{}_name", "p{}_label", "p{}_gross", "p{}_tare")
_UNITS = {"lb": "lb", "oz": "oz", "kg": "kg", "g": "g"}
_CATEGORIES = {
    "A": "packed and sold here (A)",
    "B": "at the pack line of an inspected plant (B)",
}
_PRODUCTS = {"other": "all but fluids", "fluid": "fluid when filled, such as lard"}
_VERDICTS = {
    "passes": ("yes", "The lot passes"),
    "fails": ("no", "The lot fails"),
    "undecided": ("no", "Not decided yet"),
}
_FOUND = {"full": "", "short": "short", "beyond": "BEYOND"}


@router.get("/net-weight", response_class=HTMLResponse)
def show_net_weight(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, judged if something stands on it."""
    room = room_of(request)
    sheet = SumSheet(fields, "lot")
    lot = sheet.whole("lot", "Packages in the lot", "$.lot_size", low=1, high=MOST_LOT)
    category = sheet.choice("category", "Packed", "$.category", _CATEGORIES)
    # drawn first: the table has as many rows as packages are to be weighed
    sample = min(sampling_plan(category, lot).size, lot) if lot else None
    plan = None
    if sheet.used(_ROW, _ROWS):
        if not fields.one("lot"):
            sheet.faults.add("lot", "Packages in the lot: count them and enter how many there are.")
        plan = sheet.work_out(netweight, _problem(sheet, room, lot, category))
    least = min(sample or _LEAST_ROWS, _ROWS)
    return show(
        request, "net_weight.html", sheet, plan, units=_UNITS, categories=_CATEGORIES,
        packages=evened(plan["packages"]) if plan else [], products=_PRODUCTS,
        verdicts=_VERDICTS, found=_FOUND, sample=sample, weighed_in=_unit(sheet, room),
        rows=sheet.rows(_ROW, least=least, most=_ROWS),
    )  # fmt: skip


def _unit(sheet: SumSheet, room: Room) -> str:
    """Return the unit of the sheet: that chosen on it, else the shop's legal unit."""
    usual = room.shop.settings().legal_unit.value
    chosen = sheet.one("unit") or usual
    return chosen if chosen in _UNITS else usual


def _problem(sheet: SumSheet, room: Room, lot: int | None, category: str) -> dict[str, Any]:
    """Return the ``collop.netweight/1`` object of a sheet."""
    unit = _unit(sheet, room)
    sheet.choice("unit", "Unit", "$.unit", [unit, *_UNITS])
    packages = list(_packages(sheet, unit))
    sheet.stands_for("$.packages", "p1_gross", "The packages")
    return {
        "schema": "collop.netweight/1",
        "name": sheet.one("name")[:80],
        "lot_size": lot,
        "unit": unit,
        "category": category,
        "product": sheet.choice("product", "Product", "$.product", _PRODUCTS),
        "label": sheet.weight("label", "Labelled net", "$.label", unit=unit),
        "tare": sheet.weight("tare", "Tare", "$.tare", unit=unit),
        "division": sheet.amount("division", "Step of the scale", "$.division"),
        "capacity": sheet.weight("capacity", "Capacity of the scale", "$.capacity", unit=unit),
        "packages": packages,
    }


def _packages(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_ROW, _ROWS)):
        path, label = f"$.packages[{line}]", f"Package {row}"
        found = {"name": sheet.one(f"p{row}_name")[:40] or str(row)}
        for key, words in (("label", "labelled net"), ("gross", "gross"), ("tare", "tare")):
            amount = sheet.weight(
                f"p{row}_{key}", f"{label}, {words}", f"{path}.{key}", unit=unit,
                needed=key == "gross",
            )  # fmt: skip
            if amount is not None:
                found[key] = amount
        yield found
