"""USDA FSIS, Time-temperature tables for ready-to-eat poultry products, 2006 (FSIS_POULTRY).

The chicken column of 12 % fat, as transcribed. Lean chicken and turkey: The Food Lab (Lopez-Alt),
W. W. Norton, 2015 (FOODLAB); the range at 160 F: FSIS Cooking Guideline 2021 (FSIS_APXA_2021).
"""

from __future__ import annotations

from math import log10

import pytest

from collop.fire.lethality import log_reduction
from collop.fire.lethality_tables import CHICKEN, TURKEY, death_table, required_minutes
from collop.reference import cook_minimum, lethality_rows

FAT = lethality_rows("time_temp", source_id="FSIS_POULTRY", cited_only=True)
LEAN = [
    row
    for row in lethality_rows("time_temp", source_id="FOODLAB", cited_only=True)
    if "slip" not in row.note
]
RANGE = {row.product.rpartition(", ")[2]: row
         for row in lethality_rows("time_temp", source_id="FSIS_APXA_2021")}  # fmt: skip


@pytest.mark.parametrize("row", FAT, ids=lambda row: f"{row.temp_f} F")
def test_each_row_of_the_fat_column_reaches_seven_log(row):
    """Poultry tables 2006 (seen): held for its time, each row is 7 log; fat not known or more."""
    temp_c, minutes = float(row.temp_c), float(row.time_s) / 60
    for fat in (None, 12.0, 20.0):
        table = death_table(CHICKEN, fat, 7.0)
        assert required_minutes(table, temp_c, 7.0) == pytest.approx(minutes)
        found = log_reduction([0, minutes], [temp_c, temp_c], table=CHICKEN, fat=fat, target=7.0)
        assert float(found) == pytest.approx(7.0)


@pytest.mark.parametrize("row", LEAN, ids=lambda row: f"{row.product} {row.temp_f} F")
def test_each_lean_row_reaches_seven_log(row):
    """The Food Lab, p. 362 (seen): four rows of chicken and four of turkey."""
    name = {"chicken": CHICKEN, "turkey": TURKEY}[row.product]
    temp_c, minutes = float(row.temp_c), float(row.time_s) / 60
    assert required_minutes(death_table(name, 1.0, 7.0), temp_c, 7.0) == pytest.approx(minutes)
    found = log_reduction([0, minutes], [temp_c, temp_c], table=name, fat=1.0, target=7.0)
    assert float(found) == pytest.approx(7.0)


def test_the_range_at_160_f_is_that_of_the_guideline():
    """FSIS Cooking Guideline 2021 (seen): 13.7 to 26.9 s at 160 F for chicken or turkey."""
    shortest = float(RANGE["shortest in table"].time_s)
    longest = float(RANGE["longest in table"].time_s)
    found = [
        required_minutes(death_table(name, fat, 7.0), 71.1, 7.0) * 60
        for name, fat in ((CHICKEN, 1.0), (TURKEY, 1.0), (CHICKEN, None))
    ]
    assert found[0] == pytest.approx(shortest)
    assert found[-1] == pytest.approx(longest)
    assert found == sorted(found)


def test_the_fat_column_bends():
    """Poultry tables 2006 (seen): z 5.9 C over all, but wider below 63 C than above 65 C.

    So no single death rate is used for birds.
    """

    def z_between(low, high):
        points = [(float(r.temp_c), log10(float(r.time_s))) for r in FAT if low <= r.temp_c <= high]
        mean_t = sum(t for t, _ in points) / len(points)
        mean_y = sum(y for _, y in points) / len(points)
        slope = sum((t - mean_t) * (y - mean_y) for t, y in points)
        return -sum((t - mean_t) ** 2 for t, _ in points) / slope

    assert z_between(57, 73) == pytest.approx(5.9, abs=0.15)
    assert z_between(57, 63) > 6.3
    assert z_between(65, 73) < 5.7


def test_a_transcribed_row_lies_on_the_line_of_its_neighbours():
    """Poultry tables 2006 (seen): each inner row is within 15 % of a line through its neighbours.

    A slip in one transcribed figure would stand out.
    """
    for before, row, after in zip(FAT, FAT[1:], FAT[2:], strict=False):
        share = float((row.temp_c - before.temp_c) / (after.temp_c - before.temp_c))
        line = (1 - share) * log10(before.time_s) + share * log10(after.time_s)
        assert float(row.time_s) == pytest.approx(10**line, rel=0.15), row.temp_f


def test_no_row_lowers_the_minimum_of_birds():
    """Safe minimum internal temperatures, FSIS_MIN (seen): 165 F, above every row of the tables."""
    assert all(row.temp_f < cook_minimum("poultry").whole_fahrenheit for row in (*FAT, *LEAN))
