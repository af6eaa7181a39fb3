"""A batch of links or marinade: ingredients with maker, lot and allergens; meat from the ledger."""

from __future__ import annotations

import pytest
from making_floor import TRIM, Maker
from wished import case_line, lb

from collop.errors import BadValue, NotFound, WrongState
from collop.shop import MakingState, NewMaterial


@pytest.fixture
def maker(shop, clock):
    """Return somebody at a stuffer and a grinder that are clean at 08:00."""
    one = Maker(shop, clock)
    shop.day.clean_down(**one.who())
    return one


def meat(amount="4", lot="P-118.07", place="trim"):
    return NewMaterial(lb(amount), lot_id=lot, place=place)


def links(maker, case_id="C22", amount="4", **more):
    """Begin links of beef trim."""
    first = NewMaterial(lb(amount), lot_id=TRIM, place="trim")
    return maker.call("open_batch", "Links with mustard", case_id, first, **more)


def test_a_batch_is_whole_when_each_ingredient_tells_maker_lot_and_allergens(maker, shop):
    """Meat, mustard and salt make 5.00 lb of links; the record closes with nothing missing."""
    made = links(maker)
    assert (made.code, made.case_id, made.species) == ("26160-B-01", "C22", "beef")
    maker.ingredient(made.code, "Mustard seed", "0.5", contains=("mustard",), lot="MS-1")
    maker.ingredient(made.code, "Salt", "0.5", maker="Pan House", lot="S-7")
    maker.ingredient(made.code, "Hog casing", lot="H-2")
    before = case_line(shop, "C22").on_hand
    made = maker.call("produce", made.code, "C22", lb("5"))
    assert case_line(shop, "C22").on_hand - before == lb("5")
    assert made.contains == ("mustard",)
    assert made.missing == ()
    assert maker.call("close", made.code).state is MakingState.CLOSED
    up = {one.lot_id for one in shop.cutting.trace(made.outputs[0].lot_id).up}
    assert {TRIM, "B-41", f"{made.code}-N2", f"{made.code}-N3"} <= up


def test_an_allergen_the_case_line_does_not_declare_is_refused(maker):
    """C22 declares mustard, not sesame; what was refused is not in the batch."""
    made = links(maker)
    with pytest.raises(BadValue, match=r"^C22 does not declare sesame; put it on another"):
        maker.ingredient(made.code, "Tahini", "0.2", contains=("sesame",))
    with pytest.raises(BadValue, match="C22 does not declare milk, soy"):
        maker.ingredient(made.code, "Mix", "0.2", contains=("Dairy", "mustard", "soya"))
    with pytest.raises(BadValue, match="'moonlight' is no allergen known here"):
        maker.ingredient(made.code, "Mix", "0.2", contains=("moonlight",))
    assert len(maker.room.record(made.code).materials) == 1


@pytest.mark.parametrize(("told", "words"), [
    ({"maker": ""}, "maker of Rusk"), ({"lot": ""}, "lot number of Rusk"),
    ({"contains": None}, "allergens of Rusk"),
])  # fmt: skip
def test_a_batch_is_not_closed_while_an_ingredient_is_not_known(maker, told, words):
    """Maker, lot, allergens: each is named until it is told, and then the batch closes."""
    made = links(maker)
    maker.ingredient(made.code, "Rusk", "1", **{"contains": ("mustard",)} | told)
    made = maker.call("produce", made.code, "C22", lb("5"))
    with pytest.raises(WrongState, match=f"lacks: {words}"):
        maker.call("close", made.code)
    fill = {"establishment": "Mill", "supplier_lot": "R-1", "contains": ["mustard"]}
    made = maker.call("fill_material", made.code, made.materials[1].seq, fill)
    assert made.missing == ()
    assert maker.call("close", made.code).state is MakingState.CLOSED


def test_an_allergen_told_late_must_be_declared_too(maker):
    """What is filled in is held to the same rule as what is put in."""
    made = links(maker)
    made = maker.ingredient(made.code, "Rusk", "1", contains=None)
    with pytest.raises(BadValue, match="C22 does not declare wheat"):
        maker.call("fill_material", made.code, made.materials[1].seq, {"contains": ["wheat"]})


def test_links_ground_again_bring_their_allergens_with_them(maker, shop):
    """Beef links with mustard cannot become plain mince: C11 declares none."""
    first = NewMaterial(lb("2"), lot_id="C22-0609", place="case")
    made = maker.call("open", "beef", "G1", "Mince", first)
    assert made.contains == ("mustard",)
    with pytest.raises(BadValue, match="C11 does not declare mustard"):
        maker.call("produce", made.code, "C11", lb("2"))
    assert shop.check() == []


