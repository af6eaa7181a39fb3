"""Samples cut into blocks that stay in the cache of a core, and the records of all joined."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from collop.fire.conduction import Bodies, Leg, Phase, Slabs, Trace
from collop.fire.heat_faces import FaceArrays
from collop.fire.heat_modes import body_groups, slab_groups
from collop.fire.heat_stepping import Block
from collop.fire.heat_walk import LegArrays, PhaseArrays, PhaseRecord

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["blocks_of", "joined"]

#: Samples in a block: measured, 1000 to 3000 are the fastest.
BLOCK = 2000
_Cell = TypeVar("_Cell", bound=np.generic)
Walked = tuple[list[PhaseRecord], "Floats"]


def _count(pieces: Bodies | Slabs, phases: Sequence[Phase]) -> int:
    """Return how many samples there are: the longest array of pieces, minutes or faces."""
    figures: list[object] = [getattr(pieces, name) for name in pieces.__slots__]
    for phase in phases:
        figures.append(phase.until_c)
        for leg in phase.legs:
            figures.append(leg.minutes)
            faces = leg.face if isinstance(leg.face, tuple) else (leg.face,)
            figures += [getattr(face, name) for face in faces for name in face.__slots__]
    return max(np.size(figure) if isinstance(figure, np.ndarray) else 1 for figure in figures)


def _spread(name: str, figure: float | Floats, count: int, low: float) -> Floats:
    found = np.asarray(figure, dtype=np.float64)
    if found.shape not in {(), (1,), (count,)}:
        raise ValueError(f"{name} has {found.size} figures; give one or {count}")
    if not np.isfinite(found).all() or (found < low).any():
        raise ValueError(f"{name} must be finite and {low:g} or more")
    return np.broadcast_to(found, (count,))


def blocks_of(
    pieces: Bodies | Slabs, phases: Sequence[Phase], terms: int, position: float = 0.0
) -> Iterator[tuple[Block, list[PhaseArrays]]]:
    """Yield each block of samples with its phases.

    Raises
    ------
    ValueError
        If arrays differ in length, a pair of faces meets `Bodies`, or a figure is not finite.
    """
    count = _count(pieces, phases)
    lows = {"start_c": -40.0, "shape": 0.0}
    whole = {
        name: _spread(name, getattr(pieces, name), count, lows.get(name, 1e-12))
        for name in pieces.__slots__
    }
    if "shape" in whole and (whole["shape"] > 2).any():
        raise ValueError("shape must be from 0 to 2")
    two = isinstance(pieces, Slabs)
    for first in range(0, count, BLOCK):
        part = slice(first, min(first + BLOCK, count))
        own = {name: np.ascontiguousarray(figure[part]) for name, figure in whole.items()}
        start = own.pop("start_c")
        groups = (
            slab_groups(**own, terms=terms)
            if two
            else body_groups(**own, terms=terms, position=position)
        )
        yield Block(groups, start), [_phase(phase, part, count, two=two) for phase in phases]


def _phase(phase: Phase, part: slice, count: int, *, two: bool) -> PhaseArrays:
    until = None
    if phase.until_c is not None:
        until = np.ascontiguousarray(_spread("until_c", phase.until_c, count, -40.0)[part])
    legs = [_leg(leg, part, count, two=two) for leg in phase.legs]
    return PhaseArrays(legs, until, -1.0 if phase.cooling else 1.0)


def _leg(leg: Leg, part: slice, count: int, *, two: bool) -> LegArrays:
    seconds = 60.0 * _spread("minutes", leg.minutes, count, 0.0)[part]
    if isinstance(leg.face, tuple):
        if not two:
            raise ValueError("a pair of faces is for Slabs; give Bodies one face")
        faces = tuple(FaceArrays(face, part, count) for face in leg.face)
    else:
        one = FaceArrays(leg.face, part, count)
        faces = (one, one) if two else (one,)
    return LegArrays(seconds, faces)


def joined(walked: Sequence[Walked]) -> Trace:
    """Join what happened in each block; shorter records repeat their last row."""
    records = [phases for phases, _ in walked]
    rows = [max(len(one[p].time) for one in records) for p in range(len(records[0]))]

    def history(name: str) -> Floats:
        blocks = []
        for one in records:
            parts = []
            for phase, most in zip(one, rows, strict=True):
                found: list[Floats] = getattr(phase, name)
                parts += found + [found[-1]] * (most - len(found))
            blocks.append(np.stack(parts))
        return np.concatenate(blocks, axis=-1)

    time, core = history("time") / 60.0, history("core")
    ends = np.cumsum(rows) - 1
    peak, peak_at = _peaks(records, time, core, slice(int(ends[-1]) - rows[-1] + 1, None))
    began = np.concatenate([np.zeros((1, time.shape[1])), time[ends]])
    return Trace(
        minutes=np.diff(began, axis=0),
        reached=_each([[phase.reached for phase in one] for one in records]),
        core_end_c=core[ends],
        time_min=time,
        core_c=core,
        surface_c=history("surface").transpose(1, 0, 2),
        phase_of=np.repeat(np.arange(len(rows)), rows),
        peak_c=peak,
        peak_min=peak_at - began[-2],
        evaporated_kg_m2=np.concatenate([water for _, water in walked], axis=1),
        mean_end_c=_each([[phase.mean for phase in one] for one in records]),
    )


def _peaks(
    records: list[list[PhaseRecord]], time: Floats, core: Floats, last: slice
) -> tuple[Floats, Floats]:
    """Return the highest core of the last phase [degC], and its clock [min]."""
    if records[0][-1].peak is None:
        top = core[last].argmax(axis=0)[None, :]
        found = (np.take_along_axis(figures[last], top, axis=0)[0] for figures in (core, time))
        return next(found), next(found)
    peak = [one[-1].peak for one in records]
    peak_at = [one[-1].peak_at for one in records]
    return _whole(peak), _whole(peak_at) / 60.0


def _whole(blocks: Sequence[Floats | None]) -> Floats:
    return np.concatenate([block for block in blocks if block is not None])


def _each(blocks: list[list[NDArray[_Cell]]]) -> NDArray[_Cell]:
    """Join figures of each phase (S,) over the blocks: (P, S)."""
    return np.concatenate([np.stack(one) for one in blocks], axis=1)
