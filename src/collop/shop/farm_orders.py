"""Animals ordered by telephone: written down, taken back, and met by what comes to the door."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.shop.acts import Act
from collop.shop.farm_animals import Bought, bought_before
from collop.shop.quotes import number_in
from collop.shop.season_model import FarmOrder, NewFarmOrder
from collop.shop.store import AnyRow
from collop.shop.week_tables import farm_orders

__all__ = ["MET_WITHIN_DAYS", "load_farm_orders", "take_back_order", "write_order"]

#: A delivery counts for an order of a day so near: a figure of ours (common practice, no published
#: source).
MET_WITHIN_DAYS = 6
_MOST, _FURTHEST = 200, timedelta(days=366)
_LONGEST_WORDS = 400


def _text(value: str, label: str, where: str, most: int) -> str:
    plain = " ".join(value.split())
    if not plain or len(plain) > most or not plain.isprintable():
        raise BadValue(f"{label}: write 1 to {most} letters.", where=where)
    return plain


def write_order(act: Act, new: NewFarmOrder) -> str:
    """Write one order within an act and return its id.

    Raises
    ------
    BadValue
        If a field is out of its range, or the day is over.
    """
    if isinstance(new.animals, bool) or not 1 <= new.animals <= _MOST:
        raise BadValue(f"Animals: order from 1 to {_MOST}.", where="animals")
    today = act.at.date()
    if not today <= new.for_day <= today + _FURTHEST:
        raise BadValue("Comes on: choose a day from today to a year ahead.", where="for_day")
    found = act.conn.execute(
        insert(farm_orders).values(
            farm=_text(new.farm, "Farm", "farm", 120),
            species=_text(new.species, "Animal", "species", 40).casefold(),
            what=_text(new.what, "What", "what", 120), animals=new.animals, for_day=new.for_day,
            words=" ".join(new.words.split())[:_LONGEST_WORDS], at=act.at, by_id=act.by,
            key=act.key,
        )
    )  # fmt: skip
    key = found.inserted_primary_key
    assert key is not None
    return f"O{key[0]}"


def take_back_order(act: Act, name: str) -> str:
    """Take an order back by a further row, and return its id.

    Raises
    ------
    NotFound
        If there is no such order.
    WrongState
        If it was taken back, or all of it came.
    """
    order = next((one for one in load_farm_orders(act.conn) if one.id == name.upper()), None)
    if order is None:
        raise NotFound(f"There is no order {name[:40]!r}; look at the Farm Call.", where="order")
    if not order.left:
        state = order.state(act.at.date())
        raise WrongState(f"{order.id} is {state}; there is nothing to take back.")
    act.conn.execute(
        insert(farm_orders).values(
            farm=order.farm, species=order.species, what=order.what, animals=order.animals,
            for_day=order.for_day, words="taken back",
            takes_back=number_in("O", order.id, "order"), at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    return order.id


@dataclass(slots=True)
class _Open:
    """An order while deliveries are laid against it."""

    row: AnyRow
    is_off: bool
    came: int = field(default=0)

    def fits(self, one: Bought) -> bool:
        """Tell whether a delivery may count for it."""
        row = self.row
        near = abs((row.for_day - one.at.date()).days) <= MET_WITHIN_DAYS
        same = row.farm.casefold() == " ".join(one.farm.split()).casefold()
        return (
            not self.is_off and self.came < row.animals and near and same
            and row.species == one.species.casefold() and row.at <= one.at
        )  # fmt: skip


def _lay(orders: Sequence[_Open], came: Sequence[Bought]) -> None:
    """Count each delivery for one order: of its own name first, then of the nearest day."""
    for one in came:
        day: date = one.at.date()
        fits = [order for order in orders if order.fits(one)]
        if fits:
            best = min(fits, key=lambda order: (
                order.row.what.casefold() != one.name.casefold(),
                abs((order.row.for_day - day).days), order.row.number,
            ))  # fmt: skip
            best.came += 1


def load_farm_orders(conn: Connection) -> tuple[FarmOrder, ...]:
    """Return every order, soonest day first, with how many of its animals came."""
    rows = conn.execute(select(farm_orders).order_by(farm_orders.c.number)).all()
    off = {row.takes_back for row in rows if row.takes_back is not None}
    orders = [_Open(row, row.number in off) for row in rows if row.takes_back is None]
    if orders:
        _lay(orders, bought_before(conn))
    found = [
        FarmOrder(
            id=f"O{one.row.number}", farm=one.row.farm, species=one.row.species,
            what=one.row.what, animals=one.row.animals, for_day=one.row.for_day,
            words=one.row.words, came=one.came, is_taken_back=one.is_off, at=one.row.at,
            by=one.row.by_id,
        )
        for one in orders
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.for_day, one.at)))
