"""Paper keyed back: one form for each kind of sheet, one sending for all its rows."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.shop import Booking
from collop.shop.late_model import KeyedBack, LateRow
from collop.shop.papers_model import (
    KINDS,
    ORDERS_A_PAGE,
    SALES_A_PAGE,
    sheet_day,
    sheet_id,
    sheet_of,
)
from collop.web.daybook_form import degrees_of
from collop.web.forms import Fields
from collop.web.hook import read_who
from collop.web.keyed_back_form import BLOCKS, ORDER_LINES, PAID, PaperForm
from collop.web.knife_reading import unit_of
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
_DONE = re.compile(r"(P-[0-9]{4}-[A-Z][0-9]{1,2}):([0-9]{1,3}):([0-9]{1,3})")
#: The sheets that are keyed back; of the board nothing is.
_KEYED = {kind: told for kind, told in KINDS.items() if kind != "board"}


@router.get("/papers/back", response_class=HTMLResponse)
def show_choice(request: Request, fields: Queried) -> HTMLResponse:
    """Show which sheets can be keyed back, and what was just written."""
    told = (_DONE.fullmatch(text) for text in fields.all("done"))
    said = [KeyedBack.said(one[1], int(one[2]), int(one[3])) for one in told if one]
    return page(request, "keyed_back.html", kinds=_KEYED, kind="", faults=None,
                said=" ".join(said))  # fmt: skip


@router.get("/papers/back/{kind}", response_class=HTMLResponse)
def show_form(request: Request, kind: str, fields: Queried) -> Response:
    """Show the empty form of a sheet."""
    if kind not in _KEYED:
        return RedirectResponse("/papers/back", status_code=303)
    sheet = fields.one("sheet")
    known = Fields([("sheet-1", sheet), ("sheet-2", "")] if sheet else [])
    return _show(request, kind, _form(request, room_of(request), known))


@router.post("/papers/back/{kind}", response_class=HTMLResponse)
def write(request: Request, kind: str, fields: Posted) -> Response:
    """Write all rows of the form, or show which row stands in the way."""
    if kind not in _KEYED:
        return RedirectResponse("/papers/back", status_code=303)
    room = room_of(request)
    form = _form(request, room, fields)
    try:
        sheets = _sheets(kind, form, room)
    except BadValue as error:
        form.faults.add("sheet-1", error.message)
        sheets = []
    if not sheets and not form.faults:
        form.faults.add("sheet-1", "Nothing is filled in yet; fill at least one row.")
    by = form.faults.take("by", lambda: read_who(room, fields), "")
    if form.faults:
        return _show(request, kind, form, status=422)
    try:
        done = room.shop.papers.key_back_all(sheets, by=by)
    except BadValue as error:
        form.faults.add(_field_of(kind, error.where, form.fields), error.message)
        return _show(request, kind, form, status=422)
    except ShopError as error:
        return _show(request, kind, form, status=409, trouble=error.message)
    told = urlencode([("done", f"{one.sheet}:{one.new}:{len(one.rows) - one.new}") for one in done])
    return RedirectResponse(f"/papers/back?{told}", status_code=303)


def _form(request: Request, room: Room, fields: Fields) -> PaperForm:
    return PaperForm(fields, unit_of(request, fields), degrees_of(request, fields),
                     room.currency, room.shop.case())  # fmt: skip


def _sheets(kind: str, form: PaperForm, room: Room) -> list[tuple[str, Sequence[LateRow]]]:
    """Return sheets with their rows; the number of each is read."""
    if kind == "sales":
        return _blocks(form)
    sheet = form.fields.one("sheet-1")
    sheet_of(sheet)
    rows: Sequence[LateRow]
    if kind == "bookings":
        rows = form.hand_overs([*_bookings(room, sheet), *_keyed_before(room, sheet)])
    elif kind == "cold":
        rows = form.cold(room.shop.day.places(), room.shop.day.rounds())
    elif kind == "bench":
        rows = form.bench(room.shop.bench.lines().lines)
    else:
        rows = form.orders(room.now().date())
    return [(sheet, rows)] if rows else []


def _blocks(form: PaperForm) -> list[tuple[str, Sequence[LateRow]]]:
    """Return the sheets of sales that have rows, each with its number as it was typed."""
    found: dict[str, Sequence[LateRow]] = {}
    for block in range(1, BLOCKS + 1):
        rows, typed = form.sales(block), form.fields.one(f"sheet-{block}")
        if not rows:
            continue
        sheet, _ = form.faults.take(f"sheet-{block}", partial(sheet_of, typed), (typed, ""))
        if sheet in found:
            form.faults.add(f"sheet-{block}", f"{sheet} is keyed above already; read its number "
                                              "again.")  # fmt: skip
        found[sheet] = rows
    return list(found.items())


def _bookings(room: Room, sheet: str) -> list[Booking]:
    """Return the bookings of the sheet's day that have not gone."""
    today = room.now().date()
    try:
        day = sheet_day(sheet_of(sheet)[0], today)
    except BadValue:
        day = today
    return [one for one in room.shop.bookings(day, day) if one.state.holds]


