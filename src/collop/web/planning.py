"""From an ask to a plan: the problem the kernel reads, and the fields its refusals belong to."""

from __future__ import annotations

import hashlib
import json
import os
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from datetime import datetime
from decimal import Decimal
from typing import Any

from collop.errors import BadValue, CollopError, ProblemError
from collop.web.ask_form import AVOIDS, STYLES, Ask

__all__ = ["Answer", "Planner", "assumptions", "build_problem", "collect_by_of", "field_of"]

Answer = Callable[[dict[str, Any]], dict[str, Any]]

_KEPT_PLANS = 64
#: How many plans are worked out at once: one core is left for the pages of everybody else.
_AT_ONCE = max(1, (os.cpu_count() or 2) - 1)
_PORTION_STEP = 0.9
_AS_TABLES = Decimal(1)
#: What an accepted nearest yes may change; offers and prices are the shop's alone.
_PATCHABLE = frozenset({"budget_total", "budget_per_head", "use_at", "need_oz", "portion_oz",
                        "groups", "rules", "pinned", "fire", "over_budget"})  # fmt: skip
#: Where the kernel's refusals show: the first part of their path, and the field.
_FIELD_OF = {
    "$.groups": "heads",
    "$.budget_total": "money",
    "$.budget_per_head": "money",
    "$.fire": "area",
    "$.use_at": "day",
    "$.now": "day",
    "$.pinned": "pins",
    "$.rules.slots": "slot",
    "$.rules.only": "only",
    "$.rules": "slot",
    "$.need_oz": "style",
}


class Planner:
    """The kernel with a short memory: the same problem is worked out once.

    Parameters
    ----------
    answer : callable
        The kernel, problem JSON to plan JSON.
    at_once : int
        How many problems are worked out at once; the others wait for their turn.
    """

    def __init__(self, answer: Answer, at_once: int = _AT_ONCE) -> None:
        self._answer = answer
        self._kept: OrderedDict[str, dict[str, Any]] = OrderedDict()
        self._lock = threading.Lock()
        self._turns = threading.Semaphore(at_once)

    def plan(self, ask: Ask, offers: Sequence[dict[str, Any]], settings: Any, now: datetime,  # noqa: ANN401 -- the shop's own settings
             factor: Decimal = _AS_TABLES) -> dict[str, Any]:  # fmt: skip
        """Return the plan of an ask against free stock; appetites are those of the tables x factor.

        Raises
        ------
        ProblemError
            If the kernel cannot read or refuses the ask; `field_of` names the field.
        """
        if not offers:
            raise NothingFree("The case has nothing free for that day; choose a later day.")
        problem = build_problem(ask, offers, settings, now, factor)
        # the sentence also depends on whose money it counts
        asked = json.dumps([problem, str(ask.budget)], sort_keys=True)
        key = hashlib.sha256(asked.encode()).hexdigest()
        with self._turns if self._known(key) is None else nullcontext():
            # whoever had the turn before may have worked out the same
            found = self._known(key)
            if found is None:
                found = _said_of_own_money(self._answer(problem), ask)
                self._keep(key, found)
        return found

    def _known(self, key: str) -> dict[str, Any] | None:
        with self._lock:
            if key not in self._kept:
                return None
            self._kept.move_to_end(key)
            return self._kept[key]

    def _keep(self, key: str, found: dict[str, Any]) -> None:
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > _KEPT_PLANS:
                self._kept.popitem(last=False)


def _said_of_own_money(plan: dict[str, Any], ask: Ask) -> dict[str, Any]:
    """Let the sentence name what is left of the customer's money, not of a chosen balance."""
    if ask.to is None:
        return plan
    spreads = []
    for spread in plan["spreads"]:
        say = str(spread["say"])
        if spread["left"] is not None:
            say = say.removesuffix(f", {spread['left']} left.").removesuffix(".")
            left = None if ask.budget is None else ask.budget - Decimal(spread["total"])
            say += f", {left:.2f} left." if left is not None and left >= 0 else "."
        spreads.append({**spread, "say": say})
    return {**plan, "spreads": spreads}


class NothingFree(ProblemError):
    """The case holds nothing that may be offered."""

    def __init__(self, message: str) -> None:
        super().__init__(message, where="$.use_at")


def field_of(error: CollopError) -> str:
    """Return the form field a refusal belongs to; empty if none."""
    for path in sorted(_FIELD_OF, key=len, reverse=True):
        if error.where.startswith(path):
            return _FIELD_OF[path]
    return ""


def collect_by_of(told: Mapping[str, Any]) -> datetime | None:
    """Return by when a spread, or the booking of one, is to be collected; None if nobody knows."""
    by = told.get("collect_by")
    return None if by is None else datetime.fromisoformat(by)


