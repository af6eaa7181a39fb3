"""What waits on this device: the page of it, the note of what was given up, the offline script."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, PlainTextResponse, Response

from collop.errors import CollopError
from collop.web.rendering import STATIC, asset, page, static_digest
from collop.web.room import Posted, Room, room_of
from collop.web.waiting_replay import read_moment
from collop.web.waiting_table import ALWAYS_KEPT, CANNOT_WAIT, MAY_WAIT, rules_for_device

if TYPE_CHECKING:
    from datetime import datetime

    from collop.web.forms import Fields

__all__ = ["router", "service_worker"]

router = APIRouter()
_MOST_BOOKINGS = 8


@router.get("/waiting", response_class=HTMLResponse)
def show_waiting(request: Request) -> HTMLResponse:
    """Show what waits on this device; the list is filled in by the device itself."""
    return page(request, "waiting.html", may=MAY_WAIT, cannot=CANNOT_WAIT,
                kept_pages=_kept_pages(room_of(request)))  # fmt: skip


def _kept_pages(room: Room) -> list[str]:
    """Return the pages a device keeps for the day: the rooms, and what is collected next."""
    today = room.now().date()
    slips = [one.id for one in room.shop.bookings(today, today + timedelta(days=1))
             if str(one.state) in {"booked", "cut", "packed"}][:_MOST_BOOKINGS]  # fmt: skip
    return [*ALWAYS_KEPT, *(f"/hook/{one}" for one in slips),
            *(f"/hook/{one}/hand-over" for one in slips)]  # fmt: skip


@router.post("/waiting/given-up")
def note_given_up(request: Request, fields: Posted) -> Response:
    """Write into the log what a device gave up, and why."""
    room = room_of(request)
    known = {person.id for person in room.shop.people()}
    by = fields.one("by") if fields.one("by") in known else None
    try:
        said = room.shop.waiting.given_up(
            _plain(fields.one("what")), _plain(fields.one("why")), by=by,
            kept_at=_kept_at(fields, room.now()),
            key=fields.one("key")[:64] or uuid4().hex,
        )  # fmt: skip
    except CollopError as error:
        return PlainTextResponse(error.message, 422)
    return PlainTextResponse(said)


def _plain(text: str) -> str:
    """Return words without what cannot be printed: a note must not fail for a hidden sign."""
    return "".join(one if one.isprintable() else " " for one in text).strip()


def _kept_at(fields: Fields, now: datetime) -> datetime | None:
    """Return the shop time at which it was kept, from how long it waited by the device's clock."""
    done, there = read_moment(fields.one("kept_at")), read_moment(fields.one("device_now"))
    if done is None or there is None or done.tzinfo is None or there.tzinfo is None:
        return None
    waited = there - done
    return now - waited if timedelta(0) <= waited <= timedelta(days=3660) else None


def service_worker(kept_files: Iterable[str]) -> Response:
    """Return the offline script with the list of files it keeps and the table of what may wait.

    Parameters
    ----------
    kept_files : iterable of str
        Names of static files.
    """
    names = tuple(kept_files)
    told: dict[str, Any] = {
        '"__KEPT__"': [asset(name) for name in names],
        '"__QUEUE__"': [asset("queue.js"), asset("away_sums.js")],
        '"__RULES__"': rules_for_device(),
        '"__ALWAYS__"': list(ALWAYS_KEPT),
    }
    script = (STATIC / "sw.js").read_text(encoding="utf-8")
    for place, value in told.items():
        script = script.replace(place, json.dumps(value))
    version = "".join(static_digest(name)[:4] for name in names)
    script = script.replace("__VERSION__", version)
    return Response(script, media_type="text/javascript", headers={"Cache-Control": "no-cache"})
