"""Weighted least squares on a tree of sums.

    min  sum (x_i - m_i)^2 / s_i^2    over what was weighed, and the losses
    s.t. parts + loss - whole = 0     for every whole
         x >= 0

    x = m - V A' (A V A')^-1 A m,     V = diag(s^2)

What was not weighed is first eliminated from the sums, exactly.  The test figure
(A m)' (A V A')^-1 (A m) is chi-square with as many degrees of freedom as sums are left.

References
----------
.. [1] Data reconciliation with linear constraints and the global test of its residuals: standard,
   quoted from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from collop.carcass.reconciling_tree import Piece
from collop.errors import BadValue

__all__ = ["Solved", "Sums", "solve", "sums_of"]

Row = dict[int, Fraction]


@dataclass(frozen=True, slots=True)
class Sums:
    """The sums of a tree over numbered things.

    Parameters
    ----------
    pieces : tuple of Piece
        Numbered from 0, a whole before its parts.
    wholes : tuple of int
        The pieces with parts; loss k has the number ``len(pieces) + k``, and a part that was left
        out of whole k would have ``len(pieces) + len(wholes) + k``.
    rows : tuple of dict
        For each whole: number -> +1 for parts, loss and what was left out, -1 for the whole.
    readings, sds : tuple of Fraction or None
        By number; None where nothing was weighed or no loss is carried.
    """

    pieces: tuple[Piece, ...]
    wholes: tuple[int, ...]
    rows: tuple[Row, ...]
    readings: tuple[Fraction | None, ...]
    sds: tuple[Fraction | None, ...]

    def loss(self, whole: int) -> int:
        """Return the number of the loss of the whole at place `whole`."""
        return len(self.pieces) + whole

    def left_out(self, whole: int) -> int:
        """Return the number of what may have been left out of the whole at place `whole`."""
        return len(self.pieces) + len(self.wholes) + whole


@dataclass(frozen=True, slots=True)
class Solved:
    """Best estimates and what is needed to ask which reading is wrong.

    Parameters
    ----------
    estimates : tuple of float
        By number; a loss that is not carried is 0.
    chi_square : float
        Before any estimate was held at zero.
    freedom : int
        Independent sums that were left.
    pull, stiffness : dict of int to float
        For each number: b and c of ``chi_square - 2 h b + h^2 c``, the figure if that reading
        were h lower.
    """

    estimates: tuple[float, ...]
    chi_square: float
    freedom: int
    pull: dict[int, float]
    stiffness: dict[int, float]

    def without(self, number: int, shift: float) -> float:
        """Return the test figure if the reading `number` were `shift` lower."""
        changed = self.chi_square - 2 * shift * self.pull[number]
        return max(0.0, changed + shift * shift * self.stiffness[number])

    def best_shift(self, number: int) -> float | None:
        """Return by how much a reading is most likely too high; None if no sum tells."""
        stiff = self.stiffness.get(number, 0.0)
        return self.pull[number] / stiff if stiff > 0 else None


def sums_of(root: Piece) -> Sums:
    """Return the sums of a tree, its pieces numbered."""
    pieces = tuple(root.walk())
    number = {id(piece): index for index, piece in enumerate(pieces)}
    wholes = tuple(index for index, piece in enumerate(pieces) if piece.parts)
    count = len(pieces)
    rows = []
    for place, whole in enumerate(wholes):
        row = {whole: Fraction(-1), count + len(wholes) + place: Fraction(1)}
        row |= {number[id(part)]: Fraction(1) for part in pieces[whole].parts}
        if pieces[whole].loss is not None:
            row[count + place] = Fraction(1)
        rows.append(row)
    losses = [pieces[whole].loss for whole in wholes]
    readings = [piece.weight for piece in pieces]
    readings += [None if loss is None else loss.weight for loss in losses]
    sds = [None if piece.weight is None else piece.sd for piece in pieces]
    sds += [None if loss is None else loss.sd for loss in losses]
    return Sums(pieces, wholes, tuple(rows), tuple(readings), tuple(sds))


def _eliminated(sums: Sums) -> tuple[list[Row], dict[int, Row]]:
    """Return the sums without what was not weighed, and the row that gives each of those."""
    rows = [dict(row) for row in sums.rows]
    given: dict[int, Row] = {}
    for index, piece in enumerate(sums.pieces):
        if piece.weight is not None:
            continue
        pivot = next((row for row in rows if index in row), None)
        if pivot is None:
            raise BadValue(
                f"{piece.path} ({piece.name}) is not weighed and cannot be worked out from the "
                "others; weigh it.",
                where=piece.path,
            )
        rows = [row for row in rows if row is not pivot]
        scale = pivot[index]
        pivot = {key: value / scale for key, value in pivot.items()}
        for row in [*rows, *given.values()]:
            _subtract(row, pivot, index)
        given[index] = pivot
    return rows, given


def _subtract(row: Row, pivot: Row, index: int) -> None:
    times = row.get(index)
    if times is None:
        return
    for key, value in pivot.items():
        left = row.get(key, Fraction(0)) - times * value
        if left:
            row[key] = left
        else:
            row.pop(key, None)


def solve(sums: Sums) -> Solved:
    """Return the best estimates of every weight and loss, none negative.

    Raises
    ------
    BadValue
        If something not weighed cannot be worked out.
    """
    rows, given = _eliminated(sums)
    known = [index for index, reading in enumerate(sums.readings) if reading is not None]
    place = {number: column for column, number in enumerate(known)}
    matrix = np.zeros((len(rows), len(known)))
    for line, row in enumerate(rows):
        for number, value in row.items():
            if number in place:
                matrix[line, place[number]] = float(value)
    readings = np.array([float(sums.readings[n] or 0) for n in known])
    sds = np.array([float(sums.sds[n] or 0) for n in known])
    # the misses in exact fractions: weights of a side, misses of a gram
    misses = np.array([float(_miss(sums, row)) for row in rows])
    estimates = _not_negative(matrix, readings, sds, misses)
    whole = _all_estimates(sums, given, dict(zip(known, estimates, strict=True)))
    chi_square, pull, stiffness = _test(matrix, sds, misses, rows, known)
    return Solved(whole, chi_square, len(rows), pull, stiffness)


def _miss(sums: Sums, row: Row) -> Fraction:
    terms = ((sums.readings[n], value) for n, value in row.items() if n < len(sums.readings))
    return sum((reading * value for reading, value in terms if reading is not None), Fraction(0))


def _not_negative(matrix: Any, readings: Any, sds: Any, misses: Any) -> list[float]:  # noqa: ANN401 -- numpy arrays
    """Return m - V A' (A V A')^-1 A m, holding at zero what would fall under it."""
    readings, sds, misses = readings.copy(), sds.copy(), misses.copy()
    while True:
        scaled = matrix * sds
        moved = np.linalg.lstsq(scaled, misses, rcond=None)[0]
        found = readings - sds * moved
        low = int(np.argmin(found)) if found.size else 0
        if not found.size or found[low] >= -1e-12 or sds[low] == 0:
            return [max(0.0, float(value)) for value in found]
        misses -= matrix[:, low] * readings[low]
        readings[low] = sds[low] = 0.0


def _all_estimates(sums: Sums, given: dict[int, Row], known: dict[int, float]) -> tuple[float, ...]:
    found = [known.get(number, 0.0) for number in range(len(sums.readings))]
    for number, row in given.items():
        others = ((n, v) for n, v in row.items() if n != number and n < len(found))
        found[number] = -sum(float(v) * known.get(n, 0.0) for n, v in others)
        if found[number] < -1e-9:
            piece = sums.pieces[number]
            raise BadValue(
                f"{piece.path} ({piece.name}) was not weighed, and the others leave it less than "
                "nothing; weigh them again.",
                where=piece.path,
            )
    return tuple(found)


def _test(
    matrix: Any,  # noqa: ANN401 -- numpy arrays
    sds: Any,  # noqa: ANN401
    misses: Any,  # noqa: ANN401
    rows: list[Row],
    known: list[int],
) -> tuple[float, dict[int, float], dict[int, float]]:
    """Return the test figure, and pull and stiffness of each number in the sums."""
    if not rows:
        return 0.0, {}, {}
    scaled = matrix * sds
    inverse = np.linalg.inv(scaled @ scaled.T)
    weighted = inverse @ misses
    numbers = sorted(set(known) | {number for row in rows for number in row})
    pull, stiffness = {}, {}
    for number in numbers:
        column = np.array([float(row.get(number, 0)) for row in rows])
        pull[number] = float(column @ weighted)
        stiffness[number] = float(column @ inverse @ column)
    return float(misses @ weighted), pull, stiffness
