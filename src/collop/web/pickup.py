"""Before the customer comes: every line on the scale, and what was agreed about a short one."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import Money, Weight, WeightUnit
from collop.reference import ALLERGENS
from collop.scale import read_weighed
from collop.shop.pickup_choices import WAYS
from collop.shop.pickup_weighing import REASONS, WeighedAhead
from collop.web.forms import Faults, Fields, read_choice
from collop.web.hand_over import show_wait
from collop.web.hook import read_who
from collop.web.knife_reading import unit_of
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop.pickup_model import PickupLine

__all__ = ["router"]

router = APIRouter()
_DONE = {
    "weighed": "Weighed.",
    "chosen": "Kept. The total is that of what was agreed.",
    "renewed": "Taken from fresh, at the same price. Weigh it again, and print its ticket anew.",
    "without": "Taken off. What is reserved stays as it is.",
    "stopped": "Stopped. Who called and when is kept with the booking.",
}


@router.get("/hook/{booking_id}/pick-up", response_class=HTMLResponse)
def show_pickup(request: Request, booking_id: str, fields: Queried) -> Response:
    """Show every line with a field for its weight, and the ways out of a short one."""
    done = _DONE.get(fields.one("done"), "")
    return _show(request, booking_id, Fields([]), Faults(), done=done)


@router.post("/hook/{booking_id}/pick-up/weigh", response_class=HTMLResponse)
def weigh(request: Request, booking_id: str, fields: Posted) -> Response:
    """Weigh ahead the line whose button was touched, and all others that were filled in."""
    room, faults = room_of(request), Faults()
    lines = _filled_in(request, booking_id, fields)
    if not lines and fields.one("told"):
        return stop(request, booking_id, fields)  # the enter key in its field comes here
    lines = lines or [_first_line(room, booking_id)]
    asked = [
        faults.take(f"weighed-{line}", partial(_asked, request, fields, line), None)
        for line in lines
    ]
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, booking_id, fields, faults, status=422)

    def act() -> None:
        told = [one for one in asked if one is not None]
        room.shop.pickup.weigh_all(told, by=by, key=_key(fields, "weigh"))

    return _done(request, booking_id, fields, act, "weighed", other=f"weighed-{lines[0]}")


def _filled_in(request: Request, booking_id: str, fields: Fields) -> list[str]:
    """Return the line whose button was touched and those with another weight than is kept."""
    room = room_of(request)
    pickup = room.shop.pickup.pickup(booking_id)
    unit = unit_of(request, fields).value
    touched = _line(room, booking_id, fields) if fields.one("line") else ""
    found = [] if not touched or any(one.line.id == touched for one in pickup.lines) else [touched]
    for row in pickup.lines:
        name, kept = row.line.id, _ready(row, unit)
        filled = not row.line.off and fields.one(f"weighed-{name}", kept) != kept
        if name == touched or filled:
            found.append(name)
    return found


def _first_line(room: Room, booking_id: str) -> str:
    booking = room.shop.booking(booking_id)
    return booking.standing[0].id if booking.standing else f"{booking.id}-0"


def _asked(request: Request, fields: Fields, line: str) -> WeighedAhead:
    weighed = _weight(request, fields, f"weighed-{line}")
    reason = fields.one(f"reason-{line}") or None
    return WeighedAhead(line, weighed, reason, fields.one(f"why-{line}")[:200])


@router.post("/hook/{booking_id}/pick-up/choose", response_class=HTMLResponse)
def choose(request: Request, booking_id: str, fields: Posted) -> Response:
    """Keep what the customer chose for one line."""
    room, faults = room_of(request), Faults()
    line = _line(room, booking_id, fields)
    what = faults.take(
        f"way-{line}", lambda: read_choice(fields.one(f"way-{line}"), "Way out", WAYS), ""
    )
    agreed = fields.one(f"agreed-{line}")
    if not agreed:
        faults.add(f"agreed-{line}", "Agreed: write what the customer said; a word or two will do.")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, booking_id, fields, faults, status=422)
    shown = f"{line}-{what}"
    case_id, weight = _instead(fields.one(f"instead-{shown}"))

    def act() -> None:
        room.shop.pickup.choose(
            line, what, agreed[:200], by=by, key=_key(fields, line), case_id=case_id,
            weight=weight, total=_seen(room, fields.one(f"total-{shown}")),
        )  # fmt: skip

    return _done(request, booking_id, fields, act, "chosen", other=f"way-{line}")


@router.post("/hook/{booking_id}/pick-up/renew", response_class=HTMLResponse)
def renew(request: Request, booking_id: str, fields: Posted) -> Response:
    """Give one line fresh stock for what does not keep until it is collected."""
    room, faults = room_of(request), Faults()
    booking = room.shop.booking(booking_id)
    wanted = fields.one("renew")[:40]
    line = next((one.id for one in booking.lines if one.id == wanted), f"{booking.id}-0")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, booking_id, fields, faults, status=422)

    def act() -> None:
        room.shop.pickup.renew(line, by=by, key=_key(fields, f"{line}-fresh"))

    return _done(request, booking_id, fields, act, "renewed", other="by")


@router.post("/hook/{booking_id}/pick-up/without", response_class=HTMLResponse)
def go_without(request: Request, booking_id: str, fields: Posted) -> Response:
    """Take back what is still to come, and go on where it was asked: here, or at the hand-over."""
    room, faults = room_of(request), Faults()
    is_going = fields.one("back") == "walk"
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        show = partial(show_wait, trouble="") if is_going else _show
        return show(request, booking_id, fields, faults, status=422)

    def act() -> None:
        room.shop.pickup.go_without(booking_id, by=by, key=_key(fields, "without"))

    if not is_going:
        return _done(request, booking_id, fields, act, "without", other="by")
    try:
        act()
    except (BadValue, ShopError) as error:
        return show_wait(request, booking_id, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/hook/{booking_id}/hand-over?done=without", status_code=303)


@router.post("/hook/{booking_id}/pick-up/stop", response_class=HTMLResponse)
def stop(request: Request, booking_id: str, fields: Posted) -> Response:
    """Stop every line with an allergen that was told late."""
    room, faults = room_of(request), Faults()
    allergen = faults.take(
        "allergen", lambda: read_choice(fields.one("allergen"), "Allergen", ALLERGENS), ""
    )
    told = fields.one("told")
    if not told:
        faults.add("told", "Told by: write who called, or how it was told.")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, booking_id, fields, faults, status=422)

    def act() -> None:
        room.shop.pickup.stop(booking_id, allergen, by=by, key=_key(fields, "stop"), told=told)

    return _done(request, booking_id, fields, act, "stopped", other="allergen")


def _done(
    request: Request, booking_id: str, fields: Fields, act: Callable[[], None], done: str, *,
    other: str,
) -> Response:  # fmt: skip
    """Do one thing and go back to the page, or show why it was not done."""
    faults = Faults()
    try:
        act()
    except BadValue as error:
        at_field = error.where.partition("-")[0] in {"weighed", "reason", "why"}
        faults.add(error.where if at_field else other, error.message)
        return _show(request, booking_id, fields, faults, status=422)
    except ShopError as error:
        return _show(request, booking_id, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/hook/{booking_id}/pick-up?done={done}", status_code=303)


def _key(fields: Fields, mark: str) -> str:
    return f"{fields.one('key')[:64] or uuid4().hex}-{mark}"


def _line(room: Room, booking_id: str, fields: Fields) -> str:
    """Return the id of the line whose button was touched; one that is none is told by the shop."""
    booking = room.shop.booking(booking_id)
    return next((one.id for one in booking.lines if one.id == fields.one("line")),
                fields.one("line")[:40] or f"{booking.id}-0")  # fmt: skip


def _seen(room: Room, text: str) -> Money | None:
    """Return the total that was on the screen; None if the page told none."""
    if not text:
        return None
    try:
        return Money.of(text, room.currency)
    except BadValue:
        return None


def _instead(text: str) -> tuple[str | None, Weight | None]:
    """Return the cut and the weight that the screen offered; None if it told none."""
    case_id, _, weight = text.partition(" ")
    try:
        return (case_id, Weight.of(weight, WeightUnit.LB)) if weight else (None, None)
    except BadValue:
        return None, None


def _weight(request: Request, fields: Fields, name: str) -> Weight:
    text = fields.one(name)
    if not text:
        raise BadValue("Weighed: enter what the scale says, for example 4.15.")
    try:
        return read_weighed(text[:40], unit_of(request, fields))
    except BadValue:
        raise BadValue("Weighed: write the weight like 4.15 or 1.88 kg.") from None


def _ready(row: PickupLine, unit: str) -> str:
    if row.line.ready is None:
        return ""
    kg = unit == "kg"
    return str(row.line.ready.decimal(type(row.line.ready.unit)(unit), 3 if kg else 2))


def _show(
    request: Request, booking_id: str, fields: Fields, faults: Faults, *, status: int = 200,
    done: str = "", trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    pickup = room.shop.pickup.pickup(booking_id)
    unit = unit_of(request, fields).value
    return page(
        request, "pickup.html", status=status, pickup=pickup, booking=pickup.booking,
        fields=fields, faults=faults, done=done, trouble=trouble, reasons=tuple(REASONS),
        ready={row.line.id: _ready(row, unit) for row in pickup.lines}, unit=unit,
        allergens=sorted(ALLERGENS), people=room.shop.people(), key=uuid4().hex,
        case={line.id: line.name for line in room.shop.case()},
        stops=room.shop.pickup.stops(booking_id),
        renewals=[row.renewal for row in pickup.lines if row.renewal is not None],
    )  # fmt: skip
