"""The rail: the cooler as it hangs, weighed again and planned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError
from collop.measures import Money, Weight, sum_money
from collop.web.forms import SURE, Faults, Fields, is_sure, read_day
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight, unit_of
from collop.web.pictures import shrink_picture
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from collop.shop import RailPiece

__all__ = ["Hung", "hung", "router"]

router = APIRouter()
_PANELS = ("weigh", "plan")
# a bar of one day is still seen
_LEAST_LEVEL = 4


@dataclass(frozen=True, slots=True)
class Hung:
    """One hook: the piece, and how high its bar stands (per cent of the longest or planned)."""

    piece: RailPiece
    planned_days: int | None
    level: int
    planned_level: int | None

    @property
    def says(self) -> str:
        """Return the bar in words."""
        days = self.piece.days
        hung_for = f"{days} {'day' if days == 1 else 'days'} on the rail"
        if self.planned_days is None:
            return f"{hung_for}, no day planned"
        late = ", late" if self.piece.is_late else ""
        return f"{hung_for}, planned for {self.planned_days}{late}"


def hung(pieces: tuple[RailPiece, ...], today: date) -> list[Hung]:
    """Return the hooks in the order of the rail, with bars on one scale."""
    planned = [
        None if piece.break_on is None else (piece.break_on - today).days + piece.days
        for piece in pieces
    ]
    top = max([1, *(piece.days for piece in pieces), *(days for days in planned if days)])
    return [
        Hung(piece, days, max(_LEAST_LEVEL, 100 * piece.days // top),
             None if days is None else 100 * max(0, days) // top)
        for piece, days in zip(pieces, planned, strict=True)
    ]  # fmt: skip


def _next_break(pieces: tuple[RailPiece, ...]) -> RailPiece | None:
    """Return the piece that is due first; of two, the one that hangs longer."""
    return min(pieces, key=lambda piece: (piece.break_on or date.max, -piece.days), default=None)


@router.get("/rail", response_class=HTMLResponse)
def show_rail(request: Request, fields: Queried) -> HTMLResponse:
    """Show every hook; with a tag, the form to weigh that piece again or plan its day."""
    return _show(request, tag=fields.one("tag"), do=fields.one("do"), done=fields.one("done"))


@router.post("/rail/{tag:path}/weigh", response_class=HTMLResponse)
def weigh_again(request: Request, tag: str, fields: Posted) -> Response:
    """Weigh a hanging piece again; what is less went to air."""
    room, faults = room_of(request), Faults()
    unit = unit_of(request, fields)
    weight = faults.take(
        "weight", lambda: read_weight(fields.one("weight"), "Weight now", unit), Weight.zero()
    )
    return _act(request, tag, fields, "weigh", faults=faults, act=lambda by, key: (
        room.shop.cutting.hang(tag, weight, by=by, key=key, sure=is_sure(fields))))  # fmt: skip


@router.post("/rail/{tag:path}/plan", response_class=HTMLResponse)
def plan_day(request: Request, tag: str, fields: Posted) -> Response:
    """Plan the day a piece is broken, or take the plan away."""
    room, faults = room_of(request), Faults()
    text = fields.one("day")
    day = faults.take(
        "day", lambda: read_day(text, "Break on", first=room.now().date()) if text else None, None
    )
    return _act(request, tag, fields, "plan", faults=faults, act=lambda by, key: (
        room.shop.cutting.plan_break(tag, day, by=by, key=key)))  # fmt: skip


def _act(
    request: Request, tag: str, fields: Fields, do: str, *, faults: Faults,
    act: Callable[[str, str], object],
) -> Response:  # fmt: skip
    """Do one thing to a piece and go back to the rail, or say in place why it was not done."""
    room = room_of(request)
    by = faults.take("by", lambda: read_who(room, fields), "")
    show = partial(_show, request, tag=tag, do=do, fields=fields, faults=faults)
    if faults:
        return show(status=422)
    try:
        act(by, fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        where = "weight" if error.where == SURE else error.where
        faults.add(where if where in {"weight", "day"} else "by", error.message)
        return show(status=422, sure=fields.one("weight") if error.where == SURE else "")
    except ShopError as error:
        status = 404 if isinstance(error, NotFound) else 409
        return show(status=status, trouble=error.message)
    return RedirectResponse(f"/rail?done={do}", status_code=303)


def _show(
    request: Request, *, tag: str = "", do: str = "", done: str = "", trouble: str = "",
    fields: Fields | None = None, faults: Faults | None = None, status: int = 200, sure: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    pieces, today = room.shop.rail(), room.now().date()
    chosen = next((piece for piece in pieces if piece.tag == tag), None)
    total, lost = _sum([one.weight_now for one in pieces]), _sum([one.lost for one in pieces])
    carries = room.shop.settings().rail_carries
    lost_money = _money_of([one.lost_money for one in pieces], room)
    return page(
        request, "rail.html", status=status, hooks=hung(pieces, today), chosen=chosen,
        do=do if chosen and do in _PANELS else "", said=_said(done), trouble=trouble,
        fields=fields or Fields([]), faults=faults or Faults(), people=room.shop.people(),
        key=uuid4().hex, unit=unit_of(request, fields), total=total, carries=carries,
        filled=_filled(total, carries), lost=lost, lost_money=lost_money,
        unpriced=sum(1 for one in pieces if one.lost_money is None),
        due=_next_break(pieces), today=today, tomorrow=today + timedelta(days=1),
        open_breaks=room.shop.cutting.open_breaks(), initials=initials,
        shrink=shrink_picture(room.shop.cutting.weighings(pieces), shown_for(request)),
        shown_unit=shown_for(request).unit, sure=sure, expected=room.shop.season.expected(),
    )  # fmt: skip


def initials(name: str) -> str:
    """Return the first letters of a booking's name, three at most."""
    return "".join(word[0] for word in name.split()[:3]).upper()


def _said(done: str) -> str:
    return {
        "weigh": "Weighed. What is less than before went to air.",
        "plan": "Planned.",
    }.get(done, "")


def _sum(weights: list[Weight]) -> Weight:
    total = Weight.zero()
    for weight in weights:
        total += weight
    return total


def _money_of(amounts: list[Money | None], room: Room) -> Money:
    return sum_money([one for one in amounts if one is not None], room.currency)


def _filled(total: Weight, carries: Weight | None) -> int | None:
    """Return how full the rail is, in whole per cent."""
    if not carries:
        return None
    return round(100 * total.count / carries.count)
