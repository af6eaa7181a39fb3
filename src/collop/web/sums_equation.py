"""The sheet of the carcass equation: cost and margin in, a price for every cut out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.chalk import chalk
from collop.measures import minor_places
from collop.web.forms import read_amount
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import (
    Filling,
    Pairs,
    SumSheet,
    filled_from,
    fitting,
    frame,
    percent,
    piece_notes,
    plain,
    priced,
    show,
)

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
_CUTS, _CREDITS = 24, 8
_USUAL_PULL = Decimal("0.5")
_CUT = ("c{}_name", "c{}_weight", "c{}_shrink", "c{}_rel", "c{}_price", "c{}_fixed", "c{}_floor",
        "c{}_cap", "c{}_sold", "c{}_extra")  # fmt: skip
_CREDIT = ("b{}_name", "b{}_weight", "b{}_value")
_WHYS = {"free": "", "fixed": "stays", "floor": "at its floor", "cap": "at its cap"}


@router.get("/chalk/sums/equation", response_class=HTMLResponse)
def show_equation(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(fields, "tag", lambda tag: _filled(room, tag))
    sheet = SumSheet(filled.fields, "bought", filled.faults)
    plan = sheet.work_out(chalk, _problem(sheet, room)) if filled.asks("bought") else None
    return show(
        request, "sums_equation.html", sheet, plan, filled=filled, whys=_WHYS,
        animals=room.shop.chalk.animals(), usual_pull=_usual(room.currency),
        cut_rows=sheet.rows(_CUT, least=6, most=_CUTS),
        credit_rows=sheet.rows(_CREDIT, least=2, most=_CREDITS),
    )  # fmt: skip


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.chalk/1`` object of a sheet."""
    shop = frame(room)
    unit = shop["unit"]
    cost = {
        "bought": sheet.amount("bought", "Bought for", "$.cost.bought", high="100000000",
                               needed=True),
        "haulage": sheet.amount("haulage", "Haulage", "$.cost.haulage"),
        "labour_minutes": sheet.amount("minutes", "Minutes of labour", "$.cost.labour_minutes"),
        "labour_per_hour": sheet.amount("hourly", "Pay an hour", "$.cost.labour_per_hour"),
        "other": sheet.amount("other", "Other cost", "$.cost.other"),
    }  # fmt: skip
    sheet.stands_for("$.credits", "b1_value", "By-products")
    margin = sheet.share("margin", "Margin", "$.margin", high="95")
    cuts = list(_cuts(sheet, unit))
    if not cuts:
        sheet.faults.add("c1_name", "Cut 1: name what is sold.")
    return {
        "schema": "collop.chalk/1",
        **shop,
        "name": sheet.one("name")[:80],
        "cost": {key: value for key, value in cost.items() if value is not None},
        "margin": float(room.shop.settings().target_margin) if margin is None else margin,
        "cuts": cuts,
        "credits": list(_credits(sheet, unit)),
        "start_weight": sheet.weight("start", "Weight before cutting", "$.start_weight",
                                     unit=unit),
        "loss_weight": sheet.weight("loss", "Known loss", "$.loss_weight", unit=unit),
        "tolerance": sheet.weight("tol", "May miss by", "$.tolerance", unit=unit),
        "endings": sheet.endings(),
        "pulls": _pulls(sheet, cuts, shop["currency"]),
    }  # fmt: skip


def _cuts(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_CUT, _CUTS)):
        yield _cut(sheet, f"$.cuts[{line}]", row, unit)


def _cut(sheet: SumSheet, path: str, row: int, unit: str) -> dict[str, Any]:
    label, name_typed = f"Cut {row}", sheet.one(f"c{row}_name")
    sheet.stands_for(f"{path}.id", f"c{row}_name", f"{label}, name")

    def money(name: str, what: str, key: str) -> str | None:
        return sheet.amount(f"c{row}_{name}", f"{label}, {what}", f"{path}.{key}")

    relative = sheet.number(f"c{row}_rel", f"{label}, relative", f"{path}.relative")
    return {
        "name": sheet.part(f"c{row}_name", f"{label}, name", f"{path}.name"),
        "weight": sheet.weight(f"c{row}_weight", f"{label}, weight", f"{path}.weight",
                               unit=unit, needed=True),
        "shrink": sheet.share(f"c{row}_shrink", f"{label}, shrink", f"{path}.shrink", high="95"),
        "relative": relative,
        "price": money("price", "price now", "price"),
        "fixed": money("fixed", "price that stays", "fixed"),
        "floor": money("floor", "floor", "floor"),
        "cap": money("cap", "cap", "cap"),
        "sold": sheet.weight(f"c{row}_sold", f"{label}, sold", f"{path}.sold", unit=unit),
        "extra_cost_per_unit": money("extra", "extra cost", "extra_cost_per_unit"),
        # what the shop filled in without a line has no price to move; another name is another cut
        "answers": not name_typed or sheet.one(f"c{row}_off") != name_typed,
    }  # fmt: skip


