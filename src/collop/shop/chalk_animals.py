"""Pieces whose board can be worked out: what hangs and what was broken lately, part by part."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.errors import WrongState
from collop.measures import Money, UnitPrice, Weight, round_fraction
from collop.shop.board import price_from
from collop.shop.breaking import load_break
from collop.shop.chalk_model import ChalkAnimal, ChalkPart
from collop.shop.knife_model import Break, Style
from collop.shop.knife_tables import break_events, breaks, deliveries, lot_links
from collop.shop.lots import lot_row, places_of, read_unit
from collop.shop.made_of import MadeOf, apportion
from collop.shop.model import Settings
from collop.shop.own_yields import own_yields
from collop.shop.railing import paid_per_count
from collop.shop.receiving import cost_of
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.styles import load_style, load_styles, styles_for
from collop.shop.tables import booking_lines, ledger_entries, lots
from collop.shop.tracing import descend

__all__ = [
    "BLOCK", "BROKEN", "HANGS", "Booked", "PartWeight", "Sheet", "apportion", "chalk_animals",
    "chalk_parts", "hanging", "load_sheet",
]  # fmt: skip

HANGS, BLOCK, BROKEN = "hangs", "on the block", "broken"
_DAYS_BACK = 14


@dataclass(frozen=True, slots=True)
class PartWeight:
    """One part of a piece in counts: weighed, or expected; `sold` of it has left the shop."""

    name: str
    kind: str
    case_id: str | None
    count: int
    sold: int = 0


@dataclass(frozen=True, slots=True)
class Booked:
    """Weight of a part that is promised, in counts, at the price it is held at."""

    part: str
    price: UnitPrice
    count: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """All of a piece that stays as it is while prices change; its parts add up to `start`.

    `bought` and `haulage` are its share of the invoice, in minor units and exact; None if the
    delivery has no price. `notes` are sentences on what was taken for granted; `booked` is what
    waits for its customer.
    """

    tag: str
    what: str
    species: str
    state: str
    style: Style
    start: Weight
    parts: tuple[PartWeight, ...]
    bought: Fraction | None
    haulage: Fraction
    notes: tuple[str, ...]
    booked: tuple[Booked, ...] = ()


def hanging(conn: Connection) -> Sequence[AnyRow]:
    """Return the rows of the lots that hang, with what they weigh as ``total``, newest first."""
    sums = stock_sums(conn)
    return conn.execute(
        select(lots, sums.c.total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place == "rail", sums.c.total > 0)
        .order_by(lots.c.since.desc(), lots.c.id)
    ).all()


def _broken(conn: Connection, since: datetime) -> Sequence[AnyRow]:
    """Return the breaks begun since then or still open, but for those put back, newest first."""
    newest = select(break_events.c.break_number, func.max(break_events.c.seq).label("seq"))
    last = newest.group_by(break_events.c.break_number).subquery()
    said = func.coalesce(break_events.c.what, "open")
    return conn.execute(
        select(
            lots, breaks.c.number, breaks.c.start, breaks.c.at.label("broken_at"),
            said.label("said"),
        )
        .join(lots, lots.c.id == breaks.c.lot_id)
        .outerjoin(last, last.c.break_number == breaks.c.number)
        .outerjoin(break_events, break_events.c.seq == last.c.seq)
        .where(said != "put back", (breaks.c.at >= since) | (said != "closed"))
        .order_by(breaks.c.at.desc(), breaks.c.number.desc())
    ).all()  # fmt: skip


def chalk_animals(conn: Connection, now: datetime, chosen: Settings) -> tuple[ChalkAnimal, ...]:
    """Return what hangs and what was broken in the last 14 days, newest first.

    `day` is that of the break, or of coming in for what hangs; `weight` is that of now on the
    rail, or that which went to the block; `cost` the piece's share of invoice and haulage.
    """
    hangs, broken = hanging(conn), _broken(conn, now - timedelta(days=_DAYS_BACK))
    rows = [*hangs, *broken]
    paid = paid_per_count(conn, chosen, [row.delivery_number for row in rows])

    def one(row: AnyRow, state: str, count: int, at: datetime) -> ChalkAnimal:
        each = paid.get(row.delivery_number or 0)
        cost = None if each is None else round_fraction(each * row.weight_in, chosen.rounding)
        return ChalkAnimal(
            tag=row.id, what=row.what, species=row.species, weight=Weight(count, read_unit(row)),
            state=state, day=at.date(),
            cost=None if cost is None else Money(cost, chosen.currency),
        )  # fmt: skip

    found = [one(row, HANGS, int(row.total), row.since) for row in hangs]
    found += [
        one(row, BROKEN if row.said == "closed" else BLOCK, row.start, row.broken_at)
        for row in broken
    ]
    return tuple(sorted(found, key=lambda animal: (-animal.day.toordinal(), animal.tag)))


def _style(conn: Connection, row: AnyRow, style_id: str | None) -> Style:
    if style_id is not None:
        return load_style(conn, style_id)
    fits = styles_for(load_styles(conn), row.piece, row.species)
    if not fits:
        raise WrongState(
            f"No cutting style cuts {row.piece or row.what}; add one on the Knife page."
        )
    return fits[0]


def _expected(
    conn: Connection, style: Style, count: int
) -> tuple[list[PartWeight], tuple[str, ...]]:
    own = own_yields(conn, style)
    kinds = {part.name: part for part in style.parts}
    counts = apportion(count, [one.share for one in own.parts])
    parts = [
        PartWeight(one.name, one.kind, kinds[one.name].case_id, weight)
        for one, weight in zip(own.parts, counts, strict=True)
    ]
    said = f"Weights are expected by {style.name!r}, from {len(own.tags)} own breaks."
    return parts, (said,)


def _weighed(
    conn: Connection, found: Break, made: _Made
) -> tuple[list[PartWeight], tuple[str, ...]]:
    """Return the parts of a break: as weighed; of an open one, what is left as expected."""
    sold = _sold(conn, made)
    counts: dict[str, int] = defaultdict(int)
    about = {part.name: (part.kind, part.case_id) for part in found.style.parts}
    for one in found.parts:
        counts[one.part] += one.weight.count
        about.setdefault(one.part, (one.kind, one.case_id))
    left = found.left.count if found.is_open else found.loss.count
    waits = [part for part in found.style.parts if part.name not in counts]
    if not found.is_open:
        waits = [part for part in waits if part.kind == "loss"][:1]
    shares = {one.name: one.share for one in own_yields(conn, found.style).parts} if waits else {}
    split = apportion(left, [shares[part.name] for part in waits])
    rest = {part.name: count for part, count in zip(waits, split, strict=True)}
    parts = [
        PartWeight(name, kind, case_id, count, min(count, sold.get(name, 0)))
        for name, (kind, case_id) in about.items()
        if (count := counts.get(name) or rest.get(name, 0)) or name in rest
    ]
    if left and not waits:
        parts.append(PartWeight("Loss", "loss", None, left))
    names = ", ".join(part.name for part in waits)
    return parts, (f"Not weighed yet, so as expected: {names}.",) if found.is_open and waits else ()


@dataclass(frozen=True, slots=True)
class _Made:
    """The lots that came of some parts, and what each is made of."""

    lots: list[str]
    shares: MadeOf


def _made_of(conn: Connection, roots: Mapping[str, str]) -> _Made:
    below = [step.lot_id for step in descend(conn, list(roots))]
    into: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    carried = select(lot_links.c.parent_id, lot_links.c.child_id,
                     lot_links.c.count.label("weight"))  # fmt: skip
    for row in conn.execute(carried.where(lot_links.c.child_id.in_(below))):
        into[row.child_id][row.parent_id] += row.weight
    return _Made(below, MadeOf(roots, into))


def _sold(conn: Connection, made: _Made) -> dict[str, int]:
    """Return what has been sold of each part, in counts, by the lots that came from it."""
    entry = ledger_entries.c
    total = func.sum(entry.delta)
    sold = conn.execute(
        select(entry.lot_id, total.label("total"))
        .where(entry.lot_id.in_(made.lots), entry.place == "sold")
        .group_by(entry.lot_id)
        .having(total > 0)
    ).all()
    sums: dict[str, Fraction] = defaultdict(Fraction)
    for left in sold:
        for part, share in made.shares.of(left.lot_id).items():
            sums[part] += share * int(left.total)
    return {part: round_fraction(count) for part, count in sums.items()}


def _booked(conn: Connection, made: _Made, currency: str) -> tuple[Booked, ...]:
    """Return what of each part is promised, at each price it is held at."""
    entry, line = ledger_entries.c, booking_lines.c
    total = func.sum(entry.delta)
    rows = conn.execute(
        select(entry.lot_id, line.price_amount, line.price_per, total.label("total"))
        .join(booking_lines, line.id == entry.booking_line_id)
        .where(entry.lot_id.in_(made.lots), entry.place == "booked")
        .group_by(entry.lot_id, line.price_amount, line.price_per)
        .having(total > 0)
        .order_by(entry.lot_id, line.price_amount)
    ).all()
    sums: dict[tuple[str, UnitPrice], Fraction] = defaultdict(Fraction)
    for row in rows:
        price = price_from(row.price_amount, row.price_per, currency)
        for part, share in made.shares.of(row.lot_id).items():
            sums[part, price] += share * int(row.total)
    return tuple(
        Booked(part, price, count)
        for (part, price), weight in sums.items()
        if (count := round_fraction(weight))
    )


def _last_break(conn: Connection, tag: str) -> int | None:
    query = select(func.max(breaks.c.number)).where(breaks.c.lot_id == tag)
    number = conn.scalar(query)
    return None if number is None else int(number)


def _bought(conn: Connection, row: AnyRow, chosen: Settings) -> tuple[Fraction | None, Fraction]:
    """Return a piece's share of the invoice and of the haulage, by weight at the door."""
    query = select(deliveries).where(deliveries.c.number == row.delivery_number)
    paid = None if row.delivery_number is None else conn.execute(query).first()
    if paid is None:
        return None, Fraction(0)
    share = Fraction(row.weight_in, paid.weighed)
    cost = cost_of(paid, chosen)
    haulage = paid.haulage * share
    return None if cost is None else cost * share - haulage, haulage


