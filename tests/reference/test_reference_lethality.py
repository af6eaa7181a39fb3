"""The tables of lethality, thermal properties and water baths, and their look-ups."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

import pytest

from collop.errors import ReferenceTableError
from collop.fire import lethality_tables
from collop.reference import (
    FROM_MEMORY,
    Status,
    cite,
    lethality_rows,
    listed_tables,
    thermal_rows,
    thermalproperties,
    water_bath_rows,
)
from collop.reference.tables import Cells


def test_every_row_can_be_looked_up_and_is_cited_or_marked():
    """No row of the three tables is left out; a recalled one bears its mark."""
    tables = {path: len(rows) for path, rows in listed_tables().items()}
    assert len(lethality_rows()) == tables["cooking/lethality_times.csv"]
    assert len(thermal_rows()) == tables["cooking/thermal_properties.csv"] == 122
    assert len(water_bath_rows()) == tables["cooking/sousvide_pasteurization_checks.csv"] == 165
    for row in (*lethality_rows(), *thermal_rows(), *water_bath_rows()):
        assert (FROM_MEMORY in cite(row)) == (row.status is Status.MEMORY)


def test_rows_are_found_by_what_they_are_of():
    """Kind, product, source, quantity, item and meat narrow the rows; so does being cited."""
    assert {row.kind for row in lethality_rows("D_z")} == {"D_z"}
    assert {row.product for row in lethality_rows(product="turkey")} == {"turkey"}
    assert len(lethality_rows(source_id="FSIS_APXA_1999")) == 48
    assert all(row.is_cited for row in lethality_rows(cited_only=True))
    assert len(lethality_rows(cited_only=True)) < len(lethality_rows())
    assert {row.quantity for row in thermal_rows(quantity="density")} == {"density"}
    assert {row.item for row in thermal_rows(item="fat")} == {"fat"}
    assert all(row.is_cited for row in thermal_rows(cited_only=True))
    assert {row.meat for row in water_bath_rows("poultry")} == {"poultry"}


def test_powers_of_ten_are_read_exactly():
    """A figure such as 1.11e-07 is a decimal, and the degrees of both scales agree."""
    (lowest,) = thermal_rows("measured", item="beef round", quantity="thermal_diffusivity",
                             cited_only=True)  # fmt: skip
    assert lowest.value == Decimal("1.11e-7")
    for row in lethality_rows("time_temp", cited_only=True):
        if "slip" not in row.note:
            celsius = (row.temp_f - 32) / Decimal("1.8")
            assert abs(celsius - row.temp_c) <= Decimal("0.06"), row


@pytest.mark.parametrize("text", ["1e9999999", "NaN", "one", "1e-999", "--1"])
def test_a_figure_that_is_none_is_a_fault_of_the_table(text):
    """What does not read as a plain figure with at most two digits of exponent is refused."""
    with pytest.raises(ReferenceTableError, match="is no figure; correct it"):
        thermalproperties._figure(Cells({"a0": text}), "a0")


def test_a_recalled_figure_never_becomes_a_rate(monkeypatch):
    """A table whose rows are all from memory is refused, not counted by."""
    recalled = [
        dataclasses.replace(row, status=Status.MEMORY) for row in lethality_rows("time_temp")
    ]

    def look_up(*_, cited_only=False, **__):
        """Return the recalled rows, unless cited ones are asked for."""
        return () if cited_only else tuple(recalled)

    monkeypatch.setattr(lethality_tables, "lethality_rows", look_up)
    for read in (lethality_tables._chicken, lethality_tables._turkey, lethality_tables.literature):
        with pytest.raises(ReferenceTableError, match=r"restore the table|not complete"):
            read.__wrapped__()


def test_rows_out_of_order_are_a_fault_of_the_table():
    """A hotter row that takes longer is named before anything is counted."""
    rows = [row for row in lethality_rows("time_temp", product="turkey") if row.is_cited]
    with pytest.raises(ReferenceTableError, match="takes longer than"):
        lethality_tables._timed(rows[::-1])
