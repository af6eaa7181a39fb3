"""A printed ticket: its picture, its chain, printed again, made void; and cards for a pen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ProblemError, ShopError, StorageTrouble, WrongState
from collop.rules.weighing_scale import weight_text
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of
from collop.web.tickets_view import parts_of, pdf_answer, png_answer

if TYPE_CHECKING:
    from collections.abc import Callable

    from collop.shop import Ticket

__all__ = ["router"]

router = APIRouter()
_DONE = {
    "printed": "Kept. Open the page to print it, or the picture for the label printer.",
    "again": "Noted. Open the page to print it once more, as it was.",
    "void": "Void. The number stays on record; tear the label off the pack.",
}


@router.get("/tickets/card")
def card() -> Response:
    """Return blank cards to fill in by hand when the printer is out."""
    from collop.ticket import blank_card_pdf  # noqa: PLC0415 -- drawing is heavy

    return Response(blank_card_pdf(), media_type="application/pdf",
                    headers={"Cache-Control": "no-store",
                             "Content-Disposition": 'inline; filename="ticket-cards.pdf"'},
                    )  # fmt: skip


@router.get("/tickets/{name}.png")
def picture(request: Request, name: str, fields: Queried) -> Response:
    """Return one part of a ticket as the label printer's dots."""
    room = room_of(request)
    ticket = room.shop.tickets.ticket(name)
    return png_answer(room.shop.tickets.plan(ticket), fields.one("part", "1"), name=ticket.id)


@router.get("/tickets/{name}.pdf")
def paper(request: Request, name: str) -> Response:
    """Return a ticket as pages at its true size."""
    room = room_of(request)
    ticket = room.shop.tickets.ticket(name)
    if ticket.void:
        raise WrongState(f"{ticket.id} is void; print a new ticket for the pack.")
    return pdf_answer([room.shop.tickets.plan(ticket)], ticket.id)


@router.get("/tickets/{name}", response_class=HTMLResponse)
def show(request: Request, name: str, fields: Queried) -> HTMLResponse:
    """Show a printed ticket."""
    ticket = room_of(request).shop.tickets.ticket(name)
    return _show(request, ticket, fields, Faults(), done=_DONE.get(fields.one("done"), ""))


@router.post("/tickets/{name}/again", response_class=HTMLResponse)
def again(request: Request, name: str, fields: Posted) -> Response:
    """Note that a ticket is printed once more."""
    room = room_of(request)
    return _act(request, name, fields, "again",
                lambda by, key: room.shop.tickets.again(name, by=by, key=key))  # fmt: skip


@router.post("/tickets/{name}/void", response_class=HTMLResponse)
def void(request: Request, name: str, fields: Posted) -> Response:
    """Make a ticket void, with the reason."""
    room, why = room_of(request), fields.one("why")
    return _act(request, name, fields, "void",
                lambda by, key: room.shop.tickets.void(name, why, by=by, key=key))  # fmt: skip


def _act(
    request: Request, name: str, fields: Fields, done: str,
    act: Callable[[str, str], Ticket],
) -> Response:  # fmt: skip
    room, faults = room_of(request), Faults()
    ticket = room.shop.tickets.ticket(name)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, ticket, fields, faults, status=422)
    try:
        act(by, f"{fields.one('key')[:64] or uuid4().hex}-{done}")
    except StorageTrouble:
        raise
    except BadValue as error:
        faults.add("why" if error.where == "why" else "by", error.message)
        return _show(request, ticket, fields, faults, status=422)
    except ShopError as error:
        return _show(request, ticket, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/tickets/{ticket.id}?done={done}", 303)


def _show(
    request: Request, ticket: Ticket, fields: Fields, faults: Faults, *, done: str = "",
    trouble: str = "", status: int = 200,
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    plan, why = _plan(room, ticket)
    return page(
        request, "tickets_kept.html", status=status, ticket=ticket, plan=plan, fields=fields,
        faults=faults, done=done, trouble=trouble, why=why, people=room.shop.people(),
        names={one.id: one.name for one in room.shop.people()}, key=uuid4().hex,
        parts=range(1, parts_of(plan) + 1) if plan else (),
        exact=weight_text, booking=(ticket.booking_line or "").partition("-")[0],
        next_pack=_next(ticket, fields),
    )  # fmt: skip


def _next(ticket: Ticket, fields: Fields) -> str:
    """Return the address of the next pack: of the same lot and packing, if it was just printed."""
    told = {"case": ticket.case_id, "booking_line": ticket.booking_line or ""}
    if fields.one("tare"):
        told |= {"lot": ticket.lot, "tare": fields.one("tare"), "by": fields.one("by")}
    return f"/tickets?{urlencode({name: text for name, text in told.items() if text})}"


def _plan(room: Room, ticket: Ticket) -> tuple[Any, str]:
    """Return the plan, or why what was printed once cannot be drawn by the rules of now."""
    try:
        return room.shop.tickets.plan(ticket), ""
    except ProblemError as error:
        return None, error.message
