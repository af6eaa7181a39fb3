"""The slip of a sale or a booking: printed, paid, and what comes back over the glass."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import Money, Rounding, Weight, decimal_of, minor_places
from collop.rules.taxing import ClassTax
from collop.shop import Returned, Slip, SlipLine, SlipMoney
from collop.web.forms import Faults, Fields, read_amount, read_choice
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight, unit_of
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
_WAYS = {"cash": "cash", "card": "card", "other": "other", "account": "on account"}
_WORDS = {"deposit": "Deposit paid", "payment": "Paid", "given back": "Given back",
          "deposit kept": "Deposit kept"}  # fmt: skip
_DONE = {"sold": "Sold.", "money": "Noted.", "back": "Taken back. It is in the bin, not for sale.",
         "all": "All of it is taken back. It is in the bin, not for sale."}  # fmt: skip
_UNDO_WITHIN = timedelta(hours=1)
_FIELDS = ("what", "way", "amount", "given", "note", "weight", "why", "by", "line")


@router.get("/sell/{name}", response_class=HTMLResponse)
def show_slip(request: Request, name: str, fields: Queried) -> Response:
    """Show what a sale or a booking comes to, what was paid, and what is due."""
    return _show(request, name, fields, Faults(), done=_DONE.get(fields.one("done"), ""))


@router.post("/sell/{name}/money", response_class=HTMLResponse)
def note_money(request: Request, name: str, fields: Posted) -> Response:
    """Note money: a payment, a deposit, or what was given back or kept."""
    room, faults = room_of(request), Faults()
    way = faults.take("way", lambda: _way(fields), "")
    amount = faults.take("amount", lambda: _money(fields, "amount", "Amount", room), None)
    given = faults.take("given", lambda: _money(fields, "given", "Cash given", room), None)
    what = fields.one("what")

    def act(by: str, key: str) -> None:
        room.shop.money.note(name, what, way, amount, note=fields.one("note"),
                             given=given if way == "cash" else None, by=by, key=key)  # fmt: skip

    return _act(request, name, fields, faults, done="money", act=act)


@router.post("/sell/{name}/back", response_class=HTMLResponse)
def take_back(request: Request, name: str, fields: Posted) -> Response:
    """Take weight of a line back over the glass."""
    room, faults = room_of(request), Faults()
    lines = [one.line_id for one in room.shop.selling.slip(name).lines]
    line = faults.take("line", lambda: _line(fields, lines), "")
    text, unit = fields.one("weight"), unit_of(request, fields)
    weight = faults.take(
        "weight", lambda: read_weight(text, "Weight", unit) if text else None, None
    )
    way = fields.one("way") if fields.one("way") in _WAYS else None

    def act(by: str, key: str) -> None:
        room.shop.selling.take_back(line, weight, fields.one("why"), by=by, key=key,
                                    way=None if way == "account" else way)  # fmt: skip

    return _act(request, name, fields, faults, done="back", act=act)


@router.post("/sell/{name}/all-back", response_class=HTMLResponse)
def take_all_back(request: Request, name: str, fields: Posted) -> Response:
    """Take a whole sale back, as a return of each of its lines; its money goes as it came."""
    room = room_of(request)

    def act(by: str, key: str) -> None:
        room.shop.selling.take_back_all(name, "the whole sale was undone", by=by, key=key)

    return _act(request, name, fields, Faults(), done="all", act=act)


def _line(fields: Fields, lines: list[str]) -> str:
    if not fields.one("line") and len(lines) == 1:
        return lines[0]
    if not fields.one("line"):
        raise BadValue("Line: choose what comes back.")
    return read_choice(fields.one("line"), "Line", lines)


def _way(fields: Fields) -> str:
    if not fields.one("way"):
        raise BadValue("Way: choose how it is paid.")
    return read_choice(fields.one("way"), "Way", _WAYS)


def _money(fields: Fields, name: str, label: str, room: Room) -> Money | None:
    text = fields.one(name)
    places = minor_places(room.currency)
    return Money.of(read_amount(text, label, places=places), room.currency) if text else None


def _act(
    request: Request, name: str, fields: Fields, faults: Faults, *, done: str,
    act: Callable[[str, str], None],
) -> Response:  # fmt: skip
    by = faults.take("by", lambda: read_who(room_of(request), fields), "")
    if faults:
        return _show(request, name, fields, faults, status=422)
    try:
        act(by, fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        faults.add(error.where if error.where in _FIELDS else "by", error.message)
        return _show(request, name, fields, faults, status=422)
    except ShopError as error:
        return _show(request, name, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/sell/{name}?done={done}&by={by}", status_code=303)


def _kinds(money: SlipMoney) -> list[tuple[str, str, Money]]:
    """Return what may be noted now: kind, words, and the sum that is open."""
    back = money.due * -1
    if money.state == "gone":
        found = [("payment", "Take the money", money.due), ("given back", "Give back", back),
                 ("deposit", "Deposit, not noted yet", money.deposit_due)]  # fmt: skip
    elif money.state == "off":
        found = [("given back", "Give back of the deposit", back),
                 ("deposit kept", "Keep of the deposit", back),
                 ("deposit", "Deposit, not noted yet", money.deposit_due)]  # fmt: skip
    else:
        found = [("deposit", "Take the deposit", money.deposit_due)]
    return [one for one in found if one[2].minor > 0]


def _tax_tie(tax: ClassTax, rule: Rounding) -> str:
    """Return which rule decided the last cent of a tax; empty where it is no exact half cent."""
    if tax.percent is None:
        return ""
    exact = tax.base.minor * tax.percent / 100
    if exact.denominator != 2:
        return ""
    places = minor_places(tax.base.currency)
    amount = decimal_of(exact / 10**places, places + 1)
    return f"{amount} is an exact half cent: {rule.value.replace('-', ' ')} gives {tax.tax}"


def _show(
    request: Request, name: str, fields: Fields, faults: Faults, *, status: int = 200,
    done: str = "", trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    money = room.shop.money.of(name)
    booking = room.shop.booking(name)
    slip = room.shop.selling.slip(name) if money.state == "gone" else None
    chosen, returns = room.shop.settings(), room.shop.selling.returns(name)
    out = _still_out(slip, returns) if slip else []
    is_new = slip is not None and room.now() - slip.at <= _UNDO_WITHIN
    ahead = room.shop.pickup.pickup(name) if booking.state.holds else None
    asked: dict[str, Any] = {}
    if money.state == "off" and money.deposit.minor:
        asked["deposit_word"] = room.shop.money.on_release(name)
    return page(
        request, "sell_slip.html", status=status, faults=faults, fields=fields, done=done,
        trouble=trouble, money=money, booking=booking, slip=slip, kinds=_kinds(money),
        ways=_WAYS, words=_WORDS, returns=returns, out=out,
        can_undo=is_new and bool(out) and money.kind == "counter",
        people=room.shop.people(), key=uuid4().hex, unit=unit_of(request, fields),
        late=room.shop.papers.late_of(money.booking_id),
        names={person.id: person.name for person in room.shop.people()},
        place=chosen.place, rule=chosen.rounding, kept_as=_kept_as(room, name, booking.ask),
        ties=[_tax_tie(one, chosen.rounding) for one in slip.charged.taxes] if slip else [],
        money_now=ahead and ahead.money, wait=ahead and ahead.hindrance,
        deposit_rule=room.shop.money.deposit_rule(), **({"deposit_word": None} | asked),
    )  # fmt: skip


def _still_out(slip: Slip, returns: Sequence[Returned]) -> list[tuple[SlipLine, Weight]]:
    """Return the lines of which the customer has some, each with how much."""
    left = {one.line_id: one.weighed.count - one.lost.count for one in slip.lines}
    for back in returns:
        left[back.line_id] -= back.weight.count
    return [(one, Weight(left[one.line_id], one.weighed.unit)) for one in slip.lines
            if left[one.line_id] > 0]  # fmt: skip


def _kept_as(room: Room, name: str, ask: Any) -> dict[str, str]:  # noqa: ANN401 -- kept JSON
    """Return what is told of each line of a sale at the glass beside its weight: its ticket."""
    told = ask.get("counter", []) if room.shop.money.of(name).kind == "counter" else []
    return {
        f"{name.upper()}-{at + 1}": one.get("ticket") or ""
        for at, one in enumerate(told) if isinstance(one, dict)
    }  # fmt: skip
