"""What a core temperature over time has done, beside the published minimum that rules.

The count of a published table, the slower and faster rates of the literature, and the verdict
against the minimum temperature. The count explains; it never takes the place of the minimum.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import ceil, floor
from typing import Any

from collop.errors import BadValue
from collop.fire.lethality import one_rate_reduction, table_reduction
from collop.fire.lethality_reading import MOST_LOG, Count, read_count
from collop.fire.lethality_tables import (
    BEEF,
    CHICKEN,
    COUNTED_FROM_C,
    LEAN_PCT,
    Kinetic,
    beef_regression,
    literature,
    required_minutes,
)
from collop.reference.lethality import lethality_rows
from collop.reference.limits import CookMinimum, cook_minimum

__all__ = ["lethality", "longest_at"]

PLAN_ID = "collop.lethality.plan/1"
# readings are told to a thousandth at best; this is rounding of the arithmetic
_TINY = 1e-9
_COLD_C = 10.0  # 50 degF
#: Published measurements agree with the beef table from here to 71.1 degC (``MCMINN2018``).
_AGREED_FROM_C = 60.0
_COME_UP = "limit on time between 50 and 130 F while heating"
_LOCAL = "Local codes come first."


def lethality(problem: object) -> dict[str, Any]:
    """Count a core temperature over time against a published table and the published minimum.

    Parameters
    ----------
    problem : dict
        A ``collop.lethality/1`` problem: a history of the core, or temperatures to look up.

    Returns
    -------
    dict
        With a history: `log_reduction` (not rounded up, at most 12), `required_min_at_c` for each
        temperature of the history that counts, `reached` by the table, `kinetics` of the
        literature, and `published_minimum`, the rule. With ``at_c``: `required_min_at_c` alone.

    Raises
    ------
    BadValue
        With the path of the first bad value.

    Notes
    -----
    The rest that belongs to a minimum is read with caution: the history must hold an unbroken
    stretch of that length with the core at or above the minimum temperature.
    """
    count = read_count(problem)
    if count.at_c:
        return {"required_min_at_c": _looked_up(count)}
    log = float(table_reduction(count.minutes, count.core_c, count.table))
    reached = log >= count.target - _TINY
    kinetics = list(_kinetics(count))
    slowest = min(kinetics, key=lambda one: one["share"], default=None)
    plan = {
        "schema": PLAN_ID,
        "table": count.table.name,
        "target": count.target,
        "log_reduction": _told(log),
        "required_min_at_c": _required_in_history(count),
        "reached": reached,
        "peak_c": _down(max(count.core_c), 2),
        "counted_from_c": count.table.first_c,
        "kinetics": [{k: v for k, v in one.items() if k != "share"} for one in kinetics],
        "slowest": None if slowest is None else slowest["name"],
        "reached_by_all": reached and all(one["reached"] for one in kinetics),
        "published_minimum": _verdict(count, reached=reached),
        "cautions": list(_cautions(count)),
        "assumptions": list(_assumptions(count)),
    }
    return plan  # noqa: RET504 -- named for the reader


def longest_at(minutes: tuple[float, ...], core_c: tuple[float, ...], level_c: float) -> float:
    """Return the longest unbroken stretch with the core at or above a level [min].

    Parameters
    ----------
    minutes, core_c : tuple of float
        Readings [min, degC]; straight between them.
    level_c : float
        The level [degC].

    Returns
    -------
    float
        0 for a core that only touches the level; -1 for one that never reaches it.

    Examples
    --------
    >>> longest_at((0.0, 10.0, 20.0), (50.0, 60.0, 50.0), 55.0)
    10.0
    """
    level = level_c - _TINY
    best = 0.0 if max(core_c) >= level else -1.0
    since = minutes[0] if core_c[0] >= level else None
    for (t0, c0), (t1, c1) in pairwise(zip(minutes, core_c, strict=True)):
        crossing = t0 + (t1 - t0) * (level_c - c0) / (c1 - c0) if c1 != c0 else t1
        if since is None and c1 >= level:
            since = min(max(crossing, t0), t1)
        elif since is not None and c1 < level:
            best, since = max(best, min(max(crossing, t0), t1) - since), None
        if since is not None:
            best = max(best, t1 - since)
    return best


def _down(value: float, places: int) -> float:
    """Return a figure rounded down: what has been reached is never told too high."""
    step: int = 10**places
    return floor(value * step + _TINY * step) / step


def _told(log: float) -> float:
    return min(_down(log, 2), MOST_LOG)


def _needed(count: Count, temp_c: float) -> float:
    """Return the required minutes, rounded up."""
    return ceil(required_minutes(count.table, temp_c, count.target) * 100 - _TINY) / 100


def _looked_up(count: Count) -> dict[str, float]:
    found = {}
    for index, (text, temp_c) in enumerate(count.at_c):
        try:
            found[text] = _needed(count, temp_c)
        except BadValue as error:
            where = f"$.at_c[{index}]"
            raise BadValue(f"{where}: {error.message}", where=where) from None
    return found


def _required_in_history(count: Count) -> dict[str, float]:
    temps = dict.fromkeys(temp for temp in count.core_c if temp >= count.table.first_c)
    return {str(temp): _needed(count, temp) for temp in temps}


def _kinetics(count: Count) -> Iterator[dict[str, Any]]:
    """Yield the other rates: the table as one rate, and the literature; none for birds."""
    if count.table.name != BEEF:
        return
    fit = beef_regression()
    yield _by_one_rate(count, fit, f"{BEEF} as one rate", count.target)
    for one in literature():
        yield _by_one_rate(count, one, f"literature, {one.organism}", one.target)


def _by_one_rate(count: Count, rate: Kinetic, name: str, target: float) -> dict[str, Any]:
    log = float(
        one_rate_reduction(
            count.minutes, count.core_c, d_min=rate.d_min, ref_c=rate.ref_c, z_c=rate.z_c
        )
    )
    return {
        "name": name,
        "organism": rate.organism,
        "d_min": round(rate.d_min, 2),
        "at_c": rate.ref_c,
        "z_c": round(rate.z_c, 2),
        "target": target,
        "log_reduction": _told(log),
        "reached": log >= target - _TINY,
        "source": rate.source.text(),
        "share": log / target,
    }


def _verdict(count: Count, *, reached: bool) -> dict[str, Any]:
    """Return whether the history holds the published minimum, and what that means."""
    rule = cook_minimum(count.cook_as)
    level = (float(rule.temperature.in_fahrenheit(3)) - 32) / 1.8
    held = longest_at(count.minutes, count.core_c, level)
    met = held >= rule.rest_min - _TINY if held >= 0 else False
    return {
        "met": met,
        "rule": rule.rule,
        "source": rule.source,
        "core_f": rule.whole_fahrenheit,
        "core_c": rule.whole_celsius,
        "rest_min": rule.rest_min,
        "held_min": _down(max(held, 0.0), 2),
        "text": rule.text(),
        "say": _say(rule, met=met, reached=reached, touched=held >= 0),
    }


def _say(rule: CookMinimum, *, met: bool, reached: bool, touched: bool) -> str:
    if met:
        return f"The published minimum is met: {rule.text()}. {_LOCAL}"
    if touched:
        lead = f"The core reached the minimum but did not hold it for {rule.rest_min} min"
    elif reached:
        lead = "The count is reached by the table, but the published minimum is not"
    else:
        lead = "Neither the count of the table nor the published minimum is reached"
    return f"{lead}; the minimum is the rule: cook on to {rule.text()}. {_LOCAL}"


def _cautions(count: Count) -> Iterator[str]:
    if count.treatment != "whole" and count.cook_as == "ground":
        yield (
            f"Meat that is {count.treatment} may carry bacteria throughout: it is cooked as ground."
        )
    slow = _come_up_minutes(count)
    for row in lethality_rows("rule", product=_COME_UP, cited_only=True):
        if slow > float(row.value) * 60:
            yield (
                f"The core was {slow / 60:.1f} h between {_both(_COLD_C)} and "
                f"{_both(COUNTED_FROM_C)}; at most "
                f"{row.value} {row.unit} is published, and the count does not make up for it. "
                f"{row.source.text()}."
            )
    if count.table.name == BEEF and max(count.core_c) < _AGREED_FROM_C:
        for row in lethality_rows("rule", product="Appendix A check", cited_only=True):
            yield (
                f"Under {_both(_AGREED_FROM_C)} the table is less sure: measured times agree with "
                f"it at {_both(_AGREED_FROM_C)} to {_both(71.1)}, but not at {_both(54.4)}. "
                f"{row.source.text()}."
            )
    yield (
        "The table holds for a moist surface or direct heat, and for the coldest point: measure "
        "there."
    )


def _both(celsius: float) -> str:
    """Return a temperature of a published table in both scales."""
    fahrenheit = f"{round(celsius * 1.8 + 32)} \N{DEGREE SIGN}F"
    return f"{fahrenheit} ({celsius:g} \N{DEGREE SIGN}C)"


def _come_up_minutes(count: Count) -> float:
    """Return the minutes from 10 degC up to the first 54.4 degC, or as far as it came [min]."""
    total = 0.0
    for (t0, c0), (t1, c1) in pairwise(zip(count.minutes, count.core_c, strict=True)):
        if c0 >= COUNTED_FROM_C:
            break
        low, high = sorted((c0, c1))
        inside = min(high, COUNTED_FROM_C) - max(low, _COLD_C)
        if high > low:
            total += (t1 - t0) * max(inside, 0.0) / (high - low)
        elif low >= _COLD_C:
            total += t1 - t0
    return total


def _assumptions(count: Count) -> Iterator[str]:
    yield f"Times of {count.table.name}: {count.table.says}."
    yield f"Nothing is counted under {_both(count.table.first_c)}."
    if count.table.name == BEEF:
        if count.fat_pct is not None:
            yield "The table of beef does not ask for fat; fat_pct was not used."
        yield (
            "Bacteria of the literature die slower than the table says at some temperatures: act "
            "on the slowest."
        )
    elif count.fat_pct is None:
        yield "No fat was given: the column of 12 % fat counts, the slower one."
    elif count.table.name == CHICKEN and count.fat_pct > LEAN_PCT:
        yield f"Fat of {count.fat_pct:g} % counts by the column of 12 % fat, the slower one."
