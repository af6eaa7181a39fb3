"""Putting prices on the board: all of them or none, and never far off without a word why.

A price under the mean cost of what is on hand, or one that jumps from the price in force, is most
often a slip of the finger. It is not refused: it needs a reason, and the reason is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import UnitPrice, Weight, decimal_of, minor_places
from collop.shop.acts import Act, Room, once
from collop.shop.board import board_at, changes_of_act, checked_price, set_price
from collop.shop.chalk_model import NewPrice, PriceGuard
from collop.shop.costing import CaseCost, known_costs
from collop.shop.model import BoardChange, Settings
from collop.shop.settings import load_settings
from collop.shop.tables import case_lines

__all__ = ["JUMP", "UNDER_COST", "guards", "put_all_on_board", "put_on_board"]

UNDER_COST = "under cost"
JUMP = "jump"
_FEWEST_LETTERS = 3
_LONGEST_WHY = 200
_MOST = 1_000


def _per_count(price: UnitPrice) -> Fraction:
    return price.minor / Weight.of(1, price.per).count


def _money(price: UnitPrice) -> str:
    """Return a price with the currency's decimals, or all it has where it has more."""
    own = -int(price.amount.normalize().as_tuple().exponent)
    places = max(minor_places(price.currency), own)
    return f"{price.amount:.{places}f} a {price.per}"


def _under_cost(new: NewPrice, name: str, cost: CaseCost) -> PriceGuard | None:
    if _per_count(new.price) >= cost.exact:
        return None
    limit = _in_unit(cost.exact, new.price, 4)
    shown = _in_unit(cost.exact, new.price, minor_places(new.price.currency))
    # two figures that look the same would say nothing
    told = shown if shown.amount > new.price.amount else limit
    part = "" if cost.known == 1 else f", as far as {decimal_of(cost.known * 100, 0)} % of it tell"
    return PriceGuard(
        new.case_id, name, UNDER_COST, new.price, limit,
        f"{name} at {_money(new.price)} is under what it cost, {_money(told)}{part}.",
    )  # fmt: skip


def _in_unit(per_count: Fraction, like: UnitPrice, places: int) -> UnitPrice:
    amount = per_count * Weight.of(1, like.per).count / 10 ** minor_places(like.currency)
    return UnitPrice(decimal_of(amount, places), like.per, like.currency)


