"""Carcass tables: figures kept exact, marks kept field by field, numbers only where read."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

import pytest

from collop.errors import ReferenceTableError
from collop.reference import (
    FROM_MEMORY,
    Status,
    carcass_rules,
    cite,
    cut_rows,
    cut_style_rows,
    cuts,
    known_misprints,
    listed_tables,
    yield_rows,
)

CATALOGUE = listed_tables()["yields/cut_catalogue.csv"]


@pytest.mark.parametrize("name", ["imps", "unece"])
def test_a_number_that_was_not_read_is_not_handed_out(name):
    """A remembered item number stays in the table and never leaves the look-up."""
    for cells, row in zip(CATALOGUE, cut_rows(), strict=True):
        read = cells.text(f"{name}_status") == "seen"
        assert getattr(row, name) == (cells.text(name) if read else None)
    assert any(cells.text(f"{name}_status") == "memory" for cells in CATALOGUE)


def test_every_row_of_the_catalogue_counts_as_recalled():
    """A row that holds one field from trade knowledge is never a cited row."""
    assert {row.status for row in cut_rows()} == {Status.MEMORY}
    assert all(FROM_MEMORY in cite(row) for row in cut_rows())


def test_a_source_of_single_fields_is_cited_as_read():
    """The shear study was read although every row of the catalogue is marked."""
    assert FROM_MEMORY not in cite("BELEW03")
    assert FROM_MEMORY not in cite("IMPS100")


def test_a_field_source_that_is_not_listed_is_a_fault():
    """An id that no source bears is refused with the cut."""
    with pytest.raises(ReferenceTableError, match="B001: 'NOBODY' is not in the sources"):
        cuts._known("B001", "NOBODY")


def test_the_outputs_of_every_style_sum_to_a_hundred_but_one():
    """Rounded shares of the published pork loin split reach 100.1; all others close."""
    sums = defaultdict(Decimal)
    for row in cut_style_rows():
        if row.kind != "total":
            assert row.pct.low == row.pct.high
            sums[row.group, row.style] += row.pct.low
    odd = {style: total for style, total in sums.items() if total != 100}
    assert odd == {("P-LOIN", "boneless, published split"): Decimal("100.1")}


def test_words_among_the_figures_are_not_read_as_numbers():
    """A formula, a split and an open thickness have no figure; a plain number has one."""
    values = {row.value: row.figure for row in carcass_rules()}
    assert values["55/45"] is None
    assert values["1.5+"] is None
    assert values["62"] == 62
    assert [row.ends for row in carcass_rules("yield_grade_equation", species="beef")] == [None]


def test_a_range_keeps_both_ends_and_a_gain_its_sign():
    """Immersion chilling may add weight: the lower end is below zero."""
    (row,) = carcass_rules("cooler_shrink_24h", species="chicken")
    assert row.ends == (Decimal(-8), Decimal(3))
    assert not row.is_cited


def test_an_open_range_has_no_ends():
    """A grade without an upper bound is not given one."""
    (row,) = carcass_rules("pct_total_retail_cuts", words="yield grade 1")
    assert (row.low, row.high, row.ends) == (Decimal("79.8"), None, None)


def test_rows_are_found_by_table_large_cut_and_standing():
    """Filters hold together; an unknown table is empty, not everything."""
    chuck = yield_rows("BEEF_1150_715", primal="chuck")
    assert len(chuck) == 5
    assert yield_rows("NOTHING") == ()
    assert len(yield_rows(species="lamb")) == 58
    assert len(yield_rows("BEEF_1150_715")) - len(yield_rows("BEEF_1150_715", cited_only=True)) == 2


def test_the_known_contradictions_of_these_tables_are_listed():
    """Each figure that was found to contradict itself stands in the list."""
    told = " ".join(one.what for one in known_misprints() if one.table.startswith("yields/"))
    for figure in ("6 %", "45 %", "39 %", "163 lb", "95.8", "(27, 7, 13 %)", "2.16", "636.3"):
        assert figure in told
