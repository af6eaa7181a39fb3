"""Recall: all that comes from one source, where it is, whom to call; and mock recalls."""

from __future__ import annotations

import time
from datetime import datetime
from itertools import pairwise
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError
from collop.measures import Weight
from collop.reference import rule_rows
from collop.shop import NewDrill, Recall, recall_csv, recall_json
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of
from collop.web.tickets_scanned import TillCode, till_instead
from collop.web.trace import PLACES
from collop.words import pgettext

__all__ = ["router"]

router = APIRouter()
_PRIVATE = {"Cache-Control": "no-store"}


@router.get("/recall", response_class=HTMLResponse)
def show_recall(request: Request, fields: Queried) -> HTMLResponse:
    """Show what is affected by a lot, ticket or booking, or the empty field and the drills."""
    room, faults = room_of(request), Faults()
    done = fields.one("done")
    return _show(request, room, fields, faults, done=done, begun=room.now())


@router.get("/recall.csv")
def show_csv(request: Request, fields: Queried) -> Response:
    """Return a recall as a table for other programs."""
    found = _asked(room_of(request), fields)
    return Response(
        recall_csv(found), media_type="text/csv; charset=utf-8",
        headers=_PRIVATE | {"Content-Disposition": 'attachment; filename="recall.csv"'},
    )  # fmt: skip


@router.get("/recall.json")
def show_json(request: Request, fields: Queried) -> Response:
    """Return a recall as JSON."""
    return JSONResponse(recall_json(_asked(room_of(request), fields)), headers=_PRIVATE)


@router.post("/recall/drill", response_class=HTMLResponse)
def keep_drill(request: Request, fields: Posted) -> Response:
    """Keep a mock recall: it ends when this is sent."""
    room, faults = room_of(request), Faults()
    begun = _begun(fields, room.now())
    by = faults.take("by", lambda: read_who(room, fields), "")
    counted = faults.take("counted", lambda: _counted(room, fields), None)
    if faults:
        return _show(request, room, fields, faults, status=422, begun=begun)
    new = NewDrill(begun, _milliseconds(fields), counted, fields.one("note")[:200])
    try:
        key = fields.one("key")[:64] or uuid4().hex
        room.shop.tracing.keep_drill(fields.one("lot"), new, by=by, key=key, scope=_scope(fields))
    except NotFound as error:
        faults.add("lot", error.message)
        return _show(request, room, fields, faults, status=422, begun=begun)
    except BadValue as error:
        faults.add(error.where if error.where in {"counted", "note"} else "lot", error.message)
        return _show(request, room, fields, faults, status=422, begun=begun)
    except ShopError as error:
        return _show(request, room, fields, faults, trouble=error.message, status=409, begun=begun)
    return RedirectResponse("/recall?done=1#drills", status_code=303)


def _scope(fields: Fields) -> str:
    return "lot" if fields.one("scope") == "lot" else "source"


def _asked(room: Room, fields: Fields) -> Recall:
    return room.shop.tracing.recall(fields.one("lot"), scope=_scope(fields))


def _begun(fields: Fields, now: datetime) -> datetime:
    """Return when the question was asked; a page that was tampered with begins now."""
    try:
        begun = datetime.fromisoformat(fields.one("begun"))
    except ValueError:
        return now
    return now if begun.tzinfo is not None else begun


def _milliseconds(fields: Fields) -> int:
    text = fields.one("ms")
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 8 else 0


def _chain(found: Recall) -> str:
    """Return the lots from the one asked for up to the source; "from" if they are one line."""
    parents = {lot.lot_id: lot.from_lots for lot in found.lots}
    straight = all(parents.get(child) == (above,) for child, above in pairwise(found.chain))
    return (f" {pgettext('lot', 'from')} " if straight else ", ").join(found.chain)


def _counted(room: Room, fields: Fields) -> Weight | None:
    """Return what was found on hand; an empty field is nothing weighed, and "0" is nothing."""
    text = fields.one("counted")
    if not text:
        return None
    unit = room.shop.settings().legal_unit
    if text in {"0", "0.0", "0.00"}:
        return Weight.zero(unit)
    return read_weight(text, "Found on hand", unit)


def _show(
    request: Request, room: Room, fields: Fields, faults: Faults, *, begun: datetime,
    done: str = "", trouble: str = "", status: int = 200,
) -> HTMLResponse:  # fmt: skip
    found: Recall | None = None
    till: TillCode | None = None
    took = 0
    if fields.one("lot"):
        start = time.perf_counter()
        try:
            found = _asked(room, fields)
        except (BadValue, NotFound) as error:
            faults.add("lot", error.message)
            till = till_instead(room, fields.one("lot"), faults)
            status = 404 if status == 200 and faults else status
        took = round((time.perf_counter() - start) * 1000)
    return page(
        request, "recall.html", status=status, faults=faults, found=found, fields=fields,
        asked=fields.one("lot"), till=till, scope=_scope(fields), places=PLACES,
        took=took, chain=_chain(found) if found else "",
        begun=begun, trouble=trouble, done=done, people=room.shop.people(), key=uuid4().hex,
        drills=room.shop.tracing.drills(), classes=rule_rows("trace", "recall", cited_only=True),
        names={person.id: person.name for person in room.shop.people()},
        unit=room.shop.settings().legal_unit.value,
    )  # fmt: skip
