"""What suppliers ask: live, hanging and boxed quotes kept, and laid side by side on one basis."""

from __future__ import annotations

from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, NotFound, ShopError, StorageTrouble
from collop.web.buying_form import BASES, ROWS, field_of, read_quote
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()
_DONE = {"kept": "Kept.", "off": "Taken off. It stays in the books."}


@router.get("/buying", response_class=HTMLResponse)
def show_quotes(request: Request, fields: Queried) -> HTMLResponse:
    """Show the quotes of each animal side by side, cheapest first, and how it was worked out."""
    return _show(request, fields, Faults())


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    try:
        compared = room.shop.season.compare()
    except StorageTrouble:
        raise
    except CollopError as error:
        compared, trouble = (), trouble or error.message
    return page(
        request, "buying.html", status=status, compared=compared, quotes=room.shop.season.quotes(),
        faults=faults, trouble=trouble, fields=fields, done=_DONE.get(fields.one("done"), ""),
        bases=BASES, today=room.now().date(), people=room.shop.people(), key=uuid4().hex,
        names={person.id: person.name for person in room.shop.people()},
    )  # fmt: skip


@router.get("/buying/new", response_class=HTMLResponse)
def show_new(request: Request, fields: Queried) -> HTMLResponse:
    """Ask for a quote, live, hanging or in a box."""
    return _form(request, fields, Faults())


@router.post("/buying/new", response_class=HTMLResponse)
def keep(request: Request, fields: Posted) -> Response:
    """Keep a quote."""
    room, faults = room_of(request), Faults()
    new = read_quote(room, fields, faults)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _form(request, fields, faults, status=422)
    try:
        room.shop.season.quote(new, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except (BadValue, NotFound) as error:
        faults.add(field_of(error.where), error.message.replace("$.offers[0].", ""))
        return _form(request, fields, faults, status=422)
    except ShopError as error:
        return _form(request, fields, faults, status=409, trouble=error.message)
    return RedirectResponse("/buying?done=kept", status_code=303)


@router.post("/buying/{name}/off", response_class=HTMLResponse)
def take_off(request: Request, name: str, fields: Posted) -> Response:
    """Take a quote off."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.season.take_off(name, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except ShopError as error:
        status = 404 if isinstance(error, NotFound) else 409
        return _show(request, fields, faults, status=status, trouble=error.message)
    return RedirectResponse("/buying?done=off", status_code=303)


def _form(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    basis = fields.one("basis") if fields.one("basis") in BASES else "live"
    case = room.shop.case()
    species = dict.fromkeys([
        *(one for one, _ in room.shop.season.farms().values()),
        *(line.species for line in case if line.species != "none"),
    ])  # fmt: skip
    return page(
        request, "buying_new.html", status=status, fields=fields, faults=faults, trouble=trouble,
        basis=basis, bases=BASES, species=list(species), lines=case, rows=range(1, ROWS + 1),
        people=room.shop.people(), key=fields.one("key") or uuid4().hex,
        unit=str(room.shop.settings().legal_unit),
    )  # fmt: skip
