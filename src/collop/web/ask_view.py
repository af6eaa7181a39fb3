"""What the ask's templates read: the form as typed, and the spread that is chosen."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from collop.web.ask_form import AIMS, ALLERGENS, AVOIDS, FIRES, SLOTS, STYLES, blank_when
from collop.web.forms import Fields
from collop.words import N_

__all__ = ["TYPICAL", "FormView", "Words", "left_over", "plain_name", "signature", "spread_of"]

_SATURDAY = 5
_BLANK = {
    "child": "0", "big": "0", "meat_free": "0", "fire": "half-drum", "coals": "180",
    "oven": "yes", "pots": "0", "usable": "80", "per": "total", "style": "mixed", "lighter": "0",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Typical:
    """An ask this counter hears often."""

    text: str
    query: str


#: Shown when the ask is empty; any of them can be changed at once.
TYPICAL = (
    Typical("34 at the half drum, 310 to spend, no sesame",
            "heads=34&big=16&money=310&contains=sesame"),
    Typical("40 at the big drum, 7 eat no pork, 420 to spend",
            "heads=40&no_n=7&no_what=pork&fire=big-drum&money=420"),
    Typical("12 on a balcony kettle, one hour of coals, 140 to spend",
            "heads=12&fire=kettle&coals=60&oven=no&money=140"),
)  # fmt: skip


class FormView:
    """The ask's fields as they are shown: what was typed, or the blank ask's.

    Parameters
    ----------
    fields : Fields
        Texts as typed.
    now : datetime
        Shop time, for the first day offered.
    """

    fires = FIRES
    styles = tuple(STYLES)
    slots = SLOTS
    avoids = tuple(AVOIDS)
    allergens = ALLERGENS
    aims = AIMS

    def __init__(self, fields: Fields, now: datetime) -> None:
        self._fields = fields
        self._day, self._time = blank_when(fields, now)
        today = now.date()
        saturday = today + timedelta(days=(_SATURDAY - today.weekday()) % 7)
        named = {today: N_("today"), today + timedelta(days=1): N_("tomorrow")}
        #: Days at one tap, with their word: today, tomorrow, and the Saturday that comes.
        self.days = [(day, named.get(day, "")) for day in sorted({*named, saturday})]

    def value(self, name: str) -> str:
        """Return the text of a field."""
        if name == "day":
            return self._day
        if name == "time":
            return self._time
        if name == "area" and not self._fields.one("area"):
            kind = FIRES.get(self.value("fire"))
            return str(kind.area_sq_in or "") if kind else ""
        return self._fields.one(name) or _BLANK.get(name, "")

    def all(self, name: str) -> list[str]:
        """Return all texts of a field."""
        return [text for text in self._fields.all(name) if text]

    def dont_rows(self) -> list[tuple[str, str]]:
        """Return the rows of don't-eats with one empty row at the end."""
        numbers, things = self._fields.all("no_n"), self._fields.all("no_what")
        rows = [row for row in zip(numbers, things, strict=False) if row[0]]
        return [*rows, ("", "pork")]


def spread_of(plan: dict[str, Any] | None, aim: str) -> dict[str, Any] | None:
    """Return the spread with an aim; the first one if it has none.

    Cousins that this table cannot have are taken off: nothing is offered that may not be eaten.
    """
    spreads: list[dict[str, Any]] = (plan or {}).get("spreads") or []
    if not spreads:
        return None
    chosen = next((spread for spread in spreads if spread["aim"] == aim), spreads[0])
    barred = {one["id"] for one in (plan or {}).get("unusable", [])}
    lines = [
        line | {"cousins": [one for one in line["cousins"] if one["id"] not in barred]}
        for line in chosen["lines"]
    ]
    return chosen | {"lines": lines}


def signature(spread: dict[str, Any]) -> str:
    """Return a short mark of what a spread promises: ids, weights and money."""
    said = [f"{line['id']} {line['weight_lb']} {line['line_total']}" for line in spread["lines"]]
    return hashlib.sha256("|".join([*said, spread["total"]]).encode()).hexdigest()[:16]


def left_over(budget: Decimal | None, spread: dict[str, Any] | None) -> Decimal | None:
    """Return what is left of the customer's money, below zero if the spread is over it."""
    if budget is None or spread is None:
        return None
    return budget - Decimal(spread["total"])


def plain_name(name: str) -> str:
    """Return a line's name without what the case notes in brackets, such as birds on hand."""
    return re.sub(r"\s*\([^)]*\)", "", name)


class Words:
    """Words for what the kernel names by a code."""

    limits = MappingProxyType(
        {
            "budget": "the money", "stock": "the free stock", "fire": "the fire",
            "use_at": "the time until the meal", "style": "the style",
            "slots": "what is wanted in it", "rules": "the variety", "only": "the cuts asked for",
            "pinned": "the pinned lines", "need": "how much the table eats",
            "max_items": "the number of cuts",
        }
    )  # fmt: skip

    def limit(self, code: str, spread: dict[str, Any] | None = None) -> str:
        """Return what a limit is called, with the cut or group it names after a colon."""
        word, _, thing = code.partition(":")
        names = {line["id"]: plain_name(line["name"]) for line in (spread or {}).get("lines", [])}
        if word == "stock" and thing:
            return f"all the free {names.get(thing, thing)}"
        if word == "share" and thing:
            return f"{names.get(thing, thing)} is as much of the food as one cut may be"
        if word == "need" and thing:
            return f"how much {thing} may eat"
        return self.limits.get(word, word)

    def yes(self, yes: dict[str, Any]) -> str:
        """Return the words on the button of a nearest yes: verb and object."""
        to = yes["to"]
        if yes["change"] == "budget_total":
            return f"Spend {Decimal(str(to)):,.2f}"
        if yes["change"] == "use_at":
            return f"Eat {datetime.fromisoformat(str(to)):%a %d %b, %H:%M}"
        if yes["change"] == "count":
            return f"Feed {to}"
        if yes["change"] == "style" and isinstance(to, str):
            return _STYLE_WORDS.get(to, f"Make it {to}")
        return "Agree to this"


_STYLE_WORDS = {
    "plate": "Make it plates",
    "shared": "Make it sliced to share",
    "hand": "Make it food in the hand",
    "wrap": "Make it wraps",
    "stew": "Make it a stew",
}
