"""The catalogue of cuts: names, numbers, muscles, grain, tenderness, weights.

A whole row counts as recalled, because each holds at least one field from trade knowledge. Four
fields carry a mark of their own: the two numbers, the weight and the tenderness class. A number
that was not read in its list is not handed out.

References
----------
.. [1] USDA AMS, Institutional Meat Purchase Specifications, Fresh Beef Series 100: item numbers.
   Source id ``IMPS100``.
.. [2] Belew, Brooks, McKenna, Savell, Warner-Bratzler shear evaluations of 40 bovine muscles,
   Meat Science 64, 2003: tenderness classes. Source id ``BELEW03``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.errors import ReferenceTableError
from collop.reference.figures import Kind
from collop.reference.sources import Row, Source, Status
from collop.reference.tables import Cells, Column, Table, read_sources, read_table

__all__ = ["CUT_CATALOGUE", "CutRow", "cut_rows", "field_sources"]

_MARKS = (Status.SEEN, Status.MEMORY)
_SPECIES = ("beef", "pork", "lamb", "chicken")


def _pounds(name: str) -> Column:
    return Column(name, kind=Kind.DECIMAL, low=0, high=200)


def _inches(name: str) -> Column:
    return Column(name, kind=Kind.DECIMAL, low=0, high=12)


CUT_CATALOGUE = Table(
    "yields/cut_catalogue.csv",
    (
        Column("cut_id", required=True),
        Column("species", required=True, choices=_SPECIES),
        Column("primal", required=True),
        Column("cut_name", required=True),
        Column("other_names", kind=Kind.LIST),
        Column("imps"),
        Column("imps_status", choices=(*_MARKS, "")),
        Column("unece"),
        Column("unece_status", choices=(*_MARKS, "")),
        Column("main_muscles", kind=Kind.LIST, required=True),
        Column("bone", required=True, choices=("boneless", "bone-in", "bone-in or boneless")),
        _pounds("raw_weight_lb_low"),
        _pounds("raw_weight_lb_high"),
        Column("weight_status", required=True, choices=_MARKS),
        _inches("thickness_in_low"),
        _inches("thickness_in_high"),
        Column("grain", required=True, choices=("fine", "medium", "coarse", "mixed")),
        Column("slice_advice", required=True),
        Column("fat_level", required=True),
        Column("tenderness_class", required=True),
        Column("wbs_kg_band", choices=("<3.2", "3.2-3.9", "3.9-4.6", ">4.6", "")),
        Column("tenderness_source_id", required=True),
        Column("tenderness_status", required=True, choices=_MARKS),
        Column("methods", kind=Kind.LIST, required=True),
        Column("dry_moist", choices=("D", "M", "D/M", "")),
        Column("dry_moist_source_id"),
        Column("value_cut", choices=("yes", "")),
        Column("field_sources", kind=Kind.LIST),
    ),
    key="cut_id",
    low_high=("raw_weight_lb_low", "raw_weight_lb_high"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRow(Row):
    """One cut.

    Parameters
    ----------
    cut_id, species, primal, name : str
        As in the table.
    other_names, muscles, methods : tuple of str
        Regional names; main muscles; ways to cook.
    imps, unece : str or None
        Numbers of the two lists, only where they were read in them.
    bone, grain, slice_advice, fat_level : str
        In words.
    pounds : tuple of Decimal or None
        Lower and upper raw weight of the whole piece [lb].
    weight_status : Status
        How `pounds` was obtained.
    inches : tuple of Decimal or None
        Usual thickness [in], from memory.
    tenderness : str
        Class of the key muscle cooked as a steak; not of the braised dish.
    shear_band : str
        Published shear force of that class [kg]; empty if none.
    tenderness_status : Status
        How the class was obtained.
    tenderness_source : Source
        Where the class was published.
    heat : str
        ``D`` dry, ``M`` moist, ``D/M`` either, as read in a list of cuts; empty if in none.
    value_cut : bool
        Whether it eats better than its usual price.
    field_sources : tuple of Source
        The publications its marked fields were read in.
    """

    cut_id: str
    species: str
    primal: str
    name: str
    other_names: tuple[str, ...]
    imps: str | None
    unece: str | None
    muscles: tuple[str, ...]
    bone: str
    pounds: tuple[Decimal, Decimal] | None
    weight_status: Status
    inches: tuple[Decimal, Decimal] | None
    grain: str
    slice_advice: str
    fat_level: str
    tenderness: str
    shear_band: str
    tenderness_status: Status
    tenderness_source: Source
    methods: tuple[str, ...]
    heat: str
    value_cut: bool
    field_sources: tuple[Source, ...]


def _pair(cells: Cells, name: str) -> tuple[Decimal, Decimal] | None:
    low, high = cells.decimal_or_none(f"{name}_low"), cells.decimal_or_none(f"{name}_high")
    return None if low is None or high is None else (low, high)


def _if_read(cells: Cells, name: str) -> str | None:
    """Return a number of a list, None if it was not read there."""
    return cells.text(name) if cells.text(f"{name}_status") == Status.SEEN else None


def _known(cut_id: str, source_id: str) -> Source:
    found = read_sources("yields").get(source_id)
    if found is None:
        raise ReferenceTableError(
            f"{CUT_CATALOGUE.path}, {cut_id}: {source_id!r} is not in the sources; correct it.",
            where=CUT_CATALOGUE.path,
        )
    return found


def _row(cells: Cells) -> CutRow:
    cut_id = cells.text("cut_id")
    return CutRow(
        cut_id=cut_id,
        species=cells.text("species"),
        primal=cells.text("primal"),
        name=cells.text("cut_name"),
        other_names=cells.listed("other_names"),
        imps=_if_read(cells, "imps"),
        unece=_if_read(cells, "unece"),
        muscles=cells.listed("main_muscles"),
        bone=cells.text("bone"),
        pounds=_pair(cells, "raw_weight_lb"),
        weight_status=Status(cells.text("weight_status")),
        inches=_pair(cells, "thickness_in"),
        grain=cells.text("grain"),
        slice_advice=cells.text("slice_advice"),
        fat_level=cells.text("fat_level"),
        tenderness=cells.text("tenderness_class"),
        shear_band=cells.text("wbs_kg_band"),
        tenderness_status=Status(cells.text("tenderness_status")),
        tenderness_source=_known(cut_id, cells.text("tenderness_source_id")),
        methods=cells.listed("methods"),
        heat=cells.text("dry_moist"),
        value_cut=cells.text("value_cut") == "yes",
        field_sources=tuple(_known(cut_id, name) for name in cells.listed("field_sources")),
        source=cells.origin(),
        status=cells.status(),
        note=cells.text("note"),
    )


@cache
def _rows() -> tuple[CutRow, ...]:
    return tuple(_row(cells) for cells in read_table(CUT_CATALOGUE))


def cut_rows(species: str = "") -> tuple[CutRow, ...]:
    """Return the cuts of a species, every one if empty.

    Examples
    --------
    >>> [row.name for row in cut_rows("lamb") if row.tenderness == "tough"]
    ['Hind shank', 'Neck slices', 'Foreshank']
    """
    return tuple(row for row in _rows() if species in ("", row.species))


@cache
def field_sources() -> frozenset[str]:
    """Return the ids of the publications in which a field of a cut was read."""
    return frozenset(source.source_id for row in _rows() for source in row.field_sources)
