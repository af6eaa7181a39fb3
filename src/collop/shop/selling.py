"""A sale at the glass: booked, gone, and paid in one act; and what it would come to before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select

from collop.errors import BadValue, CollopError, NotFound, WrongState
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.board import board_at, prices_before
from collop.shop.booking import enter, note_event
from collop.shop.ledger import Pick, find_more, move
from collop.shop.lines import line_row
from collop.shop.model import NewBooking, QuoteLine, Settings, State
from collop.shop.money_words import checked_words
from collop.shop.payments import write_payment
from collop.shop.pickup_words import half_cent
from collop.shop.selling_model import (
    COUNTER,
    Estimate,
    EstimatedLine,
    Gap,
    NewPayment,
    NewSale,
    gap_of,
)
from collop.shop.selling_stock import FreeStock, Wish
from collop.shop.selling_tickets import ticket_to_sell
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, case_lines
from collop.shop.till import keep_slip, totals_of
from collop.shop.till_model import SlipTotals

__all__ = ["estimate_of", "sell_in"]

_MOST = Weight.of(100_000, WeightUnit.LB)
_MOST_LINES = 60
_LONGEST_NAME, _LONGEST_TARE = 120, 80


@dataclass(frozen=True, slots=True)
class _Board:
    """The lines of the case and their prices, read once for a sale."""

    rows: Mapping[str, AnyRow]
    prices: Mapping[str, UnitPrice]


def _board(act: Act, priced_at: datetime | None = None) -> _Board:
    rows = act.conn.execute(select(case_lines.c.id, case_lines.c.name, case_lines.c.by_piece))
    currency = act.settings.currency
    prices = (board_at(act.conn, act.at, currency) if priced_at is None
              else prices_before(act.conn, priced_at, currency))  # fmt: skip
    return _Board({row.id: row for row in rows}, prices)


def _wish(act: Act, sale: NewSale, board: _Board, where: str) -> Wish:
    ticket = ticket_to_sell(act, sale, where) if sale.ticket else None
    case_id = ticket.case_id if ticket else sale.case_id
    row, price = board.rows.get(case_id), board.prices.get(case_id)
    if row is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                       where=where)  # fmt: skip
    price = ticket.price if ticket else price
    if price is None:
        raise WrongState(f"{row.name} has no price on the board; put one up first.", where=where)
    net = ticket.net if ticket else sale.net
    pieces = tuple(sale.pieces or ()) or None
    if net is None or not all(Weight.zero() < one < _MOST for one in (net, *(pieces or ()))):
        raise BadValue(
            f"{row.name}: the net weight is more than 0 and under 100,000 lb; weigh it again.",
            where=where,
        )
    return Wish(
        case_id=case_id, name=row.name, by_piece=row.by_piece, net=net, price=price,
        pieces=pieces, lot=ticket.lot if ticket else None, ticket=ticket.id if ticket else None,
        where=where,
    )  # fmt: skip


def _gap(wish: Wish, sale: NewSale, chosen: Settings) -> Gap | None:
    if sale.asked is None:
        return None
    if not Weight.zero() < sale.asked < _MOST:
        raise BadValue(f"{wish.name}: what was asked is more than 0; leave it out if nobody said.",
                       where=wish.where)  # fmt: skip
    return gap_of(sale.asked, wish.net, wish.price, chosen.rounding, limit=chosen.over_share)


def _not_agreed(wish: Wish, sale: NewSale, gap: Gap | None) -> str:
    """Return the question before a weight too far from what was asked is sold; else empty."""
    if gap is None or not gap.beyond or sale.agreed:
        return ""
    return (
        f"{wish.name}: {gap.words}, {gap.money} instead of {gap.asked_money}; ask whether it is"
        " taken, or weigh again."
    )


def _checked(sales: Sequence[NewSale]) -> Sequence[NewSale]:
    if not sales:
        raise BadValue("There is nothing to sell; weigh a cut first.", where="lines")
    if len(sales) > _MOST_LINES:
        raise BadValue(f"There are {len(sales)} lines; {_MOST_LINES} is the most.", where="lines")
    for sale in sales:
        checked_words(sale.tare or "", "packing", _LONGEST_TARE)
    named = [sale.ticket.strip().upper() for sale in sales if sale.ticket]
    twice = next((one for one in named if named.count(one) > 1), None)
    if twice is not None:
        raise BadValue(f"{twice} is on the sale twice; take one of them off.", where="lines")
    return sales


def estimate_of(act: Act, sales: Sequence[NewSale]) -> Estimate:
    """Return what lines would come to now, each with the reason why it would be refused.

    Parameters
    ----------
    act : Act
        Its connection, time and settings; nothing is written, and its key is not used.
    sales : sequence of NewSale
        May be empty.

    Raises
    ------
    BadValue, NotFound, WrongState
        If a line cannot be read at all: no such line or ticket, no weight, too many lines.
    """
    board, stock, lines = _board(act), FreeStock(act), []
    for index, sale in enumerate(_checked(sales) if sales else ()):
        wish = _wish(act, sale, board, f"lines[{index}]")
        gap = _gap(wish, sale, act.settings)
        trouble, lot = _not_agreed(wish, sale, gap), None
        try:
            lot = next((one.lot_id for one in stock.take(wish)), None)
        except CollopError as error:
            trouble = error.message
        lines.append(EstimatedLine(
            case_id=wish.case_id, name=wish.name, net=wish.net, price=wish.price,
            money=wish.price.line(wish.net, act.settings.rounding),
            half_cent=half_cent(wish.price, wish.net, act.settings.rounding),
            ticket=wish.ticket, lot=lot, gap=gap, trouble=trouble,
        ))  # fmt: skip
    money = [(one.case_id, one.money) for one in lines]
    none = Money(0, act.settings.currency)
    totals = totals_of(act.conn, act.settings, money, deposit=none, on=act.at.date())
    return Estimate(tuple(lines), totals)


def sell_in(
    act: Act, sales: Sequence[NewSale], paid: NewPayment | None, *, name: str = COUNTER,
    total: Money | None = None, priced_at: datetime | None = None,
) -> int:  # fmt: skip
    """Sell lines within an act and return the number of the sale.

    Parameters
    ----------
    act : Act
        The write in progress.
    sales : sequence of NewSale
        1 to 60 lines.
    paid : NewPayment or None
        How it is paid; None leaves it unpaid.
    name : str
        Whose it is; "account" needs one.
    total : Money or None
        What the customer was told, with tax.
    priced_at : datetime or None
        When it was sold, if it is written later: its prices are those of that moment.

    Raises
    ------
    NotEnoughFree
        If a line is more than is free.
    WrongState
        If a line is past its use-by, its ticket may not be sold, or it comes to another total.
    BadValue, NotFound
        If a line or the payment cannot be read, or a weight beyond the limit is not agreed to.
    """
    plain = checked_words(name, "name", _LONGEST_NAME) or COUNTER
    if paid is not None and paid.way == "account" and plain == COUNTER:
        raise BadValue("On account needs a name; write whose it is.", where="name")
    # read before anything is written, or a ticket on this sale would count as sold
    wishes = _agreed(act, _checked(sales), _board(act, priced_at))
    new = NewBooking(name=plain, collect_at=act.at, by=act.by or "", kind="counter",
                     ask={"counter": [_kept(sale) for sale in sales]})  # fmt: skip
    number, stock = enter(act, new, None, None), FreeStock(act)
    rows = [
        _sell_line(act, number, place, wish, stock.take(wish))
        for place, wish in enumerate(wishes, start=1)
    ]
    money = [
        (wish.case_id, Money(row["line_total"], act.settings.currency))
        for wish, row in zip(wishes, rows, strict=True)
    ]
    none = Money(0, act.settings.currency)
    charged = totals_of(act.conn, act.settings, money, deposit=none, on=act.at.date())
    if total is not None and total != charged.total:
        raise WrongState(f"It comes to {charged.total} now, not {total}: a price or a tax rate"
                         " changed meanwhile; tell the customer.", where="total")  # fmt: skip
    keep_slip(act, number, rows, charged, deposit=none)
    note_event(act, number, "hand over", State.GONE)
    if paid is not None:
        _pay(act, number, charged, paid)
    return number


def _agreed(act: Act, sales: Sequence[NewSale], board: _Board) -> list[Wish]:
    """Return the lines to sell, if the customer agreed to each weight."""
    wishes = []
    for index, sale in enumerate(sales):
        wish = _wish(act, sale, board, f"lines[{index}]")
        question = _not_agreed(wish, sale, _gap(wish, sale, act.settings))
        if question:
            raise BadValue(question, where=f"{wish.where}.agreed")
        wishes.append(wish)
    return wishes


def _kept(sale: NewSale) -> dict[str, Any]:
    """Return what is kept of a line beside its weight and money."""
    kept = {"ticket": sale.ticket.strip().upper() if sale.ticket else None, "tare": sale.tare,
            "asked": sale.asked.text() if sale.asked else None}  # fmt: skip
    return {name: value for name, value in kept.items() if value is not None}


def _sell_line(
    act: Act, number: int, position: int, wish: Wish, picks: list[Pick]
) -> dict[str, Any]:
    """Write one line and let its weight go; return its row of the slip."""
    unit = wish.net.unit
    marked = Weight(sum(one.count for one in picks), unit)
    total = wish.price.line(wish.net, act.settings.rounding)
    line = QuoteLine(
        case_id=wish.case_id, name=wish.name, weight=marked,
        pieces=tuple(Weight(one.count, unit) for one in picks) if wish.by_piece else None,
        style=None, unit_price=wish.price,
        line_total=wish.price.line(marked, act.settings.rounding),
    )  # fmt: skip
    row = line_row(line, position) | {"booking_number": number}
    key = act.conn.execute(insert(booking_lines).values(row)).inserted_primary_key
    assert key is not None
    line_id = int(key[0])
    move(act, picks, ("case", "booked"), "sold at the glass", line_id)
    move(act, picks, ("booked", "sold"), "sold at the glass", line_id)
    _settle(act, picks, marked.count - wish.net.count, line_id)
    return {"booking_line_id": line_id, "weighed": wish.net.count, "unit": unit.value,
            "line_total": total.minor}  # fmt: skip


def _settle(act: Act, picks: list[Pick], less: int, line_id: int) -> None:
    """Bring pieces to what the scale says: less than their tickets is drip, more is found."""
    first = picks[0]
    if less < 0:
        find_more(act, Pick(first.lot_id, -less, first.unit), "sold", line_id)
        return
    lost = []
    for one in picks:
        part = min(one.count, less)
        less -= part
        lost.append(Pick(one.lot_id, part, one.unit))
    move(act, lost, ("sold", "drip"), "scale against ticket", line_id)


def _pay(act: Act, number: int, charged: SlipTotals, paid: NewPayment) -> None:
    amount = charged.cash.to_pay if paid.way == "cash" else charged.due
    if amount.minor:
        write_payment(act, number, "payment", paid.way, amount, given=paid.given)
