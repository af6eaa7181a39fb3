"""The pricing sheets: each computation of prices on figures that are typed or filled in."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.web import (
    sums_blend,
    sums_clearing,
    sums_cost,
    sums_demand,
    sums_equation,
    sums_markdown,
    sums_putout,
    sums_whole,
)
from collop.web.rendering import page
from collop.web.sums_sheet import SUMS

__all__ = ["router"]

router = APIRouter()


@router.get("/chalk/sums", response_class=HTMLResponse)
def show_sums(request: Request) -> HTMLResponse:
    """Show what can be worked out."""
    return page(request, "sums.html", sums=SUMS)


for _part in (
    sums_equation, sums_cost, sums_whole, sums_markdown, sums_putout, sums_clearing, sums_demand,
    sums_blend,
):  # fmt: skip
    router.include_router(_part.router)
