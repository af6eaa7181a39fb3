"""The constraint program of a fire: when each load goes on, so that least food waits.

Each load has one unknown, its shift [min]: how far it is ready before (negative) or after its
serving time. Areas are whole numbers (one scale for all; food rounded up, room rounded down), so
that the answer holds exactly. One worker, a fixed seed and a limit of work instead of a clock:
the same fire gives the same answer.

Choices that are common practice, no published source: a place on a full grill is free
`CHANGEOVER_MIN` after a load leaves it; food without meat is off the grill before meat comes on
it, or lies on a tray of its own, which counts as 15 min of waiting; so does each further load; a
further round is eaten at most `ROUND_MIN` after the serving time.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, TypeAlias

from collop.fire.lighting import first_minute, heating, home_minute
from collop.fire.problem import FireItem, FireProblem, Zone
from collop.fire.scheduling_loads import CHANGEOVER_MIN, Lot, Run, runs_of

#: A variable or sum of the solver, which has no types of its own.
Term: TypeAlias = Any

__all__ = ["EXTRA_MIN", "ROUND_MIN", "TRAY_MIN", "Model", "Placed", "Term", "area_scale", "build"]

#: Latest a further round is eaten after its serving time [min].
ROUND_MIN = 45
#: What a tray of its own for food without meat counts as [min of waiting].
TRAY_MIN = 15
#: What each load beyond those that are needed counts as [min of waiting].
EXTRA_MIN = 15
#: A late round outweighs any waiting.
_LATE = 10_000


@dataclass(slots=True)
class Placed:
    """A load in the model: its shift, whether it is there, its routes, its tray."""

    lot: Lot
    shift: Any
    there: Any  # None: always
    ways: list[tuple[Any, tuple[str, ...]]]
    tray: Any = None


@dataclass(slots=True)
class Model:
    """The model while it is built."""

    cp: Any
    zones: Mapping[str, Zone]
    scale: int
    problem: FireProblem
    model: Any
    minutely: bool
    placed: list[Placed] = field(default_factory=list)
    uses: dict[str, list[tuple[Any, int]]] = field(default_factory=dict)
    hands: list[Any] = field(default_factory=list)
    moves: dict[int, list[Any]] = field(default_factory=dict)
    lit: dict[str, Any] = field(default_factory=dict)
    meat: dict[str, Any] = field(default_factory=dict)
    costs: list[Any] = field(default_factory=list)

    def only_if(self, constraint: Term, *literals: Term) -> None:
        """Hold a constraint only where all literals that are given are true."""
        given = [literal for literal in literals if literal is not None]
        if given:
            constraint.only_enforce_if(*given)

    def span(self, start: Term, size: int, there: Term) -> Term:
        """Return an interval of fixed size, optional where a literal is given."""
        if there is None:
            return self.model.new_fixed_size_interval_var(start, size, "")
        return self.model.new_optional_fixed_size_interval_var(start, size, there, "")


def area_scale(areas: Iterable[Fraction]) -> int:
    """Return the scale that makes areas whole: exact if it stays small, else thousandths."""
    scale = math.lcm(*(area.denominator for area in areas))
    return scale if scale <= 10_000 else 1_000


def _add_lot(m: Model, lot: Lot, there: Term, *, latest: int) -> bool:
    """Add a load that may be ready up to `latest` after serving; False if it cannot be."""
    first = first_minute(m.problem, lot.heats, lot.minutes)
    low = -lot.hold if first is None else max(-lot.hold, first - lot.base)
    if low > latest:
        return False
    shift = m.model.new_int_var(low, latest, "")
    if latest == 0:
        m.costs.append(-shift)
    else:
        _add_late(m, lot, shift, there)
    ways: list[tuple[Any, tuple[str, ...]]] = []
    if len(lot.routes) == 1:
        ways = [(there, lot.routes[0])]
    else:
        ways = [(m.model.new_bool_var(""), way) for way in lot.routes]
        chosen = sum(literal for literal, _ in ways)
        m.model.add(chosen == (1 if there is None else there))
    placed = Placed(lot, shift, there, ways)
    m.placed.append(placed)
    _add_moves(m, placed, low, latest)
    area = math.ceil(lot.area_sq_in * m.scale)
    for literal, way in ways:
        _add_hot(m, placed, way, literal)
        for run in runs_of(way, lot.minutes):
            _add_run(m, placed, run, literal, area)
    return True


def _add_hot(m: Model, placed: Placed, way: tuple[str, ...], literal: Term) -> None:
    """Let no stage of a way begin before its own zone is hot."""
    home = home_minute(m.problem)
    if home is None:
        return
    lot, gone = placed.lot, 0
    for zone, heat, length in zip(way, lot.heats, lot.minutes, strict=True):
        hot = home + heating(m.zones[zone], heat)
        m.only_if(m.model.add(lot.base + gone + placed.shift >= hot), literal)
        gone += length


def _add_moves(m: Model, placed: Placed, low: int, high: int) -> None:
    """Add each putting on, moving and taking off, a minute of one person.

    A literal for each shift makes the bound on waiting strong where many loads come off together:
    fifteen items are proven in a fifth of the time.
    """
    lot, there = placed.lot, placed.there
    moves = [lot.base + sum(lot.minutes[:n]) for n in range(len(lot.minutes) + 1)]
    m.hands += [m.span(move + placed.shift, 1, there) for move in moves]
    if not m.minutely:
        return
    at = {value: m.model.new_bool_var("") for value in range(low, high + 1)}
    m.model.add(sum(at.values()) == (1 if there is None else there))
    told = m.model.add(placed.shift == sum(value * literal for value, literal in at.items()))
    m.only_if(told, there)
    for value, literal in at.items():
        for move in moves:
            m.moves.setdefault(move + value, []).append(literal)


def _add_hands(m: Model, hands: int) -> None:
    """Let no more moves fall into one minute than there are people."""
    if hands == 1:
        m.model.add_no_overlap(m.hands)
    else:
        m.model.add_cumulative(m.hands, [1] * len(m.hands), hands)
    for literals in m.moves.values():
        if len(literals) > hands == 1:
            m.model.add_at_most_one(literals)
        elif len(literals) > hands:
            m.model.add(sum(literals) <= hands)


def _add_late(m: Model, lot: Lot, shift: Term, there: Term) -> None:
    """Count waiting of food and of people alike, and a late round far above both."""
    most = max(lot.hold, ROUND_MIN)
    cost, late = m.model.new_int_var(0, most, ""), m.model.new_bool_var("")
    m.only_if(m.model.add(cost >= shift), there)
    m.only_if(m.model.add(cost >= -shift), there)
    m.only_if(m.model.add(shift <= 0), ~late, there)
    m.costs += [cost, _LATE * late]


def _add_run(m: Model, placed: Placed, run: Run, literal: Term, area: int) -> None:
    """Add one stay in a zone: its area, the zone's minutes, meat on a clean grill."""
    zone, start = m.zones[run.zone], placed.lot.base + placed.shift + run.begin
    length = run.end - run.begin
    if zone.area_sq_in is not None and area:
        use = m.span(start, length + CHANGEOVER_MIN, literal)
        m.uses.setdefault(zone.id, []).append((use, area))
    if zone.minutes is not None:
        if zone.id not in m.lit:
            m.lit[zone.id] = m.model.new_int_var(-1_000_000, 1_000_000, "")
        m.only_if(m.model.add(start >= m.lit[zone.id]), literal)
        m.only_if(m.model.add(start + length <= m.lit[zone.id] + zone.minutes), literal)
    if zone.id in m.meat:
        _add_clean(m, placed, run, literal, start)


