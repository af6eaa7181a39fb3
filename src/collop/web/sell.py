"""Weigh and sell: touch the cut on the scale, see the total, take the money."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, ShopError
from collop.measures import Money
from collop.reference.other_names import other_names
from collop.shop import COUNTER, NO_PACKING, NewPayment, NewSale
from collop.web.forms import Faults, Fields, read_choice
from collop.web.hook import read_who
from collop.web.knife_reading import unit_of
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of
from collop.web.sell_form import (
    MOST_LINES,
    address,
    as_text,
    read_given,
    read_lines,
    read_new_line,
)

if TYPE_CHECKING:
    from collop.shop import CaseLine, Estimate

__all__ = ["router"]

router = APIRouter()
_WAYS = ("cash", "card", "other", "account")
_FIELDS = ("gross", "tare", "asked", "given", "name", "by", "cut", "ticket")
_MOVED = "A price or a tax rate changed meanwhile: this is the new total."


@router.get("/sell", response_class=HTMLResponse)
def show_sale(request: Request, fields: Queried) -> Response:
    """Show the lines so far, the cuts, and the total."""
    faults = Faults()
    lines = _lines(fields, faults)
    return _show(request, fields, lines, faults)


@router.post("/sell", response_class=HTMLResponse)
def act(request: Request, fields: Posted) -> Response:
    """Add what lies on the scale, or take the money."""
    faults = Faults()
    lines = _lines(fields, faults)
    if fields.one("way"):
        return _take(request, fields, lines, faults)
    return _add(request, fields, lines, faults)


def _lines(fields: Fields, faults: Faults) -> tuple[NewSale, ...]:
    return faults.take("lines", lambda: read_lines(fields), ())


def _add(request: Request, fields: Fields, lines: tuple[NewSale, ...], faults: Faults) -> Response:
    """Add one line and go back to the page, whose address has it."""
    room = room_of(request)
    kept = {name: fields.one(name)[:80] for name in ("by", "tare", "name")}
    if kept["tare"] == NO_PACKING:
        kept["tare"] = ""
    if _is_touched_first(room, fields):
        asked = {name: fields.one(name)[:60] for name in ("asked", "find")}
        chosen = address(lines, **kept, **asked, chosen=fields.one("cut"))
        return RedirectResponse(chosen, status_code=303)
    named = {one.ticket for one in lines if one.ticket}
    new = read_new_line(fields, faults, room, unit_of(request, fields), named)
    if len(lines) >= MOST_LINES:
        faults.add("cut", f"One sale has {MOST_LINES} lines at most; take the money first.")
    if new is not None and not faults:
        try:
            room.shop.selling.estimate((*lines, new))
        except CollopError as error:
            faults.add("ticket" if new.ticket else "cut", error.message)
    if faults or new is None:
        return _show(request, fields, lines, faults, status=422)
    return RedirectResponse(address((*lines, new), **kept), status_code=303)


def _is_touched_first(room: Room, fields: Fields) -> bool:
    """Tell whether a cut was touched before anything was weighed: no fault, its weight is next."""
    if fields.one("gross") or fields.one("ticket"):
        return False
    return any(one.id == fields.one("cut") for one in room.shop.case())


def _take(request: Request, fields: Fields, lines: tuple[NewSale, ...], faults: Faults) -> Response:
    """Sell the lines and note how they are paid."""
    room = room_of(request)
    way = faults.take("lines", lambda: read_choice(fields.one("way"), "Way", _WAYS), "")
    if not lines:
        faults.add("cut", "Cut: nothing is on the slip yet; weigh a cut first.")
    by = faults.take("by", lambda: read_who(room, fields), "")
    given = None
    if way == "cash":
        given = faults.take("given", lambda: read_given(fields.one("given"), room.currency), None)
    if faults:
        return _show(request, fields, lines, faults, status=422)
    try:
        slip = room.shop.selling.sell(
            lines, NewPayment(way, given), by=by, key=fields.one("key")[:64] or uuid4().hex,
            name=fields.one("name")[:60] or COUNTER, total=_told(fields, room),
        )  # fmt: skip
    except BadValue as error:
        faults.add(error.where if error.where in _FIELDS else "lines", error.message)
        return _show(request, fields, lines, faults, status=422)
    except ShopError as error:
        moved = error.where == "total"
        return _show(request, fields, lines, faults, status=409,
                     trouble=_MOVED if moved else error.message)  # fmt: skip
    return RedirectResponse(f"/sell/{slip.booking_id}?done=sold&by={by}", status_code=303)


def _told(fields: Fields, room: Room) -> Money | None:
    """Return the total that stood on the page."""
    try:
        return Money.of(fields.one("total"), room.currency) if fields.one("total") else None
    except BadValue:
        return None


def _tiles(case: tuple[CaseLine, ...], find: str) -> list[CaseLine]:
    """Return the cuts that match, by a name, number or kind of meat; those with none free last."""
    wanted = find.casefold()
    found = [
        one for one in case
        if wanted in one.name.casefold() or wanted in {one.id.casefold(), one.species.casefold()}
        or wanted in "; ".join(other_names(one.species, one.name)).casefold()
    ]  # fmt: skip
    return sorted(found, key=lambda one: not one.free)


def _show(
    request: Request, fields: Fields, lines: tuple[NewSale, ...], faults: Faults, *,
    status: int = 200, trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    estimate: Estimate | None = None
    try:
        estimate = room.shop.selling.estimate(lines)
    except CollopError as error:
        faults.add("lines", error.message)
    find, unit = fields.one("find")[:60], unit_of(request, fields)
    kept = {"by": fields.one("by"), "tare": fields.one("tare"), "name": fields.one("name")}
    rows = [
        {"line": one, "text": as_text(one), "told": told,
         "less": address((*lines[:at], *lines[at + 1 :]), **kept),
         "agree": address((*lines[:at], replace(one, agreed=True), *lines[at + 1 :]), **kept)}
        for at, (one, told) in enumerate(
            zip(lines, estimate.lines if estimate else [None] * len(lines), strict=True)
        )
    ]  # fmt: skip
    case = room.shop.case()
    tiles = _tiles(case, find)
    # who looked for one cut means it: the weight and the key of Add sell it, without a touch
    only = tiles[0].id if find and len(tiles) == 1 else ""
    chosen = fields.one("cut") or fields.one("chosen") or only
    return page(
        request, "sell.html", status=status, faults=faults, fields=fields, rows=rows,
        estimate=estimate, tiles=tiles, find=find, trouble=trouble,
        tares=room.shop.tickets.tares(), no_packing=NO_PACKING, people=room.shop.people(),
        key=uuid4().hex, all_cuts=address(lines, **kept), unit=unit,
        chosen=chosen, asks=next((one.name for one in case if one.id == chosen), ""),
        waits=_waits(room, estimate),
        away=json.dumps(room.shop.waiting.sale_facts()) if not lines else "",
    )  # fmt: skip


def _waits(room: Room, estimate: Estimate | None) -> tuple[str, ...]:
    """Return which orders wait for what lies on the slip; for the shop, not for the customer."""
    lines = estimate.lines if estimate else ()
    return room.shop.promising.would_take((one.case_id, one.net) for one in lines)
