"""What hangs: shrink, the cost of a saleable pound today, plans, and bookings on it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.measures import Money, UnitPrice, Weight, WeightUnit, decimal_of, round_fraction
from collop.shop.acts import Act
from collop.shop.hook import booking_id
from collop.shop.knife_model import Claim, RailPiece
from collop.shop.knife_tables import deliveries, rail_claims, rail_plans
from collop.shop.ledger import Pick, find_more, move
from collop.shop.lots import lot_row, places_of, read_unit
from collop.shop.model import Settings, State
from collop.shop.own_yields import saleable_share
from collop.shop.receiving import cost_of
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.styles import load_styles
from collop.shop.tables import booking_events, bookings, ledger_entries, lots

__all__ = [
    "AIR",
    "claim",
    "claims_on",
    "hang",
    "load_rail",
    "paid_per_count",
    "plan_break",
    "price_paid",
]

AIR = "weight lost to air"
# a piece that weighs more than this over what came in was not weighed right, then or now
_MOST_GAIN = Fraction(1, 100)
# more than this at once is a slip of the hand more often than air
_LIKELY_LOSS = Fraction(1, 12)
# of so many and more, all are read: databases have a limit to what a question may name
_MOST_NAMED = 500


def _lost_to_air(conn: Connection, tag: str) -> int:
    total = select(func.sum(ledger_entries.c.delta)).where(
        ledger_entries.c.lot_id == tag, ledger_entries.c.place == "drip",
        ledger_entries.c.reason == AIR,
    )  # fmt: skip
    return int(conn.scalar(total) or 0)


def hang(act: Act, tag: str, weight: Weight, *, sure: bool = False) -> None:
    """Weigh a hanging piece again.

    What is less went to air. What is more was weighed wrong before: it comes back out of the loss,
    and beyond that, within a hundredth of the weight that came in, the scale found it.

    Parameters
    ----------
    act : Act
        The write.
    tag : str
        The piece.
    weight : Weight
        What the scale says.
    sure : bool
        Whether a loss of over a twelfth at once was looked at again.

    Raises
    ------
    WrongState
        If it does not hang.
    BadValue
        If it weighs nothing, over a hundredth more than came in, or a twelfth less than it hung at
        without `sure`.
    """
    row = lot_row(act.conn, tag)
    hangs = places_of(act.conn, tag).get("rail", 0)
    if not hangs:
        raise WrongState(f"{tag} does not hang; look at the rail again.")
    if weight <= Weight.zero():
        raise BadValue(f"{tag} weighs nothing; tare and weigh again.", where="weight")
    gap = weight.count - hangs
    was = f"{tag} hung at {Weight(hangs, weight.unit).text()} and the scale says {weight.text()}"
    if Fraction(weight.count - row.weight_in, row.weight_in) > _MOST_GAIN:
        raise BadValue(f"{was}: meat gains nothing on the rail. Weigh again.", where="weight")
    if Fraction(-gap, hangs) > _LIKELY_LOSS and not sure:
        raise BadValue(f"{was}: weigh again, or say that it is right.", where="sure")
    if gap < 0:
        move(act, [Pick(tag, -gap, row.unit)], ("rail", "drip"), AIR)
    elif gap > 0:
        back = min(gap, _lost_to_air(act.conn, tag))
        move(act, [Pick(tag, back, row.unit)], ("drip", "rail"), AIR)
        if gap > back:
            find_more(act, Pick(tag, gap - back, row.unit), "rail")


def plan_break(act: Act, tag: str, break_on: date | None, words: str = "") -> None:
    """Plan the day a piece is broken; the newest plan counts."""
    lot_row(act.conn, tag)
    said = words or (f"{break_on:%a}" if break_on else "")
    act.conn.execute(
        insert(rail_plans).values(
            lot_id=tag, break_on=break_on, words=said[:40], at=act.at, by_id=act.by, key=act.key
        )
    )


def claim(act: Act, booking_number: int, tag: str, weight: Weight, note: str) -> None:
    """Hang a booking on a piece: so much of it is for that booking.

    Raises
    ------
    BadValue
        If the weight is not more than zero, or more than hangs and is not claimed yet.
    WrongState
        If the piece does not hang.
    """
    row = lot_row(act.conn, tag)
    hangs = places_of(act.conn, tag).get("rail", 0)
    if not hangs:
        raise WrongState(f"{tag} does not hang; book from the case instead.")
    taken = sum(one.weight.count for one in claims_on(act.conn).get(tag, ()))
    left = Weight(hangs - taken, read_unit(row))
    if not Weight.zero() < weight <= left:
        raise BadValue(
            f"Say how much of {tag} the booking wants: more than 0, and up to {left.text()}, as the"
            " rest is claimed already."
            if taken
            else f"Say how much of {tag} the booking wants: more than 0, and up to {left.text()}.",
            where="weight",
        )
    act.conn.execute(
        insert(rail_claims).values(
            booking_number=booking_number, lot_id=tag, weight=weight.count,
            unit=weight.unit.value, note=note[:200], at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def claims_on(conn: Connection) -> dict[str, tuple[Claim, ...]]:
    """Return the claims of bookings that still hold, by tag."""
    last = (
        select(booking_events.c.booking_number, func.max(booking_events.c.seq).label("seq"))
        .where(booking_events.c.booking_number.in_(select(rail_claims.c.booking_number)))
        .group_by(booking_events.c.booking_number)
        .subquery()
    )
    rows = conn.execute(
        select(rail_claims, bookings.c.name, booking_events.c.state)
        .join(bookings, bookings.c.number == rail_claims.c.booking_number)
        .join(last, last.c.booking_number == bookings.c.number)
        .join(booking_events, booking_events.c.seq == last.c.seq)
        .order_by(rail_claims.c.seq)
    )
    found: dict[str, tuple[Claim, ...]] = defaultdict(tuple)
    for row in rows:
        if State(row.state).holds:
            weight = Weight(row.weight, WeightUnit(row.unit))
            one = Claim(booking_id(row.booking_number), row.name, weight, row.note)
            found[row.lot_id] = (*found[row.lot_id], one)
    return found


def paid_per_count(
    conn: Connection, chosen: Settings, numbers: Iterable[int | None]
) -> Mapping[int, Fraction]:
    """Return what one count of weight cost at the door, in minor units, by delivery number."""
    wanted = {number for number in numbers if number is not None}
    query = select(deliveries)
    if len(wanted) <= _MOST_NAMED:
        query = query.where(deliveries.c.number.in_(wanted))
    found = {}
    for row in conn.execute(query):
        cost = cost_of(row, chosen)
        if cost is not None:
            found[row.number] = cost / row.weighed
    return found


def price_paid(conn: Connection, tag: str, chosen: Settings) -> UnitPrice | None:
    """Return what a lot cost at the door per legal unit, to four places; None if not known.

    Raises
    ------
    NotFound
        If there is no such lot.
    """
    row = lot_row(conn, tag)
    number = row.delivery_number
    paid = paid_per_count(conn, chosen, [number]).get(number or 0)
    if paid is None:
        return None
    legal = chosen.legal_unit
    scale = UnitPrice(Decimal(1), legal, chosen.currency).minor
    one = Weight.of(1, legal).count
    return UnitPrice(decimal_of(paid * one / scale, 4), legal, chosen.currency)


@dataclass(frozen=True, slots=True)
class _View:
    """What every piece on the rail is seen with."""

    today: date
    chosen: Settings
    paid: Mapping[int, Fraction]
    saleable: Mapping[str, Fraction]
    claims: Mapping[str, tuple[Claim, ...]]
    plans: Mapping[str, tuple[date | None, str]]

    def money(self, minor: Fraction) -> Money:
        return Money(round_fraction(minor, self.chosen.rounding), self.chosen.currency)

    def piece(self, row: AnyRow, now: int) -> RailPiece:
        """Return one piece with its money and plan."""
        unit = read_unit(row)
        paid = self.paid.get(row.delivery_number or 0)
        cost = None if paid is None else paid * row.weight_in
        share = self.saleable.get(row.piece or "")
        break_on, words = self.plans.get(row.id, (None, row.planned_break or ""))
        return RailPiece(
            tag=row.id, species=row.species, what=row.what, piece=row.piece, farm=row.farm or "",
            days=(self.today - row.since.date()).days, weight_in=Weight(row.weight_in, unit),
            weight_now=Weight(now, unit), planned_break=words, break_on=break_on,
            paid=None if cost is None else self.money(cost),
            lost_money=None if paid is None else self.money(paid * (row.weight_in - now)),
            saleable_share=share,
            draw_price=None if cost is None or not share else self._draw(cost, share, now),
            claims=self.claims.get(row.id, ()),
            is_late=break_on is not None and break_on < self.today,
        )  # fmt: skip

    def _draw(self, cost: Fraction, share: Fraction, now: int) -> UnitPrice:
        legal = self.chosen.legal_unit
        per_unit = cost / (share * Weight(now).exact(legal))
        scale = UnitPrice(Decimal(1), legal, self.chosen.currency).minor
        return UnitPrice(decimal_of(per_unit / scale, 4), legal, self.chosen.currency)


def _plans(conn: Connection, tags: Sequence[str]) -> dict[str, tuple[date | None, str]]:
    rows = conn.execute(
        select(rail_plans).where(rail_plans.c.lot_id.in_(tags)).order_by(rail_plans.c.seq)
    )
    return {row.lot_id: (row.break_on, row.words) for row in rows}


def load_rail(conn: Connection, now: datetime, chosen: Settings) -> tuple[RailPiece, ...]:
    """Return what hangs, longest first, with what a saleable pound of it costs today."""
    saleable = saleable_share(conn, load_styles(conn))
    sums = stock_sums(conn)
    rows = conn.execute(
        select(lots, sums.c.total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "rail", sums.c.total > 0)
        .order_by(lots.c.since, lots.c.id)
    ).all()
    paid = paid_per_count(conn, chosen, [row.delivery_number for row in rows])
    plans = _plans(conn, [row.id for row in rows])
    view = _View(now.date(), chosen, paid, saleable, claims_on(conn), plans)
    return tuple(view.piece(row, int(row.total)) for row in rows)
