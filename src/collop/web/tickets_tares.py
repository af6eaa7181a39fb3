"""The list of tares: what unused, dry packing weighs."""

from __future__ import annotations

from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError, StorageTrouble
from collop.measures import Weight, WeightUnit
from collop.reference import FROM_MEMORY
from collop.reference.rulebook import rule_row
from collop.rules.weighing_scale import weight_text
from collop.shop.ticket_tares import TARE_RULE
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()
_DONE = {"set": "Written. Tickets from now on take it off.",
         "retired": "Off the list. Tickets printed with it keep it."}  # fmt: skip


@router.get("/tickets/tares", response_class=HTMLResponse)
def show(request: Request, fields: Queried) -> HTMLResponse:
    """Show the tares and the form that adds or changes one."""
    return _show(request, fields, Faults(), done=_DONE.get(fields.one("done"), ""))


@router.post("/tickets/tares", response_class=HTMLResponse)
def change(request: Request, fields: Posted) -> Response:
    """Write a tare, or take one off the list."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    retired, key = fields.one("retire"), fields.one("key")[:64] or uuid4().hex
    unit = room.shop.settings().legal_unit
    weight = None
    if not retired:
        weight = faults.take("weight", lambda: _weight(fields.one("weight"), unit), None)
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        if retired:
            room.shop.tickets.retire_tare(retired, by=by, key=f"{key}-retire")
        else:
            room.shop.tickets.set_tare(fields.one("name"), weight, by=by, key=key)
    except StorageTrouble:
        raise
    except BadValue as error:
        faults.add(error.where if error.where in {"name", "weight"} else "by", error.message)
        return _show(request, fields, faults, status=422)
    except ShopError as error:
        faults.add("name", error.message)
        return _show(request, fields, faults, status=409)
    return RedirectResponse(f"/tickets/tares?done={'retired' if retired else 'set'}", 303)


def _weight(text: str, unit: WeightUnit) -> Weight | None:
    return read_weight(text, "Weight", unit) if text else None


def _show(
    request: Request, fields: Fields, faults: Faults, *, done: str = "", status: int = 200
) -> HTMLResponse:
    room, rule = room_of(request), rule_row(TARE_RULE)
    return page(
        request, "tickets_tares.html", status=status, fields=fields, faults=faults, done=done,
        exact=weight_text, tares=room.shop.tickets.tares(),
        unit=room.shop.settings().legal_unit, key=uuid4().hex,
        people=room.shop.people(), names={one.id: one.name for one in room.shop.people()},
        rule=rule, mark="" if rule.is_cited else FROM_MEMORY,
    )  # fmt: skip
