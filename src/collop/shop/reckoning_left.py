"""What is left of animals: where it lies, and what it would bring at the board of now.

In the case a pound counts at its price, booked at the price it is held at, trim, fat and bone at
the shop's worths; past its use-by it counts nothing. What hangs, and what of a piece is still on
the block, counts as the parts it is expected to give. What has no price counts at what was paid.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import UnitPrice, Weight, minor_places
from collop.shop.board import price_from
from collop.shop.breaking import load_break
from collop.shop.cost_flow import worth_per_count
from collop.shop.cost_reading import some_of
from collop.shop.knife_model import Part, Style
from collop.shop.knife_tables import breaks
from collop.shop.made_of import MadeOf
from collop.shop.model import Settings
from collop.shop.own_yields import own_yields
from collop.shop.store import AnyRow
from collop.shop.styles import load_styles, styles_for
from collop.shop.tables import booking_lines, ledger_entries, lots

__all__ = ["HELD", "Left", "left_of"]

#: Places of the ledger where weight is still the shop's to sell.
HELD = ("rail", "block", "case", "booked", "trim", "bone", "fat")
_entry = ledger_entries.c
_NOTHING = Fraction(0)


@dataclass(slots=True)
class Left:
    """What is left of one animal, in counts and minor units, exact.

    `value` leaves out `unpriced`, which has no price, and `past`, which is past its use-by.
    """

    count: Fraction = _NOTHING
    value: Fraction = _NOTHING
    unpriced: Fraction = _NOTHING
    past: Fraction = _NOTHING
    places: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class _Worth:
    """What one count brings, and the share of it that has no price."""

    per_count: Fraction | None
    unpriced: Fraction = _NOTHING


@dataclass(slots=True)
class _Teller:
    """Puts a value on the weight of lots."""

    conn: Connection
    chosen: Settings
    board: Mapping[str, UnitPrice]
    styles: tuple[Style, ...]
    kept: dict[str, _Worth] = field(default_factory=dict)

    def kinds(self) -> dict[str, Fraction]:
        legal = Weight.of(1, self.chosen.legal_unit).count
        return worth_per_count(self.chosen.worths, 10 ** minor_places(self.chosen.currency), legal)

    def of(self, row: AnyRow) -> _Worth:
        """Return what a lot at one place brings; what is booked is told elsewhere."""
        if row.place == "case":
            price = self.board.get(row.case_id or "")
            return _Worth(None if price is None else _per_count(price))
        if row.place in {"trim", "bone", "fat"}:
            return _Worth(self.kinds().get(row.place, _NOTHING))
        if row.place == "rail":
            key = f"{row.species} {row.piece}"
            if key not in self.kept:
                self.kept[key] = self._hanging(row)
            return self.kept[key]
        return self._on_block(row)

    def _hanging(self, row: AnyRow) -> _Worth:
        fits = styles_for(self.styles, row.piece, row.species)
        if not fits:
            return _Worth(None)
        own = own_yields(self.conn, fits[0])
        parts = {part.name: part for part in fits[0].parts}
        return self._parts([(parts[one.name], one.share) for one in own.parts])

    def _on_block(self, row: AnyRow) -> _Worth:
        number = self.conn.scalar(
            select(func.max(breaks.c.number)).where(breaks.c.lot_id == row.id)
        )
        if number is None:
            return _Worth(None)
        found = load_break(self.conn, int(number))
        weighed = {one.part for one in found.parts}
        waits = [(part, part.share) for part in found.style.parts if part.name not in weighed]
        return self._parts(waits)

    def _parts(self, parts: Iterable[tuple[Part, Fraction]]) -> _Worth:
        """Return the mean worth of parts by their shares; without any, nothing is told."""
        kinds, known, bare, whole = self.kinds(), _NOTHING, _NOTHING, _NOTHING
        for part, share in parts:
            whole += share
            price = self.board.get(part.case_id or "")
            if price is not None:
                known += share * _per_count(price)
            elif part.kind == "cut":
                bare += share
            else:
                known += share * kinds.get(part.kind, _NOTHING)
        return _Worth(known / whole, bare / whole) if whole else _Worth(None)


def _per_count(price: UnitPrice) -> Fraction:
    return price.minor / Weight.of(1, price.per).count


def _lying(conn: Connection, lot_ids: Iterable[str]) -> Iterable[AnyRow]:
    total = func.sum(_entry.delta)
    for some in some_of(lot_ids):
        yield from conn.execute(
            select(lots.c.id, lots.c.case_id, lots.c.species, lots.c.piece, lots.c.use_by,
                   _entry.place, total.label("total"))
            .join(lots, lots.c.id == _entry.lot_id)
            .where(_entry.lot_id.in_(some), _entry.place.in_(HELD))
            .group_by(lots.c.id, lots.c.case_id, lots.c.species, lots.c.piece, lots.c.use_by,
                      _entry.place)
            .having(total > 0)
        )  # fmt: skip


def _promised(conn: Connection, lot_ids: Iterable[str], currency: str) -> dict[str, Fraction]:
    """Return what the booked weight of each lot brings at the prices it is held at."""
    total = func.sum(_entry.delta)
    found: dict[str, Fraction] = defaultdict(Fraction)
    for some in some_of(lot_ids):
        rows = conn.execute(
            select(_entry.lot_id, booking_lines.c.price_amount, booking_lines.c.price_per,
                   total.label("total"))
            .join(booking_lines, booking_lines.c.id == _entry.booking_line_id)
            .where(_entry.lot_id.in_(some), _entry.place == "booked")
            .group_by(_entry.lot_id, booking_lines.c.price_amount, booking_lines.c.price_per)
        )  # fmt: skip
        for row in rows:
            price = price_from(row.price_amount, row.price_per, currency)
            found[row.lot_id] += _per_count(price) * int(row.total)
    return found


def left_of(
    conn: Connection, chosen: Settings, lot_ids: Iterable[str], made: MadeOf, *,
    board: Mapping[str, UnitPrice], today: date,
) -> dict[str, Left]:  # fmt: skip
    """Return what is left of each animal.

    Parameters
    ----------
    conn : Connection
        A reader.
    chosen : Settings
        Currency, unit and worths.
    lot_ids : iterable of str
        All lots of the animals.
    made : MadeOf
        What each of them is made of.
    board : mapping of str to UnitPrice
        Price in force by case line.
    today : date
        What was to be used before it brings nothing.
    """
    names = list(lot_ids)
    teller = _Teller(conn, chosen, board, load_styles(conn))
    promised = _promised(conn, names, chosen.currency)
    found: dict[str, Left] = defaultdict(Left)
    for row in _lying(conn, names):
        count = int(row.total)
        past = row.place == "case" and row.use_by is not None and row.use_by < today
        if row.place == "booked":
            worth = _Worth(promised.get(row.id, _NOTHING) / count)
        else:
            worth = _Worth(_NOTHING) if past else teller.of(row)
        for tag, share in made.of(row.id).items():
            one = found[tag]
            one.places.add(row.place)
            one.count += share * count
            one.past += share * count if past else 0
            if worth.per_count is None:
                one.unpriced += share * count
            else:
                one.value += share * count * worth.per_count
                one.unpriced += share * count * worth.unpriced
    return found
