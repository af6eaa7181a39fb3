"""A ticket before it is printed: facts from the shop's books, and all that is missing, at once."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from math import isqrt
from typing import Any

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, PlanRejected, ProblemError, WrongState
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop.board import price_from
from collop.shop.day_tables import ticket_events, tickets
from collop.shop.knife_tables import lot_links
from collop.shop.ledger import free_lots
from collop.shop.lots import places_of
from collop.shop.model import Settings
from collop.shop.rule_choices import load_rule_choices
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries, lots
from collop.shop.ticket_facts import case_row, line_facts, missing_facts
from collop.shop.ticket_model import (
    NO_PACKING,
    LabelFacts,
    Missing,
    NewTicket,
    OfferedLot,
    TicketDraft,
)
from collop.shop.ticket_problem import (
    BookedLine,
    Parts,
    board_price,
    booked_line,
    problem_of,
)
from collop.shop.ticket_tares import standing_tare

__all__ = ["check_facts", "check_fits", "kernel_plan", "make_draft"]

# classes that are made of several ingredients
_MIXED = ("raw sausage", "raw marinated")
# how many standard errors of the scale the packs of a lot may be over it before it is no error
_ERRORS = 3
#: Where a refusal of the kernel is put right, by the start of its path.
_PLACES = (
    ("$.weight.", ""), ("$.form", "size"), ("$.codes", "codes"), ("$.lot", "lot"),
    ("$.price", "price"), ("$.product", "facts"), ("$.use_by", "lot"), ("$.packed", "lot"),
)  # fmt: skip


def make_draft(
    conn: Connection, at: datetime, chosen: Settings, new: NewTicket, *, number: int | None = None
) -> TicketDraft:
    """Return a ticket as it would be printed, or what it lacks.

    Parameters
    ----------
    conn : Connection
        Reading or writing connection.
    at : datetime
        Now: the day of packing, and whose board price counts.
    chosen : Settings
        The shop's.
    new : NewTicket
        What somebody wants.
    number : int, optional
        Of the ticket, when it is printed.

    Raises
    ------
    BadValue
        If a figure cannot be, or the lot never had so much.
    NotFound
        If there is no such line, lot, tare or booking.
    WrongState
        If the lot is past its use-by, or the booking is off.
    """
    line, told = case_row(conn, new.case_id), line_facts(conn, new.case_id)
    if new.gross is not None and new.gross.unit is not chosen.legal_unit:
        raise BadValue(f"Gross: tickets here are in {chosen.legal_unit}; give the weight in it.",
                       where="gross")  # fmt: skip
    booked = booked_line(conn, new.booking_line, chosen) if new.booking_line else None
    if booked is not None and new.case_id not in {booked.case_id, *booked.made}:
        raise BadValue(f"{booked.name} is for {booked.case_id}, not for {new.case_id}; choose the"
                       " line that was promised.", where="booking_line")  # fmt: skip
    lot = _checked_lot(conn, new, at.date())
    tare = _tare(conn, new, chosen)
    price = (
        board_price(conn, new.case_id, at, chosen.currency)
        if booked is None
        else booked.price_as(new.case_id)
    )
    parts = Parts(line, told.facts, price, tare, None if lot is None else lot.use_by, at.date(),
                  load_rule_choices(conn))  # fmt: skip
    offered = _offered(conn, new.case_id, booked, at.date())
    missing = (*_missing(new, parts, offered), *told.missing, *_unlisted(told.facts, parts))
    problem = problem_of(conn, new, parts, chosen, number=number)
    plan = None if missing else kernel_plan(problem)
    cautions: tuple[str, ...] = ()
    if plan is not None and lot is not None:
        net = _checked_money(plan, problem, chosen)
        _within_lot(conn, lot, net, chosen)
        cautions = (*_cautions(conn, lot, net, booked), *_heeded(new, parts, lot, booked))
    row_id = None if booked is None else booked.row_id
    return TicketDraft(new, line.name, offered, problem, plan, missing, cautions, row_id)


def _checked_lot(conn: Connection, new: NewTicket, today: date) -> AnyRow | None:
    if new.lot is None:
        return None
    row = conn.execute(select(lots).where(lots.c.id == new.lot)).first()
    if row is None:
        raise NotFound(f"There is no lot {new.lot[:60]!r}; choose one of the line's.", where="lot")
    if row.case_id != new.case_id:
        raise BadValue(f"{row.id} is {row.what} and no lot of {new.case_id}; choose one of the"
                       " line's.", where="lot")  # fmt: skip
    if row.use_by is not None and row.use_by < today:
        raise WrongState(f"{row.id} was to be used by {row.use_by}: print no ticket for it, and"
                         " do not sell it.", where="lot")  # fmt: skip
    return row


def _tare(conn: Connection, new: NewTicket, chosen: Settings) -> Weight | None:
    if new.tare is None or not new.tare.strip():
        return None
    if new.tare.strip().casefold() == NO_PACKING:
        return Weight.zero(chosen.legal_unit)
    return standing_tare(conn, new.tare).weight


def _offered(
    conn: Connection, case_id: str, booked: BookedLine | None, today: date
) -> tuple[OfferedLot, ...]:
    """Return the lots that may be in the pack: what a booking holds first, then the oldest."""
    found = {one.id: one.count for one in free_lots(conn, case_id, today)}
    held = () if booked is None else booked.lots
    names = list(dict.fromkeys([*held, *found]))
    rows = {row.id: row for row in conn.execute(select(lots).where(lots.c.id.in_(names)))}
    unit = {name: WeightUnit(row.unit) for name, row in rows.items()}
    offered = []
    for name in names:
        row = rows[name]
        if row.case_id != case_id or (row.use_by is not None and row.use_by < today):
            continue
        count = found.get(name, 0)
        if name in held:
            count = sum(places_of(conn, name).get(place, 0) for place in ("case", "booked"))
        offered.append(OfferedLot(name, Weight(count, unit[name]), row.use_by, row.since))
    return tuple(offered)


def _missing(new: NewTicket, parts: Parts, offered: tuple[OfferedLot, ...]) -> list[Missing]:
    found = []
    if new.gross is None:
        found.append(Missing("weight", "Gross: put the pack on the scale.", "ticket"))
    if new.lot is None:
        words = "Lot: not told, and nothing of the line is in the case; put its lot away first."
        if offered:
            oldest = offered[0].id
            words = f"Lot: not told; the oldest there is {oldest}: confirm it, or choose another."
        found.append(Missing("lot", words, "ticket"))
    if parts.tare is None:
        words = f"Tare: not told; choose the packing, or {NO_PACKING!r}."
        found.append(Missing("tare", words, "ticket"))
    if parts.price is None:
        found.append(Missing("price", "Price: the line is not on the board; put its price up.",
                             "price"))  # fmt: skip
    return found


def _unlisted(facts: LabelFacts, parts: Parts) -> list[Missing]:
    found = []
    if facts.product_class in _MIXED and not facts.ingredients:
        words = f"Ingredients: {facts.product_class} is made of several; list them by weight."
        found.append(Missing("list of ingredients", words, "facts"))
    if facts.vacuum and parts.use_by is None and parts.tare is not None:
        words = "Last day: the lot has none, and a vacuum pack needs one."
        found.append(Missing("last day", words, "ticket"))
    return found


def kernel_plan(problem: Mapping[str, Any]) -> dict[str, Any]:
    """Return the plan of a ticket problem.

    Raises
    ------
    BadValue
        What the kernel refuses, in the words of the page, with the field in `where`.
    """
    from collop.ticket import ticket  # noqa: PLC0415 -- its tables are read when first asked

    try:
        plan: dict[str, Any] = ticket(dict(problem))
    except ProblemError as error:
        raise BadValue(_plainly(error.message), where=_field(error.where)) from None
    return plan


def check_fits(plan: Mapping[str, Any]) -> None:
    """Refuse a ticket that has no room on its form, before it gets a number.

    Raises
    ------
    BadValue
        With a form or a code that has room.
    """
    from collop.ticket.layout import layout  # noqa: PLC0415 -- fonts are read when first asked

    try:
        layout(plan)
    except ProblemError as error:
        raise BadValue(_plainly(error.message), where="size") from None


def check_facts(conn: Connection, case_id: str, facts: LabelFacts, today: date,
                chosen: Settings) -> None:  # fmt: skip
    """Refuse label facts that no ticket could be printed with, when they are told.

    What is still missing is no fault here: the ticket will name it.

    Raises
    ------
    BadValue
        With the name of the fact in `where`.
    """
    row = case_row(conn, case_id)
    unit = chosen.legal_unit
    codes = (*(("upc-a",) if facts.item else ()), *(("gs1-128",) if facts.gtin else ()))
    new = NewTicket(case_id=case_id, gross=Weight.of(1, unit), lot="1", size="4x6", codes=codes)
    price = UnitPrice.of("9.00", unit, chosen.currency)
    parts = Parts(row, facts, price, Weight.zero(unit), today + timedelta(days=1), today,
                  load_rule_choices(conn))  # fmt: skip
    if missing_facts(conn, row, facts) or _unlisted(facts, parts):
        return
    from collop.ticket import ticket  # noqa: PLC0415 -- its tables are read when first asked

    try:
        ticket(problem_of(conn, new, parts, chosen, number=None))
    except ProblemError as error:
        raise BadValue(_plainly(error.message), where=_fact(error.where)) from None


def _fact(where: str) -> str:
    name = re.sub(r"^\$\.product\.([a-z_]+).*", r"\1", where)
    name = {"class": "product_class"}.get(name, name)
    return name if name in LabelFacts.__slots__ else "product_class"


def _plainly(message: str) -> str:
    plain = re.sub(r"\$\.(?:product\.|weight\.|price\.|form\.)?", "", message)
    return plain[:1].upper() + plain[1:]


def _field(where: str) -> str:
    for start, field in _PLACES:
        if where.startswith(start):
            return field or where.removeprefix(start)
    return where if where in {"gross", "tare", "division", "capacity", "price"} else "ticket"


def _checked_money(plan: Mapping[str, Any], problem: Mapping[str, Any], chosen: Settings) -> Weight:
    """Return the net weight, once the money is what board and slip say for it.

    Raises
    ------
    PlanRejected
        If the total is not net weight times price by the shop's rule.
    """
    net = Weight.of(plan["net"], chosen.legal_unit)
    price: UnitPrice = price_from(problem["price"]["amount"], problem["price"]["per"],
                                  chosen.currency)  # fmt: skip
    total = price.line(net, chosen.rounding)
    if Money.of(plan["total"], chosen.currency) != total:
        raise PlanRejected(f"The ticket says {plan['total']} where the slip says {total}; nothing"
                           " was printed.")  # fmt: skip
    return net


def _ticketed(conn: Connection, these: ColumnElement[bool]) -> tuple[int, int]:
    """Return how many of these tickets stand, and the weight on them."""
    void = select(ticket_events.c.ticket_number).where(ticket_events.c.what == "void")
    row = conn.execute(
        select(func.count(tickets.c.number), func.coalesce(func.sum(tickets.c.net), 0)).where(
            these, tickets.c.number.not_in(void)
        )
    ).one()
    return int(row[0]), int(row[1])


def _ever_had(conn: Connection, lot_id: str) -> int:
    """Return all that ever came into a lot, in counts: what is or went somewhere, and was cut."""
    now = conn.scalar(
        select(func.sum(ledger_entries.c.delta)).where(ledger_entries.c.lot_id == lot_id)
    )
    cut = conn.scalar(select(func.sum(lot_links.c.count)).where(lot_links.c.parent_id == lot_id))
    return int(now or 0) + int(cut or 0)


def _within_lot(conn: Connection, lot: AnyRow, net: Weight, chosen: Settings) -> None:
    """Refuse a ticket if the tickets of its lot then weigh more than the lot ever did.

    Each pack is a reading of its own, so three standard errors of the scale are allowed for all.
    """
    count, weight = _ticketed(conn, tickets.c.lot_id == lot.id)
    had, unit = _ever_had(conn, lot.id), WeightUnit(lot.unit)
    slack = _ERRORS * isqrt(chosen.scale_step.count**2 * (count + 2))
    if weight + net.count > had + slack:
        raise BadValue(
            f"{lot.id} weighed {Weight(had, unit).text()} in all, and its tickets would say"
            f" {Weight(weight + net.count, unit).text()}; make the wrong ones void, or choose"
            " another lot.", where="lot",
        )  # fmt: skip


def _cautions(
    conn: Connection, lot: AnyRow, net: Weight, booked: BookedLine | None
) -> tuple[str, ...]:
    found = []
    places, unit = places_of(conn, lot.id), WeightUnit(lot.unit)
    there = places.get("case", 0) + (0 if booked is None else places.get("booked", 0))
    if net.count > there:
        left = Weight(max(0, there), unit).text()
        found.append(f"{lot.id} has {left} left in the case, and the ticket says {net.text()}.")
    if booked is not None and booked.lots and lot.id not in booked.lots:
        found.append(f"{booked.name} holds {', '.join(booked.lots)}, and the ticket says {lot.id}.")
    if booked is not None and booked.weighed is not None and booked.weighed != net:
        found.append(f"The slip of {booked.name} says {booked.weighed.text()}, and the ticket"
                     f" {net.text()}.")  # fmt: skip
    if booked is not None:
        told = _ticketed(conn, tickets.c.booking_line_id == booked.row_id)[1]
        if told >= booked.weight.count:
            already = Weight(told, booked.weight.unit).text()
            found.append(f"{booked.name} was booked at {booked.weight.text()}, and {already} is on"
                         " its tickets already.")  # fmt: skip
    return tuple(found)


def _heeded(
    new: NewTicket, parts: Parts, lot: AnyRow, booked: BookedLine | None
) -> tuple[str, ...]:
    """Return what no figure tells: a pack past its day when collected, a vacuum nobody told of."""
    found = []
    if booked is not None and lot.use_by is not None and lot.use_by < booked.collect_on:
        found.append(f"{lot.id} is to be used by {lot.use_by}, and {booked.name} is collected on"
                     f" {booked.collect_on}: take another lot, or freeze it.")  # fmt: skip
    # only a name tells: an unheard-of vacuum pack would lack the days such a pack may be kept
    if "vacuum" in (new.tare or "").casefold() and not parts.facts.vacuum:
        found.append(f"The packing is {new.tare}, and the label does not say vacuum pack: change"
                     " the label, or the packing.")  # fmt: skip
    return tuple(found)
