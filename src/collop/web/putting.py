"""Put away: what waits on the block and in the bins goes to the case or out; and counts."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotEnoughFree, ShopError
from collop.measures import Weight
from collop.scale import read_weighed
from collop.web.forms import SURE, Faults, Fields, is_sure, read_choice
from collop.web.hook import read_who
from collop.web.knife_reading import read_weights, unit_of
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import StockLine

__all__ = ["router"]

router = APIRouter()
#: Where things wait, in the order they are put away, and what the screen calls the place.
PLACES = {"block": "On the block", "trim": "Trim bins", "bone": "Bone", "fat": "Fat",
          "case": "In the case, past its day"}  # fmt: skip
_DO = {"case": "Put in the case", "bin": "Bin", "count": "Count"}
_DONE = {
    "case": "It is in the case.",
    "bin": "It is binned.",
    "count": "Counted. The gap is written down.",
}


@router.get("/put-away", response_class=HTMLResponse)
def show_waiting(request: Request, fields: Queried) -> Response:
    """Show what waits outside the case, place by place, and one form for each lot."""
    return _show(request, Fields([]), Faults(), done=_DONE.get(fields.one("done"), ""),
                 asked_line=fields.one("line"))  # fmt: skip


@router.post("/put-away", response_class=HTMLResponse)
def put_away(request: Request, fields: Posted) -> Response:
    """Put one lot in the case, bin some of it, or count it."""
    room, faults = room_of(request), Faults()
    lot = fields.one("lot")
    place = faults.take("do", lambda: read_choice(fields.one("place"), "Place", PLACES), "")
    do = faults.take("do", lambda: read_choice(fields.one("do"), "What to do", _DO), "")
    weight = faults.take("weight", lambda: _weight(request, fields, do), None)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if do == "bin" and not fields.one("why"):
        faults.add("why", "Why: say why it is binned; a word or two will do.")
    if do == "case" and not fields.one("case_id"):
        faults.add("case_id", "Case line: choose where it goes.")
    if faults:
        return _show(request, fields, faults, status=422)
    key = fields.one("key")[:64] or uuid4().hex
    try:
        pieces = _weights(request, fields) if "+" in fields.one("weight") else ()
        _do(room, do, (lot, place), weight, fields, by=by, key=key, pieces=pieces)
    except (BadValue, NotEnoughFree) as error:
        faults.add(error.where if error.where in {"why", "case_id"} else "weight", error.message)
        sure = fields.one("weight") if error.where == SURE else ""
        return _show(request, fields, faults, status=422, sure=sure)
    except ShopError as error:
        return _show(request, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/put-away?done={do}", status_code=303)


@router.post("/put-away/count", response_class=HTMLResponse)
def count_line(request: Request, fields: Posted) -> Response:
    """Count one case line, booked and free together."""
    room, faults = room_of(request), Faults()
    counted = faults.take("counted", lambda: _counted(request, fields), None)
    by = faults.take("count-by", lambda: read_who(room, fields), "")
    if counted is None or faults:
        return _show(request, fields, faults, status=422)
    key = fields.one("key")[:64] or uuid4().hex
    try:
        sure = bool(fields.one(SURE)) and fields.one(SURE) == fields.one("counted")
        room.shop.cutting.count_case(
            fields.one("case_id"), counted, by=by, key=key, why=fields.one("why"), sure=sure
        )
    except BadValue as error:
        faults.add("counted", error.message)
        again = fields.one("counted") if error.where == SURE else ""
        return _show(request, fields, faults, status=422, sure=again)
    except ShopError as error:
        faults.add("counted", error.message)
        return _show(request, fields, faults, status=422)
    return RedirectResponse("/put-away?done=count", status_code=303)


def _weight(request: Request, fields: Fields, do: str) -> Weight | None:
    """Read the weight; left empty, all of it, but for a count."""
    if not fields.one("weight"):
        if do == "count":
            raise BadValue("Weight: put it on the scale to count it.")
        return None
    return _total(_weights(request, fields))


def _weights(request: Request, fields: Fields) -> tuple[Weight, ...]:
    return read_weights(fields.one("weight"), "Weight", unit_of(request, fields))


def _total(weights: tuple[Weight, ...]) -> Weight:
    return Weight(sum(one.count for one in weights), weights[0].unit)


def _counted(request: Request, fields: Fields) -> Weight:
    if not fields.one("counted"):
        raise BadValue("Counted: put all of the line on the scale.")
    return read_weighed(fields.one("counted"), unit_of(request, fields))


def _do(
    room: Room, do: str, what: tuple[str, str], weight: Weight | None, fields: Fields, *,
    by: str, key: str, pieces: tuple[Weight, ...],
) -> None:  # fmt: skip
    cutting, (lot, place), why = room.shop.cutting, what, fields.one("why")[:200]
    if do == "case":
        cutting.put_in_case(
            lot, place, fields.one("case_id"), by=by, key=key, weight=weight, pieces=pieces
        )
    elif do == "bin":
        cutting.bin(lot, place, by=by, key=key, why=why, weight=weight)
    else:
        assert weight is not None
        cutting.count_lot(lot, place, weight, by=by, key=key, why=why, sure=is_sure(fields))


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, done: str = "",
    trouble: str = "", sure: str = "", asked_line: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    waiting: dict[str, list[StockLine]] = {place: [] for place in PLACES}
    under_the_knife = {cut.tag for cut in room.shop.cutting.open_breaks()}
    for line in room.shop.cutting.stock():
        is_past = line.use_by is not None and line.use_by < room.now().date()
        if line.place == "case" and not is_past:
            continue
        if line.place in waiting and line.lot_id not in under_the_knife:
            waiting[line.place].append(line)
    return page(
        request, "put_away.html", status=status, waiting=waiting, places=PLACES, ways=_DO,
        lines=room.shop.case(), people=room.shop.people(), faults=faults, form=fields,
        opened=(fields.one("lot"), fields.one("place")), key=uuid4().hex, done=done,
        trouble=trouble, sure=sure, unit=unit_of(request, fields).value, asked_line=asked_line,
        given=room.shop.freezer.given(),
    )  # fmt: skip
