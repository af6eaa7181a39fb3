"""Lines of the case, trim bins, and what is made of trim, read from JSON."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from collop.bench.problem import Bin, Cut, Ground, Left, Lot, Make
from collop.bench.reading_parts import (
    FINE_PLACES,
    decimal_text,
    known,
    label,
    lines,
    minutes,
    money,
    name_of,
    number,
    per_day,
    share,
    weight,
    whole,
)
from collop.errors import BadValue, Contradiction
from collop.wire import Reader

__all__ = [
    "MOST_BINS", "MOST_CUTS", "MOST_KEEPS", "MOST_LOTS", "MOST_MAKES", "MOST_STEPS",
    "USUAL_ELASTICITY", "USUAL_STEPS", "read_bins", "read_cuts", "read_makes",
]  # fmt: skip

MOST_CUTS, MOST_BINS, MOST_MAKES, MOST_LOTS, MOST_STEPS = 500, 50, 100, 200, 12
MOST_KEEPS = 3650
LEAST_ELASTICITY, MOST_ELASTICITY = 0.01, 10.0
LEAST_STEP, MOST_STEP = "0.3", "1.5"
#: Taken if none is given; common practice, no published source.
USUAL_ELASTICITY = "1.5"
USUAL_STEPS = (Fraction(1), Fraction(9, 10), Fraction(8, 10), Fraction(7, 10))
_LEAST_PRICE = Fraction(1, 10_000)
_MOST_ADDED = "0.9"
_KEYS = ("id", "name", "species", "price", "keeps_days", "usual", "elasticity", "steps", "salvage",
         "ground", "left", "stock")  # fmt: skip
_BIN_KEYS = ("id", "name", "species", "fat", "keeps_days", "worth", "stock")
_MAKE_KEYS = ("cut", "name", "bins", "fat_max", "fat_min", "added", "added_cost", "cost_per_unit",
              "minutes_per_unit")  # fmt: skip


def read_bins(top: Reader) -> dict[str, Bin]:
    """Read ``bins``: by id, in the order given; raises `ProblemError` with a path."""
    seen: set[str] = set()
    found: dict[str, Bin] = {}
    for row in lines(top, "bins", _BIN_KEYS, MOST_BINS):
        bin_id = label(row, "id", seen)
        found[bin_id] = Bin(
            id=bin_id,
            name=name_of(row, "name", "") or bin_id,
            species=name_of(row, "species", ""),
            fat=share(row, "fat"),
            keeps_days=whole(row, "keeps_days", 0, MOST_KEEPS),
            worth=money(row, "worth", "0"),
            stock=_stock(row),
        )
    return found


def read_cuts(top: Reader, bins: Mapping[str, Bin], days: int) -> dict[str, Cut]:
    """Read ``cuts``: by id, in the order given.

    Raises
    ------
    ProblemError
        With the path of the first bad value, or if there is no cut.
    """
    seen: set[str] = set()
    found: dict[str, Cut] = {}
    for row in lines(top, "cuts", _KEYS, MOST_CUTS):
        cut = _cut(row, label(row, "id", seen), bins, days)
        found[cut.id] = cut
    if not found:
        raise top.fail("cuts", "names nothing; give at least one cut that is sold.")
    return found


def _cut(row: Reader, cut_id: str, bins: Mapping[str, Bin], days: int) -> Cut:
    price = money(row, "price")
    if price < _LEAST_PRICE:
        raise row.fail("price", f"is {row.value['price']}; a price is 0.0001 or more.")
    salvage = money(row, "salvage", "0")
    elasticity = number(row, "elasticity", LEAST_ELASTICITY, MOST_ELASTICITY, USUAL_ELASTICITY)
    assert elasticity is not None
    return Cut(
        id=cut_id,
        name=name_of(row, "name", "") or cut_id,
        species=name_of(row, "species", ""),
        price=price,
        keeps_days=whole(row, "keeps_days", 0, MOST_KEEPS),
        usual=per_day(row, "usual", days),
        elasticity=elasticity,
        steps=_steps(row),
        salvage=salvage,
        ground=_ground(row, bins),
        left=_left(row, salvage),
        stock=_stock(row),
    )


def _steps(row: Reader) -> tuple[Fraction, ...]:
    if not row.has("steps"):
        return USUAL_STEPS
    count = len(row.items("steps"))
    if not 1 <= count <= MOST_STEPS:
        raise row.fail("steps", f"has {count} prices; give from 1 to {MOST_STEPS}, or leave out.")
    found: list[Fraction] = []
    for path, value in row.each("steps"):
        step = decimal_text(value, path, high=MOST_STEP)
        if step < Fraction(LEAST_STEP):
            raise BadValue(f"{path} is {value}; give {LEAST_STEP} or more.", where=path)
        if found and step >= found[-1]:
            raise BadValue(f"{path} is {value}; put the highest first, each once.", where=path)
        found.append(step)
    return tuple(found)


def _ground(row: Reader, bins: Mapping[str, Bin]) -> Ground | None:
    if not row.has("ground"):
        return None
    found = Reader(row.value["ground"], row.where("ground"), ("bin", "yield", "minutes_per_unit"))
    return Ground(
        bin=known(found, "bin", bins, "bin", "$.bins"),
        gives=share(found, "yield", "1", above_zero=True),
        minutes_per_unit=minutes(found, "minutes_per_unit", "0"),
    )


def _left(row: Reader, salvage: Fraction) -> Left:
    if not row.has("left"):
        return Left(worth=salvage, takes=None)
    found = Reader(row.value["left"], row.where("left"), ("worth", "takes"))
    takes = weight(found, "takes", least="0", places=FINE_PLACES) if found.has("takes") else None
    return Left(worth=money(found, "worth"), takes=takes)


def _stock(row: Reader) -> tuple[Lot, ...]:
    """Return the lots on hand, the one that keeps shortest first."""
    found = [
        Lot(
            weight=weight(one, "weight"),
            days_left=whole(one, "days_left", 0, MOST_KEEPS),
            lot=name_of(one, "lot", ""),
        )
        for one in lines(row, "stock", ("weight", "days_left", "lot"), MOST_LOTS)
    ]
    return tuple(sorted(found, key=lambda one: one.days_left))


def read_makes(top: Reader, cuts: Mapping[str, Cut], bins: Mapping[str, Bin]) -> tuple[Make, ...]:
    """Read ``makes``; raises `ProblemError` with the path of the first bad value."""
    found: list[Make] = []
    seen: set[tuple[str, str]] = set()
    for row in lines(top, "makes", _MAKE_KEYS, MOST_MAKES):
        make = _make(row, cuts, bins)
        if (make.cut, make.name) in seen:
            raise row.fail("name", "is given for this cut already; give each make its own.")
        seen.add((make.cut, make.name))
        found.append(make)
    return tuple(found)


def _make(row: Reader, cuts: Mapping[str, Cut], bins: Mapping[str, Bin]) -> Make:
    cut = known(row, "cut", cuts, "cut", "$.cuts")
    if cuts[cut].ground is not None:
        # going round would give old meat new days each time
        raise Contradiction(
            f"{row.where('cut')} is {cut[:40]!r}, which may itself be ground; what is made of trim "
            "goes back to no bin: take `ground` off that cut.",
            where=row.where("cut"),
        )
    low, high = _fat(row, "fat_min"), _fat(row, "fat_max")
    if low is not None and high is not None and low > high:
        raise Contradiction(
            f"{row.where('fat_min')} is over fat_max; lower the one or lift the other.",
            where=row.where("fat_min"),
        )
    return Make(
        cut=cut,
        name=name_of(row, "name", "") or cuts[cut].name,
        bins=_bins_of(row, bins),
        fat_max=high,
        fat_min=low,
        added=share(row, "added", "0", high=_MOST_ADDED),
        added_cost=money(row, "added_cost", "0"),
        cost_per_unit=money(row, "cost_per_unit", "0"),
        minutes_per_unit=minutes(row, "minutes_per_unit", "0"),
    )


def _fat(row: Reader, key: str) -> Fraction | None:
    return share(row, key) if row.has(key) else None


def _bins_of(row: Reader, bins: Mapping[str, Bin]) -> tuple[str, ...]:
    found = row.texts("bins")
    where = row.where("bins")
    if not found:
        raise row.fail("bins", "is empty; name what it is made of.")
    if len(found) > MOST_BINS:
        raise row.fail("bins", f"names {len(found)} bins; {MOST_BINS} is the most.")
    for index, one in enumerate(found):
        path = f"{where}[{index}]"
        if one not in bins:
            raise BadValue(
                f"{path} is {one[:40]!r}, which is no bin; add it to $.bins.", where=path
            )
        if one in found[:index]:
            raise BadValue(f"{path} is {one[:40]!r} once more; name each bin once.", where=path)
    return found
