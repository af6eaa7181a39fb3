"""What a scanner sends of a ticket where a lot is asked for: a till code, or ticket and lot."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collop.errors import BadValue, NotFound
from collop.ticket.variable import read_variable

if TYPE_CHECKING:
    from collop.shop import Ticket
    from collop.web.forms import Faults
    from collop.web.room import Room

__all__ = ["TillCode", "one_lot", "till_code", "till_instead"]

# a weighed pack's number begins with 2, as 12 digits or as 13 with a leading 0
_TILL = re.compile(r"(?:2[0-9]{11}|02[0-9]{11})")
# as it stands under the bars, and what a reader says before it
_BESIDE = re.compile(r"^\](?:E0|E4)|[ -]")


@dataclass(frozen=True, slots=True)
class TillCode:
    """A till code: it holds item and price, and no lot. `tickets` may bear it, newest first."""

    item: str
    price: str
    tickets: tuple[Ticket, ...]


def till_code(room: Room, text: str) -> TillCode | None:
    """Return what a till code says, with the tickets it may stand on.

    Parameters
    ----------
    room : Room
        The shop.
    text : str
        What was scanned or typed.

    Returns
    -------
    TillCode or None
        None if the text is no till code.

    Raises
    ------
    BadValue
        If its digits are wrong, or no ticket of the shop says so.
    """
    digits = _BESIDE.sub("", text.strip())
    if not _TILL.fullmatch(digits):
        return None
    found = read_variable(digits)
    kept = room.shop.tickets.of_item(found.item, found.amount)
    if not kept:
        raise BadValue(f"This till code says item {found.item} and {found.amount:f}, and no lot; no"
                       " ticket here says so: type the lot beside it on the label.")  # fmt: skip
    return TillCode(found.item, f"{found.amount:f}", tuple(reversed(kept)))


def till_instead(room: Room, text: str, faults: Faults) -> TillCode | None:
    """Return a till code where no lot was found, and note what is wrong with it instead."""
    try:
        found = till_code(room, text)
    except BadValue as error:
        faults.messages["lot"] = error.message
        return None
    if found is not None:
        del faults.messages["lot"]
    return found


def one_lot(room: Room, chosen: str, typed: str) -> str:
    """Return the lot of a pack: the one that was typed or scanned, else the one chosen.

    Parameters
    ----------
    room : Room
        The shop.
    chosen, typed : str
        A lot of the list, and what a scanner sent or somebody typed; either may be empty.

    Raises
    ------
    BadValue
        If they are two different lots.
    """
    if not typed:
        return chosen
    try:
        meant = room.shop.tracing.meant(typed)
    except (BadValue, NotFound):  # the draft says so in its own words
        meant = ()
    lot = meant[0] if len(meant) == 1 else typed
    if chosen and lot != chosen:
        raise BadValue(f"Lot: {chosen[:60]} was chosen and {lot[:60]} typed; choose again and clear"
                       " what is typed, or leave it as it is typed.")  # fmt: skip
    return lot
