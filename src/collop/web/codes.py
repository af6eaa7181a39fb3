"""Codes: what a scanned code holds, whether its digits are right, and building one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import BadValue
from collop.measures import Money, WeightUnit
from collop.ticket.digits import check_digit, full, gtin14, verify
from collop.ticket.elements import GS, encode
from collop.ticket.elements_any import Told, from_keyboard, read_code
from collop.ticket.elements_making import date_value, price_element, weight_element
from collop.ticket.symbols import GS1_KINDS, KINDS, Modules, columns_for, symbol_of
from collop.ticket.symbols_png import symbol_path
from collop.ticket.variable import variable_upc
from collop.web.forms import Faults, Fields, read_amount, read_choice
from collop.web.rendering import page
from collop.web.room import Queried, room_of
from collop.words import N_

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["PLACES", "SORTS", "router"]

router = APIRouter()
#: Whose weighed packs are read, in words.
PLACES = {
    "us": "United States, Canada", "us, 5-digit price": "the same, price of 5 digits",
    "gb": "Great Britain", "de": "Germany", "dk": "Denmark", "se": "Sweden", "no": "Norway",
    "fi": "Finland", "ee": "Estonia", "lv": "Latvia", "lt": "Lithuania",
}  # fmt: skip
#: Kinds of bar code in words.
SORTS = {
    "upc-a": "UPC-A, 12 digits", "ean-13": "EAN-13, 13 digits",
    "databar-expanded-stacked": "GS1 DataBar Expanded Stacked", "gs1-128": "GS1-128, for cartons",
    "gs1-datamatrix": "GS1 DataMatrix", "gs1-qr": "GS1 QR", "datamatrix": "DataMatrix, plain text",
    "qr": "QR, plain text",
}  # fmt: skip
#: What the standard calls a part of a code, and what a hand calls it.
_PLAIN = {
    "SSCC": N_("number of the carton or pallet"), "GTIN": N_("number of the goods"),
    "GTIN of contained trade items": N_("number of the goods inside"), "batch/lot": N_("lot"),
    "price, single monetary area, variable measure": N_("price of this pack"),
    "price with ISO currency": N_("price, with its currency"), "serial": N_("number of this pack"),
    "variable count": N_("pieces"), "count of trade items": N_("packs inside"),
    "percent discount of a coupon": N_("per cent off"),
    "price per unit of measure": N_("price by weight"), "harvest date or range": N_("day of kill"),
    "country(ies) of initial processing": N_("where it was first worked"),
    "country(ies) of disassembly": N_("where it was cut"),
    "reference to source entity": N_("the animal it is of"),
    "element string": N_("one code with several parts"),
}  # fmt: skip
# a ticket of 58 mm at 203 dots an inch, two dots a module
_STACK_ROOM = 231
_UNITS = (WeightUnit.LB, WeightUnit.KG)


@dataclass(frozen=True, slots=True)
class _Made:
    """A code that was built, ready to be shown."""

    code: Modules
    path: str
    sent: str

    @property
    def box(self) -> tuple[int, int]:
        """Return width and height with the quiet zone, in modules."""
        side, above = self.code.quiet
        return self.code.width + 2 * side, self.code.height + 2 * above


@router.get("/codes", response_class=HTMLResponse)
def show_codes(request: Request, fields: Queried) -> HTMLResponse:
    """Show both forms, and what came of the one that was sent."""
    room, faults = room_of(request), Faults()
    told: Told | None = None
    made: _Made | None = None
    code = from_keyboard(fields.one("code"))
    # the square code of a ticket says its number, then its lot
    own = bool(re.fullmatch(r"[TtHh][1-9][0-9]{0,8}(?: [ -~]{1,40})?", code))
    if code and not own:
        told = faults.take("code", lambda: _read(room, code, fields), None)
    elif "code" in fields and not code:
        faults.add("code", "Scan or type a code: nothing was sent.")
    if fields.one("kind"):
        made = _make(room, fields, faults)
    return page(
        request, "codes.html", status=422 if faults else 200, faults=faults, fields=fields,
        told=told, made=made, own=code.split()[0].upper() if own else "", places=PLACES,
        sorts=SORTS, plain=_PLAIN, shown=code.replace(GS, "{GS}"),
        units=[str(one) for one in _UNITS],
    )  # fmt: skip


def _read(room: Room, code: str, fields: Fields) -> Told:
    place = read_choice(fields.one("place", "us"), "Weighed packs of", PLACES)
    return read_code(code, place, read_in=room.now().year)


def _make(room: Room, fields: Fields, faults: Faults) -> _Made | None:
    """Return the code the second form asks for; note what is wrong with it."""
    kind = faults.take("kind", lambda: read_choice(fields.one("kind"), "Kind", KINDS), "")
    if not kind:
        return None
    if not fields.one("number"):
        faults.add("number", "Number: enter the item, the number or the text to encode.")
        return None
    if kind in GS1_KINDS:
        values = _values(room, fields, faults)
        if faults:
            return None
        return faults.take("number", lambda: _of_values(room, kind, values), None)
    if kind == "upc-a" and fields.one("price"):
        cents = faults.take("price", lambda: _price(room, fields), None)
        if cents is None:
            return None
        where = "number" if not re.fullmatch(r"[0-9]{5}", fields.one("number")) else "price"
        return faults.take(
            where, lambda: _drawn(kind, variable_upc(fields.one("number"), cents.minor)), None
        )
    return faults.take("number", lambda: _drawn(kind, _number(kind, fields.one("number"))), None)


def _number(kind: str, text: str) -> str:
    """Return the number of a retail code with its check digit, or plain text as it is."""
    length = {"upc-a": 12, "ean-13": 13}.get(kind)
    if length and re.fullmatch(rf"[0-9]{{{length - 1}}}", text):
        return full(text)
    return text


def _price(room: Room, fields: Fields) -> Money:
    # a price of zero is refused by the code itself, which says what to do
    return Money.of(read_amount(fields.one("price"), "Price"), room.currency)


def _values(room: Room, fields: Fields, faults: Faults) -> dict[str, str]:
    """Return identifiers and values of the second form."""
    found: dict[str, str] = {}
    number = fields.one("number")
    found["01"] = faults.take("number", lambda: gtin14(_whole_number(number)), "")
    if fields.one("weight"):
        ai, value = faults.take("weight", lambda: _weight(fields), ("", ""))
        found[ai] = value
    if fields.one("price"):
        ai, value = faults.take("price", lambda: price_element(_price(room, fields)), ("", ""))
        found[ai] = value
    if fields.one("use_by"):
        found["17"] = faults.take("use_by", lambda: date_value(_day(fields.one("use_by"))), "")
    if fields.one("lot"):
        found["10"] = fields.one("lot")
    return found


def _whole_number(text: str) -> str:
    """Return a trade item number; one of 13 digits that fails may lack the last of 14."""
    if re.fullmatch(r"[0-9]{13}", text) and check_digit(text[:-1]) != text[-1]:
        raise BadValue(
            f"Number: {text} is no EAN-13; its check digit would be {check_digit(text[:-1])}. "
            f"As the first 13 of 14 digits it would be {full(text)}."
        )
    return verify(text, "The trade item number")


def _weight(fields: Fields) -> tuple[str, str]:
    unit = WeightUnit(read_choice(fields.one("unit", "lb"), "Unit", map(str, _UNITS)))
    net: Decimal = read_amount(fields.one("weight"), "Weight", places=3)
    return weight_element(net, unit)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValue("Use by: choose a day, written like 2026-06-13.") from None


def _of_values(room: Room, kind: str, values: dict[str, str]) -> _Made:
    sent = encode(values, read_in=room.now().year)
    return _drawn(kind, sent.element_string, sent.transmitted)


def _drawn(kind: str, data: str, sent: str = "") -> _Made:
    columns = columns_for(_STACK_ROOM) if kind == "databar-expanded-stacked" else None
    code = symbol_of(kind, data, columns=columns)
    return _Made(code, symbol_path(code), (sent or code.data).replace(GS, "{GS}"))
