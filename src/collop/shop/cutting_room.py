"""The cutting room: receive, hang, break, put away, count, trace; every write is done once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import select

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import breaking, closing, putting, railing, receiving
from collop.shop.acts import Act, Room, once
from collop.shop.case_new import NewCaseLine, add_case_line
from collop.shop.flow import flow_between, flow_of_lot
from collop.shop.hook import load_booking
from collop.shop.knife_model import (
    Break,
    CountResult,
    Delivery,
    Flow,
    NewDelivery,
    NewStyle,
    Origin,
    RailPiece,
    StockLine,
    Style,
    Trace,
)
from collop.shop.knife_tables import stock_counts
from collop.shop.lots import lot_row
from collop.shop.own_yields import OwnYields, own_yields
from collop.shop.quotes import number_in
from collop.shop.rail_weighings import HungWeights, weighings_of
from collop.shop.settings import load_settings
from collop.shop.stock import moment_seq, stock_sums
from collop.shop.styles import (
    lines_by_name,
    load_style,
    load_styles,
    starting_style,
    store_style,
    styles_for,
)
from collop.shop.tables import case_lines, lots
from collop.shop.tracing import animals_last, lots_of_booking, trace

if TYPE_CHECKING:
    from collop.carcass import Verdict

__all__ = ["CuttingRoom"]


class CuttingRoom:
    """What happens to meat before the case. Reached as `Shop.cutting`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def _once(
        self, kind: str, request: object, by: str, key: str, work: Callable[[Act], object]
    ) -> str:
        return once(self._room, kind, request, by=by, key=key, work=lambda act: str(work(act)))

    def receive(
        self, new: NewDelivery, *, by: str, key: str, hung_at: datetime | None = None
    ) -> Delivery:
        """Take an animal in and hang it; see `collop.shop.receiving.take_in`."""
        number = self._once(
            "receive", [new, hung_at], by, key,
            lambda act: receiving.take_in(act, new, hung_at=hung_at),
        )  # fmt: skip
        return self.delivery(int(number))

    def delivery(self, number: int) -> Delivery:
        """Return one delivery, or raise `NotFound`."""
        with self._room.store.read() as conn:
            return receiving.load_delivery(conn, number, load_settings(conn))

    def hang(
        self, tag: str, weight: Weight, *, by: str, key: str, sure: bool = False
    ) -> RailPiece | None:
        """Weigh a hanging piece again; see `collop.shop.railing.hang`."""
        self._once("hang", [tag, weight, sure], by, key,
                   lambda act: railing.hang(act, tag, weight, sure=sure))  # fmt: skip
        return next((piece for piece in self.rail() if piece.tag == tag), None)

    def rail(self) -> tuple[RailPiece, ...]:
        """Return what hangs, longest first."""
        with self._room.store.read() as conn:
            return railing.load_rail(conn, self._room.clock.now(), load_settings(conn))

    def weighings(self, pieces: Sequence[RailPiece]) -> tuple[HungWeights, ...]:
        """Return every weighing of pieces that hang, in their order."""
        with self._room.store.read() as conn:
            return weighings_of(conn, pieces)

    def plan_break(
        self, tag: str, break_on: date | None, *, by: str, key: str, words: str = ""
    ) -> None:
        """Plan the day a piece is broken, or take the plan away."""
        self._once("plan break", [tag, break_on, words], by, key,
                   lambda act: railing.plan_break(act, tag, break_on, words))  # fmt: skip

    def claim(
        self, booking: str, tag: str, weight: Weight, *, by: str, key: str, note: str = ""
    ) -> None:
        """Hang a booking on a piece."""
        number = number_in("H", booking, "booking")

        def work(act: Act) -> None:
            load_booking(act.conn, number, act.settings)
            railing.claim(act, number, tag, weight, note)

        self._once("claim", [booking, tag, weight, note], by, key, work)

    def styles(self) -> tuple[Style, ...]:
        """Return every cutting style of the shop."""
        with self._room.store.read() as conn:
            return load_styles(conn)

    def style(self, style_id: str) -> Style:
        """Return one style, or raise `NotFound`."""
        with self._room.store.read() as conn:
            return load_style(conn, style_id)

    def styles_for(self, tag: str) -> tuple[Style, ...]:
        """Return the styles that cut a piece, or raise `NotFound`."""
        with self._room.store.read() as conn:
            row = lot_row(conn, tag)
            return styles_for(load_styles(conn), row.piece, row.species)

    def own_yields(self, style_id: str) -> OwnYields:
        """Return a style's shares as this shop cuts it: starting shares and closed breaks."""
        with self._room.store.read() as conn:
            return own_yields(conn, load_style(conn, style_id))

    def add_style(self, new: NewStyle, *, by: str, key: str) -> Style:
        """Add a cutting style; its shares close to 1."""
        self._once("style", new, by, key, lambda act: store_style(act.conn, new))
        return self.style(new.id)

    def adopt_style(
        self, piece: str, *, by: str, key: str, case_ids: Mapping[str, str] | None = None
    ) -> Style:
        """Take the starting figures of a piece as a style of the shop.

        A cut whose name a case line of its species bears goes to that line, unless `case_ids` says
        otherwise; any other waits on the block.
        """
        with self._room.store.read() as conn:
            lines = lines_by_name(conn) if case_ids is None else dict(case_ids)
            taken = {style.id for style in load_styles(conn)}
        return self.add_style(starting_style(piece, lines, taken), by=by, key=key)

    def start_break(
        self, tag: str, style_id: str, *, by: str, key: str, weight: Weight | None = None,
        sure: bool = False,
    ) -> Break:  # fmt: skip
        """Take a piece to the block; see `collop.shop.breaking.start_break`."""
        number = self._once(
            "start break", [tag, style_id, weight, sure], by, key,
            lambda act: breaking.start_break(act, tag, style_id, weight, sure=sure),
        )  # fmt: skip
        return self.break_(int(number))

    def weigh_part(
        self, number: int, part_id: int, weight: Weight, *, by: str, key: str,
        pieces: Sequence[Weight] = (), sure: bool = False,
    ) -> Break:  # fmt: skip
        """Put one part on the scale; see `collop.shop.breaking.weigh_part`."""
        self._once(
            "weigh part", [number, part_id, weight, list(pieces), sure], by, key,
            lambda act: breaking.weigh_part(act, number, part_id, weight, pieces, sure=sure),
        )  # fmt: skip
        return self.break_(number)

    def take_back(self, number: int, seq: int, *, by: str, key: str, why: str = "") -> Break:
        """Take one weighing back; a further entry undoes it."""
        self._once("take back", [number, seq, why], by, key,
                   lambda act: breaking.take_back(act, number, seq, why))  # fmt: skip
        return self.break_(number)

    def close_break(self, number: int, *, by: str, key: str, why: str = "") -> Break:
        """Close a break; see `collop.shop.closing.close_break`."""
        self._once("close break", [number, why], by, key,
                   lambda act: closing.close_break(act, number, why=why))  # fmt: skip
        return self.break_(number)

    def reopen_break(self, number: int, *, by: str, key: str, why: str) -> Break:
        """Open a closed break again."""
        self._once("reopen break", [number, why], by, key,
                   lambda act: closing.reopen_break(act, number, why=why))  # fmt: skip
        return self.break_(number)

    def put_back(self, number: int, *, by: str, key: str) -> Break:
        """Put a piece of which nothing is weighed yet back on the rail."""
        self._once("put back", number, by, key, lambda act: closing.put_back(act, number))
        return self.break_(number)

    def break_(self, number: int) -> Break:
        """Return one break, or raise `NotFound`."""
        with self._room.store.read() as conn:
            return breaking.load_break(conn, number)

    def open_breaks(self) -> tuple[Break, ...]:
        """Return the breaks under way, oldest first."""
        with self._room.store.read() as conn:
            return tuple(breaking.load_break(conn, one) for one in breaking.open_breaks(conn))

    def closed_breaks(self, most: int = 40) -> tuple[Break, ...]:
        """Return the newest closed breaks, newest first."""
        with self._room.store.read() as conn:
            numbers = breaking.closed_breaks(conn, most)
            return tuple(breaking.load_break(conn, one) for one in numbers)

    def animals(self, most: int = 60) -> tuple[Origin, ...]:
        """Return the animals that came last, newest first."""
        with self._room.store.read() as conn:
            return animals_last(conn, most)

    def price_paid(self, tag: str) -> UnitPrice | None:
        """Return what a piece cost as it came, with haulage, per legal unit; None if unknown."""
        with self._room.store.read() as conn:
            return railing.price_paid(conn, tag, load_settings(conn))

    def judge(self, number: int) -> Verdict:
        """Tell whether a break would close now, and what is likely forgotten."""
        with self._room.store.read() as conn:
            return closing.judge(breaking.load_break(conn, number), load_settings(conn))

    def put_in_case(
        self, lot_id: str, place: str, case_id: str, *, by: str, key: str,
        weight: Weight | None = None, keeps_days: int | None = None,
        pieces: Sequence[Weight] = (),
    ) -> str:  # fmt: skip
        """Put what waits on a case line; return the new lot."""
        return self._once(
            "put in case", [lot_id, place, case_id, weight, keeps_days, list(pieces)], by, key,
            lambda act: putting.put_in_case(
                act, lot_id, place, case_id, weight=weight, keeps_days=keeps_days, pieces=pieces
            ),
        )  # fmt: skip

    def add_case_line(self, new: NewCaseLine, *, by: str, key: str) -> str:
        """Add a line to the case, with its price; return its id."""
        return self._once("case line", new, by, key, lambda act: add_case_line(act, new))

    def bin(
        self, lot_id: str, place: str, *, by: str, key: str, why: str,
        weight: Weight | None = None,
    ) -> None:  # fmt: skip
        """Bin what is free at a place; left out, all of it."""
        self._once("bin", [lot_id, place, weight, why], by, key,
                   lambda act: putting.bin_some(act, lot_id, place, weight, why))  # fmt: skip

    def count_case(
        self, case_id: str, counted: Weight, *, by: str, key: str, why: str = "",
        sure: bool = False,
    ) -> CountResult:  # fmt: skip
        """Count a case line, booked and free together."""
        number = self._once(
            "count", [case_id, counted, why, sure], by, key,
            lambda act: putting.count_case(act, case_id, counted, why, sure=sure),
        )  # fmt: skip
        return self.count(int(number))

    def count_lot(
        self, lot_id: str, place: str, counted: Weight, *, by: str, key: str, why: str = "",
        sure: bool = False,
    ) -> CountResult:  # fmt: skip
        """Count what one lot has at a place outside the case."""
        number = self._once(
            "count", [lot_id, place, counted, why, sure], by, key,
            lambda act: putting.count_lot(act, lot_id, place, counted, why, sure=sure),
        )  # fmt: skip
        return self.count(int(number))

    def count(self, number: int) -> CountResult:
        """Return one count."""
        with self._room.store.read() as conn:
            row = conn.execute(
                select(stock_counts, case_lines.c.name)
                .outerjoin(case_lines, case_lines.c.id == stock_counts.c.case_id)
                .where(stock_counts.c.number == number)
            ).one()
        unit = WeightUnit(row.unit)
        return CountResult(
            row.number, row.name or row.lot_id, row.place, Weight(row.expected, unit),
            Weight(row.counted, unit), row.at,
        )  # fmt: skip

    def stock(self, at: datetime | None = None) -> tuple[StockLine, ...]:
        """Return what is on hand, lot by lot, now or as of any past moment."""
        with self._room.store.read() as conn:
            sums = stock_sums(conn, upto=None if at is None else moment_seq(conn, at))
            rows = conn.execute(
                select(lots, sums.c.place, sums.c.total)
                .join(sums, sums.c.lot_id == lots.c.id)
                .order_by(lots.c.id, sums.c.place, sums.c.piece_id)
            ).all()
        found: dict[tuple[str, str], StockLine] = {}
        for row in rows:
            before = found.get((row.id, row.place))
            count = int(row.total) + (before.weight.count if before else 0)
            found[row.id, row.place] = StockLine(
                row.id, row.what, row.species, row.place, row.case_id,
                Weight(count, WeightUnit(row.unit)), row.use_by,
            )  # fmt: skip
        return tuple(found.values())

    def trace(self, lot_id: str) -> Trace:
        """Return the way from a lot to its animal, and all lots of that animal."""
        with self._room.store.read() as conn:
            return trace(conn, lot_id)

    def lots_of_booking(self, booking: str) -> tuple[str, ...]:
        """Return the lots a booking holds or took."""
        with self._room.store.read() as conn:
            return lots_of_booking(conn, booking)

    def flow(self, lot_id: str) -> Flow:
        """Return where every pound of a lot's animal went."""
        with self._room.store.read() as conn:
            return flow_of_lot(conn, lot_id, load_settings(conn))

    def flow_between(self, start: datetime, end: datetime, title: str = "") -> Flow:
        """Return where weight went after `start` and up to `end`."""
        with self._room.store.read() as conn:
            return flow_between(conn, start, end, load_settings(conn), title)
