"""A block of samples taken through its phases, each sample leaving a phase at its own time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from collop.fire.heat_faces import FaceArrays
from collop.fire.heat_stepping import Block, Pace
from collop.fire.surfaces import LATENT_J_KG

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["LegArrays", "PhaseArrays", "PhaseRecord", "walk"]

# a leg starts with these shares of a step, so often each: flux changes fastest after a turn
_OPENING = ((0.0625, 2), (0.125, 1), (0.25, 1), (0.5, 1))
# after so many whole steps, and again after so many of two, they grow: two, then three at once
_SLOWLY = 15


@dataclass(frozen=True, slots=True, eq=False)
class LegArrays:
    """One leg of a block: seconds (S,), and one face or the lower and the upper one."""

    seconds: Floats
    faces: tuple[FaceArrays, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PhaseArrays:
    """One phase of a block; `until` is an array (S,), or None to stay to the end.

    A core leaves at or above it; at or below it where `sign` is -1.
    """

    legs: Sequence[LegArrays]
    until: Floats | None
    sign: float = 1.0


@dataclass(eq=False)
class PhaseRecord:
    """What happened to a block in one phase; rows T, samples S, faces F.

    Attributes
    ----------
    time, core : lists of arrays (S,)
        Own clock [s] and core [degC] at each row.
    surface : list of arrays (F, S)
        Surfaces at each row [degC].
    reached : array (S,) of bool
        Whether the sample left by its core.
    mean : array (S,)
        Mean temperature over the volume at the end [degC].
    peak, peak_at : arrays (S,), or None
        Highest core [degC] and its clock [s], where only the last row is kept.
    """

    time: list[Floats]
    core: list[Floats]
    surface: list[Floats]
    reached: NDArray[np.bool_]
    mean: Floats
    peak: Floats | None = None
    peak_at: Floats | None = None


class _Walker:
    """Steps one block through one phase."""

    def __init__(
        self, block: Block, clock: Floats, phase: PhaseArrays, boiled: Floats, *, keep: bool
    ) -> None:
        self.block = block
        self.keep = keep
        self.until = phase.until
        self.sign = phase.sign
        self.clock = clock  # of each sample, as if it had not left
        self.boiled = boiled  # heat that took water off, so far [J/m2], (F, S)
        self.gone = np.zeros(clock.size, dtype=bool)
        self.left_at = clock.copy()
        self.left_core = block.core.copy()
        self.left_surface = np.array(block.surface)
        self.left_modes = [np.zeros_like(one) for one in block.kept]
        self.record = PhaseRecord([], [], [], self.gone, clock)

    def note(self) -> None:
        """Write a row; who has left repeats the last of its own."""
        block, gone = self.block, self.gone
        surface = np.array(block.surface)
        if self.until is None or not gone.any():
            self._write(self.clock, block.core, surface)
            return
        self._write(
            np.where(gone, self.left_at, self.clock),
            np.where(gone, self.left_core, block.core),
            np.where(gone, self.left_surface, surface),
        )

    def _write(self, time: Floats, core: Floats, surface: Floats) -> None:
        record = self.record
        if self.keep:
            record.time.append(time)
            record.core.append(core)
            record.surface.append(surface)
            return
        if record.peak is None or record.peak_at is None:
            record.peak, record.peak_at = core, time
        else:
            higher = core > record.peak
            record.peak = np.where(higher, core, record.peak)
            record.peak_at = np.where(higher, time, record.peak_at)
        record.time, record.core, record.surface = [time], [core], [surface]

    def leave_at_once(self) -> None:
        """Let those go whose core is there already."""
        if self.until is None:
            return
        self.gone = self.sign * (self.block.core - self.until) >= 0
        for kept, now in zip(self.left_modes, self.block.modes(), strict=True):
            kept[:] = now

    def leg(self, leg: LegArrays, longest_s: float) -> None:
        """Go through one leg, or up to where the last sample has left."""
        self.block.meet(leg.faces)
        if not self.record.time:
            self.leave_at_once()
            self.note()
        boiling = self._boiling(leg)
        for pace, count in self._paces(leg.seconds, longest_s):
            self.block.change(pace)
            for _ in range(count):
                if self.until is not None and self.gone.all():
                    return
                boiling = self._advance(leg, pace, boiling)

    def _paces(self, seconds: Floats, longest_s: float) -> Iterator[tuple[Pace, int]]:
        most = float(seconds.max())
        if most <= 0:
            return
        count = max(1, math.ceil(most / longest_s - 1e-9))
        step = seconds / count
        for number, (share, often) in enumerate(_OPENING):
            yield self.block.pace(step * share, abrupt=number == 0), often
        longer = max(count - 1 - _SLOWLY, 0)
        twice = min(_SLOWLY, longer // 2)
        thrice = (longer - 2 * twice) // 3
        once = count - 1 - 2 * twice - 3 * thrice
        for share, often in ((1.0, once), (2.0, twice), (3.0, thrice)):
            if often:
                yield self.block.pace(step * share), often

    def _boiling(self, leg: LegArrays) -> Floats:
        block = self.block
        return np.array([
            face.boiled(surface, flux)
            for face, surface, flux in zip(leg.faces, block.surface, block.flux, strict=True)
        ])  # fmt: skip

    def _advance(self, leg: LegArrays, pace: Pace, boiling: Floats) -> Floats:
        block = self.block
        before = block.core
        surface_before = block.surface
        block.step(pace, leg.faces)
        now = self._boiling(leg)
        lasted = pace.step
        if self.until is not None:
            crossed = ~self.gone & (self.sign * (block.core - self.until) >= 0)
            lasted = np.where(self.gone, 0.0, lasted)
            if crossed.any():
                who = np.flatnonzero(crossed)
                went = self.sign * (block.core[who] - before[who])
                way = self.sign * (self.until[who] - before[who])
                share = np.clip(way / np.maximum(went, 1e-12), 0.0, 1.0)
                lasted[who] *= share
                self._leave(who, share, pace, surface_before)
        self.boiled += (boiling + now) * (0.5 * lasted)
        self.clock = self.clock + pace.step
        self.note()
        return now

    def _leave(
        self, who: NDArray[np.int64], share: Floats, pace: Pace, surface_before: list[Floats]
    ) -> None:
        block = self.block
        assert self.until is not None
        self.gone = self.gone.copy()
        self.gone[who] = True
        self.left_at[who] = self.clock[who] + pace.step[who] * share
        self.left_core[who] = self.until[who]
        for face, (old, new) in enumerate(zip(surface_before, block.surface, strict=True)):
            self.left_surface[face, who] = old[who] + (new[who] - old[who]) * share
        for kept, some in zip(self.left_modes, block.modes_within(who, share), strict=True):
            kept[:, who] = some

    def finish(self) -> Floats:
        """Bring every sample to where it left, and return the clock of each."""
        block = self.block
        modes = block.modes()
        if self.until is not None:
            modes = [
                np.where(self.gone, there, here)
                for there, here in zip(self.left_modes, modes, strict=True)
            ]
            block.core = np.where(self.gone, self.left_core, block.core)
            block.surface = list(np.where(self.gone, self.left_surface, np.array(block.surface)))
            self.clock = np.where(self.gone, self.left_at, self.clock)
            self.record.reached = self.gone
        else:
            self.record.reached = np.ones(self.clock.size, dtype=bool)
        block.restart(modes)
        self.record.mean = modes[0][0].copy()  # the modes are stepped on in place
        return self.clock


def walk(
    block: Block, phases: Sequence[PhaseArrays], longest_s: float, *, keep: bool = True
) -> tuple[list[PhaseRecord], Floats]:
    """Take a block through its phases; `keep` all rows, or the last of each phase alone.

    Returns
    -------
    tuple
        A record of each phase, and the heat that took water off each face [J/m2] over
        `LATENT_J_KG`: kilograms of water a square metre, (F, S).
    """
    clock = np.zeros_like(block.core)
    boiled = np.zeros((len(block.groups), clock.size))
    records = []
    for phase in phases:
        walker = _Walker(block, clock, phase, boiled, keep=keep)
        for leg in phase.legs:
            if phase.until is not None and walker.gone.all():
                break
            walker.leg(leg, longest_s)
        clock = walker.finish()
        records.append(walker.record)
    return records, boiled / LATENT_J_KG
