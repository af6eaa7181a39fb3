"""Receiving: an animal at the door, weighed against its invoice."""

from __future__ import annotations

from functools import partial
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.carcass import SPECIES
from collop.errors import BadValue, ShopError
from collop.measures import Weight
from collop.shop import NewDelivery
from collop.shop.receiving import cold_limit
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.knife_reading import unit_of
from collop.web.receiving_form import (
    MOST_PIECES,
    OTHER,
    FormOfDoor,
    gap_pct,
    pieces_known,
    read_delivery,
)
from collop.web.rendering import page
from collop.web.room import Posted, Room, room_of

__all__ = ["router"]

router = APIRouter()
#: Where the service says something is wrong, and the field it is shown beside.
_BESIDE = {"pieces": "tag-1", "tag": "tag-1", "farm": "farm", "killed_on": "killed_on",
           "invoiced": "invoiced", "haulage": "haulage", "by": "by",
           "establishment": "establishment"}  # fmt: skip


@router.get("/rail/receive", response_class=HTMLResponse)
def show_form(request: Request) -> HTMLResponse:
    """Show the form for an animal at the door."""
    return _show(request, Fields([]), Faults())


@router.post("/rail/receive", response_class=HTMLResponse)
def receive(request: Request, fields: Posted) -> Response:
    """Work out the gap, or take the animal in and hang it."""
    room, faults = room_of(request), Faults()
    new = read_delivery(_form(request, room, fields, faults))
    show = partial(_show, request, fields, faults, new=new)
    if fields.one("do") == "check":
        return show(status=422 if faults else 200)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return show(status=422)
    try:
        key = fields.one("key")[:64] or uuid4().hex
        delivery = room.shop.cutting.receive(new, by=by, key=key)
    except BadValue as error:
        if error.where == "key":
            faults.add("tag", "This form was sent already; look at the rail, then send it anew.")
            return show(status=422, key=uuid4().hex)
        faults.add(_beside(error.where, new), error.message)
        return show(status=422)
    except ShopError as error:
        return show(status=409, trouble=error.message)
    return RedirectResponse(f"/rail/receive/{delivery.number}", status_code=303)


@router.get("/rail/receive/{number:int}", response_class=HTMLResponse)
def show_delivery(request: Request, number: int) -> HTMLResponse:
    """Show one delivery as it was written down."""
    room = room_of(request)
    delivery = room.shop.cutting.delivery(min(number, 2**31))
    names = {person.id: person.name for person in room.shop.people()}
    return page(
        request, "delivery.html", delivery=delivery, limit=cold_limit(room.shop.rules.chosen()),
        gap_pct=gap_pct(delivery.weighed, delivery.invoiced), by=names.get(delivery.by or "", ""),
    )  # fmt: skip


def _form(request: Request, room: Room, fields: Fields, faults: Faults) -> FormOfDoor:
    return FormOfDoor(
        fields, faults, unit_of(request, fields), room.shop.settings(),
        pieces_known(room.shop.cutting.styles()), room.now().date(),
    )  # fmt: skip


def _beside(where: str, new: NewDelivery) -> str:
    """Return the field to show a fault of the service beside; its own tag names a piece."""
    for row, piece in enumerate(new.pieces, 1):
        if where == piece.tag:
            return f"weight-{row}"
    return _BESIDE.get(where, "tag")


def _show(
    request: Request, fields: Fields, faults: Faults, *, new: NewDelivery | None = None,
    status: int = 200, trouble: str = "", key: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    pieces = pieces_known(room.shop.cutting.styles())
    limit = cold_limit(room.shop.rules.chosen())
    is_over = new is not None and new.temperature is not None and new.temperature > limit
    return page(
        request, "receive.html", status=status, fields=fields, faults=faults, trouble=trouble,
        unit=unit_of(request, fields), pieces=[*pieces, OTHER],
        species=SPECIES, rows=range(1, MOST_PIECES + 1),
        papers=room.shop.settings().papers, people=room.shop.people(),
        key=key or fields.one("key") or uuid4().hex,
        limit=limit, is_over=is_over, today=room.now().date(),
        worked=_worked(new, room) if new is not None and not faults else None,
    )  # fmt: skip


def _worked(new: NewDelivery, room: Room) -> dict[str, object]:
    """Return gap, days since kill and cost, before anything is written."""
    weighed = Weight(sum(piece.weight.count for piece in new.pieces), new.invoiced.unit)
    cost = (
        None if new.price is None else new.price.line(new.invoiced, room.shop.settings().rounding)
    )
    if cost is not None and new.haulage is not None:
        cost += new.haulage
    days = None if new.killed_on is None else (room.now().date() - new.killed_on).days
    came = set(new.papers)
    return {
        "weighed": weighed, "invoiced": new.invoiced, "gap": weighed - new.invoiced,
        "gap_pct": gap_pct(weighed, new.invoiced) if new.invoiced else 0, "days": days,
        "cost": cost,
        "missing": [paper for paper in room.shop.settings().papers if paper not in came],
    }  # fmt: skip
