"""The board as customers see it: prices in large print, on a screen or on paper."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.reference.other_names import other_names
from collop.web.rendering import page
from collop.web.room import Queried, room_of
from collop.words import day_text

if TYPE_CHECKING:
    from collop.shop import BoardLine

__all__ = ["by_species", "in_force_from", "router", "species_name"]

router = APIRouter()
#: What the board calls a species that its own name does not say to a customer.
_SPECIES = {"none": "Without meat"}
#: Forms a customer must be told; the rest are as they look.
_SAID_FORMS = ("frozen", "thawed")


def species_name(species: str) -> str:
    """Return a species as a heading."""
    return _SPECIES.get(species, species.capitalize())


def by_species(lines: Iterable[BoardLine]) -> list[tuple[str, list[BoardLine]]]:
    """Return the lines under their species, both in board order."""
    groups: dict[str, list[BoardLine]] = {}
    for line in lines:
        groups.setdefault(line.species, []).append(line)
    return [(species_name(species), found) for species, found in groups.items()]


def in_force_from(lines: Iterable[BoardLine], now: datetime) -> str:
    """Return since when the whole board stands: an hour of today, else day and hour."""
    newest = max((line.since for line in lines), default=None)
    if newest is None:
        return ""
    return (
        f"{newest:%H:%M}" if newest.date() == now.date() else day_text(newest, "%a %-d %b, %H:%M")
    )


@router.get("/board", response_class=HTMLResponse)
def show_board(request: Request, fields: Queried) -> HTMLResponse:
    """Show every price in force per pound and per kilogram; nothing of cost or stock.

    With ``print=1`` the page's script opens the printer at once.
    """
    room = room_of(request)
    lines = room.shop.chalk.board()
    return page(
        request, "board.html", groups=by_species(lines), since=in_force_from(lines, room.now()),
        said_forms=_SAID_FORMS, place=room.shop.settings().place,
        also={line.case_id: "; ".join(other_names(line.species, line.name)) for line in lines},
        legal=room.shop.settings().legal_unit.value, wants_print=fields.one("print") == "1",
    )  # fmt: skip
