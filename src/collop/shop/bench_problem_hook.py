"""What is promised, as the cutting plan reads it: reserved lines, and what is wanted beyond."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy.engine import Connection

from collop.shop.bench_figures import BOOKING_WAITS_DAYS
from collop.shop.bench_look import Look, amount, plain
from collop.shop.bench_model import Want
from collop.shop.bench_wants import load_wants
from collop.shop.hook import bookings_between
from collop.shop.model import Booking, BookingLine
from collop.shop.sales import per_unit

__all__ = ["HookParts", "hook_parts"]

_BACK = timedelta(days=BOOKING_WAITS_DAYS)
_MOST_LINES = 50


@dataclass(frozen=True, slots=True)
class HookParts:
    """``bookings`` of the problem, and sentences."""

    bookings: list[dict[str, Any]]
    notes: tuple[str, ...]


def _reserved(look: Look, booking: Booking) -> list[dict[str, Any]]:
    return [
        {"cut": case_id, "weight": text, "price": _price(look, line, case_id)}
        for line in booking.standing
        for case_id, weight in line.held_as
        if case_id in look.lines
        and Decimal(text := look.text(weight.count))
        and per_unit(line.unit_price, look.chosen) > 0
    ]


def _price(look: Look, line: BookingLine, case_id: str) -> str | None:
    """Return the price of a reserved line; what work made of it has its price with that line."""
    if case_id != line.case_id:
        return None
    return amount(Fraction(per_unit(line.unit_price, look.chosen)), 6)


def _wanted(look: Look, wants: Iterable[Want]) -> list[dict[str, Any]]:
    return [
        {"cut": one.case_id, "weight": text, "price": None}
        for one in wants
        if one.case_id in look.lines and Decimal(text := look.text(one.left.count))
    ]


def _joined(reserved: list[dict[str, Any]], wanted: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what is reserved, with what is wanted beyond it in the same line."""
    lines = [dict(line) for line in reserved]
    by_cut = {line["cut"]: line for line in lines}
    for more in wanted:
        line = by_cut.get(more["cut"])
        if line is None:
            lines.append(more)
        else:
            line["weight"] = plain_sum(line["weight"], more["weight"])
    return lines


def plain_sum(one: str, other: str) -> str:
    """Return the sum of two decimal texts.

    Examples
    --------
    >>> plain_sum("3.8", "2.2")
    '6.0'
    """
    return f"{Decimal(one) + Decimal(other):f}"


def _row(look: Look, booking: Booking, wants: Sequence[Want]) -> dict[str, Any] | None:
    lines = _joined(_reserved(look, booking), _wanted(look, wants))[:_MOST_LINES]
    if not lines:
        return None
    due = max(0, look.day_of(booking.collect_at.date()))
    return {"id": booking.id, "name": plain(booking.name), "due": due, "lines": lines}


def hook_parts(conn: Connection, look: Look) -> HookParts:
    """Return the bookings collected within the plan; one not collected in time is due at once.

    Only lines that a style or the grinder gives are in it: what is bought in, frozen or meat-free
    is reserved already and nothing the plan does changes that.
    """
    wants = load_wants(conn, look.chosen)
    rows = []
    for booking in bookings_between(conn, look.first - _BACK, look.last, look.chosen):
        if booking.state.holds:
            mine = [one for one in wants if one.booking_id == booking.id]
            rows.append(_row(look, booking, mine))
    notes = tuple(
        f"{one.booking_id} wants {one.left.text()} of {one.case_name}, which no style gives: not in"
        " the plan."
        for one in wants
        if one.case_id not in look.lines and one.collect_at.date() <= look.last
    )
    return HookParts([row for row in rows if row is not None], notes)
