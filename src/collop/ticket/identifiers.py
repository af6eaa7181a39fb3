"""The identifiers of an element string, built from the published table.

Each identifier ("AI" in the standard) says what the value behind it is: ``(01)`` a trade item
number, ``(3103)`` a net weight in kg with three decimals. Their formats, and whether a separator
is needed after them, are read from the rows of the table of bar-code rules; a row whose status is
``memory`` says so by its rule.

References
----------
.. [1] GS1 Barcode Syntax Dictionary, AI entries (rules BC071-BC102); company-internal identifiers
   from memory (BC103); lengths of identifiers: BC120-BC122.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from collop.errors import BadValue, ReferenceTableError
from collop.reference.rulebook import PublishedRule, rule_rows

__all__ = ["Identifier", "Part", "identifier", "identifiers"]


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a value.

    Parameters
    ----------
    digits_only : bool
        Digits 0-9, else characters of set 82.
    lengths : tuple of int
        Every length it may have.
    """

    digits_only: bool
    lengths: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Identifier:
    """One identifier.

    Parameters
    ----------
    ai : str
        Its digits, e.g. ``3103``.
    stem : str
        Its digits without the last where the last counts decimals or places, as in ``310``; else
        the same as `ai`.
    title : str
        What the value is.
    parts : tuple of Part
        Format of the value, part by part.
    separator : bool
        Whether a separator must follow unless it is last.
    rule_id, status : str
        The row it was read from.
    """

    ai: str
    stem: str
    title: str
    parts: tuple[Part, ...]
    separator: bool
    rule_id: str
    status: str

    @property
    def decimals(self) -> int | None:
        """Return how many decimals the value has, None if the identifier does not say."""
        return int(self.ai[-1]) if self.stem in _WITH_DECIMALS else None

    @property
    def longest(self) -> int:
        """Return the most characters a value may have."""
        return sum(part.lengths[-1] for part in self.parts)

    @property
    def shortest(self) -> int:
        """Return the fewest characters a value may have."""
        return sum(part.lengths[0] for part in self.parts)


# the identifiers whose last digit counts decimals; that of 703n numbers the processors
_WITH_DECIMALS = frozenset({"310", "320", "392", "393", "394", "395"})
_NAME = re.compile(r"\((\d+)(?:-(\d+))?\) (.+)|company-internal AIs (\d+)-(\d+)", re.ASCII)


def _part(text: str) -> Part:
    """Return the part a format such as ``N6``, ``X..20`` or ``N3 to N15 in threes`` describes."""
    digits_only = text.startswith("N")
    if found := re.fullmatch(r"[NX]\.\.(\d+)", text, re.ASCII):
        return Part(digits_only, tuple(range(1, int(found[1]) + 1)))
    if found := re.fullmatch(r"N(\d+)", text, re.ASCII):
        return Part(digits_only, (int(found[1]),))
    if found := re.fullmatch(r"N(\d+) or N(\d+)", text, re.ASCII):
        return Part(digits_only, (int(found[1]), int(found[2])))
    if found := re.fullmatch(r"N(\d+) to N(\d+)( in threes)?", text, re.ASCII):
        # hours, then minutes, then seconds: two digits each
        step = 3 if found[3] else 2
        return Part(digits_only, tuple(range(int(found[1]), int(found[2]) + 1, step)))
    raise ReferenceTableError(f"The table of bar-code rules has a format {text!r} nobody reads.")


def _of_row(row: PublishedRule) -> list[Identifier]:
    """Return the identifiers one row describes."""
    found = _NAME.fullmatch(row.text)
    if found is None:
        raise ReferenceTableError(f"Rule {row.rule_id} names no identifier; see its item.")
    own = found[4] is not None
    first, last = (found[4], found[5]) if own else (found[1], found[2] or found[1])
    title = "for use inside the company" if own else str(found[3])
    made = []
    for number in range(int(first), int(last) + 1):
        ai = str(number).zfill(len(first))
        made_of = _own_format(row.when, ai) if own else row.when
        many = first != last and not own
        made.append(
            Identifier(
                ai=ai, stem=ai[:-1] if many else ai, title=title,
                parts=tuple(_part(one.strip()) for one in made_of.split(" + ")),
                separator=row.value.endswith("yes"), rule_id=row.rule_id, status=row.status,
            )
        )  # fmt: skip
    return made


def _own_format(text: str, ai: str) -> str:
    """Return the format of `ai` from a text such as ``X..30 (90), X..90 (91-99)``."""
    for made_of, low, high in re.findall(r"(\S+) \((\d+)(?:-(\d+))?\)", text, re.ASCII):
        if int(low) <= int(ai) <= int(high or low):
            return str(made_of)
    raise ReferenceTableError(f"The table of bar-code rules gives no format for ({ai}).")


@cache
def identifiers() -> Mapping[str, Identifier]:
    """Return every known identifier by its digits."""
    rows = [row for row in rule_rows("barcodes", "ai") if _NAME.fullmatch(row.text)]
    return MappingProxyType({one.ai: one for row in rows for one in _of_row(row)})


@cache
def _key_lengths() -> Mapping[str, int]:
    """Return how many digits an identifier has by its first two digits."""
    lengths: dict[str, int] = {}
    for row in rule_rows("barcodes", "ai"):
        found = re.fullmatch(r"AI key length, first two digits (\S+)", row.text)
        for low, high in re.findall(r"(\d\d)(?:-(\d\d))?", found[1], re.ASCII) if found else ():
            for number in range(int(low), int(high or low) + 1):
                lengths[f"{number:02d}"] = int(row.value.split()[0])
    return MappingProxyType(lengths)


def identifier(text: str, place: str = "") -> Identifier:
    """Return the identifier that `text` begins with.

    Parameters
    ----------
    text : str
        What follows; only its first four characters count.
    place : str
        Said in the error, e.g. `` at character 17``.

    Raises
    ------
    BadValue
        If none begins so.
    """
    known = identifiers()
    for length in (2, 3, 4):
        if text[:length] in known and len(text[:length]) == length:
            return known[text[:length]]
    name = text[: _key_lengths().get(text[:2], 2)]
    near = sorted(one for one in known if len(one) == 4 and one[:3] == name[:3])
    if len(name) >= 3 and near:
        raise BadValue(
            f"({name}){place} is no identifier; ({name[:3]}n) goes from {near[0]} to {near[-1]}."
        )
    raise BadValue(
        f"{name!r}{place} is no identifier known here; check it, or the separator before it."
    )
