"""Where every pound went: one animal, a day or a week as a picture with its table."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from functools import partial
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.web.flow_picture import picture_of
from collop.web.forms import Faults, Fields, read_near_day
from collop.web.rendering import page, shown_for
from collop.web.room import Queried, Room, room_of
from collop.web.trace import trace_of
from collop.words import day_text, gettext

if TYPE_CHECKING:
    from collop.shop import Flow

__all__ = ["animals_known", "router"]

router = APIRouter()
_MOST_TAGS = 60
_TICK = timedelta(microseconds=1)
_SPANS = {"day": ("Day", 1), "week": ("Week of", 7)}


@router.get("/flow", response_class=HTMLResponse)
def show_flow(request: Request, fields: Queried) -> HTMLResponse:
    """Show where the weight of an animal, a day or a week went."""
    room = room_of(request)
    faults = Faults()
    flow = _asked(room, fields, faults)
    picture = picture_of(flow) if flow else None
    today = room.now().date()
    return page(
        request, "flow.html", status=422 if faults else 200, faults=faults, picture=picture,
        drawn=picture.drawn(shown_for(request).weight) if picture else None,
        animals=animals_known(room), lot=fields.one("lot"),
        day=fields.one("day") or today.isoformat(), week=fields.one("week") or today.isoformat(),
        asked=next((name for name in ("lot", "day", "week") if fields.one(name)), ""),
    )  # fmt: skip


def _asked(room: Room, fields: Fields, faults: Faults) -> Flow | None:
    """Return the flow asked for; None if nothing is asked, or if it cannot be."""
    if fields.one("lot"):
        return faults.take("lot", lambda: _of_lot(room, fields.one("lot")), None)
    for name, (label, days) in _SPANS.items():
        text = fields.one(name)
        if text:
            first = faults.take(
                name, partial(read_near_day, text, label, today=room.now().date()), None
            )
            return None if first is None else _between(room, first, days)
    return None


def _of_lot(room: Room, text: str) -> Flow:
    return room.shop.cutting.flow(trace_of(room, text).asked)


def _between(room: Room, day: date, days: int) -> Flow:
    """Return the flow of a day, or of the week it lies in (Monday to Sunday)."""
    first = day - timedelta(days=day.weekday()) if days == 7 else day
    last = first + timedelta(days=days - 1)
    title = day_text(first, "%A %-d %B %Y") if days == 1 else _span_text(first, last)
    start = datetime.combine(first, time.min)
    # the shop counts after the start and up to the end
    end = start + timedelta(days=days)
    return room.shop.cutting.flow_between(start - _TICK, end - _TICK, title)


def _span_text(first: date, last: date) -> str:
    """Return a week by its first and last day, in the language that is read now."""
    days = {"first": day_text(first, "%-d %B"), "last": day_text(last, "%-d %B %Y")}
    return gettext("%(first)s to %(last)s") % days


def animals_known(room: Room) -> list[tuple[str, str]]:
    """Return tag and species of the animals that came last, by tag."""
    return sorted((one.tag, one.species) for one in room.shop.cutting.animals(_MOST_TAGS))
