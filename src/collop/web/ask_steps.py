"""What a tap does to an ask: one small step each, none of which needs the script."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from collop.errors import BadValue
from collop.web.ask_form import STYLES, Ask, Avoid
from collop.web.forms import MOST_HEADS, Heads, read_whole

__all__ = ["Step", "step_ask"]

_MOST_LIGHTER = 3


class Step:
    """An ask after a tap, with one sentence if the tap could not change it."""

    def __init__(self, ask: Ask, notice: str = "") -> None:
        self.ask = ask
        self.notice = notice


def step_ask(do: str, ask: Ask, spread: dict[str, Any] | None, plan: dict[str, Any] | None) -> Step:
    """Return the ask after a tap.

    Parameters
    ----------
    do : str
        Name of the tap, with its object after a colon: ``cheaper``, ``unpin:C02``.
    ask : Ask
        The ask before.
    spread, plan : dict or None
        The shown spread and its plan, if the ask has one.

    Raises
    ------
    BadValue
        If the tap is not known.
    """
    word, _, thing = do.partition(":")
    counted = _COUNTS.get(word)
    if counted:
        return Step(counted(ask))
    if word in _ON_LINES:
        return Step(_ON_LINES[word](ask, thing))
    if word in _ON_MONEY:
        return _ON_MONEY[word](ask, spread, plan)
    if word == "to":
        return Step(_balance(ask, _total(thing)))
    if word == "yes":
        return Step(_accept(ask, plan, thing))
    raise BadValue(f"{do[:40]!r} is no button of this page; use the buttons shown.")


def _more_heads(by: int) -> Callable[[Ask], Ask]:
    def step(ask: Ask) -> Ask:
        low, high = ask.heads.low + by, ask.heads.high + by
        least = max(1, ask.child + ask.big + ask.meat_free)
        low = min(max(low, least), MOST_HEADS)
        return replace(ask, heads=Heads(low, min(max(high, low), MOST_HEADS)))

    return step


def _more_of(kind: str, by: int) -> Callable[[Ask], Ask]:
    def step(ask: Ask) -> Ask:
        count = max(0, getattr(ask, kind) + by)
        if by > 0 and ask.usual < by:
            return ask
        changed: Ask = replace(ask, **{kind: count})
        return changed

    return step


_COUNTS: dict[str, Callable[[Ask], Ask]] = {
    "heads+": _more_heads(1),
    "heads-": _more_heads(-1),
    **{f"{kind}+": _more_of(kind, 1) for kind in ("child", "big", "meat_free")},
    **{f"{kind}-": _more_of(kind, -1) for kind in ("child", "big", "meat_free")},
    "why": lambda ask: replace(ask, show="" if ask.show == "why" else "why"),
    "swap-panel": lambda ask: replace(ask, show="" if ask.show == "swap" else "swap"),
    "whole-money": lambda ask: replace(ask, to=None, aim=""),
    "unlighter": lambda ask: replace(ask, lighter=0),
    "unpatch": lambda ask: replace(ask, patch=()),
    "unonly": lambda ask: replace(ask, only=""),
}


def _pin(ask: Ask, line: str) -> Ask:
    kept = _unpin(ask, line.partition("@")[0])
    return replace(ask, pins=(*kept.pins, line))


def _unpin(ask: Ask, line: str) -> Ask:
    return replace(ask, pins=tuple(pin for pin in ask.pins if pin.partition("@")[0] != line))


def _swap(ask: Ask, line: str) -> Ask:
    """Leave a line out; ``C02>C01`` also pins the one that comes in its place."""
    out, _, into = line.partition(">")
    changed = replace(_unpin(ask, out), leave=tuple(dict.fromkeys((*ask.leave, out))))
    if into:
        back = tuple(name for name in changed.leave if name != into)
        only = into if ask.only == out else ask.only
        changed = _pin(replace(changed, leave=back, only=only), into)
    return changed


def _back(ask: Ask, line: str) -> Ask:
    return replace(ask, leave=tuple(name for name in ask.leave if name != line))


def _undont(ask: Ask, what: str) -> Ask:
    return replace(ask, avoids=tuple(avoid for avoid in ask.avoids if avoid.what != what))


def _coals(ask: Ask, minutes: str) -> Ask:
    return replace(ask, coals=read_whole(minutes, "Minutes of coals", 10, 1440))


def _day(ask: Ask, day: str) -> Ask:
    """Move the meal to a day; one that is past is refused where the ask is planned."""
    try:
        return replace(ask, day=date.fromisoformat(day))
    except ValueError:
        raise BadValue("The day of this button cannot be read; use the buttons shown.") from None


_ON_LINES: dict[str, Callable[[Ask, str], Ask]] = {
    "coals": _coals,
    "day": _day,
    "pin": _pin,
    "unpin": _unpin,
    "swap": _swap,
    "back": _back,
    "undont": _undont,
}


def _total(text: str) -> Decimal:
    try:
        return Decimal(text).quantize(Decimal("0.01"))
    except ArithmeticError:
        raise BadValue("The amount of this button cannot be read; use the buttons shown.") from None


def _balance(ask: Ask, to: Decimal) -> Ask:
    """Go to a point of the curve: the best eating that this money buys."""
    return replace(ask, to=to, aim="showpiece")


def _curve(plan: dict[str, Any] | None) -> list[Decimal]:
    return [Decimal(point["total"]) for point in (plan or {}).get("curve") or []]


def _cheaper(ask: Ask, spread: dict[str, Any] | None, plan: dict[str, Any] | None) -> Step:
    if spread is None:
        return Step(ask, "There is no spread yet; enter how many eat.")
    total = Decimal(spread["total"])
    below = [point for point in _curve(plan) if point < total]
    if below:
        return Step(_balance(ask, max(below)))
    return Step(replace(ask, aim="least-money"),
                "This is the least money that feeds this table.")  # fmt: skip


def _finer(ask: Ask, spread: dict[str, Any] | None, plan: dict[str, Any] | None) -> Step:
    if spread is None:
        return Step(ask, "There is no spread yet; enter how many eat.")
    # a balance just under the next point of the curve counts as that point reached
    total = max(Decimal(spread["total"]), ask.to or Decimal(0))
    above = [point for point in _curve(plan) if point > total]
    within = [point for point in above if ask.budget is None or point <= ask.budget]
    if within:
        return Step(_balance(ask, min(within)))
    if ask.to is not None:
        return Step(replace(ask, to=None, aim="showpiece"))
    if ask.aim != "showpiece":
        return Step(replace(ask, aim="showpiece"))
    return Step(ask, "Nothing finer is free within this money.")


def _lighter(ask: Ask, _spread: dict[str, Any] | None, _plan: dict[str, Any] | None) -> Step:
    if ask.lighter >= _MOST_LIGHTER:
        return Step(ask, "Portions are as light as this shop plans them.")
    return Step(replace(ask, lighter=ask.lighter + 1))


_ON_MONEY: dict[str, Callable[[Ask, dict[str, Any] | None, dict[str, Any] | None], Step]] = {
    "cheaper": _cheaper,
    "finer": _finer,
    "lighter": _lighter,
}


def _accept(ask: Ask, plan: dict[str, Any] | None, thing: str) -> Ask:
    """Take one of the nearest yeses: into its own field where it has one, else as a patch."""
    offered = (plan or {}).get("nearest_yes") or []
    if not thing.isdecimal() or int(thing) >= len(offered):
        raise BadValue("That way out is no longer offered; choose one of those shown.")
    yes = offered[int(thing)]
    patch = yes["patch"]
    if set(patch) <= {"budget_total", "budget_per_head"} and patch.get("budget_total"):
        return replace(ask, money=Decimal(str(patch["budget_total"])), per="total", to=None)
    if set(patch) == {"use_at"}:
        at = datetime.fromisoformat(patch["use_at"])
        return replace(ask, day=at.date(), time=at.time())
    style = _style_of(patch)
    if style:
        return replace(ask, style=style)
    if set(patch) == {"groups"}:
        return _with_groups(ask, patch["groups"])
    if patch == {"rules": {"slots": []}}:
        return replace(ask, slots=())
    if patch == {"rules": {"only": []}}:
        return replace(ask, only="")
    return replace(ask, patch=(*ask.patch, json.dumps(patch, sort_keys=True)))


def _with_groups(ask: Ask, groups: list[dict[str, Any]]) -> Ask:
    """Read groups of the problem back into heads, appetites and don't-eats."""
    kinds: dict[str, int] = {}
    avoids: dict[str, int] = {}
    for group in groups:
        kinds[group["kind"]] = kinds.get(group["kind"], 0) + group["count"]
        if group["name"].startswith("no "):
            what = group["name"].removeprefix("no ").partition(",")[0]
            avoids[what] = avoids.get(what, 0) + group["count"]
    heads = sum(kinds.values())
    return replace(
        ask, heads=Heads(heads, heads), child=kinds.get("child", 0), big=kinds.get("crew", 0),
        meat_free=kinds.get("meat-free", 0),
        avoids=tuple(Avoid(count, what) for what, count in avoids.items() if count),
    )  # fmt: skip


def _style_of(patch: dict[str, Any]) -> str:
    need = patch.get("need_oz")
    if set(patch) != {"need_oz"} or not isinstance(need, dict):
        return ""
    wanted = {style for style, ounces in need.items() if ounces is not None}
    return next((name for name, styles in STYLES.items() if set(styles) == wanted), "")
