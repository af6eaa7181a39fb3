"""The Day Book: its tiles, the lines of a day, the print for the inspector, the empty sheet."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.errors import BadValue
from collop.shop import DayLine, DayPage, InspectorBook
from collop.shop.day_gaps import checked_day
from collop.shop.day_model import TILES, Round
from collop.shop.day_print import MOST_DAYS, as_csv
from collop.web.daybook_form import degrees_of, heat_in
from collop.web.forms import Faults, Fields
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of

__all__ = ["names_of", "router", "sources_of"]

router = APIRouter()
_LINKS = {
    "receive": "/daybook/receive", "cold": "/daybook/cold", "clean": "/daybook/clean",
    "mince": "/daybook/mince", "scale": "/daybook/scale", "probe": "/daybook/probe",
}  # fmt: skip
_BIG = ("receive", "cold", "clean", "mince")
_EMPTY_LINES = 8


def names_of(room: Room) -> dict[str, str]:
    """Return what everybody is called."""
    return {person.id: person.name for person in room.shop.people()}


def sources_of(lines: Iterable[DayLine]) -> list[str]:
    """Return where the limits of lines stand, each once."""
    return list(dict.fromkeys(line.source for line in lines if line.source))


@router.get("/daybook", response_class=HTMLResponse)
def show_book(request: Request, fields: Queried) -> HTMLResponse:
    """Show the tiles and the lines of today, or the lines of another day."""
    room, faults = room_of(request), Faults()
    today = room.now().date()
    day = faults.take("day", lambda: _day(fields.one("day"), today, today), today)
    on = room.shop.day.page(min(day, today))
    return page(
        request, "daybook.html", status=422 if faults else 200, faults=faults, on=on, today=today,
        big=[tile for tile in on.tiles if tile.key in _BIG],
        small=[tile for tile in on.tiles if tile.key not in _BIG], links=_LINKS,
        main=_main_tile(on), grid=_grid(on.rounds), names=names_of(room), tiles=TILES,
        before=on.day - timedelta(days=1), after=on.day + timedelta(days=1),
        lines=tuple(reversed(on.lines)), sources=sources_of(on.lines),
        places=room.shop.day.places(), heat=heat_in(degrees_of(request, fields)),
    )  # fmt: skip


def _main_tile(on: DayPage) -> str:
    """Return the tile that is due: what is late first, then what is due soonest."""
    for state in ("late", "due"):
        due = [tile for tile in on.tiles if tile.state == state and tile.key in _BIG]
        if due:
            return min(due, key=lambda tile: tile.due or on.at).key
    return ""


def _grid(rounds: Iterable[Round]) -> dict[str, list[Round]]:
    """Return the rounds of a day by place."""
    found: dict[str, list[Round]] = {}
    for one in rounds:
        found.setdefault(one.place.name, []).append(one)
    return found


def _day(text: str, usual: date, today: date) -> date:
    if not text:
        return usual
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"Day: choose a day, written like {today.isoformat()}.") from None
    return checked_day(day)


def _book(room: Room, fields: Fields, faults: Faults) -> InspectorBook:
    """Return the days asked for; where they cannot be, the last ninety, and why."""
    today = room.now().date()
    usual = today - timedelta(days=MOST_DAYS - 1)
    last = faults.take("to", lambda: _day(fields.one("to"), today, today), today)
    last = min(last, today)
    first = faults.take("from", lambda: _day(fields.one("from"), max(
        usual, last - timedelta(days=MOST_DAYS - 1)), today), usual)  # fmt: skip
    try:
        return room.shop.day.inspector(first, last)
    except BadValue as error:
        faults.add("from", error.message)
        return room.shop.day.inspector(usual, today)


@router.get("/daybook/print", response_class=HTMLResponse)
def show_print(request: Request, fields: Queried) -> HTMLResponse:
    """Show up to 90 days by tile, as they print: gaps on top."""
    room, faults = room_of(request), Faults()
    book = _book(room, fields, faults)
    return page(
        request, "daybook_print.html", status=422 if faults else 200, faults=faults, book=book,
        place=room.shop.settings().place, names=names_of(room), tiles=TILES,
        sources_of=sources_of, today=room.now().date(),
    )  # fmt: skip


@router.get("/daybook/export.csv")
def export(request: Request, fields: Queried) -> Response:
    """Send the same days as a table for a spreadsheet."""
    room, faults = room_of(request), Faults()
    book = _book(room, fields, faults)
    if faults:
        return show_print(request, fields)
    name = f"daybook-{book.first.isoformat()}-{book.last.isoformat()}.csv"
    # spreadsheets take a table for UTF-8 by its mark at the beginning
    return Response(
        "\ufeff" + as_csv(book.as_rows(names_of(room))), media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )  # fmt: skip


@router.get("/daybook/paper", response_class=HTMLResponse)
def show_paper(request: Request, fields: Queried) -> HTMLResponse:
    """Show the empty sheet that is filled in by hand; its number is the minute it was made."""
    room = room_of(request)
    now = room.now()
    about: dict[str, Any] = {
        "number": f"{now:%y%m%d-%H%M}", "places": room.shop.day.places(),
        "rounds": room.shop.day.rounds(), "steps": room.shop.day.steps(),
        "empty": _EMPTY_LINES, "place": room.shop.settings().place,
        "heat": heat_in(degrees_of(request, fields)),
    }  # fmt: skip
    return page(request, "daybook_paper.html", **about)
