"""Lists for a spreadsheet, out and in, and everything the shop keeps in one file."""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response
from starlette.datastructures import UploadFile

from collop.errors import BadValue, ShopError
from collop.shop.csv_model import ListChanges
from collop.web.forms import Faults, Fields, read_choice
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import room_of, signed

__all__ = ["MOST_FILE", "router"]

router = APIRouter()
#: The largest list a page takes: twice in text it still fits the largest form.
MOST_FILE = 150 * 1024
_SHOWN_CHANGES = 200


@dataclass(frozen=True, slots=True)
class _Sent:
    """A form with a list: chosen from the device, or carried along from the trial."""

    fields: Fields
    data: bytes


async def _sent(request: Request) -> _Sent:
    form = await request.form(max_files=1, max_fields=20, max_part_size=2 * MOST_FILE)
    data, texts = b"", []
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            data = await value.read(MOST_FILE + 1)
        elif name == "carried":
            data = data or _carried(value)
        else:
            texts.append((name, value))
    await form.close()
    return _Sent(signed(texts), data)


def _carried(text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return b""


Sent = Annotated[_Sent, Depends(_sent)]


@router.get("/exchange", response_class=HTMLResponse)
def show_exchange(request: Request) -> HTMLResponse:
    """Show the lists, what can be read in, and the file of everything."""
    return _show(request, Fields([]), Faults())


@router.get("/exchange/everything.zip")
def export(request: Request) -> Response:
    """Return everything the shop keeps as one zip."""
    room = room_of(request)
    name = f"collop-{room.now():%Y-%m-%d-%H%M}.zip"
    return Response(room.shop.exchange.export(), media_type="application/zip", headers={
        "Content-Disposition": f'attachment; filename="{name}"'})  # fmt: skip


@router.get("/exchange/{name}.csv")
def list_out(request: Request, name: str) -> Response:
    """Return a list as CSV, with a mark that makes spreadsheets read it as UTF-8."""
    text = room_of(request).shop.exchange.list_out(name)
    return Response("\ufeff" + text, media_type="text/csv; charset=utf-8", headers={
        "Content-Disposition": f'attachment; filename="{name}.csv"'})  # fmt: skip


@router.post("/exchange", response_class=HTMLResponse)
def list_in(request: Request, sent: Sent) -> HTMLResponse:
    """Try what a list would change, or, looked at before, change it."""
    room, fields, faults = room_of(request), sent.fields, Faults()
    names = [kind.name for kind in room.shop.exchange.lists() if kind.into is not None]
    name = faults.take("list", lambda: read_choice(fields.one("list"), "List", names), "")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if not sent.data:
        faults.add("file", "File: choose a list, saved as CSV UTF-8.")
    elif len(sent.data) > MOST_FILE:
        faults.add("file", f"File: it is over {MOST_FILE // 1024} KB; send it in parts, or use the "
                           "command collop import --list.")  # fmt: skip
    if faults:
        return _show(request, fields, faults, status=422)
    is_written = fields.one("do") == "write"
    try:
        found = room.shop.exchange.list_in(
            name, sent.data, by=by, key=fields.one("key")[:64] or uuid4().hex,
            why=fields.one("why")[:200], write=is_written,
            seen=fields.one("seen") if is_written else "",
        )  # fmt: skip
    except BadValue as error:
        faults.add(_beside(error), error.message)
        return _show(request, fields, faults, status=422)
    except ShopError as error:
        return _show(request, fields, faults, status=409, trouble=error.message)
    return _show(request, fields, faults, found=found, data=sent.data)


def _beside(error: BadValue) -> str:
    if error.where in {"by", "list"}:
        return error.where
    return "why" if "say why" in error.message else "file"


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = "",
    found: ListChanges | None = None, data: bytes = b"",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    waits = found is not None and not found.is_written and bool(found.changes)
    return page(
        request, "exchange.html", status=status, faults=faults, fields=fields, trouble=trouble,
        found=found, waits=waits, carried=base64.b64encode(data).decode() if waits else "",
        shown=found.changes[:_SHOWN_CHANGES] if found else (), lists=room.shop.exchange.lists(),
        people=room.shop.people(), key=uuid4().hex, most_kb=MOST_FILE // 1024,
    )  # fmt: skip
