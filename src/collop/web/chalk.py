"""Chalk: the board of one animal, what it must bring, and putting prices up."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from functools import partial
from urllib.parse import quote
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, WrongState
from collop.measures import UnitPrice
from collop.shop import NewPrice
from collop.web.bench_worths import plan_worths
from collop.web.chalk_acts import put_up, take_back
from collop.web.chalk_form import DAYS, Change, legal_price, read_change, read_price
from collop.web.chalk_past import TAKEN_BACK, LastChange, last_change
from collop.web.chalk_view import Line, Tried, Worked, field_of, work_out
from collop.web.forms import Faults, Fields, read_amount
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
_STATES = {"hangs": "hangs", "on the block": "on the block", "broken": "broken"}
_NUMBER_LONGEST = 9
_NUMBER = re.compile(r"-?(?=[.,]?[0-9])[0-9]{0,6}([.,][0-9]{0,6})?")


@router.get("/chalk", response_class=HTMLResponse)
def choose_animal(request: Request) -> HTMLResponse:
    """Choose the animal whose board is worked out, or one line of the board."""
    room = room_of(request)
    return page(
        request, "chalk_choose.html", animals=room.shop.chalk.animals(), states=_STATES,
        lines=room.shop.chalk.board(), priced=legal_price(room),
        margin_pct=_pct(room.shop.settings().target_margin),
    )  # fmt: skip


def _pct(share: Decimal) -> str:
    return f"{share * 100:.1f}".removesuffix(".0")


@router.post("/chalk/{tag:path}/pulls", response_class=HTMLResponse)
def work_live(request: Request, tag: str, fields: Posted) -> Response:
    """Work the board out while a price moves: a fragment that carries the number it was sent."""
    room, faults = room_of(request), Faults()
    number = fields.one("number")
    number = number if number.isdigit() and len(number) <= _NUMBER_LONGEST else ""
    try:
        worked = _worked(room, tag, fields, faults)
    except CollopError as error:
        return page(request, "chalk_live.html", status=422, worked=None, number=number,
                    trouble=error.message, faults=faults)  # fmt: skip
    return page(request, "chalk_live.html", status=422 if faults else 200, worked=worked,
                number=number, trouble="", faults=faults)  # fmt: skip


@router.get("/chalk/{tag:path}", response_class=HTMLResponse)
def show_animal(request: Request, tag: str, fields: Queried) -> Response:
    """Show one animal's board with what it needs."""
    return _show(request, tag, fields, Faults(), done=fields.one("done"))


@router.post("/chalk/{tag:path}", response_class=HTMLResponse)
def act(request: Request, tag: str, fields: Posted) -> Response:
    """Do what the button says: work out, fill in what is needed, put up, or take back."""
    faults, do = Faults(), fields.one("do", "work")
    if do == "put":
        return _put(request, tag, fields, faults)
    if do == "undo":
        return _undo(request, tag, fields, faults)
    return _show(request, tag, fields, faults, fill=do == "needed")


def _worked(room: Room, tag: str, fields: Fields, faults: Faults) -> Worked:
    """Work out what was typed; a price that cannot be read counts as the one on the board."""
    margin = faults.take("margin", lambda: _margin(fields), None)
    paid = faults.take("paid", lambda: _paid(fields), None)
    prices: dict[str, Decimal] = {}
    lines = _lines_of(room, tag, margin, paid)
    for case_id, (name, label, present) in lines.items():
        text = fields.one(name)
        if text == fields.one(f"was-{case_id}"):
            text = ""  # left as it was shown: the board may have changed elsewhere
        if present is not None:
            read = partial(read_price, text, label, present, room.currency)
            prices[case_id] = faults.take(name, read, Decimal(present))
        elif text:
            tried = faults.take(name, partial(read_price, text, label, "", room.currency), None)
            prices |= {} if tried is None else {case_id: tried}
    kept = frozenset(fields.all("keep")) & {
        case_id for case_id, (_, _, present) in lines.items() if present is not None
    }
    return work_out(room, tag, Tried(prices, kept, margin, paid))


def _lines_of(
    room: Room, tag: str, margin: Decimal | None, paid: Decimal | None
) -> dict[str, tuple[str, str, str | None]]:
    """Return field, name and present price of each cut; a cut without a line has no price."""
    found, parts = {}, 0
    for cut in room.shop.chalk.problem(tag, margin=margin, paid=paid)["cuts"]:
        parts += cut["price"] is None
        found[cut["id"]] = (field_of(cut, parts), cut["name"], cut["price"])
    return found


def _margin(fields: Fields) -> Decimal | None:
    text = fields.one("margin").removesuffix("%").strip()
    if not text:
        return None
    label = "Target margin, per cent"
    if not _NUMBER.fullmatch(text):
        raise BadValue(f"{label}: write a figure such as 35.")
    return read_amount(text, label, high="95") / 100


def _paid(fields: Fields) -> Decimal | None:
    text = fields.one("paid")
    return read_amount(text, "Paid", high="1000000") if text else None


