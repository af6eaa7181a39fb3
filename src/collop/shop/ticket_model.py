"""Tickets as the shop hands them out: tares, facts of a label, drafts and printed tickets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from collop.measures import Money, UnitPrice, Weight

__all__ = [
    "NO_PACKING",
    "FactsChange",
    "LabelFacts",
    "LineFacts",
    "Missing",
    "NewTicket",
    "OfferedLot",
    "Scale",
    "Tare",
    "Ticket",
    "TicketDraft",
    "TicketEvent",
    "ticket_id",
]

#: Named instead of a tare by who sells without any packing.
NO_PACKING = "no packing"


def ticket_id(number: int) -> str:
    """Return the id that stands on a ticket, e.g. ``T12``."""
    return f"T{number}"


@dataclass(frozen=True, slots=True)
class Tare:
    """The dry weight of unused packing: tray, pad, film and label together."""

    name: str
    weight: Weight
    retired: bool
    at: datetime
    by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelFacts:
    """What the label of a case line must say beyond the board.

    None is "nobody told", never "none": an empty `contains` says that no allergen is declared.

    Parameters
    ----------
    product_class : str or None
        One of `collop.rules.labelling.CLASSES`.
    item : str or None
        Five digits of the shop's own bar code; one line has it alone.
    gtin : str or None
        Trade item number, 14 digits.
    ingredients : tuple of str or None
        In descending order of weight; None for a single ingredient.
    contains : tuple of str or None
        Declared allergens.
    lean_pct, fat_pct : Decimal or None
        Of mince, in percent.
    tenderised : str
        ``no``, ``mechanically``, ``blade`` or ``needle``.
    previously_frozen, vacuum : bool
        Thawed for sale; packed without air.
    origin : str or None
        Country told; `origin_words` is how the label puts it, if not plainly.
    every_stage : bool
        Whether it was born, raised, slaughtered and processed there: a claim rests on it.
    tax_class : str or None
        Name of one of the shop's own tax classes.
    """

    product_class: str | None = None
    item: str | None = None
    gtin: str | None = None
    ingredients: tuple[str, ...] | None = None
    contains: tuple[str, ...] | None = None
    lean_pct: Decimal | None = None
    fat_pct: Decimal | None = None
    tenderised: str = "no"
    previously_frozen: bool = False
    vacuum: bool = False
    origin: str | None = None
    origin_words: str = ""
    every_stage: bool = False
    tax_class: str | None = None


@dataclass(frozen=True, slots=True)
class Missing:
    """What a ticket lacks: the element, one sentence, and where it is put right.

    `place` is ``ticket`` for the ticket itself, ``facts`` for the label facts of the line,
    ``tares`` for the list of tares, and ``price`` for the board.
    """

    element: str
    words: str
    place: str


@dataclass(frozen=True, slots=True)
class FactsChange:
    """What was told of a line's label at one time, and by whom."""

    facts: LabelFacts
    at: datetime
    by: str | None


@dataclass(frozen=True, slots=True)
class LineFacts:
    """A case line and its label facts: told, or as far as its name and meat give them.

    `changes` has everything that was ever told, the newest first.
    """

    case_id: str
    name: str
    species: str
    facts: LabelFacts
    is_told: bool
    missing: tuple[Missing, ...]
    changes: tuple[FactsChange, ...]


@dataclass(frozen=True, slots=True)
class Scale:
    """What stands on the plate of the scale: its smallest step, and the most it weighs."""

    division: Weight
    capacity: Weight


@dataclass(frozen=True, slots=True, kw_only=True)
class NewTicket:
    """A ticket somebody wants.

    Parameters
    ----------
    case_id : str
        The line it is for.
    gross : Weight or None
        What the scale says with the packing, in the shop's legal unit.
    tare : str or None
        Name of a tare, or `NO_PACKING`.
    lot : str or None
        The lot in the pack. The oldest is offered by name, never taken for granted.
    booking_line : str or None
        Such as ``H2-1``: the price is then the one that was promised.
    size, dpi : str, int
        Form of the ticket and dots per inch of the printer.
    codes : tuple of str or None
        Kinds of bar code; None for the usual ones of the line.
    scale : Scale or None
        Left out, the usual scale of the legal unit.
    """

    case_id: str
    gross: Weight | None = None
    tare: str | None = None
    lot: str | None = None
    booking_line: str | None = None
    size: str = "58x60"
    dpi: int = 203
    codes: tuple[str, ...] | None = None
    scale: Scale | None = None


@dataclass(frozen=True, slots=True)
class OfferedLot:
    """A lot that may be in the pack: what of it is in the case or held, and its last day."""

    id: str
    weight: Weight
    use_by: date | None
    since: datetime


@dataclass(frozen=True, slots=True)
class TicketDraft:
    """A ticket before it is printed.

    `plan` is None as long as something is missing. `lots` are those that may be in the pack, the
    oldest first. `cautions` block nothing. `line_row` is the row of the booking line it is for.
    """

    new: NewTicket
    name: str
    lots: tuple[OfferedLot, ...]
    problem: Mapping[str, Any]
    plan: Mapping[str, Any] | None
    missing: tuple[Missing, ...]
    cautions: tuple[str, ...] = ()
    line_row: int | None = None

    def why_not(self) -> str:
        """Return one sentence that names everything missing; empty if the ticket can be printed."""
        if not self.missing:
            return ""
        names = [one.element for one in self.missing]
        told = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
        ways = " ".join(one.words for one in self.missing)
        return f"The ticket is not printed, for want of {told}: {ways}"


@dataclass(frozen=True, slots=True)
class TicketEvent:
    """Something that happened to a ticket: ``printed`` or ``void``."""

    what: str
    why: str
    at: datetime
    by: str | None


@dataclass(frozen=True, slots=True)
class Ticket:
    """A ticket as it was printed. `problem` is what it was printed from."""

    number: int
    case_id: str
    name: str
    lot: str
    booking_line: str | None
    net: Weight
    tare: Weight
    price: UnitPrice
    total: Money
    at: datetime
    by: str | None
    problem: Mapping[str, Any] = field(repr=False)
    events: tuple[TicketEvent, ...] = ()

    @property
    def id(self) -> str:
        """Return its id, e.g. ``T12``."""
        return ticket_id(self.number)

    @property
    def void(self) -> TicketEvent | None:
        """Return when and why it was made void; None while it stands."""
        return next((one for one in self.events if one.what == "void"), None)

    @property
    def times(self) -> int:
        """Return how often it was printed."""
        return sum(1 for one in self.events if one.what == "printed")
