"""Tickets: choose a line, its lot and packing, put it on the scale, look at the label, print."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, NotFound, PlanRejected, ShopError, StorageTrouble
from collop.reference.other_names import other_names
from collop.rules.weighing_scale import weight_text
from collop.shop import NO_PACKING, NewTicket
from collop.shop.ticket_problem import usual_codes
from collop.ticket import KINDS
from collop.web import tickets_booking, tickets_facts, tickets_kept, tickets_tares
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of
from collop.web.tickets_form import (
    CODE_WORDS,
    SIZE_WORDS,
    Printer,
    again_with,
    fault_fields,
    note_missing,
    plain_fault,
    printer_of,
    read_new,
    remember,
)
from collop.web.tickets_scanned import one_lot
from collop.web.tickets_view import elements_of, names_of, parts_of, png_answer

if TYPE_CHECKING:
    from collop.shop import TicketDraft

__all__ = ["router"]

router = APIRouter()
_MOST_LINES = 60
_SPENT = "This page has printed a ticket already; look at it once more, and print again."
# codes that hold any price, the one most tills read first; and those that hold none
_WITH_ANY_PRICE = ("databar-expanded-stacked", "gs1-128", "gs1-datamatrix", "gs1-qr")
_PLAIN = ("qr", "datamatrix")


@router.get("/tickets", response_class=HTMLResponse)
def show(request: Request, fields: Queried) -> HTMLResponse:
    """Show the lines to choose from, or the ticket of the chosen one."""
    if not fields.one("case"):
        return _show_lines(request, fields)
    return _show_ticket(request, fields, Faults(), look=fields.one("do") == "look")


@router.post("/tickets", response_class=HTMLResponse)
def print_one(request: Request, fields: Posted) -> Response:
    """Print a ticket, or show what it lacks."""
    room, faults = room_of(request), Faults()
    unit = room.shop.settings().legal_unit
    printer = printer_of(request, fields, unit)
    new = _read(room, fields.one("case"), fields, printer, faults)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show_ticket(request, fields, faults, status=422, look=True)
    try:
        kept = room.shop.tickets.print(new, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except StorageTrouble:
        raise
    except BadValue as error:  # told by the draft, field by field, unless the form was sent before
        spent = error.where == "key"
        return _show_ticket(request, fields, faults, status=409 if spent else 422, look=True,
                            trouble=_SPENT if spent else "")  # fmt: skip
    except (ShopError, PlanRejected) as error:
        return _show_ticket(request, fields, faults, status=409, look=True, trouble=error.message)
    told = urlencode({"done": "printed", "by": by, "tare": new.tare or ""})
    answer = RedirectResponse(f"/tickets/{kept.id}?{told}", 303)
    remember(answer, printer)
    return answer


@router.get("/tickets/preview.png")
def preview(request: Request, fields: Queried) -> Response:
    """Return the picture of a ticket that is not printed yet."""
    room, faults = room_of(request), Faults()
    printer = printer_of(request, fields, room.shop.settings().legal_unit)
    new = _read(room, fields.one("case"), fields, printer, faults)
    draft = None if faults else room.shop.tickets.draft(new)
    if draft is None or draft.plan is None:
        raise NotFound("There is no picture of this ticket yet; something is missing on it.")
    return png_answer(draft.plan, fields.one("part", "1"))


def _show_lines(request: Request, fields: Fields) -> HTMLResponse:
    room, find = room_of(request), fields.one("find")
    wanted = find.casefold()
    lines = [line for line in room.shop.case()
             if wanted in " ".join((line.id, line.name, line.species,
                                    *other_names(line.species, line.name))).casefold()]  # fmt: skip
    faults, today = Faults(), room.now().date()
    day = faults.take("day", lambda: _day(fields.one("day"), today), today)
    return page(
        request, "tickets.html", faults=faults, find=find, lines=lines[:_MOST_LINES], day=day,
        printed=tuple(reversed(room.shop.tickets.on(day))), tares=room.shop.tickets.tares(),
        status=422 if faults else 200,
    )  # fmt: skip


def _day(text: str, today: date) -> date:
    """Return the day whose tickets are shown; nothing said is today."""
    try:
        return date.fromisoformat(text) if text else today
    except ValueError:
        raise BadValue(f"Day: choose a day, written like {today.isoformat()}.") from None


def _read(room: Room, case_id: str, fields: Fields, printer: Printer, faults: Faults) -> NewTicket:
    """Read the form; a lot may be scanned off another ticket."""
    new = read_new(case_id, fields, printer, room.shop.settings().legal_unit, faults)
    lot, typed = fields.one("lot"), fields.one("other_lot")
    meant = faults.take("lot", lambda: one_lot(room, lot, typed), typed)
    return replace(new, lot=meant or None)


def _draft(
    room: Room, new: NewTicket, faults: Faults, *, look: bool
) -> tuple[TicketDraft | None, str]:
    """Return the draft and, where the shop refuses it as a whole, why."""
    try:
        draft = room.shop.tickets.draft(new)
    except StorageTrouble:
        raise
    except (BadValue, NotFound) as error:
        if error.where == "case_id":
            raise
        faults.add(fault_fields(error.where), plain_fault(error.where, error.message))
        if error.where == "codes" and new.codes != ():
            _draft(room, replace(new, codes=()), faults, look=False)  # what else stands in the way
        return None, ""
    except (ShopError, PlanRejected) as error:
        if error.where == "lot":
            faults.add("lot", error.message)
            return None, ""
        return None, error.message
    if look:
        note_missing(draft, faults)
    return draft, ""


def _show_ticket(
    request: Request, fields: Fields, faults: Faults, *, look: bool, status: int = 200,
    trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    told = room.shop.tickets.facts(fields.one("case"))
    unit = room.shop.settings().legal_unit
    printer = printer_of(request, fields, unit)
    new = _read(room, told.case_id, fields, printer, faults)
    draft, why = _draft(room, new, faults, look=look)  # all that is wrong is told at once
    plan = None if draft is None or not look or faults.messages.keys() - {"by"} else draft.plan
    return page(
        request, "tickets_new.html", status=422 if faults and status == 200 and look else status,
        fields=fields, faults=faults, trouble=trouble or why, told=told, draft=draft, plan=plan,
        lots=_lots(room, told.case_id, new.booking_line), line=_line(room, told.case_id),
        booked=_booked(room, new.booking_line), tares=room.shop.tickets.tares(), unit=unit,
        no_packing=NO_PACKING, exact=weight_text, printer=printer, sizes=SIZE_WORDS, kinds=KINDS,
        codes=usual_codes(told.facts) if new.codes is None else new.codes, code_words=CODE_WORDS,
        people=room.shop.people(), key=_key(fields, trouble),
        elements=elements_of(plan) if plan else (), element_names=names_of(plan) if plan else (),
        pictures=_pictures(fields, parts_of(plan)) if plan else (),
        ways=_ways(room, new, fields, faults),
    )  # fmt: skip


def _key(fields: Fields, trouble: str) -> str:
    """Return the key of the form: that of the form sent, a new one if it printed already."""
    return ("" if trouble == _SPENT else fields.one("key")[:64]) or uuid4().hex


def _line(room: Room, case_id: str) -> Any:  # noqa: ANN401 -- a line of the case, or nothing
    return next((line for line in room.shop.case() if line.id == case_id), None)


def _booked(room: Room, name: str | None) -> Any:  # noqa: ANN401 -- a line of a booking, or nothing
    """Return the booking line a ticket is for; None if there is none of that name."""
    if name is None:
        return None
    try:
        booking = room.shop.booking(name.partition("-")[0])
    except NotFound:
        return None
    return next((line for line in booking.lines if line.id == name), None)


def _lots(room: Room, case_id: str, booking_line: str | None) -> Any:  # noqa: ANN401 -- lots
    """Return the lots that may be in the pack, whatever else is wrong with the form."""
    for line in (booking_line, None):
        try:
            return room.shop.tickets.draft(NewTicket(case_id=case_id, booking_line=line)).lots
        except StorageTrouble:
            raise
        except (BadValue, ShopError):
            continue
    return ()


def _pictures(fields: Fields, parts: int) -> tuple[str, ...]:
    """Return the addresses of the pictures of a draft, one for each label it stands on."""
    address = again_with(fields).replace("/tickets?", "/tickets/preview.png?", 1)
    return tuple(f"{address}&part={part}" for part in range(1, parts + 1))


def _ways(room: Room, new: NewTicket, fields: Fields, faults: Faults) -> list[tuple[str, str]]:
    """Return what else can be done where a code or a form has no room: words and address."""
    found = []
    if faults.of("codes") or faults.of("size"):
        told = new.codes or usual_codes(room.shop.tickets.facts(new.case_id).facts)
        for kind in _WITH_ANY_PRICE:
            codes = (kind, *(one for one in told if one in _PLAIN))
            if kind not in told and _fits(room, replace(new, codes=codes)):
                found.append((f"Use the code {kind}, which holds any price, with weight and lot",
                              again_with(fields, codes_told="1", codes=list(codes))))  # fmt: skip
                break
    if faults.of("codes"):
        found.append(("Leave the till code off", again_with(fields, codes_told="1", codes=["qr"])))
    if faults.of("size"):
        sizes = list(SIZE_WORDS)
        larger = [one for one in sizes[sizes.index(new.size) + 1 :]
                  if _fits(room, replace(new, size=one))]  # fmt: skip
        found += [(f"Use {SIZE_WORDS[one]}", again_with(fields, size=one)) for one in larger]
    return found


def _fits(room: Room, new: NewTicket) -> bool:
    try:
        return room.shop.tickets.draft(new).plan is not None
    except StorageTrouble:
        raise
    except CollopError:
        return False


router.include_router(tickets_tares.router)
router.include_router(tickets_facts.router)
router.include_router(tickets_booking.router)
router.include_router(tickets_kept.router)
