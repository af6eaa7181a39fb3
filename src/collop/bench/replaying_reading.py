"""Read the JSON of a replay, or say in one sentence what is wrong, where, and what to do."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from fractions import Fraction

from collop.bench.reading_parts import (
    decimal_text,
    known,
    label,
    lines,
    minutes,
    money,
    name_of,
    number,
    share,
    weight,
    whole,
)
from collop.bench.replaying_problem import (
    Break,
    Change,
    Cut,
    CutDay,
    Day,
    Lot,
    Part,
    Piece,
    ReplayProblem,
    Style,
)
from collop.errors import BadValue, Contradiction
from collop.measures import Rounding, decimal_of
from collop.wire import Reader

__all__ = [
    "MOST_CUTS", "MOST_DAYS", "MOST_KEEPS", "MOST_LOTS", "MOST_PARTS", "MOST_PIECES",
    "MOST_STYLES", "SCHEMA_ID", "UNITS", "read_replay",
]  # fmt: skip

SCHEMA_ID = "collop.replay/1"
UNITS = ("lb", "kg")
MOST_DAYS, MOST_CUTS, MOST_PIECES, MOST_STYLES = 14, 200, 200, 60
MOST_PARTS, MOST_LOTS, MOST_KEEPS = 100, 60, 3650
_KEYS = ("schema", "name", "currency", "rounding", "unit", "days", "per_hour", "cuts", "pieces",
         "changes")  # fmt: skip
_CUT_KEYS = ("id", "name", "price", "keeps_days", "left_worth", "usual", "stock", "days")
_DAY_KEYS = ("sold", "money", "booked", "booked_money", "booked_short", "binned", "other_in",
             "other_out", "sold_out")  # fmt: skip
_PIECE_KEYS = ("tag", "name", "weights", "worth_left", "styles", "actual")
_ACTUAL_KEYS = ("style", "name", "day", "minutes", "parts")


def read_replay(data: object) -> ReplayProblem:
    """Read one replay.

    Parameters
    ----------
    data : object
        Parsed JSON of the ``collop.replay/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value, in one sentence.
    """
    top = Reader(data, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    days = _days(top)
    cuts = _cuts(top, days)
    pieces = _pieces(top, cuts, len(days))
    return ReplayProblem(
        name=name_of(top, "name", ""),
        currency=top.currency(),
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
        unit=top.choice("unit", UNITS, UNITS[0]),
        days=days,
        per_hour=money(top, "per_hour", "0"),
        cuts=cuts,
        pieces=pieces,
        changes=_changes(top, pieces),
    )


def _days(top: Reader) -> tuple[Day, ...]:
    found: list[Day] = []
    for row in lines(top, "days", ("day", "open"), MOST_DAYS):
        text = str(row.text("day"))
        try:
            here = date.fromisoformat(text)
        except ValueError:
            raise row.fail("day", f"is {text[:40]!r}; write a date as 2026-06-13.") from None
        if found and here - found[-1].date != timedelta(days=1):
            raise row.fail("day", f"is {here}; it must be the day after {found[-1].date}.")
        found.append(Day(here, row.flag("open", default=True)))
    if not found:
        raise top.fail("days", f"is empty; give from 1 to {MOST_DAYS} days.")
    return tuple(found)


# cuts


def _cuts(top: Reader, days: tuple[Day, ...]) -> dict[str, Cut]:
    seen: set[str] = set()
    return {
        one.id: one
        for one in (_cut(row, seen, days) for row in lines(top, "cuts", _CUT_KEYS, MOST_CUTS))
    }


def _cut(row: Reader, seen: set[str], days: tuple[Day, ...]) -> Cut:
    key = label(row, "id", seen)
    rows = tuple(_cut_day(one) for one in lines(row, "days", _DAY_KEYS, MOST_DAYS))
    if len(rows) != len(days):
        raise row.fail("days", f"has {len(rows)} lines; give one for each of the {len(days)} days.")
    stock = tuple(
        Lot(weight(one, "weight", least="0"), whole(one, "days_left", 0, MOST_KEEPS))
        for one in lines(row, "stock", ("weight", "days_left"), MOST_LOTS)
    )
    usual = _weight_of(row, "usual") if row.has("usual") else None
    return Cut(
        id=key,
        name=name_of(row, "name", "") or key,
        price=money(row, "price"),
        keeps_days=whole(row, "keeps_days", 0, MOST_KEEPS),
        left_worth=money(row, "left_worth", "0"),
        usual=usual,
        stock=stock,
        days=rows,
    )


def _weight_of(row: Reader, key: str) -> Fraction:
    """Return a weight of zero or more; zero if it is left out."""
    return weight(row, key, least="0") if row.has(key) else Fraction(0)


def _cut_day(row: Reader) -> CutDay:
    return CutDay(
        sold=_weight_of(row, "sold"),
        money=money(row, "money", "0"),
        booked=_weight_of(row, "booked"),
        booked_money=money(row, "booked_money", "0"),
        booked_short=_weight_of(row, "booked_short"),
        binned=_weight_of(row, "binned"),
        other_in=_weight_of(row, "other_in"),
        other_out=_weight_of(row, "other_out"),
        sold_out=number(row, "sold_out", 0.0, 1.0, None),
    )


# pieces


def _pieces(top: Reader, cuts: Mapping[str, Cut], days: int) -> dict[str, Piece]:
    seen: set[str] = set()
    rows = lines(top, "pieces", _PIECE_KEYS, MOST_PIECES)
    return {one.tag: one for one in (_piece(row, seen, cuts, days) for row in rows)}


def _piece(row: Reader, seen: set[str], cuts: Mapping[str, Cut], days: int) -> Piece:
    tag = label(row, "tag", seen)
    weights = _weights(row, days)
    styles: set[str] = set()
    ways = tuple(
        _style(one, styles, cuts)
        for one in lines(row, "styles", ("id", "name", "minutes", "parts"), MOST_STYLES)
    )
    actual = None
    if row.has("actual"):
        actual = _actual(Reader(row.value["actual"], row.where("actual"), _ACTUAL_KEYS), cuts, days)
        if weights[actual.day] is None:
            raise row.fail(
                "weights", f"has none on day {actual.day}, on which it was cut; give that weight."
            )
    return Piece(
        tag=tag,
        name=name_of(row, "name", ""),
        weights=weights,
        worth_left=money(row, "worth_left", "0"),
        styles=ways,
        actual=actual,
    )


def _weights(row: Reader, days: int) -> tuple[Fraction | None, ...]:
    found = row.items("weights")
    if len(found) != days:
        raise row.fail("weights", f"has {len(found)} values; give one (or null) for each day.")
    return tuple(
        None if value is None else _positive(value, f"{row.where('weights')}[{at}]")
        for at, value in enumerate(found)
    )


def _positive(value: object, where: str) -> Fraction:
    found = decimal_text(value, where, high="100000", places=3)
    if not found:
        raise BadValue(
            f"{where} is zero; write null for a day on which it did not hang.", where=where
        )
    return found


def _part(row: Reader, cuts: Mapping[str, Cut], amount: Fraction) -> Part:
    if row.has("cut") == row.has("worth"):
        raise row.fail("cut", "or worth: one of them must be given.")
    if row.has("cut"):
        key = known(row, "cut", cuts, "cut", "$.cuts")
        return Part(key, cuts[key].name, Fraction(0), amount)
    return Part("", name_of(row, "name", "by-product") or "by-product", money(row, "worth"), amount)


def _style(row: Reader, seen: set[str], cuts: Mapping[str, Cut]) -> Style:
    key = label(row, "id", seen)
    rows = lines(row, "parts", ("cut", "worth", "name", "share"), MOST_PARTS)
    parts = tuple(_part(one, cuts, share(one, "share", above_zero=True)) for one in rows)
    total = sum((one.amount for one in parts), Fraction(0))
    if not parts or total > 1:
        said = "is empty" if not parts else f"has shares that come to {decimal_of(total, 4)}"
        raise row.fail("parts", f"{said}; give shares of at most 1 together, the rest is loss.")
    return Style(key, name_of(row, "name", "") or key, minutes(row, "minutes", "0"), parts)


def _actual(row: Reader, cuts: Mapping[str, Cut], days: int) -> Break:
    rows = lines(row, "parts", ("cut", "worth", "name", "weight"), MOST_PARTS)
    style = label(row, "style")
    return Break(
        style=style,
        name=name_of(row, "name", "") or style,
        day=whole(row, "day", 0, days - 1),
        minutes=minutes(row, "minutes", "0"),
        parts=tuple(_part(one, cuts, weight(one, "weight", least="0")) for one in rows),
    )


# changes


def _changes(top: Reader, pieces: Mapping[str, Piece]) -> tuple[Change, ...]:
    seen: set[str] = set()
    return tuple(
        _change(row, seen, pieces)
        for row in lines(top, "changes", ("tag", "style", "day"), MOST_PIECES)
    )


def _change(row: Reader, seen: set[str], pieces: Mapping[str, Piece]) -> Change:
    tag = label(row, "tag", seen)
    if tag not in pieces:
        raise row.fail("tag", f"is {tag[:40]!r}, which did not hang; add it to $.pieces.")
    piece = pieces[tag]
    if not row.has("style"):
        if row.has("day"):
            raise row.fail("style", "is missing beside a day; name one, or leave both out.")
        return Change(tag, None, None)
    style = label(row, "style")
    ways = {one.id for one in piece.styles} | ({piece.actual.style} if piece.actual else set())
    if style not in ways:
        raise row.fail("style", f"is {style[:40]!r}, which is no style of {tag[:40]}; name one.")
    day = whole(row, "day", 0, len(piece.weights) - 1) if row.has("day") else None
    if day is None and piece.actual is None:
        raise row.fail("day", f"is missing: {tag[:40]} was not cut in those days; name one.")
    day = piece.actual.day if day is None and piece.actual is not None else day
    assert day is not None
    if piece.weights[day] is None:
        raise Contradiction(
            f"{row.where('day')} is {day}, on which {tag[:40]} did not hang; choose another day.",
            where=row.where("day"),
        )
    return Change(tag, style, day)
