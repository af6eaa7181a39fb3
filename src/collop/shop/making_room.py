"""Mince lots and batches as a service: begin, put in, weigh out, tell what is missing, close."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import func, select

from collop.measures import Weight, WeightUnit
from collop.shop import making_closing, making_closing_later, making_lots, making_parts
from collop.shop.acts import Act, Room, once
from collop.shop.knife_model import StockLine
from collop.shop.knife_tables import breaks
from collop.shop.making_lots import Begun
from collop.shop.making_lots_state import making_row
from collop.shop.making_model import BATCH, MINCE, Making, NewMaterial
from collop.shop.making_record import load_making, load_makings
from collop.shop.settings import load_settings
from collop.shop.stock import stock_sums
from collop.shop.tables import case_lines, lots

__all__ = ["MakingRoom"]


class MakingRoom:
    """Mince lots and recipe batches. Reached as `Shop.making`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do. Nothing is
    edited: what is told later, or taken back, is a further line.

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

    def open(
        self, species: str, machine: str, name: str, first: NewMaterial, *, by: str, key: str,
        done_at: datetime | None = None,
    ) -> Making:  # fmt: skip
        """Begin a mince lot with its first material; it runs until the machine is cleaned down.

        Parameters
        ----------
        species : str
            Of all that goes in.
        machine : str
            The grinder, such as ``G1``.
        name : str
            What is made.
        first : NewMaterial
            The first thing that goes in, with its weight.
        done_at : datetime, optional
            When, if it is written later.

        Raises
        ------
        WrongState
            If the machine must be cleaned down first.
        """
        new = Begun(MINCE, name, species, machine, None, first, done_at)
        return self._begin(new, by=by, key=key)

    def open_batch(
        self, name: str, case_id: str, first: NewMaterial, *, by: str, key: str,
        done_at: datetime | None = None,
    ) -> Making:  # fmt: skip
        """Begin a batch of a recipe for a case line, with its first material or ingredient."""
        new = Begun(BATCH, name, "", "", case_id, first, done_at)
        return self._begin(new, by=by, key=key)

    def _begin(self, new: Begun, *, by: str, key: str) -> Making:
        code = self._once("begin making", new, by, key, lambda act: making_lots.begin(act, new))
        return self.record(code)

    def add(self, code: str, new: NewMaterial, *, by: str, key: str) -> Making:
        """Put a material in; see `collop.shop.making_parts.add`."""
        self._once("put in making", [code, new], by, key,
                   lambda act: making_parts.add(act, code, new))  # fmt: skip
        return self.record(code)

    def take_back_material(self, code: str, seq: int, why: str, *, by: str, key: str) -> Making:
        """Take a material back; see `collop.shop.making_closing_later.take_back_material`."""
        self._once(
            "material back", [code, seq, why], by, key,
            lambda act: making_closing_later.take_back_material(act, code, seq, why),
        )  # fmt: skip
        return self.record(code)

    def produce(
        self, code: str, case_id: str, weight: Weight, *, by: str, key: str,
        done_at: datetime | None = None, use_by: date | None = None,
    ) -> Making:  # fmt: skip
        """Weigh what was made into the case; see `collop.shop.making_closing.produce`."""
        self._once(
            "produce", [code, case_id, weight, done_at, use_by], by, key,
            lambda act: making_closing.produce(
                act, code, case_id, weight, done_at=done_at, use_by=use_by
            ),
        )  # fmt: skip
        return self.record(code)

    def carry(
        self, code: str, weight: Weight, *, by: str, key: str, done_at: datetime | None = None
    ) -> Making:
        """Say what stays in the machine and goes into the next lot."""
        self._once(
            "carry", [code, weight, done_at], by, key,
            lambda act: making_closing.carry(act, code, weight, done_at=done_at),
        )  # fmt: skip
        return self.record(code)

    def lose(
        self, code: str, weight: Weight, why: str, *, by: str, key: str, place: str = "bin",
        done_at: datetime | None = None,
    ) -> Making:  # fmt: skip
        """Say what was lost, to the ``bin`` or as ``drip``, and why."""
        self._once(
            "lose", [code, weight, why, place, done_at], by, key,
            lambda act: making_closing.lose(
                act, code, weight, why, place=place, done_at=done_at
            ),
        )  # fmt: skip
        return self.record(code)

    def take_back(self, code: str, seq: int, why: str, *, by: str, key: str) -> Making:
        """Take back what was produced, carried, lost or filled in."""
        self._once(
            "making line back", [code, seq, why], by, key,
            lambda act: making_closing_later.take_back(act, code, seq, why),
        )  # fmt: skip
        return self.record(code)

    def fill_material(
        self, code: str, seq: int, told: Mapping[str, Any], *, by: str, key: str, why: str = ""
    ) -> Making:
        """Tell what was missing of a material: a late entry that shows both times."""
        request = [code, seq, {name: str(value) for name, value in told.items()}, why]
        self._once(
            "fill material", request, by, key,
            lambda act: making_closing_later.fill_part(act, code, seq, told, why),
        )  # fmt: skip
        return self.record(code)

    def fill(
        self, code: str, *, by: str, key: str, no_carry_over: bool = False,
        produced_at: datetime | None = None, why: str = "",
    ) -> Making:  # fmt: skip
        """Tell what was missing of a lot: that nothing was carried over, or when it was made."""
        self._once(
            "fill making", [code, no_carry_over, produced_at, why], by, key,
            lambda act: making_closing_later.fill(
                act, code, no_carry_over=no_carry_over, produced_at=produced_at, why=why
            ),
        )  # fmt: skip
        return self.record(code)

    def close(self, code: str, *, by: str, key: str) -> Making:
        """Close a record that is whole; else `WrongState` names all that is missing."""
        self._once("close making", code, by, key, lambda act: making_closing.close(act, code))
        return self.record(code)

    def reopen(self, code: str, why: str, *, by: str, key: str) -> Making:
        """Open a closed record again; both lines stay."""
        self._once("reopen making", [code, why], by, key,
                   lambda act: making_closing.reopen(act, code, why))  # fmt: skip
        return self.record(code)

    def record(self, code: str) -> Making:
        """Return one mince lot or batch with its record, or raise `NotFound`."""
        with self._room.store.read() as conn:
            row = making_row(conn, code)
            return load_making(conn, row, self._room.clock.now(), load_settings(conn))

    def mince(self, most: int = 40) -> tuple[Making, ...]:
        """Return the newest mince lots, those that are not closed on top."""
        return self._newest(MINCE, most)

    def batches(self, most: int = 40) -> tuple[Making, ...]:
        """Return the newest batches, those that are not closed on top."""
        return self._newest(BATCH, most)

    def _newest(self, kind: str, most: int) -> tuple[Making, ...]:
        with self._room.store.read() as conn:
            now = self._room.clock.now()
            return load_makings(conn, now, load_settings(conn), kind, most)

    def on_hand(self, species: str | None = None) -> tuple[StockLine, ...]:
        """Return what could go in: own lots with free weight at the places material is taken from.

        What is frozen, past its day, or under the knife, is left out.
        """
        today = self._room.clock.now().date()
        with self._room.store.read() as conn:
            sums = stock_sums(conn)
            rows: Sequence[Any] = conn.execute(
                select(lots, sums.c.place, sums.c.total)
                .join(sums, sums.c.lot_id == lots.c.id)
                .outerjoin(case_lines, case_lines.c.id == lots.c.case_id)
                .where(sums.c.place.in_(making_parts.FROM), sums.c.total > 0,
                       func.coalesce(case_lines.c.form, "") != "frozen")
                .order_by(sums.c.place.desc(), lots.c.since, lots.c.id)
            ).all()  # fmt: skip
            cut = set(conn.scalars(select(breaks.c.lot_id)))
        found: dict[tuple[str, str], StockLine] = {}
        for row in rows:
            past = row.use_by is not None and row.use_by < today
            under = row.place == "block" and row.id in cut
            if past or under or (species is not None and row.species != species):
                continue
            before = found.get((row.id, row.place))
            count = int(row.total) + (before.weight.count if before else 0)
            found[row.id, row.place] = StockLine(
                row.id, row.what, row.species, row.place, row.case_id,
                Weight(count, WeightUnit(row.unit)), row.use_by,
            )  # fmt: skip
        return tuple(found.values())
