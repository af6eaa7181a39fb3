"""One element of a code, and the checks every element and every code must pass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from collop.errors import BadValue
from collop.ticket.elements_pairing import check_pairings
from collop.ticket.elements_values import READ_IN, decoded_value
from collop.ticket.identifiers import identifiers

__all__ = ["Element", "checked"]


@dataclass(frozen=True, slots=True)
class Element:
    """One identifier with its value.

    Parameters
    ----------
    ai : str
        The identifier, e.g. ``3103``.
    value : str
        As in the code, e.g. ``000195``.
    decoded : str
        In words, e.g. ``0.195 kg``.
    title : str
        What it is, e.g. ``net weight, kg``.
    rule_id, status : str
        The row of the table of bar-code rules it was read by; ``memory`` means not checked.
    """

    ai: str
    value: str
    decoded: str
    title: str
    rule_id: str
    status: str

    def as_json(self) -> dict[str, Any]:
        """Return identifier, value and words."""
        return {"ai": self.ai, "value": self.value, "decoded": self.decoded}


def checked(pairs: Sequence[tuple[str, str]], *, read_in: int = READ_IN) -> list[Element]:
    """Return the elements of one code if each is right and all may stand together.

    Raises
    ------
    BadValue
        The first thing that is wrong, in one sentence.
    """
    known, found = identifiers(), []
    for ai, value in pairs:
        if ai not in known:
            raise BadValue(f"({ai[:10]}) is no identifier known here; check the digits.")
        one = known[ai]
        words = decoded_value(one, value, read_in=read_in)
        found.append(Element(ai, value, words, one.title, one.rule_id, one.status))
    check_pairings([element.ai for element in found])
    return found
