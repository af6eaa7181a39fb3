"""The bench: the list on the wall of the cutting room, done and weighed, seen, cleaned down."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError
from collop.measures import Weight
from collop.web import bench_view
from collop.web.forms import SURE, Faults, Fields, is_sure, read_time
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight, unit_of
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop.bench_list_model import BenchLine, BenchList

__all__ = ["router"]

router = APIRouter()
_CLEAN = "clean"
_SAID = {
    "done": "Weighed and off the list.", "undo": "Back on the list.", "off": "Crossed off.",
    "seen": "Seen. What changes from now on is marked.", "clean": "Clean-down is on record.",
    "back": "The clean-down is taken back.",
    "noted": "Noted. This list moves no stock yet: trim and mince are booked at Put away.",
}  # fmt: skip


@router.get("/bench", response_class=HTMLResponse)
def show_bench(request: Request, fields: Queried) -> HTMLResponse:
    """Show the list; with a line, the form to weigh it; with ``do=clean``, that of a clean-down."""
    return _show(request, fields, Faults(), line=fields.one("line"), do=fields.one("do"))


@router.post("/bench/done", response_class=HTMLResponse)
def finish(request: Request, fields: Posted) -> Response:
    """Finish a line with what the scale says, or correct a finished one."""
    room, faults = room_of(request), Faults()
    line_id, unit = fields.one("line"), unit_of(request, fields)
    weight = faults.take(
        "weight", lambda: read_weight(fields.one("weight"), "Weight", unit), Weight.zero()
    )
    text = fields.one("written")
    written = faults.take("written", lambda: read_time(text, "Time") if text else None, None)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, fields, faults, line=line_id, status=422)
    try:
        room.shop.bench.done(line_id, weight, by=by, key=_key(fields), sure=is_sure(fields),
                             written=written)  # fmt: skip
    except BadValue as error:
        faults.add(error.where if error.where in {"by", "written"} else "weight", error.message)
        sure = fields.one("weight") if error.where == SURE else ""
        return _show(request, fields, faults, line=line_id, status=422, sure=sure)
    except ShopError as error:
        return _refused(request, fields, error)
    return _back("noted" if _is_planned(room, line_id) else "done", by)


@router.post("/bench/undo", response_class=HTMLResponse)
def undo(request: Request, fields: Posted) -> Response:
    """Take a finished line back to the list."""
    room = room_of(request)
    return _act(request, fields, "undo", lambda by: (
        room.shop.bench.undo(fields.one("line"), by=by or "", key=_key(fields))
    ), named=True)  # fmt: skip


@router.post("/bench/off", response_class=HTMLResponse)
def cross_off(request: Request, fields: Posted) -> Response:
    """Touch a cancelled line off the list."""
    room = room_of(request)
    return _act(request, fields, "off", lambda by: (
        room.shop.bench.cross_off(fields.one("line"), by=by, key=_key(fields))))  # fmt: skip


@router.post("/bench/seen", response_class=HTMLResponse)
def mark_seen(request: Request, fields: Posted) -> Response:
    """Mark the list that was looked at as seen; a list that moved on since is shown again."""
    room = room_of(request)
    return _act(request, fields, "seen", lambda by: (
        room.shop.bench.seen(fields.one("digest")[:64], by=by, key=_key(fields))))  # fmt: skip


@router.post("/bench/clean", response_class=HTMLResponse)
def clean_down(request: Request, fields: Posted) -> Response:
    """Put down that the room was cleaned down now, and by whom."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, fields, faults, do=_CLEAN, status=422)
    return _act(request, fields, "clean", lambda _by: (
        room.shop.bench.clean_down(by=by, key=_key(fields))))  # fmt: skip


@router.post("/bench/clean/back", response_class=HTMLResponse)
def take_clean_down_back(request: Request, fields: Posted) -> Response:
    """Take the last clean-down back, within the hour."""
    room = room_of(request)
    return _act(request, fields, "back", lambda by: (
        room.shop.bench.take_back_clean_down(by=by or "", key=_key(fields))
    ), named=True)  # fmt: skip


@router.get("/plan", include_in_schema=False)
def to_plan() -> RedirectResponse:
    """Send to the cutting plan."""
    return RedirectResponse("/bench/plan", status_code=303)


@router.get("/farm-call", include_in_schema=False)
def to_farm_call() -> RedirectResponse:
    """Send to the farm call."""
    return RedirectResponse("/farm", status_code=303)


def _is_planned(room: Room, line_id: str) -> bool:
    """Tell whether a line is made for the case or the bins, whose stock moves at Put away."""
    line = room.shop.bench.lines().line(line_id)
    return line is not None and line.kind.is_planned


def _key(fields: Fields) -> str:
    return fields.one("key")[:64] or uuid4().hex


def _back(done: str, by: str | None) -> Response:
    query = urlencode({**({"by": by} if by else {}), "done": done})
    return RedirectResponse(f"/bench?{query}", status_code=303)


def _known(room: Room, fields: Fields) -> str | None:
    """Return who stands at the screen, None if nobody who works here is named."""
    by = fields.one("by")
    return by if by in {person.id for person in room.shop.people()} else None


def _refused(request: Request, fields: Fields, error: ShopError) -> HTMLResponse:
    status = 404 if isinstance(error, NotFound) else 409
    return _show(request, fields, Faults(), status=status, trouble=error.message)


def _act(
    request: Request, fields: Fields, done: str, act: Callable[[str | None], None], *,
    named: bool = False,
) -> Response:  # fmt: skip
    """Do one thing and go back to the list, or say on it why it was not done."""
    by = _known(room_of(request), fields)
    if named and by is None:
        return _show(request, fields, Faults(), status=422,
                     trouble="Who: choose who does this, beside the line.")  # fmt: skip
    try:
        act(by)
    except ShopError as error:
        return _refused(request, fields, error)
    return _back(done, by)


def _show(
    request: Request, fields: Fields, faults: Faults, *, line: str = "", do: str = "",
    status: int = 200, trouble: str = "", sure: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    on = room.shop.bench.lines()
    done = fields.one("done") if request.method == "GET" else ""
    chosen = on.line(line) if line else None
    if line and (chosen is None or chosen.is_off):
        chosen = None
        trouble = trouble or "That line is not on the list any more; look at it again."
    return page(
        request, "bench.html", status=status, chosen=chosen, faults=faults, fields=fields,
        is_cleaning=do == _CLEAN, trouble=trouble, sure=sure, by=_known(room, fields) or "",
        said=_SAID.get(done, ""), is_noted=done == "noted",
        people=room.shop.people(), key=uuid4().hex, unit=unit_of(request, fields),
        **list_context(request, on),
    )  # fmt: skip


def list_context(request: Request, on: BenchList) -> dict[str, Any]:
    """Return what page and paper both draw of a list."""
    shown = shown_for(request)

    def was(line: BenchLine) -> tuple[str, ...]:
        return bench_view.was_words(line, shown, on.day)

    def how(line: BenchLine) -> str:
        return bench_view.how_words(line, shown)

    def due(line: BenchLine) -> str:
        return bench_view.due_words(line, on.day)

    return {
        "on": on, "groups": bench_view.groups_of(on), "was": was, "due": due, "how": how,
        "pieces": bench_view.pieces_words, "covers": bench_view.covers_words,
        "clean_said": bench_view.clean_words(on.clean, on.at),
        "last": bench_view.last_done(on.finished), "noted": bench_view.noted_lines(on),
        "names": {person.id: person.name for person in room_of(request).shop.people()},
        "first": next((one for one in on.lines if one.is_open), None),
    }  # fmt: skip
