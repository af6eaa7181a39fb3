"""Citing a figure, and listing what the tables hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from collop.errors import BadValue, ReferenceTableError
from collop.reference.allergens import ALLERGEN_TABLE
from collop.reference.birds import CHICKEN_PARTS
from collop.reference.carcassrules import CARCASS_RULES
from collop.reference.carcassyields import BEEF_YIELD, LAMB_YIELD, PORK_YIELD
from collop.reference.conductionchecks import CONDUCTION_CHECKS
from collop.reference.cookyields import COOKING_YIELDS
from collop.reference.cuts import CUT_CATALOGUE, field_sources
from collop.reference.cutstyles import CUTTING_STYLES
from collop.reference.cuttingtests import CUTTING_TESTS
from collop.reference.elasticities import ELASTICITIES
from collop.reference.grilltimes import CARRY_OVER, GRILL_TIMES
from collop.reference.jointcosts import JOINT_COSTS
from collop.reference.lethality import LETHALITY
from collop.reference.limits import LABELS, MINIMUMS, SAFETY_LIMITS
from collop.reference.marketprices import CUTOUT_WEIGHTS, PRICE_RATIOS, PRICES
from collop.reference.newsvendors import NEWSVENDOR_CASES
from collop.reference.portions import PORTIONS
from collop.reference.rulebook import (
    BARCODES,
    SAFE_HANDLING,
    TAX_PRICE,
    TRACEABILITY,
    WEIGHTS_MEASURES,
)
from collop.reference.shrinking import SHRINK
from collop.reference.sources import Row, Source, Status
from collop.reference.tables import Cells, Column, Table, read_sources, read_table
from collop.reference.thawing import THAW_CHILL_HOLD
from collop.reference.thermalproperties import THERMAL_PROPERTIES
from collop.reference.waterbaths import WATER_BATHS

__all__ = ["Misprint", "cite", "known_misprints", "known_sources", "listed_tables"]

_TABLES = (
    PORTIONS,
    COOKING_YIELDS,
    THAW_CHILL_HOLD,
    MINIMUMS,
    CHICKEN_PARTS,
    BEEF_YIELD,
    PORK_YIELD,
    LAMB_YIELD,
    CARCASS_RULES,
    CUT_CATALOGUE,
    CUTTING_STYLES,
    SAFETY_LIMITS,
    LABELS,
    ALLERGEN_TABLE,
    WEIGHTS_MEASURES,
    TRACEABILITY,
    TAX_PRICE,
    BARCODES,
    SAFE_HANDLING,
    CUTTING_TESTS,
    JOINT_COSTS,
    NEWSVENDOR_CASES,
    CUTOUT_WEIGHTS,
    PRICE_RATIOS,
    PRICES,
    ELASTICITIES,
    LETHALITY,
    THERMAL_PROPERTIES,
    WATER_BATHS,
    GRILL_TIMES,
    CONDUCTION_CHECKS,
    CARRY_OVER,
    SHRINK,
)
_MISPRINTS = Table(
    "known_misprints.csv",
    (
        Column("table", required=True, choices=tuple(table.path for table in _TABLES)),
        Column("rows", required=True),
        Column("what", required=True),
    ),
    cited=False,
)


@dataclass(frozen=True, slots=True)
class Misprint:
    """Where published material contradicts itself, and how to read it."""

    table: str
    rows: str
    what: str


def listed_tables() -> Mapping[str, tuple[Cells, ...]]:
    """Return every table of figures with its checked rows, by path."""
    return {table.path: read_table(table) for table in _TABLES}


def known_misprints() -> tuple[Misprint, ...]:
    """Return the contradictions found in the published material."""
    names = ("table", "rows", "what")
    return tuple(Misprint(*(row.text(name) for name in names)) for row in read_table(_MISPRINTS))


@cache
def known_sources() -> Mapping[str, Source]:
    """Return every source by its id.

    Raises
    ------
    ReferenceTableError
        If two folders mean different publications by one id.
    """
    found: dict[str, Source] = {}
    for folder in sorted({table.path.partition("/")[0] for table in _TABLES}):
        for source_id, source in read_sources(folder).items():
            if found.setdefault(source_id, source) != source:
                raise ReferenceTableError(
                    f"{folder}/sources.csv, column source_id: {source_id} means another "
                    "publication elsewhere; rename it."
                )
    return found


@cache
def _was_read(source_id: str) -> bool:
    """Tell whether at least one figure of a source was read in it or computed from it."""
    return source_id in field_sources() or any(
        cells.origin().source_id == source_id and cells.status() is not Status.MEMORY
        for rows in listed_tables().values()
        for cells in rows
    )


def cite(figure: Row | str) -> str:
    """Return the citation of a row or of a source.

    Parameters
    ----------
    figure : Row or str
        Any row of a table, or the id of a source.

    Returns
    -------
    str
        Publisher, title, year and locator; with the mark *from memory, not checked* for a row from
        memory, and for a source none of whose figures was read.

    Raises
    ------
    BadValue
        If no source has that id.

    Examples
    --------
    >>> cite("FDASESAME")
    'US FDA, The FASTER Act: Sesame Is the Ninth Major Food Allergen, 2023, page'
    """
    if isinstance(figure, Row):
        return figure.citation()
    if figure not in known_sources():
        raise BadValue(f"{figure!r} is not a known source; see docs/sources.md.")
    source = known_sources()[figure]
    status = Status.SEEN if _was_read(figure) else Status.MEMORY
    return Row(source=source, status=status).citation()
