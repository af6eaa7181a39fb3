"""Cards of the case: what is asked of a line, each answer and each reason in one line.

Muscles are those of the cut catalogue (reference table ``cut_catalogue``; most of its rows are
recalled and say so). Where a large cut sits is common practice, no published source.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass.cards import LONGEST, CardLine, card_json, cards_of, meant_cuts, one_line
from collop.carcass.cards_places import BIRD_PARTS, BIRDS, BODY_PARTS, parts_of, place_of
from collop.carcass.catalogue import cuts_of
from collop.carcass.species import SPECIES, large_cuts
from collop.carcass.standing import Standing

NAMES = {
    ("Lamb leg, bone in", "lamb"): ["Leg, sirloin on"],
    ("Lamb shoulder, bone in", "lamb"): ["Square-cut shoulder"],
    ("Beef chuck eye steaks", "beef"): ["Chuck eye steak"],
    ("Beef fillet", "beef"): ["Tenderloin, full"],
    ("Beef short ribs", "beef"): ["Chuck short ribs", "Plate short ribs"],
    ("Beef shin on the bone", "beef"): ["Foreshank, cross-cut"],
    ("Beef brisket, frozen", "beef"): ["Brisket, whole"],
    ("Pork shoulder steaks", "pork"): ["Blade steak / shoulder chop"],
    ("Chicken, whole", "chicken"): ["Whole chicken"],
    ("Ducks, whole, frozen", "duck"): ["Whole duck"],
    ("Something else", "beef"): [],
}


def card(name, species, **more):
    """Return the card of one line, its questions by kind."""
    (made,) = cards_of([CardLine(id="C1", name=name, species=species, **more)])
    return {one.kind: one for one in made.questions}


@pytest.mark.parametrize("asked", NAMES, ids=lambda asked: asked[0])
def test_a_line_means_the_cuts_its_name_says(asked):
    """Species, bone and state aside, the name finds its cut; an unknown name finds none."""
    assert [cut.name for cut in meant_cuts(*asked)] == NAMES[asked]


def test_a_cut_is_told_with_its_muscles_place_cousin_and_carving():
    """Four questions, each with its answer and what the answer rests on."""
    found = card("Beef fillet", "beef", role="centre", form="roast", cousin="Beef rump",
                 cousin_reason="A serving costs 14.88; a serving of the cousin 7.47.")  # fmt: skip
    assert found["what"].answer == "Tenderloin, full (beef)."
    assert found["what"].reason == "Muscles: psoas major, psoas minor, iliacus."
    assert found["what"].basis.standing is Standing.MEMORY
    assert "not read" in found["what"].basis.text()
    assert found["where"].answer == "Large cut: short loin. Inside, under the backbone of the loin."
    assert found["cousin"].answer == "Beef rump."
    assert "7.47" in found["cousin"].reason
    assert found["carve"].answer == "The grain runs along it: slice straight across."
    assert found["carve"].reason.startswith("Grain fine")


def test_mince_and_links_come_from_anywhere():
    """What is minced is of many muscles, and is cooked by the figure for ground meat."""
    for name in ("Lamb mince", "Beef links"):
        found = card(name, name.split()[0].lower(), role="in-the-hand")
        assert found["where"].answer == "Anywhere: trim of every large cut."
        assert "ground-meat figure" in found["where"].reason
    assert "casing" in card("Beef links", "beef")["what"].answer


def test_the_shops_own_sentence_on_carving_goes_first():
    """What the shop wrote of a line is asked, marked as the shop's."""
    found = card("Beef hanger and skirt", "beef", role="goes-far", carve="Sinew out first.")
    assert found["carve"].answer == "Sinew out first."
    assert found["carve"].basis.standing is Standing.SHOP


def test_no_card_is_made_where_nothing_can_be_asked():
    """Stock bones have no place in a spread and no cut; food without meat is only carved."""
    assert cards_of([CardLine(id="C1", name="Stock things", species="beef")]) == ()
    assert list(card("Flat mushrooms", "none", role="meat-free")) == ["carve"]


def test_every_large_cut_of_the_four_legged_has_a_place():
    """No large cut of the table is without a line that says where it sits."""
    for species in ("beef", "pork", "lamb", "goat"):
        for large in large_cuts(species):
            names = [cut.name for cut in cuts_of(species, large.name)] or [large.name]
            assert all(place_of(species, large.name, name) for name in names), large


def test_every_place_that_is_said_is_drawn_on_its_own_animal():
    """Common practice, no published source: what is said of any cut has parts of its animal."""
    for species in SPECIES:
        drawn = BIRD_PARTS if species in BIRDS else BODY_PARTS
        said = {place_of(species, cut.large_cut, cut.name) for cut in cuts_of(species)}
        said |= {place_of(species, one.name, one.name) for one in large_cuts(species)}
        for place in said - {""}:
            assert parts_of(place), place
            assert set(parts_of(place)) <= set(drawn), (species, place)
    assert parts_of("Anywhere: trim of every large cut.") == ()


def test_a_line_of_two_large_cuts_has_the_parts_of_both():
    """Short ribs: chuck or short plate; no one place is said, both are drawn."""
    told = card("Beef short ribs", "beef")["where"]
    assert told.answer == "Large cut: chuck or short plate."
    assert told.parts == ("neck", "shoulder", "fore belly")


def test_every_cut_of_the_catalogue_is_told_in_one_line_each():
    """Answers and reasons stay within ninety letters, whatever cut is meant."""
    lines = [
        CardLine(id=cut.cut_id, name=f"{species} {cut.name}", species=species, role="centre",
                 cousin="A neighbour " * 12, cousin_reason="because " * 30)
        for species in SPECIES for cut in cuts_of(species)
    ]  # fmt: skip
    made = cards_of(lines)
    assert len(made) == len(lines) > 120
    for one in made:
        for question in one.questions:
            for text in (question.answer, question.reason):
                assert len(text) <= LONGEST == 90
                assert "\n" not in text
            assert question.answer


def test_a_card_is_plain_json():
    """Standing and source go out with each answer."""
    (made,) = cards_of([CardLine(id="C1", name="Lamb loin chops", species="lamb", role="centre")])
    told = card_json(made)
    assert [one["kind"] for one in told["questions"]] == ["what", "where", "carve"]
    assert {one["standing"] for one in told["questions"]} <= {one.value for one in Standing}
    assert all(one["source"] for one in told["questions"])


@given(st.text(max_size=400), st.integers(20, 120))
def test_one_line_is_one_line(text, most):
    """Any text fits, on one line, and a short one is only tidied."""
    line = one_line(text, most)
    assert len(line) <= most
    assert "\n" not in line
    if len(" ".join(text.split())) <= most:
        assert line == " ".join(text.split())
