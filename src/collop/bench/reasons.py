"""Why each break: what it covers, what is surplus and what becomes of it, and the runner-up."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.bench.reasons_chance import chances
from collop.bench.reasons_forced import Forcing
from collop.bench.reasons_price import winning_price
from collop.bench.reasons_uses import Cover, Surplus, covers_of, fates_of, surplus_of
from collop.bench.reasons_words import Words
from collop.bench.telling import weight_text
from collop.bench.ways import Way

if TYPE_CHECKING:
    from collop.bench.plan import Found

__all__ = ["reasoned"]

_Json = dict[str, Any]
#: With more breaks than this, large cuts have no runner-up: it would take too long.
_MOST_BREAKS = 30
_HANGS = "leave it hanging"


def reasoned(found: Found, plan: _Json) -> _Json:
    """Return the plan with its reasons.

    Parameters
    ----------
    found : Found
        The answer, its exact weights, money and worths.
    plan : dict
        Its ``collop.bench.plan/1`` plan, without reasons; it is filled in.

    Returns
    -------
    dict
        The same plan: each break with `covers`, `surplus`, `runner_up` and `say`, each kept piece
        with `say`, each booked line with `chance`.
    """
    words, fates = Words(found), fates_of(found.flows)
    forcing = Forcing(found.answer)
    ways = {way.node: way for way in found.flows.ways}
    locked = {lock.tag for lock in found.problem.locks if lock.style is not None}
    for row in plan["breaks"]:
        way = ways[row["id"]]
        mine = fates.get(way.index, [])
        covers, surplus = covers_of(found, mine), surplus_of(found, mine)
        row["covers"] = [_cover(words, one) for one in covers]
        row["surplus"] = [_surplus(words, one) for one in surplus]
        row["say"] = words.line(way, covers, surplus)
        if way.parent is not None and len(plan["breaks"]) > _MOST_BREAKS:
            continue
        if way.parent is not None or way.tag not in locked:
            row["runner_up"] = _runner_up(words, forcing, way)
    for row in plan["kept"]:
        forced = forcing.best(forcing.breaks(row["tag"]))
        row["say"] = words.kept(row["tag"], forced)
    chances(found, plan)
    return plan


def _cover(words: Words, one: Cover) -> _Json:
    return {
        "cut": one.id, "name": words.name(one.id, is_trim=False), "booking": one.booking,
        "through": one.through, "weight": weight_text(one.weight),
        "first_day": one.first, "last_day": one.last,
    }  # fmt: skip


def _surplus(words: Words, one: Surplus) -> _Json:
    return {
        "cut": one.id, "name": words.name(one.id, is_trim=one.is_trim), "through": one.through,
        "weight": weight_text(one.weight), "way": one.way, "day": one.first,
        "say": words.surplus(one),
    }  # fmt: skip


def _runner_up(words: Words, forcing: Forcing, way: Way) -> _Json | None:
    forced = forcing.best(forcing.others(way))
    if forced is None:
        return None
    wins = None
    book = words.found.book
    loses = book.minor(Fraction(forced.loses))
    if loses and not forced.short:
        wins = winning_price(forcing, forced)
    other = forced.other.way
    return {
        "style": None if other is None else other.style.id,
        "style_name": _HANGS if other is None else other.style.name,
        "day": None if other is None else other.day,
        "loses": book.text(loses),
        "wins_if": None if wins is None else {
            "cut": wins.cut, "name": words.name(wins.cut, is_trim=False),
            "price": book.text(wins.minor),
        },
        "say": words.runner_up(way, forced, wins),
    }  # fmt: skip
