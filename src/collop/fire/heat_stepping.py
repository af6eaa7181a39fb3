"""One block of samples, stepped through the legs of a phase.

Within a step the flux into a face is taken to run straight from its value at the start to that at
the end, and each eigenfunction is then carried over exactly. The value at the end follows from
the surface there, so the step is implicit. The state is kept less the part that the flux at the
end of the step gives, which saves half of the work: ``modes = kept + late * drive``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from collop.fire.heat_faces import FaceArrays
from collop.fire.heat_modes import Group

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Block", "Pace"]

_MOST_ROUNDS = 40
_SETTLED_K = 1e-3
_PACES_KEPT = 16
_LONG = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class _Carry:
    """How one group is carried over one step: decay and drives (M, S), unit responses."""

    decay: Floats
    early: Floats
    late: Floats
    unit: Floats
    core_unit: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Pace:
    """How all groups are carried over steps of one length; `step` (S,) in seconds."""

    step: Floats
    carries: tuple[_Carry, ...]


def _carry(group: Group, step: Floats, *, abrupt: bool) -> _Carry:
    x = np.maximum(group.rate * step, 1e-6)
    decay = np.exp(-x)
    whole = -np.expm1(-x) / x
    late = (1.0 - whole) / x
    length = group.gain * step
    whole *= length
    late *= length
    decay[group.rate == 0.0] = 1.0
    # just after a jump, and in a step in which heat goes through several times, the flux at its
    # end is taken for the whole of it
    slowest = group.rate[1] if group.rate[0, 0] == 0.0 else group.rate[0]
    ends = 1.0 if abrupt else np.clip(slowest * step / _LONG - 1.0, 0.0, 1.0)
    late += (whole - late) * ends
    # what the flux at the start of the step gives, and what is still owed from its end before
    early = whole - late + decay * late
    unit = late.sum(axis=0) + group.tail
    return _Carry(decay, early, late, unit, _shown(group, late))


def _shown(group: Group, modes: Floats) -> Floats:
    """Return what modes (M, S) show at the points of the core (P, S)."""
    if group.own_core:
        found: Floats = np.einsum("ms,ms->s", group.core, modes)[None, :]
        return found
    return np.asarray(group.core @ modes)


class Block:
    """A block of S samples and where it stands.

    Parameters
    ----------
    groups : tuple of Group
        One: heated alike all round. Two: even and odd of a flat piece with two faces.
    start_c : array (S,)
        Uniform temperature [degC].
    """

    def __init__(self, groups: tuple[Group, ...], start_c: Floats) -> None:
        self.groups = groups
        self.two = len(groups) == 2
        #: modes of each group less what `late * drive` adds
        self.kept = [np.zeros_like(group.rate) for group in groups]
        self.kept[0][0] = start_c
        self.spare = [np.zeros_like(group.rate) for group in groups]
        self.work = [np.zeros_like(group.rate) for group in groups]
        self.drive_before = self.drive = [np.zeros_like(start_c) for _ in groups]
        self.late: list[Floats] = [np.zeros_like(group.rate) for group in groups]
        self.surface = [start_c.copy() for _ in groups]
        self.flux = [np.zeros_like(start_c) for _ in groups]
        self.core = start_c.copy()
        self._paces: dict[tuple[bytes, bool], Pace] = {}

    def pace(self, step: Floats, *, abrupt: bool = False) -> Pace:
        """Return how steps of this length (S,) are taken [s]; `abrupt` just after a jump."""
        key = (step.tobytes(), abrupt)  # turns at even times take the same steps again and again
        if key not in self._paces:
            if len(self._paces) >= _PACES_KEPT:
                self._paces.clear()
            carries = tuple(_carry(group, step, abrupt=abrupt) for group in self.groups)
            self._paces[key] = Pace(step, carries)
        return self._paces[key]

    def modes(self) -> list[Floats]:
        """Return the full modes."""
        return [
            kept + late * drive
            for kept, late, drive in zip(self.kept, self.late, self.drive, strict=True)
        ]

    def modes_within(self, columns: NDArray[np.int64], share: Floats) -> list[Floats]:
        """Return the modes of some samples at a share of the last step, straight between."""
        found = []
        for index, late in enumerate(self.late):
            owed = late[:, columns]
            first = self.spare[index][:, columns] + owed * self.drive_before[index][columns]
            last = self.kept[index][:, columns] + owed * self.drive[index][columns]
            found.append(first + (last - first) * share)
        return found

    def restart(self, modes: list[Floats]) -> None:
        """Stand at these modes, with no flux."""
        self.kept = modes
        self.drive = [np.zeros_like(one) for one in self.drive]
        self.late = [np.zeros_like(one) for one in modes]

    def meet(self, faces: tuple[FaceArrays, ...]) -> None:
        """Stand before other faces: their flux at once, the settled terms with it."""
        whole = self.modes()
        rest = [one.sum(axis=0) for one in whole]
        self._solve(faces, rest, [group.tail for group in self.groups])
        self._set_core([_shown(*pair) for pair in zip(self.groups, whole, strict=True)])
        # the drive has changed, the modes have not
        for kept, late, one, drive in zip(self.kept, self.late, whole, self.drive, strict=True):
            np.subtract(one, late * drive, out=kept)

    def step(self, pace: Pace, faces: tuple[FaceArrays, ...]) -> None:
        """Take one step."""
        for index, carry in enumerate(pace.carries):
            kept, spare, work = self.kept[index], self.spare[index], self.work[index]
            np.multiply(carry.decay, kept, out=spare)
            np.multiply(carry.early, self.drive[index], out=work)
            spare += work
            self.kept[index], self.spare[index] = spare, kept
        self.drive_before = self.drive
        rest = [one.sum(axis=0) for one in self.kept]
        self._solve(faces, rest, [carry.unit for carry in pace.carries])
        self._set_core([
            _shown(group, kept) + carry.core_unit * drive
            for group, kept, carry, drive in zip(
                self.groups, self.kept, pace.carries, self.drive, strict=True
            )
        ])  # fmt: skip

    def change(self, pace: Pace) -> None:
        """Go over to steps of another length: the modes stay."""
        for index, (carry, drive) in enumerate(zip(pace.carries, self.drive, strict=True)):
            self.kept[index] += (self.late[index] - carry.late) * drive
            self.late[index] = carry.late

    def _solve(self, faces: tuple[FaceArrays, ...], rest: list[Floats], unit: list[Floats]) -> None:
        if not self.two:
            self.surface[0], self.flux[0] = faces[0].solve(rest[0], unit[0], self.surface[0])
            self.drive = [self.flux[0]]
            return
        lower, upper = rest[0] + rest[1], rest[0] - rest[1]
        own, other = unit[0] + unit[1], unit[0] - unit[1]
        far = self.flux[1]
        for _ in range(_MOST_ROUNDS):
            warm, near = faces[0].solve(lower + other * far, own, self.surface[0])
            hot, far = faces[1].solve(upper + other * near, own, self.surface[1])
            moved = max(abs(warm - self.surface[0]).max(), abs(hot - self.surface[1]).max())
            self.surface = [warm, hot]
            if moved < _SETTLED_K:
                break
        self.flux = [near, far]
        self.drive = [near + far, near - far]

    def _set_core(self, shown: list[Floats]) -> None:
        if not self.two:
            self.core = shown[0][0]
            return
        even, odd = shown  # the points lie alike on both sides of the middle
        self.core = np.minimum(even + odd, even - odd).min(axis=0)
