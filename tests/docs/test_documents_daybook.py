"""docs/daybook.md gives the figures that the code has, and commands that run."""

from __future__ import annotations

from pathlib import Path

from collop.reference.rulebook import rule_row
from collop.rules.limits import cold_limit, freezer_limit
from collop.shop.day_checks import ICE_POINT, OLDEST_ENTRY, probe_allowance
from collop.shop.day_cold import AGAIN_AFTER
from collop.shop.day_due import CHECK_EVERY
from collop.shop.day_model import LATE_AFTER
from collop.shop.day_places import USUAL_ROUNDS
from collop.shop.day_print import MOST_DAYS
from collop.shop.receiving import COOL_WITHIN

TEXT = " ".join(
    (Path(__file__).parents[2] / "docs" / "daybook.md").read_text(encoding="utf-8").split()
)


def test_the_limits_are_those_in_force_with_their_rows():
    """Chilled and frozen as published; each row is named."""
    for limit in (cold_limit(), freezer_limit()):
        assert f"| {limit.text()} |" in TEXT
        assert f"row {limit.row.rule_id}" in TEXT
        assert limit.row.is_cited


def test_the_times_are_those_in_use():
    """Late entry, oldest entry, rounds, reading again, checks of tools, days of a print."""
    first, second, third = (f"{hour:%H:%M}" for hour in USUAL_ROUNDS)
    assert f"read at {first}, {second} and {third} on open days" in TEXT
    assert f"written over {LATE_AFTER.seconds // 60} minutes after" in TEXT
    assert OLDEST_ENTRY.days == 7
    assert "Seven days back" in TEXT
    assert AGAIN_AFTER.seconds == 30 * 60
    assert "read again within half an hour" in TEXT
    assert f"every {CHECK_EVERY.days} days" in TEXT
    assert f"up to {MOST_DAYS} days" in TEXT


def test_the_hours_to_cool_are_those_in_use():
    """Four hours, with the row and its source, which was seen."""
    row = rule_row("SF002")
    assert COOL_WITHIN.seconds == 4 * 3600
    assert f"cold within 4 hours (Wisconsin Food Code 3-501.14(C), row {row.rule_id}" in TEXT
    assert f"source id {row.source.source_id})" in TEXT
    assert row.is_cited


def test_the_thermometer_is_held_against_melting_ice():
    """As the row says it, marked as from memory."""
    allowed, row = probe_allowance()
    ice = ICE_POINT.in_fahrenheit(0)
    degrees = allowed.in_fahrenheit_degrees(0)
    assert f"melting ice, {ice} °F, {degrees} °F either way" in TEXT
    assert not row.is_cited
    assert f"row {row.rule_id}, from memory" in TEXT
