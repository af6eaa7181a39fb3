"""What a schedule hands on: each load with its times, and the coals."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

__all__ = ["LaidLoad", "LaidStage", "Laying"]


@dataclass(frozen=True, slots=True)
class LaidStage:
    """One stage of one load [min from the first serving time]."""

    heat: str
    zone: str
    start: int
    end: int

    @property
    def minutes(self) -> int:
        """Return the planned length [min]."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class LaidLoad:
    """One load of one item.

    Attributes
    ----------
    wave, waves : int
        Which load of how many, from 1.
    weight_mlb, area_sq_in : int, Fraction
        Weight and area of this load.
    stages : tuple of LaidStage
        In their order, without a gap.
    ready : int
        End of the rest [min].
    eat : int
        When it is eaten [min]: its serving time, or later where it is served in a further round.
    own_tray : bool
        Food without meat that goes on foil or a tray of its own, as it cannot go first.
    """

    item: str
    wave: int
    waves: int
    weight_mlb: int
    area_sq_in: Fraction
    stages: tuple[LaidStage, ...]
    ready: int
    eat: int
    own_tray: bool = False

    @property
    def start(self) -> int:
        """Return when it goes on [min]."""
        return self.stages[0].start

    @property
    def off(self) -> int:
        """Return when it comes off the fire [min]."""
        return self.stages[-1].end

    @property
    def wait(self) -> int:
        """Return how long it waits after its rest [min]."""
        return self.eat - self.ready


@dataclass(frozen=True, slots=True)
class Laying:
    """A schedule.

    Attributes
    ----------
    loads : tuple of LaidLoad
        By start.
    lit, out : mapping of zone id to int
        First and last use of each zone with a limited time [min].
    quantile : float
        The least share of any item's samples that its planned minutes cover.
    ready : mapping of serving id to float
        Share of samples in which all of that serving is ready in time.
    status, bound_gap : str, int
        ``optimal``, or ``gap`` with how many minutes of waiting could still be saved.
    """

    loads: tuple[LaidLoad, ...]
    quantile: float
    ready: dict[str, float] = field(default_factory=dict)
    lit: dict[str, int] = field(default_factory=dict)
    out: dict[str, int] = field(default_factory=dict)
    status: str = "optimal"
    gap_min: int = 0

    @property
    def late_rounds(self) -> tuple[LaidLoad, ...]:
        """Return the loads eaten after their serving time."""
        return tuple(load for load in self.loads if load.wave > 1 and load.eat > self.first(load))

    def first(self, load: LaidLoad) -> int:
        """Return when the first load of the same item is eaten [min]."""
        return min(other.eat for other in self.loads if other.item == load.item)