def _add_clean(m: Model, placed: Placed, run: Run, literal: Term, start: Term) -> None:
    first = m.meat[run.zone]
    if not placed.lot.item.is_meat_free:
        m.only_if(m.model.add(start >= first), literal)
        return
    if placed.tray is None:
        placed.tray = m.model.new_bool_var("")
        m.costs.append(TRAY_MIN * placed.tray)
    m.only_if(m.model.add(start + (run.end - run.begin) <= first), ~placed.tray, literal)


def _add_item(m: Model, modes: dict[int, list[Lot]], *, rounds: bool) -> bool:
    """Add an item in any one of its numbers of loads; False if none can be."""
    fewest = min(modes)
    wanted = {waves: None if len(modes) == 1 else m.model.new_bool_var("") for waves in modes}
    left = []
    for waves, lots in modes.items():
        there = wanted[waves]
        before = len(m.placed)
        fits = all(
            _add_lot(m, lot, there, latest=ROUND_MIN if rounds and lot.wave > 1 else 0)
            for lot in lots
        )
        if not fits:
            if there is None:
                return False
            m.model.add(there == 0)
            continue
        left.append(there)
        if there is not None and waves > fewest:
            m.costs.append(EXTRA_MIN * (waves - fewest) * there)
        same = m.placed[before:]
        for one, other in itertools.pairwise(same):
            if one.lot.weight_mlb == other.lot.weight_mlb or rounds:
                m.model.add(one.shift <= other.shift)
    if left and left[0] is not None:
        m.model.add_exactly_one(left)
    return bool(left)


def _shared(problem: FireProblem, items: tuple[FireItem, ...]) -> list[str]:
    """Return the zones where meat and food without meat could meet: not kept apart, no pot."""
    if all(i.is_meat_free for i in items) or not any(i.is_meat_free for i in items):
        return []
    return [z.id for z in problem.zones if not z.meat_free and z.heats != {"pot"}]


def build(
    problem: FireProblem,
    modes: dict[str, dict[int, list[Lot]]],
    *,
    rounds: bool,
    minutely: bool,
) -> Term:
    """Return the model, or None where a load can be ready at no time.

    Parameters
    ----------
    modes : dict of item id to (dict of int to list of Lot)
        For each item, its loads by how many there are; one number of loads is chosen.
    rounds : bool
        Whether loads after the first may be eaten later.
    minutely : bool
        Whether each load has a literal for each minute: a stronger bound, a larger model.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415 -- a second to import

    zones = {zone.id: zone for zone in problem.zones}
    areas = [lot.area_sq_in for each in modes.values() for lots in each.values() for lot in lots]
    areas += [zone.area_sq_in for zone in problem.zones if zone.area_sq_in is not None]
    m = Model(cp=cp_model, zones=zones, scale=area_scale(areas), problem=problem,
               model=cp_model.CpModel(), minutely=minutely)  # fmt: skip
    for name in _shared(problem, problem.items):
        m.meat[name] = m.model.new_int_var(-1_000_000, 1_000_000, "")
    if not all(_add_item(m, each, rounds=rounds) for each in modes.values()):
        return None
    for name, uses in m.uses.items():
        room = zones[name].area_sq_in
        assert room is not None
        spans, areas_whole = zip(*uses, strict=True)
        m.model.add_cumulative(spans, areas_whole, math.floor(room * m.scale))
    _add_hands(m, problem.hands)
    m.model.minimize(sum(m.costs))
    return m
