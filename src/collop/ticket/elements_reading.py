"""Cutting an element string into identifiers and values.

Two forms are read: as a scanner sends it, with a separator (GS, character 29) after values whose
end is not known, and in brackets as printed under a bar code. In the bracketed form a backslash
stands before a bracket that belongs to a value.

References
----------
.. [1] Separator and symbology identifiers: rules BC123 and BC124, from memory, not checked.
"""

from __future__ import annotations

import re

from collop.errors import BadValue
from collop.ticket.digits import shown
from collop.ticket.identifiers import identifier, identifiers

__all__ = ["GS", "LONGEST", "SYMBOLOGIES", "bracketed", "pairs_of", "transmitted"]

#: The separator as a scanner sends it.
GS = "\x1d"
#: The most characters a code is read to; no bar code made here holds as many.
LONGEST = 2000
#: What a scanner may send first, and what bar code it then read.
SYMBOLOGIES = {
    "]C1": "GS1-128", "]e0": "GS1 DataBar", "]d2": "GS1 DataMatrix", "]Q3": "GS1 QR",
}  # fmt: skip
_OPENING = re.compile(r"\((\d{2,4})\)", re.ASCII)


def pairs_of(text: object) -> list[tuple[str, str]]:
    """Return identifiers and values of an element string, in the order they stand.

    Parameters
    ----------
    text : str
        As transmitted, with or without a symbology identifier, or in brackets.

    Raises
    ------
    BadValue
        Where it cannot be cut: it is empty, no known identifier stands where one must, a value
        does not end.
    """
    if not isinstance(text, str) or not text:
        raise BadValue("There is no code to read; scan or type one.")
    if len(text) > LONGEST:
        raise BadValue(f"The code has {len(text)} characters; no code has over {LONGEST}.")
    rest = text
    if text[0] == "]":
        if text[:3] not in SYMBOLOGIES:
            raise BadValue(
                f"{text[:3]!r} is no bar code that holds identifiers; "
                f"those begin with {', '.join(SYMBOLOGIES)}."
            )
        rest = text[3:]
    pairs = _of_brackets(rest) if rest.startswith("(") else _of_transmitted(rest.removeprefix(GS))
    if not pairs:
        raise BadValue(f"{shown(text)} holds nothing; scan or type the whole code.")
    return pairs


def _of_transmitted(text: str) -> list[tuple[str, str]]:
    """Return the pairs of what a scanner sends."""
    pairs, place = [], 0
    while place < len(text):
        known = identifier(text[place : place + 4], f" at character {place + 1}")
        place += len(known.ai)
        end = text.find(GS, place)
        end = len(text) if end < 0 else end
        if not known.separator:  # the value has one length, so the next begins behind it
            end = min(end, place + known.longest)
        value = text[place:end]
        if len(value) > known.longest:
            raise BadValue(
                f"({known.ai}) {shown(value)} has {len(value)} characters, at most {known.longest} "
                "are allowed; a separator may be missing behind it."
            )
        pairs.append((known.ai, value))
        place = end + 1 if text[end : end + 1] == GS else end
    return pairs


def _of_brackets(text: str) -> list[tuple[str, str]]:
    """Return the pairs of the bracketed form."""
    pairs, place = [], 0
    while place < len(text):
        opening = _OPENING.match(text, place)
        if opening is None:
            raise BadValue(
                f"{shown(text[place:])} must begin with an identifier in brackets such as (01)."
            )
        if opening[1] not in identifiers():
            identifier(opening[1])  # says why
            raise BadValue(f"({opening[1]}) is no identifier known here; check the digits.")
        value, place = _until_bracket(text, opening.end())
        pairs.append((opening[1], value))
    return pairs


def _until_bracket(text: str, place: int) -> tuple[str, int]:
    """Return the value that begins at `place`, and where the next identifier begins."""
    found: list[str] = []
    while place < len(text) and text[place] != "(":
        if text[place] == "\\" and text[place + 1 : place + 2] == "(":
            place += 1
        found.append(text[place])
        place += 1
    return "".join(found), place


def bracketed(pairs: list[tuple[str, str]]) -> str:
    """Return the form printed under a bar code."""
    return "".join(f"({ai})" + value.replace("(", r"\(") for ai, value in pairs)


def transmitted(pairs: list[tuple[str, str]]) -> str:
    """Return what a scanner sends, separators only where they are needed."""
    known = identifiers()
    found = [
        ai + value + (GS if known[ai].separator and index < len(pairs) - 1 else "")
        for index, (ai, value) in enumerate(pairs)
    ]
    return "".join(found)
