"""Handing over: each line booked and weighed, and three ways out when it is short."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import Money, Rounding, Weight, WeightUnit
from collop.scale import read_weighed
from collop.shop.pickup_choices import SWAP, TOP_UP, Chosen
from collop.shop.pickup_stand_ins import StandIn, stand_in
from collop.shop.pickup_words import half_cent, per_cent
from collop.web.forms import Faults, Fields, read_choice
from collop.web.hook import read_who
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import Booking, BookingLine, CaseLine, Shop
    from collop.shop.model import SlipTotals

__all__ = ["router", "show_wait"]

router = APIRouter()
_CHOICES = ("take", "top-up", "swap")
_DONE = {"without": "Taken off. What is reserved stays as it is."}
#: Less than this under what was booked is the scale's step, and nobody is asked about it: ours.
_LEAST_OFFER = Weight.of("0.02", WeightUnit.LB)
_CHANGED = "A weight, a choice or a tax rate changed meanwhile: this is the new total."


@dataclass(frozen=True, slots=True)
class Walked:
    """One line of the walk: booked, weighed, money, and what may fill a gap.

    `paid` is what is charged for: bone that was taken out for the customer was bought.
    """

    line: BookingLine
    text: str
    weighed: Weight | None
    paid: Weight
    money: Money
    half_cent: str
    short_pct: int
    choice: str
    top_up: StandIn | None
    swap: StandIn | None

    @property
    def is_short(self) -> bool:
        """Tell whether less was weighed than booked, and nothing fills the gap."""
        if self.line.topped_up:
            return False
        return self.weighed is not None and self.paid < self.line.weight

    @property
    def is_asked(self) -> bool:
        """Tell whether the customer is asked what to do about it."""
        return self.is_short and self.line.weight - self.paid >= _LEAST_OFFER

    @property
    def stand_in(self) -> StandIn | None:
        """Return the stand-in of the choice made."""
        if not self.is_short:
            return None
        return {"top-up": self.top_up, "swap": self.swap}.get(self.choice)

    def parts(self, choice: str) -> list[tuple[str, Money]]:
        """Return the lines of the slip it would make by a choice: line of the case, and money."""
        instead = {"top-up": self.top_up, "swap": self.swap}.get(choice)
        if instead is None or not self.is_short:
            return [(self.line.case_id, self.money)]
        added = (instead.case_id, instead.money)
        if choice == "swap":
            return [added]
        return [(self.line.case_id, self.money), added]

    @property
    def handed(self) -> Weight:
        """Return the weight of the booked line that leaves the shop."""
        if self.weighed is None or (self.stand_in and self.choice == "swap"):
            return Weight.zero(self.line.weight.unit)
        return self.weighed


@router.get("/hook/{booking_id}/hand-over", response_class=HTMLResponse)
def show_walk(request: Request, booking_id: str, fields: Queried) -> Response:
    """Show the lines of a booking with a field for each weight."""
    booking = room_of(request).shop.booking(booking_id)
    walked, _ = _walk(request, booking, Fields([]))  # empty fields are no faults yet
    done = _DONE.get(fields.one("done"), "")
    return _show(request, booking, walked, Fields([]), Faults(), checked=False, done=done)


def show_wait(
    request: Request, booking_id: str, fields: Fields, faults: Faults, *, status: int, trouble: str
) -> Response:
    """Show what a booking waits for, and why nothing was done about it."""
    booking = room_of(request).shop.booking(booking_id)
    walked, _ = _walk(request, booking, Fields([]))
    return _show(request, booking, walked, fields, faults, checked=False, status=status,
                 trouble=trouble)  # fmt: skip


@router.post("/hook/{booking_id}/hand-over", response_class=HTMLResponse)
def hand_over(request: Request, booking_id: str, fields: Posted) -> Response:
    """Work out the money, or hand over what was weighed."""
    room = room_of(request)
    booking = room.shop.booking(booking_id)
    walked, faults = _walk(request, booking, fields)
    show = partial(_show, request, booking, walked, fields, faults)
    if faults:
        return show(checked=False, status=422)
    if fields.one("do") != "hand-over":
        return show(checked=True)
    if fields.one("worked") and fields.one("worked") != _worked(
        walked, _charged(room.shop, booking, walked)
    ):
        return show(checked=True, status=409, trouble=_CHANGED)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return show(checked=True, status=422)
    try:
        told = _charged(room.shop, booking, walked).total
        _commit(room, booking, walked, told, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        faults.add(f"weighed-{error.where}", error.message)
        return show(checked=True, status=422)
    except ShopError as error:
        walked, _ = _walk(request, booking, fields)  # the case has moved on meanwhile
        return _show(request, booking, walked, fields, faults, checked=True, status=409,
                     trouble=error.message)  # fmt: skip
    return RedirectResponse(f"/hook/{booking.id}?done=gone", status_code=303)


def _unit(request: Request, fields: Fields) -> str:
    """Return the unit of the labels: that of the form sent, else of the device."""
    return "kg" if fields.one("unit", shown_for(request).unit) == "kg" else "lb"


def _show(
    request: Request, booking: Booking, walked: list[Walked], fields: Fields, faults: Faults, *,
    checked: bool, status: int = 200, trouble: str = "", done: str = "",
) -> HTMLResponse:  # fmt: skip
    shop = room_of(request).shop
    ways = {row.line.id: _totals(shop, booking, walked, row) for row in walked if row.is_short}
    charged = _charged(shop, booking, walked)
    return page(
        request, "hand_over.html", status=status, booking=booking, walked=walked, faults=faults,
        checked=checked, charged=charged, fields=fields,
        people=shop.people(), key=fields.one("key") or uuid4().hex, trouble=trouble, totals=ways,
        unit=_unit(request, fields), worked=_worked(walked, charged),
        wait=shop.pickup.pickup(booking.id).hindrance, done=done,
    )  # fmt: skip


def _worked(walked: list[Walked], charged: SlipTotals) -> str:
    """Return what the total on the screen was worked out from, and what it was with tax."""
    marks = []
    for row in walked:
        weighed = row.weighed.count if row.weighed else ""
        marks.append(f"{row.line.id}:{weighed}:{row.choice if row.is_short else ''}")
    return "+".join([*marks, str(charged.total)])


def _charged(
    shop: Shop, booking: Booking, walked: list[Walked], other: Walked | None = None, way: str = ""
) -> SlipTotals:
    """Return what the slip comes to, with tax; `other` goes another `way` than was chosen."""
    parts = [part for row in walked for part in row.parts(way if row is other else row.choice)]
    return shop.charge(parts, deposit=booking.deposit)


def _totals(shop: Shop, booking: Booking, walked: list[Walked], row: Walked) -> dict[str, Money]:
    """Return the new total of the slip, with tax, for each way out of a short line."""
    ways = {"take": True, "top-up": row.top_up is not None, "swap": row.swap is not None}
    return {
        way: _charged(shop, booking, walked, row, way).total for way, open_ in ways.items() if open_
    }


def _walk(request: Request, booking: Booking, fields: Fields) -> tuple[list[Walked], Faults]:
    faults = Faults()
    shop, unit = room_of(request).shop, WeightUnit(_unit(request, fields))
    desk = _Desk(booking, shop.case(), shop.settings().rounding, unit)
    return [_row(desk, line, fields, faults) for line in booking.standing], faults


@dataclass(frozen=True, slots=True)
class _Desk:
    """What every line of a walk is worked out with."""

    booking: Booking
    case: tuple[CaseLine, ...]
    rule: Rounding
    unit: WeightUnit


def _ready_text(line: BookingLine, unit: WeightUnit) -> str:
    """Return what was weighed ahead, as it would be typed; empty if it was not."""
    if line.ready is None:
        return ""
    return f"{line.ready.decimal(unit, 3 if unit is WeightUnit.KG else 2)}"


def _row(desk: _Desk, line: BookingLine, fields: Fields, faults: Faults) -> Walked:
    name = f"weighed-{line.id}"
    text = fields.one(name, _ready_text(line, desk.unit))
    weighed = faults.take(name, lambda: _read_weight(text, line, desk.unit), None)
    if weighed is not None and line.ready is not None and text == _ready_text(line, desk.unit):
        weighed = line.ready  # to the count, whatever the field shows of it
    choice = fields.one(f"choice-{line.id}", "take")
    choice = faults.take(
        f"choice-{line.id}", lambda: read_choice(choice, line.name, _CHOICES), "take"
    )
    paid = Weight.zero() if weighed is None else line.paid_for(weighed)
    gap = line.weight - paid if weighed is not None else Weight.zero()
    offers = gap >= _LEAST_OFFER and not line.topped_up
    return Walked(
        line=line, text=text, weighed=weighed, paid=paid,
        money=line.unit_price.line(paid, desk.rule),
        half_cent=half_cent(line.unit_price, paid, desk.rule) if weighed is not None else "",
        short_pct=per_cent(gap, line.weight),
        choice=choice,
        top_up=stand_in(desk.booking, line, gap, desk.case, desk.rule) if offers else None,
        swap=stand_in(desk.booking, line, line.weight, desk.case, desk.rule) if offers else None,
    )  # fmt: skip


def _read_weight(text: str, line: BookingLine, unit: WeightUnit) -> Weight:
    """Read a weight in the unit that its label names, unless it brings its own."""
    if not text:
        raise BadValue(f"{line.name}: enter what the scale says, for example 4.15.")
    try:
        weight = read_weighed(text[:40], unit)
    except BadValue:
        raise BadValue(f"{line.name}: write the weight like 4.15 or 1.88 kg.") from None
    if weight.count > 2 * line.weight.count:
        booked = line.weight.text()
        raise BadValue(f"{line.name}: {weight.text()} is over twice the booked {booked}; check "
                       "the scale and the tare.")  # fmt: skip
    return weight


def _commit(
    room: Room, booking: Booking, walked: list[Walked], told: Money, *, by: str, key: str
) -> None:
    """Hand over with what was agreed, all of it or nothing, at the total that was told."""
    chosen = [
        Chosen(row.line.id, SWAP if row.choice == "swap" else TOP_UP, "agreed at hand-over",
               case_id=row.stand_in.case_id, weight=row.stand_in.weight)
        for row in walked
        if row.stand_in is not None
    ]  # fmt: skip
    weighed = {row.line.id: row.handed for row in walked}
    room.shop.pickup.hand_over(booking.id, weighed, chosen, by=by, key=key, total=told)
