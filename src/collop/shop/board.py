"""The board: which price is in force, which are to come, and who changed it when and why."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from sqlalchemy import and_, func, insert, or_, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.chalk_model import BoardLine
from collop.shop.freezer_words import is_freezer_line
from collop.shop.model import BoardChange, Settings
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import board_prices, case_lines, lots

__all__ = [
    "board_at", "board_changes", "board_lines", "changes_of_act", "checked_price",
    "planned_changes", "price_from", "price_text", "prices_before", "set_price",
]  # fmt: skip

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


def prices_before(conn: Connection, moment: datetime, currency: str) -> dict[str, UnitPrice]:
    """Return the price each case line had at `moment`, or else the first it ever had."""
    price = board_prices.c
    rows = conn.execute(select(board_prices).order_by(price.from_at, price.seq))
    found: dict[str, AnyRow] = {}
    for row in rows:
        if row.case_id not in found or row.from_at <= moment:
            found[row.case_id] = row
    return {key: price_from(row.amount, row.per, currency) for key, row in found.items()}


def _change(row: AnyRow, currency: str) -> BoardChange:
    return BoardChange(
        row.case_id, price_from(row.amount, row.per, currency), row.from_at, row.entered_at,
        row.by_id, row.why,
    )  # fmt: skip


def board_changes(conn: Connection, case_id: str, currency: str) -> tuple[BoardChange, ...]:
    """Return every price of a case line as it was put up, oldest first."""
    price = board_prices.c
    rows = conn.execute(select(board_prices).where(price.case_id == case_id).order_by(price.seq))
    return tuple(_change(row, currency) for row in rows)


def changes_of_act(conn: Connection, key: str, currency: str) -> tuple[BoardChange, ...]:
    """Return the prices that were put up in one act, in the order they were given."""
    price = board_prices.c
    rows = conn.execute(select(board_prices).where(price.key == key).order_by(price.seq))
    return tuple(_change(row, currency) for row in rows)


def planned_changes(
    conn: Connection, chosen: Settings, moment: datetime
) -> tuple[BoardChange, ...]:
    """Return the prices still to come after `moment`, soonest first.

    A plan is withdrawn by a further one: the price in force, from the same time. Neither is then
    told here, as nothing will change; both stay in the line's history.
    """
    price = board_prices.c
    rows = conn.execute(
        select(board_prices)
        .where(price.from_at > moment, price.from_at > price.entered_at)
        .order_by(price.from_at, price.seq)
    ).all()
    last = {(row.case_id, row.from_at): row.seq for row in rows}
    prices = board_at(conn, moment, chosen.currency)
    found = []
    for row in rows:
        one = _change(row, chosen.currency)
        if last[row.case_id, row.from_at] == row.seq and one.price != prices.get(row.case_id):
            found.append(one)
            prices[row.case_id] = one.price
    return tuple(found)


def _free_lines(conn: Connection, moment: datetime) -> set[str]:
    """Return the lines with something free that is not past its use-by."""
    sums = stock_sums(conn)
    may_go = or_(lots.c.use_by.is_(None), lots.c.use_by >= moment.date())
    rows = conn.scalars(
        select(lots.c.case_id)
        .join(sums, sums.c.lot_id == lots.c.id)
        .where(sums.c.place == "case", sums.c.total > 0, may_go)
    )
    return {case_id for case_id in rows if case_id is not None}


def _in_force(conn: Connection, moment: datetime, *, as_of: bool) -> dict[str, AnyRow]:
    """Return the entry in force of each line; `as_of` reads it strictly as it was then."""
    price = board_prices.c
    counts = price.from_at <= moment
    if not as_of:
        counts = or_(counts, price.from_at <= price.entered_at)
    rows = conn.execute(select(board_prices).where(counts).order_by(price.from_at, price.seq))
    return {row.case_id: row for row in rows}


def board_lines(
    conn: Connection, moment: datetime, chosen: Settings, *, as_of: bool = False
) -> tuple[BoardLine, ...]:
    """Return the board as customers see it, in board order; packs of freezer orders are not on it.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    moment : datetime
        Prices are those in force then; what is out is out now.
    chosen : Settings
        Currency and rounding.
    as_of : bool
        Whether `moment` is another than now: a price put up later does not count then, while now
        one that was put up at once counts even if the clock was set back since.
    """
    rows = _in_force(conn, moment, as_of=as_of)
    free = _free_lines(conn, moment)
    lines = conn.execute(select(case_lines).order_by(case_lines.c.position, case_lines.c.id))
    one = {unit: Weight.of(1, unit) for unit in (WeightUnit.LB, WeightUnit.KG)}
    found = []
    for line in lines:
        row = rows.get(line.id)
        if row is None or is_freezer_line(line.name):
            continue
        price = price_from(row.amount, row.per, chosen.currency)
        found.append(BoardLine(
            case_id=line.id, name=line.name, species=line.species, form=line.form, price=price,
            per_lb=price.line(one[WeightUnit.LB], chosen.rounding),
            per_kg=price.line(one[WeightUnit.KG], chosen.rounding),
            since=row.from_at, is_out=line.id not in free,
        ))  # fmt: skip
    return tuple(found)


def checked_price(price: UnitPrice, currency: str) -> None:
    """Refuse a price the board cannot bear.

    Raises
    ------
    BadValue
        If it is in another currency, not above 0, over the highest, finer than six decimals, or
        not per lb or kg.
    """
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
    checked_price(price, act.settings.currency)
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
