"""How far heat has killed bacteria at the coldest point, from the core's temperature over time.

    F = integral of 10^((T - T_ref) / z) dt        log reduction = F / D_ref

with a death rate that follows a published table from row to row (log-linear between rows), or one
D and z. The integral is exact where the temperature runs in straight lines between readings.
Nothing is counted under 54.4 degC (130 degF), nor under the first row of a table; above its last
timed row the rate stays that of the row.

It explains and never lowers a published minimum temperature: `collop.reference.cook_minimum` rules.
"""

from __future__ import annotations

from functools import cache
from math import log

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collop.errors import BadValue
from collop.fire.lethality_tables import BEEF, COUNTED_FROM_C, DeathTable, Piece, death_table

__all__ = ["log_reduction", "one_rate_reduction", "table_reduction"]

Floats = NDArray[np.float64]

#: Under this change between two readings [K] the rate of their middle is taken: exact to 1e-12.
_LEVEL_K = 1e-6
_LN10 = log(10)


def log_reduction(
    minutes: ArrayLike,
    core_c: ArrayLike,
    *,
    table: str = BEEF,
    fat: float | None = None,
    target: float = 6.5,
) -> Floats:
    """Return the log reduction of Salmonella by a published table, of many samples at once.

    Parameters
    ----------
    minutes : array, shape (T,) or (T, S)
        Clock of the readings [min], rising; (T, S) if each sample has a clock of its own.
    core_c : array, shape (T,) or (T, S)
        Temperature of the coldest point [degC], cooking and rest; straight between readings.
    table : str
        ``fsis-appendix-a-beef`` (whole beef, pork, lamb), ``fsis-appendix-a-chicken`` or
        ``fsis-appendix-a-turkey``.
    fat : float or None
        Fat of the bird [%]; None if not known: the slowest column. Not used for beef.
    target : float
        Picks the column of the table: up to 6.5, or 7 and more.

    Returns
    -------
    array, shape () or (S,)
        Powers of ten, not capped; at least that of the column where the table says that a
        temperature the core has reached does it at once.

    Raises
    ------
    BadValue
        If the table is not known, the shapes do not fit or a reading is not finite.

    Examples
    --------
    >>> round(float(log_reduction([0, 112], [54.4, 54.4])), 3)
    6.5
    """
    return table_reduction(minutes, core_c, death_table(table, fat, target))


def table_reduction(minutes: ArrayLike, core_c: ArrayLike, table: DeathTable) -> Floats:
    """Return the log reduction by one table; as `log_reduction`."""
    clock, core = _readings(minutes, core_c)
    found = _integral(clock, core, table.pieces) * table.log
    if table.at_once_c is not None:
        at_once = core.max(axis=0) >= table.at_once_c
        found = np.where(at_once, np.maximum(found, table.log), found)
    return np.asarray(found, dtype=np.float64)


def one_rate_reduction(
    minutes: ArrayLike,
    core_c: ArrayLike,
    *,
    d_min: float,
    ref_c: float,
    z_c: float,
    from_c: float = COUNTED_FROM_C,
) -> Floats:
    """Return the log reduction by one death rate.

    Parameters
    ----------
    minutes, core_c : array, shape (T,) or (T, S)
        As for `log_reduction`.
    d_min : float
        Minutes for one power of ten at `ref_c`.
    ref_c : float
        Reference temperature [degC].
    z_c : float
        Degrees that change `d_min` tenfold [K].
    from_c : float
        Nothing is counted under it [degC]; 54.4 for any verdict.

    Returns
    -------
    array, shape () or (S,)
        F / D, in powers of ten.
    """
    clock, core = _readings(minutes, core_c)
    start = d_min * 10 ** ((ref_c - from_c) / z_c)
    return _integral(clock, core, (Piece(from_c, start, 1 / z_c),))


def _readings(minutes: ArrayLike, core_c: ArrayLike) -> tuple[Floats, Floats]:
    """Return the clock and the core, the clock with an axis of samples if the core has one."""
    clock, core = np.asarray(minutes, dtype=np.float64), np.asarray(core_c, dtype=np.float64)
    if clock.ndim == 1 and core.ndim > 1:
        clock = clock[:, np.newaxis]
    fits = core.ndim in (1, 2) and clock.ndim == core.ndim and clock.shape[0] == core.shape[0]
    if not fits or core.shape[0] < 1 or clock.shape[1:] not in ((), (1,), core.shape[1:]):
        raise BadValue("Minutes and core temperatures differ in number; give one for each.")
    if not (np.isfinite(clock).all() and np.isfinite(core).all()):
        raise BadValue("A minute or core temperature is not finite; leave that reading out.")
    if (np.diff(clock, axis=0) < 0).any():
        raise BadValue("The minutes of a history run backwards; sort the readings by time.")
    return clock, core


@cache
def _arrays(pieces: tuple[Piece, ...]) -> tuple[Floats, Floats, Floats, Floats]:
    """Return start [degC], rate [1/min], growth [1/K] and summed rate [K/min] of the pieces."""
    start = np.array([piece.start_c for piece in pieces])
    rate = 1 / np.array([piece.minutes for piece in pieces])
    growth = np.array([piece.decades_per_k * _LN10 for piece in pieces])
    summed = np.zeros_like(start)
    summed[1:] = np.cumsum(_grown(np.diff(start), rate[:-1], growth[:-1]))
    return start, rate, growth, summed


def _grown(above: Floats, rate: Floats, growth: Floats) -> Floats:
    """Return the rate integrated over temperature from the start of a piece [K/min]."""
    safe = np.where(growth > 0, growth, 1.0)
    grown: Floats = np.where(growth > 0, np.expm1(growth * above) / safe, above) * rate
    return grown


def _integral(clock: Floats, core: Floats, pieces: tuple[Piece, ...]) -> Floats:
    """Return the integral of rate over time, shape () or (S,).

    Over a straight rise from a to b it is (G(b) - G(a)) / (b - a) times the minutes, with G the
    rate summed over temperature: exact across the rows of a table, with no step in time.
    """
    start, rate, growth, summed = _arrays(pieces)

    def place(temp: Floats) -> tuple[NDArray[np.intp], Floats]:
        index = np.maximum(np.searchsorted(start, temp, side="right") - 1, 0)
        return index, np.maximum(temp - start[index], 0.0)

    index, above = place(core)
    total = summed[index] + _grown(above, rate[index], growth[index])
    rise, span = np.diff(core, axis=0), np.diff(clock, axis=0)
    level = np.abs(rise) < _LEVEL_K
    mean = np.diff(total, axis=0) / np.where(level, 1.0, rise)
    if level.any():
        middle = (core[1:] + core[:-1]) / 2
        index, above = place(middle)
        flat = np.where(middle < start[0], 0.0, rate[index] * np.exp(growth[index] * above))
        mean = np.where(level, flat, mean)
    return np.asarray((mean * span).sum(axis=0), dtype=np.float64)
