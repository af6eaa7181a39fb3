"""A booking's Fire Sheet at the counter: seen, put right, printed, given a new address."""

from __future__ import annotations

from urllib.parse import urlsplit
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, NotFound, ShopError, StorageTrouble
from collop.hosts import is_this_machine
from collop.shop import Booking, State
from collop.shop.fire_model import FireSheet
from collop.web.fire_form import FactsForm, dishes_of, field_of, read_facts
from collop.web.fire_view import public_address, sheet_files, view_of
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()
_DONE = {
    "changed": "The fire is put right. The customer's page shows it at once.",
    "made": "The sheet has its address. Print it, or hand the address on.",
    "renewed": "The sheet has a new address. The old one opens nothing; print the sheet again.",
}


@router.get("/hook/{booking_id}/fire", response_class=HTMLResponse)
def show_fire(request: Request, booking_id: str, fields: Queried) -> HTMLResponse:
    """Show the sheet of a booking, and the form that corrects it."""
    booking = room_of(request).shop.booking(booking_id)
    return _show(request, booking, done=_DONE.get(fields.one("done"), ""), asked=fields)


@router.get("/hook/{booking_id}/fire/picture.svg")
def show_picture(request: Request, booking_id: str, fields: Queried) -> Response:
    """Return the picture of a sheet that has no address yet."""
    sheet = room_of(request).shop.fire.look(booking_id)
    found = sheet_files(request, view_of(request, fields, sheet), "picture.svg", fields)
    if found is None:
        raise NotFound("There is no picture of this sheet; nothing of it is on the fire.")
    return found


def _show(
    request: Request, booking: Booking, *, form: FactsForm | None = None, done: str = "",
    trouble: str = "", asked: Fields | None = None, status: int = 200,
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    sheet, why_not = _sheet(request, booking)
    view = None
    if sheet is not None:
        view = view_of(request, asked or Fields([]), sheet)
    form = form or _form(request, booking, Fields([]))
    address = public_address(request, sheet) if sheet and sheet.token else ""
    return page(
        request, "fire_room.html", status=status, booking=booking, view=view, form=form,
        faults=form.faults, done=done, trouble=trouble or why_not, people=room.shop.people(),
        key=uuid4().hex, is_off=booking.state is State.OFF,
        address=address, is_here_only=is_this_machine(urlsplit(address).hostname or ""),
        base=f"/fire/{sheet.token}" if sheet and sheet.token else f"/hook/{booking.id}/fire",
    )  # fmt: skip


def _sheet(request: Request, booking: Booking) -> tuple[FireSheet | None, str]:
    """Return the sheet, or why there is none; looking at it makes no address."""
    try:
        return room_of(request).shop.fire.look(booking.id), ""
    except StorageTrouble:
        raise
    except CollopError as error:
        return None, error.message


def _form(request: Request, booking: Booking, fields: Fields) -> FactsForm:
    """Return the form over the facts of now."""
    fire = room_of(request).shop.fire
    try:
        dishes = dishes_of(fire.problem(booking.id))
    except StorageTrouble:
        raise
    except CollopError:  # nothing to cook: the fire itself can still be told
        dishes = []
    return FactsForm(fire.facts(booking.id), dishes, fields)


@router.post("/hook/{booking_id}/fire", response_class=HTMLResponse)
def correct(request: Request, booking_id: str, fields: Posted) -> Response:
    """Put the facts of a booking's fire right."""
    room = room_of(request)
    booking = room.shop.booking(booking_id)
    form = _form(request, booking, fields)
    facts = read_facts(form)
    by = form.faults.take("by", lambda: read_who(room, fields), "")
    if form.faults:
        return _show(request, booking, form=form, status=422)
    try:
        room.shop.fire.change(booking.id, facts, by=by, key=_key(fields))
    except StorageTrouble:
        raise
    except BadValue as error:
        form.faults.add(field_of(error.where, form), error.message)
        return _show(request, booking, form=form, status=422)
    except ShopError as error:
        return _show(request, booking, form=form, trouble=error.message, status=409)
    return RedirectResponse(f"/hook/{booking.id}/fire?done=changed", status_code=303)


@router.post("/hook/{booking_id}/fire/address", response_class=HTMLResponse)
def make(request: Request, booking_id: str, fields: Posted) -> Response:
    """Make the address of the sheet; one it has already stays."""
    return _address(request, booking_id, fields, done="made")


@router.post("/hook/{booking_id}/fire/renew", response_class=HTMLResponse)
def renew(request: Request, booking_id: str, fields: Posted) -> Response:
    """Give the sheet a new address; the old one is void."""
    return _address(request, booking_id, fields, done="renewed")


def _address(request: Request, booking_id: str, fields: Fields, *, done: str) -> Response:
    room = room_of(request)
    write = room.shop.fire.make if done == "made" else room.shop.fire.renew
    booking = room.shop.booking(booking_id)
    faults = Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    form = _form(request, booking, Fields([]))
    form.faults = faults
    if faults:
        return _show(request, booking, form=form, status=422)
    try:
        write(booking.id, by=by, key=_key(fields))
    except StorageTrouble:
        raise
    except CollopError as error:
        return _show(request, booking, form=form, trouble=error.message, status=409)
    return RedirectResponse(f"/hook/{booking.id}/fire?done={done}", status_code=303)


def _key(fields: Fields) -> str:
    return fields.one("key")[:64] or uuid4().hex
