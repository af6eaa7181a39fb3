"""Lines of a sale as a page carries them: in its address, so that every till has its own."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl, urlencode

from collop.errors import BadValue, NotFound
from collop.measures import Money, Weight, WeightUnit
from collop.rules.weighing import net_of
from collop.scale import read_weighed
from collop.shop import NO_PACKING, NewSale
from collop.web.forms import Faults, Fields, read_amount

if TYPE_CHECKING:
    from collop.shop import Tare
    from collop.web.room import Room

__all__ = ["MOST_LINES", "address", "as_text", "read_given", "read_lines", "read_new_line"]

#: So many lines one sale may have on a page.
MOST_LINES = 40
_LONGEST = 40
_NO_LINE = "A line of this sale cannot be read; take it off and weigh it again."


def _weight_text(weight: Weight) -> str:
    return f"{weight.count}{weight.unit.value}"


def _weight_of(text: str) -> Weight:
    unit = text.lstrip("0123456789")
    digits = text[: len(text) - len(unit)]
    if not 1 <= len(digits) <= 18 or unit not in {one.value for one in WeightUnit}:
        raise BadValue(_NO_LINE)
    return Weight(int(digits), WeightUnit(unit))


def as_text(sale: NewSale) -> str:
    """Return a line as its address has it: exact, whatever unit it was weighed in."""
    facts = {"cut": sale.case_id, "tare": sale.tare, "ticket": sale.ticket}
    weights = {"net": sale.net, "asked": sale.asked}
    told = {name: text for name, text in facts.items() if text}
    told |= {name: _weight_text(one) for name, one in weights.items() if one is not None}
    if sale.pieces:
        told["pieces"] = " ".join(_weight_text(one) for one in sale.pieces)
    if sale.agreed:
        told["agreed"] = "1"
    return urlencode(told)


def _line_of(text: str) -> NewSale:
    try:
        told = dict(parse_qsl(text[:1000], max_num_fields=20))
    except ValueError:
        raise BadValue(_NO_LINE) from None

    def weight(name: str) -> Weight | None:
        return _weight_of(told[name]) if name in told else None

    return NewSale(
        case_id=told.get("cut", "")[:_LONGEST], net=weight("net"),
        pieces=tuple(_weight_of(one) for one in told.get("pieces", "").split()) or None,
        tare=told.get("tare"), ticket=told.get("ticket"), asked=weight("asked"),
        agreed=told.get("agreed") == "1",
    )  # fmt: skip


def read_lines(fields: Fields) -> tuple[NewSale, ...]:
    """Return the lines of the sale so far.

    Raises
    ------
    BadValue
        If one of them was tampered with.
    """
    return tuple(_line_of(text) for text in fields.all("line"))


def address(lines: tuple[NewSale, ...], **other: str) -> str:
    """Return the address of the page with these lines; what is empty is left out of it."""
    pairs = [("line", as_text(one)) for one in lines]
    pairs += [(name, text) for name, text in other.items() if text]
    return f"/sell?{urlencode(pairs)}" if pairs else "/sell"


def read_new_line(
    fields: Fields, faults: Faults, room: Room, unit: WeightUnit, besides: Collection[str]
) -> NewSale | None:
    """Return the line that is added: a ticket, or a cut with what the scale says.

    Parameters
    ----------
    fields : Fields
        ``ticket``, as it was typed or scanned; or ``cut``, ``gross``, ``tare`` and ``asked``.
    faults : Faults
        Takes what cannot be read; None is returned then.
    room : Room
        The shop, for its tickets and tares.
    unit : WeightUnit
        Of a bare number.
    besides : collection of str
        Tickets on the sale already.
    """
    if fields.one("ticket"):
        return _scanned(fields.one("ticket"), faults, room, besides)
    cut = fields.one("cut") or fields.one("chosen")
    if not cut:
        faults.add("cut", "Cut: touch the cut that lies on the scale.")
    gross = faults.take("gross", lambda: _scale(fields.one("gross"), unit), None)
    asked = faults.take("asked", lambda: _asked(fields.one("asked"), unit), None)
    tares = room.shop.tickets.tares()
    tare = faults.take("tare", lambda: _tare(fields.one("tare"), tares), None)
    if faults or gross is None:
        return None
    none = Weight.zero(room.shop.settings().legal_unit)
    net = faults.take("gross", lambda: net_of(gross, tare.weight if tare else none), None)
    line = NewSale(case_id=cut[:_LONGEST], net=net, tare=tare.name if tare else None)
    return None if net is None else replace(line, asked=asked)


def _scanned(
    text: str, faults: Faults, room: Room, besides: Collection[str]
) -> NewSale | None:  # fmt: skip
    try:
        return NewSale(ticket=room.shop.selling.ticket_meant(text, besides=besides))
    except (BadValue, NotFound) as error:
        faults.add("ticket", error.message)
        return None


def _scale(text: str, unit: WeightUnit) -> Weight:
    if not text:
        raise BadValue("On the scale: put the cut on the scale, or write its weight like 1.08.")
    try:
        return read_weighed(text[:_LONGEST], unit)
    except BadValue:
        raise BadValue("On the scale: write the weight like 1.08, 2 lb 12 oz or 0.5 kg.") from None


def _asked(text: str, unit: WeightUnit) -> Weight | None:
    if not text:
        return None
    try:
        return read_weighed(text[:_LONGEST], unit)
    except BadValue:
        raise BadValue("Asked for: write the weight like 1, 2 lb 12 oz or 0.5 kg.") from None


def _tare(name: str, tares: tuple[Tare, ...]) -> Tare | None:
    if not name or name == NO_PACKING:
        return None
    found = next((one for one in tares if one.name == name), None)
    if found is None:
        raise BadValue(f"Packing: {name[:30]!r} is not on the list of tares; choose another.")
    return found


def read_given(text: str, currency: str) -> Money | None:
    """Return the cash laid on the counter; None where nothing was said of it."""
    if not text:
        return None
    return Money.of(read_amount(text, "Cash given"), currency)
