"""Freezer orders as a service: what may be had, what it would come to, booked, packed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select

from collop.carcass.freezer import freezer_order
from collop.errors import NotFound
from collop.measures import Money, WeightUnit
from collop.shop.acts import Room, once
from collop.shop.case import load_case
from collop.shop.freezer_model import (
    FreezerOrder,
    FreezerPiece,
    Given,
    NewFreezerOrder,
    Packed,
    PackedFrom,
)
from collop.shop.freezer_pieces import freezer_pieces, given_below, one_piece, packed_from
from collop.shop.freezer_writing import book_order, newest_row, settle_order
from collop.shop.hook import load_booking
from collop.shop.quotes import number_in
from collop.shop.settings import load_settings
from collop.shop.week_tables import freezer_orders

__all__ = ["FreezerRoom"]


class FreezerRoom:
    """A household's half or quarter, from the first choice to its packs. Reached as `Shop.freezer`.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def pieces(self) -> tuple[FreezerPiece, ...]:
        """Return what hangs and what waits on the block, oldest first."""
        with self._room.store.read() as conn:
            return freezer_pieces(conn)

    def piece(self, tag: str) -> FreezerPiece:
        """Return one piece, or raise `NotFound`."""
        with self._room.store.read() as conn:
            return one_piece(conn, tag)

    def part(
        self, tag: str, share: str = "1/2", choices: Sequence[Mapping[str, Any]] = (), *,
        take: str = "", more: Mapping[str, Any] | None = None,
    ) -> dict[str, Any]:  # fmt: skip
        """Return one part of a problem: a share of a piece that is there, or `take` of its weight.

        Parameters
        ----------
        tag : str
            A rail tag, or a lot on the block.
        share, take : str
            ``1/2``, or a weight in the shop's legal unit; `take` goes before `share`.
        choices : sequence of mapping
            As in the contract.
        more : mapping, optional
            Further keys of the part: mince, bones, fat, price.
        """
        with self._room.store.read() as conn:
            unit = load_settings(conn).legal_unit
        piece = self.piece(tag)
        found: dict[str, Any] = {
            "tag": tag, "species": piece.species, "piece": piece.piece,
            "weight": f"{piece.weight.decimal(unit, 11).normalize():f}",
            "weight_is": "hot" if piece.is_hot else "cold", "trimmed": piece.trimmed,
            "choices": [dict(one) for one in choices],
        }  # fmt: skip
        found |= {"take": take} if take else {"share": share}
        if piece.large_cuts:
            found["large_cuts"] = list(piece.large_cuts)
        return found | dict(more or {})

    def problem(
        self, parts: Sequence[Mapping[str, Any]], *, name: str = "",
        fees: Sequence[Mapping[str, Any]] = (),
    ) -> dict[str, Any]:  # fmt: skip
        """Return the ``collop.freezer/1`` problem of parts, with the fresh lines of the board."""
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            case = load_case(conn, self._room.clock.now(), chosen)
        unit = chosen.legal_unit
        board = [
            {"name": line.name, "species": line.species,
             "price_per_unit": str(line.price.amount)}
            for line in case
            if line.form == "fresh" and not line.contains and line.price.per == unit
        ]  # fmt: skip
        return {
            "schema": "collop.freezer/1", "name": name, "unit": unit.value,
            "currency": chosen.currency, "rounding": str(chosen.rounding),
            "parts": [dict(part) for part in parts], "fees": [dict(fee) for fee in fees],
            "board": board,
        }  # fmt: skip

    def draft(
        self, tag: str, share: str = "1/2", choices: Sequence[Mapping[str, Any]] = (), *,
        take: str = "", more: Mapping[str, Any] | None = None,
        fees: Sequence[Mapping[str, Any]] = (),
    ) -> dict[str, Any]:  # fmt: skip
        """Return the plan of a share of one piece; nothing is written."""
        part = self.part(tag, share, choices, take=take, more=more)
        return freezer_order(self.problem([part], fees=fees))

    def order(self, new: NewFreezerOrder, *, by: str, key: str) -> FreezerOrder:
        """Book an order; see `collop.shop.freezer_writing.book_order`."""
        answer = once(self._room, "freezer order", new, by=by, key=key,
                      work=lambda act: book_order(act, new))  # fmt: skip
        return self.of_booking(answer)

    def of_booking(self, booking_id: str) -> FreezerOrder:
        """Return the newest freezer order of a booking, or raise `NotFound`."""
        number = number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            booking = load_booking(conn, number, chosen)
            row = newest_row(conn, number)
        if row is None:
            raise NotFound(f"{booking.id} has no freezer order; make one first.", where="booking")
        return FreezerOrder(
            booking, row.problem, row.plan, Money(row.total, chosen.currency), row.at, row.by_id,
            row.at if row.plan["is_weighed"] else None,
        )  # fmt: skip

    def orders(self) -> tuple[FreezerOrder, ...]:
        """Return the newest order of each booking that still holds, soonest collected first."""
        with self._room.store.read() as conn:
            numbers = conn.scalars(select(freezer_orders.c.booking_number).distinct()).all()
        found = [self.of_booking(f"H{number}") for number in numbers]
        waiting = [one for one in found if one.booking.state.holds]
        return tuple(sorted(waiting, key=lambda one: one.booking.collect_at))

    def given(self) -> Mapping[str, tuple[Given, ...]]:
        """Return what orders that are not packed yet have of each piece and what was cut of it."""
        with self._room.store.read() as conn:
            return given_below(conn)

    def packed_from(self, tag: str) -> tuple[PackedFrom, ...]:
        """Return the free lots that came from a piece."""
        with self._room.store.read() as conn:
            return packed_from(conn, tag)

    def settle(
        self, booking_id: str, packed: Mapping[int, Sequence[Packed]], *, by: str, key: str
    ) -> FreezerOrder:
        """Take the weighed packs of an order; see `collop.shop.freezer_writing.settle_order`."""
        number = number_in("H", booking_id, "booking")
        request = [number, [[at, list(lines)] for at, lines in sorted(packed.items())]]
        once(self._room, "freezer packs", request, by=by, key=key,
             work=lambda act: settle_order(act, number, packed))  # fmt: skip
        return self.of_booking(booking_id)

    def unit(self) -> WeightUnit:
        """Return the unit that orders are written in: the shop's legal one."""
        with self._room.store.read() as conn:
            return load_settings(conn).legal_unit
