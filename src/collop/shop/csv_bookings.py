"""Bookings as a list: a row for each line, the rows of one order under one name of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import CollopError
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.board import board_at, price_text
from collop.shop.booking import Terms, book_in
from collop.shop.csv_model import Change, ListKind
from collop.shop.csv_reading import ListRow, decimal_in, moment_in, whole_in
from collop.shop.hook import booking_id, bookings_between, load_booking
from collop.shop.model import Booking, BookingLine, NewBooking, NewLine, Settings
from collop.shop.picking import piece_text
from collop.shop.quotes import number_in
from collop.shop.tables import bookings, case_lines

__all__ = ["BOOKINGS", "booking_rows", "line_in", "orders_in", "weight_in"]

_AHEAD = timedelta(days=3660)
_UNITS = {unit.value: unit for unit in WeightUnit}
#: Cells of an order that its first row tells for all.
_ORDER = ("name", "phone_end", "collect_at", "heads", "deposit", "note")


def _line_cells(line: BookingLine) -> dict[str, object]:
    unit = line.weight.unit
    return {
        "cut": line.case_id, "cut_name": line.name,
        "weight": f"{line.weight.decimal(unit, 3):f}", "unit": unit.value,
        "pieces_lb": " ".join(piece_text(piece) for piece in line.pieces or ()),
        "price": price_text(line.unit_price), "per": line.unit_price.per.value,
        "money": line.line_total,
    }  # fmt: skip


def booking_rows(found: Sequence[Booking], chosen: Settings) -> list[dict[str, object]]:
    """Return bookings as rows by column, one for each line."""
    return [
        {"order": one.id, "state": str(one.state), "kind": one.kind, "name": one.name,
         "phone_end": one.phone_end, "collect_at": one.collect_at.isoformat(" ", "minutes"),
         "heads": one.heads, "deposit": one.deposit, "note": one.note,
         "currency": chosen.currency, **_line_cells(line)}
        for one in found for line in one.lines
    ]  # fmt: skip


def _out(conn: Connection, chosen: Settings, now: datetime) -> list[dict[str, object]]:
    last = min(date.max, now.date() + _AHEAD)
    found = bookings_between(conn, now.date(), last, chosen)
    return booking_rows([one for one in found if one.state.holds], chosen)


def line_in(act: Act, row: ListRow) -> NewLine:
    """Return the line a row asks for.

    Raises
    ------
    BadValue
        Naming row and column.
    """
    lines = act.conn.execute(select(case_lines.c.id, case_lines.c.name)).all()
    told = row.get("cut") or row.needs("cut_name")
    by_word = {word.casefold(): one.id for one in lines for word in (one.name, one.id)}
    case_id = by_word.get(told.casefold())
    if case_id is None:
        raise row.fault("cut", f"there is no line {told[:40]!r} in the case")
    unit = row.get("unit").casefold() or act.settings.legal_unit.value
    if unit not in _UNITS:
        raise row.fault("unit", f"{unit[:20]!r} is no unit; write lb or kg")
    weight = weight_in(row, "weight", _UNITS[unit])
    pieces = None
    if row.get("pieces_lb"):
        pieces = tuple(_piece(row, text) for text in row.get("pieces_lb").split())
    return NewLine(case_id, weight, pieces, None, _price(act, row))


def weight_in(row: ListRow, column: str, unit: WeightUnit) -> Weight:
    """Return a weight above zero, or raise `BadValue`."""
    try:
        found = Weight.of(decimal_in(row, column), unit)
    except CollopError as error:
        if error.where:
            raise
        raise row.fault(column, error.message) from None
    if found <= Weight.zero():
        raise row.fault(column, "the line has no weight; write more than 0, or take the row out")
    return found


def _piece(row: ListRow, text: str) -> Weight:
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,3})?", text):
        raise row.fault("pieces_lb", f"{text[:20]!r} is no weight of a piece; write them like "
                                     "4.10 4.05")  # fmt: skip
    return Weight.of(text, WeightUnit.LB)


def _price(act: Act, row: ListRow) -> UnitPrice | None:
    if not row.get("price"):
        return None
    per = row.get("per").casefold() or act.settings.legal_unit.value
    if per not in {"lb", "kg"}:
        raise row.fault("per", f"{per[:20]!r} is no unit of a price; write lb or kg")
    return UnitPrice.of(decimal_in(row, "price"), WeightUnit(per), act.settings.currency)


def orders_in(rows: Sequence[ListRow], told: Sequence[str]) -> dict[str, list[ListRow]]:
    """Return the rows of each order; what `told` names must not differ between them.

    Raises
    ------
    BadValue
        If a row has no order, or says something else than the first row of its order.
    """
    found: dict[str, list[ListRow]] = {}
    for row in rows:
        found.setdefault(row.needs("order"), []).append(row)
    for order in found.values():
        for row in order[1:]:
            for name in told:
                if row.get(name) and row.get(name) != order[0].get(name):
                    raise row.fault(name, f"row {order[0].number} says "
                                          f"{order[0].get(name)[:40]!r} of the same order; one of "
                                          "them is wrong")  # fmt: skip
    return found


def _into(act: Act, rows: Sequence[ListRow], _why: str) -> list[Change]:
    changes = []
    for name, order in orders_in(rows, _ORDER).items():
        known = _known(act, name)
        if known is not None:
            _same(act, known, order)
            continue
        changes.append(_book(act, order))
    return changes


def _known(act: Act, name: str) -> Booking | None:
    if not re.fullmatch(r"[Hh][0-9]{1,15}", name):
        return None
    number = number_in("H", name.upper(), "booking")
    there = act.conn.scalar(select(bookings.c.number).where(bookings.c.number == number))
    return None if there is None else load_booking(act.conn, number, act.settings)


def _same(act: Act, known: Booking, order: Sequence[ListRow]) -> None:
    """Refuse rows that say something else of a booking than the hook does."""
    own = booking_rows([known], act.settings)
    if len(own) != len(order):
        raise order[0].fault("order", f"{known.id} is on the hook with {len(own)} lines, and the "
                                      f"list has {len(order)}; change it on the hook, or give a "
                                      "new order another name")  # fmt: skip
    for row, cells in zip(order, own, strict=True):
        for name in ("name", "phone_end", "collect_at", "heads", "deposit", "note", "cut",
                     "weight", "unit"):  # fmt: skip
            text = row.get(name)
            if text and text.replace("T", " ") != str(cells[name] or "").replace("T", " ").strip():
                raise row.fault(name, f"{known.id} is on the hook with {str(cells[name])[:40]!r}, "
                                      f"and the list says {text[:40]!r}; change it on the hook, or "
                                      "give a new order another name")  # fmt: skip


def _book(act: Act, order: Sequence[ListRow]) -> Change:
    first = order[0]
    lines = tuple(line_in(act, row) for row in order)
    currency = act.settings.currency
    new = NewBooking(
        name=first.needs("name"), collect_at=moment_in(first, "collect_at"), by=act.by or "",
        phone_end=first.get("phone_end"),
        heads=whole_in(first, "heads", 1, 100_000) if first.get("heads") else None,
        lines=lines, note=first.get("note"),
        deposit=_deposit(first, currency), ask={},
    )  # fmt: skip
    try:
        made = booking_id(book_in(act, new, Terms()))
    except CollopError as error:
        _blame(error, order, lines, act)
        raise AssertionError from error
    return Change(first.number, "new booking", new.name,
                  f"{len(lines)} lines, {new.collect_at:%a %-d %b %H:%M}, {made}")  # fmt: skip


def _deposit(row: ListRow, currency: str) -> Money | None:
    if not row.get("deposit"):
        return None
    try:
        return Money.of(decimal_in(row, "deposit"), currency)
    except CollopError as error:
        if error.where:
            raise
        raise row.fault("deposit", error.message) from None


def _blame(
    error: CollopError, order: Sequence[ListRow], lines: Sequence[NewLine], act: Act
) -> None:
    """Raise what booking refused, by the row and column it is about."""
    if error.where in _ORDER:
        raise order[0].fault(error.where, error.message) from None
    prices = board_at(act.conn, act.at, act.settings.currency)
    for row, line in zip(order, lines, strict=True):
        if line.case_id in error.message or error.where == line.case_id:
            column = "weight" if line.unit_price in {None, prices.get(line.case_id)} else "price"
            raise row.fault(column, error.message) from None
    raise order[0].fault("order", error.message) from None


BOOKINGS = ListKind(
    name="bookings", title="bookings on the hook, a row for each line",
    columns=("order", *_ORDER[:4], "cut", "cut_name", "weight", "unit", "pieces_lb", "price", "per",
             "money", "deposit", "currency", "note", "state", "kind"),
    told_only=frozenset({"money", "state", "kind", "currency"}), out=_out, into=_into,
    is_once=True,
)  # fmt: skip
