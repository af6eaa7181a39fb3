"""What goes on the fire before it has a time: loads, their planned minutes, where each may go."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from collop.errors import BadValue
from collop.fire.problem import Course, FireItem, FireProblem, Zone

__all__ = [
    "CHANGEOVER_MIN",
    "MOST_LOADS",
    "MOST_MINUTES",
    "Lot",
    "Run",
    "course_for",
    "lots_of",
    "planned_minutes",
    "routes_of",
    "runs_of",
    "served_at",
    "split",
    "takes",
]

#: Most loads one item is cooked in: common practice, no published source.
MOST_LOADS = 3
#: From one load leaving until another may take its place: off, a brush over the bars [min].
#: Common practice, no published source.
CHANGEOVER_MIN = 2
#: A stage longer than this is never planned [min].
MOST_MINUTES = 2880
# ways through the zones that are tried for one load, and that are looked at for it
_MOST_ROUTES, _MOST_WAYS = 8, 10_000


@dataclass(frozen=True, slots=True)
class Run:
    """An unbroken stay in one zone: stages one after another [min from the start of the load]."""

    zone: str
    begin: int
    end: int


@dataclass(frozen=True, slots=True)
class Lot:
    """A load without a time.

    Attributes
    ----------
    wave, waves : int
        Which load of how many, from 1.
    weight_mlb, area_sq_in : int, Fraction
        Of this load.
    heats, minutes : tuple of str, tuple of int
        Heat and planned minutes of each stage [min].
    routes : tuple of tuple of zone id
        One zone for each stage; the ways the load may go.
    is_cut : bool
        Whether there are more ways than these, so that no plan is no proof.
    at, rest, hold : int
        Serving time [min], least rest and longest wait after it [min].
    """

    item: FireItem
    wave: int
    waves: int
    weight_mlb: int
    area_sq_in: Fraction
    heats: tuple[str, ...]
    minutes: tuple[int, ...]
    routes: tuple[tuple[str, ...], ...]
    at: int
    rest: int
    hold: int
    is_cut: bool = False

    @property
    def total(self) -> int:
        """Return the planned time on the fire [min]."""
        return sum(self.minutes)

    @property
    def base(self) -> int:
        """Return the start that is ready just at the serving time [min]."""
        return self.at - self.rest - self.total


def course_for(courses: Mapping[str, Course], item: FireItem) -> Course:
    """Return the course of an item.

    Raises
    ------
    BadValue
        If there is none.
    """
    if item.id not in courses:
        raise BadValue(f"There are no cooking times for {item.name}; give its minutes.")
    return courses[item.id]


def served_at(problem: FireProblem, item: FireItem) -> int:
    """Return the serving time of an item [min].

    Raises
    ------
    BadValue
        If the item names a serving that is not there.
    """
    for serving in problem.servings:
        if serving.id == item.serving:
            return serving.at_min
    raise BadValue(f"{item.name} is for {item.serving!r}, which is no serving time; name one.")


def planned_minutes(course: Course, quantile: float) -> tuple[int, ...] | None:
    """Return the least whole minutes of each stage that cover a share of its samples.

    Parameters
    ----------
    course : Course
    quantile : float
        Share of the samples, over 0 to 1.

    Returns
    -------
    tuple of int or None
        At least 1 each [min]; None if a stage does not end within `MOST_MINUTES`.
    """
    import numpy as np  # noqa: PLC0415 -- kept out of the import of the command line

    planned = []
    for stage in course.stages:
        ordered = np.sort(stage.minutes)  # samples that never end (inf, nan) come last
        rank = max(1, math.ceil(Fraction(str(quantile)) * ordered.size))
        at = float(ordered[rank - 1])
        if not at <= MOST_MINUTES:
            return None
        planned.append(max(1, math.ceil(at)))
    return tuple(planned)


def takes(zone: Zone, item: FireItem, heat: str) -> bool:
    """Tell whether a zone gives a heat and may take an item."""
    return heat in zone.heats and (item.is_meat_free or not zone.meat_free)


def routes_of(item: FireItem, course: Course, problem: FireProblem) -> list[tuple[str, ...]]:
    """Return every way through the zones, one zone for each stage, fewest moves first.

    Notes
    -----
    At most ten thousand, far more than the fires that are read can have.
    """
    per_stage = [
        [zone.id for zone in problem.zones if takes(zone, item, stage.heat)]
        for stage in course.stages
    ]
    ways = list(itertools.islice(itertools.product(*per_stage), _MOST_WAYS))
    return sorted(ways, key=_moves)


def _moves(way: tuple[str, ...]) -> int:
    return sum(one != other for one, other in itertools.pairwise(way))


def runs_of(route: tuple[str, ...], minutes: tuple[int, ...]) -> tuple[Run, ...]:
    """Return the stays of a route: stages that follow in the same zone are one stay.

    Examples
    --------
    >>> runs_of(("grill", "grill"), (40, 5))
    (Run(zone='grill', begin=0, end=45),)
    """
    runs: list[Run] = []
    at = 0
    for zone, length in zip(route, minutes, strict=True):
        if runs and runs[-1].zone == zone:
            runs[-1] = Run(zone, runs[-1].begin, at + length)
        else:
            runs.append(Run(zone, at, at + length))
        at += length
    return tuple(runs)


def split(item: FireItem, waves: int) -> list[tuple[int, Fraction]] | None:
    """Return weight [0.001 lb] and area [sq in] of each of `waves` loads, larger first.

    Returns
    -------
    list or None
        None if it is sold by the piece and there are fewer pieces than loads.
    """
    parts = waves if item.pieces is None else item.pieces
    if parts < waves:
        return None
    small, more = divmod(parts, waves)
    counts = [small + 1] * more + [small] * (waves - more)
    ends = [sum(counts[: place + 1]) * item.weight_mlb // parts for place in range(waves)]
    weights = [end - begin for begin, end in zip([0, *ends], ends, strict=False)]
    shares = [item.area_sq_in * count / parts for count in counts]
    return list(zip(weights, shares, strict=True))


def _open_routes(
    area: Fraction,
    minutes: tuple[int, ...],
    routes: list[tuple[str, ...]],
    zones: Mapping[str, Zone],
) -> list[tuple[str, ...]]:
    """Keep the routes whose zones are large enough and lit long enough for one load.

    One way through each kind of zones comes first, so that a cut leaves no kind out.
    """

    def fits(run: Run) -> bool:
        zone = zones[run.zone]
        room = zone.area_sq_in is None or area <= zone.area_sq_in
        return room and (zone.minutes is None or run.end - run.begin <= zone.minutes)

    seen: dict[object, int] = {}
    ranked = []
    for way in routes:
        if all(fits(run) for run in runs_of(way, minutes)):
            kind = _moves(way), tuple(replace(zones[name], id="", name="") for name in way)
            seen[kind] = seen.get(kind, -1) + 1
            ranked.append((seen[kind], way))
    return [way for _, way in sorted(ranked, key=lambda pair: pair[0])]


def lots_of(
    item: FireItem, course: Course, problem: FireProblem, minutes: tuple[int, ...]
) -> dict[int, list[Lot]]:
    """Return the loads of an item for each number of loads it can be cooked in.

    Parameters
    ----------
    minutes : tuple of int
        Planned minutes of each stage [min].

    Returns
    -------
    dict of int to list of Lot
        Keys up to `MOST_LOADS`; one that does not fit any zone is left out. Food that lies on no
        counted area is cooked in one load.
    """
    zones = {zone.id: zone for zone in problem.zones}
    routes = routes_of(item, course, problem)
    counted = any(zones[name].area_sq_in is not None for way in routes for name in way)
    found: dict[int, list[Lot]] = {}
    for waves in range(1, (MOST_LOADS if counted else 1) + 1):
        parts = split(item, waves)
        if parts is None:
            break
        lots = []
        for place, (weight, area) in enumerate(parts, 1):
            ways = _open_routes(area, minutes, routes, zones)
            lots.append(
                Lot(item=item, wave=place, waves=waves, weight_mlb=weight, area_sq_in=area,
                    heats=tuple(stage.heat for stage in course.stages), minutes=minutes,
                    routes=tuple(ways[:_MOST_ROUTES]), is_cut=len(ways) > _MOST_ROUTES,
                    at=served_at(problem, item), rest=course.rest_min, hold=course.hold_min)
            )  # fmt: skip
        if all(lot.routes for lot in lots):
            found[waves] = lots
    return found
