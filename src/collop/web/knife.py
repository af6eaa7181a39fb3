"""The knife: one piece on the block, each part on the scale and onto its tile, until it closes."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop.bench_list_breaks import planned_style
from collop.web.forms import SURE, Faults, Fields, is_sure, read_choice
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight, read_weights, unit_of
from collop.web.knife_view import (
    Tile,
    forgotten,
    kinds_of,
    loss_segment,
    published_plan,
    rows_of,
    segments,
    share_of,
    tiles,
    usual_loss,
)
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from collop.carcass import Verdict
    from collop.shop import Break, RailPiece, Style, Waiting

__all__ = ["router"]

router = APIRouter()
_SHOWN = 3
_MOST_NUMBER = 2**31
_CLOSED_SHOWN = 8


@router.get("/knife", response_class=HTMLResponse)
def choose(request: Request, fields: Queried) -> HTMLResponse:
    """Choose what goes under the knife: a break under way, or a piece from the rail."""
    return _show_choice(request, fields, Faults())


@router.post("/knife", response_class=HTMLResponse)
def start(request: Request, fields: Posted) -> Response:
    """Take a piece from the rail to the block."""
    room, faults = room_of(request), Faults()
    piece = _hanging(room, fields.one("tag"))
    if piece is None:
        for begun in room.shop.cutting.open_breaks():
            if begun.tag == fields.one("tag"):  # the touch was sent twice
                return _to(begun.number, fields.one("by"))
        faults.add("tag", "Choose a piece from the rail: that one does not hang.")
        return _show_choice(request, fields, faults, status=422)
    styles = [style.id for style in room.shop.cutting.styles_for(piece.tag)]
    style = faults.take("style", lambda: read_choice(fields.one("style"), "Style", styles), "")
    text, unit = fields.one("weight"), unit_of(request, fields)
    weight = faults.take(
        "weight", lambda: read_weight(text, "Weight now", unit) if text else None, None
    )
    by = faults.take("by", lambda: read_who(room, fields), "")
    show = partial(_show_choice, request, fields, faults)
    if faults:
        return show(status=422)
    try:
        begun = room.shop.cutting.start_break(piece.tag, style, by=by, key=_key(fields),
                                              weight=weight, sure=is_sure(fields))  # fmt: skip
    except BadValue as error:
        where = "weight" if error.where == SURE else error.where
        faults.add(where if where in {"weight", "style"} else "tag", error.message)
        return show(status=422, sure=text if error.where == SURE else "")
    except ShopError as error:
        faults.add("tag", error.message)
        return show(status=409)
    return _to(begun.number, by)


def _hanging(room: Room, tag: str) -> RailPiece | None:
    return next((piece for piece in room.shop.rail() if piece.tag == tag), None)


def _show_choice(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, sure: str = ""
) -> HTMLResponse:
    room = room_of(request)
    piece = _hanging(room, fields.one("tag"))
    styles = room.shop.cutting.styles_for(piece.tag) if piece else ()
    plan = published_plan(piece.species, piece.piece) if piece and not styles else ()
    return page(
        request, "knife_choose.html", status=status, fields=fields, faults=faults, piece=piece,
        styles=styles, plan=plan, rail=room.shop.rail(), under=room.shop.cutting.open_breaks(),
        people=room.shop.people(), key=uuid4().hex, unit=unit_of(request, fields),
        planned=_planned(room, piece, styles), asked=fields.one("tag"), weight_of=share_of,
        sure=sure, closed=room.shop.cutting.closed_breaks(_CLOSED_SHOWN),
    )  # fmt: skip


def _planned(room: Room, piece: RailPiece | None, styles: Sequence[Style]) -> str:
    """Return the style of the newest plan, as long as its days last; empty without one."""
    kept = room.shop.bench.latest() if piece is not None and styles else None
    if kept is None or piece is None or kept.plan["days"][-1] < room.now().date().isoformat():
        return ""
    return planned_style(kept.plan, piece.tag, styles)


@router.get("/knife/{number:int}", response_class=HTMLResponse)
def show_break(request: Request, number: int, fields: Queried) -> HTMLResponse:
    """Show the block, or the sheet of a break that is closed."""
    return _show(request, _break(request, number), fields, Faults(), done=fields.one("done"))


@router.post("/knife/{number:int}", response_class=HTMLResponse)
def act(request: Request, number: int, fields: Posted) -> Response:
    """Do what the touched button says: weigh a part, take back, close, open again."""
    room, faults = room_of(request), Faults()
    found = _break(request, number)
    by = faults.take("by", lambda: read_who(room, fields), "")
    do = _wanted(fields)
    show = partial(_show, request, found, fields, faults)
    if do not in _ACTS:
        faults.add("weight", "Touch the tile of the part that is on the scale.")
    if faults:
        return show(status=422)
    try:
        _ACTS[do](room, found, fields, by)
    except BadValue as error:
        faults.add(error.where if error.where in {"why", "by"} else "weight", error.message)
        sure = _touched(fields) if error.where == SURE else ""
        return show(status=422, closing=do == "anyway", sure=sure)
    except WrongState as error:
        if do == "close" and found.is_open and found.parts:
            return show(status=422, closing=True, full=error.message)
        return show(status=409, trouble=error.message)
    except ShopError as error:
        return show(status=404 if isinstance(error, NotFound) else 409, trouble=error.message)
    return RedirectResponse("/rail", 303) if do == "put back" else _to(number, by, done=do)


def _wanted(fields: Fields) -> str:
    """Return what the touched button does; Enter beside the reason closes with it."""
    if "part" in fields:
        return "weigh"
    if "back" in fields:
        return "back"
    do = fields.one("do")
    return "anyway" if do == "look" and fields.one("why") and not fields.one("weight") else do


def _break(request: Request, number: int) -> Break:
    return room_of(request).shop.cutting.break_(min(number, _MOST_NUMBER))


def _key(fields: Fields) -> str:
    return fields.one("key")[:64] or uuid4().hex


def _to(number: int, by: str, *, done: str = "") -> Response:
    query = urlencode({"by": by, **({"done": done} if done else {})})
    return RedirectResponse(f"/knife/{number}?{query}", status_code=303)


def _whole(text: str, most: int = _MOST_NUMBER) -> int:
    """Read the number of a button; anything else is no part of this piece."""
    number = int(text) if text.isascii() and text.isdigit() and len(text) <= 10 else 0
    return min(number, most)


def _weigh(room: Room, found: Break, fields: Fields, by: str) -> None:
    """Put what is on the scale on the touched tile."""
    unit = WeightUnit.KG if fields.one("unit") == "kg" else WeightUnit.LB
    number = _whole(fields.one("part"))
    tile = next((one for one in tiles(found, room.shop.case()) if one.part.id == number), None)
    label = tile.part.name if tile else "Scale"
    weights = read_weights(fields.one("weight"), label, unit)
    if len(weights) > 1 and "+" not in fields.one("weight") and not (tile and tile.by_piece):
        raise BadValue(f"{label}: write one weight, or a sum like 4.1 + 4.2.", where="weight")
    total = Weight(sum(one.count for one in weights), weights[0].unit)
    room.shop.cutting.weigh_part(
        found.number, number, total, by=by, key=_key(fields),
        pieces=weights if tile and tile.by_piece else (),
        sure=fields.one(SURE) == _touched(fields),
    )  # fmt: skip


def _touched(fields: Fields) -> str:
    """Return tile and weight as they were sent: sent again the same, they are meant."""
    return f"{fields.one('part')}: {fields.one('weight')}"


def _take_back(room: Room, found: Break, fields: Fields, by: str) -> None:
    number = _whole(fields.one("back"))
    if number not in {one.seq for one in found.weighings}:
        raise NotFound("There is no such weighing; look at the list again.", where="weighing")
    room.shop.cutting.take_back(found.number, number, by=by, key=_key(fields))


def _put_back(room: Room, found: Break, fields: Fields, by: str) -> None:
    room.shop.cutting.put_back(found.number, by=by, key=_key(fields))


def _close(room: Room, found: Break, fields: Fields, by: str) -> None:
    room.shop.cutting.close_break(found.number, by=by, key=_key(fields), why=fields.one("why"))


def _close_anyway(room: Room, found: Break, fields: Fields, by: str) -> None:
    if not fields.one("why"):
        raise BadValue("Say where the rest went; a word or two will do.", where="why")
    _close(room, found, fields, by)


def _reopen(room: Room, found: Break, fields: Fields, by: str) -> None:
    room.shop.cutting.reopen_break(found.number, by=by, key=_key(fields), why=fields.one("why"))


_ACTS = {
    "weigh": _weigh,
    "back": _take_back,
    "close": _close,
    "anyway": _close_anyway,
    "reopen": _reopen,
    "put back": _put_back,
}


def _show(
    request: Request, found: Break, fields: Fields, faults: Faults, *, status: int = 200,
    trouble: str = "", done: str = "", closing: bool = False, sure: str = "", full: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    common = {
        "found": found, "faults": faults, "fields": fields, "people": room.shop.people(),
        "key": uuid4().hex, "trouble": trouble, "unit": unit_of(request, fields),
        "by": _by(room, found, fields),
        "names": {person.id: person.name for person in room.shop.people()},
    }  # fmt: skip
    if not found.is_open:
        return page(request, "knife_closed.html", status=status, rows=rows_of(found),
                    kinds=kinds_of(found), **common)  # fmt: skip
    drawn = tiles(found, room.shop.case())
    verdict = room.shop.cutting.judge(found.number) if found.parts else None
    return page(
        request, "knife.html", status=status, tiles=drawn, segments=segments(found),
        loss=loss_segment(found), usual_loss=usual_loss(found),
        closes=verdict is not None and verdict.closes,
        asked=_asked(found, verdict, drawn, full) if closing and verdict else [],
        sure=sure,
        last=found.weighings[::-1], shown=_SHOWN, done=done, waiting=_waiting(room, drawn),
        **common,
    )  # fmt: skip


def _waiting(room: Room, drawn: list[Tile]) -> list[Waiting]:
    """Return what lies in the case of the parts of this piece, and an order waits for."""
    lines = {tile.part.case_id for tile in drawn}
    return [one for one in room.shop.promising.waiting() if one.case_id in lines]


def _asked(found: Break, verdict: Verdict, drawn: list[Tile], full: str) -> list[tuple[str, str]]:
    """Return what to ask before closing: the shop's own sentence where the bar is full."""
    return [(full, "full")] if verdict.closes and full else forgotten(found, verdict, drawn)


def _by(room: Room, found: Break, fields: Fields) -> str:
    """Return who weighs: as chosen, else who weighed last, else who began."""
    known = {person.id for person in room.shop.people()}
    last = found.weighings[-1].by if found.weighings else None
    return next((one for one in (fields.one("by"), last, found.by) if one in known), "") or ""
