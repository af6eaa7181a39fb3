"""Wished lines: checked, priced at the board, and split where a held price covers a part."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import select

from collop.errors import BadValue, NotFound
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.board import board_at, price_from, price_text
from collop.shop.ledger import Pick
from collop.shop.model import NewLine, QuoteLine
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines

__all__ = ["HeldPrice", "at_board", "checked_lines", "line_row", "parts_by_price", "priced_of"]

_MOST = Weight.of(100_000, WeightUnit.LB)
_MOST_LINES = 200


@dataclass(slots=True)
class HeldPrice:
    """A quote's price of one case line, and how much weight it still covers."""

    case_id: str
    price: UnitPrice
    left: int


def checked_lines(lines: Sequence[NewLine]) -> tuple[NewLine, ...]:
    """Return `lines` if each asks for some weight.

    Raises
    ------
    BadValue
        If there is no line, too many, or one without weight.
    """
    if not lines:
        raise BadValue("There is no line to book; add a cut.", where="lines")
    if len(lines) > _MOST_LINES:
        raise BadValue(f"There are {len(lines)} lines; {_MOST_LINES} is the most.", where="lines")
    for index, line in enumerate(lines):
        weights = (line.weight, *(line.pieces or ()))
        if not all(Weight.zero() < weight < _MOST for weight in weights):
            where = f"lines[{index}].weight"
            raise BadValue(f"{where} must be more than 0 and under 100,000 lb.", where=where)
    return tuple(replace(line, pieces=tuple(line.pieces or ()) or None) for line in lines)


def at_board(act: Act, lines: Iterable[NewLine]) -> tuple[QuoteLine, ...]:
    """Return `lines` at the board prices in force now, each rounded once.

    Raises
    ------
    NotFound
        If a line names no case line.
    """
    prices = board_at(act.conn, act.at, act.settings.currency)
    rows = act.conn.execute(select(case_lines.c.id, case_lines.c.name))
    names: dict[str, str] = {row.id: row.name for row in rows if row.id in prices}
    found = []
    for line in lines:
        if line.case_id not in names:
            raise NotFound(
                f"There is no case line {line.case_id[:40]!r}; look at the case again.",
                where=line.case_id,
            )
        price = prices[line.case_id]
        total = price.line(line.weight, act.settings.rounding)
        found.append(
            QuoteLine(
                line.case_id, names[line.case_id], line.weight, line.pieces, line.style, price,
                total,
            )
        )  # fmt: skip
    return tuple(found)


def parts_by_price(
    case_id: str, picks: Sequence[Pick], held: Iterable[HeldPrice], board: UnitPrice
) -> list[tuple[UnitPrice, list[Pick]]]:
    """Split what was picked: first what a held price covers, the rest at the board.

    A whole piece is covered whole or not at all.
    """
    rest = list(picks)
    parts = []
    for offer in held:
        if offer.case_id == case_id and rest:
            covered, rest = _covered(rest, offer.left)
            offer.left -= sum(pick.count for pick in covered)
            parts.append((offer.price, covered))
    parts.append((board, rest))
    return [(price, part) for price, part in parts if part]


def _covered(picks: list[Pick], count: int) -> tuple[list[Pick], list[Pick]]:
    inside, outside = [], []
    for pick in picks:
        fits = min(pick.count, count)
        if pick.piece_id is not None and fits < pick.count:
            fits = 0
        count -= fits
        if fits:
            inside.append(replace(pick, count=fits))
        if fits < pick.count:
            outside.append(replace(pick, count=pick.count - fits))
    return inside, outside


def line_row(line: QuoteLine, position: int) -> dict[str, Any]:
    """Return the columns that quotes and bookings keep of a priced line."""
    return {
        "position": position,
        "case_id": line.case_id,
        "weight": line.weight.count,
        "unit": line.weight.unit.value,
        "style": line.style,
        "piece_counts": None if line.pieces is None else [piece.count for piece in line.pieces],
        "price_amount": price_text(line.unit_price),
        "price_per": line.unit_price.per.value,
        "line_total": line.line_total.minor,
    }


def priced_of(row: AnyRow, name: str, currency: str) -> QuoteLine:
    """Read a stored line back."""
    unit = WeightUnit(row.unit)
    counts = row.piece_counts
    return QuoteLine(
        case_id=row.case_id,
        name=name,
        weight=Weight(row.weight, unit),
        pieces=None if counts is None else tuple(Weight(count, unit) for count in counts),
        style=row.style,
        unit_price=price_from(row.price_amount, row.price_per, currency),
        line_total=Money(row.line_total, currency),
    )