def _jump(new: NewPrice, name: str, now: UnitPrice, most: Decimal) -> PriceGuard | None:
    change = _per_count(new.price) / _per_count(now) - 1
    if abs(change) <= Fraction(most):
        return None
    is_up = change > 0
    step = Fraction(most) if is_up else -min(Fraction(most), Fraction(1))
    limit = _in_unit(_per_count(now) * (1 + step), new.price, 4)
    share = decimal_of(abs(change) * 100, 1)
    usual = decimal_of(Fraction(most) * 100, 1).normalize()
    return PriceGuard(
        new.case_id, name, JUMP, new.price, limit,
        f"{name} goes from {_money(now)} to {_money(new.price)}, {'up' if is_up else 'down'}"
        f" {share} %; over {usual:f} % at once needs a reason.",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Board:
    """What new prices are held against."""

    names: dict[str, str]
    prices: dict[str, UnitPrice]
    costs: dict[str, CaseCost]
    most: Decimal

    def guards(self, new: NewPrice) -> list[PriceGuard]:
        name = self.names.get(new.case_id)
        if name is None:
            raise NotFound(
                f"There is no case line {new.case_id[:40]!r}; look at the case again.",
                where=new.case_id,
            )
        cost, now = self.costs.get(new.case_id), self.prices.get(new.case_id)
        found = [
            None if cost is None else _under_cost(new, name, cost),
            None if now is None else _jump(new, name, now, self.most),
        ]
        return [one for one in found if one is not None]


def guards(
    conn: Connection, new: Sequence[NewPrice], chosen: Settings, moment: datetime
) -> tuple[PriceGuard, ...]:
    """Return why these prices need a reason; empty if none does.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    new : sequence of NewPrice
        The prices that are wanted.
    chosen : Settings
        `price_jump` is the share of the price in force a change may go without a reason.
    moment : datetime
        When they come in force; a jump is measured from the price in force then. The first price
        of a line is no jump. The cost is that of what is on hand now.

    Raises
    ------
    NotFound
        If there is no such case line.
    BadValue
        If a price is none the board can bear.
    """
    for one in new:
        checked_price(one.price, chosen.currency)
    rows = conn.execute(select(case_lines.c.id, case_lines.c.name))
    board = _Board(
        names={row.id: row.name for row in rows},
        prices=board_at(conn, moment, chosen.currency),
        costs=dict(known_costs(conn, chosen)), most=chosen.price_jump,
    )  # fmt: skip
    return tuple(found for one in new for found in board.guards(one))


def _has_reason(why: str) -> bool:
    return sum(letter.isalpha() for letter in why) >= _FEWEST_LETTERS


def _checked_list(new: Sequence[NewPrice]) -> None:
    if not 0 < len(new) <= _MOST:
        raise BadValue(f"Give at least one new price, and no more than {_MOST}.", where="new")
    ids = [one.case_id for one in new]
    twice = next((one for one in ids if ids.count(one) > 1), None)
    if twice is not None:
        raise BadValue(f"{twice} has two new prices; keep one of them.", where=twice)


def _start(act: Act, from_at: datetime | None) -> datetime:
    if from_at is None:
        return act.at
    if from_at.tzinfo is not None:
        raise BadValue("Give the time as the shop's clock shows it, without a zone.",
                       where="from_at")  # fmt: skip
    if from_at < act.at:
        raise BadValue("A price cannot be put up in the past; choose a later time.",
                       where="from_at")  # fmt: skip
    return from_at


def _guarded(act: Act, new: Sequence[NewPrice], why: str, from_at: datetime | None) -> str:
    start = _start(act, from_at)
    found = guards(act.conn, new, act.settings, start)
    if found and not _has_reason(why):
        said = " ".join(one.say for one in found)
        raise BadValue(f"{said} Correct it, or say why in a few words.", where="why")
    numbers = [
        set_price(act, one.case_id, one.price, why=why.strip()[:_LONGEST_WHY], from_at=start)
        for one in new
    ]
    return str(len(numbers))


def put_all_on_board(
    room: Room, new: Sequence[NewPrice], *, by: str, why: str, key: str,
    from_at: datetime | None = None,
) -> tuple[BoardChange, ...]:  # fmt: skip
    """Put prices on the board, all or none, at once or from a time ahead; quotes keep theirs.

    Parameters
    ----------
    room : Room
        Database and clock.
    new : sequence of NewPrice
        One price for each case line that changes.
    by, key : str
        Person and idempotency key.
    why : str
        Kept with each price. It may be empty unless a guard asks for it.
    from_at : datetime, optional
        Shop-local, without a zone; left out, at once.

    Returns
    -------
    tuple of BoardChange
        What was put up.

    Raises
    ------
    BadValue
        If a price is out of range, a line is named twice, the time is past, or `guards` asks for a
        reason and `why` has under three letters: each sentence is then told.
    NotFound
        If there is no such case line or person.
    """
    _checked_list(new)
    once(room, "board prices", [list(new), why, from_at], by=by, key=key,
         work=lambda act: _guarded(act, new, why, from_at))  # fmt: skip
    with room.store.read() as conn:
        return changes_of_act(conn, key, load_settings(conn).currency)


def put_on_board(
    room: Room, case_id: str, price: UnitPrice, *, by: str, why: str, key: str,
    from_at: datetime | None = None,
) -> UnitPrice:  # fmt: skip
    """Put one price on the board, at once or from a time ahead; quotes held keep theirs.

    Raises
    ------
    BadValue
        If the price is out of range, no reason is given, or too short a one for a price under cost
        or a jump.
    NotFound
        If there is no such case line or person.
    """
    if not why.strip():
        raise BadValue("Say why the price changes; a word or two will do.", where="why")
    once(room, "board price", [case_id, price, why, from_at], by=by, key=key,
         work=lambda act: _guarded(act, [NewPrice(case_id, price)], why, from_at))  # fmt: skip
    with room.store.read() as conn:
        (made,) = changes_of_act(conn, key, price.currency)
    return made.price
