"""The sheet of a piece that may be sold whole or as its cuts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.chalk import whole
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import (
    Filling,
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
_CUTS = 24
_CUT = ("c{}_name", "c{}_share", "c{}_price", "c{}_shrink", "c{}_free", "c{}_pace")
#: Fields of money per unit of the piece: name, label, key of the problem.
_COSTS = (
    ("labour", "Labour of cutting", "labour_per_unit"),
    ("minutes", "Minutes of cutting", "labour_minutes"),
    ("hourly", "Pay an hour", "labour_per_hour"),
    ("packaging", "Packaging", "packaging_per_unit"),
    ("risk", "Cuts that do not sell", "risk_per_unit"),
    ("wlabour", "Labour of the whole", "whole_labour_per_unit"),
    ("wpackaging", "Packaging of the whole", "whole_packaging_per_unit"),
)


@router.get("/chalk/sums/whole", response_class=HTMLResponse)
def show_whole(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(fields, "tag", lambda tag: _filled(room, tag))
    sheet = SumSheet(filled.fields, "weight", filled.faults)
    plan = sheet.work_out(whole, _problem(sheet, room)) if filled.asks("weight") else None
    return show(
        request, "sums_whole.html", sheet, plan, filled=filled, costs=_COSTS,
        animals=room.shop.chalk.animals(), cut_rows=sheet.rows(_CUT, least=5, most=_CUTS),
    )  # fmt: skip


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.whole/1`` object of a sheet."""
    shop = frame(room)
    unit = shop["unit"]
    piece = {
        "name": sheet.one("name")[:80] or "piece",
        "weight": sheet.weight("weight", "Weight of the piece", "$.piece.weight", unit=unit,
                               needed=True),
        "price": sheet.amount("price", "Price of the whole", "$.piece.price"),
    }  # fmt: skip
    cuts = list(_cuts(sheet, unit))
    sheet.stands_for("$.cuts", "c1_share", "The cuts")
    if not cuts:
        sheet.faults.add("c1_name", "Cut 1: name what the piece would be cut into.")
    costs = {key: sheet.amount(name, label, f"$.{key}") for name, label, key in _COSTS}
    return {
        "schema": "collop.whole/1",
        **shop,
        "piece": piece,
        "cuts": cuts,
        **costs,
        "whole_shrink": sheet.share("wshrink", "Shrink of the whole", "$.whole_shrink",
                                    high="99"),
        "days": sheet.number("days", "Days until more is cut", "$.days", high="365"),
    }  # fmt: skip


def _cuts(sheet: SumSheet, unit: str) -> Iterator[dict[str, Any]]:
    for line, row in enumerate(sheet.used(_CUT, _CUTS)):
        path, label = f"$.cuts[{line}]", f"Cut {row}"
        found = {
            "id": sheet.part(f"c{row}_name", f"{label}, name", f"{path}.id"),
            "share": _share(sheet, row, f"{path}.share"),
            "price": sheet.amount(f"c{row}_price", f"{label}, price", f"{path}.price",
                                  needed=True),
            "shrink": sheet.share(f"c{row}_shrink", f"{label}, shrink", f"{path}.shrink",
                                  high="99"),
            "case_free": sheet.weight(f"c{row}_free", f"{label}, free in the case",
                                      f"{path}.case_free", unit=unit),
            "sells_per_day": sheet.weight(f"c{row}_pace", f"{label}, sells a day",
                                          f"{path}.sells_per_day", unit=unit),
        }  # fmt: skip
        yield {key: value for key, value in found.items() if value is not None}


def _share(sheet: SumSheet, row: int, path: str) -> float | None:
    label = f"Cut {row}, share"
    share = sheet.share(f"c{row}_share", label, path)
    if not sheet.one(f"c{row}_share"):
        sheet.faults.add(f"c{row}_share", f"{label}: give its weight in percent of the piece.")
    return share


def _filled(room: Room, tag: str) -> Filling:
    """Return a piece of the shop and the cuts it gives, at the prices on the board."""
    found = room.shop.chalk.whole_problem(tag)
    piece = found["piece"]
    pairs = [("name", piece["name"]), ("weight", plain(piece["weight"])),
             ("price", priced(piece["price"])), ("days", plain(found.get("days")))]  # fmt: skip
    pairs += [(name, plain(found.get(key))) for name, _, key in _COSTS]
    pairs += [("wshrink", percent(found.get("whole_shrink")))]
    keys = {"free": "case_free", "pace": "sells_per_day"}
    for row, cut in enumerate(fitting(found["cuts"], _CUTS, "cuts"), 1):
        pairs += [(f"c{row}_name", cut.get("name") or cut["id"]),
                  (f"c{row}_price", priced(cut["price"])), (f"c{row}_share", percent(cut["share"])),
                  (f"c{row}_shrink", percent(cut.get("shrink")))]  # fmt: skip
        pairs += [(f"c{row}_{name}", plain(cut.get(key))) for name, key in keys.items()]
    note = (
        f"Filled from {tag}: the cuts it gives at the prices on the board, by-products at the "
        "shop's values. Enter what the whole is to be sold for."
    )
    return Filling(pairs, note, piece_notes(room, tag))
