"""The Farm Call made ready for the page: weeks to choose, counts as typed, what is surplus.

Everything is read from the problem and plan of `collop.bench.farmcall` as JSON.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from collop.errors import BadValue
from collop.measures import Weight
from collop.web.farm_call_words import Words, order_words
from collop.web.forms import Faults, Fields, read_whole

__all__ = ["WEEKS", "CutShown", "Row", "changed_money", "cuts_shown", "fixed", "missing", "ordered",
           "read_counts", "rows_of", "weeks"]  # fmt: skip

_Json = Mapping[str, Any]
#: How many weeks ahead may be chosen.
WEEKS = 6
_MOST_OF_ONE = 200
_LEAST_SHOWN = Decimal("0.05")


@dataclass(frozen=True, slots=True)
class Row:
    """One animal: what is best, and what a person typed instead."""

    id: str
    order: _Json
    best: int
    typed: int | None
    room_for: int

    @property
    def field(self) -> str:
        """Return the name of its field."""
        return self.id

    @property
    def is_changed(self) -> bool:
        """Tell whether the typed count is another than the best."""
        return self.typed is not None and self.typed != self.best


@dataclass(frozen=True, slots=True)
class CutShown:
    """One cut: what is wanted and what the animals give, with bars on one scale in per cent.

    As they are shown, wanted is met and short together, and what is on hand and made is met and
    over.
    """

    cut: _Json
    wanted_bar: int
    made_bar: int
    wanted: Weight
    met: Weight
    short: Weight
    on_hand: Weight
    made: Weight
    over: Weight
    is_over: bool


def weeks(today: date) -> list[date]:
    """Return the Mondays that may be ordered for, the next one first."""
    first = today + timedelta(days=7 - today.weekday())
    return [first + timedelta(weeks=number) for number in range(WEEKS)]


def read_counts(fields: Fields, problem: _Json, faults: Faults) -> dict[str, int]:
    """Read the counts a person typed, by animal; an empty field is left to the plan."""
    counts = {}
    for animal in problem["animals"]:
        text = fields.one(animal["id"])
        if not text:
            continue
        try:
            counts[animal["id"]] = read_whole(text, animal["name"], 0, _MOST_OF_ONE)
        except BadValue as error:
            faults.add(animal["id"], error.message)
    return counts


def fixed(problem: _Json, counts: Mapping[str, int]) -> dict[str, Any]:
    """Return the problem with the counts that were typed as the only ones allowed."""
    animals = [
        animal if (count := counts.get(animal["id"])) is None
        else {**animal, "least": count, "most": count}
        for animal in problem["animals"]
    ]  # fmt: skip
    return {**problem, "animals": animals}


def rows_of(best: _Json, shown: _Json, counts: Mapping[str, int], problem: _Json) -> list[Row]:
    """Return one row for each animal.

    Parameters
    ----------
    best, shown : mapping
        The plan with free counts, and the one with the typed counts (the same if none).
    counts : mapping
        What was typed.
    problem : mapping
        The problem with free counts.
    """
    bests = {order["id"]: order["count"] for order in best["orders"]}
    most = {animal["id"]: animal["most"] for animal in problem["animals"]}
    return [
        Row(order["id"], order, bests[order["id"]], counts.get(order["id"]), most[order["id"]])
        for order in shown["orders"]
    ]


def cuts_shown(plan: _Json, words: Words) -> list[CutShown]:
    """Return the cuts that are wanted or made, those with most over first, then by name."""
    cuts = [
        cut for cut in plan["cuts"]
        if max(Decimal(cut[key]) for key in ("wanted", "made", "on_hand")) >= _LEAST_SHOWN
    ]  # fmt: skip
    top = max((Decimal(cut[key]) for cut in cuts for key in ("wanted", "made")), default=Decimal(1))
    found = [_cut_shown(cut, top, words) for cut in cuts]
    return sorted(found, key=lambda one: (-one.over.count, one.cut["name"]))


def _cut_shown(cut: _Json, top: Decimal, words: Words) -> CutShown:
    number = {key: words.number(cut[key]) for key in ("on_hand", "made", "short", "surplus")}
    # the two sums are made of what is shown, so that each row closes
    met = max(Decimal(0), number["on_hand"] + number["made"] - number["surplus"])

    def shown(amount: Decimal) -> Weight:
        return Weight.of(amount, words.device)

    return CutShown(
        cut, _bar(cut["wanted"], top), _bar(cut["made"], top), shown(met + number["short"]),
        shown(met), shown(number["short"]), shown(number["on_hand"]), shown(number["made"]),
        shown(number["on_hand"] + number["made"] - met), Decimal(cut["surplus"]) >= _LEAST_SHOWN,
    )  # fmt: skip


def _bar(text: str, top: Decimal) -> int:
    return round(100 * Decimal(text) / top) if top else 0


def ordered(plan: _Json) -> str:
    """Return what a plan orders as it is said within a sentence: ``two lambs and one side``."""
    return order_words((one["count"], one["name"]) for one in plan["orders"])


def missing(plan: _Json) -> Decimal:
    """Return the weight that is promised and not there in a usual week."""
    return sum(
        (Decimal(one["asks"]) - Decimal(one["gets"])
         for one in (*plan["standing"], *plan["bookings"])),
        Decimal(0),
    )  # fmt: skip


def changed_money(best: _Json, shown: _Json) -> Decimal:
    """Return what the counts as typed are expected to bring, less what the best ones are."""
    return Decimal(shown["expected"]) - Decimal(best["expected"])
