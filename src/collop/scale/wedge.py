"""What a scale types when it stands in for a keyboard.

Lines differ from scale to scale; this reads what they share: one number, a unit, and words or
letters for stability and for net or gross. That such a line is sent by the scale's print key or
when it has come to rest, and so is stable unless it says otherwise, is common practice, no
published source; the sentence of the reading tells when nothing was said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NoReturn

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, parse_weight
from collop.scale.readings import Reading, State, exact_weight, reading_of, trouble

__all__ = ["read_line", "read_weighed"]

_LONGEST = 64
_UNITS = {
    "lb": WeightUnit.LB, "lbs": WeightUnit.LB, "oz": WeightUnit.OZ,
    "kg": WeightUnit.KG, "kgs": WeightUnit.KG, "g": WeightUnit.G, "gm": WeightUnit.G,
}  # fmt: skip
_MEANINGS = {
    "st": "stable", "s": "stable", "stable": "stable",
    "us": "moving", "u": "moving", "m": "moving", "unstable": "moving", "moving": "moving",
    "motion": "moving", "?": "moving",
    "n": "net", "nt": "net", "net": "net",
    "g": "gross", "gs": "gross", "gr": "gross", "gross": "gross",
    "t": "tare", "tr": "tare", "tare": "tare",
    "z": "zero", "zero": "zero",
    "ol": "over", "over": "over", "overload": "over",
    "ul": "under", "under": "under", "underload": "under",
    "err": "fault", "error": "fault", "fault": "fault",
}  # fmt: skip
_ENDS = {"over": State.OVER_LIMIT, "under": State.UNDER_ZERO, "fault": State.FAULT}
_NUMBER = re.compile(
    # the looks around keep a number whole, with its sign: 1.2.3 and 12-34 are no weights
    r"(?<!\d)(?<!\d[.,])(?=[+-]?[ ]*[.,]?\d)(?P<sign>[+-]?)[ ]*(?P<whole>\d{0,7})"
    r"(?:(?P<mark>[.,])(?P<decimals>\d{1,6}))?(?!\d|[.,-]\d)(?:[ ]*(?P<unit>[a-z]+)(?![a-z]))?",
    re.ASCII,
)
_FRAME = "\x02\x03\r\n\t "


@dataclass(frozen=True, slots=True)
class _Number:
    amount: Fraction
    unit: WeightUnit
    is_under: bool


def read_line(text: str, default: WeightUnit | None = None) -> Reading:
    """Read one line as a scale types it.

    Parameters
    ----------
    text : str
        The line, with or without its line end; at most 64 characters.
    default : WeightUnit, optional
        Unit of a line that names none; left out, such a line is refused.

    Raises
    ------
    BadValue
        If there is no number or more than one, no unit, a word nobody knows, two words that
        contradict each other, or if it is the weight of the tare.

    Examples
    --------
    >>> read_line("ST,GS,+ 12.345kg").sentence
    '12.345 kg gross; take off the tare.'
    >>> read_line("US,NT,  0,485kg").state
    <State.MOVING: 'moving'>
    """
    line = text.strip(_FRAME).lower()
    if not line or len(line) > _LONGEST or not line.isprintable():
        _refuse(line)
    found = list(_NUMBER.finditer(line))
    if len(found) > 1:
        raise BadValue(f"{line!r} holds more than one number; let the scale send the weight alone.")
    if not found and not any(_MEANINGS.get(word) in _ENDS for word in _words(line)):
        _refuse(line)
    meanings = _meanings(_around(line, found[0]) if found else line, line)
    for meaning, state in _ENDS.items():
        if meaning in meanings:
            return trouble(state)
    return _weighed(_number(line, found[0], default), meanings, line)


def read_weighed(text: str, default: WeightUnit) -> Weight:
    """Return the weight that a person or a scale typed into a field.

    Parameters
    ----------
    text : str
        As people write it (``2 lb 12 oz``) or as a scale types it (``ST,NT,+ 1.250kg``).
    default : WeightUnit
        Unit of a bare number.

    Raises
    ------
    BadValue
        If it is no weight, over 2000 kg, or the scale was not at rest or in trouble.

    Examples
    --------
    >>> [read_weighed(text, WeightUnit.LB).text() for text in ("2 lb 12 oz", "N 4.85LB", "3.2")]
    ['2.75 lb', '4.85 lb', '3.20 lb']
    """
    try:
        weight = parse_weight(text, default)
    except BadValue as by_hand:
        try:
            reading = read_line(text, default)
        except BadValue:
            raise by_hand from None
        if reading.weight is None or not reading.stable:
            raise BadValue(reading.sentence) from None
        return reading.weight
    return exact_weight(weight.exact(weight.unit), weight.unit)


def _refuse(line: str) -> NoReturn:
    raise BadValue(f"{line[:_LONGEST]!r} is no weight from a scale; send it like 9.94 lb.")


def _around(line: str, found: re.Match[str]) -> str:
    """Return what stands around the number and its unit; a word that is no unit stays."""
    end = found.end()
    if found["unit"] and found["unit"] not in _UNITS:
        end = found.start("unit")
    return f"{line[: found.start()]} {line[end:]}"


def _number(line: str, found: re.Match[str], default: WeightUnit | None) -> _Number:
    named = _UNITS.get(found["unit"] or "")
    unit = named or default
    if unit is None:
        raise BadValue(f"{line!r} names no unit; let the scale send lb, oz, kg or g.")
    if found["mark"] == "," and len(found["decimals"]) == 3 and not _is_decimal(found, named):
        raise BadValue(f"{line!r} may mean thousands or thousandths; let the scale send a point.")
    amount = Fraction(f"{found['whole'] or '0'}.{found['decimals'] or '0'}")
    return _Number(amount, unit, found["sign"] == "-" and amount > 0)


def _is_decimal(found: re.Match[str], named: WeightUnit | None) -> bool:
    """Tell whether a comma before three digits can only be a decimal one."""
    # kilograms come with three decimals, and nothing at a counter weighs a thousand of them
    return named is WeightUnit.KG or not found["whole"].strip("0")


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[\s,;:]+", text) if word]


def _meanings(rest: str, line: str) -> set[str]:
    words = _words(rest)
    for word in words:
        if word not in _MEANINGS:
            raise BadValue(
                f"{word!r} in {line!r} is not known here; let the scale send weight and unit."
            )
    meanings = {_MEANINGS[word] for word in words}
    if {"stable", "moving"} <= meanings or {"net", "gross"} <= meanings:
        raise BadValue(f"{line!r} says two things that cannot both be; weigh again.")
    return meanings


def _weighed(number: _Number, meanings: set[str], line: str) -> Reading:
    if "tare" in meanings:
        raise BadValue(f"{line!r} is the weight of the tare; let the scale send the net weight.")
    if number.is_under:
        return trouble(State.UNDER_ZERO)
    if "zero" in meanings and number.amount:
        raise BadValue(f"{line!r} says zero and sends a weight; weigh again.")
    weight = exact_weight(number.amount, number.unit)
    note = "" if meanings & {"stable", "zero"} else "; the scale did not say that it was at rest"
    if "gross" in meanings:
        note = " gross; take off the tare"
    return reading_of(weight, moving="moving" in meanings, note=note)
