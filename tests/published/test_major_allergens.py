"""US FDA, The FASTER Act: Sesame Is the Ninth Major Food Allergen, 2023 (FDASESAME)."""

from __future__ import annotations

from collop.reference import ALLERGENS, allergen_named, label_rows

DECLARED = [row for row in label_rows("allergen") if row.value == "must be declared"]
MAJOR = {name for name, one in ALLERGENS.items() if one.listed_in == "us-major"}


def test_every_allergen_that_must_be_declared_is_known_by_name():
    """The FASTER Act page, nine major food allergens (seen): each word leads to its own name."""
    assert {row.source.source_id for row in DECLARED} == {"FDASESAME"}
    names = [allergen_named(row.requirement.partition(" (")[0]) for row in DECLARED]
    assert len(names) == len(set(names)) == 9
    assert set(names) == MAJOR


def test_sesame_is_the_ninth():
    """The FASTER Act page (seen): sesame stands beside the eight older ones."""
    assert "sesame" in MAJOR
    assert len(MAJOR) == 9
    assert ALLERGENS["sesame"].is_cited
