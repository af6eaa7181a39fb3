"""Minnesota Rules 4626.0845, 2024, and WAC 246-215-04605: Food Code 4-602.11 (MN0845, WA04605)."""

from __future__ import annotations

import dataclasses
import doctest
from decimal import Decimal

import pytest

from collop.errors import ReferenceTableError
from collop.measures import Temperature
from collop.reference import cleaning, limits
from collop.reference.cleaning import cleaning_interval, cleaning_row, cleaning_rows


@pytest.mark.parametrize(
    ("fahrenheit", "hours"),
    [
        ("28", 24), ("41", 24), ("41.001", 20), ("45", 20), ("45.001", 16), ("50", 16),
        ("50.001", 10), ("55", 10), ("55.001", 4), ("70", 4),
    ],
)  # fmt: skip
def test_the_room_sets_the_time_between_two_clean_downs(fahrenheit, hours):
    """Minnesota Rules 4626.0845 (seen): 24 h to 41 F, 20 to 45, 16 to 50, 10 to 55, else 4 h."""
    found = cleaning_interval(Temperature.fahrenheit(fahrenheit))
    assert found.hours == hours
    assert found.row.is_cited
    assert "Minnesota Rules 4626.0845 (Food Code 4-602.11)" in found.row.citation()


@pytest.mark.parametrize(("celsius", "hours"), [("5", 24), ("7.2", 20), ("10", 16), ("13", 4)])
def test_the_same_rule_in_celsius(celsius, hours):
    """Minnesota Rules 4626.0845 (seen): the rule is in F; 5, 7.2 and 10 C are its bands' ends."""
    assert cleaning_interval(Temperature.celsius(celsius)).hours == hours


def test_a_warmer_room_is_never_given_longer():
    """Food Code 4-602.11 as reprinted (seen): the time only falls as the room warms."""
    hours = [cleaning_interval(Temperature.fahrenheit(f)).hours for f in range(20, 90)]
    assert hours == sorted(hours, reverse=True)


def test_between_species_the_rule_and_its_exception_are_both_cited():
    """MN0845 (A)(1): clean before a different raw animal food; WA04605: rising heat is exempt."""
    rule, exempt = cleaning_row("SF075"), cleaning_row("SF076")
    assert rule.value == "before each use with a different raw animal food"
    assert exempt.value == "order by rising cooking temperature"
    assert "equal does not qualify" in exempt.note
    assert (rule.source.source_id, exempt.source.source_id) == ("MN0845", "WA04605")


def test_the_grinding_record_is_cited_to_the_federal_rule():
    """9 CFR 320.1(b)(4) (seen): date and time of each cleaning are on record."""
    row = cleaning_row("SF078")
    assert (row.value, row.source.source_id) == ("date and time", "CFR320_1")


def test_all_nine_rows_are_there_and_none_is_recalled():
    """SF070 to SF078, each read in its source."""
    rows = cleaning_rows()
    assert [row.rule_id for row in rows] == [f"SF0{number}" for number in range(70, 79)]
    assert all(row.is_cited for row in rows)


def test_a_recalled_row_rules_nothing(monkeypatch):
    """A table whose rows are from memory, or lost, is refused rather than guessed from."""
    recalled = {
        row.rule_id: dataclasses.replace(row, status=limits.Status.MEMORY)
        for row in cleaning_rows()
    }
    monkeypatch.setattr(limits, "_limits", lambda: recalled)
    cleaning._bands.cache_clear()
    try:
        with pytest.raises(ReferenceTableError, match="no row for a warm room"):
            cleaning_interval(Temperature.fahrenheit(41))
        with pytest.raises(ReferenceTableError, match="no cited row 'SF075'"):
            cleaning_row("SF075")
    finally:
        cleaning._bands.cache_clear()


def test_hours_that_are_no_number_are_refused(monkeypatch):
    """A row whose hours were lost is named."""
    broken = {row.rule_id: dataclasses.replace(row, value="often") for row in cleaning_rows()}
    monkeypatch.setattr(limits, "_limits", lambda: broken)
    cleaning._bands.cache_clear()
    try:
        with pytest.raises(ReferenceTableError, match="SF070: no hours"):
            cleaning_interval(Temperature.fahrenheit("41"))
    finally:
        cleaning._bands.cache_clear()


def test_the_examples_hold():
    """The figures in the docstrings are what the functions return."""
    assert doctest.testmod(cleaning).failed == 0
    assert cleaning_interval(Temperature.fahrenheit("50")).hours == Decimal(16)
