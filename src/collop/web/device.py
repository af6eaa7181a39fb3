"""What one device remembers for itself: the units it shows, and the language."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response
from starlette.requests import HTTPConnection

from collop.web.rendering import UNIT_COOKIE, UNITS
from collop.web.room import Posted
from collop.words import LANGUAGES, speaking

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

__all__ = ["LANGUAGE_COOKIE", "OwnLanguage", "router"]

router = APIRouter()
LANGUAGE_COOKIE = "collop_language"
_A_YEAR_S = 365 * 24 * 3600


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


@router.post("/device/language")
def set_language(fields: Posted) -> Response:
    """Remember the language on this device and go back to the page."""
    return _remembered(fields, LANGUAGE_COOKIE, LANGUAGES, fields.one("language"))


@router.post("/device/units")
def set_units(fields: Posted) -> Response:
    """Remember the units on this device and go back to the page."""
    return _remembered(fields, UNIT_COOKIE, UNITS, fields.one("unit"))


def _remembered(fields: Posted, cookie: str, known: Collection[str], value: str) -> Response:
    back = fields.one("back", "/ask")
    if not back.startswith("/") or back.startswith(("//", "/\\")):
        back = "/ask"
    response = RedirectResponse(back, status_code=303)
    if value in known:
        response.set_cookie(cookie, value, max_age=_A_YEAR_S, samesite="lax", httponly=True)
    return response
