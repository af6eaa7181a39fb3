"""The reckoning: did that animal pay, whose money is on the slips, and do the yields drift."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.measures import Money, sum_money
from collop.web.forms import Faults, Fields, read_near_day
from collop.web.pictures import money_scale
from collop.web.reckoning_view import drawn_bars, drift_tables
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import AnimalRow, Statement

__all__ = ["router"]

router = APIRouter()
_DAYS_BACK = timedelta(days=60)


@router.get("/reckoning", response_class=HTMLResponse)
def show_reckoning(request: Request, fields: Queried) -> HTMLResponse:
    """Show one row for each animal that came since a day."""
    room, faults = room_of(request), Faults()
    today = room.now().date()
    usual, text = today - _DAYS_BACK, fields.one("since")
    read = partial(read_near_day, text, "Came since", today=today)
    since = faults.take("since", read, usual) if text else usual
    rows = room.shop.reckoning.animals(since)
    return page(
        request, "reckoning.html", status=422 if faults else 200, faults=faults, rows=rows,
        since=text or since.isoformat(), is_usual=since == usual,
        sums=_sums(rows, room.currency), told=[one for one in rows if one.cost is not None],
    )  # fmt: skip


def _sums(rows: tuple[AnimalRow, ...], currency: str) -> dict[str, Money]:
    """Return what the animals whose cost is known come to together."""
    known = [one for one in rows if one.cost is not None]

    def total(of: Callable[[AnimalRow], Money | None]) -> Money:
        return sum_money([one for one in map(of, known) if one is not None], currency)

    return {
        "cost": total(lambda one: one.cost),
        "sold": total(lambda one: one.sold),
        "left": total(lambda one: one.left_board),
        "if_sold": total(lambda one: one.if_sold),
    }


@router.get("/reckoning/drift", response_class=HTMLResponse)
def show_drift(request: Request) -> HTMLResponse:
    """Show whether hands or farms give other yields, with how sure that is."""
    found = room_of(request).shop.reckoning.drift()
    plan = None if found is None else found.plan
    return page(
        request, "reckoning_drift.html", plan=plan,
        tables=() if plan is None else drift_tables(plan),
        shorts=() if found is None else found.shorts,
    )  # fmt: skip


@router.get("/reckoning/slips", response_class=HTMLResponse)
def show_slips(request: Request, fields: Queried) -> HTMLResponse:
    """Show the money on the slips of a day or a week, by animal: both must be the same."""
    room, faults = room_of(request), Faults()
    told = _told(room, fields, faults)
    today = room.now().date().isoformat()
    return page(
        request, "reckoning_slips.html", status=422 if faults else 200, faults=faults, told=told,
        day=fields.one("day") or today, week=fields.one("week") or today,
    )  # fmt: skip


def _told(room: Room, fields: Fields, faults: Faults) -> Statement | None:
    """Return the statement asked for, of today if none is; None if it cannot be told."""
    today = room.now().date()
    if fields.one("week"):
        read = partial(read_near_day, fields.one("week"), "Week of", today=today)
        day = faults.take("week", read, None)
        if day is None:
            return None
        return room.shop.reckoning.week(day - timedelta(days=day.weekday()))
    text = fields.one("day") or today.isoformat()
    asked = faults.take("day", partial(read_near_day, text, "Day", today=today), None)
    return None if asked is None else room.shop.reckoning.day(asked)


@router.get("/reckoning/{tag:path}", response_class=HTMLResponse)
def show_animal(request: Request, tag: str, fields: Queried) -> HTMLResponse:
    """Show the waterfall of one animal; asked to explain, what there is to say as well."""
    found = room_of(request).shop.reckoning.animal(tag)
    return page(
        request, "reckoning_animal.html", found=found, row=found.row,
        bars=drawn_bars(found.bars), scale=money_scale(found.bars),
        is_explained=fields.one("explain") == "yes",
    )  # fmt: skip
