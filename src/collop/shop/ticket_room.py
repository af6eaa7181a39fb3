"""Tickets in the shop: tares, what a label says of a line, drafts, and tickets as printed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import astuple
from datetime import date
from decimal import Decimal
from typing import Any

from collop.measures import Money, Weight
from collop.shop import ticket_facts, ticket_keeping, ticket_tares
from collop.shop.acts import Act, Room, once
from collop.shop.quotes import number_in
from collop.shop.settings import load_settings
from collop.shop.ticket_draft import check_facts, check_fits, kernel_plan, make_draft
from collop.shop.ticket_model import (
    LabelFacts,
    LineFacts,
    NewTicket,
    Tare,
    Ticket,
    TicketDraft,
    ticket_id,
)

__all__ = ["TicketRoom"]


class TicketRoom:
    """Tickets. Reached as `Shop.tickets`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do. No ticket
    moves stock: selling does. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    # tares

    def tares(self, *, retired: bool = False) -> tuple[Tare, ...]:
        """Return the tares by name; those used no more only if `retired`."""
        with self._room.store.read() as conn:
            return ticket_tares.load_tares(conn, retired=retired)

    def set_tare(self, name: str, weight: Weight | None, *, by: str, key: str) -> tuple[Tare, ...]:
        """Write what unused, dry packing weighs; see `collop.shop.ticket_tares.set_tare`."""

        def work(act: Act) -> str:
            ticket_tares.set_tare(act, name, weight)
            return name.strip()[:80]

        once(self._room, "tare", [name, weight], by=by, key=key, work=work)
        return self.tares()

    def retire_tare(self, name: str, *, by: str, key: str) -> tuple[Tare, ...]:
        """Take a tare off the list; see `collop.shop.ticket_tares.retire_tare`."""

        def work(act: Act) -> str:
            ticket_tares.retire_tare(act, name)
            return name.strip()[:80]

        once(self._room, "retire tare", name, by=by, key=key, work=work)
        return self.tares()

    # what a label says of a line

    def facts(self, case_id: str) -> LineFacts:
        """Return what the label of a line says, and what it lacks; `NotFound` without a line."""
        with self._room.store.read() as conn:
            return ticket_facts.line_facts(conn, case_id)

    def set_facts(self, case_id: str, facts: LabelFacts, *, by: str, key: str) -> LineFacts:
        """Write the label facts of a line; see `collop.shop.ticket_facts.set_facts`."""

        def work(act: Act) -> str:
            kept = ticket_facts.set_facts(act, case_id, facts)
            check_facts(act.conn, case_id, kept, act.at.date(), act.settings)
            return case_id

        request = [case_id, ticket_facts.facts_as_json(facts)]
        once(self._room, "label facts", request, by=by, key=key, work=work)
        return self.facts(case_id)

    # tickets

    def draft(self, new: NewTicket) -> TicketDraft:
        """Return a ticket as it would be printed, or what it lacks; nothing is written.

        See `collop.shop.ticket_draft.make_draft`.
        """
        with self._room.store.read() as conn:
            draft = make_draft(conn, self._room.clock.now(), load_settings(conn), new)
        if draft.plan is not None:
            check_fits(draft.plan)
        return draft

    def print(self, new: NewTicket, *, by: str, key: str) -> Ticket:
        """Keep a ticket as it is printed; the same key prints once.

        See `collop.shop.ticket_keeping.print_ticket`.
        """

        def work(act: Act) -> str:
            return ticket_id(ticket_keeping.print_ticket(act, new))

        return self.ticket(once(self._room, "ticket", astuple(new), by=by, key=key, work=work))

    def again(self, name: str, *, by: str, key: str) -> Ticket:
        """Print a ticket once more, as it was; see `collop.shop.ticket_keeping.note_again`."""
        number = number_in("T", name, "ticket")

        def work(act: Act) -> str:
            ticket_keeping.note_again(act, number)
            return ticket_id(number)

        return self.ticket(once(self._room, "ticket again", number, by=by, key=key, work=work))

    def void(self, name: str, why: str, *, by: str, key: str) -> Ticket:
        """Make a ticket void; see `collop.shop.ticket_keeping.void_ticket`."""
        number = number_in("T", name, "ticket")

        def work(act: Act) -> str:
            ticket_keeping.void_ticket(act, number, why)
            return ticket_id(number)

        request = [number, why]
        return self.ticket(once(self._room, "ticket void", request, by=by, key=key, work=work))

    def ticket(self, name: str) -> Ticket:
        """Return a ticket by its id, such as ``T12``, or raise `NotFound`."""
        number = number_in("T", name, "ticket")
        with self._room.store.read() as conn:
            return ticket_keeping.load_ticket(conn, number, load_settings(conn))

    def tickets_of(
        self, *, lot: str | None = None, booking: str | None = None
    ) -> tuple[Ticket, ...]:
        """Return the tickets of a lot, or those of a booking, oldest first, void ones too."""
        number = None if booking is None else number_in("H", booking, "booking")
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            if number is not None:
                found = ticket_keeping.tickets_of_booking(conn, number, chosen)
                return tuple(one for one in found if lot is None or one.lot == lot)
            return ticket_keeping.tickets_of_lot(conn, lot or "", chosen)

    def on(self, day: date) -> tuple[Ticket, ...]:
        """Return the tickets first printed on a day, oldest first, void ones too."""
        with self._room.store.read() as conn:
            return ticket_keeping.tickets_of_day(conn, day, load_settings(conn))

    def today(self) -> tuple[Ticket, ...]:
        """Return the tickets first printed today, oldest first, void ones too."""
        return self.on(self._room.clock.now().date())

    def of_item(self, item: str, total: Decimal) -> tuple[Ticket, ...]:
        """Return the tickets with an item number and a sum, as a till code says; oldest first."""
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            found = ticket_keeping.tickets_of_total(conn, Money.of(total, chosen.currency), chosen)
        return tuple(one for one in found if one.problem["product"].get("item") == item)

    @staticmethod
    def plan(ticket: Ticket) -> Mapping[str, Any]:
        """Return the plan of a ticket, worked out from the problem it was printed from."""
        return kernel_plan(ticket.problem)
