"""Tickets of a booking: each line on the scale, its lot and packing, one ticket for each pack."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, ShopError, StorageTrouble
from collop.measures import Weight, WeightUnit
from collop.rules.weighing_scale import weight_text
from collop.shop import NO_PACKING, NewTicket
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of
from collop.web.tickets_form import SIZE_WORDS, Printer, printer_of, read_new, remember
from collop.web.tickets_view import pdf_answer

if TYPE_CHECKING:
    from collop.shop import Booking, BookingLine, Ticket
    from collop.shop.ticket_model import OfferedLot

__all__ = ["router"]

router = APIRouter()
_PER_LINE = ("gross", "lot", "tare")


@dataclass(frozen=True, slots=True)
class Packed:
    """One kind of pack of a booking line: the lots that may be in it, and its tickets so far.

    What was worked on is a pack of its own, under the name and at the price of what it became.
    """

    line: BookingLine
    case_id: str
    name: str
    there: Weight
    price: str
    lots: tuple[OfferedLot, ...]
    tickets: tuple[Ticket, ...]

    @property
    def end(self) -> str:
        """Return the id of the line, with that of the cut where it became another."""
        worked = self.case_id != self.line.case_id
        return f"{self.line.id}.{self.case_id}" if worked else self.line.id

    @property
    def ticketed(self) -> Weight:
        """Return the weight on its tickets that stand."""
        count = sum(one.net.count for one in self.tickets if one.void is None)
        return Weight(count, self.line.weight.unit)


@router.get("/tickets/booking/{booking_id}.pdf")
def paper(request: Request, booking_id: str) -> Response:
    """Return every standing ticket of a booking as pages at their true size."""
    room = room_of(request)
    kept = room.shop.tickets.tickets_of(booking=booking_id)
    plans = [room.shop.tickets.plan(one) for one in kept if one.void is None]
    return pdf_answer(plans, f"{room.shop.booking(booking_id).id}-tickets")


@router.get("/tickets/booking/{booking_id}", response_class=HTMLResponse)
def show(request: Request, booking_id: str, fields: Queried) -> HTMLResponse:
    """Show the lines of a booking with a field for each pack."""
    booking = room_of(request).shop.booking(booking_id)
    done = f"Kept: {fields.one('done')[:200]}." if fields.one("done") else ""
    return _show(request, booking, Fields([]), Faults(), done=done)


@router.post("/tickets/booking/{booking_id}", response_class=HTMLResponse)
def print_all(request: Request, booking_id: str, fields: Posted) -> Response:
    """Print a ticket for each line that was weighed; all of them can be printed, or none is."""
    room, faults = room_of(request), Faults()
    booking = room.shop.booking(booking_id)
    unit = room.shop.settings().legal_unit
    printer = printer_of(request, fields, unit)
    packs = _packed(room, booking)
    wanted = [row for row in packs if fields.one(f"gross-{row.end}")]
    if not wanted:
        first = packs[0].end if packs else ""
        faults.add(f"gross-{first}", "Gross: put the pack of a line on the scale.")
    new = {row.end: _new(row, fields, printer, unit, faults) for row in wanted}
    by = faults.take("by", lambda: read_who(room, fields), "")
    show = partial(_show, request, booking, fields, faults)
    if not _can_print(room, new, faults):  # all that is wrong is told at once
        return show(status=422)
    key, kept = fields.one("key")[:64] or uuid4().hex, []
    for name, one in new.items():
        try:
            kept.append(room.shop.tickets.print(one, by=by, key=f"{key}-{name}").id)
        except StorageTrouble:
            raise
        except (BadValue, ShopError) as error:
            faults.add(f"gross-{name}", f"{one.case_id}: {error.message}")
            return show(status=409, done=f"Kept: {', '.join(kept)}." if kept else "")
    answer = RedirectResponse(f"/tickets/booking/{booking.id}?done={'+'.join(kept)}", 303)
    remember(answer, printer)
    return answer


def _new(
    row: Packed, fields: Fields, printer: Printer, unit: WeightUnit, faults: Faults
) -> NewTicket:
    """Read the fields of one pack, whose names end in its id."""
    pairs = [(name, fields.one(f"{name}-{row.end}")) for name in _PER_LINE]
    own, found = Faults(), Fields([*pairs, ("booking_line", row.line.id)])
    new = read_new(row.case_id, found, printer, unit, own)
    for name, message in own.messages.items():
        faults.add(f"{name}-{row.end}" if name in _PER_LINE else name, f"{row.name}: {message}")
    return new


def _can_print(room: Room, new: dict[str, NewTicket], faults: Faults) -> bool:
    for name, one in new.items():
        try:
            why = room.shop.tickets.draft(one).why_not()
        except StorageTrouble:
            raise
        except CollopError as error:
            why = error.message
        if why:
            faults.add(f"gross-{name}", f"{name}: {why}")
    return not faults


def _packed(room: Room, booking: Booking) -> list[Packed]:
    kept = room.shop.tickets.tickets_of(booking=booking.id)
    names = {one.id: one.name for one in room.shop.case()}
    found = []
    for line in booking.standing:
        mine = [one for one in kept if one.booking_line == line.id]
        held = dict(line.held_as) or {line.case_id: line.weight}
        for case_id in dict.fromkeys([*held, *(one.case_id for one in mine)]):
            lots, price = _told(room, line, case_id)
            name = line.name if case_id == line.case_id else names.get(case_id, case_id)
            there = held.get(case_id, Weight.zero(line.weight.unit))
            own = tuple(one for one in mine if one.case_id == case_id)
            found.append(Packed(line, case_id, name, there, price, lots, own))
    return found


def _told(room: Room, line: BookingLine, case_id: str) -> tuple[tuple[OfferedLot, ...], str]:
    """Return the lots that may be in a pack, and its price as it would be printed."""
    promised = f"{line.unit_price.amount} / {line.unit_price.per}"
    try:
        draft = room.shop.tickets.draft(NewTicket(case_id=case_id, booking_line=line.id))
    except StorageTrouble:
        raise
    except CollopError:  # the booking is off, or only asked for
        return (), promised
    price = draft.problem["price"]
    return draft.lots, f"{price['amount']} / {price['per']}" if price else promised


def _show(
    request: Request, booking: Booking, fields: Fields, faults: Faults, *, done: str = "",
    status: int = 200,
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    settings = room.shop.settings()
    packed = _packed(room, booking)
    context: dict[str, Any] = {
        "booking": booking, "packed": packed, "fields": fields, "faults": faults, "done": done,
        "may_print": str(booking.state) not in {"asked", "off"}, "unit": settings.legal_unit,
        "any_kept": any(one.void is None for row in packed for one in row.tickets),
        "exact": weight_text,
        "tares": room.shop.tickets.tares(), "no_packing": NO_PACKING, "sizes": SIZE_WORDS,
        "printer": printer_of(request, fields, settings.legal_unit), "key": uuid4().hex,
        "people": room.shop.people(),
    }  # fmt: skip
    return page(request, "tickets_booking.html", status=status, **context)
