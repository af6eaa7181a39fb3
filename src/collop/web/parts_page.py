"""Parts of the pages: every part once, with its name and when it is used."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.shop.model import State
from collop.web.forms import Faults
from collop.web.rendering import page
from collop.words import gettext as _

__all__ = ["router"]

router = APIRouter()


@router.get("/parts", response_class=HTMLResponse)
def show_parts(request: Request) -> Response:
    """Show every part once; what stands in it is invented and kept nowhere."""
    faults = Faults()
    faults.add("net", _("Weight: 4,8,5 is not a number; write it like 4.85."))
    return page(request, "parts.html", faults=faults, well=Faults(), states=[*State])
