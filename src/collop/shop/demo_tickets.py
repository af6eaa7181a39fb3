"""Labels, tares and Monday evening's tickets of the demo week: invented, as all of the demo.

The trade item numbers are made with the prefix that is kept for demonstrations; they are nobody's.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time
from decimal import Decimal

from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.demo_rail import demo_table
from collop.shop.ticket_facts import set_facts
from collop.shop.ticket_keeping import print_ticket, void_ticket
from collop.shop.ticket_model import LabelFacts, NewTicket
from collop.shop.ticket_tares import set_tare

__all__ = ["seed_labels", "seed_tickets"]

_LB = WeightUnit.LB


def _listed(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(";") if word.strip())


def _percent(text: str) -> Decimal | None:
    return Decimal(text) if text else None


def _facts(row: dict[str, str]) -> LabelFacts:
    none_declared = row["contains"] == "none"
    return LabelFacts(
        product_class=row["class"], item=row["item"], gtin=row["gtin"],
        ingredients=_listed(row["ingredients"]) or None,
        contains=() if none_declared else _listed(row["contains"]),
        lean_pct=_percent(row["lean_pct"]), fat_pct=_percent(row["fat_pct"]),
        tenderised=row["tenderised"], previously_frozen=row["previously_frozen"] == "yes",
        vacuum=row["vacuum"] == "yes", origin=row["origin"] or None,
        every_stage=bool(row["origin"]),
    )  # fmt: skip


def seed_labels(act: Act) -> None:
    """Write what the label of each line says, and what the packing weighs."""
    for row in demo_table("labels.csv"):
        set_facts(act, row["case_id"], _facts(row))
    for row in demo_table("tares.csv"):
        set_tare(act, row["name"], Weight.of(row["lb"], _LB))


def seed_tickets(act: Act) -> None:
    """Print Monday evening's tickets: packs for the case, and for bookings of the week."""
    for row in demo_table("tickets.csv"):
        at = datetime.combine(act.at.date(), time.fromisoformat(row["at"]))
        then = replace(act, at=at, by=row["by"])
        number = print_ticket(then, NewTicket(
            case_id=row["case_id"], gross=Weight.of(row["gross_lb"], _LB), tare=row["tare"],
            lot=row["lot"], booking_line=row["booking_line"] or None,
            codes=_listed(row["codes"]) or None,
        ), look=False)  # fmt: skip
        if row["void"]:
            void_ticket(then, number, row["void"])
