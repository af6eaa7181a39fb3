"""What is done to a mince lot or batch, one form a page: put in, weigh out, tell, close."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.errors import BadValue, NotFound
from collop.shop import Making, MakingEvent, Material
from collop.shop.making_model import BATCH
from collop.web.daybook_form import DayForm, form_of
from collop.web.daybook_write import send
from collop.web.forms import Fields
from collop.web.making import base_of, kind_of
from collop.web.making_form import (
    ALLERGENS,
    NAMES,
    day_in,
    lots_by_place,
    material_in,
    told_in,
)
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()
# what may be done, and what the page is called
_TITLES = {
    "own": "Put in from our own lots", "box": "Put in from a box",
    "ingredient": "Put in an ingredient", "out": "Weigh out into the case",
    "left": "Left for the next lot", "lost": "Lost", "none": "Nothing carried over",
    "made": "When it was made", "tell": "Tell what is missing", "back": "Take a line back",
    "close": "Close the record", "reopen": "Open the record again",
}  # fmt: skip
_LOST_TO = {"bin": "bin", "drip": "washed out of the machine, or drip"}
# what of a material that is told in full may be told anew
_MAY_BE_PUT_RIGHT = {
    "bought": ("what", "establishment", "supplier_lot", "produced_on"),
    "ingredient": ("what", "establishment", "supplier_lot", "contains"),
}
_Write = Callable[[str, str], object]


@router.get("/daybook/mince/{code}/{act}", response_class=HTMLResponse)
@router.get("/daybook/batch/{code}/{act}", response_class=HTMLResponse)
def show_act(request: Request, code: str, act: str, fields: Queried) -> HTMLResponse:
    """Show the form of one act; nothing in it is filled in."""
    made = _made(request, code, act)
    kept = ("part", "line")
    asked = Fields([(name, text) for name, text in fields if name in kept])
    return _show(request, form_of(request, room_of(request), asked, kept=kept), made, act)


@router.post("/daybook/mince/{code}/{act}", response_class=HTMLResponse)
@router.post("/daybook/batch/{code}/{act}", response_class=HTMLResponse)
def do_act(request: Request, code: str, act: str, fields: Posted) -> Response:
    """Do one act and go back to the lot, or show what is wrong."""
    made = _made(request, code, act)
    form = form_of(request, room_of(request), fields)
    write = _READ[act](form, made, act)

    def go(by: str, key: str) -> str:
        write(by, key)
        return f"{base_of(made)}?done={act}"

    return send(form, NAMES, go, lambda **more: _show(request, form, made, act, **more))


def _made(request: Request, code: str, act: str) -> Making:
    made = room_of(request).shop.making.record(code)
    if act not in _TITLES or made.kind != kind_of(request):
        raise NotFound("There is no such page; go back to the Day Book.", where="code")
    return made


def _show(
    request: Request, form: DayForm, made: Making, act: str, *, status: int = 200,
    trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room, fields = form.room, form.fields
    lots = room.shop.making.on_hand(made.species) if act == "own" else ()
    lines = [
        (line.id, f"{line.id} {line.name}")
        for line in room.shop.case()
        if line.species == made.species and line.form != "frozen" and line.piece_lb is None
        and made.case_id in (None, line.id)
    ]  # fmt: skip
    part = _part(made, fields)
    is_told = act == "tell" and part is not None and not part.missing
    return page(
        request, "making_act.html", status=status, trouble=trouble, act=act,
        title="Put right what was told" if is_told else _TITLES[act],
        made=made, base=base_of(made), form=fields, faults=form.faults, unit=form.unit,
        lots=lots_by_place(tuple(one for one in lots if one.lot_id != made.code)), lines=lines,
        allergens=ALLERGENS, lost_to=_LOST_TO, part_of=part,
        line_of=_line(made, fields), people=room.shop.people(), today=room.now().date(),
        key=fields.one("key") or uuid4().hex, is_batch=made.kind == BATCH,
    )  # fmt: skip


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 18 else 0


def _part(made: Making, fields: Fields) -> Material | None:
    seq = _number(fields.one("part"))
    return next((one for one in made.materials if one.seq == seq), None)


def _line(made: Making, fields: Fields) -> MakingEvent | None:
    seq = _number(fields.one("line"))
    return next((one for one in made.events if one.seq == seq), None)


def _put_in(form: DayForm, made: Making, act: str) -> _Write:
    making = form.room.shop.making
    new = material_in(form, act, making.on_hand(made.species))
    return lambda by, key: making.add(made.code, new, by=by, key=key)


def _out(form: DayForm, made: Making, _act: str) -> _Write:
    making, case_id = form.room.shop.making, form.fields.one("case_id")
    if not case_id:
        form.faults.add("case_id", "Case line: choose where it goes.")
    weight, when = form.weight("weight", "Weight"), form.when()
    use_by = day_in(form, "use_by", "Use by")
    return lambda by, key: making.produce(
        made.code, case_id, weight, by=by, key=key, done_at=when, use_by=use_by
    )


def _left(form: DayForm, made: Making, _act: str) -> _Write:
    making, when = form.room.shop.making, form.when()
    weight = form.weight("weight", "Weight")
    return lambda by, key: making.carry(made.code, weight, by=by, key=key, done_at=when)


def _lost(form: DayForm, made: Making, _act: str) -> _Write:
    making, when, one = form.room.shop.making, form.when(), form.fields.one
    weight = form.weight("weight", "Weight")
    if one("place") not in _LOST_TO:
        form.faults.add("place", "Where it went: choose one.")
    if not one("why"):
        form.faults.add("why", "Why: a word or two will do.")
    return lambda by, key: making.lose(
        made.code, weight, one("why"), by=by, key=key, place=one("place"), done_at=when
    )


def _none(form: DayForm, made: Making, _act: str) -> _Write:
    making = form.room.shop.making
    return lambda by, key: making.fill(made.code, by=by, key=key, no_carry_over=True)


def _when_made(form: DayForm, made: Making, _act: str) -> _Write:
    making, when = form.room.shop.making, form.when()
    if when is None:
        form.faults.add("done_time", "Time it was made: write it, such as 14:50.")
    return lambda by, key: making.fill(made.code, by=by, key=key, produced_at=when)


def _tell(form: DayForm, made: Making, _act: str) -> _Write:
    making, part = form.room.shop.making, _part(made, form.fields)
    if part is None:
        raise BadValue("That material is not in this lot; look at the list again.")
    told: dict[str, Any] = told_in(form, part.missing or _MAY_BE_PUT_RIGHT.get(part.kind, ()))
    why, seq = form.fields.one("why"), part.seq
    return lambda by, key: making.fill_material(made.code, seq, told, by=by, key=key, why=why)


def _back(form: DayForm, made: Making, _act: str) -> _Write:
    making, why = form.room.shop.making, form.fields.one("why")
    if not why:
        form.faults.add("why", "Why: a word or two will do.")
    part, line = _part(made, form.fields), _line(made, form.fields)
    if part is not None:
        return lambda by, key: making.take_back_material(made.code, part.seq, why, by=by, key=key)
    seq = 0 if line is None else line.seq
    return lambda by, key: making.take_back(made.code, seq, why, by=by, key=key)


def _close(form: DayForm, made: Making, _act: str) -> _Write:
    making = form.room.shop.making
    return lambda by, key: making.close(made.code, by=by, key=key)


def _reopen(form: DayForm, made: Making, _act: str) -> _Write:
    making, why = form.room.shop.making, form.fields.one("why")
    if not why:
        form.faults.add("why", "Why: a word or two will do.")
    return lambda by, key: making.reopen(made.code, why, by=by, key=key)


_READ: dict[str, Callable[[DayForm, Making, str], _Write]] = {
    "own": _put_in, "box": _put_in, "ingredient": _put_in, "out": _out, "left": _left,
    "lost": _lost, "none": _none, "made": _when_made, "tell": _tell, "back": _back,
    "close": _close, "reopen": _reopen,
}  # fmt: skip
