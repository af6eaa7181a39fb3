"""One board to be worked out, read from JSON: every value checked, each fault with its path."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.chalk.equation_board import Asked, Board, BoardCut, Credit, EndingRule
from collop.errors import BadValue, Contradiction
from collop.measures import Rounding, minor_places
from collop.wire import Reader, checked_decimal

__all__ = ["MOST_CREDITS", "MOST_CUTS", "MOST_ENDINGS", "SCHEMA_ID", "UNITS", "read_board"]

SCHEMA_ID = "collop.chalk/1"
UNITS = ("lb", "kg")
MOST_CUTS = 200
MOST_CREDITS = 100
MOST_ENDINGS = 100
_KEYS = ("schema", "name", "currency", "rounding", "unit", "cost", "margin", "cuts", "credits",
         "start_weight", "loss_weight", "tolerance", "endings", "pulls")  # fmt: skip
_COST = ("bought", "haulage", "labour_minutes", "labour_per_hour", "other")
_CUT = ("id", "name", "weight", "shrink", "relative", "price", "fixed", "floor", "cap", "sold",
        "extra_cost_per_unit", "answers")  # fmt: skip
#: How far weights may miss each other, as a part of the start, unless the shop says otherwise.
_SLACK = Fraction(1, 200)
_USUAL_PULL = Fraction(-1, 2)


def read_board(value: object) -> Board:
    """Read one problem of the carcass equation.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.chalk/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    currency = _currency(top)
    notes: list[str] = []
    cuts = _related(tuple(_cuts(top)), notes)
    start = _above_zero(top, "start_weight") if top.has("start_weight") else None
    extra = sum((cut.extra * cut.weight for cut in cuts), Fraction(0))
    board = Board(
        name=top.text("name", ""),
        currency=currency,
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
        unit=top.choice("unit", UNITS, "lb"),
        cost=_cost(top) + extra,
        margin=_number(top, "margin", 0.0, 0.95),
        cuts=cuts,
        credits=tuple(_credits(top)),
        start=start,
        loss=_maybe(top, "loss_weight"),
        # half a percent of the whole, unless the shop says otherwise
        tolerance=_maybe(top, "tolerance")
        if top.has("tolerance")
        else (start or 0) / Fraction(200),
        endings=_endings(top, minor_places(currency)),
        pulls=_pulls(top, cuts, minor_places(currency)),
        notes=tuple(notes),
    )
    if board.net_cost <= 0:
        raise Contradiction(
            "$.credits are worth as much as the whole cost; check their values and weights.",
            where="$.credits",
        )
    return board


def _currency(top: Reader) -> str:
    currency = top.text("currency", "USD")
    try:
        minor_places(currency)
    except BadValue as error:
        raise top.fail("currency", f"is wrong: {error.message}") from None
    return str(currency)


def _maybe(row: Reader, key: str) -> Any:  # noqa: ANN401 -- Fraction or None
    found = row.decimal(key, None)
    return None if found is None else Fraction(found)


def _above_zero(row: Reader, key: str) -> Fraction:
    found = Fraction(row.decimal(key))
    if not found:
        raise row.fail(key, "is zero; it must be more than zero.")
    return found


def _number(row: Reader, key: str, low: float, high: float) -> Fraction:
    # the decimal that was written, not the float nearest to it
    return Fraction(Decimal(str(row.number(key, low, high))))


def _rows(top: Reader, key: str, most: int, keys: tuple[str, ...]) -> Iterator[Reader]:
    if top.value.get(key) is None:
        return
    if len(top.items(key)) > most:
        raise top.fail(key, f"has more than {most} lines; join some of them.")
    for path, value in top.each(key):
        yield Reader(value, path, keys)


def _cost(top: Reader) -> Fraction:
    row = Reader(top.value.get("cost"), "$.cost", _COST)
    minutes = _maybe(row, "labour_minutes") or Fraction(0)
    if minutes and not row.has("labour_per_hour"):
        raise row.fail("labour_per_hour", "is missing beside labour_minutes; add it.")
    labour = minutes * (_maybe(row, "labour_per_hour") or 0) / 60
    rest = (_maybe(row, "haulage") or 0) + (_maybe(row, "other") or 0)
    return Fraction(row.decimal("bought")) + rest + labour


def _cuts(top: Reader) -> Iterator[BoardCut]:
    seen: set[str] = set()
    for row in _rows(top, "cuts", MOST_CUTS, _CUT):
        cut = _cut(row)
        if cut.cut_id in seen:
            raise row.fail("id", f"{cut.cut_id[:40]!r} is given twice; each cut needs its own.")
        seen.add(cut.cut_id)
        yield cut
    if not seen:
        raise top.fail("cuts", "names nothing; give at least one cut that is sold.")


