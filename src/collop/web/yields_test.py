"""The cutting test sheet: bought, credited, lost, left; what a pound and a portion cost."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.carcass import cuttingtest
from collop.web.rendering import page
from collop.web.room import Queried, room_of
from collop.web.yields_break import Filled, filled_from
from collop.web.yields_sheet import UNITS, Sheet

if TYPE_CHECKING:
    from collop.shop import Break

__all__ = ["router"]

router = APIRouter()
_CREDITS, _PRODUCTS = 8, 24
_CREDIT_FIELDS = ("c{}_part", "c{}_weight", "c{}_value")
_PRODUCT_FIELDS = ("p{}_part", "p{}_weight", "p{}_price")


@router.get("/yields/test", response_class=HTMLResponse)
def show_test(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(room, fields, _lines_of_break)
    fields = filled.fields
    sheet = Sheet(fields, "weight", filled.faults)
    asked = "weight" in fields and not filled.wants_price
    plan = sheet.work_out(cuttingtest, _problem(sheet, room.currency)) if asked else None
    return page(
        request, "yields_test.html", status=422 if sheet.faults else 200, sheet=sheet,
        faults=sheet.faults, plan=plan, note=filled.note, units=UNITS,
        breaks=room.shop.cutting.closed_breaks(),
        credit_rows=sheet.rows(_CREDIT_FIELDS, least=4, most=_CREDITS),
        product_rows=sheet.rows(_PRODUCT_FIELDS, least=3, most=_PRODUCTS),
    )  # fmt: skip


def _problem(sheet: Sheet, currency: str) -> dict[str, Any]:
    """Return the ``collop.cuttingtest/1`` object of a sheet."""
    unit = sheet.choice("unit", "Unit", "$.bought.unit", UNITS)
    bought = {
        "weight": sheet.weight("weight", "Weight bought", "$.bought.weight", unit=unit,
                               needed=True),
        "unit": unit,
        "price_per_unit": sheet.amount("price", "Price", "$.bought.price_per_unit", needed=True),
    }  # fmt: skip
    problem = {
        "schema": "collop.cuttingtest/1",
        "name": sheet.one("name")[:80],
        "currency": currency,
        "bought": bought,
        "credits": list(_credits(sheet, unit)),
        "loss_weight": sheet.weight("loss", "Loss", "$.loss_weight", unit=unit),
        "products": list(_products(sheet, unit)),
        "cooked_weight": sheet.weight("cooked", "Cooked weight", "$.cooked_weight", unit=unit),
        "portion": _portion(sheet),
        "new_price_per_unit": sheet.amount("new_price", "New price", "$.new_price_per_unit"),
    }
    if not problem["products"] and not sheet.faults:
        sheet.faults.add("p1_part", "Product 1: name what is left and carries the cost.")
    return problem


def _credits(sheet: Sheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_CREDIT_FIELDS, _CREDITS)):
        path, name = f"$.credits[{line}]", f"Credit {row}"
        part = sheet.part(f"c{row}_part", f"{name}, part", f"{path}.part")
        found = {
            "part": part,
            "weight": sheet.weight(f"c{row}_weight", f"{name}, weight", f"{path}.weight",
                                   unit=unit, needed=True),
            "value_per_unit": sheet.amount(f"c{row}_value", f"{name}, value",
                                           f"{path}.value_per_unit"),
        }  # fmt: skip
        yield {key: value for key, value in found.items() if value is not None}


def _products(sheet: Sheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_PRODUCT_FIELDS, _PRODUCTS)):
        path, name = f"$.products[{line}]", f"Product {row}"
        part = sheet.part(f"p{row}_part", f"{name}, part", f"{path}.part")
        found = {
            "part": part,
            "weight": sheet.weight(f"p{row}_weight", f"{name}, weight", f"{path}.weight",
                                   unit=unit),
            "price_per_unit": sheet.amount(f"p{row}_price", f"{name}, selling price",
                                           f"{path}.price_per_unit"),
        }  # fmt: skip
        yield {key: value for key, value in found.items() if value is not None}


def _portion(sheet: Sheet) -> dict[str, Any] | None:
    unit = sheet.choice("portion_unit", "Portion unit", "$.portion.unit", ("oz", "lb", "g", "kg"))
    size = sheet.weight("portion", "Portion", "$.portion.size", unit=unit)
    return None if size is None else {"size": size, "unit": unit}


def _lines_of_break(found: Break, filled: Filled) -> Iterator[tuple[str, str]]:
    """Return the sheet of a closed break: cuts carry the cost, the rest is credited."""
    yield "name", f"Break {found.number}, {found.tag}"
    yield "unit", "lb"
    yield "weight", filled.pounds(filled.came_in)
    yield "price", filled.price
    yield "loss", filled.pounds(filled.came_in - found.weighed)
    credited, carried = 0, 0
    for part, weight, kind in filled.parts:
        if kind == "cut":
            carried += 1
            line = f"p{carried}"
        else:
            credited += 1
            line = f"c{credited}"
        yield f"{line}_part", part
        yield f"{line}_weight", filled.pounds(weight)
