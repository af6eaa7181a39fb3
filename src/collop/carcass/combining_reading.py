"""Published yields, what they are worth, and the shop's own tests; read from JSON.

Yields are parts of one whole.  Each set is kept as exact fractions that sum to 1.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.carcass.cuttingtest_amounts import UNITS, exact, in_unit, plain
from collop.errors import BadValue, Contradiction
from collop.measures import WeightUnit
from collop.wire import Reader, checked_decimal, checked_number

__all__ = ["METHODS", "SCHEMA_ID", "Pool", "Shares", "Test", "read_pool"]

SCHEMA_ID = "collop.yields/1"
METHODS = ("dirichlet", "log-ratio")
MOST_PARTS = 100
MOST_TESTS = 500
#: Printed shares are rounded: their sum may miss the whole by this much and is then closed.
_SLACK = Fraction(5, 1000)
_TEST_KEYS = ("label", "shares", "weights", "unit", "age_days", "carcass_weight")

Shares = tuple[Fraction, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Test:
    """One cutting test of the shop.

    Parameters
    ----------
    label, path : str
        Its name, and where it stands in the problem.
    shares : tuple of Fraction, shape (parts,)
        Sum to 1.
    whole_lb : Fraction or None
        Weight of the carcass [lb], if known.
    age_days : Fraction
        How long ago it was done.
    """

    label: str
    path: str
    shares: Shares
    whole_lb: Fraction | None
    age_days: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """What is combined.

    Parameters
    ----------
    parts : tuple of str
        Names, in the order of every tuple of shares.
    published : tuple of Fraction, shape (parts,)
        Sum to 1.
    sd : tuple of Fraction or None
        Published standard deviations between carcasses, one a part.
    worth : Fraction or None
        How many own carcasses the published mean is worth, if it was set.
    within_sd, between_sd : Fraction or None
        Known spreads between carcasses and between shops, to work the worth out.
    other_shops : tuple of tuple of tuple of Fraction
        Tests of other shops, to estimate the worth from.
    """

    name: str
    method: str
    places: int
    parts: tuple[str, ...]
    published: Shares
    source: str
    sd: Shares | None
    worth: Fraction | None
    within_sd: Fraction | None
    between_sd: Fraction | None
    other_shops: tuple[tuple[Shares, ...], ...]
    tests: tuple[Test, ...]
    half_life_days: Fraction | None
    weigh_by_carcass: bool
    resolution_lb: Fraction
    unit: WeightUnit
    next_weight: Fraction | None
    notes: tuple[str, ...]


def read_pool(value: object) -> Pool:
    """Read one problem of combined yields.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.yields/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    keys = ("schema", "name", "method", "places", "published", "tests", "other_shops", "unit",
            "half_life_days", "weigh_by_carcass", "resolution", "next_weight")  # fmt: skip
    top = Reader(value, "$", keys)
    top.choice("schema", [SCHEMA_ID])
    unit = WeightUnit(top.choice("unit", UNITS, "lb"))
    row = Reader(top.value.get("published"), "$.published", ("shares", "sd", "worth", "source"))
    notes: list[str] = []
    parts = _part_names(row)
    published = _shares(row, parts, notes)
    within, between = _spreads(row)
    half_life = top.number("half_life_days", 1.0, 100_000.0, None)
    resolution = Fraction(top.decimal("resolution", "0.01") or 0) or Fraction(1, 100)
    next_weight = top.decimal("next_weight", None)
    return Pool(
        name=top.text("name", ""),
        method=top.choice("method", METHODS, METHODS[0]),
        places=top.whole("places", 2, 6, 4),
        parts=parts,
        published=published,
        source=row.text("source", ""),
        sd=_sd(row, parts),
        worth=_worth(row),
        within_sd=within,
        between_sd=between,
        other_shops=tuple(_other_shops(top, parts, notes)),
        tests=tuple(_tests(top, "tests", parts, notes)),
        half_life_days=None if half_life is None else exact(half_life),
        weigh_by_carcass=top.flag("weigh_by_carcass", default=False),
        resolution_lb=in_unit(resolution, unit, WeightUnit.LB),
        unit=unit,
        next_weight=None if next_weight is None else Fraction(next_weight),
        notes=tuple(dict.fromkeys(notes)),
    )


def _object(row: Reader, key: str) -> dict[str, Any]:
    value = row.value.get(key)
    if value is None:
        raise row.fail(key, "is missing; add it.")
    return Reader(value, row.where(key), value if isinstance(value, dict) else ()).value


def _part_names(row: Reader) -> tuple[str, ...]:
    names = tuple(_object(row, "shares"))
    if not 2 <= len(names) <= MOST_PARTS:
        raise row.fail("shares", f"names {len(names)} parts; give from 2 to {MOST_PARTS}.")
    return names


def _same_parts(found: dict[str, Any], parts: tuple[str, ...], where: str) -> None:
    for name in parts:
        if name not in found:
            path = f"{where}.{name}"
            raise BadValue(f"{path} is missing; every set names the same parts.", where=path)
    for name in found:
        if name not in parts:
            path = f"{where}.{name}"
            raise BadValue(
                f"{path} is not among the published parts; spell them alike.", where=path
            )


