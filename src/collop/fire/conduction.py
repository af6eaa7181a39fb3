"""Transient conduction in meat: many samples at once, each on its own clock.

A piece is either a `Bodies` (slab, cylinder, sphere or between, heated alike all round) or a
`Slabs` (a flat piece with two different faces, which a turn swaps). `run` takes it through
phases: each `Phase` is a list of `Leg` (so many minutes before such faces) and ends early in each
sample whose core has reached `until_c`. The next phase starts there, in each sample at its own
time. So a course is written as it is cooked ::

    cool_side = Phase([Leg(300, Face(120, 20, wetness=0.2, cap_c=100))], until_c=49)
    over_coals = Phase(turns(3, 30, coals, lid), until_c=57)          # turned every 3 minutes
    rest = Phase([Leg(20, Face(22, 9, wetness=0.3))])
    trace = run(Slabs(...), [cool_side, over_coals, rest])
    trace.minutes        # (3, S): minutes of each phase in each sample
    trace.reached        # (3, S): false where `until_c` was not reached in the minutes given
    trace.peak_c         # (S,): highest core in the last phase (carry-over)

Method: the temperature is a sum of the eigenfunctions of the insulated piece. Each obeys an
equation of its own, solved exactly for a flux that runs straight within a step; the flux at the
end of a step follows from the surface there, so no step is too long to be stable. Terms beyond
the last one kept are taken as settled. Nothing is looped over but steps.

Constant properties within a sample; spread between samples.

References
----------
.. [1] Carslaw and Jaeger, Conduction of Heat in Solids: series solutions (from memory); compared
   with the computed series of the reference table in tests/published.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collop.fire.surfaces import Face

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Bodies", "Leg", "Phase", "Slabs", "Trace", "run", "turns"]


@dataclass(frozen=True, slots=True, eq=False)
class Bodies:
    """Pieces that are heated alike all round; numbers, or arrays with one figure a sample.

    Parameters
    ----------
    radius_m : float or array of shape (S,)
        Half the thickness of a slab, or the smallest radius [m].
    shape : float or array
        Shape factor, 0 (slab) to 2 (sphere); 1 is a long cylinder.
    alpha : float or array
        Thermal diffusivity [m2/s].
    k : float or array
        Thermal conductivity [W/(m K)].
    start_c : float or array
        Uniform temperature at the start [degC].
    """

    radius_m: float | Floats
    shape: float | Floats
    alpha: float | Floats
    k: float | Floats
    start_c: float | Floats


@dataclass(frozen=True, slots=True, eq=False)
class Slabs:
    """Flat pieces with two faces, of full thickness `thickness_m` [m]; else as `Bodies`."""

    thickness_m: float | Floats
    alpha: float | Floats
    k: float | Floats
    start_c: float | Floats


@dataclass(frozen=True, slots=True, eq=False)
class Leg:
    """So many minutes (a number or one a sample) before a face.

    `face` is one `Face` (for `Slabs`: the same on both), or a pair ``(lower, upper)`` for `Slabs`
    only. A turn is a leg with the pair swapped: the piece stays, what it meets changes.
    """

    minutes: float | Floats
    face: Face | tuple[Face, Face]


@dataclass(frozen=True, slots=True, eq=False)
class Phase:
    """Legs one after the other; a sample leaves early when its core has reached `until_c`.

    `until_c` is a number, one a sample, or None to stay to the end. A core that starts at or above
    it leaves at once; where `cooling`, one at or below it does.
    """

    legs: Sequence[Leg]
    until_c: float | Floats | None = None
    cooling: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """What happened in each sample; P phases, S samples, T recorded times, F faces (1 or 2).

    Attributes
    ----------
    minutes : array (P, S)
        How long each phase took [min].
    reached : array (P, S) of bool
        Whether it ended by `until_c` (true where there was none to reach).
    core_end_c : array (P, S)
        Core at the end of each phase [degC].
    time_min, core_c : arrays (T, S)
        Core history on each sample's own clock, from its start [min, degC]. Once a sample has
        left a phase, its last entry is repeated until the others have left it too, so an integral
        by trapezoids over the first axis is right as it stands.
    surface_c : array (F, T, S)
        Surface of each face (lower, upper) at the same times [degC].
    phase_of : array (T,) of int
        The phase each row was recorded in; its first row repeats the last of the one before.
    peak_c, peak_min : arrays (S,)
        Highest core in the last phase [degC], and how long after its start [min].
    evaporated_kg_m2 : array (F, S)
        Water that left each face, wet skin and cap together [kg/m2].
    mean_end_c : array (P, S)
        Mean temperature over the volume at the end of each phase [degC].

    Notes
    -----
    The core is the centre of `Bodies`, and the coldest point of the middle half of `Slabs`, where
    the tip of a thermometer goes.
    """

    minutes: Floats
    reached: NDArray[np.bool_]
    core_end_c: Floats
    time_min: Floats
    core_c: Floats
    surface_c: Floats
    phase_of: NDArray[np.int64]
    peak_c: Floats
    peak_min: Floats
    evaporated_kg_m2: Floats
    mean_end_c: Floats


def turns(every_min: float | Floats, total_min: float, lower: Face, upper: Face) -> list[Leg]:
    """Return legs that swap the two faces every so many minutes, `total_min` and more in all.

    Parameters
    ----------
    every_min : float or array of shape (S,)
        Minutes between turns; where it differs by sample, the shortest sets how many legs.
    total_min : float
        The least time all legs together last [min].
    lower, upper : Face
        What the faces meet before the first turn.

    Raises
    ------
    ValueError
        If a turn would come more often than every 3 s.
    """
    import numpy as np  # noqa: PLC0415 -- kept out of the import of the command line

    shortest = float(np.min(every_min))
    if not shortest >= 0.05:
        raise ValueError("turns must be 0.05 min apart or more")
    count = max(1, math.ceil(total_min / shortest - 1e-9))
    pair = (lower, upper)
    return [Leg(every_min, pair if leg % 2 == 0 else pair[::-1]) for leg in range(count)]


def run(
    pieces: Bodies | Slabs,
    phases: Sequence[Phase],
    *,
    step_s: float = 20.0,
    terms: int = 14,
    position: float = 0.0,
    keep_history: bool = True,
) -> Trace:
    """Take the pieces through the phases.

    Parameters
    ----------
    pieces : Bodies or Slabs
    phases : sequence of Phase
        At least one, each with at least one leg.
    step_s : float
        Step in the first minutes of a leg [s]; shorter just after a turn, in the end three at once.
    terms : int
        Eigenfunctions kept, besides the mean.
    position : float
        Where in `Bodies` the core is read: 0 at the centre, 1 just under the surface.
    keep_history : bool
        False for the last row of each phase alone: many samples in many steps take a gigabyte.

    Returns
    -------
    Trace

    Raises
    ------
    ValueError
        If arrays differ in length, a pair of faces meets `Bodies`, or a figure is not finite.
    """
    from collop.fire.heat_blocks import blocks_of, joined  # noqa: PLC0415 -- numpy, late
    from collop.fire.heat_walk import walk  # noqa: PLC0415

    if not phases or not all(phase.legs for phase in phases):
        raise ValueError("give at least one phase, each with at least one leg")
    if not step_s > 0 or not 4 <= terms <= 60:
        raise ValueError("step_s must be above zero, terms from 4 to 60")
    blocks = blocks_of(pieces, phases, terms, position)
    return joined([walk(block, arrays, step_s, keep=keep_history) for block, arrays in blocks])