def _show(
    request: Request, tag: str, fields: Fields, faults: Faults, *, status: int = 200,
    done: str = "", fill: bool = False, worked: Worked | None = None, trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    animal = next((one for one in room.shop.chalk.animals() if one.tag == tag), None)
    try:
        worked = worked or _worked(room, tag, fields, faults)
    except WrongState as error:
        return _refused(request, tag, fields, faults, error)
    return page(
        request, "chalk.html", status=422 if faults and status == 200 else status, tag=tag,
        animal=animal, worked=worked, fields=fields, faults=faults, fill=fill, trouble=trouble,
        people=room.shop.people(), key=uuid4().hex, days=DAYS, done=done,
        last=_last(room, worked), planned=room.shop.chalk.planned(),
        step=room.shop.settings().price_step, priced=legal_price(room),
        shop_margin=_pct(room.shop.settings().target_margin), states=_STATES,
        names={person.id: person.name for person in room.shop.people()},
        worths=plan_worths(room.shop, room.now().date()),
        present_of=lambda line: UnitPrice.of(line.present, room.shop.settings().legal_unit),
    )  # fmt: skip


def _refused(
    request: Request, tag: str, fields: Fields, faults: Faults, error: WrongState
) -> HTMLResponse:
    """Show why an animal cannot be worked out; ask what was paid if that is all that lacks."""
    return page(request, "chalk_unpaid.html", status=422 if faults else 409, tag=tag,
                trouble=error.message, asks_paid=error.where == "paid", fields=fields,
                faults=faults)  # fmt: skip


def _last(room: Room, worked: Worked) -> LastChange | None:
    histories = {
        line.case_id: (line.name, room.shop.chalk.history(line.case_id))
        for line in worked.lines
        if line.on_board
    }
    return last_change(histories, room.now())


def _put(request: Request, tag: str, fields: Fields, faults: Faults) -> Response:
    """Put the changed prices up, all of them or none."""
    room, trouble = room_of(request), ""
    try:
        worked = _worked(room, tag, fields, faults)
    except WrongState as error:
        return _refused(request, tag, fields, faults, error)
    change = read_change(room, fields, faults)
    changed = worked.changed() or _sent_again(worked, fields)
    if not changed and (changed := _ahead(room, worked, change, faults)):
        change = replace(change, why=f"{TAKEN_BACK}: {change.why}".rstrip(": "))
    if not changed and not faults:
        first = next((line.case_id for line in worked.lines if line.on_board), "")
        faults.add(f"price-{first}", "New price: nothing is changed yet; type or slide a price.")
    if not faults:
        chosen = room.shop.settings()
        new = [
            NewPrice(line.case_id, UnitPrice.of(line.typed, chosen.legal_unit, chosen.currency))
            for line in changed
        ]
        where = {line.case_id: f"price-{line.case_id}" for line in changed}
        trouble = put_up(room, new, change, fields, faults, where=where)
    if faults or trouble:
        return _show(request, tag, fields, faults, status=409 if trouble else 422, worked=worked,
                     trouble=trouble)  # fmt: skip
    return _back(room, tag, "put", fields)


def _sent_again(worked: Worked, fields: Fields) -> tuple[Line, ...]:
    """Return the lines that stand already as this form wants them, and not as its page showed them.

    Such a form was sent before, by a second touch of the button; its key makes it harmless.
    """
    found = []
    for line in worked.lines:
        was, text = (fields.one(f"{part}-{line.case_id}") for part in ("was", "price"))
        if was and text not in {"", was} and line.present != was:
            found.append(line)
    return tuple(found)


def _ahead(room: Room, worked: Worked, change: Change, faults: Faults) -> tuple[Line, ...]:
    """Return the line whose plan the prices of now take the place of, from the time chosen.

    Nothing tells which of several is meant; that is refused, for each has its own button.
    """
    if change.from_at is None or faults:
        return ()
    then = {one.case_id: one.price for one in room.shop.chalk.planned()
            if one.from_at <= change.from_at}  # fmt: skip
    unit = room.shop.settings().legal_unit
    found = tuple(
        line for line in worked.lines
        if line.case_id in then
        and then[line.case_id] != UnitPrice.of(line.present, unit, room.currency)
    )  # fmt: skip
    if len(found) > 1:
        names = " and ".join(line.name for line in found[:2])
        faults.add(
            found[0].field,
            f"New price: nothing is changed, and {len(found)} prices are planned, such as those of"
            f" {names}; open the line of each and take its plan back there.",
        )
    return found[:1]


def _back(room: Room, tag: str, done: str, fields: Fields) -> Response:
    """Go back to the page; a target that is not the shop's own stays as it was typed."""
    usual = ("margin", _pct(room.shop.settings().target_margin))
    kept = "".join(f"&{name}={quote(text)}" for name, text in _target(fields)
                   if text and (name, text) != usual)  # fmt: skip
    return RedirectResponse(f"/chalk/{quote(tag)}?done={done}{kept}", status_code=303)


def _undo(request: Request, tag: str, fields: Fields, faults: Faults) -> Response:
    """Put the former prices up again."""
    room = room_of(request)
    try:
        worked = _worked(room, tag, Fields(_target(fields)), faults)
    except WrongState as error:
        return _refused(request, tag, fields, faults, error)
    by = faults.take("by", lambda: read_who(room, fields), "")
    trouble = "" if faults else take_back(room, _last(room, worked), fields, by=by)
    if trouble or faults:
        return _show(request, tag, fields, faults, worked=worked, trouble=trouble,
                     status=409 if trouble else 422)  # fmt: skip
    return _back(room, tag, "undone", fields)


def _target(fields: Fields) -> list[tuple[str, str]]:
    return [(name, fields.one(name)) for name in ("margin", "paid")]
