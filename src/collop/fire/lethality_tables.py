"""The published tables of time and temperature as death rates, row by row.

Only rows that were read in their source count; recalled rows are left out. Where cited rows are
far apart the slower reading is taken:

- whole beef (also pork, lamb): each row of the table, log-linear between rows;
- chicken: the 12 % fat column for more fat than 1 % or where the fat is not known, as it is the
  slowest. For lean meat four rows were read: at and above each its own time holds, until the 12 %
  column asks less. That is never too short, as a hotter core and leaner meat are never slower;
- turkey: four rows of lean meat, each held until the next.

References
----------
.. [1] USDA FSIS, Appendix A, compliance guidelines for lethality, 1999. ``FSIS_APXA_1999``.
.. [2] USDA FSIS, Time-temperature tables for ready-to-eat poultry products, 2006; chicken, 12 %
   fat, as transcribed. ``FSIS_POULTRY``.
.. [3] The Food Lab (Lopez-Alt), W. W. Norton, 2015, p. 362: lean chicken and turkey. ``FOODLAB``.
.. [4] D. E. Baldwin, Sous vide cooking: a review, Int. J. Gastronomy and Food Science 1, 2012:
   regression of the literature. ``BALDWIN``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from math import log10

from collop.errors import BadValue, ReferenceTableError
from collop.reference.lethality import LethalityRow, lethality_rows
from collop.reference.sources import Source

__all__ = [
    "BEEF", "CHICKEN", "COUNTED_FROM_C", "LEAN_PCT", "TABLES", "TURKEY", "DeathTable", "Kinetic",
    "Piece", "beef_regression", "death_table", "literature", "required_minutes",
]  # fmt: skip

BEEF = "fsis-appendix-a-beef"
CHICKEN = "fsis-appendix-a-chicken"
TURKEY = "fsis-appendix-a-turkey"
TABLES = (BEEF, CHICKEN, TURKEY)
#: Nothing is counted under 130 degF, the first row of the beef table [degC].
COUNTED_FROM_C = 54.4
#: Up to this much fat a bird counts as lean [%].
LEAN_PCT = 1
#: What each organism of the literature regression is to be reduced by, in powers of ten (Baldwin).
_LITERATURE_TARGETS = {"E. coli": 5.0, "Salmonella": 6.5, "Listeria monocytogenes": 6.0}


@dataclass(frozen=True, slots=True)
class Piece:
    """The required time over a span of temperature.

    Parameters
    ----------
    start_c : float
        Where it begins [degC]; it ends where the next begins.
    minutes : float
        Required at `start_c` [min].
    decades_per_k : float
        How fast it falls above, in powers of ten a degree [1/K]; 0 where it is held.
    """

    start_c: float
    minutes: float
    decades_per_k: float

    def at(self, temp_c: float) -> float:
        """Return the required time at a temperature of this piece [min]."""
        return float(self.minutes * 10 ** (-self.decades_per_k * (temp_c - self.start_c)))


@dataclass(frozen=True, slots=True)
class DeathTable:
    """A published table, one column of it.

    Parameters
    ----------
    name : str
        One of `TABLES`.
    log : float
        What the times of the column reach, in powers of ten.
    pieces : tuple of Piece
        From the first row up.
    at_once_c : float or None
        Where the table says that it is reached at once [degC]; None where it does not.
    sources : tuple of Source
        Of its rows.
    says : str
        Which rows are used, in words.
    """

    name: str
    log: float
    pieces: tuple[Piece, ...]
    at_once_c: float | None
    sources: tuple[Source, ...]
    says: str

    @property
    def first_c(self) -> float:
        """Return the temperature of the first row [degC]."""
        return self.pieces[0].start_c


@dataclass(frozen=True, slots=True)
class Kinetic:
    """One death rate.

    Parameters
    ----------
    organism : str
        Which bacterium.
    d_min, ref_c, z_c : float
        Minutes for one power of ten at `ref_c` [degC], and the degrees [K] that change it tenfold.
    target : float
        Reduction the source asks for, in powers of ten.
    source : Source
        Where it was published.
    """

    organism: str
    d_min: float
    ref_c: float
    z_c: float
    target: float
    source: Source


def required_minutes(table: DeathTable, temp_c: float, target: float) -> float:
    """Return how long a core is held at a temperature to reach a target [min].

    Parameters
    ----------
    table : DeathTable
        With the column for the target.
    temp_c : float
        Temperature of the core [degC].
    target : float
        Powers of ten; the time of the column grows in proportion.

    Raises
    ------
    BadValue
        Under the first row: nothing is counted there.
    """
    if temp_c < table.first_c:
        raise BadValue(
            f"{temp_c:g} C is under the first row of {table.name}, {table.first_c:g} C; "
            "nothing is counted there, give a higher temperature."
        )
    if table.at_once_c is not None and temp_c >= table.at_once_c and target <= table.log:
        return 0.0
    index = bisect_right([piece.start_c for piece in table.pieces], temp_c) - 1
    return table.pieces[index].at(temp_c) * target / table.log


@cache
def death_table(name: str, fat: float | None = None, target: float = 6.5) -> DeathTable:
    """Return a table as death rates.

    Parameters
    ----------
    name : str
        One of `TABLES`.
    fat : float or None
        Fat of the bird [%]; None if not known. Not used for beef.
    target : float
        Up to 6.5 the 6.5-log column of beef is used, above it the 7-log one; poultry has 7 alone.

    Raises
    ------
    BadValue
        If there is no such table, or no cited rows for that fat.
    """
    if name == BEEF:
        return _beef("6.5" if target <= 6.5 else "7.0")
    if name == CHICKEN:
        return _chicken_lean() if fat is not None and fat <= LEAN_PCT else _chicken()
    if name == TURKEY:
        if fat is None or fat > LEAN_PCT:
            raise BadValue(
                f"{TURKEY} was read for lean meat alone; give fat_pct of {LEAN_PCT} or less, or "
                "go by the published minimum."
            )
        return _turkey()
    raise BadValue(f"There is no table {name[:40]!r}; use one of {', '.join(TABLES)}.")


def _timed(rows: Sequence[LethalityRow]) -> list[tuple[float, float]]:
    """Return (degC, min) of rows with a time, from cold to hot; the order is checked."""
    found = [
        (float(row.temp_c), float(row.time_s) / 60)
        for row in rows
        if row.temp_c is not None and row.time_s
    ]
    for (cold, long), (hot, short) in pairwise(found):
        if hot <= cold or short > long:
            raise ReferenceTableError(
                f"A lethality row at {hot:g} C takes longer than at {cold:g} C; restore the table."
            )
    if not found:
        raise ReferenceTableError("A lethality table has no cited row; restore the table.")
    return found


def _sloped(points: Sequence[tuple[float, float]]) -> list[Piece]:
    """Return log-linear pieces through points; the last is held above."""
    found = [
        Piece(cold, long, log10(long / short) / (hot - cold))
        for (cold, long), (hot, short) in pairwise(points)
    ]
    return [*found, Piece(*points[-1], 0.0)]


def _sources(rows: Sequence[LethalityRow]) -> tuple[Source, ...]:
    return tuple(dict.fromkeys(row.source for row in rows))


def _beef_rows(column: str) -> list[LethalityRow]:
    rows = lethality_rows("time_temp", source_id="FSIS_APXA_1999", cited_only=True)
    return [row for row in rows if str(row.log_reduction) == column]


@cache
def _beef(column: str) -> DeathTable:
    rows = _beef_rows(column)
    at_once = [float(row.temp_c) for row in rows if row.time_s == 0 and row.temp_c is not None]
    return DeathTable(
        BEEF, float(column), tuple(_sloped(_timed(rows))), min(at_once, default=None),
        _sources(rows), f"{column}-log column for whole beef, also used for pork and lamb",
    )  # fmt: skip


def _bird_rows(product: str, fat_pct: int) -> list[LethalityRow]:
    # one lean row is printed a degree too low in its source; the table says so
    rows = lethality_rows("time_temp", product=product, cited_only=True)
    return [row for row in rows if row.fat_pct == fat_pct and "slip" not in row.note]


@cache
def _chicken() -> DeathTable:
    rows = _bird_rows("chicken", 12)
    return DeathTable(
        CHICKEN, 7.0, tuple(_sloped(_timed(rows))), None, _sources(rows),
        "column of 12 % fat, the slower of the two that are published",
    )  # fmt: skip


@cache
def _chicken_lean() -> DeathTable:
    fat, rows = _chicken(), _bird_rows("chicken", LEAN_PCT)
    lean = _timed(rows)
    pieces = [piece for piece in fat.pieces if piece.start_c < lean[0][0]]
    for (start, minutes), end in zip(lean, [*(c for c, _ in lean[1:]), float("inf")], strict=True):
        pieces.append(Piece(start, minutes, 0.0))
        pieces.extend(_under(fat.pieces, minutes, start, end))
    return replace(
        fat, pieces=tuple(pieces), sources=(*fat.sources, *_sources(rows)),
        says="four rows of lean meat (1 % fat); between them the slower of what is published",
    )  # fmt: skip


def _under(pieces: Sequence[Piece], minutes: float, start: float, end: float) -> list[Piece]:
    """Return the part of a falling column that is under `minutes`, within [start, end)."""
    found = []
    for piece, after in zip(pieces, [*(p.start_c for p in pieces[1:]), float("inf")], strict=True):
        begin = piece.start_c
        if piece.at(begin) > minutes:  # cross it where the column comes down to the lean row
            if not piece.decades_per_k:
                continue
            begin += log10(piece.minutes / minutes) / piece.decades_per_k
        begin = max(begin, start)
        if begin < min(after, end):
            found.append(Piece(begin, piece.at(begin), piece.decades_per_k))
    return found


@cache
def _turkey() -> DeathTable:
    rows = _bird_rows("turkey", LEAN_PCT)
    held = tuple(Piece(temp, minutes, 0.0) for temp, minutes in _timed(rows))
    return DeathTable(
        TURKEY, 7.0, held, None, _sources(rows), "four rows of lean meat, each held until the next"
    )


@cache
def beef_regression() -> Kinetic:
    """Return the one death rate that fits the 6.5-log column of beef best.

    Least squares of log D on temperature over its timed rows (130 to 156 degF, exact degF).
    """
    rows = [row for row in _beef_rows("6.5") if row.time_s and row.temp_f is not None]
    temps = [(float(row.temp_f or 0) - 32) / 1.8 for row in rows]
    logs = [log10(float(row.time_s or 0) / 60 / 6.5) for row in rows]
    mean_t, mean_l = sum(temps) / len(temps), sum(logs) / len(logs)
    slope = sum((t - mean_t) * (y - mean_l) for t, y in zip(temps, logs, strict=True)) / sum(
        (t - mean_t) ** 2 for t in temps
    )
    return Kinetic(
        organism="Salmonella", d_min=10 ** (mean_l + slope * (60 - mean_t)), ref_c=60.0,
        z_c=-1 / slope, target=6.5, source=rows[0].source,
    )  # fmt: skip


@cache
def literature() -> tuple[Kinetic, ...]:
    """Return the regression of the literature for beef, pork and lamb, one for each organism."""
    found = [
        Kinetic(
            organism=row.organism, d_min=float(row.d_min.low), ref_c=float(row.temp_c),
            z_c=float(row.z_c), target=_LITERATURE_TARGETS[row.organism], source=row.source,
        )
        for row in lethality_rows("D_z", source_id="BALDWIN", cited_only=True)
        if row.d_min is not None and row.temp_c is not None and row.z_c is not None
    ]  # fmt: skip
    if len(found) != len(_LITERATURE_TARGETS):
        raise ReferenceTableError("The literature rows of the lethality table are not complete.")
    return tuple(found)
