"""Published tables close, or are known not to."""

from __future__ import annotations

import doctest
import importlib
from fractions import Fraction

import pytest

from collop.carcass import closes, published_misprints, published_table, published_tables
from collop.errors import BadValue

NOT_CLOSING = {
    "BEEF_1300_806",
    "LAMB_AU_PRIMALS",
    "PORK_250_180_HOGCHOPS",
    "PORK_PRIMALS_KSU",
}
NO_SUM = {
    "BEEF_NDSU_805",
    "CHICKEN_8PIECE_TYPICAL",
    "CHICKEN_BCGROW",
    "CHICKEN_EXT",
    "CHICKEN_GIBLETS_TYPICAL",
    "CHICKEN_STYLES_TYPICAL",
    "CHICKEN_USDA_BREAST",
    "LAMB_75_KSU_CUTS",
    "LAMB_ARMY_BONELESS",
    "LAMB_AU_RACK",
    "LAMB_PRIMALS_TYPICAL",
    "PORK_PRIMALS_TYPICAL",
}


@pytest.mark.parametrize("table_id", sorted(set(published_tables()) - NO_SUM))
def test_each_table_closes_unless_it_is_known_not_to(table_id):
    """The verdict holds for every sum that the table prints."""
    found = closes(table_id)
    assert found.closes == (table_id not in NOT_CLOSING)
    assert bool(found.failing) == (not found.closes)
    assert bool(found.gap) == (not found.closes)


@pytest.mark.parametrize("table_id", sorted(NO_SUM))
def test_a_table_without_a_sum_is_not_said_to_close(table_id):
    """Partial lists and open ranges prove nothing and say so."""
    assert published_table(table_id).rows
    with pytest.raises(BadValue, match="prints no sum that its lines should make"):
        closes(table_id)


def test_a_verdict_names_the_line_that_fails():
    """Gap and line are told, not only yes or no."""
    (check,) = closes("PORK_250_180_HOGCHOPS").failing
    assert (check.what, check.unit, check.printed, check.found, check.gap) == (
        "retail cuts", "lb", 145, 163, 18,
    )  # fmt: skip


@pytest.mark.parametrize("check", published_misprints(), ids=lambda check: check.what)
def test_no_known_misprint_closes(check):
    """Each printed contradiction is detected by the same rule that passes the good tables."""
    assert not check.closes
    assert check.gap == check.found - check.printed != 0
    assert check.basis.source


def test_the_known_misprints_are_all_there():
    """Indiana, 1000 lb, 750 lb, slides, hog list, Australian lamb, and more."""
    told = {check.what for check in published_misprints()}
    assert len(told) == len(published_misprints()) == 15
    for word in ("Indiana", "45 %", "750-lb", "shoulder", "HOGCHOPS", "AU_PRIMALS", "ten-bird"):
        assert any(word in what for what in told)


@pytest.mark.parametrize("table_id", ["", "BEEF", "no such table"])
def test_an_unknown_table_is_one_sentence(table_id):
    """There is no table but those in the list."""
    with pytest.raises(BadValue, match=r"There is no table .*; see docs/carcass\.md"):
        published_table(table_id)


def test_rounding_is_forgiven_to_half_the_last_digit_only():
    """184.2 lb passes for a printed 184; the hog list's 18 lb never could."""
    (check,) = (one for one in closes("PORK_250_184").checks if one.what == "carcass")
    assert check.gap == Fraction(1, 5)
    assert check.tolerance == Fraction(1, 2)


@pytest.mark.parametrize(
    "name",
    [
        "catalogue", "cut_of_part", "expecting", "grade", "misprints", "pieces", "published",
        "shrink", "species", "styles", "taking_home",
    ],
)  # fmt: skip
def test_the_examples_of_each_module_are_true(name):
    """Every example in a docstring gives what it says."""
    result = doctest.testmod(importlib.import_module(f"collop.carcass.{name}"))
    assert result.attempted > 0
    assert result.failed == 0