def _credits(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_CREDIT, _CREDITS)):
        path, label = f"$.credits[{line}]", f"By-product {row}"
        yield {
            "name": sheet.part(f"b{row}_name", f"{label}, name", f"{path}.name"),
            "weight": sheet.weight(f"b{row}_weight", f"{label}, weight", f"{path}.weight",
                                   unit=unit, needed=True),
            "value_per_unit": sheet.amount(f"b{row}_value", f"{label}, value",
                                           f"{path}.value_per_unit"),
        }  # fmt: skip


def _usual(currency: str) -> str:
    """Return the usual pull: down half a unit of money, or the least there is of it."""
    places = minor_places(currency)
    return f"-{max(round(_USUAL_PULL, places), Decimal(1).scaleb(-places)):f}"


def _pulls(
    sheet: SumSheet, cuts: Sequence[dict[str, Any]], currency: str
) -> list[dict[str, Any]] | None:
    """Return one pull for each cut that has a price to move, by the amount typed.

    Down with "-" before it, else up; None, the usual pulls, if nothing is typed.
    """
    text, label = sheet.one("pull"), "Pull each price by"
    moving = [cut for cut in cuts if cut["answers"]]
    if not text and len(moving) < len(cuts):
        text = _usual(currency)
    for line in range(len(cuts)):
        sheet.stands_for(f"$.pulls[{line}].by", "pull", label)
    if not text:
        return None
    sign = text[0] if text[0] in "+-" else ""
    size = sheet.faults.take("pull", lambda: read_amount(text.removeprefix(sign), label), None)
    if size is None:
        return None
    return [{"id": cut["name"], "by": f"{sign}{size:f}"} for cut in moving]


def _filled(room: Room, tag: str) -> Filling:
    """Return a piece of the shop: its cost, its parts at the prices on the board, its credits."""
    found = room.shop.chalk.problem(tag)
    cost, endings = found["cost"], found["endings"] or {}
    pairs = [
        ("name", found["name"]), ("bought", priced(cost["bought"])),
        ("haulage", priced(cost.get("haulage"))), ("minutes", plain(cost.get("labour_minutes"))),
        ("hourly", priced(cost.get("labour_per_hour"))), ("other", priced(cost.get("other"))),
        ("margin", percent(found["margin"])), ("step", plain(endings.get("step"))),
        ("ends", " ".join(endings.get("of") or ())), ("start", plain(found["start_weight"])),
        ("loss", plain(found["loss_weight"])),
    ]  # fmt: skip
    for row, cut in enumerate(fitting(found["cuts"], _CUTS, "cuts"), 1):
        pairs += _cut_pairs(row, cut)
    for row, one in enumerate(fitting(found["credits"], _CREDITS, "by-products"), 1):
        pairs += [(f"b{row}_name", one["name"]), (f"b{row}_weight", plain(one["weight"])),
                  (f"b{row}_value", priced(one["value_per_unit"]))]  # fmt: skip
    note = (
        f"Filled from {tag}: cost as it was paid with haulage and labour, prices now as on the "
        "board, shrink as in the case, by-products at the shop's values."
    )
    return Filling(pairs, note, piece_notes(room, tag))


def _cut_pairs(row: int, cut: dict[str, Any]) -> Pairs:
    keys = {"rel": "relative", "weight": "weight", "sold": "sold"}
    yield f"c{row}_name", cut["name"]
    if not cut.get("answers", True):
        yield f"c{row}_off", cut["name"]
    yield f"c{row}_shrink", percent(cut.get("shrink"))
    for name, key in keys.items():
        yield f"c{row}_{name}", plain(cut.get(key))
    for key in ("price", "fixed", "floor", "cap"):
        yield f"c{row}_{key}", priced(cut.get(key))
