"""Minutes of one piece from the heat model, in many samples at once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from collop.errors import BadValue
from collop.fire.conduction import Bodies, Leg, Phase, Slabs, Trace, run, turns
from collop.fire.courses_heats import (
    FLAT,
    SHAPES,
    faces,
    gas_of,
    rest_face,
    turn_minutes,
)
from collop.fire.problem import BANDS, METHODS, Body
from collop.fire.spreads import (
    K_SD,
    MODEL_SD,
    PULL_SD,
    RHO_C_SD,
    SHAPE_REACH,
    SIZE_SD_MEASURED,
    SIZE_SD_TOLD,
    START_SD,
    FireState,
    OwnState,
    fire_state,
    own_state,
)

__all__ = [
    "AHEAD_K",
    "LONGEST_MIN",
    "Cook",
    "Cooked",
    "cook_samples",
    "usual_fall",
    "usual_minutes",
    "usual_rise",
]

Floats = NDArray[np.float64]

#: The cool side ends so far below the pull, and the crust is laid on over the coals [K]: a thick
#: steak meant for 57 degC is taken over at 49.
AHEAD_K = 8.0
#: Longer than this is no plan [min].
LONGEST_MIN = 12 * 60.0
#: How much of the modelled rise of a piece straight from the fire is believed. The model's fire
#: face stores too much heat: it rises about 12 K where the charts allow 5 to 10 degF.
FIRE_RISE_SHARE = 0.35
#: Bone inside widens the band by this share.
BONE_WIDER = 1.1
# more than this share of the samples must reach their core, or the fire cannot do it: the band is
# told up to the 90th. The others stall, and are never done
_MUST_REACH = BANDS[-1]
_FIRST_GUESS_MIN_PER_MM = 0.22
# so many times the usual time, and so many minutes more, is a stall
_STALLS = 4.0
# with these steps a time is within 0.3 % of that of a far finer one: a flat piece is turned, and
# its faces change quickly, any other piece warms slowly [s]
_STEP_S, _STEP_ROUND_S = 15.0, 45.0
# when to turn is found in two runs, the first with longer steps and fewer terms
_SEARCHES = ((120.0, 6), (_STEP_S, 14))
_RHO_C, _RHO_C_FAT = 3.7e6, 3.3e6
_K = {"beef": 0.48, "pork": 0.47, "chicken": 0.46, "turkey": 0.46}
_K_POULTRY, _K_FAT, _K_OTHER = 0.46, 0.40, 0.47


@dataclass(frozen=True, slots=True)
class Cook:
    """One piece and how it is cooked: all the model needs, and so its key.

    Attributes
    ----------
    key : str
        Whose own samples: the item's id; empty for the usual piece on the usual fire alone.
    body : Body
    method : str
        One of `collop.fire.problem.METHODS`.
    pull_c : float
        Core at which it comes off [degC].
    rest_min : int
        Rest [min].
    lid : bool
        Whether the grill is covered.
    air_c : float
        Weather [degC].
    species : str or None
    poultry : bool
    gas_c : float or None
        Air of the oven or cool side [degC]; None for that of the form.
    """

    key: str
    body: Body
    method: str
    pull_c: float
    rest_min: int = 0
    lid: bool = True
    air_c: float = 24.0
    species: str | None = None
    poultry: bool = False
    gas_c: float | None = None

    @property
    def heats(self) -> tuple[str, ...]:
        """Return the heats of its stages in their order."""
        return METHODS[self.method]

    @property
    def flat(self) -> bool:
        """Tell whether it has two faces that are turned."""
        return self.body.form in FLAT

    @property
    def from_fire(self) -> bool:
        """Tell whether it comes off the fire or the pan itself."""
        return self.heats[-1] in {"direct", "plate"}

    @property
    def turned_once(self) -> bool:
        """Tell whether it is turned once, at half its time."""
        only = self.heats[0] if len(self.heats) == 1 else ""
        every = turn_minutes(only, lid=self.lid, crust_only=False)
        return self.flat and only in {"direct", "plate"} and every is None

    def until(self) -> tuple[float, ...]:
        """Return the core that ends each stage [degC]."""
        if len(self.heats) == 1:
            return (self.pull_c,)
        return max(self.pull_c - AHEAD_K, self.body.start_c + 1.0), self.pull_c


@dataclass(frozen=True, slots=True, eq=False)
class Cooked:
    """What the model says of a cook; S samples.

    Attributes
    ----------
    minutes : tuple of arrays (S,)
        Of each stage [min], with the spread of the model itself; infinite where it never ends.
    rise_k : array (S,)
        Rise of the core in its rest [K].
    time_min, core_c : arrays (T, S)
        Clock and core, cooking and rest [min, degC].
    mean_c : array (S,)
        Mean temperature of the piece when it comes off [degC].
    evaporated_kg_m2 : float
        Water that left the surface, median [kg/m2].
    """

    minutes: tuple[Floats, ...]
    rise_k: Floats
    time_min: Floats
    core_c: Floats
    mean_c: Floats
    evaporated_kg_m2: float


def _properties(cook: Cook, own: OwnState | None) -> tuple[Floats | float, Floats | float]:
    """Return conductivity [W/(m K)] and heat held by a volume [J/(m3 K)]."""
    known = _K.get((cook.species or "").lower(), _K_OTHER)
    usual = _K_FAT if cook.body.fat_rich else _K_POULTRY if cook.poultry else known
    held = _RHO_C_FAT if cook.body.fat_rich else _RHO_C
    if own is None:
        return usual, held
    return usual * (1 + K_SD * own.k), held * (1 + RHO_C_SD * own.rho_c)


def _piece(cook: Cook, own: OwnState | None) -> Bodies | Slabs:

    body = cook.body
    k, held = _properties(cook, own)
    size: Floats | float = body.thickness_mm / 1000
    start: Floats | float = body.start_c
    shape: Floats | float = SHAPES[body.form] if body.shape is None else body.shape
    if own is not None:
        spread = SIZE_SD_MEASURED if body.measured else SIZE_SD_TOLD
        size = size * (1 + spread * own.size)
        start = np.maximum(body.start_c + START_SD * own.start, 0.0)
        shape = np.clip(shape + SHAPE_REACH * own.shape, 0.0, 2.0)
    if cook.flat:
        return Slabs(size, k / held, k, start)
    return Bodies(size / 2, shape, k / held, k, start)


def _legs(
    cook: Cook, stage: int, fire: FireState | None, half: Floats | float | None, most: float
) -> list[Leg]:
    """Return the legs of a stage, `most` minutes; `half` is when a flat piece is turned once."""
    heat, form = cook.heats[stage], cook.body.form
    then_direct = len(cook.heats) > 1
    gas = cook.gas_c if cook.gas_c is not None else gas_of(heat, form, then_direct=then_direct)
    found = faces(heat, form, fire, gas_c=gas, lid=cook.lid, air_c=cook.air_c)
    if len(found) == 1:
        return [Leg(most, found[0])]
    lower, upper = found
    every = turn_minutes(heat, lid=cook.lid, crust_only=then_direct)
    if every is not None:
        return list(turns(every, most, lower, upper))
    assert half is not None
    return [Leg(half, (lower, upper)), Leg(most, (upper, lower))]


def _phases(
    cook: Cook,
    fire: FireState | None,
    own: OwnState | None,
    half: Floats | float | None,
) -> list[Phase]:
    """Return the stages of the cook, each to its core."""
    most = [LONGEST_MIN] * len(cook.heats)
    if own is not None:  # a sample that takes far longer than the usual piece stalls
        most = [_STALLS * minutes + _STALLS for minutes in _usual(cook).minutes[:, 0]]
    found = []
    for stage, until_c in enumerate(cook.until()):
        last = stage == len(cook.heats) - 1
        at = until_c if own is None or not last else until_c + PULL_SD * own.pull
        found.append(Phase(_legs(cook, stage, fire, half, most[stage]), until_c=at))
    return found


def _cooked(
    cook: Cook, fire: FireState | None, own: OwnState | None, *, rest: bool
) -> Trace:  # fmt: skip
    """Run the cook; a flat piece that is turned once is turned at half its own time."""
    piece = _piece(cook, own)
    half: Floats | float | None = None
    if cook.turned_once:
        # a first guess by thickness, then twice the half of the time found
        half = _FIRST_GUESS_MIN_PER_MM * cook.body.thickness_mm
        for step_s, terms in _SEARCHES:
            search = _phases(cook, fire, own, half)
            found = run(piece, search, step_s=step_s, terms=terms, keep_history=False)
            half = found.minutes[0] / 2
    phases = _phases(cook, fire, own, half)
    if rest and cook.rest_min:
        face = rest_face(cook.air_c, after_fire=cook.from_fire)
        phases.append(Phase([Leg(float(cook.rest_min), face)]))
    step_s = _STEP_S if cook.flat else _STEP_ROUND_S
    trace = run(piece, phases, step_s=step_s, keep_history=own is not None)
    _check_reached(cook, trace)
    return trace


def _check_reached(cook: Cook, trace: Trace) -> None:
    done = trace.reached[: len(cook.heats)].all(axis=0)
    # the 90th percentile lies between two samples, and both must have their time
    least = min(done.size, math.floor(_MUST_REACH * (done.size - 1)) + 2)
    if int(done.sum()) < least:
        core = f"reach {cook.pull_c:.0f} degC by {cook.method} in"
        does = f"does not {core} {LONGEST_MIN / 60:.0f} hours"
        if done.size > 1:
            does = f"does not {core} {100 * float((~done).mean()):.0f} of 100 evenings"
        raise BadValue(
            f"{cook.key or 'The piece'}, {cook.body.thickness_mm:g} mm thick, {does}; cook "
            "it another way, or in another thickness."
        )


def _rises(cook: Cook, trace: Trace) -> Floats:
    """Return the rise of the core in its rest [K], zero without a rest."""
    stages = len(cook.heats)
    if len(trace.minutes) == stages:
        return np.zeros(trace.minutes.shape[1])
    share = FIRE_RISE_SHARE if cook.from_fire else 1.0
    rise: Floats = np.maximum(trace.peak_c - trace.core_end_c[stages - 1], 0.0) * share
    return rise


def _believed_core(cook: Cook, trace: Trace) -> Floats:
    """Return the core history with the rise that is believed."""
    stages = len(cook.heats)
    core = trace.core_c
    if not cook.from_fire or len(trace.minutes) == stages:
        return core
    pulled = trace.core_end_c[stages - 1]
    above = np.maximum(core - pulled, 0.0) * (1 - FIRE_RISE_SHARE)
    found: Floats = np.where((trace.phase_of == stages)[:, None], core - above, core)
    return found


def _widened(cook: Cook, minutes: Floats, reached: NDArray[np.bool_], own: OwnState) -> Floats:
    """Return the minutes with what the model leaves out, and wider with a bone inside.

    A sample that stalls is never done: infinite.
    """
    found = np.where(reached, minutes * np.exp(MODEL_SD * own.model), np.inf)
    if cook.body.bone:
        middle = np.median(found)
        found = middle * (found / middle) ** BONE_WIDER
    found.setflags(write=False)
    wide: Floats = found
    return wide


def cook_samples(cook: Cook, samples: int) -> Cooked:
    """Run one cook in so many samples; not kept, as its history is large.

    Parameters
    ----------
    cook : Cook
    samples : int
        How many; the same fire meets the same sample of every cook.

    Returns
    -------
    Cooked

    Raises
    ------
    BadValue
        If the fire cannot bring the core to where it is to come off.
    """
    fire, own = fire_state(samples), own_state(cook.key, samples)
    trace = _cooked(cook, fire, own, rest=True)
    stages = len(cook.heats)
    return Cooked(
        minutes=tuple(
            _widened(cook, trace.minutes[one], trace.reached[one], own) for one in range(stages)
        ),
        rise_k=_rises(cook, trace),
        time_min=trace.time_min,
        core_c=_believed_core(cook, trace),
        mean_c=trace.mean_end_c[stages - 1],
        evaporated_kg_m2=float(np.median(trace.evaporated_kg_m2.sum(axis=0))),
    )


def usual_minutes(cook: Cook) -> float:
    """Return the minutes of a piece of the very size on the usual fire, without any spread [min].

    Raises
    ------
    BadValue
        If the fire cannot bring the core to where it is to come off.
    """
    return float(_usual(cook).minutes[:, 0].sum())


@lru_cache(maxsize=1024)
def _usual(cook: Cook) -> Trace:
    """Return the usual piece on the usual fire, without its rest."""
    return _cooked(cook, None, None, rest=False)


@lru_cache(maxsize=1024)
def usual_rise(cook: Cook) -> float:
    """Return how far the core of that piece rises in its rest [K]; errors as `usual_minutes`."""
    return float(_rises(cook, _cooked(cook, None, None, rest=True))[0])


@lru_cache(maxsize=1024)
def usual_fall(cook: Cook) -> float:
    """Return how far that core is under its pull at the end of the rest [K], zero if it is not.

    A thin piece cools in its rest; errors as `usual_minutes`.
    """
    trace = _cooked(cook, None, None, rest=True)
    return max(0.0, float(trace.core_end_c[len(cook.heats) - 1, 0] - trace.core_c[-1, 0]))
