"""A Hog Is Not All Chops, Jackson Frozen Foods page repeating an extension leaflet (HOGCHOPS)."""

from __future__ import annotations

from collop.carcass import closes


def test_the_list_headed_145_pounds_does_not_close():
    """Hog list (seen, misprint): the lines sum to 163 lb, 18 too many."""
    found = closes("PORK_250_180_HOGCHOPS")
    assert not found.closes
    assert found.gap == 18
    assert [(check.printed, check.found) for check in found.failing] == [(145, 163)]
