"""The moves worth most for stock in its last days: what the case page shows and what it puts up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time
from decimal import Decimal
from typing import TYPE_CHECKING

from collop.errors import BadValue
from collop.measures import UnitPrice, minor_places
from collop.shop import NewPrice
from collop.web.chalk_acts import put_up
from collop.web.chalk_form import Change, per_unit
from collop.web.forms import Faults, Fields, read_amount
from collop.web.hook import read_who

if TYPE_CHECKING:
    from collop.shop import Move
    from collop.web.room import Room

__all__ = ["Panel", "Shown", "mark_down", "panel_of"]

#: What the button says where no price helps; it leads to the line of the lock-up, filled in.
_DO = {"freeze": "Freeze it", "convert": "Send it to the trim bin"}


@dataclass(frozen=True, slots=True)
class Shown:
    """One move, and the price its button names per legal unit; empty if no price helps.

    `do` is what the button of another use says, `weight` how much of it in the legal unit.
    """

    move: Move
    price: str
    do: str = ""
    weight: str = ""


@dataclass(frozen=True, slots=True)
class Panel:
    """The moves as the case page shows them; closed before their hour unless looked at early."""

    is_open: bool
    starts: time
    moves: tuple[Shown, ...] = ()


def panel_of(room: Room, *, wanted: bool) -> Panel:
    """Return the moves if it is time for them, or if somebody wants to look now."""
    chosen = room.shop.settings()
    if not wanted and room.now().time() < chosen.moves_from:
        return Panel(is_open=False, starts=chosen.moves_from)
    moves = tuple(
        Shown(move, "" if move.price is None else per_unit(move.price, chosen.legal_unit),
              do="" if move.price else _DO.get(move.way, ""),
              weight=f"{move.weight.decimal(chosen.legal_unit, 2)} {chosen.legal_unit}")
        for move in room.shop.chalk.moves()
    )  # fmt: skip
    return Panel(is_open=True, starts=chosen.moves_from, moves=moves)


def mark_down(room: Room, fields: Fields, faults: Faults) -> str:
    """Put up the price of the button that was touched; return what nobody can put right.

    Parameters
    ----------
    room : Room
        The shop behind the page.
    fields : Fields
        ``line`` is the touched line, ``price-`` and its id the price it named.
    faults : Faults
        Takes what a person can put right.
    """
    chosen, case_id = room.shop.settings(), fields.one("line")
    by = faults.take("by", lambda: read_who(room, fields), "")
    line = next((one for one in room.shop.case() if one.id == case_id), None)
    if line is None:
        faults.add("by", "Mark down: that line is not in the case; look at the moves again.")
    text = fields.one(f"price-{case_id}")
    amount = faults.take("by", lambda: _price(text, chosen.currency), None)
    if faults or amount is None or line is None:
        return ""
    change = Change(by, why_of(line.days_left), None)
    new = NewPrice(case_id, UnitPrice.of(amount, chosen.legal_unit, chosen.currency))
    return put_up(room, [new], change, fields, faults, where={case_id: "by"})


def _price(text: str, currency: str) -> Decimal:
    if not text:
        raise BadValue("Mark down: touch the button of the line that gets the new price.")
    return read_amount(text, "Mark down", places=minor_places(currency))


def why_of(days_left: int | None) -> str:
    """Return the reason kept with a mark-down."""
    if not days_left:
        return "mark-down, last day"
    return f"mark-down, {days_left} {'day' if days_left == 1 else 'days'} left"
