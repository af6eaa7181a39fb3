"""The case: on hand, booked, free, and the moves of the day."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING
from urllib.parse import quote
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.reference.other_names import other_names
from collop.web.forms import Faults, Fields
from collop.web.moves import mark_down, panel_of
from collop.web.pictures_cover import cover_picture
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, room_of

if TYPE_CHECKING:
    from collop.shop import CaseLine

__all__ = ["router"]

router = APIRouter()
_MOST_DOTS = 7


def is_slow(line: CaseLine) -> bool:
    """Tell whether the free weight lasts longer than the line keeps, at its usual pace."""
    return (
        line.cover_days is not None
        and line.days_left is not None
        and line.cover_days > line.days_left
    )


_ONLY: dict[str, tuple[str, Callable[[CaseLine], bool]]] = {
    "all": ("all lines", lambda _line: True),
    "free": ("with free weight", lambda line: bool(line.free)),
    "soon": ("two days or less", lambda line: line.days_left is not None and line.days_left <= 2),
    "slow": ("slow sellers", is_slow),
}


@router.get("/case", response_class=HTMLResponse)
def show_case(request: Request, fields: Queried) -> HTMLResponse:
    """Show what is on hand, booked and free, by words and by one filter."""
    return _show(request, fields, Faults())


@router.post("/case/mark-down", response_class=HTMLResponse)
def mark_line_down(request: Request, fields: Posted) -> Response:
    """Put the marked-down price of one move on the board."""
    faults = Faults()
    trouble = mark_down(room_of(request), fields, faults)
    if faults or trouble:
        return _show(request, fields, faults, status=409 if trouble else 422, trouble=trouble)
    return RedirectResponse(f"/case?moves=1&done={quote(fields.one('line'))}", status_code=303)


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    lines = room.shop.case()
    words = fields.one("find").casefold().split()
    only = fields.one("only", "all")
    if only not in _ONLY:
        only = "all"
    keep = _ONLY[only][1]
    shown = [line for line in lines if keep(line) and all(word in _text(line) for word in words)]
    wanted = fields.one("moves") == "1" or bool(faults or trouble)
    return page(
        request, "case.html", status=status, lines=shown, count=len(lines), find=fields.one("find"),
        only=only, filters={name: label for name, (label, _) in _ONLY.items()}, is_slow=is_slow,
        most_dots=_MOST_DOTS, contents=contents, panel=panel_of(room, wanted=wanted),
        done=next((line for line in lines if line.id == fields.one("done")), None),
        waiting=room.shop.promising.waiting(), cover=cover_picture(shown, shown_for(request)),
        faults=faults, fields=fields, trouble=trouble, people=room.shop.people(), key=uuid4().hex,
    )  # fmt: skip


def _text(line: CaseLine) -> str:
    parts = (line.id, line.name, line.species, line.form, line.casing or "", *contents(line),
             *other_names(line.species, line.name))  # fmt: skip
    return " ".join(parts).casefold()


def contents(line: CaseLine) -> tuple[str, ...]:
    """Return the declared contents of a line as words, batches by their names."""
    return tuple(
        part if isinstance(part, str) else f"{part['name']} ({', '.join(_words(part))})"
        for part in line.contains
    )


def _words(part: dict[str, object]) -> list[str]:
    inner = part.get("contains")
    if not isinstance(inner, (list, tuple)):
        return []
    words: list[str] = []
    for item in inner:
        words += [item] if isinstance(item, str) else _words(item)
    return words
