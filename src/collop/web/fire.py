"""The customer's Fire Sheet: one page behind an unguessable address, without login."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.errors import CollopError, StorageTrouble
from collop.shop.fire_model import FireSheet
from collop.web.cookies import keep_choice
from collop.web.device import LANGUAGE_COOKIE
from collop.web.fire_view import HEAT_COOKIE, HEATS, sheet_files, view_of
from collop.web.forms import Fields
from collop.web.rendering import UNIT_COOKIE, page
from collop.web.room import Queried, room_of
from collop.words import LANGUAGES, SPOKEN, speaking

__all__ = ["router"]

router = APIRouter()
_MOST_TOKEN = 200
#: A sheet has no pounds and ounces.
_SHEET_UNITS = ("lb", "kg")
#: The address is the key: it goes into no index, no other site's log and no shared cache.
_PRIVATE = {
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "private, no-store",
}


@router.get("/fire/{token}", response_class=HTMLResponse)
def show_sheet(request: Request, token: str, fields: Queried) -> Response:
    """Show a customer their sheet."""
    sheet = _sheet(request, token)
    if sheet is None:
        return _private(_gone(request))
    view = view_of(request, fields, sheet)
    with speaking(_language(fields)):
        response: Response = page(request, "fire.html", view=view, base=f"/fire/{token}")
    return _private(_remembering(response, fields))


@router.get("/fire/{token}/{name}")
def show_file(request: Request, token: str, name: str, fields: Queried) -> Response:
    """Return the sheet as paper, or its picture."""
    sheet = _sheet(request, token)
    found = None
    if sheet is not None:
        view = view_of(request, fields, sheet)
        with speaking(_language(fields)):
            found = sheet_files(request, view, name, fields)
    return _private(found or _gone(request))


def _language(fields: Fields) -> str:
    """Return the language the sheet is asked in; else that of the device."""
    asked = fields.one("language")
    return asked if asked in LANGUAGES else SPOKEN.get()


def _sheet(request: Request, token: str) -> FireSheet | None:
    """Return the sheet of an address; None for one that was never made, or is withdrawn."""
    try:
        return room_of(request).shop.fire.by_token(token[:_MOST_TOKEN])
    except StorageTrouble:
        raise
    except CollopError:  # nothing of the booking goes on a fire any more
        return None


def _gone(request: Request) -> HTMLResponse:
    return page(request, "fire_gone.html", status=404)


def _private(response: Response) -> Response:
    response.headers.update(_PRIVATE)
    return response


def _remembering(response: Response, fields: Fields) -> Response:
    """Keep what was chosen on this device."""
    keep_choice(response, HEAT_COOKIE, HEATS, fields.one("heat"))
    keep_choice(response, UNIT_COOKIE, _SHEET_UNITS, fields.one("weight"))
    keep_choice(response, LANGUAGE_COOKIE, LANGUAGES, fields.one("language"))
    return response
