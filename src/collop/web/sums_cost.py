"""The sheet that shares one joint cost over what came of it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.chalk import allocate
from collop.measures import decimal_of, minor_places
from collop.shop.chalk_problem import SHRINK_NOTE
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import (
    Filling,
    SumSheet,
    filled_from,
    fitting,
    frame,
    piece_notes,
    plain,
    priced,
    show,
)

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["joint_money", "router"]

router = APIRouter()
_PRODUCTS, _BY_PRODUCTS = 24, 8
_PRODUCT = ("p{}_name", "p{}_weight", "p{}_price", "p{}_own", "p{}_fweight", "p{}_fprice",
            "p{}_fcost")  # fmt: skip
_BY_PRODUCT = ("b{}_name", "b{}_weight", "b{}_price", "b{}_own")
METHODS = {
    "sales_value": "sales value",
    "net_realisable": "net value",
    "constant_margin": "one margin",
    "physical": "weight",
}
_AS = {"less_cost": "off the cost", "other_income": "other income"}


@router.get("/chalk/sums/share-cost", response_class=HTMLResponse)
def show_cost(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(fields, "tag", lambda tag: _filled(room, tag))
    sheet = SumSheet(filled.fields, "cost", filled.faults)
    plan = sheet.work_out(allocate, _problem(sheet, room)) if filled.asks("cost") else None
    return show(
        request, "sums_cost.html", sheet, plan, filled=filled, methods=METHODS, ways=_AS,
        animals=room.shop.chalk.animals(),
        product_rows=sheet.rows(_PRODUCT, least=6, most=_PRODUCTS),
        by_rows=sheet.rows(_BY_PRODUCT, least=2, most=_BY_PRODUCTS),
    )  # fmt: skip


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.allocate/1`` object of a sheet."""
    shop = frame(room)
    unit, places = shop["unit"], minor_places(shop["currency"])
    cost = sheet.amount("cost", "Joint cost", "$.joint_cost", high="100000000", places=places,
                        needed=True)  # fmt: skip
    method = sheet.choice("method", "Shared by", "$.method", METHODS)
    went = sheet.weight("went", "Weight before cutting", "$.input.quantity", unit=unit)
    sheet.stands_for("$.input", "went", "Weight before cutting")
    problem = {
        "schema": "collop.allocate/1",
        **shop,
        "name": sheet.one("name")[:80],
        "joint_cost": cost,
        "method": method,
        "products": list(_products(sheet, unit, method)),
        "by_products": list(_by_products(sheet, unit)),
        "by_product_as": sheet.choice("bya", "By-products are", "$.by_product_as", _AS),
        "input": None if went is None else {"quantity": went, "unit": unit},
        "loss_quantity": sheet.weight("loss", "Known loss", "$.loss_quantity", unit=unit),
        "tolerance": sheet.weight("tol", "May miss by", "$.tolerance", unit=unit),
    }
    if not problem["products"]:
        sheet.faults.add("p1_name", "Product 1: name what carries the cost.")
    return problem


def _products(sheet: SumSheet, unit: str, method: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_PRODUCT, _PRODUCTS)):
        path, label = f"$.products[{line}]", f"Product {row}"
        sheet.stands_for(path, f"p{row}_weight", label)
        yield {
            "name": sheet.part(f"p{row}_name", f"{label}, name", f"{path}.name"),
            "quantity": sheet.weight(f"p{row}_weight", f"{label}, weight", f"{path}.quantity",
                                     unit=unit, needed=True),
            "unit": unit,
            "price": sheet.amount(f"p{row}_price", f"{label}, price", f"{path}.price",
                                  needed=method != "physical"),
            "separable_cost": sheet.amount(f"p{row}_own", f"{label}, cost of its own",
                                           f"{path}.separable_cost"),
            "further": _further(sheet, row, path, unit),
        }  # fmt: skip


def _further(sheet: SumSheet, row: int, path: str, unit: str) -> dict[str, Any] | None:
    names = [f"p{row}_f{what}" for what in ("weight", "price", "cost")]
    if not any(sheet.one(name) for name in names):
        return None
    label = f"Product {row} worked on"
    return {
        "quantity": sheet.weight(names[0], f"{label}, weight", f"{path}.further.quantity",
                                 unit=unit, needed=True),
        "unit": unit,
        "price": sheet.amount(names[1], f"{label}, price", f"{path}.further.price", needed=True),
        "cost": sheet.amount(names[2], f"{label}, cost", f"{path}.further.cost"),
    }  # fmt: skip


def _by_products(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_BY_PRODUCT, _BY_PRODUCTS)):
        path, label = f"$.by_products[{line}]", f"By-product {row}"
        yield {
            "name": sheet.part(f"b{row}_name", f"{label}, name", f"{path}.name"),
            "quantity": sheet.weight(f"b{row}_weight", f"{label}, weight", f"{path}.quantity",
                                     unit=unit, needed=True),
            "unit": unit,
            "price": sheet.amount(f"b{row}_price", f"{label}, price", f"{path}.price",
                                  needed=True),
            "separable_cost": sheet.amount(f"b{row}_own", f"{label}, cost of its own",
                                           f"{path}.separable_cost"),
        }  # fmt: skip


def joint_money(cost: dict[str, Any], places: int) -> Decimal:
    """Return all that a piece cost, of the ``cost`` object of a board's problem."""
    labour = Fraction(cost.get("labour_minutes") or 0) * Fraction(cost.get("labour_per_hour") or 0)
    rest = sum((Fraction(cost.get(key) or 0) for key in ("bought", "haulage", "other")),
               Fraction(0))  # fmt: skip
    return decimal_of(rest + labour / 60, places)


def _filled(room: Room, tag: str) -> Filling:
    """Return a piece of the shop: what it cost, its cuts at their prices, its by-products."""
    found = room.shop.chalk.problem(tag)
    cost = joint_money(found["cost"], minor_places(room.currency))
    pairs = [
        ("name", found["name"]), ("cost", f"{cost:f}"), ("method", "sales_value"),
        ("went", plain(found["start_weight"])), ("loss", plain(found["loss_weight"])),
        ("tol", plain(decimal_of(Fraction(found["start_weight"]) / 200, 3))),
    ]  # fmt: skip
    for row, cut in enumerate(fitting(found["cuts"], _PRODUCTS, "cuts"), 1):
        price = cut["price"] if cut["price"] is not None else cut["relative"]
        pairs += [(f"p{row}_name", cut["name"]), (f"p{row}_weight", plain(cut["weight"])),
                  (f"p{row}_price", priced(price))]  # fmt: skip
    for row, one in enumerate(fitting(found["credits"], _BY_PRODUCTS, "by-products"), 1):
        pairs += [(f"b{row}_name", one["name"]), (f"b{row}_weight", plain(one["weight"])),
                  (f"b{row}_price", priced(one["value_per_unit"]))]  # fmt: skip
    note = (
        f"Filled from {tag}: the cost is what was paid with haulage and labour, prices are those "
        "on the board, by-products count at the shop's values. Weights are as cut: the board, "
        "which takes shrink off, has less margin."
    )
    told = [one for one in piece_notes(room, tag) if one != SHRINK_NOTE]
    return Filling(pairs, note, told)
