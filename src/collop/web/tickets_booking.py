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

    What was worked on is a pack of its own, under the name and at the price of what it became; `end`
    is what the names of its fields end in.
    """

    line: BookingLine
    case_id: str
    name: str
    held: Weight
    price: UnitPrice
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
    wanted = [line for line in booking.standing if fields.one(f"gross-{line.id}")]
    if not wanted:
        first = booking.standing[0].id if booking.standing else ""
        faults.add(f"gross-{first}", "Gross: put the pack of a line on the scale.")
    new = {line.id: _new(line, fields, printer, unit, faults) for line in wanted}
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
    line: BookingLine, fields: Fields, printer: Printer, unit: WeightUnit, faults: Faults
) -> NewTicket:
    """Read the fields of one line, whose names end in its id."""
    pairs = [(name, fields.one(f"{name}-{line.id}")) for name in _PER_LINE]
    own, found = Faults(), Fields([*pairs, ("booking_line", line.id)])
    new = read_new(line.case_id, found, printer, unit, own)
    for name, message in own.messages.items():
        faults.add(f"{name}-{line.id}" if name in _PER_LINE else name, f"{line.name}: {message}")
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
    return [
        Packed(line, _lots(room, line), tuple(one for one in kept if one.booking_line == line.id))
        for line in booking.standing
    ]


def _lots(room: Room, line: BookingLine) -> tuple[OfferedLot, ...]:
    new = NewTicket(case_id=line.case_id, booking_line=line.id)
    try:
        return room.shop.tickets.draft(new).lots
    except StorageTrouble:
        raise
    except CollopError:  # the booking is off, or only asked for
        return ()


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