def _keyed_before(room: Room, sheet: str) -> list[Booking]:
    """Return the bookings that went by this sheet already: the same form twice is once."""
    told, today = sheet_of(sheet)[0], room.now().date()
    try:
        day = sheet_day(told, today)
    except BadValue:
        return []
    late = room.shop.papers.late(day, day)
    return [room.shop.booking(one.answer) for one in late
            if one.kind == "late hand-over" and one.sheet.startswith(f"{told} row ")]  # fmt: skip


_BESIDE = {"done_at": "time", "action": "action", "told": "told", "name": "name", "paid": "paid",
           "collect_at": "day", "deposit": "deposit", "reading": "heat", "number": "net",
           "weight": "net"}  # fmt: skip


def _field_of(kind: str, where: str, fields: Fields) -> str:
    """Return the field beside which a refused row is told."""
    found = re.fullmatch(r"(P-\S+) row (\d+) ?(.*)", where)
    if found is None:
        return "by" if where == "by" else "sheet-1"
    sheet, row, field = found[1], found[2], found[3]
    beside = _BESIDE.get(field)
    if kind == "sales":
        is_first = sheet_of(fields.one("sheet-1"))[0] == sheet if fields.one("sheet-1") else False
        return f"{beside or 'cut'}-{1 if is_first else 2}-{row}"
    if kind == "bookings":
        return f"w-{field}" if field.startswith("H") else f"{beside or 'time'}-H{row}"
    if kind == "orders":
        return f"{beside or 'name'}-{row}"
    return f"{beside or 'time'}-{row}"


def _show(
    request: Request, kind: str, form: PaperForm, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    today = room.now().date()
    first = form.fields.one("sheet-1") or sheet_id(today, kind, 1)
    return page(
        request, "keyed_back.html", status=status, kinds=_KEYED, kind=kind, trouble=trouble,
        faults=form.faults, fields=form.fields, unit=str(form.unit), degrees=form.degrees,
        people=room.shop.people(), paid=PAID, case=form.case, today=today, said="",
        first=first, second=form.fields.one("sheet-2") or sheet_id(today, kind, 2),
        **_of_kind(kind, room, first),
    )  # fmt: skip


def _of_kind(kind: str, room: Room, sheet: str) -> Mapping[str, Any]:
    """Return what only one kind of sheet shows."""
    day = room.shop.day
    shown: dict[str, Any] = {
        "blocks": range(1, BLOCKS + 1), "sale_rows": range(1, SALES_A_PAGE + 1),
        "orders": range(1, ORDERS_A_PAGE + 1), "order_lines": range(1, ORDER_LINES + 1),
        "bookings": _bookings(room, sheet) if kind == "bookings" else (),
        "work": room.shop.bench.lines().lines if kind == "bench" else (), "cold": (),
    }  # fmt: skip
    if kind == "cold":
        places, rounds = day.places(), day.rounds()
        pairs = [(place, hour) for place in places for hour in rounds]
        shown["cold"] = [(row, *pair) for row, pair in enumerate(pairs, 1)]
    return shown
