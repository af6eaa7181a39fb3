"""Sentences of the Farm Call in the device's unit, and what the rail cannot carry."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.bench.farm_ends import end_sentence, ways_of
from collop.bench.farm_saying import counted, joined
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.web.forms import Faults
from collop.words import day_text, gettext, said

__all__ = ["Words", "order_words", "refuse_too_heavy", "week_notice"]

_Json = Mapping[str, Any]
_WEIGHT = re.compile(r"(?<![\d.,])(\d[\d,]*(?:\.\d+)?) (lb|kg)\b")
_EACH = re.compile(r"\beach (lb|kg) short counts as (\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class Words:
    """Says a plan's sentences in the unit of a device.

    Parameters
    ----------
    plan_unit, device : WeightUnit
        The unit of the plan, and the one the device shows.
    """

    plan_unit: WeightUnit
    device: WeightUnit

    @classmethod
    def of(cls, plan_unit: str, device: str) -> Words:
        """Return the words for a device; one that shows pounds and ounces reads pounds."""
        return cls(WeightUnit(plan_unit), WeightUnit.KG if device == "kg" else WeightUnit.LB)

    def say(self, text: str) -> str:
        """Return a sentence with its weights in the device's unit."""
        return _WEIGHT.sub(self._weight, _EACH.sub(self._each, text))

    def order(self, plan: _Json, week: date) -> str:
        """Return the order of a plan for a week as it is said on the telephone."""
        what = order_words((one["count"], one["name"]) for one in plan["orders"])
        told = gettext("%(what)s for the week of %(day)s.") % {
            "what": what, "day": day_text(week, "%-d %B %Y"),
        }  # fmt: skip
        return told[:1].upper() + told[1:]

    def end(self, end: _Json) -> str:
        """Return what is over of a cut and its ways, which add up in the device's unit too."""
        if self.device is self.plan_unit:
            return str(end["say"])
        per = Weight.of(1, self.plan_unit).exact(self.device)
        return end_sentence(end["name"], ways_of(end, per), str(self.device))

    def weight(self, weight: Fraction) -> str:
        """Return a weight given in the plan's unit: ``6,570 lb``, to a tenth."""
        return _said(Weight.of(weight, self.plan_unit), self.device)

    def number(self, text: str) -> Decimal:
        """Return a weight of the plan in the device's unit, rounded as it is shown."""
        places = 3 if self.device is WeightUnit.KG else 2
        return Weight.of(f"{Decimal(text):f}", self.plan_unit).decimal(self.device, places)

    def _weight(self, found: re.Match[str]) -> str:
        unit = WeightUnit(found[2])
        if unit is self.device:
            return found[0]
        return _said(Weight.of(found[1].replace(",", ""), unit), self.device)

    def _each(self, found: re.Match[str]) -> str:
        unit = WeightUnit(found[1])
        if unit is self.device:
            return found[0]
        price = UnitPrice.of(found[2], unit).shown_per(self.device)
        return f"each {self.device} short counts as {price}"


def order_words(counts: Iterable[tuple[int, str]]) -> str:
    """Return animals as they are said in the language that is read now.

    Parameters
    ----------
    counts : iterable of (int, str)
        How many of each, and its name for one.

    Examples
    --------
    >>> order_words([(2, "Lamb"), (0, "Goat"), (1, "Beef side")])
    'two lambs and one beef side'
    """
    parts = [said(counted(count, name)) for count, name in counts if count]
    if not parts:
        return said("no animals")
    if len(parts) == 1:
        return parts[0]
    return gettext("%(first)s and %(last)s") % {"first": ", ".join(parts[:-1]), "last": parts[-1]}


def _said(weight: Weight, unit: WeightUnit) -> str:
    """Return a weight to a tenth or, under one, a hundredth; no closing zeros."""
    text = f"{weight.decimal(unit, 1 if weight.exact(unit) >= 1 else 2):,f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


def refuse_too_heavy(
    problem: _Json, counts: Mapping[str, int], faults: Faults, say: Callable[[Fraction], str]
) -> None:
    """Note at the heaviest count, in one sentence, that the rail cannot carry what was typed.

    Parameters
    ----------
    problem : mapping
        With weights in its unit.
    counts : mapping of str to int
        As typed, by animal.
    faults : Faults
        Gets the sentence.
    say : callable
        Writes a weight in the problem's unit.
    """
    room = problem.get("room")
    if room is None or not any(counts.values()):
        return
    typed = [one for one in problem["animals"] if counts.get(one["id"])]
    weights = {one["id"]: counts[one["id"]] * Fraction(one["weight"]) for one in typed}
    total, rail = sum(weights.values(), Fraction(0)), Fraction(room["rail"])
    hanging = Fraction(room["hanging"])
    if total <= rail - hanging:
        return
    names = joined([counted(counts[one["id"]], one["name"]) for one in typed])
    weigh = "weighs" if sum(counts[one["id"]] for one in typed) == 1 else "weigh"
    taken = f", and {say(hanging)} hang on it already" if hanging else ""
    faults.add(
        max(weights, key=lambda one: weights[one]),
        f"{names[:1].upper()}{names[1:]} {weigh} {say(total)}; the rail carries {say(rail)}{taken}."
        " Order fewer.",
    )


def week_notice(asked: str, *, is_offered: bool) -> str:
    """Return that a week in the address cannot be ordered for; nothing if it can."""
    if not asked or is_offered:
        return ""
    return "The week in the address is none that can be ordered for; this is next week."
