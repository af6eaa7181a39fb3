"""What everything on hand cost: each lot at each place, and each case line.

How cost flows is told in `collop.shop.cost_flow`; here it is read and put in money.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import (
    Money,
    UnitPrice,
    Weight,
    WeightUnit,
    decimal_of,
    minor_places,
    round_fraction,
)
from collop.shop.chalk_model import LotCost
from collop.shop.cost_flow import Account, Cost, flow
from collop.shop.cost_reading import read_history
from collop.shop.model import Settings
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import lots

__all__ = ["CaseCost", "case_costs", "known_costs", "lot_accounts", "lot_costs"]

_PLACES = 4


@dataclass(frozen=True, slots=True)
class CaseCost:
    """What the stock of one case line cost, booked and free together.

    `per_unit` is the mean per legal unit of what is known, to four places; `exact` is the same in
    minor units per count. `known` is the share of the weight on hand whose cost is known, 0 to 1.
    """

    case_id: str
    per_unit: UnitPrice
    exact: Fraction
    known: Fraction


def _on_hand(conn: Connection) -> list[AnyRow]:
    sums = stock_sums(conn)
    total = func.sum(sums.c.total).label("total")
    rows = conn.execute(
        select(lots.c.id, lots.c.what, lots.c.case_id, lots.c.unit, sums.c.place, total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .group_by(lots.c.id, lots.c.what, lots.c.case_id, lots.c.unit, sums.c.place)
        .having(total > 0)
        .order_by(lots.c.id, sums.c.place)
    )
    return list(rows)


def lot_accounts(
    conn: Connection, chosen: Settings, wanted: list[str] | None = None
) -> dict[str, Account]:
    """Return the exact cost of lots, and of all they were cut from, by place.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    chosen : Settings
        Currency, unit, worths and labour.
    wanted : list of str, optional
        Lots; left out, those on hand.

    Returns
    -------
    dict of str to Account
        Costs in minor units, as fractions.
    """
    names = [row.id for row in _on_hand(conn)] if wanted is None else wanted
    return flow(read_history(conn, chosen, names))


@dataclass(frozen=True, slots=True)
class _Teller:
    """Turns exact costs into money of the shop."""

    chosen: Settings

    def money(self, minor: Fraction) -> Money:
        return Money(round_fraction(minor, self.chosen.rounding), self.chosen.currency)

    def per_unit(self, per_count: Fraction) -> UnitPrice:
        legal, currency = self.chosen.legal_unit, self.chosen.currency
        amount = per_count * Weight.of(1, legal).count / 10 ** minor_places(currency)
        return UnitPrice(decimal_of(amount, _PLACES, self.chosen.rounding), legal, currency)

    def lot(self, row: AnyRow, account: Account) -> LotCost:
        """Return what a lot's weight at one place cost; the invoice takes the last cent."""
        count = int(row.total)
        cost = account.by_place.get(row.place, Cost())
        known = not account.unknown
        whole, haulage, labour, credit = (
            self.money(one) for one in (cost.total, cost.haulage, cost.labour, cost.credit)
        )
        return LotCost(
            lot_id=row.id, what=row.what, place=row.place, case_id=row.case_id,
            weight=Weight(count, WeightUnit(row.unit)),
            cost=whole if known else None,
            per_unit=self.per_unit(cost.total / count) if known else None,
            invoice=whole - haulage - labour - credit if known else None,
            haulage=haulage if known else None, labour=labour if known else None,
            credit=credit if known else None, shrink=self.money(cost.shrink) if known else None,
            unknown=account.unknown, notes=account.notes,
        )  # fmt: skip


def lot_costs(conn: Connection, chosen: Settings) -> tuple[LotCost, ...]:
    """Return everything on hand with its cost, by lot and place.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    chosen : Settings
        The rates of now: what hung through a change of rates is costed by the new ones.
    """
    rows = _on_hand(conn)
    accounts = lot_accounts(conn, chosen, [row.id for row in rows])
    teller = _Teller(chosen)
    return tuple(teller.lot(row, accounts[row.id]) for row in rows)


@dataclass(slots=True)
class _Sum:
    """The known and the whole weight of a case line, and the cost of the known."""

    known: int = 0
    whole: int = 0
    cost: Fraction = Fraction(0)

    def add(self, count: int, account: Account, place: str) -> None:
        self.whole += count
        if not account.unknown:
            self.known += count
            self.cost += account.by_place.get(place, Cost()).total


def known_costs(conn: Connection, chosen: Settings) -> Mapping[str, CaseCost]:
    """Return what the stock of each case line cost; lines of which nothing is known are left out.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    chosen : Settings
        Currency, unit and rates.
    """
    rows = [row for row in _on_hand(conn) if row.case_id and row.place in {"case", "booked"}]
    accounts = lot_accounts(conn, chosen, [row.id for row in rows])
    sums: dict[str, _Sum] = defaultdict(_Sum)
    for row in rows:
        sums[row.case_id].add(int(row.total), accounts[row.id], row.place)
    teller = _Teller(chosen)
    return {
        case_id: CaseCost(
            case_id, teller.per_unit(one.cost / one.known), one.cost / one.known,
            Fraction(one.known, one.whole),
        )
        for case_id, one in sums.items()
        if one.known
    }  # fmt: skip


def case_costs(conn: Connection, chosen: Settings) -> dict[str, UnitPrice]:
    """Return the mean cost per legal unit of what is on hand, by case line.

    Stock of unknown cost takes no part; `known_costs` tells how much of a line is known.
    """
    return {case_id: one.per_unit for case_id, one in known_costs(conn, chosen).items()}
