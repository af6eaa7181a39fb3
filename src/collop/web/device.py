"""What one device remembers for itself: units, language, light, place and sounds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.requests import HTTPConnection

from collop.web.cookies import keep_choice
from collop.web.daybook_form import degrees_of
from collop.web.fire_view import HEAT_COOKIE, HEATS
from collop.web.glance import MINUTES_LEAST, MINUTES_READ, cap_height_mm
from collop.web.held import own_path
from collop.web.looks import GROUND_COOKIE, PLACE_COOKIE, SOUNDS_COOKIE, told
from collop.web.rendering import UNIT_COOKIE, UNITS, page
from collop.web.room import Posted, Queried
from collop.words import LANGUAGES, speaking

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

__all__ = ["LANGUAGE_COOKIE", "OwnLanguage", "router"]

router = APIRouter()
LANGUAGE_COOKIE = "collop_language"
#: From where a screen is read [mm].
_READ_FROM_MM = (600, 3000)


class OwnLanguage:
    """Answer each request in the language its device has chosen; English if it chose none."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on."""
        chosen = "en"
        if scope["type"] == "http":
            chosen = HTTPConnection(scope).cookies.get(LANGUAGE_COOKIE, chosen)
        with speaking(chosen):
            await self._app(scope, receive, send)


@router.post("/device/units")
def set_units(fields: Posted) -> Response:
    """Remember the units on this device and go back to the page."""
    response = RedirectResponse(own_path(fields.one("back", "/ask")), status_code=303)
    keep_choice(response, UNIT_COOKIE, UNITS, fields.one("unit"))
    return response


@router.get("/device", response_class=HTMLResponse)
def show_device(request: Request, fields: Queried) -> Response:
    """Show what this device remembers, and how large letters must be where it stands."""
    minutes = (MINUTES_LEAST, *MINUTES_READ)
    return page(
        request, "device.html", is_kept=fields.one("done") == "kept", told=told(), heats=HEATS,
        heat=degrees_of(request, fields), minutes=minutes,
        heights=[
            (mm / 1000, [float(cap_height_mm(mm, one)) for one in minutes])
            for mm in _READ_FROM_MM
        ],
    )  # fmt: skip


@router.post("/device")
def set_device(fields: Posted) -> Response:
    """Remember all that was chosen on this device; what it does not know it leaves as it was."""
    response = RedirectResponse("/device?done=kept", status_code=303)
    choices = told()
    for name, cookie, known in (
        ("unit", UNIT_COOKIE, UNITS), ("heat", HEAT_COOKIE, HEATS),
        ("language", LANGUAGE_COOKIE, LANGUAGES), ("ground", GROUND_COOKIE, choices["ground"]),
        ("place", PLACE_COOKIE, choices["place"]), ("sounds", SOUNDS_COOKIE, choices["sounds"]),
    ):  # fmt: skip
        keep_choice(response, cookie, known, fields.one(name))
    return response
