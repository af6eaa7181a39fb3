"""Stock in its last days: what must go by when, how long is left to sell it, what else it can be.

The figures named in capitals are starting figures of ours (common practice, no published source).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import func, or_, select
from sqlalchemy.engine import Connection

from collop.measures import UnitPrice, Weight, WeightUnit, decimal_of, minor_places
from collop.shop.board import board_at, prices_before
from collop.shop.chalk_problem import endings_of
from collop.shop.learning_pace import SeenPace, seen_pace
from collop.shop.model import Settings
from collop.shop.sales import (
    WEEKS,
    DaySale,
    Line,
    at_price,
    demand_of,
    first_day,
    lines_of,
    open_days,
    pace_of,
    per_unit,
    sales_by_day,
    unit_text,
)
from collop.shop.stock import stock_sums
from collop.shop.tables import lots
from collop.shop.thawed_lines import thawed_lines

__all__ = ["Ageing", "CaseView", "ageing_of", "boning_cost", "convert_of", "freeze_of",
           "load_view", "markdown_problem", "mince_of", "selling_days"]  # fmt: skip

#: Stock with so many days left is looked at even if it should sell by itself.
LAST_DAYS = 2
#: With so many selling days left, today's with them, stock may be ground or frozen; with more it is
#: only given another price, as there is time for the rest.
OTHER_USE_DAYS = 2
#: Share of boneless meat that comes out of the grinder.
GRIND_YIELD = Fraction(95, 100)
#: Minutes to bone out and grind a pound.
GRIND_MINUTES_PER_LB = Fraction(3)
#: Price of frozen goods over that of the same cut unfrozen.
FREEZE_PRICE = Fraction(75, 100)
#: Share of the weight left after freezing and thawing.
FREEZE_YIELD = Fraction(98, 100)
#: Wrapping and keeping a pound frozen, in money of the shop.
FREEZE_COST_PER_LB = Fraction(30, 100)
#: Chance that what is frozen is sold at its price.
FREEZE_CHANCE = Fraction(8, 10)
#: No mark-down below this share of the usual price: so far from it nobody knows what sells.
LOWEST = Fraction(1, 2)
#: A mark-down is younger than this, so the price before it is the one the usual pace belongs to.
_LONGEST_MARKED = timedelta(days=7)
#: Prices nearer to each other than this share are one price: sums of slips are rounded.
_ONE_PRICE = Fraction(1, 100)
# the kernel looks no further; what keeps longer is in no last days
_MOST_PERIODS = 60
_LEAST_SHARE = 0.01
_PACE_PLACES = 6
_LEAST_ELASTICITY, _MOST_ELASTICITY = 0.05, 20.0


@dataclass(frozen=True, slots=True)
class CaseView:
    """The case at a moment: prices in force, free stock by its last day, and what was sold.

    `stock` lists (last day, counts) of each line, soonest first; nothing past its day is in it.
    `former` is the board of a week ago, before any mark-down of stock in its last days; `undated`
    is what is free of each line without a last day, in counts; `thawed` are the lines whose label
    says that they were frozen before.
    """

    now: datetime
    chosen: Settings
    lines: Mapping[str, Line]
    board: Mapping[str, UnitPrice]
    stock: Mapping[str, tuple[tuple[date, int], ...]]
    sold: Mapping[str, tuple[DaySale, ...]]
    former: Mapping[str, UnitPrice] = field(default_factory=dict)
    undated: Mapping[str, int] = field(default_factory=dict)
    seen: SeenPace | None = None
    thawed: frozenset[str] = frozenset()

    @property
    def today(self) -> date:
        """Return the day of the moment."""
        return self.now.date()

    def pace(self, case_id: str) -> Fraction | None:
        """Return what a line sells on an open day, in counts; None if nothing tells."""
        if self.seen is not None and self.seen.days.get(case_id):
            return self.seen.pace(case_id)
        return pace_of(self.lines[case_id], self.sold.get(case_id, ()), self.today, self.chosen)

    def pace_now(self, case_id: str) -> Fraction | None:
        """Return what a line sells on an open day at the price in force; None if nothing tells.

        The usual pace belongs to the usual price; at any other it is moved along the line's demand.
        """
        pace, price = self.pace(case_id), self.board.get(case_id)
        if pace is None or price is None:
            return pace
        now, seen = Fraction(per_unit(price, self.chosen)), self.usual_price(case_id, price)
        if now == seen:
            return pace
        return at_price(pace, float(self.demand(case_id)["elasticity"]), seen=seen, now=now)

    def usual_price(self, case_id: str, price: UnitPrice) -> Fraction:
        """Return the price per legal unit that the usual pace belongs to.

        It is the mean of the line's slips; without any, the price of a week ago; and `price`, the
        one in force, where that is as good as the same or nothing else is known.
        """
        now = Fraction(per_unit(price, self.chosen))
        before = [one for one in self.sold.get(case_id, ()) if one.day < self.today]
        if minor := sum(one.minor for one in before):
            unit = Weight.of(1, self.chosen.legal_unit).count
            scale = 10 ** minor_places(self.chosen.currency)
            seen = Fraction(minor * unit, sum(one.count for one in before) * scale)
        else:
            seen = Fraction(per_unit(self.former.get(case_id, price), self.chosen))
        return now if abs(now - seen) <= seen * _ONE_PRICE else seen

    def free(self, case_id: str) -> int:
        """Return all that is free of a line and not past its day, in counts."""
        dated = sum(count for _, count in self.stock.get(case_id, ()))
        return dated + self.undated.get(case_id, 0)

    def demand(self, case_id: str) -> dict[str, Any]:
        """Return the demand plan of a line."""
        return demand_of(self.lines[case_id], self.sold.get(case_id, ()), self.board.get(case_id),
                         self.today, self.chosen)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Ageing:
    """What of a line must be sold by `last`: its weight, selling days, and usual daily pace.

    `first_share` is how much of the first of `periods` selling days is left.
    """

    line: Line
    price: UnitPrice
    count: int
    last: date
    periods: int
    first_share: float
    pace: Fraction

    @property
    def will_sell(self) -> Fraction:
        """Return what sells by the last day at the price in force, in counts."""
        return self.pace * _length(self.periods, self.first_share)


def _length(periods: int, first_share: float) -> Fraction:
    return Fraction(0) if not periods else periods - 1 + Fraction(str(first_share))


def load_view(
    conn: Connection, now: datetime, chosen: Settings, case_ids: Collection[str] | None = None
) -> CaseView:
    """Read the case as it is for prices at `now`; `case_ids` narrows what sales are read."""
    today = now.date()
    sums = stock_sums(conn)
    total = func.sum(sums.c.total).label("total")
    may_go = or_(lots.c.use_by.is_(None), lots.c.use_by >= today)
    rows = conn.execute(
        select(lots.c.case_id, lots.c.use_by, total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "case", lots.c.case_id.is_not(None), may_go)
        .group_by(lots.c.case_id, lots.c.use_by)
        .having(total > 0)
        .order_by(lots.c.case_id, lots.c.use_by)
    )
    stock: dict[str, list[tuple[date, int]]] = defaultdict(list)
    undated: dict[str, int] = {}
    for row in rows:
        if row.use_by is None:
            undated[row.case_id] = int(row.total)
        else:
            stock[row.case_id].append((row.use_by, int(row.total)))
    sold = sales_by_day(conn, since=first_day(today, WEEKS),
                        until=today + timedelta(days=1), case_ids=case_ids)  # fmt: skip
    return CaseView(
        now, chosen, lines_of(conn, chosen), board_at(conn, now, chosen.currency),
        {case_id: tuple(found) for case_id, found in stock.items()}, sold,
        prices_before(conn, now - _LONGEST_MARKED, chosen.currency), undated,
        seen_pace(conn, today, chosen), thawed_lines(conn),
    )  # fmt: skip


def selling_days(now: datetime, last: date, chosen: Settings) -> tuple[int, float]:
    """Return how many days customers are served from `now` to `last`, and the first one's share.

    A day that is over, or nearly, does not count; a day under way counts by its hours left.

    Examples
    --------
    >>> selling_days(datetime(2026, 6, 9, 13), date(2026, 6, 10), Settings("x"))
    (2, 0.5)
    """
    today = now.date()
    tomorrow = today + timedelta(days=1)
    rest = open_days(tomorrow, last + timedelta(days=1), chosen)
    if last < today or not chosen.is_open(today):
        return rest, 1.0
    opens = datetime.combine(today, chosen.opens)
    closes = datetime.combine(today, chosen.closes)
    whole = (closes - opens).total_seconds()
    left = (closes - max(now, opens)).total_seconds()
    share = round(left / whole, 3) if whole > 0 else 1.0
    return (rest + 1, share) if share >= _LEAST_SHARE else (rest, 1.0)


def ageing_of(view: CaseView, case_id: str) -> Ageing | None:
    """Return what of a line is in its last days; None if all of it sells in time.

    Oldest stock sells first, so for each last day all that goes by then stands against the sale up
    to then. The day with the most too much counts; if none has, the next days are looked at.
    """
    price, pace = view.board.get(case_id), view.pace_now(case_id)
    if price is None or not pace or not Decimal(unit_text(pace, view.chosen, _PACE_PLACES)):
        return None
    found: list[Ageing] = []
    count = 0
    for last, more in view.stock.get(case_id, ()):
        count += more
        if not Decimal(unit_text(count, view.chosen, is_cut_off=True)):
            continue  # a crumb is no stock
        periods, share = selling_days(view.now, last, view.chosen)
        if periods <= _MOST_PERIODS:
            # shut until its day is over: nothing is sold, but it may still become something else
            time = (periods, share) if periods else (1, _LEAST_SHARE)
            found.append(Ageing(view.lines[case_id], price, count, last, *time, pace))
    if not found:
        return None
    worst = max(found, key=lambda one: one.count - one.will_sell)
    if worst.count > worst.will_sell:
        return worst
    soon = [one for one in found if (one.last - view.today).days <= LAST_DAYS]
    return soon[-1] if soon else None


def mince_of(view: CaseView, line: Line) -> Line | None:
    """Return the line that takes a cut as mince: raw, plain mince of its species, on the board."""
    for other in view.lines.values():
        words = f"{other.name} {other.form}".casefold()
        if (
            other.species == line.species and other.id != line.id and other.id in view.board
            and not other.contains and other.casing is None and other.form != "frozen"
            and ("mince" in words or "ground" in words)
        ):  # fmt: skip
            return other
    return None


def _may_grind(line: Line) -> bool:
    """Tell whether a line is raw, plain, never frozen meat."""
    return (
        line.species != "none" and line.form == "fresh" and not line.contains
        and line.casing is None and line.boneless > 0 and "link" not in line.name.casefold()
    )  # fmt: skip


def _per_lb(amount: Fraction, chosen: Settings) -> Fraction:
    """Return an amount per pound as one per legal unit."""
    return amount * Weight.of(1, chosen.legal_unit).exact(WeightUnit.LB)


def _money(amount: Fraction) -> str:
    return f"{decimal_of(amount, 4):f}"


def boning_cost(chosen: Settings) -> Fraction:
    """Return the money to bone out and grind one legal unit."""
    return _per_lb(Fraction(chosen.labour_per_hour) * GRIND_MINUTES_PER_LB / 60, chosen)


def convert_of(
    view: CaseView, line: Line, periods: int, first_share: float, *,
    taken: Fraction = Fraction(0), is_bounded: bool = True,
) -> dict[str, Any] | None:  # fmt: skip
    """Return what grinding a line brings, as the mark-down kernel reads it; None if it cannot be.

    Mince made of it is to be used by the same day as the meat it is made of, so its line takes no
    more than it sells up to then, less what it has.

    Parameters
    ----------
    view : CaseView
        The case.
    line : Line
        What would be ground.
    periods, first_share : int, float
        Selling days up to its last day; see `selling_days`.
    taken : Fraction
        Counts of mince that other lines bring already.
    is_bounded : bool
        Whether it takes no more than that; else all.
    """
    mince = mince_of(view, line) if _may_grind(line) else None
    if mince is None:
        return None
    gives = GRIND_YIELD * Fraction(line.boneless)
    labour = boning_cost(view.chosen)
    takes = None
    if is_bounded:
        room = (view.pace_now(mince.id) or 0) * _length(periods, first_share)
        room -= view.free(mince.id) + taken
        takes = unit_text(room / gives, view.chosen, is_cut_off=True) if room > 0 else "0"
        if not Decimal(takes):
            return None
    return {
        "to": mince.name,
        "price": f"{per_unit(view.board[mince.id], view.chosen):f}",
        "yield": float(gives),
        "labour_per_unit": _money(labour),
        "takes": takes,
    }


def freeze_of(view: CaseView, line: Line, last: date) -> dict[str, Any] | None:
    """Return what freezing brings: never on the last day, nor of what was frozen before."""
    is_late = (last - view.today).days < 1
    words = line.name.casefold()
    was_frozen = line.id in view.thawed or "thaw" in words or "frozen" in words
    if is_late or was_frozen or line.species == "none" or line.form != "fresh":
        return None
    # of the usual price: a mark-down of today does not follow it into the freezer
    price = view.usual_price(line.id, view.board[line.id]) * FREEZE_PRICE
    return {
        "price": _money(price),
        "yield": float(FREEZE_YIELD),
        "cost_per_unit": _money(_per_lb(FREEZE_COST_PER_LB, view.chosen)),
        "chance_sold": float(FREEZE_CHANCE),
        "takes": None,
    }


def markdown_problem(
    view: CaseView, one: Ageing, elasticity: float, taken: Fraction = Fraction(0)
) -> dict[str, Any]:
    """Return the ``collop.markdown/1`` problem of stock in its last days.

    `taken` is what the mince line gets from others, in counts. A period is a selling day. With
    more than `OTHER_USE_DAYS` of them left only a price is tried: what is ground or frozen brings
    less than what sells, and there is time yet.
    """
    chosen = view.chosen
    price = f"{per_unit(one.price, chosen):f}"
    is_last = one.periods <= OTHER_USE_DAYS
    ground = convert_of(view, one.line, one.periods, one.first_share, taken=taken)
    lowest = _money(view.usual_price(one.line.id, one.price) * LOWEST)
    return {
        "schema": "collop.markdown/1",
        "name": one.line.name,
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": chosen.legal_unit.value,
        "stock": unit_text(one.count, chosen, is_cut_off=True),
        "price": price,
        "usual": unit_text(one.pace, chosen, _PACE_PLACES),
        "elasticity": min(_MOST_ELASTICITY, max(_LEAST_ELASTICITY, elasticity)),
        "salvage_per_unit": "0",
        "periods": one.periods,
        "first_share": one.first_share,
        "floor": min(lowest, price, key=Fraction),
        "cap": price,
        "convert": ground if is_last else None,
        "freeze": freeze_of(view, one.line, one.last) if is_last else None,
        "endings": endings_of(chosen),
        "aim": "most",
    }
