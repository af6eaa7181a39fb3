"""The board: which price is in force, and who changed it when and why."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from sqlalchemy import and_, func, insert, or_, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import UnitPrice, WeightUnit
from collop.shop.acts import Act, Room, once
from collop.shop.model import BoardChange
from collop.shop.tables import board_prices, case_lines

__all__ = ["board_at", "board_changes", "price_from", "price_text", "put_on_board", "set_price"]

_HIGHEST = Decimal(100_000)
_PLACES = 6


def price_text(price: UnitPrice) -> str:
    """Return the amount with at least two decimals, none lost."""
    exponent = price.amount.normalize().as_tuple().exponent
    assert isinstance(exponent, int)
    return f"{price.amount.quantize(Decimal(1).scaleb(min(exponent, -2))):f}"


def price_from(amount: str, per: str, currency: str) -> UnitPrice:
    """Read a price as it is stored."""
    return UnitPrice.of(amount, WeightUnit(per), currency)


def board_at(conn: Connection, moment: datetime, currency: str) -> dict[str, UnitPrice]:
    """Return the price in force at `moment` for every case line that has one.

    A price that was put up at once stays in force even if the clock is set back later: only one
    entered ahead of its time waits for it.
    """
    price = board_prices.c
    rows = conn.execute(
        select(price.case_id, price.amount, price.per)
        .where(or_(price.from_at <= moment, price.from_at <= price.entered_at))
        .order_by(price.from_at, price.seq)
    )
    return {row.case_id: price_from(row.amount, row.per, currency) for row in rows}


def board_changes(conn: Connection, case_id: str, currency: str) -> tuple[BoardChange, ...]:
    """Return every price of a case line as it was put up, oldest first."""
    price = board_prices.c
    rows = conn.execute(select(board_prices).where(price.case_id == case_id).order_by(price.seq))
    return tuple(
        BoardChange(
            row.case_id, price_from(row.amount, row.per, currency), row.from_at, row.entered_at,
            row.by_id, row.why,
        )
        for row in rows
    )  # fmt: skip


def _checked(price: UnitPrice, currency: str) -> None:
    if price.currency != currency:
        raise BadValue(f"The shop sells in {currency}, not {price.currency}.", where="price")
    exponent = price.amount.normalize().as_tuple().exponent
    if not isinstance(exponent, int) or exponent < -_PLACES or not 0 < price.amount <= _HIGHEST:
        raise BadValue(
            f"{price.amount} is no board price; use more than 0, at most {_HIGHEST},"
            f" with up to {_PLACES} decimals.",
            where="price",
        )
    if price.per not in {WeightUnit.LB, WeightUnit.KG}:
        raise BadValue("A board price is per lb or per kg.", where="price")


def _latest_at_once(conn: Connection, case_id: str) -> datetime | None:
    row = board_prices.c
    at_once = and_(row.case_id == case_id, row.from_at <= row.entered_at)
    latest: datetime | None = conn.scalar(select(func.max(row.from_at)).where(at_once))
    return latest


def set_price(act: Act, case_id: str, price: UnitPrice, *, why: str, from_at: datetime) -> int:
    """Write one board price within an act and return its number."""
    _checked(price, act.settings.currency)
    known = act.conn.execute(select(case_lines.c.id).where(case_lines.c.id == case_id)).first()
    if known is None:
        raise NotFound(f"There is no case line {case_id!r}; look at the case again.", where=case_id)
    entered_at = act.at
    if from_at <= act.at:
        # where the clock was set back, an older price must not hide this one
        from_at = entered_at = max(from_at, _latest_at_once(act.conn, case_id) or from_at)
    result = act.conn.execute(
        insert(board_prices).values(
            case_id=case_id, amount=price_text(price), per=price.per.value, from_at=from_at,
            entered_at=entered_at, why=why, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    number = result.inserted_primary_key
    assert number is not None
    return int(number[0])


def put_on_board(
    room: Room,
    case_id: str,
    price: UnitPrice,
    *,
    by: str,
    why: str,
    key: str,
    from_at: datetime | None = None,
) -> UnitPrice:
    """Put a price on the board, at once or from a time ahead; quotes held keep theirs.

    Raises
    ------
    BadValue
        If the price is out of range, or no reason is given.
    NotFound
        If there is no such case line or person.
    """
    if not why.strip():
        raise BadValue("Say why the price changes; a word or two will do.", where="why")

    def work(act: Act) -> str:
        if from_at is not None and from_at < act.at:
            raise BadValue("A price cannot be put up in the past; choose a later time.")
        start = from_at or act.at
        return str(set_price(act, case_id, price, why=why[:200], from_at=start))

    request = [case_id, price, why, from_at]
    number = once(room, "board price", request, by=by, key=key, work=work)
    with room.store.read() as conn:
        row = conn.execute(select(board_prices).where(board_prices.c.seq == int(number))).one()
    return price_from(row.amount, row.per, price.currency)
