"""When the answer is no: what stands in the way, and the nearest yes.  All of it is computed.

Each change returned has been applied alone to the problem and solved again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from collop.measures import Money
from collop.spread.options import minutes_to_table, thaw_and_cook
from collop.spread.plan import Yes
from collop.spread.problem import DISH_STYLES, Group, Offer, SpreadProblem
from collop.spread.setting import Setting, first_setting

__all__ = ["is_yes", "nearest_yes", "what_blocks"]

_FAR = 30  # days ahead looked at for another day
_STOCK_TIMES = 40
#: Coals are added by the half hour, up to three hours more.
_COALS_MIN, _MOST_COALS = 30, 6


def is_yes(problem: SpreadProblem) -> bool:
    """Tell whether some spread keeps every rule, the budget included."""
    setting = first_setting(problem)
    return setting is not None and setting.within_money


def what_blocks(problem: SpreadProblem, setting: Setting | None) -> tuple[str, ...]:
    """Return the limits each of which, lifted alone, would make a spread possible."""
    if setting is not None:
        return ("budget",)
    return tuple(name for name, lifted in _lifted(problem) if first_setting(lifted) is not None)


def _lifted(problem: SpreadProblem) -> Iterator[tuple[str, SpreadProblem]]:
    rules = problem.rules
    yield "stock", replace(problem, offers=tuple(_plenty(offer) for offer in problem.offers))
    if problem.fire is not None:
        yield "fire", replace(problem, fire=None)
    if problem.use_at is not None:
        thawed = tuple(replace(offer, frozen_mlb=0) for offer in problem.offers)
        yield "use_at", replace(problem, use_at=None, offers=thawed)
    yield "style", replace(problem, need_oz={s: n for s, (n, _) in DISH_STYLES.items()})
    if rules.slots:
        yield "slots", replace(problem, rules=replace(rules, slots=()))
    if rules.told:
        yield "rules", replace(problem, rules=rules.without_variety())
    if rules.only:
        yield "only", replace(problem, rules=replace(rules, only=frozenset()))
    if problem.pinned:
        yield "pinned", replace(problem, pinned=())


def _plenty(offer: Offer) -> Offer:
    pieces = offer.pieces_mlb
    if pieces is None:
        return replace(offer, free_mlb=max(offer.free_mlb, 1000) * _STOCK_TIMES)
    many = pieces * _STOCK_TIMES
    return replace(offer, pieces_mlb=many, free_mlb=sum(many))


def nearest_yes(problem: SpreadProblem, setting: Setting | None) -> tuple[Yes, ...]:
    """Return the changes that each, alone, turn no into yes."""
    found: list[Yes] = []
    if setting is not None and problem.budget is not None:
        found += _more_money(problem, setting)
    found += _other_style(problem)
    found += _fewer(problem)
    if setting is None:
        found += _more_fire(problem)
        found += _other_time(problem)
        found += _easier_rules(problem)
    return tuple(found)


def _more_money(problem: SpreadProblem, setting: Setting) -> Iterator[Yes]:
    least = setting.least.minor
    budget = problem.budget
    assert budget is not None
    # rounding line by line can move a total by a few minor units: the first that works
    for minor in range(least, least + 5):
        money = Money(minor, problem.currency)
        if is_yes(replace(problem, budget=money)):
            short = money - budget
            yield Yes(
                "budget_total", str(money),
                f"{money} feeds the table as asked: {short} more than {budget}.",
                {"budget_total": str(money), "budget_per_head": None},
            )  # fmt: skip
            return


def _other_style(problem: SpreadProblem) -> Iterator[Yes]:
    """Try each dish style alone, the fullest plate first."""
    for style, (need, _) in sorted(DISH_STYLES.items(), key=lambda item: -item[1][0]):
        if style in problem.need_oz and problem.need_oz[style] <= need:
            continue
        changed = replace(problem, need_oz={style: need})
        setting = first_setting(changed)
        if setting is None or not setting.within_money:
            continue
        total = setting.least
        left = "" if problem.budget is None else f", {problem.budget - total} left"
        gone = {other: None for other in problem.need_oz if other != style}
        yield Yes(
            "style", style,
            f"As {_dish(style)}, at {float(need):g} oz a meal, it is {total}{left}.",
            {"need_oz": {**gone, style: float(need)}},
        )  # fmt: skip


def _dish(style: str) -> str:
    words = {"plate": "a full plate", "shared": "dishes sliced to share", "wrap": "wraps",
             "hand": "food in the hand", "stew": "a stew"}  # fmt: skip
    return words[style]


def _fewer(problem: SpreadProblem) -> Iterator[Yes]:
    """Find the most eaters, with the groups in the same proportion, that can be fed."""
    low, high = 0, problem.heads
    while high - low > 1:
        middle = (low + high) // 2
        if is_yes(_with_heads(problem, middle)):
            low = middle
        else:
            high = middle
    if low:
        groups = _scaled(problem.groups, low)
        yield Yes(
            "count", low, f"The same ask works for {low} of the {problem.heads}.",
            {"groups": [_group_json(group) for group in groups]},
        )  # fmt: skip


def _with_heads(problem: SpreadProblem, heads: int) -> SpreadProblem:
    each = problem.budget_each
    budget = problem.budget if each is None else each * heads
    return replace(problem, groups=_scaled(problem.groups, heads), budget=budget)


def _scaled(groups: tuple[Group, ...], heads: int) -> tuple[Group, ...]:
    """Scale the groups to `heads` eaters by largest remainder."""
    total = sum(group.count for group in groups)
    exact = [Fraction(group.count * heads, total) for group in groups]
    counts = [math.floor(share) for share in exact]
    order = sorted(range(len(groups)), key=lambda i: (counts[i] - exact[i], i))
    for index in order[: heads - sum(counts)]:
        counts[index] += 1
    return tuple(replace(g, count=count) for g, count in zip(groups, counts, strict=True))


def _group_json(group: Group) -> dict[str, Any]:
    return {
        "name": group.name,
        "count": group.count,
        "kind": group.kind,
        "appetite": float(group.appetite),
        "avoids": sorted(str(avoid) for avoid in group.avoids),
    }


def _other_time(problem: SpreadProblem) -> Iterator[Yes]:
    """Try the moments at which something thaws or can be cooked, the nearest to the wish first."""
    if problem.use_at is None or problem.now is None:
        return
    for moment in _moments(problem, problem.now, problem.use_at):
        if is_yes(replace(problem, use_at=moment)):
            text = moment.isoformat(timespec="minutes")
            yield Yes(
                "use_at", text, f"From {moment:%A %H:%M} it can be thawed and cooked.",
                {"use_at": text},
            )  # fmt: skip
            return


def _more_fire(problem: SpreadProblem) -> Iterator[Yes]:
    """Try coals that last longer, the shortest first, then an oven."""
    fire = problem.fire
    if fire is None:
        return
    steps = (fire.minutes + _COALS_MIN * step for step in range(1, _MOST_COALS + 1))
    for minutes in steps if fire.zones else ():
        if is_yes(replace(problem, fire=replace(fire, minutes=minutes))):
            yield Yes(
                "fire", minutes, f"With coals that last {minutes} minutes it can be cooked.",
                {"fire": {"minutes": minutes}},
            )  # fmt: skip
            break
    if not fire.oven and is_yes(replace(problem, fire=replace(fire, oven=True))):
        yield Yes("fire", "oven", "With an oven beside the fire it can be cooked.",
                  {"fire": {"oven": True}})  # fmt: skip


def _moments(problem: SpreadProblem, now: datetime, wish: datetime) -> list[datetime]:
    found: set[datetime] = set()
    for offer in problem.offers:
        frozen = thaw_and_cook(offer)
        if frozen is not None:
            found.add(_quarter(now + frozen))
        found.add(_quarter(now + timedelta(minutes=minutes_to_table(offer))))
        if offer.days_left is not None and 0 <= offer.days_left <= _FAR:
            last = now.date() + timedelta(days=offer.days_left)
            found.add(datetime.combine(last, wish.time(), wish.tzinfo))
    later = [moment for moment in found if moment > now and moment != wish]
    return sorted(later, key=lambda moment: (abs(moment - wish), moment))


def _quarter(moment: datetime) -> datetime:
    """Round up to the next quarter of an hour."""
    start = moment.replace(minute=0, second=0, microsecond=0)
    steps = -(-(moment - start) // timedelta(minutes=15))
    return start + steps * timedelta(minutes=15)


_WITHOUT = {
    "only": "With other cuts beside it, carved alike, there is a spread.",
    "slots": "Without the wish for these roles there is a spread.",
    "variety": "With fewer items, or more of one, there is a spread.",
}


def _easier_rules(problem: SpreadProblem) -> Iterator[Yes]:
    rules = problem.rules
    for what, easier, patch in (
        ("only", replace(rules, only=frozenset()), {"only": []}),
        ("slots", replace(rules, slots=()), {"slots": []}),
        (
            "variety",
            rules.without_variety(),
            {"min_items": 1, "max_share": 1.0, "max_style_share": 1.0},
        ),
    ):
        if easier != rules and is_yes(replace(problem, rules=easier)):
            yield Yes("rules", what, _WITHOUT[what], {"rules": patch})
            return
