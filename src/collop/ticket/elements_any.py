"""What a scanned or typed code holds, whatever its kind.

References
----------
.. [1] Numbers for use inside one region or one company: rules BC049, BC050, BC060, BC061.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from collop.errors import BadValue
from collop.reference.rulebook import rule_row
from collop.ticket.digits import gtin14, verify
from collop.ticket.elements import decode
from collop.ticket.elements_checking import Element
from collop.ticket.elements_reading import GS
from collop.ticket.elements_values import READ_IN
from collop.ticket.variable import STRUCTURES, read_variable

__all__ = ["Fact", "Told", "from_keyboard", "read_code"]

_NUMBERS = {
    8: "GTIN-8",
    12: "GTIN-12, as in a UPC-A",
    13: "GTIN-13, as in an EAN-13",
    14: "GTIN-14",
}
_SSCC = 18
# what a reader says first for a plain retail number
_RETAIL = ("]E0", "]E4")


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing a code says.

    Parameters
    ----------
    name, value : str
        What it is, and what it says.
    code : str
        The part of the code it was read from.
    from_memory : bool
        Whether the rule it was read by is from memory, not checked.
    """

    name: str
    value: str
    code: str
    from_memory: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """What a code holds.

    Parameters
    ----------
    sort : str
        What kind of code it is.
    facts : tuple of Fact
        What it says, in order.
    """

    sort: str
    facts: tuple[Fact, ...]

    def as_json(self) -> dict[str, Any]:
        """Return kind and facts."""
        facts = [
            {"name": one.name, "value": one.value, "code": one.code,
             "status": "memory" if one.from_memory else "seen"}
            for one in self.facts
        ]  # fmt: skip
        return {"valid": True, "kind": self.sort, "facts": facts}


def from_keyboard(text: str) -> str:
    """Return a code as a scanner sends it from one that was typed.

    The separator has no key, so ``{GS}`` and ``<GS>`` may stand for it. A number may be typed with
    the spaces that stand under its bars.
    """
    if re.fullmatch(r"[0-9]+(?: [0-9]+)+", text.strip()):
        return text.strip().replace(" ", "")
    return re.sub(r"\{GS\}|<GS>|\N{SYMBOL FOR GROUP SEPARATOR}", GS, text.strip(" \t\r\n"))


def read_code(text: str, place: str = "us", *, read_in: int = READ_IN) -> Told:
    """Return what a code holds.

    Parameters
    ----------
    text : str
        A number of 8, 12, 13, 14 or 18 digits, an element string as scanned or in brackets, or the
        web address of a trade item.
    place : str
        Whose weighed packs they are: place of a row of `STRUCTURES`.
    read_in : int
        The year it is read in.

    Raises
    ------
    BadValue
        What is wrong with it, in one sentence.

    Examples
    --------
    >>> read_code("200101804990").facts[1].value
    '4.99'
    """
    if place not in {one.place for one in STRUCTURES}:
        places = ", ".join(dict.fromkeys(one.place for one in STRUCTURES))
        raise BadValue(f"{place[:30]!r} is no place known here; use one of {places}.")
    plain = text[3:] if text.startswith(_RETAIL) else text
    if re.fullmatch(r"[0-9]+", plain) and len(plain) in _NUMBERS:
        return _number(plain, place)
    if re.fullmatch(r"[0-9]{18}", plain):
        fact = Fact("logistic unit", verify(plain, "The logistic unit number"), plain)
        return Told("SSCC, a logistic unit", (fact,))
    return Told("element string", tuple(_fact(one) for one in decode(text, read_in=read_in)))


def _fact(element: Element) -> Fact:
    name = re.sub(r"^\(.*?\) ", "", element.title)
    return Fact(
        name, element.decoded, f"({element.ai}) {element.value}", element.status == "memory"
    )


def _number(digits: str, place: str) -> Told:
    """Return what a retail number says: an item, or a weighed pack of the place."""
    as_13 = digits.zfill(13)
    if len(digits) in {12, 13} and as_13.startswith(("02", "2")):
        mine = [one for one in STRUCTURES if one.place == place and as_13.startswith(one.prefixes)]
        if mine:
            return _pack(digits, place)
        fact = Fact("restricted number", verify(digits), digits)
        sort = f"a number for use inside one region; what it says is not known for {place!r}"
        return Told(sort, (fact,))
    fact = Fact("trade item", gtin14(digits), digits)
    # the table gives 40 to 49 too, but countries hold those, so an item of theirs is not refused
    if len(digits) in {12, 13} and as_13.startswith("04"):
        return Told("a number for use inside one company", (fact,))
    return Told(f"trade item number, {_NUMBERS[len(digits)]}", (fact,))


def _pack(digits: str, place: str) -> Told:
    """Return item and price or weight of a weighed pack."""
    found = read_variable(digits, place)
    how = found.structure
    amount = f"{found.amount:f}" + (" kg" if how.measure == "weight" else "")
    memory = rule_row(how.rule_id).status == "memory"
    item = Fact("item", found.item, found.item, memory)
    worth = Fact(how.measure, amount, found.digits, memory)
    return Told(f"weighed pack ({place})", (item, worth))
