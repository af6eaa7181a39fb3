"""Element strings: what a GS1 bar code holds, read and written.

::

    transmitted  0190614141000015320200024439221584
    in brackets  (01)90614141000015(3202)000244(3922)1584
    in words     90614141000015, 2.44 lb, 15.84

References
----------
.. [1] Identifiers: rules BC071 to BC103; which may stand together: BC104 to BC112.
.. [2] Fixed lengths first, one open length last, so that no separator is needed: rule BC126, from
   memory, not checked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from collop.errors import BadValue
from collop.ticket.digits import check_digit, full, gtin14, verify
from collop.ticket.elements_checking import Element, checked
from collop.ticket.elements_reading import GS, bracketed, pairs_of, transmitted
from collop.ticket.elements_values import READ_IN
from collop.ticket.identifiers import identifiers
from collop.ticket.links import digital_link, is_link, read_link
from collop.ticket.variable import price_verifier, variable_ean, variable_upc

__all__ = [
    "GS",
    "Element",
    "ElementString",
    "check_digit",
    "decode",
    "digital_link",
    "encode",
    "full",
    "gtin14",
    "price_verifier",
    "read_link",
    "variable_ean",
    "variable_upc",
    "verify",
]

_KEYS = ("00", "01", "02")
_MOST_ELEMENTS = 60


@dataclass(frozen=True, slots=True)
class ElementString:
    """An element string in both its forms.

    Parameters
    ----------
    element_string : str
        In brackets, as printed under a bar code.
    transmitted : str
        As a scanner sends it, without symbology identifier; the separator is `GS`.
    elements : tuple of Element
        What it holds, in order.
    """

    element_string: str
    transmitted: str
    elements: tuple[Element, ...]

    def as_json(self) -> dict[str, str]:
        """Return both forms."""
        return {"element_string": self.element_string, "transmitted": self.transmitted}


def decode(text: str, *, read_in: int = READ_IN) -> list[Element]:
    """Return what an element string holds.

    Parameters
    ----------
    text : str
        As a scanner sends it, in brackets, or as a web address of a trade item.
    read_in : int
        The year it is read in; it settles the century of a date.

    Raises
    ------
    BadValue
        The first thing that is wrong: an unknown identifier, a length, a character, a check digit,
        a date, a missing partner, a forbidden pair, a repeat.

    Examples
    --------
    >>> [element.decoded for element in decode("01906141410000153202000244")]
    ['90614141000015', '2.44 lb']
    """
    if is_link(text):
        return read_link(text, read_in=read_in)
    return checked(pairs_of(text), read_in=read_in)


def encode(values: Mapping[str, str], *, read_in: int = READ_IN) -> ElementString:
    """Return the element string of some values.

    Parameters
    ----------
    values : mapping of str to str
        Identifier to value. Keys (00), (01), (02) come first, then fixed lengths, then open
        lengths, each in the order given.
    read_in : int
        As in `decode`.

    Raises
    ------
    BadValue
        As `decode`.

    Examples
    --------
    >>> encode({"10": "G1125A", "01": "90614141000015"}).element_string
    '(01)90614141000015(10)G1125A'
    """
    if not isinstance(values, Mapping) or not values:
        raise BadValue('There is nothing to encode; give identifiers and values: {"01": "..."}.')
    if len(values) > _MOST_ELEMENTS:
        raise BadValue(f"{len(values)} values do not fit one code; give at most {_MOST_ELEMENTS}.")
    known = identifiers()
    for ai, value in values.items():
        if ai not in known:
            raise BadValue(f"({str(ai)[:10]}) is no identifier known here; check the digits.")
        if not isinstance(value, str):
            raise BadValue(f"({ai}) must have text in quotes as its value.")

    def rank(ai: str) -> int:
        return 0 if ai in _KEYS else 2 if known[ai].separator else 1

    pairs = sorted(values.items(), key=lambda pair: rank(pair[0]))
    elements = checked(pairs, read_in=read_in)
    return ElementString(bracketed(pairs), transmitted(pairs), tuple(elements))