def load_sheet(conn: Connection, tag: str, chosen: Settings, style_id: str | None = None) -> Sheet:
    """Return a piece part by part.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    tag : str
        A piece that hangs, or that was broken at any time.
    chosen : Settings
        Of the shop.
    style_id : str, optional
        How a hanging piece would be cut; by default its first style. A broken piece keeps its own.

    Raises
    ------
    NotFound
        If there is no such lot or style.
    WrongState
        If it neither hangs nor was broken, or no style cuts it.
    """
    row = lot_row(conn, tag)
    hangs = places_of(conn, tag).get("rail", 0)
    state, number = HANGS, None if hangs else _last_break(conn, tag)
    booked: tuple[Booked, ...] = ()
    if hangs:
        style = _style(conn, row, style_id)
        start = Weight(hangs, read_unit(row))
        parts, notes = _expected(conn, style, hangs)
    elif number is not None:
        found = load_break(conn, number)
        style, state = found.style, BLOCK if found.is_open else BROKEN
        made = _made_of(conn, {one.lot_id: one.part for one in found.parts})
        parts, notes = _weighed(conn, found, made)
        booked = _booked(conn, made, chosen.currency)
        start = Weight(sum(part.count for part in parts), found.start.unit)
    else:
        raise WrongState(f"{tag} neither hangs nor was broken; choose a piece of the list.")
    bought, haulage = _bought(conn, row, chosen)
    return Sheet(tag, row.what, row.species, state, style, start, tuple(parts), bought, haulage,
                 notes, booked)  # fmt: skip


def chalk_parts(sheet: Sheet, board: Mapping[str, UnitPrice]) -> tuple[ChalkPart, ...]:
    """Return the parts of a piece with their prices on the board; they add up to its weight."""
    unit = sheet.start.unit
    return tuple(
        ChalkPart(
            name=part.name, kind=part.kind, case_id=part.case_id, weight=Weight(part.count, unit),
            sold=Weight(part.sold, unit), price=board.get(part.case_id or ""),
        )
        for part in sheet.parts
    )  # fmt: skip
