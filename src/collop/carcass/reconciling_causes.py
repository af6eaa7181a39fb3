"""Why weights do not close: the usual slips at the bench, ranked by how well each explains the gap.

Each named slip says by how much which reading would be wrong; the sums are tested again as if it
were put right.  Some slips have a size of their own (a tub's tare, a part's own weight, two digits
swapped), others could have any.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import combinations

from collop.carcass.cuttingtest_amounts import in_unit, plain
from collop.carcass.reconciling_chance import limit_of
from collop.carcass.reconciling_likelihood import Cause, free_size, ranked
from collop.carcass.reconciling_solving import Solved, Sums
from collop.carcass.reconciling_tree import Balance, Piece, Tare, Usual
from collop.measures import WeightUnit, decimal_of

__all__ = ["causes"]

MOST_CAUSES = 6
_MOST_ABSENT = 6
#: A loss up to this share of the whole may be a loss line that was left out.
_LOSS_AT_MOST = Fraction(3, 100)
_DEEPEST_PLACE = 6
#: What speaks against a slip seen less often than others of its kind, and against a part missing
#: where every usual one is there; common practice, no published source.
_ODD = 3.0
_NONE_ABSENT = 6.0
#: Two digits swapped that change a weight by more than this share are seen at once.
_SEEN_AT_ONCE = Fraction(3, 10)
#: A missing weight this near to what a part usually weighs names that part.
_NEAR = Fraction(3, 10)
_OTHER_UNIT = {
    WeightUnit.LB: WeightUnit.KG,
    WeightUnit.KG: WeightUnit.LB,
    WeightUnit.OZ: WeightUnit.G,
    WeightUnit.G: WeightUnit.OZ,
}


def causes(balance: Balance, sums: Sums, solved: Solved) -> tuple[Cause, ...]:
    """Return the likely slips, the likeliest first; empty if the sums were not tested."""
    if not solved.freedom:
        return ()
    limit = limit_of(balance.significance, solved.freedom)
    every = [*_sized(balance, sums, solved), *_left_out(balance, sums, solved)]
    every = ranked([*every, *_weigh_again(balance, sums, solved)])
    fitting = [one for one in every if one.left <= limit]
    if not fitting:  # two slips at once: what explains most of it
        fitting = sorted(every, key=lambda one: one.left)[:1]
    told = {(one.kind, one.path): one for one in reversed(fitting)}
    return tuple(one for one in fitting if told[one.kind, one.path] is one)[:MOST_CAUSES]


def _text(weight: Fraction, balance: Balance) -> str:
    return f"{plain(weight, _places(balance.step))} {balance.unit}"


def _places(step: Fraction) -> int:
    places = 0
    while places < _DEEPEST_PLACE and (step * 10**places).denominator != 1:
        places += 1
    return places


def _parents(sums: Sums) -> dict[int, int]:
    """Return the place of the whole that each piece is a part of."""
    return {
        number: place
        for place, row in enumerate(sums.rows)
        for number, sign in row.items()
        if sign > 0 and number < len(sums.pieces)
    }


def _sized(balance: Balance, sums: Sums, solved: Solved) -> Iterator[Cause]:
    """Yield the slips that have a size of their own."""
    parents = _parents(sums)
    for number, piece in enumerate(sums.pieces):
        if not piece.weight or number not in solved.pull:
            continue
        for kind, say, shift, against in _slips(balance, piece, piece.weight):
            left = solved.without(number, float(shift))
            yield Cause(
                kind=kind,
                say=say,
                size=abs(shift),
                path=piece.path,
                left=left,
                against=against,
            )
        # the uncut parts of one whole cannot be told apart by its sum
        at = piece if piece.parts else sums.pieces[sums.wholes[parents[number]]]
        for tare in balance.tares:
            left = solved.without(number, float(tare.weight))
            yield _untared(balance, at, tare, left, itself=at is piece)
        if number in parents:
            column = sums.left_out(parents[number])
            if column in solved.pull:
                say = (
                    f"{_text(piece.weight, balance)} too much, just the {piece.name}: was it "
                    "weighed twice?"
                )
                left = solved.without(column, float(piece.weight))
                yield Cause(kind="twice", say=say, size=piece.weight, path=piece.path, left=left)


def _untared(balance: Balance, at: Piece, tare: Tare, left: float, *, itself: bool) -> Cause:
    """Return a tare left under `at` itself, or under one of its parts."""
    size = _text(tare.weight, balance)
    if itself:
        say = f"The {tare.name} ({size}) under the {at.name} was not tared: take it off."
    else:
        say = (
            f"The parts of the {at.name} weigh {size} too much, just the {tare.name}: was it tared?"
        )
    # a whole hangs on the rail: a tub under it is rare
    against = _ODD if itself else 0.0
    return Cause(kind="tare", say=say, size=tare.weight, path=at.path, left=left, against=against)


def _slips(
    balance: Balance, piece: Piece, reading: Fraction
) -> Iterator[tuple[str, str, Fraction, float]]:
    """Yield (kind, sentence, by how much the reading is too high, what speaks against it)."""
    shown = _text(reading, balance)
    for other in _swapped(reading, balance.step):
        say = (
            f"{shown} for the {piece.name} may be {_text(other, balance)} with two digits swapped: "
            "look again."
        )
        bold = abs(reading - other) > reading * _SEEN_AT_ONCE
        yield "digits", say, reading - other, _ODD if bold else 0.0
    other_unit = _OTHER_UNIT[balance.unit]
    read = in_unit(reading, other_unit, balance.unit)
    say = f"{shown} for the {piece.name} may have been {other_unit}: {_text(read, balance)}."
    yield "unit", say, reading - read, 0.0
    turned = in_unit(reading, balance.unit, other_unit)
    say = (
        f"{shown} for the {piece.name} may be {_text(turned, balance)}, turned from {other_unit} "
        "once too often."
    )
    yield "unit", say, reading - turned, _ODD
    for true in (reading * 10, reading / 10):
        say = (
            f"{shown} for the {piece.name} may have its point one place off: "
            f"{_text(true, balance)}."
        )
        yield "point", say, reading - true, 0.0


def _swapped(reading: Fraction, step: Fraction) -> Iterator[Fraction]:
    """Yield the reading with two neighbouring digits swapped, down to its last digit."""
    places = _places(step)
    figure = decimal_of(reading, places)
    if Fraction(figure) != reading:
        return
    while places and figure == figure.quantize(Decimal(1).scaleb(1 - places)):
        places -= 1
        figure = decimal_of(reading, places)
    digits = str(int(figure.scaleb(places)))
    for at in range(len(digits) - 1):
        one, two = digits[at], digits[at + 1]
        if one != two:
            swapped = digits[:at] + two + one + digits[at + 2 :]
            yield Fraction(int(swapped), 10**places)


def _left_out(balance: Balance, sums: Sums, solved: Solved) -> Iterator[Cause]:
    """Yield, for each whole, what may be missing or too much under it, in any size."""
    for place, number in enumerate(sums.wholes):
        column = sums.left_out(place)
        shift = solved.best_shift(column)
        if shift is None:
            continue
        whole = sums.pieces[number]
        size = _on_step(abs(shift), balance.step)
        left = solved.without(column, shift)
        if not size or left >= solved.chi_square:
            continue
        if shift < 0:
            yield _missing(balance, whole, size, left, solved.stiffness[column])
        else:
            yield _too_much(balance, whole, size, left, solved.stiffness[column])


def _on_step(weight: float, step: Fraction) -> Fraction:
    return round(Fraction(weight) / step) * step


def _missing(
    balance: Balance, whole: Piece, size: Fraction, left: float, stiffness: float
) -> Cause:
    base = whole.weight or size
    if whole.loss is None and size <= base * _LOSS_AT_MOST:
        say = (
            f"{_text(size, balance)} ({plain(size / base * 100, 1)} %) of the {whole.name} is "
            "missing and no cutting loss is carried: give the loss its own line."
        )
        return Cause(kind="loss", say=say, size=size, path=whole.path, left=left)
    absent = _absent(balance, whole)
    sets = _together(balance, absent)
    usual = _of_that_weight(absent, sets, size)
    asked = f"is the {' or the '.join(usual)} still to be weighed" if usual else "what was left out"
    against = free_size(float(size), stiffness, float(base), [float(w) for w, _ in sets])
    return Cause(
        kind="missing",
        say=f"{_text(size, balance)} of the {whole.name} is missing: {asked}?",
        size=size,
        path=whole.path,
        left=left,
        against=against if absent else against + _NONE_ABSENT,
    )


def _absent(balance: Balance, whole: Piece) -> list[Usual]:
    """Return the usual parts that are not there."""
    words = {word for part in whole.parts for word in part.name.lower().split()}
    found = []
    for usual in balance.usual_parts:
        key = next(iter(usual.name.lower().split()), "")
        if not {key, f"{key}s", f"{key}mings"} & words:
            found.append(usual)
    return found


def _together(balance: Balance, absent: list[Usual]) -> list[tuple[Fraction, str]]:
    """Return what each set of absent parts usually weighs, with its name."""
    known = [(one.name, one.weight) for one in absent if one.weight][:_MOST_ABSENT]
    found = []
    for count in range(1, len(known) + 1):
        for chosen in combinations(known, count):
            weight = sum((one for _, one in chosen), Fraction(0))
            names = " and the ".join(name for name, _ in chosen)
            together = " together" if count > 1 else ""
            found.append((weight, f"{names} (usually {_text(weight, balance)}{together})"))
    return found


def _of_that_weight(
    absent: list[Usual], sets: list[tuple[Fraction, str]], size: Fraction
) -> list[str]:
    """Return the sets of parts of about that weight, the nearest two; all parts if none is."""
    near = sorted((abs(size / weight - 1), text) for weight, text in sets)
    return [text for miss, text in near if miss <= _NEAR][:2] or [one.name for one in absent]


def _too_much(
    balance: Balance, whole: Piece, size: Fraction, left: float, stiffness: float
) -> Cause:
    say = (
        f"The parts of the {whole.name} weigh {_text(size, balance)} too much: was a tub or pan "
        "not tared, or a part weighed twice?"
    )
    base = whole.weight or size
    against = free_size(float(size), stiffness, float(base))
    return Cause(kind="too-much", say=say, size=size, path=whole.path, left=left, against=against)


def _weigh_again(balance: Balance, sums: Sums, solved: Solved) -> Iterator[Cause]:
    """Yield the readings that stand in two sums: where both miss alike, that one is wrong."""
    for number, piece in enumerate(sums.pieces):
        shift = solved.best_shift(number)
        if not number or not piece.parts or piece.weight is None or shift is None:
            continue
        true = _on_step(max(0.0, float(piece.weight) - shift), balance.step)
        size, left = abs(piece.weight - true), solved.without(number, shift)
        if size and left < solved.chi_square:
            yield Cause(
                kind="reweigh",
                say=(
                    f"Weigh the {piece.name} again: {_text(true, balance)} instead of "
                    f"{_text(piece.weight, balance)} would fit the other weights."
                ),
                size=size,
                path=piece.path,
                left=left,
                against=free_size(float(size), solved.stiffness[number], float(piece.weight)),
            )
