"""Every cutting style closes, and what is expected closes to the last thousandth of a pound."""

from __future__ import annotations

import dataclasses
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass import (
    PIECES,
    SPECIES,
    PartKind,
    Standing,
    cut_by_id,
    cuts_of,
    expected,
    large_cuts,
    piece_named,
    starting_plan,
    style_named,
    styles_of,
)
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit

STYLES = [
    style
    for species in SPECIES
    for cut in large_cuts(species)
    for style in styles_of(species, cut.name)
] + [style for piece in PIECES for style in styles_of(piece.species, piece.name)]


def label(style):
    """Return a readable id of a style."""
    return f"{style.species}-{style.of}-{style.name}"


def pounds(amount) -> Weight:
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


@pytest.mark.parametrize("style", STYLES, ids=label)
def test_every_style_closes_to_one_with_its_loss(style):
    """Shares are exact, none is negative, and they sum to 1."""
    assert style.total == 1
    assert all(isinstance(share.fraction, Fraction) for share in style.shares)
    assert all(share.fraction > 0 for share in style.shares)


@pytest.mark.parametrize("style", STYLES, ids=label)
def test_every_share_names_what_it_rests_on(style):
    """No share is without standing; the shop's own are never cited; recalled ones are marked."""
    for share in style.shares:
        assert share.basis.text()
        if share.basis.standing is Standing.SHOP:
            assert "common practice, no published source" in share.basis.text()
        assert share.basis.is_cited == (share.basis.standing in {"seen", "computed"})


@pytest.mark.parametrize("style", STYLES, ids=label)
def test_a_named_cut_is_of_the_same_animal(style):
    """An output that is a cut of the catalogue belongs to the animal it came from."""
    for share in style.shares:
        if share.cut_id:
            assert cut_by_id(share.cut_id).species == style.species


@pytest.mark.parametrize("style", STYLES, ids=label)
def test_labour_is_told_with_its_mark_or_not_at_all(style):
    """Minutes come with what they rest on."""
    assert (style.minutes is None) or (style.minutes.low > 0 and style.minutes_basis is not None)


def test_fat_and_bone_are_told_apart_only_where_the_source_does():
    """A line that prints fat and bone together stays one; fat alone is fat."""
    kinds = {share.part: share.kind for style in STYLES for share in style.shares}
    assert kinds["fat and bone"] is PartKind.FAT_BONE
    assert kinds["fat trim"] is PartKind.FAT
    assert kinds["back for stock"] is PartKind.BONE


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.title)
def test_every_piece_has_a_loss_line_and_a_starting_plan(piece):
    """Each thing that hangs has a plan in order, closing to 1, loss last."""
    (style,) = styles_of(piece.species, piece.name)
    assert style.shares[-1].kind is PartKind.LOSS
    plan = starting_plan(piece.species, piece.name)
    assert sum(part.fraction for part in plan) == 1
    assert [part.order for part in plan] == list(range(1, len(plan) + 1))
    assert plan[-1].kind is PartKind.LOSS
    assert {part.place for part in plan} <= {"case", "trim", "fat", "bone", "drip"}
    kinds = [part.kind for part in plan if part.kind is not PartKind.CUT]
    assert len(kinds) == len(set(kinds))


def test_the_knife_meets_the_shank_first_and_the_chuck_last():
    """A starting plan follows the order in which a forequarter is broken."""
    cuts = [part for part in starting_plan("beef", "forequarter") if part.kind is PartKind.CUT]
    order = list(dict.fromkeys(part.large_cut for part in cuts))
    assert order == ["shank", "brisket", "short plate", "rib", "chuck"]


def test_one_cut_from_two_large_cuts_is_one_tile():
    """Diced goat of neck and shoulder goes on the scale once, and lies in no single large cut."""
    choices = {"neck and breast": "diced on the bone", "shoulder": "diced on the bone"}
    (diced,) = (p for p in starting_plan("goat", "carcass", choices) if p.cut_id == "G011")
    assert diced.large_cut == ""
    assert diced.fraction > Fraction(4, 10)


def test_the_standing_of_a_plan_line_is_the_weakest_of_its_parts():
    """Trim put together from recalled and own figures is not better than the worst of them."""
    (trim,) = (part for part in starting_plan("beef", "side") if part.kind is PartKind.TRIM)
    assert trim.basis.standing is Standing.SHOP


def test_a_side_is_its_two_quarters():
    """Fore and hind quarter, at 53 and 47 of 100, give what the side gives."""

    def shares(piece):
        return {
            (part.part, part.cut_id): part.fraction for part in starting_plan("beef", piece)
        }  # fmt: skip

    fore, hind, side = shares("forequarter"), shares("hindquarter"), shares("side")
    for key in set(fore) | set(hind):
        whole = fore.get(key, 0) * Fraction(53, 100) + hind.get(key, 0) * Fraction(47, 100)
        assert side[key] == whole


@st.composite
def _cut_up(draw):
    piece = draw(st.sampled_from(PIECES))
    unit = draw(st.sampled_from(list(WeightUnit)))
    count = draw(st.integers(1, 10**14))
    choices = {}
    for share in styles_of(piece.species, piece.name)[0].shares:
        if share.kind is PartKind.LARGE:
            styles = styles_of(piece.species, share.part)
            choices[share.part] = draw(st.sampled_from(styles)).name
    return piece.title, Weight(count, unit), choices


