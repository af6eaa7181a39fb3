"""Locking a day: what was counted and done, what is still open, and what the stock is worth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from sqlalchemy import insert

from collop.errors import BadValue, WrongState
from collop.measures import Money, Weight, WeightUnit, minor_places, round_fraction
from collop.shop.acts import Act
from collop.shop.audit_chain import newest_seal
from collop.shop.booking import note_event
from collop.shop.case import board_value, load_case
from collop.shop.costing import known_costs
from collop.shop.lockup_model import WORDS, LockedLine, LockLine, LockUp
from collop.shop.lockup_notes import lock_of, note
from collop.shop.lockup_ways import money_at
from collop.shop.model import CaseLine, Settings
from collop.shop.quotes import number_in
from collop.shop.week_tables import lock_ups

__all__ = ["LOCKED_UP", "lock", "stock_value"]

#: What the diary of a booking says of the word that was given at lock-up.
LOCKED_UP = "lock-up"
_LONGEST_NOTE = 400
_PLACES = 3
_MOVED = ("carry", "convert", "freeze", "bin")


def stock_value(act: Act, lines: Iterable[CaseLine]) -> dict[str, Any]:
    """Return what the case is worth at the board and at cost, and the share whose cost is known."""
    chosen = act.settings
    there = list(lines)
    costs = known_costs(act.conn, chosen)
    cost, known, whole = Fraction(0), Fraction(0), 0
    for line in there:
        whole += line.on_hand.count
        one = costs.get(line.id)
        if one is not None:
            cost += one.exact * one.known * line.on_hand.count
            known += one.known * line.on_hand.count
    share = known / whole if whole else Fraction(1)
    return {
        "at_board": str(board_value(there, chosen).on_hand),
        "at_cost": str(Money(round_fraction(cost, chosen.rounding), chosen.currency)),
        "cost_known_pct": float(round(share * 100, 1)),
    }


def _lb(weight: Weight, unit: WeightUnit) -> str:
    return str(weight.decimal(unit, _PLACES))


def _line_facts(line: LockLine, chosen: Settings) -> dict[str, Any] | None:
    """Return what is written down of one counted line; None if it was not counted."""
    counted = line.counted
    if counted is None or counted.gap is None or counted.counted is None:
        return None
    unit = chosen.legal_unit
    cost = None if line.cost is None else money_at(counted.gap, line.cost, chosen)
    return {
        "case_id": line.case_id,
        "name": line.name,
        "expected": _lb(counted.expected, unit),
        "counted": _lb(counted.counted, unit),
        "gap": _lb(counted.gap, unit),
        "gap_at_board": str(money_at(counted.gap, line.price, chosen)),
        "gap_at_cost": None if cost is None else str(cost),
        "why": counted.why,
    }


def _moved(
    entries: Iterable[LockedLine], lines: Mapping[str, LockLine], act: Act
) -> dict[str, Any]:
    """Return weight and money at the board of what was carried, converted, frozen and binned."""
    weights: dict[str, int] = defaultdict(int)
    money: dict[str, Fraction] = defaultdict(Fraction)
    scale = 10 ** minor_places(act.settings.currency)
    for one in entries:
        if one.what in _MOVED and one.weight is not None:
            weights[one.what] += one.weight.count
            price = lines[one.case_id].price
            money[one.what] += one.weight.exact(price.per) * Fraction(price.amount) * scale
    unit = act.settings.legal_unit
    return {
        what: {
            "weight": _lb(Weight(weights[what], unit), unit),
            "at_board": str(Money(round_fraction(money[what], act.settings.rounding),
                                  act.settings.currency)),
        }
        for what in _MOVED
    }  # fmt: skip


def _words_of(sheet: LockUp, words: Mapping[str, str]) -> list[dict[str, str]]:
    """Return each booking that is still open with the word that is said of it.

    Raises
    ------
    BadValue
        At the first one without a word; `where` is ``word-`` and its id.
    """
    found = []
    for one in sheet.open_bookings:
        word = words.get(one.id, "")
        if word not in WORDS:
            raise BadValue(
                f"{one.id}, {one.name}, was due {one.collect_at:%a %H:%M} and was not handed over:"
                f" say {', '.join(WORDS[:-1])} or {WORDS[-1]}.",
                where=f"word-{one.id}",
            )
        found.append({"booking": one.id, "name": one.name, "word": word,
                      "total": str(one.total)})  # fmt: skip
    return found


def lock(act: Act, sheet: LockUp, *, note_: str, words: Mapping[str, str]) -> int:
    """Lock a day; return the number of its lock-up. Lines that were not counted are skipped.

    Raises
    ------
    WrongState
        If the day is locked already.
    BadValue
        If a booking that was due has no word, or the note is too long.
    """
    before = lock_of(act.conn, sheet.day)
    if before is not None:
        raise WrongState(f"{sheet.day:%a %d %b} was locked at {before.at:%H:%M}, on"
                         f" {before.at:%a %d %b}; what comes now is told as after it.")  # fmt: skip
    if len(note_) > _LONGEST_NOTE:
        raise BadValue(f"Note: write at most {_LONGEST_NOTE} letters.", where="note")
    said = _words_of(sheet, words)
    for line in sheet.lines:
        if not line.is_done:
            note(act, sheet.day, line.case_id, "skip", expected=line.expected,
                 at_risk=line.at_risk, why="not counted at lock-up")  # fmt: skip
    for one, told in zip(sheet.open_bookings, said, strict=True):
        # in its diary too: who looks at the booking sees what was said of it that night
        note_event(act, number_in("H", one.id, "booking"), LOCKED_UP, one.state,
                   f"{sheet.day:%a %d %b}: {told['word']}")  # fmt: skip
    facts = _facts(act, sheet, said) | stock_value(act, load_case(act.conn, act.at, act.settings))
    key = act.conn.execute(
        insert(lock_ups).values(day=sheet.day, facts=facts, note=note_.strip(), at=act.at,
                                by_id=act.by, key=act.key)
    ).inserted_primary_key  # fmt: skip
    assert key is not None
    return int(key[0])


def _facts(act: Act, sheet: LockUp, said: list[dict[str, str]]) -> dict[str, Any]:
    chosen, lines = act.settings, {line.case_id: line for line in sheet.lines}
    counted = [told for line in sheet.lines if (told := _line_facts(line, chosen)) is not None]
    entries = [one for line in sheet.lines for one in line.entries]
    minor = sum(Money.of(one["gap_at_board"], chosen.currency).minor for one in counted)
    return {
        "unit": chosen.legal_unit.value,
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "at_risk": str(sheet.at_risk),
        "counted": counted,
        "gap_at_board": str(Money(minor, chosen.currency)),
        "skipped": [line.case_id for line in sheet.lines if line.counted is None],
        **_moved(entries, lines, act),
        "open_bookings": said,
        "coming": [{"booking": one.id, "name": one.name,
                    "collect_at": one.collect_at.isoformat(), "total": str(one.total)}
                   for one in sheet.coming],
        "unpaid": [{"booking": number, "name": name, "open": str(money)}
                   for number, name, money in sheet.unpaid],
        "owed": [{"booking": number, "name": name, "to_give_back": str(money)}
                 for number, name, money in sheet.owed],
        "day_book_gaps": [f"{one.due:%H:%M} {one.name}: {one.words}" for one in sheet.gaps],
        # written down at night, it shows later whether the log was changed
        "seal": newest_seal(act.conn),
    }  # fmt: skip
