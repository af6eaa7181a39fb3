"""Whether a frozen piece can be thawed before it goes on the fire, and when to start.

Hours are counted on the local clock; a night on which the clocks change may be an hour off. It is
never thawed on a counter.

References
----------
.. [1] Turkey thawing times (USDA based), several reprints: refrigerator 24 h for each 4-5 lb; cold
   water 30 min a pound, changed every 30 min, cooked at once. Source id ``THAW_TURKEY``.
.. [2] To thaw safely, kitchen guide: small and large roasts, 1 in steak, 1 in package. Source id
   ``THAW_CUTS``.
.. [3] Turkey (USDA figures), footnote: from frozen about half as long again. Source id
   ``FROZEN_TURKEY``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from math import ceil

from collop.errors import BadValue
from collop.fire.clocks import check_form
from collop.measures import Weight, WeightUnit
from collop.reference import cold_water_hours, thaw_hours
from collop.reference.keepings import keeping_row

__all__ = ["CHANGE_MIN", "Thaw", "ThawWay", "moment_before", "thaw_plan"]

#: Cold water is changed so often [min]; THAW_TURKEY, row thaw, cold water.
CHANGE_MIN = 30
#: Heaviest piece for which the chart of cold water gives hours [lb].
_HEAVIEST_IN_WATER_LB = 24
#: Thickest steak the hours of a steak hold for [mm]: 1 in.
_INCH_MM = 25.4
#: Heaviest frozen piece that is read [lb].
_HEAVIEST_LB = 20_000


@dataclass(frozen=True, slots=True)
class ThawWay:
    """One way to thaw.

    Attributes
    ----------
    way : str
        ``refrigerator`` or ``cold water``.
    least_min, planned_min, longest_min : int
        Under the first it cannot be thawed; the second is planned with; the third is the longest
        that is published for such a piece [min].
    start : datetime
        When to start, counted back from the fire: as early as `longest_min` asks, if there is
        time, else at once; in cold water exactly `planned_min` before, as it is cooked at once.
    done : datetime
        When it is thawed, by `planned_min`.
    fits : bool
        Whether there is time for `planned_min`.
    changes : tuple of datetime
        When the water is changed; empty in the refrigerator.
    source : str
        Citation.
    charted : bool
        Whether the published hours reach so heavy a piece; if not, it never fits.
    """

    way: str
    least_min: int
    planned_min: int
    longest_min: int
    start: datetime
    done: datetime
    fits: bool
    changes: tuple[datetime, ...]
    source: str
    charted: bool = True


@dataclass(frozen=True, slots=True)
class Thaw:
    """How a frozen piece can be thawed, and whether there is time.

    Attributes
    ----------
    pieces : int
        How many lie side by side.
    minutes : int or None
        From now, or from home, to the fire; None if now is not known, and then both ways fit.
    from_frozen : Decimal or None
        Published factor on the time in the oven if it is cooked frozen, roasts and turkey only:
        for information, no plan counts on it. None for other pieces.
    """

    pieces: int
    minutes: int | None
    refrigerator: ThawWay
    cold_water: ThawWay
    from_frozen: Decimal | None

    @property
    def best(self) -> ThawWay | None:
        """Return the refrigerator if it fits, else cold water if that fits, else None."""
        return next((way for way in (self.refrigerator, self.cold_water) if way.fits), None)

    @property
    def soonest_min(self) -> int:
        """Return the minutes from home to the fire that the sooner way needs [min]."""
        ways = (self.refrigerator, self.cold_water)
        return min(way.planned_min for way in ways if way.charted)


def moment_before(moment: datetime, minutes: int) -> datetime:
    """Return the moment so many minutes earlier.

    Raises
    ------
    BadValue
        If the calendar has no such day.
    """
    try:
        return moment - timedelta(minutes=minutes)
    except OverflowError:
        raise BadValue(
            f"{moment:%Y-%m-%d} leaves no room for {minutes} minutes; check the date and weight."
        ) from None


def thaw_plan(
    weight: Weight,
    pieces: int | None,
    form: str,
    now: datetime | None,
    put_on_at: datetime,
    *,
    thickness_mm: float | None = None,
    ride_min: int = 0,
) -> Thaw:
    """Return whether a frozen piece is thawed before it goes on, in the refrigerator or in water.

    Parameters
    ----------
    weight : Weight
        One piece, the heaviest of them; the whole block if it is frozen in one.
    pieces : int or None
        How many pieces; None for one block.
    form : str
        One of `collop.fire.problem.FORMS`.
    now : datetime or None
        Local time at the counter; None if not known: then nothing is refused.
    put_on_at : datetime
        Local time at which it goes on the fire.
    thickness_mm : float or None
        Least measure of the piece [mm]. Steaks of 1 in or less that lie apart have hours of their
        own; without it they are taken as a package.
    ride_min : int
        Minutes from the counter to the kitchen; both ways start after it [min].

    Raises
    ------
    BadValue
        If the weight, the count, the form or the dates cannot be.

    Notes
    -----
    The refrigerator is planned at the slower end of 24 h for 4-5 lb. A large roast may need up to
    7 h a pound where 6 h are planned: it is started that early where there is time. Over the 24 lb
    of its chart nothing is planned in cold water.

    Examples
    --------
    >>> wednesday, lunch = datetime(2026, 6, 10, 16), datetime(2026, 6, 11, 13)
    >>> duck = thaw_plan(Weight.of("5.2", WeightUnit.LB), 3, "bird-flat", wednesday, lunch)
    >>> duck.refrigerator.fits, duck.refrigerator.least_min, duck.minutes
    (False, 1498, 1260)
    >>> duck.cold_water.fits, f"{duck.cold_water.start:%H:%M}"
    (True, '10:24')

    References
    ----------
    .. [1] Turkey thawing times (USDA based). Source id ``THAW_TURKEY``.
    .. [2] To thaw safely. Source id ``THAW_CUTS``.
    """
    check_form(form)
    if pieces is not None and pieces < 1:
        raise BadValue(f"{pieces} pieces cannot be thawed; count at least one.")
    if weight.exact(WeightUnit.LB) > _HEAVIEST_LB:
        raise BadValue(f"{weight.text()} is no single piece; give the weight of one of them.")
    from_home = None if now is None else moment_before(now, -ride_min)
    is_roast = form == "roast" or form.startswith("bird")
    return Thaw(
        pieces=pieces or 1,
        minutes=None if from_home is None else int((put_on_at - from_home).total_seconds() // 60),
        refrigerator=_refrigerator(
            _fridge_minutes(weight, pieces, form, thickness_mm), from_home, put_on_at
        ),
        cold_water=_cold_water(weight, from_home, put_on_at),
        from_frozen=keeping_row("cook from frozen", "time multiplier").high if is_roast else None,
    )


def _minutes(hours: Decimal | Fraction | int) -> int:
    return ceil(Fraction(hours) * 60)


def _fridge_minutes(
    weight: Weight, pieces: int | None, form: str, thickness_mm: float | None
) -> tuple[int, int, int, str]:
    """Return least, planned and longest minutes in the refrigerator, and their source."""
    steak = keeping_row("thaw", "1 in steak, refrigerator")
    thin = thickness_mm is not None and thickness_mm <= _INCH_MM
    if form in {"steak", "thin"} and pieces is not None and thin:
        assert steak.low is not None  # keeping_row asks for both figures
        assert steak.high is not None
        return _minutes(steak.low), _minutes(steak.high), _minutes(steak.high), steak.citation()
    hours = thaw_hours(weight)
    source = keeping_row("thaw", "refrigerator").citation()
    least, planned = _minutes(hours.least), _minutes(hours.planned)
    longest = planned
    if form == "roast":
        large = keeping_row("thaw", "large roast, refrigerator")
        assert large.high is not None
        longest = max(planned, _minutes(weight.exact(WeightUnit.LB) * Fraction(large.high)))
        source = f"{source}; {large.citation()}"
    return least, planned, longest, source


def _refrigerator(
    minutes: tuple[int, int, int, str], from_home: datetime | None, put_on_at: datetime
) -> ThawWay:
    least, planned, longest, source = minutes
    latest = moment_before(put_on_at, planned)
    start = moment_before(put_on_at, longest)
    if from_home is not None:
        start = min(max(start, from_home), latest)
    return ThawWay(
        "refrigerator", least, planned, longest, start, start + timedelta(minutes=planned),
        from_home is None or from_home <= latest, (), source,
    )  # fmt: skip


def _cold_water(weight: Weight, from_home: datetime | None, put_on_at: datetime) -> ThawWay:
    planned = _minutes(cold_water_hours(weight))
    start = moment_before(put_on_at, planned)
    charted = weight.exact(WeightUnit.LB) <= _HEAVIEST_IN_WATER_LB
    changes = range(CHANGE_MIN, planned, CHANGE_MIN) if charted else range(0)
    return ThawWay(
        "cold water", planned, planned, planned, start, put_on_at,
        charted and (from_home is None or from_home <= start),
        tuple(start + timedelta(minutes=change) for change in changes),
        keeping_row("thaw", "cold water").citation(), charted,
    )  # fmt: skip