def test_a_batch_without_an_allergen_after_one_with_it_is_told(maker, shop):
    """No clean-down of the stuffer between: mustard was on it; after one, nothing is said."""
    plain = NewMaterial(lb("1"), what="Pork shoulder", establishment="M-2", supplier_lot="P")
    first = links(maker)
    maker.ingredient(first.code, "Mustard seed", "0.1", contains=("mustard",))
    maker.later(5)
    second = maker.call("open_batch", "Plain links", "C20", plain)
    assert second.cautions[0].startswith(f"{first.code} with mustard was made before")
    assert "from memory, not checked" in second.cautions[0]
    maker.clean("stuffer")
    third = maker.call("open_batch", "Plain links", "C20", plain)
    assert not any(first.code in words for words in third.cautions)


def test_meat_straight_from_the_grinder_counts_as_made(maker):
    """Three pounds of a mince lot go into links: that lot was produced, its weight is told."""
    lot = maker.open("3")
    first = NewMaterial(lb("3"), lot_id=lot.code, place="block")
    batch = maker.call("open_batch", "Links", "C22", first)
    lot = maker.room.record(lot.code)
    assert lot.fields[5].told == (f"into {batch.code}",)
    assert (lot.mass.out, lot.mass.left) == (lb("3"), lb("0"))
    assert batch.materials[0].carry_over_of is None
    assert batch.fields[1].told == (f"Beef mince ({lot.code})",)


def test_what_an_ingredient_weighs_is_not_made_up(maker):
    """Spices without a weight add none: more links than was weighed in is refused."""
    made = links(maker, amount="4")
    maker.ingredient(made.code, "Mustard seed", contains=("mustard",))
    with pytest.raises(BadValue, match=r"0\.50 lb too much"):
        maker.call("produce", made.code, "C22", lb("4.5"))


@pytest.mark.parametrize(("call", "error", "words"), [
    (lambda m: links(m, "C99"), NotFound, "no case line 'C99'"),
    (lambda m: links(m, "C19"), BadValue, "B-41F.07 is beef, and"),
    (lambda m: m.call("produce", links(m).code, "C11", lb("1")), BadValue, "a batch for C22"),
    (lambda m: m.call("open_batch", "", "C22", meat()), BadValue, "Name"),
    (lambda m: m.call("open_batch", "x" * 121, "C22", meat()), BadValue, "Name"),
    (lambda m: m.ingredient(links(m).code, "", "1"), BadValue, "What it is"),
    (lambda m: m.ingredient(m.open().code, "Salt", "1"), BadValue, "Only meat goes into mince"),
    (lambda m: m.room.record("x" * 300), NotFound, "no mince lot or batch"),
])  # fmt: skip
def test_what_cannot_be_is_refused_in_one_sentence(maker, call, error, words):
    """Each says what is wrong and where."""
    with pytest.raises(error, match=words):
        call(maker)


def test_a_closed_batch_is_opened_again_with_a_reason_and_both_lines_stay(maker):
    """Closed, opened, closed: the lines are ended, taken back, ended."""
    made = links(maker)
    made = maker.call("produce", made.code, "C22", lb("4"))
    maker.call("close", made.code)
    with pytest.raises(WrongState, match="is closed; open it again first"):
        maker.ingredient(made.code, "Salt", "1")
    with pytest.raises(WrongState, match="closed already"):
        maker.call("close", made.code)
    made = maker.call("reopen", made.code, "salt forgotten")
    assert made.state is MakingState.OPEN
    with pytest.raises(WrongState, match="is not closed"):
        maker.call("reopen", made.code, "again")
    made = maker.call("close", made.code)
    assert [one.what for one in made.events][-3:] == ["ended", "taken back", "ended"]


def test_a_clean_down_of_the_same_minute_does_not_clean_what_was_begun_before(maker):
    """The stuffer is cleaned after the second batch was begun, within the minute: it stays told."""
    plain = NewMaterial(lb("1"), what="Pork shoulder", establishment="M-2", supplier_lot="P")
    first = links(maker)
    maker.ingredient(first.code, "Mustard seed", "0.1", contains=("mustard",))
    maker.later(5)
    second = maker.call("open_batch", "Plain links", "C20", plain)
    maker.shop.day.clean_down("stuffer", **maker.who())
    assert maker.room.record(second.code).cautions[0].startswith(f"{first.code} with mustard")
