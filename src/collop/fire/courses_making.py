"""Courses made from the heat model or from the shop's own minutes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from collop.errors import BadValue
from collop.fire.courses_heats import gas_of, turn_minutes
from collop.fire.courses_key import CourseKey, minimum_c, target_c
from collop.fire.courses_model import Cook, Cooked, cook_samples, usual_fall, usual_rise
from collop.fire.lethality import log_reduction
from collop.fire.problem import BANDS, METHODS, Course, StageTime
from collop.fire.spreads import shop_minutes
from collop.reference import cook_minimum

__all__ = ["MOST_ALLOWED_K", "MOST_LOG", "cook_of", "make_course"]

Floats = NDArray[np.float64]

#: Log reductions above this are told as this.
MOST_LOG = 12.0
#: No more of the rise in the rest than this is reckoned with [K]: 10 degF, the most that published
#: pull tables of steaks and roasts allow (source ids ``NCBA_GRILL``, ``GRILLMAKER``).
MOST_ALLOWED_K = 10 / 1.8
_ROOM_F = 75
# how often the pull of a piece that cools in its rest is set anew, and a fall that is none [K]
_FALLS, _LEVEL_K = 3, 0.05
# no more turns than this are told, however often it is turned
_MOST_TURNS = 12
_HEAT_WORDS = {"oven": "an oven", "indirect": "the cool side, lid on"}


def make_course(key: CourseKey, samples: int) -> Course:
    """Return the course of a key.

    Parameters
    ----------
    key : CourseKey
    samples : int
        How many evenings its bands rest on.

    Raises
    ------
    BadValue
        If the fire cannot bring the piece to its core, or nothing tells its time. Told minutes are
        no way round the first: the piece would come off raw. Only food without a rule takes them.
    """
    target = target_c(key)
    modelled = key.body is not None and "pot" not in METHODS[key.method] and target is not None
    if modelled:
        # told minutes play no part here: the same piece is run once, whatever is told beside it
        found = _tried(replace(key, minutes=None, stages=None), target or 0.0, samples)
        if isinstance(found, Course):
            return found
        if key.cook_as != "none" or (key.minutes is None and key.stages is None):
            raise BadValue(found)
    return _from_shop(key, target, samples)


# ---- the shop's own minutes


def _from_shop(key: CourseKey, target: float | None, samples: int) -> Course:
    heats = METHODS[key.method]
    notes = ["Times are the shop's own, taken as 10 to 90 in a hundred."]
    if key.stages is not None:
        stages = tuple(
            StageTime(one.heat, shop_minutes(one.low, one.high, f"{key.id}/{place}", samples))
            for place, one in enumerate(key.stages)
        )
    elif key.minutes is not None:
        total = shop_minutes(*key.minutes, key.id, samples)
        stages = tuple(_shared(heats, total))
        if len(heats) > 1:
            notes.append("The last tenth of its time is over the coals; common practice.")
    else:
        raise BadValue(
            f"Nothing tells how long {key.id} takes: the heat model knows no "
            f"{'pot' if 'pot' in heats else 'food without a core to reach'}; give its minutes."
        )
    return Course(
        stages=stages,
        pull_c=target,
        target_c=target,
        rest_min=key.rest_min,
        hold_min=key.hold_min,
        rise_c=None,
        log_reduction=None,
        source="shop",
        notes=tuple(notes),
    )


def _shared(heats: tuple[str, ...], total: Floats) -> Iterator[StageTime]:
    """Yield the stages of a method whose time is told in one."""
    if len(heats) == 1:
        yield StageTime(heats[0], total)
        return
    for heat, share in zip(heats, (0.9, 0.1), strict=True):
        part = total * share
        part.setflags(write=False)
        yield StageTime(heat, part)


# ---- the heat model


@lru_cache(maxsize=512)
def _tried(key: CourseKey, target: float, samples: int) -> Course | str:
    """Return the course, or why there is none: a refusal is worked out once as well."""
    try:
        return _from_model(key, target, samples)
    except BadValue as no:
        return no.message


def _from_model(key: CourseKey, target: float, samples: int) -> Course:
    pull = _pull(key, target)
    cook = cook_of(key, pull)
    found = cook_samples(cook, samples)
    untils = cook.until()
    stages = tuple(
        StageTime(heat, minutes, _turns(cook, place, minutes), untils[place])
        for place, (heat, minutes) in enumerate(zip(cook.heats, found.minutes, strict=True))
    )
    low, middle, high = (float(one) for one in np.quantile(found.rise_k, BANDS))
    return Course(
        stages=stages,
        pull_c=pull,
        target_c=target,
        rest_min=key.rest_min,
        hold_min=key.hold_min,
        rise_c=(low, middle, high),
        log_reduction=_log_reduction(key, found),
        source="model",
        notes=(*_notes(key, cook, pull=pull, target=target), *_stalled(found)),
    )


def _stalled(found: Cooked) -> Iterator[str]:
    """Yield how often the fire never brings it to its core, where it is as often as 1 in 100."""
    share = 100 * float(np.mean(~np.isfinite(sum(found.minutes))))
    if share >= 1:
        yield f"In {share:.0f} of 100 evenings this fire never gets it done: have an oven ready."


def cook_of(key: CourseKey, pull: float) -> Cook:
    """Return what the heat model needs of a key, to come off at `pull` [degC]."""
    assert key.body is not None
    air = _ROOM_F if key.air_f is None else key.air_f
    return Cook(
        key=key.id,
        body=key.body,
        method=key.method,
        pull_c=pull,
        rest_min=key.rest_min,
        lid=key.lid,
        air_c=(air - 32) / 1.8,
        species=key.species,
        poultry=key.cook_as == "poultry",
    )


def _pull(key: CourseKey, target: float) -> float:
    """Return the core at which it comes off [degC].

    A bird or mince at its target. A whole cut no lower than keeps its core at the minimum through
    the published rest, and by the rise of its rest under what is asked above that. A thin slice
    cools in its rest and so comes off over the minimum.
    """
    least = minimum_c(key.cook_as)
    if key.cook_as != "whole" or least is None:
        return target
    lowest = least
    for _ in range(_FALLS):  # hotter falls a little faster
        resting = replace(cook_of(key, lowest), rest_min=cook_minimum("whole").rest_min)
        fall = usual_fall(resting)
        if fall < _LEVEL_K:
            break
        # at the minimum of mince no rest is asked for, so no more is needed
        lowest = min(least + fall, minimum_c("ground") or least)
    if target <= least:
        return max(target, lowest)
    rise = min(usual_rise(cook_of(key, target)), MOST_ALLOWED_K)
    return max(lowest, target - rise)


def _turns(cook: Cook, stage: int, minutes: Floats) -> tuple[float, ...]:
    """Return when a piece is turned, as shares of the stage."""
    if not cook.flat or cook.heats[stage] not in {"direct", "plate"}:
        return ()
    crust_only = len(cook.heats) > 1
    every = turn_minutes(cook.heats[stage], lid=cook.lid, crust_only=crust_only)
    if every is None:
        return (0.5,)
    times = min(_MOST_TURNS, max(2, round(float(np.median(minutes)) / every)))
    return tuple(place / times for place in range(1, times))


def _log_reduction(key: CourseKey, found: Cooked) -> float | None:
    """Return the median log reduction at the coldest point through the rest, capped."""
    if key.cook_as == "none":
        return None
    chicken = key.cook_as == "poultry"
    table = "fsis-appendix-a-chicken" if chicken else "fsis-appendix-a-beef"
    logs = log_reduction(found.time_min, found.core_c, table=table)
    return min(MOST_LOG, float(np.median(logs)))


def _notes(key: CourseKey, cook: Cook, *, pull: float, target: float) -> Iterator[str]:
    body = cook.body
    told = "measured" if body.measured else "told, not measured"
    start_f = body.start_c * 1.8 + 32
    yield (
        f"Thickness {body.thickness_mm:.0f} mm, {told}; "
        f"{body.start_c:.0f} °C ({start_f:.0f} °F) when it goes on."
    )
    for heat in cook.heats:
        if heat in _HEAT_WORDS:
            gas = gas_of(heat, body.form, then_direct=len(cook.heats) > 1)
            yield f"Taken: {_HEAT_WORDS[heat]}, {gas:.0f} °C ({round(gas * 1.8 + 32)} °F)."
    if not cook.lid and "indirect" in cook.heats:
        yield "The cool side needs a lid: cover it, if only with foil or a pan."
    if body.bone:
        yield "Bone inside: the band is a tenth wider."
    if cook.poultry and body.form in {"bird-flat", "bird-whole"}:
        yield "Probe the breast and the inner thigh; the later one counts."
    if pull < target:
        early = target - pull
        yield f"Comes off {early:.1f} °C ({early * 1.8:.0f} °F) early: its rest brings it up."
    elif pull > target:
        over = pull - target
        yield f"Comes off {over:.1f} °C ({over * 1.8:.0f} °F) above its minimum: it cools resting."
    elif key.cook_as in {"poultry", "ground"}:
        yield "Comes off at its minimum or above, with nothing left to the rest."