def _shares(row: Reader, parts: tuple[str, ...], notes: list[str]) -> Shares:
    """Return shares that sum to 1; they may be written as fractions of 1 or as percent."""
    found, where = _object(row, "shares"), row.where("shares")
    _same_parts(found, parts, where)
    raw = [exact(checked_number(found[name], 0.0, 100.0, f"{where}.{name}")) for name in parts]
    total = sum(raw, Fraction(0))
    for whole in (1, 100):
        if abs(total / whole - 1) <= _SLACK:
            if total != whole:
                notes.append(
                    f"{where} sums to {plain(total)} instead of {whole}; taken as printed with "
                    "rounding and closed in proportion."
                )
            return tuple(share / total for share in raw)
    raise Contradiction(
        f"{where} sums to {plain(total)}, not to 1 or 100; name every part, the cutting loss too.",
        where=where,
    )


def _weighed(row: Reader, parts: tuple[str, ...], unit: WeightUnit) -> tuple[Shares, Fraction]:
    """Return shares and the whole [lb] from weighed parts."""
    found, where = _object(row, "weights"), row.where("weights")
    _same_parts(found, parts, where)
    raw = [Fraction(checked_decimal(found[name], f"{where}.{name}")) for name in parts]
    total = sum(raw, Fraction(0))
    if not total:
        raise row.fail("weights", "are all zero; weigh the parts.")
    return tuple(share / total for share in raw), in_unit(total, unit, WeightUnit.LB)


def _sd(row: Reader, parts: tuple[str, ...]) -> Shares | None:
    """Return one published standard deviation a part; a single number stands for all."""
    value = row.value.get("sd")
    if value is None:
        return None
    where = row.where("sd")
    if not isinstance(value, dict):
        return (exact(checked_number(value, 0.0001, 0.5, where)),) * len(parts)
    _same_parts(value, parts, where)
    return tuple(exact(checked_number(value[n], 0.0, 0.5, f"{where}.{n}")) for n in parts)


def _worth(row: Reader) -> Fraction | None:
    value = row.value.get("worth")
    if value is None or value == "estimate" or isinstance(value, dict):
        return None
    if isinstance(value, str):
        raise row.fail("worth", f'is {value[:40]!r}; write a number of carcasses, or "estimate".')
    return exact(row.number("worth", 0.0, 1000.0))


def _spreads(row: Reader) -> tuple[Fraction | None, Fraction | None]:
    if not isinstance(row.value.get("worth"), dict):
        return None, None
    known = Reader(row.value["worth"], "$.published.worth", ("within_sd", "between_sd"))
    within = exact(known.number("within_sd", 0.0001, 0.5))
    return within, exact(known.number("between_sd", 0.0001, 0.5))


def _tests(row: Reader, key: str, parts: tuple[str, ...], notes: list[str]) -> Iterator[Test]:
    if len(row.items(key, [])) > MOST_TESTS:
        raise row.fail(key, f"holds more than {MOST_TESTS} tests; leave the oldest out.")
    for index, (path, value) in enumerate(row.each(key, []), start=1):
        test = Reader(value, path, _TEST_KEYS)
        yield _test(test, parts, notes, f"test {index}")


def _test(row: Reader, parts: tuple[str, ...], notes: list[str], name: str) -> Test:
    unit = WeightUnit(row.choice("unit", UNITS, "lb"))
    if row.has("shares") and row.has("weights"):
        raise row.fail("weights", "is given beside shares; keep one of the two.")
    carcass = row.decimal("carcass_weight", None)
    whole = None if carcass is None else in_unit(Fraction(carcass), unit, WeightUnit.LB)
    if whole is not None and not whole:
        raise row.fail("carcass_weight", "is zero; weigh the carcass or leave the key out.")
    if row.has("weights"):
        shares, weighed = _weighed(row, parts, unit)
        if whole is not None and abs(weighed / whole - 1) > _SLACK:
            raise Contradiction(
                f"{row.where('weights')} sums to {plain(weighed / whole * 100, 1)} % of the "
                "carcass; add the part left out, the cutting loss too.",
                where=row.where("weights"),
            )
        whole = weighed
    else:
        shares = _shares(row, parts, notes)
    return Test(
        label=row.text("label", None) or name,
        path=row.path,
        shares=shares,
        whole_lb=whole,
        age_days=exact(row.number("age_days", 0.0, 100_000.0, 0.0)),
    )


def _other_shops(
    top: Reader, parts: tuple[str, ...], notes: list[str]
) -> Iterator[tuple[Shares, ...]]:
    if len(top.items("other_shops", [])) > MOST_TESTS:
        raise top.fail("other_shops", f"holds more than {MOST_TESTS} shops; leave some out.")
    for path, value in top.each("other_shops", []):
        row = Reader(value, path, ("shop", "tests"))
        row.text("shop")
        found = tuple(test.shares for test in _tests(row, "tests", parts, notes))
        if not found:
            raise row.fail("tests", "is empty; give its tests or leave the shop out.")
        yield found
