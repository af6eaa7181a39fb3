"""The settings of the till in words: tax classes and cash, as they are typed and told."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from collop.errors import BadValue
from collop.rules.taxing import CASH_RULES, TAX_PER

__all__ = ["CASH_WORDS", "PER_WORDS", "classes_text", "read_cash", "read_classes_text", "read_per"]

#: How cash is rounded, in words.
CASH_WORDS: Mapping[str, str] = dict(
    zip(CASH_RULES, ("to the cent", "to the nearest 5 cents", "down to 5 cents"), strict=True)
)
#: What tax is rounded on, in words.
PER_WORDS: Mapping[str, str] = dict(
    zip(TAX_PER, ("once a class of the slip", "on each line"), strict=True)
)
_CLASS = re.compile(
    r"(?P<name>.+?)\s+(?P<percent>[0-9]{1,3}(?:[.,][0-9]{1,6})?)\s*%?"
    r"(?:\s+from\s+(?P<from>\S+))?(?:\s+until\s+(?P<until>\S+))?",
    re.IGNORECASE,
)
_LONGEST = 4000


def _one_of(value: object, words: Mapping[str, str], name: str, label: str) -> str:
    if not isinstance(value, str) or value not in words:
        raise BadValue(f"{label}: choose one of {', '.join(words)}.", where=name)
    return value


def read_cash(value: object) -> str:
    """Return how cash is rounded, or raise `BadValue`."""
    return _one_of(value, CASH_WORDS, "cash_rounding", "Cash")


def read_per(value: object) -> str:
    """Return what tax is rounded on, or raise `BadValue`."""
    return _one_of(value, PER_WORDS, "tax_per", "Tax is rounded")


def classes_text(kept: Sequence[Mapping[str, Any]]) -> str:
    """Return tax classes, as kept, as they are typed: ``prepared 8.25 % from 2026-07-01; ...``."""
    return "; ".join(
        f"{one['name']} {one['percent']} %"
        + (f" from {one['from']}" if one["from"] else "")
        + (f" until {one['until']}" if one["until"] else "")
        for one in kept
    )


def read_classes_text(text: str) -> list[dict[str, Any]]:
    """Read tax classes as they are typed, for `collop.rules.taxing_reading.read_classes`.

    Raises
    ------
    BadValue
        If a part is no name with a rate.
    """
    found = []
    for part in re.split(r"[;\n]", text[:_LONGEST]):
        if not part.strip():
            continue
        match = _CLASS.fullmatch(part.strip())
        if match is None:
            raise BadValue(
                "Tax classes: write a name and its percent, like prepared 8.25 or prepared 8.5 "
                "from 2026-07-01; a ; parts one from the next.",
                where="tax_classes",
            )
        found.append(
            {"name": match["name"], "percent": match["percent"].replace(",", "."),
             "from": match["from"], "until": match["until"]}
        )  # fmt: skip
    return found
