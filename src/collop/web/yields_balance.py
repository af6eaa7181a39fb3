"""Weights that must close: one piece, its parts, the loss, and what was probably forgotten."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.carcass import reconcile
from collop.web.rendering import page
from collop.web.room import Queried, room_of
from collop.web.yields_break import Filled, filled_from
from collop.web.yields_sheet import UNITS, Sheet

if TYPE_CHECKING:
    from collop.shop import Break

__all__ = ["router"]

router = APIRouter()
_PARTS, _TARES = 24, 6
_PART_FIELDS = ("p{}_part", "p{}_weight")
_TARE_FIELDS = ("t{}_part", "t{}_weight")


@router.get("/yields/balance", response_class=HTMLResponse)
def show_balance(request: Request, fields: Queried) -> HTMLResponse:
    """Show the weights, reconciled or refused if something was entered."""
    room = room_of(request)
    filled = filled_from(room, fields, _lines_of_break)
    fields = filled.fields
    sheet = Sheet(fields, "weight", filled.faults)
    asked = "weight" in fields
    plan = sheet.work_out(reconcile, _problem(sheet)) if asked else None
    return page(
        request, "yields_balance.html", status=422 if sheet.faults else 200, sheet=sheet,
        faults=sheet.faults, plan=plan, note="Filled from the break." if filled.note else "",
        units=UNITS, breaks=room.shop.cutting.closed_breaks(),
        part_rows=sheet.rows(_PART_FIELDS, least=6, most=_PARTS),
        tare_rows=sheet.rows(_TARE_FIELDS, least=2, most=_TARES),
    )  # fmt: skip


def _problem(sheet: Sheet) -> dict[str, Any]:
    """Return the ``collop.balance/1`` object of a sheet."""
    unit = sheet.choice("unit", "Unit", "$.unit", UNITS)
    name = sheet.one("name")[:80] or "the piece"
    whole = {
        "name": name,
        "weight": sheet.weight("weight", "Weight of the piece", "$.whole.weight", unit=unit,
                               needed=True),
        "parts": list(_named(sheet, unit, "p", "$.whole.parts", ("Part", _PARTS))),
    }  # fmt: skip
    problem = {
        "schema": "collop.balance/1",
        "name": name,
        "unit": unit,
        "scale_sd": sheet.weight("scale", "Scale error", "$.scale_sd", unit=unit),
        "loss": _loss(sheet),
        "whole": whole,
        "tares": list(_named(sheet, unit, "t", "$.tares", ("Tub", _TARES))),
    }
    if not whole["parts"] and not sheet.faults:
        sheet.faults.add("p1_part", "Part 1: enter the parts that were weighed.")
    return problem


def _named(
    sheet: Sheet, unit: str, letter: str, path: str, lines: tuple[str, int]
) -> Iterator[dict[str, Any]]:
    """Return name and weight of each line that is filled in."""
    word, most = lines
    for line, row in enumerate(sheet.used((f"{letter}{{}}_part", f"{letter}{{}}_weight"), most)):
        here, name = f"{path}[{line}]", f"{word} {row}"
        part = sheet.part(f"{letter}{row}_part", f"{name}, name", f"{here}.name")
        weight = sheet.weight(f"{letter}{row}_weight", f"{name}, weight", f"{here}.weight",
                              unit=unit, needed=True)  # fmt: skip
        yield {"name": part, "weight": weight}


def _loss(sheet: Sheet) -> dict[str, Any] | None:
    share = sheet.amount("loss", "Usual loss", "$.loss.share", high="90")
    give = sheet.amount("loss_sd", "Give or take", "$.loss.sd_share", high="90")
    if share is None and give is None:
        return None
    if share is None or give is None:
        name, label = ("loss", "Usual loss") if share is None else ("loss_sd", "Give or take")
        sheet.faults.add(name, f"{label}: enter both the usual loss and its give or take.")
        return None
    return {"share": float(Decimal(share) / 100), "sd_share": float(Decimal(give) / 100)}


def _lines_of_break(found: Break, filled: Filled) -> Iterator[tuple[str, str]]:
    """Return the weights of a closed break, from the weight at the block."""
    yield "name", found.tag
    yield "unit", "lb"
    yield "weight", filled.pounds(found.start)
    for row, (part, weight, _) in enumerate(filled.parts, 1):
        yield f"p{row}_part", part
        yield f"p{row}_weight", filled.pounds(weight)
