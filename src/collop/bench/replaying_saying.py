"""What a replay says in words, and what it takes for granted."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

__all__ = ["assumptions", "sayings"]

Json = dict[str, Any]
#: So many of the lines that moved most are said.
_MOST_SAID = 3


def _moved(amount: str) -> str:
    value = Decimal(amount)
    if not value:
        return "just as much"
    return f"{abs(value):f} {'more' if value > 0 else 'less'}"


def sayings(plan: Json) -> list[str]:
    """Return a few sentences: what it would have brought, and what moved most."""
    if plan["is_same"]:
        return ["This is the plan as it was."]
    found = [f"By what was seen to sell, it would have brought {_moved(plan['more']['seen'])}."]
    if plan["more"]["estimated"] != plan["more"]["seen"]:
        found.append(
            "With an estimate for what sold out, it would have brought"
            f" {_moved(plan['more']['estimated'])}."
        )
    found += list(_lines(plan))
    return found


def _lines(plan: Json) -> Iterator[str]:
    rows = sorted(plan["lines"]["seen"], key=lambda one: -abs(Decimal(one["more"])))
    for row in rows[:_MOST_SAID]:
        if Decimal(row["more"]):
            yield f"{row['name']}: {_moved(row['more'])}."


def assumptions(plan: Json) -> list[str]:
    """Return what is taken for granted, one sentence each."""
    found = [
        "What was sold is the least that was asked for: where a cut sold out, more may have sold.",
        "Each cut sells at the mean price of its day, or the board's.",
        "No sale of one cut is taken to go to another.",
        "Bookings go first. What was ground, made, frozen or missing then is so again.",
        "A style that was not cut gives its expected shares.",
    ]
    guessed = [one["name"] for one in plan["cuts"] if any(one["demand"]["guessed"])]
    if guessed:
        few = ", ".join(guessed[:5])
        more = f" and {len(guessed) - 5} more" if len(guessed) > 5 else ""
        found.append(
            f"Estimated, not seen, by its pace until it sold out or by its usual day: {few}{more}."
        )
    return found
