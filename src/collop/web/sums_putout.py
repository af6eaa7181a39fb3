"""The sheet of how much to put out: too few against too many."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.chalk import putout
from collop.web.room import Queried, room_of
from collop.web.sums_sheet import Filling, SumSheet, filled_from, frame, plain, priced, show

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
_KINDS = {
    "normal": "mean and spread",
    "uniform": "low to high",
    "poisson": "whole pieces",
    "counts": "past days",
}
_DEMAND = (("mean", "Mean demand"), ("sd", "Spread (standard deviation)"), ("low", "Least demand"),
           ("high", "Most demand"))  # fmt: skip
#: So many letters of past days fit into one field.
_MOST_LETTERS = 1900


@router.get("/chalk/sums/put-out", response_class=HTMLResponse)
def show_putout(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheet, worked out if something stands on it."""
    room = room_of(request)
    filled = filled_from(fields, "line", lambda line: _filled(room, line))
    sheet = SumSheet(filled.fields, "price", filled.faults)
    plan = sheet.work_out(putout, _problem(sheet, room)) if filled.asks("price") else None
    return show(
        request, "sums_putout.html", sheet, plan, filled=filled, kinds=_KINDS,
        lines=room.shop.chalk.board(),
    )  # fmt: skip


def _problem(sheet: SumSheet, room: Room) -> dict[str, Any]:
    """Return the ``collop.putout/1`` object of a sheet."""
    kind = sheet.choice("kind", "Demand", "$.demand.kind", _KINDS)
    sheet.stands_for("$.demand", "kind", "Demand")
    demand: dict[str, Any] = {"kind": kind}
    for name, label in _DEMAND:
        demand[name] = sheet.amount(name, label, f"$.demand.{name}")
    demand["seen"] = sheet.amounts("seen", "Sold on past days", "$.demand.seen")
    shop = frame(room)
    if kind == "poisson":
        shop["unit"] = "piece"
    return {
        "schema": "collop.putout/1",
        **shop,
        "name": sheet.one("name")[:80],
        "price": sheet.amount("price", "Sells at", "$.price", needed=True),
        "cost": sheet.amount("cost", "Worth elsewhere", "$.cost", needed=True),
        "salvage": sheet.amount("salvage", "What is left is worth", "$.salvage"),
        "demand": {key: value for key, value in demand.items() if value is not None},
        "step": sheet.amount("every", "In steps of", "$.step"),
    }


def _filled(room: Room, line: str) -> Filling:
    """Return a line of the board: its price and cost, and what it sells on a day."""
    found = room.shop.chalk.put_out_problem(line)
    demand = found["demand"]
    seen = [plain(one) for one in demand.get("seen") or ()]
    kept: list[str] = []
    for text in reversed(seen):
        if len(" ".join([*kept, text])) > _MOST_LETTERS:
            break
        kept.append(text)
    pairs = [("name", found["name"]), ("kind", demand["kind"]), ("every", plain(found["step"])),
             ("seen", " ".join(reversed(kept)))]  # fmt: skip
    pairs += [(key, priced(found[key])) for key in ("price", "cost", "salvage")]
    pairs += [(key, plain(demand.get(key))) for key, _ in _DEMAND]
    note = f"Filled from the board and the case: {found['name']}, for one day."
    if len(kept) < len(seen):
        note += f" The last {len(kept)} days of {len(seen)}."
    ours = ["spread of a day's sale: 35 % of its mean"] if demand["kind"] == "normal" else []
    return Filling(pairs, note, room.shop.chalk.put_out_notes(line), ours)
