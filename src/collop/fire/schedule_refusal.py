"""When a fire cannot be laid: which limit stands in the way, and what would make it go."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from collop.fire.lighting import first_minute, home_minute
from collop.fire.problem import Course, FireItem, FireProblem
from collop.fire.schedule_limits import (
    LATEST_MIN,
    goes,
    in_oven,
    later,
    least,
    limits_of,
    longer_coals,
    longer_holds,
    more_hands,
    relaxed,
    wider,
    without,
)
from collop.fire.scheduling_loads import (
    MOST_LOADS,
    MOST_MINUTES,
    course_for,
    planned_minutes,
    routes_of,
    runs_of,
    served_at,
    split,
    takes,
)

__all__ = ["NearestYes", "Reason", "Refusal", "refusal_of"]

# a dish that cooks this long may as well go into an oven: common practice, no published source
_OVEN_FROM = 25
# how many dishes to leave out are named
_LEAVES = 2
# work for all tries of one refusal, in the solver's count of its steps: two or three seconds
_TRIES = 0.15
# building a model is work too, which the solver does not count: for each dish and zone
_BUILDING = 0.0001


@dataclass(frozen=True, slots=True)
class Reason:
    """One limit that stands in the way.

    Attributes
    ----------
    limit : str
        ``area``, ``minutes``, ``hold``, ``hands`` or ``heat``.
    item : str or None
        Item it is about; None if about all together.
    say : str
        One sentence with its figures.
    """

    limit: str
    item: str | None
    say: str


@dataclass(frozen=True, slots=True)
class NearestYes:
    """A change that was tried and makes it go.

    Attributes
    ----------
    change : str
        ``fire.minutes``, ``serve``, ``hands``, ``oven``, ``waves`` or ``leave``.
    to : int, bool, str or list of str
        Minutes of the coals; minutes later; people; item that moves to the oven; True; items that
        are left out.
    say : str
        One sentence.
    """

    change: str
    to: int | bool | str | list[str]
    say: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """A fire that cannot be laid.

    Attributes
    ----------
    why, nearest : tuple
        Each limit that alone stands in the way (or, if none does, those that do together), and
        what would make it go. Each was tried by solving. Both may be empty if reasons were not
        asked for.
    proven : bool
        False if no plan was found within the work allowed, which is no proof that there is none.
    """

    why: tuple[Reason, ...]
    nearest: tuple[NearestYes, ...] = ()
    proven: bool = True


def refusal_of(
    problem: FireProblem,
    courses: Mapping[str, Course],
    quantile: float,
    *,
    thorough: bool = True,
    proven: bool = True,
) -> Refusal:
    """Say why a fire cannot be laid.

    Parameters
    ----------
    quantile : float
        Share of the samples that planned minutes cover.
    thorough : bool
        Whether to look by solving for reasons that are not plain at once, and for the nearest
        yes.
    proven : bool
        Whether it is proven that there is no plan.
    """
    plain = [why for item in problem.items for why in _plain(problem, item, courses, quantile)]
    if not thorough:
        return Refusal(tuple(plain), proven=proven)
    tried = _Tried(problem, courses, quantile)
    why = plain or list(_together(tried))
    if not why:
        none = "There is no order for all of it" if proven else "No order was found for all of it"
        why = [Reason("minutes", None, f"{none} on this fire; leave a dish out.")]
    return Refusal(tuple(why), tuple(_nearest(tried)), proven)


def _plain(
    problem: FireProblem, item: FireItem, courses: Mapping[str, Course], quantile: float
) -> Iterator[Reason]:
    """Yield what forbids one item by itself."""
    course = course_for(courses, item)
    for stage in course.stages:
        if not any(takes(zone, item, stage.heat) for zone in problem.zones):
            yield Reason("heat", item.id, f"{item.name} needs {stage.heat} heat, which no zone "
                         "that may take it gives.")  # fmt: skip
            return
    minutes = planned_minutes(course, quantile)
    if minutes is None:
        share = f"{100 * quantile:.0f}"
        yield Reason("heat", item.id, f"{item.name} does not reach its temperature within "
                     f"{MOST_MINUTES // 60} h in {share} of 100 samples on this fire.")  # fmt: skip
        return
    routes = routes_of(item, course, problem)
    yield from _too_large(problem, item, routes)
    yield from _too_long(problem, item, routes, minutes)
    heats = [stage.heat for stage in course.stages]
    now, needs = first_minute(problem, heats, minutes), sum(minutes) + course.rest_min
    if now is not None and served_at(problem, item) - needs < now:
        left = max(0, served_at(problem, item) - now)
        yield Reason("minutes", item.id, f"{item.name} needs {needs} min with its rest; {left} "
                     "min are left once it is home and the fire is hot.")  # fmt: skip


def _too_large(
    problem: FireProblem, item: FireItem, routes: list[tuple[str, ...]]
) -> Iterator[Reason]:
    """Yield if the smallest load of an item is larger than any zone it may go to."""
    zones = {zone.id: zone for zone in problem.zones}
    parts = [split(item, waves) for waves in range(1, MOST_LOADS + 1)]
    smallest = min(max(area for _, area in part) for part in parts if part)
    rooms = [[zones[name].area_sq_in for name in way] for way in routes]
    if any(all(room is None or room >= smallest for room in way) for way in rooms):
        return
    most = max(min(room for room in way if room is not None) for way in rooms)
    yield Reason("area", item.id, f"{item.name} needs {math.ceil(smallest)} sq in for its smallest "
                 f"load; the largest place for it has {math.floor(most)}.")  # fmt: skip


def _too_long(
    problem: FireProblem,
    item: FireItem,
    routes: list[tuple[str, ...]],
    minutes: tuple[int, ...],
) -> Iterator[Reason]:
    """Yield if one load of an item outlasts every zone it may go to."""
    lasts = {zone.id: zone.minutes for zone in problem.zones}
    over = []
    for way in routes:
        runs = [(run.end - run.begin, lasts[run.zone]) for run in runs_of(way, minutes)]
        beyond = [(need, most) for need, most in runs if most is not None and need > most]
        if not beyond:
            return
        over.append(max(beyond, key=lambda pair: pair[0] - pair[1]))
    need, most = min(over, key=lambda pair: pair[0] - pair[1])
    yield Reason("minutes", item.id, f"{item.name} needs {need} min on the fire, which lasts "
                 f"{most} min.")  # fmt: skip


@dataclass(slots=True)
class _Tried:
    """The fire that was refused, and the work that is left for trying others.

    `is_sure` is false once a try did not tell: a search that then finds nothing is no proof.
    """

    problem: FireProblem
    courses: Mapping[str, Course]
    quantile: float
    left: float = _TRIES
    is_sure: bool = True

    def goes(
        self,
        problem: FireProblem,
        courses: Mapping[str, Course] | None = None,
        *,
        rounds: bool | None = None,
    ) -> bool:
        """Tell whether a changed fire can be laid; no where the work does not tell."""
        if self.left <= 0:
            self.is_sure = False
            return False
        yes, work = goes(problem, courses or self.courses, self.quantile, rounds=rounds)
        self.left -= work + _BUILDING * len(problem.items) * len(problem.zones)
        self.is_sure &= yes is not None
        return bool(yes)


def _together(tried: _Tried) -> Iterator[Reason]:
    """Yield each limit that alone stands in the way; if none, the fewest that do together."""
    limits = limits_of(tried.problem)
    alone = [name for name in limits if tried.goes(*relaxed(tried.problem, tried.courses, {name}))]
    for name in alone:
        yield Reason("minutes" if name == "now" else name, None, _say(name, tried))
    if alone:
        return
    needed = set(limits)
    if not tried.goes(*relaxed(tried.problem, tried.courses, needed)):
        return
    tried.is_sure = True
    for name in limits:
        if tried.goes(*relaxed(tried.problem, tried.courses, needed - {name})):
            needed.discard(name)
    if tried.left <= 0:  # what is left was not tried
        return
    part = "" if tried.is_sure else ", as far as was tried,"
    for name in (one for one in limits if one in needed):
        say = f"{_have(name, tried)} This and other limits together{part} leave no order."
        yield Reason("minutes" if name == "now" else name, None, say)


def _have(name: str, tried: _Tried) -> str:
    """Return what there is of a limit, in one sentence."""
    problem = tried.problem
    if name == "area":
        rooms = ", ".join(f"{zone.name} {math.floor(zone.area_sq_in)} sq in"
                          for zone in problem.zones if zone.area_sq_in is not None)  # fmt: skip
        total = math.ceil(sum(item.area_sq_in for item in problem.items))
        return f"All food at once would lie on {total} sq in; there is {rooms}."
    if name == "minutes":
        lasts = ", ".join(f"{zone.name} {zone.minutes} min"
                          for zone in problem.zones if zone.minutes is not None)  # fmt: skip
        return f"The fire lasts: {lasts}."
    if name == "hold":
        shortest = min(problem.items, key=lambda item: course_for(tried.courses, item).hold_min)
        most = course_for(tried.courses, shortest).hold_min
        return f"What is done first would wait too long; {shortest.name} may wait {most} min."
    if name == "hands":
        return f"Each move takes a minute, and {problem.hands} can do it at the fire."
    now = home_minute(problem) or 0
    return f"There are {max(0, -now)} min until the first serving time."


def _say(name: str, tried: _Tried) -> str:
    """Return what there is of a limit and how much of it would do."""
    tried.is_sure = True
    enough = _enough(name, tried)
    if enough:
        return f"{_have(name, tried)} It would go with {enough}."
    none = "Nothing near it would do." if tried.is_sure else "More of it was not tried to the end."
    return f"{_have(name, tried)} {none}"


def _enough(name: str, tried: _Tried) -> str | None:
    """Return how much of a limit makes it go, None if nothing was found."""
    problem = tried.problem
    if name == "area":
        tenths = least(lambda n: tried.goes(wider(problem, n)), 11, 40)
        return f"{tenths / 10:.1f} times the room" if tenths else None
    if name == "minutes":
        minutes = _coals(tried)
        return f"{minutes} min" if minutes else None
    if name == "hold":
        more = least(lambda n: tried.goes(problem, longer_holds(tried.courses, 5 * n)), 1, 48)
        return f"waits {5 * more} min longer" if more else None
    if name == "hands":
        hands = least(lambda n: tried.goes(more_hands(problem, n)), problem.hands + 1, 8)
        return f"{hands} people" if hands else None
    delay = _delay(tried)
    return f"{delay} min more" if delay else None


def _coals(tried: _Tried) -> int | None:
    """Return how long the fire would have to last, in steps of 5 [min]."""
    lasts = [zone.minutes for zone in tried.problem.zones if zone.minutes is not None]
    if not lasts:
        return None
    first = min(lasts) // 5 + 1
    found = least(lambda n: tried.goes(longer_coals(tried.problem, 5 * n)), first, first + 96)
    return found and 5 * found


def _delay(tried: _Tried) -> int | None:
    """Return how much later it would have to be eaten, in steps of 5 [min]."""
    if tried.problem.now is None:
        return None
    found = least(lambda n: tried.goes(later(tried.problem, 5 * n)), 1, LATEST_MIN // 5)
    return found and 5 * found


def _nearest(tried: _Tried) -> Iterator[NearestYes]:
    """Yield changes that make it go, each tried by itself."""
    problem = tried.problem
    minutes = _coals(tried)
    if minutes:
        yield NearestYes("fire.minutes", minutes, f"With {minutes} min of fire it goes.")
    delay = _delay(tried)
    if delay:
        yield NearestYes("serve", delay, f"Eaten {delay} min later it goes.")
    hands = least(lambda n: tried.goes(more_hands(problem, n)), problem.hands + 1, 4)
    if hands:
        yield NearestYes("hands", hands, f"With {hands} people at the fire it goes.")
    if not problem.waves and tried.goes(problem, rounds=True):
        yield NearestYes("waves", True, "Eaten in more than one round it goes.")  # noqa: FBT003
    yield from _moved(tried)
    yield from _left(tried)


def _moved(tried: _Tried) -> Iterator[NearestYes]:
    """Yield the first dish that makes it go if an oven takes it."""
    for item in sorted(tried.problem.items, key=lambda one: -one.area_sq_in):
        course = course_for(tried.courses, item)
        minutes = planned_minutes(course, tried.quantile)
        if minutes is None or sum(minutes) < _OVEN_FROM or course.stages[0].heat == "oven":
            continue
        if tried.goes(*in_oven(tried.problem, tried.courses, item)):
            yield NearestYes("oven", item.id, f"With {item.name} in an oven the rest goes; give "
                             "its oven minutes.")  # fmt: skip
            return


def _left(tried: _Tried) -> Iterator[NearestYes]:
    """Yield the lightest dishes that make it go when left out; else a set of them."""
    if len(tried.problem.items) < 2:
        return
    found = 0
    for item in sorted(tried.problem.items, key=lambda one: (one.weight_mlb, one.id)):
        if tried.goes(without(tried.problem, {item.id})):
            yield NearestYes("leave", [item.id], f"Without {item.name} it goes.")
            found += 1
        if found == _LEAVES:
            return
    if found:
        return
    gone = _fewest(tried)
    if gone:
        names = ", ".join(one.name for one in gone)
        yield NearestYes("leave", [one.id for one in gone], f"Without {names} it goes.")


def _fewest(tried: _Tried) -> list[FireItem]:
    """Return dishes whose leaving makes it go, and none of which may come back; else none."""
    gone: list[FireItem] = []
    for item in sorted(tried.problem.items, key=_load_of(tried)):
        gone.append(item)
        if tried.goes(without(tried.problem, {one.id for one in gone})):
            break
    if len(gone) == len(tried.problem.items):
        return []
    for item in gone[-2::-1]:  # the last one is needed, or the search had ended before
        fewer = [one for one in gone if one is not item]
        if tried.goes(without(tried.problem, {one.id for one in fewer})):
            gone = fewer
    return gone


def _load_of(tried: _Tried) -> Callable[[FireItem], tuple[float, str]]:
    """Return a key that puts first what takes most room for longest."""

    def key(item: FireItem) -> tuple[float, str]:
        minutes = planned_minutes(course_for(tried.courses, item), tried.quantile)
        never = minutes is None or bool(
            list(_plain(tried.problem, item, tried.courses, tried.quantile))
        )
        return (-math.inf if never else -float(item.area_sq_in) * sum(minutes or ()), item.id)

    return key
