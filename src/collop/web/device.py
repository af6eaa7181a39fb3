"""What one device remembers for itself: the units it shows."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from collop.web.rendering import UNIT_COOKIE, UNITS
from collop.web.room import Posted

__all__ = ["router"]

router = APIRouter()
_A_YEAR_S = 365 * 24 * 3600


@router.post("/device/units")
def set_units(fields: Posted) -> Response:
    """Remember the units on this device and go back to the page."""
    back = fields.one("back", "/ask")
    if not back.startswith("/") or back.startswith(("//", "/\\")):
        back = "/ask"
    response = RedirectResponse(back, status_code=303)
    unit = fields.one("unit")
    if unit in UNITS:
        response.set_cookie(UNIT_COOKIE, unit, max_age=_A_YEAR_S, samesite="lax", httponly=True)
    return response