def build_problem(
    ask: Ask,
    offers: Sequence[dict[str, Any]],
    settings: Any,  # noqa: ANN401 -- the shop's own settings
    now: datetime,
    factor: Decimal = _AS_TABLES,
) -> dict[str, Any]:
    """Return the problem JSON of an ask."""
    left_in = [offer for offer in offers if offer["id"] not in ask.leave]
    problem: dict[str, Any] = {
        "schema": "collop.spread/1",
        "currency": settings.currency,
        "rounding": str(settings.rounding),
        "groups": _groups(ask, factor),
        "need_oz": dict(STYLES[ask.style]),
        "fire": {
            "zones": [{"name": "direct", "area_sq_in": float(ask.area)}] if ask.area else [],
            "minutes": ask.coals,
            "oven": ask.oven,
            "pots": ask.pots,
            "usable_fraction": ask.usable / 100,
        },
        "use_at": f"{ask.use_at:%Y-%m-%dT%H:%M}",
        "now": f"{now:%Y-%m-%dT%H:%M}",
        "offers": left_in,
        "pinned": [_pin(pin) for pin in ask.pins],
        "want": 5,
    }
    rules = _rules(ask, left_in)
    if rules:
        problem["rules"] = rules
    budget = ask.budget if ask.to is None else ask.to
    if budget is not None:
        problem["budget_total"] = f"{budget:.2f}"
    for text in ask.patch:
        problem = _merge(problem, _read_patch(text))
    return problem


def _rules(ask: Ask, offers: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Return what is wanted in the spread.

    Raises
    ------
    BadValue
        If the one cut asked for is not on offer.
    """
    rules: dict[str, Any] = {}
    if ask.slots:
        rules["slots"] = list(ask.slots)
    if ask.only:
        if all(offer["id"] != ask.only for offer in offers):
            raise BadValue("Only this cut: none of it is free; choose a cut of the list.",
                           where="$.rules.only")  # fmt: skip
        rules["only"] = [ask.only]
    return rules


def _pin(text: str) -> dict[str, str]:
    """Return a pin of the problem from ``id@weight@style``."""
    name, _, rest = text.partition("@")
    weight, _, style = rest.partition("@")
    pin = {"id": name}
    if weight:
        pin["weight_lb"] = weight
    if style:
        pin["style"] = style
    return pin


def _read_patch(text: str) -> dict[str, Any]:
    try:
        patch = json.loads(text)
    except (ValueError, RecursionError):
        patch = None
    if not isinstance(patch, dict) or not set(patch) <= _PATCHABLE:
        raise BadValue("The accepted change cannot be read; take it back and choose again.")
    return patch


def _merge(target: Any, patch: Any) -> Any:  # noqa: ANN401 -- JSON is untyped
    """Apply a JSON merge patch (RFC 7396)."""
    if not isinstance(patch, Mapping):
        return patch
    merged = dict(target) if isinstance(target, Mapping) else {}
    for key, value in patch.items():
        if value is None:
            merged.pop(key, None)
        else:
            merged[key] = _merge(merged.get(key), value)
    return merged


_APPETITE = {"adult": 1.0, "child": 0.5, "crew": 1.3, "meat-free": 1.0}
_KIND_WORD = {"adult": "", "child": "children", "crew": "big eaters", "meat-free": "meat-free"}


def _groups(ask: Ask, factor: Decimal) -> list[dict[str, Any]]:
    """Split the heads by appetite and by what they do not eat.

    Those who do not eat something are taken from the usual appetites first, then from the big
    eaters, then from the children.
    """
    left = {"adult": ask.usual, "crew": ask.big, "child": ask.child}
    split: list[tuple[str, int, str]] = []
    for avoid in ask.avoids:
        wanted = avoid.count
        for kind, there in left.items():
            count = min(wanted, there)
            if count:
                split.append((kind, count, avoid.what))
            left[kind] = there - count
            wanted -= count
    split += [(kind, count, "") for kind, count in left.items() if count]
    if ask.meat_free:
        split.append(("meat-free", ask.meat_free, ""))
    return [_group(ask, kind, count, what, factor) for kind, count, what in split]


def _group(ask: Ask, kind: str, count: int, what: str, factor: Decimal) -> dict[str, Any]:
    words = [f"no {what}"] if what else []
    if _KIND_WORD[kind]:
        words.append(_KIND_WORD[kind])
    avoids = list(AVOIDS[what]) if what else []
    avoids += [f"allergen:{name}" for name in ask.contains]
    if kind == "meat-free":
        avoids.append("meat")
    return {
        "name": ", ".join(words) or "everybody else",
        "count": count,
        "kind": kind,
        "appetite": round(_APPETITE[kind] * float(factor) * _PORTION_STEP**ask.lighter, 4),
        "avoids": sorted(set(avoids)),
    }


def assumptions(ask: Ask, factor: Decimal = _AS_TABLES) -> list[str]:
    """Return what was taken for granted, in words."""
    found = []
    heads = ask.heads
    if heads.low != heads.high:
        found.append(f"{heads.low} to {heads.high} eat: planned for {heads.planned}.")
    usable = ask.area * ask.usable / Decimal(100)
    found.append(
        f"Fire: {ask.usable} % of {ask.area:,.0f} sq in can be used: {usable:,.0f} sq in."
        if ask.area else "No grill: only the oven and the pots."
    )  # fmt: skip
    if ask.lighter:
        share = round(100 * (1 - _PORTION_STEP**ask.lighter))
        found.append(f"Lighter: each portion is {share} % smaller than usual.")
    if factor != _AS_TABLES:
        percent = abs(factor - 1) * 100
        way = "smaller" if factor < 1 else "larger"
        found.append(f"Portions are {percent:.0f} % {way} than the tables: so orders here ate.")
    if ask.money is None:
        found.append("No limit of money was named.")
    return found
