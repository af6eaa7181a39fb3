"""Belew et al., Warner-Bratzler shear of 40 bovine muscles, Meat Science 64, 2003 (BELEW03)."""

from __future__ import annotations

import pytest

from collop.carcass import cuts_of

CLASSES = {"<3.2": "very tender", "3.2-3.9": "tender", "3.9-4.6": "intermediate", ">4.6": "tough"}


def test_each_published_band_has_its_published_class():
    """Belew 2003 (seen): very tender < 3.2 kg, tender to 3.9, intermediate to 4.6, tough."""
    banded = [cut for cut in cuts_of("beef") if cut.shear_band]
    assert len(banded) == 38
    for cut in banded:
        assert cut.tenderness == CLASSES[cut.shear_band]
        assert "40 bovine muscles" in cut.tenderness_basis.source
        assert cut.tenderness_basis.standing == "seen"


@pytest.mark.parametrize("species", ["beef", "pork", "lamb", "goat", "chicken", "duck"])
def test_a_class_without_a_band_is_never_cited(species):
    """A class from trade knowledge bears its mark."""
    for cut in cuts_of(species):
        assert bool(cut.shear_band) == cut.tenderness_basis.is_cited