@given(_cut_up())
def test_expected_closes_exactly_at_any_weight_and_in_any_styles(case):
    """Outputs sum to the weight of the piece, and none is off by a whole step."""
    title, weight, choices = case
    outputs = expected(title, weight, choices)
    assert sum(output.weight.count for output in outputs) == weight.count
    assert sum(output.fraction for output in outputs) == 1
    step = Weight.of("0.001", WeightUnit.LB).count + Weight.of(1, WeightUnit.G).count
    for output in outputs:
        assert output.weight.count >= 0
        assert abs(output.weight.count - weight.count * output.fraction) < step


@given(st.integers(1, 2_000_000), st.sampled_from(PIECES))
def test_a_pound_scale_gives_thousandths_of_a_pound(thousandths, piece):
    """A weight in whole scale steps is divided into whole scale steps."""
    weight = pounds(Fraction(thousandths, 1000))
    for output in expected(piece.title, weight):
        assert (output.weight.exact(WeightUnit.LB) * 1000).denominator == 1


def test_a_gram_scale_gives_whole_grams():
    """A metric weight stays metric."""
    outputs = expected("whole chicken", Weight.of("1.512", WeightUnit.KG))
    assert all(output.weight.exact(WeightUnit.G).denominator == 1 for output in outputs)
    assert {output.weight.unit for output in outputs} == {WeightUnit.KG}


def test_the_same_piece_always_gives_the_same():
    """Ties of the rounding are broken by order, not by chance."""
    first = expected("beef side", pounds("324.4"))
    assert first == expected("beef side", pounds("324.4"))


def test_a_choice_changes_its_large_cut_and_nothing_else():
    """Seaming the chuck does not touch the rib."""
    usual = expected("beef forequarter", pounds("166.7"))
    seamed = expected("beef forequarter", pounds("166.7"), {"CHUCK": "single-muscle value cuts"})

    def without_chuck(outputs):
        return [(o.part, o.fraction) for o in outputs if o.large_cut != "chuck"]

    assert without_chuck(usual) == without_chuck(seamed)
    assert {o.style for o in seamed if o.large_cut == "chuck"} == {"single-muscle value cuts"}


@pytest.mark.parametrize(
    ("choices", "message"),
    [
        ({"round": "seamed boneless"}, "round is no part of a beef forequarter; leave it out"),
        ({"chuck": "for the dog"}, "'for the dog' is no style of chuck; use one of: boneless"),
        ({"wing": "x"}, "'wing' is no large cut of beef; use one of: shank; brisket"),
        ({"chuck": "", "shoulder": ""}, "chuck has two styles; choose one"),
    ],
)
def test_a_choice_that_cannot_be_is_one_sentence_with_its_path(choices, message):
    """What does not belong to the piece is refused, with what does."""
    with pytest.raises(BadValue, match=message) as caught:
        expected("beef forequarter", pounds(100), choices, where="$.choices")
    assert caught.value.where.startswith("$.choices.")


@pytest.mark.parametrize("amount", ["0", "-1"])
def test_no_weight_cannot_be_cut(amount):
    """A piece weighs more than nothing."""
    with pytest.raises(BadValue, match="cannot be cut; weigh it again"):
        expected("whole duck", pounds(amount))


@pytest.mark.parametrize(
    ("text", "species", "title"),
    [
        ("beef forequarter", "", "beef forequarter"),
        ("forequarter, one side", "beef", "beef forequarter"),
        ("hindquarter, same side", "beef", "beef hindquarter"),
        ("whole side (quartered on rail)", "beef", "beef side"),
        ("half, right", "pig", "pork side"),
        ("whole (half is sold: order H3)", "lamb", "lamb carcass"),
        ("whole", "goat kid", "goat carcass"),
        ("Goat kid", "", "goat carcass"),
        ("whole chicken", "", "whole chicken"),
        ("duck", "", "whole duck"),
    ],
)
def test_a_piece_is_known_as_people_write_it(text, species, title):
    """A rail tag need not use the plan's own words."""
    assert piece_named(text, species).title == title


@pytest.mark.parametrize(
    ("text", "species"),
    [("beef", ""), ("pork leg", ""), ("horse side", ""), ("", ""), ("lamb side", "")],
)
def test_a_piece_without_a_plan_is_refused(text, species):
    """Beef alone may be a side or a quarter: it is not guessed."""
    with pytest.raises(BadValue, match="is no piece with a plan; use one of beef forequarter"):
        piece_named(text, species)


def test_large_cuts_are_found_by_other_names():
    """A ham is a leg, a rump (Commonwealth) a sirloin."""
    assert styles_of("pork", "ham") == styles_of("pork", "leg")
    assert style_named("beef", "sirloin", "").name == "seamed to single muscles"
    with pytest.raises(BadValue, match="is no large cut of lamb"):
        styles_of("lamb", "brisket")


def test_a_style_cannot_be_changed():
    """Knowledge is frozen."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        STYLES[0].name = "other"


def test_each_large_cut_can_be_cut():
    """No large cut is without a style, and every animal has cuts."""
    for species in SPECIES:
        assert cuts_of(species)
        for cut in large_cuts(species):
            assert styles_of(species, cut.name)
            assert cut.zone in {"middle", "end", "other"}


def test_a_style_is_as_good_as_its_weakest_share():
    """A recalled remainder makes a published share a recalled style; pounds stay computed."""
    assert style_named("lamb", "loin", "boneless rolled").standing is Standing.MEMORY
    assert style_named("beef", "flank", "").standing is Standing.COMPUTED
    assert style_named("beef", "brisket", "").standing is Standing.SHOP