def _cut(row: Reader) -> BoardCut:
    name = row.text("name", None) or row.text("id", "")
    if not name:
        raise row.fail("name", "is missing; name the cut.")
    floor, cap = _maybe(row, "floor") or Fraction(0), _maybe(row, "cap")
    if cap is not None and floor > cap:
        raise Contradiction(
            f"{row.where('floor')} is above the cap of {name[:40]}; change one of the two.",
            where=row.where("floor"),
        )
    return BoardCut(
        cut_id=row.text("id", None) or name,
        name=name,
        path=row.path,
        weight=_above_zero(row, "weight"),
        shrink=_number(row, "shrink", 0.0, 0.95) if row.has("shrink") else Fraction(0),
        # zero stands for "not given" until all cuts are known
        relative=_number(row, "relative", 0.001, 1000.0) if row.has("relative") else Fraction(0),
        present=_maybe(row, "price"),
        fixed=_maybe(row, "fixed"),
        floor=floor,
        cap=cap,
        sold=_maybe(row, "sold"),
        extra=_maybe(row, "extra_cost_per_unit") or Fraction(0),
        answers=row.flag("answers", default=True),
    )


def _related(cuts: tuple[BoardCut, ...], notes: list[str]) -> tuple[BoardCut, ...]:
    """Give every free cut a relative: its own, else from its present price."""
    free = [cut for cut in cuts if cut.fixed is None]
    without = [cut for cut in free if not cut.relative]
    if not without:
        return cuts
    scale = Fraction(1)
    if len(without) < len(free):
        both = [cut for cut in cuts if cut.relative and cut.present]
        if not both:
            raise _unrelated(without[0], "no cut has both a relative and a price to compare by")
        told = sum((cut.relative * cut.sells for cut in both), Fraction(0))
        scale = sum(((cut.present or 0) * cut.sells for cut in both), Fraction(0)) / told
    for cut in without:
        if not cut.present:
            raise _unrelated(cut, "it has no present price either")
    named = "every free cut" if len(without) == len(free) else _listed(without)
    notes.append(f"The relative of {named} is taken from its present price.")
    return tuple(
        replace(cut, relative=cut.present / scale)
        if cut.fixed is None and not cut.relative and cut.present
        else cut
        for cut in cuts
    )


def _unrelated(cut: BoardCut, why: str) -> BadValue:
    where = f"{cut.path}.relative"
    return BadValue(
        f"{where} of {cut.name[:40]!r} is missing and {why}; give its relative, its price or a "
        "fixed price.",
        where=where,
    )


def _listed(cuts: list[BoardCut]) -> str:
    names = [cut.name for cut in cuts]
    return ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")


def _credits(top: Reader) -> Iterator[Credit]:
    for row in _rows(top, "credits", MOST_CREDITS, ("name", "weight", "value_per_unit")):
        value = _maybe(row, "value_per_unit") or Fraction(0)
        yield Credit(row.text("name"), Fraction(row.decimal("weight")), value)


def _minor(value: Decimal, where: str, places: int) -> int:
    """Return an amount in whole minor units, or refuse one that is finer."""
    scaled = Fraction(value) * 10**places
    if scaled.denominator != 1:
        raise BadValue(
            f"{where} is {value}, finer than the currency; use at most {places} decimals.",
            where=where,
        )
    return int(scaled)


def _endings(top: Reader, places: int) -> EndingRule:
    """Return the shop's endings; without any, every minor unit of the currency is one."""
    if not top.has("endings"):
        return EndingRule(1)
    row = Reader(top.value["endings"], "$.endings", ("step", "of"))
    if row.has("step") == row.has("of"):
        raise row.fail("step", 'or "of" must be given, one of the two; keep one.')
    if row.has("step"):
        step = _minor(row.decimal("step"), row.where("step"), places)
        if not step:
            raise row.fail("step", "is zero; it must be more than zero.")
        return EndingRule(step)
    listed = row.items("of")
    if not 1 <= len(listed) <= MOST_ENDINGS:
        raise row.fail("of", f"holds {len(listed)} endings; give from 1 to {MOST_ENDINGS}.")
    ends: set[int] = set()
    for path, value in row.each("of"):
        found = checked_decimal(value, path)
        if found >= 1:
            raise BadValue(f"{path} is {value}; an ending is under 1, such as 0.49.", where=path)
        ends.add(_minor(found, path, places))
    return EndingRule(0, tuple(sorted(ends)))


def _pulls(top: Reader, cuts: tuple[BoardCut, ...], places: int) -> tuple[Asked, ...]:
    if not top.has("pulls"):
        # half a unit of money, rounded to what the currency has
        usual = round(_USUAL_PULL * 10**places) or -1
        return tuple(Asked(cut.cut_id, usual) for cut in cuts)
    known = {cut.cut_id for cut in cuts}
    found = []
    for row in _rows(top, "pulls", MOST_CUTS, ("id", "by")):
        cut_id = row.text("id")
        if cut_id not in known:
            raise row.fail("id", f"is {cut_id[:40]!r}, which is none of the cuts; check it.")
        found.append(Asked(cut_id, _signed(row, "by", places)))
    return tuple(found)


def _signed(row: Reader, key: str, places: int) -> int:
    value, where = row.value.get(key), row.where(key)
    text = value.strip() if isinstance(value, str) else value
    down = isinstance(text, str) and text.startswith("-")
    if isinstance(text, str) and text[:1] in {"-", "+"}:
        text = text[1:]
        if not text[:1].isdigit():
            raise row.fail(key, f"is {str(value)[:40]!r}; write a decimal such as -0.50.")
    by = _minor(checked_decimal(text, where), where, places)
    if not by:
        raise row.fail(key, "is zero; say by how much the price moves, such as -0.50.")
    return -by if down else by
