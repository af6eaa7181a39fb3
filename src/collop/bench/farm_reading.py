"""A farm call read from JSON: every value checked, every name followed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from fractions import Fraction
from typing import Any

from collop.bench.farm_problem import (
    Animal,
    Drawn,
    FarmBin,
    FarmCut,
    FarmProblem,
    Hanging,
    Labour,
    Listed,
    Promise,
    Room,
    Season,
)
from collop.bench.problem import Bin, Cut, Kind
from collop.bench.reading_case import (
    MOST_BINS,
    MOST_CUTS,
    USUAL_ELASTICITY,
    read_bins,
    read_cuts,
    read_makes,
)
from collop.bench.reading_kinds import read_kinds
from collop.bench.reading_parts import (
    decimal_text,
    known,
    label,
    lines,
    money,
    name_of,
    number,
    weight,
    whole,
)
from collop.errors import BadValue, Contradiction
from collop.measures import Rounding, decimal_of
from collop.wire import Reader, checked_number

__all__ = [
    "MOST_ANIMALS", "MOST_COUNT", "MOST_HANGING", "MOST_PROMISES", "MOST_SCENARIOS", "MOST_SEASONS",
    "SCHEMA_ID", "UNITS", "read_farmcall",
]  # fmt: skip

SCHEMA_ID = "collop.farmcall/1"
UNITS = ("lb", "kg")
MOST_ANIMALS, MOST_COUNT, MOST_HANGING, MOST_PROMISES = 30, 10_000, 200, 300
MOST_SEASONS, MOST_SCENARIOS = 100, 1000
MOST_CV, MOST_INDEX, LEAST_INDEX, MOST_FACTOR = 2.0, 20.0, 0.01, 100.0
_LEAST_FACTOR = 1e-6
_MOST_SEED = 2**31 - 1
_MOST_MINUTES = "100000"
_CHANCES_OFF = Fraction(1, 1000)
#: Scatter that all cuts share, and hour beyond the usual ones, if none is given: common practice.
USUAL_COMMON_CV, USUAL_OVERTIME = "0.15", Fraction(3, 2)
_KEYS = ("schema", "name", "currency", "rounding", "unit", "week_of", "animals", "kinds", "hanging",
         "cuts", "bins", "makes", "standing", "bookings", "labour", "room", "season", "holidays",
         "scenarios")  # fmt: skip
_ANIMAL_KEYS = ("id", "name", "kind", "weight", "price_per_unit", "haulage", "least", "most",
                "usual")  # fmt: skip
_CUT_OWN = ("week", "cv", "on_hand")
_CUT_LENT = ("id", "name", "species", "price", "elasticity", "steps", "salvage", "ground")
_BIN_LENT = ("id", "name", "species", "fat", "worth")
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)


def read_farmcall(data: object) -> FarmProblem:
    """Read one farm call.

    Parameters
    ----------
    data : object
        Parsed JSON of the ``collop.farmcall/1`` contract.

    Returns
    -------
    FarmProblem
        Exact; weights in its unit, money in its currency, all of one week.

    Raises
    ------
    ProblemError
        With the path of the first bad value, in one sentence.
    """
    top = Reader(data, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    bins, bin_stock = _bins(top)
    lent, cuts = _cuts(top, bins)
    kinds = read_kinds(top, lent, bins)
    groups = frozenset((*cuts, *(cut.species for cut in cuts.values() if cut.species), "all"))
    room = _room(top)
    animals = _animals(top, kinds)
    _room_for_the_least(top, animals, room)
    return FarmProblem(
        name=name_of(top, "name", ""),
        currency=top.currency(),
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
        unit=top.choice("unit", UNITS, UNITS[0]),
        week_of=_date(top),
        animals=animals,
        kinds=kinds,
        hanging=tuple(_hanging(top, kinds)),
        cuts=cuts,
        bins={key: FarmBin(one.id, one.name, one.species, one.fat, one.worth, bin_stock[key])
              for key, one in bins.items()},
        makes=read_makes(top, lent, bins),
        promises=(*_promises(top, "standing", cuts), *_promises(top, "bookings", cuts)),
        labour=_labour(top),
        room=room,
        seasons=(*_seasons(top, "season", groups), *_seasons(top, "holidays", groups)),
        scenarios=_scenarios(top, groups),
        notes=tuple(_notes(top, cuts)),
    )  # fmt: skip


def _date(top: Reader) -> date:
    text = str(top.text("week_of"))
    if _DAY.fullmatch(text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            pass
    raise top.fail("week_of", f"is {text[:40]!r}; write a date such as 2026-06-15.")


def _optional(row: Reader, key: str) -> Fraction:
    """Return a weight of zero or more, zero if it is left out."""
    return weight(row, key, least="0") if row.has(key) else Fraction(0)


def _shadow(row: Reader, lent: tuple[str, ...], more: Mapping[str, Any]) -> dict[str, Any]:
    return {**{key: row.value[key] for key in lent if key in row.value}, **more}


def _bins(top: Reader) -> tuple[dict[str, Bin], dict[str, Fraction]]:
    """Return the bins as the cutting plan knows them, and what is in each."""
    rows = list(lines(top, "bins", (*_BIN_LENT, "on_hand"), MOST_BINS))
    shadow = {"bins": [_shadow(row, _BIN_LENT, {"keeps_days": 0}) for row in rows]}
    bins = read_bins(Reader(shadow, "$", shadow))
    return bins, {row.value["id"]: _optional(row, "on_hand") for row in rows}


def _cuts(top: Reader, bins: Mapping[str, Bin]) -> tuple[dict[str, Cut], dict[str, FarmCut]]:
    """Return the cuts as the cutting plan knows them, and with what a week sells."""
    rows = list(lines(top, "cuts", (*_CUT_LENT, *_CUT_OWN), MOST_CUTS))
    blank = {"keeps_days": 0, "usual": []}
    shadow = {"cuts": [_shadow(row, _CUT_LENT, blank) for row in rows]}
    lent = read_cuts(Reader(shadow, "$", shadow), bins, 0)
    return lent, {
        one.id: FarmCut(
            id=one.id,
            name=one.name,
            species=one.species,
            price=one.price,
            week=weight(row, "week", least="0"),
            cv=number(row, "cv", 0.0, MOST_CV, "0") or Fraction(0),
            elasticity=one.elasticity,
            steps=one.steps,
            salvage=one.salvage,
            on_hand=_optional(row, "on_hand"),
            ground=one.ground,
        )
        for one, row in zip(lent.values(), rows, strict=True)
    }


def _animals(top: Reader, kinds: Mapping[str, Kind]) -> tuple[Animal, ...]:
    seen: set[str] = set()
    found = []
    for row in lines(top, "animals", _ANIMAL_KEYS, MOST_ANIMALS):
        animal_id = label(row, "id", seen)
        least = whole(row, "least", 0, MOST_COUNT, 0)
        found.append(
            Animal(
                id=animal_id,
                name=name_of(row, "name", "") or animal_id,
                kind=known(row, "kind", kinds, "kind", "$.kinds"),
                weight=weight(row, "weight"),
                price_per_unit=money(row, "price_per_unit"),
                haulage=money(row, "haulage", "0"),
                least=least,
                most=whole(row, "most", least, MOST_COUNT),
                usual=whole(row, "usual", 0, MOST_COUNT) if row.has("usual") else None,
            )
        )
    if not found:
        raise top.fail("animals", "names nothing; give at least one animal that can be ordered.")
    return tuple(found)


def _hanging(top: Reader, kinds: Mapping[str, Kind]) -> Iterator[Hanging]:
    for row in lines(top, "hanging", ("kind", "weight", "worth_left"), MOST_HANGING):
        yield Hanging(
            kind=known(row, "kind", kinds, "kind", "$.kinds"),
            weight=weight(row, "weight"),
            worth_left=money(row, "worth_left", "0"),
        )


def _promises(top: Reader, key: str, cuts: Mapping[str, FarmCut]) -> Iterator[Promise]:
    for row in lines(top, key, ("name", "cut", "weight", "price"), MOST_PROMISES):
        cut = known(row, "cut", cuts, "cut", "$.cuts")
        yield Promise(
            name=label(row, "name"),
            cut=cut,
            weight=weight(row, "weight"),
            price=money(row, "price") if row.has("price") else cuts[cut].price,
            standing=key == "standing",
        )


def _labour(top: Reader) -> Labour | None:
    if not top.has("labour"):
        return None
    keys = ("minutes", "per_hour", "overtime_minutes", "overtime_per_hour")
    row = Reader(top.value["labour"], "$.labour", keys)
    if not row.has("minutes"):
        raise row.fail("minutes", "is missing; add it.")
    usual, more = (
        decimal_text(row.value[key], row.where(key), high=_MOST_MINUTES)
        if row.has(key) else Fraction(0)
        for key in ("minutes", "overtime_minutes")
    )  # fmt: skip
    per_hour = money(row, "per_hour", "0")
    dear = per_hour * USUAL_OVERTIME
    if row.has("overtime_per_hour"):
        dear = money(row, "overtime_per_hour")
    if dear < per_hour:
        raise Contradiction(
            f"{row.where('overtime_per_hour')} is under per_hour; give what an hour more costs.",
            where=row.where("overtime_per_hour"),
        )
    return Labour(usual, per_hour, more, dear)


def _room(top: Reader) -> Room | None:
    if not top.has("room"):
        return None
    row = Reader(top.value["room"], "$.room", ("rail", "hanging"))
    room = Room(rail=weight(row, "rail"), hanging=_optional(row, "hanging"))
    if room.hanging > room.rail:
        raise row.fail("hanging", "is more than the rail holds; check both weights.")
    return room


def _room_for_the_least(top: Reader, animals: tuple[Animal, ...], room: Room | None) -> None:
    must = sum((one.least * one.weight for one in animals), Fraction(0))
    if room is not None and must > room.rail - room.hanging:
        free = decimal_of(room.rail - room.hanging, 3).normalize()
        raise Contradiction(
            f"{top.where('animals')}: the least that must be ordered weighs "
            f"{decimal_of(must, 3).normalize():f}, and the rail has room for {free:f}; lower "
            "`least` or free the rail.",
            where=top.where("animals"),
        )


def _seasons(top: Reader, key: str, groups: frozenset[str]) -> Iterator[Season]:
    for row in lines(top, key, ("what", "index", "why", "source"), MOST_SEASONS):
        index = number(row, "index", LEAST_INDEX, MOST_INDEX, None)
        if index is None:
            raise row.fail("index", "is missing; add it, such as 1.08.")
        yield Season(
            what=_group(row.text("what"), row.where("what"), groups),
            index=index,
            why=name_of(row, "why", ""),
            source=name_of(row, "source", ""),
        )


def _group(what: str, where: str, groups: frozenset[str]) -> str:
    if what not in groups:
        raise BadValue(
            f"{where} is {what[:40]!r}; name a cut, the species of one, or all.", where=where
        )
    return what


def _scenarios(top: Reader, groups: frozenset[str]) -> Drawn | tuple[Listed, ...]:
    if not top.has("scenarios"):
        return Drawn(40, 1, Fraction(USUAL_COMMON_CV))
    row = Reader(top.value["scenarios"], "$.scenarios", ("count", "seed", "common_cv", "list"))
    if not row.has("list"):
        common = number(row, "common_cv", 0.0, MOST_CV, USUAL_COMMON_CV)
        assert common is not None
        return Drawn(
            whole(row, "count", 1, MOST_SCENARIOS, 40), whole(row, "seed", 0, _MOST_SEED, 1), common
        )
    for key in ("count", "seed", "common_cv"):
        if row.has(key):
            raise row.fail(key, "stands beside list; give one of the two ways.")
    found = tuple(_listed(row, groups))
    total = sum((one.chance for one in found), Fraction(0))
    if abs(total - 1) > _CHANCES_OFF:
        raise row.fail("list", f"has chances that sum to {float(total):.6g}; they must sum to 1.")
    return tuple(Listed(one.name, one.chance / total, one.factors) for one in found)


def _listed(top: Reader, groups: frozenset[str]) -> Iterator[Listed]:
    for at, row in enumerate(lines(top, "list", ("name", "chance", "factors"), MOST_SCENARIOS)):
        chance = number(row, "chance", 0.0, 1.0, None)
        if not chance:
            raise row.fail("chance", "must be given and above zero; leave the scenario out else.")
        factors: dict[str, Fraction] = {}
        given = row.value["factors"] if row.has("factors") else {}
        for what, value in Reader(given, row.where("factors"), given).value.items():
            where = f"{row.where('factors')}.{what[:40]}"
            found = checked_number(value, 0.0, MOST_FACTOR, where)
            if 0 < found < _LEAST_FACTOR:
                raise BadValue(f"{where} is {found}; write zero, or a millionth at the least.",
                               where=where)  # fmt: skip
            factors[_group(what, where, groups)] = Fraction(str(found))
        yield Listed(name_of(row, "name", "") or str(at + 1), chance, factors)


def _notes(top: Reader, cuts: Mapping[str, FarmCut]) -> Iterator[str]:
    """Yield what was taken for granted because it was left out."""
    rows = [(row, cuts[row["id"]]) for row in top.items("cuts")]
    without = [cut for row, cut in rows if row.get("elasticity") is None and len(cut.steps) > 1]
    if without:
        yield (
            f"Sales answer a price with an elasticity of {USUAL_ELASTICITY} where none is given: "
            f"{_some(without)}; common practice, no published source."
        )
    steady = [cut for row, cut in rows if row.get("cv") is None]
    if steady and not (top.value.get("scenarios") or {}).get("list"):
        yield f"No scatter of its own is given for {_some(steady)}."
    if not top.has("labour"):
        yield "No labour is given: hours are neither short nor paid here."


def _some(cuts: list[FarmCut]) -> str:
    """Return up to five names, and how many more there are."""
    more = len(cuts) - 5
    return ", ".join(cut.name for cut in cuts[:5]) + (f" and {more} more" if more > 0 else "")
