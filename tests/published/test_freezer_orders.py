"""Take-home of a household's order against published bands, rib steaks, and the storage chart.

Source ids and titles are those of the reference tables: ``WISLAMB`` How Much Meat Should a Lamb
Yield?; ``SLIDELAMB`` Market Sheep (Anatomy and Cuts); ``MSU70`` How much to expect when buying
freezer beef: Part Two; ``NPPC184`` the 184-lb hog; ``WFLAMB`` the 75-lb lamb of Kansas State;
``NORMSIDE`` Side of beef information; ``COLDCHART`` Storage times for the refrigerator and freezer.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.carcass import large_cuts
from collop.carcass.freezer import freezer_order
from collop.carcass.freezer_ways import TAKE_HOME, usual_form
from collop.carcass.shrink import published_range
from collop.reference import carcass_rules, yield_rows
from collop.reference.rulebook import rule_row


def _all(species, piece, weight, bone, **part):
    """Return the plan of a whole piece with every large cut on the bone, or boned."""
    choices = [
        {"large_cut": cut.name, "bone": bone,
         "as": usual_form(cut.name) if bone == "in" else "roasts"}
        for cut in large_cuts(species)
    ]  # fmt: skip
    one = {"piece": f"{species} {piece}", "weight": weight, "choices": choices} | part
    plan = freezer_order({"schema": "collop.freezer/1", "parts": [one]})
    return plan["parts"][0]


def test_lamb_on_the_bone_and_boneless_lie_in_the_published_bands():
    """WISLAMB (seen): 65 to 75 % bone-in regular trim, 43 to 50 % boneless close trim.

    On the bone it holds by construction (the outer trim is set to 70 %, SLIDELAMB); boneless tests.
    """
    for bone, quantity in (("in", "cutting_yield_bone_in"), ("out", "cutting_yield_boneless")):
        band = published_range(quantity, "lamb")
        assert band.basis.is_cited
        found = Decimal(_all("lamb", "carcass", "52.0", bone)["meat_pct"])
        assert band.low <= found <= band.high


@pytest.mark.parametrize(
    ("species", "piece", "weight", "printed", "within"),
    [
        ("lamb", "carcass", "60", "42", "0.05"),
        ("beef", "side", "300", "210", "0.05"),
        ("beef", "side", "350", "245", "0.05"),
        # two sides print 559, by rounding of parts
        ("beef", "side", "400", "279.5", "0.55"),
        ("pork", "side", "92", "70", "0.15"),
    ],
)
def test_cut_on_the_bone_a_carcass_gives_the_published_pounds(
    species, piece, weight, printed, within
):
    """SLIDELAMB 42 of 60; MSU70 420, 490, 559 of 600, 700, 800; NPPC184 140 of 184 (all seen).

    By construction: the outer trim is set to these rows. It shows that it is set right, no more.
    """
    rows = carcass_rules("cutting_yield_take_home", species=species, cited_only=True)
    assert TAKE_HOME[species] in {row.source.source_id for row in rows}
    found = Decimal(_all(species, piece, weight, "in")["meat"])
    assert abs(found - Decimal(printed)) <= Decimal(within)


@pytest.mark.parametrize(
    ("species", "piece"), [("beef", "side"), ("pork", "side"), ("lamb", "carcass")]
)
def test_boneless_gives_less_than_bone_in(species, piece):
    """All sources agree: bone out takes less home; beef stays over the 49.6 % of UC31651 (seen)."""
    on_bone, boned = (Decimal(_all(species, piece, "90", bone)["meat"]) for bone in ("in", "out"))
    assert boned < on_bone
    if species == "beef":
        (row,) = carcass_rules("worked_example_live_to_take_home", source_id="UC31651")
        assert Decimal(362) / 730 == row.figure / 730 < boned / 90


def test_the_75_lb_lamb_lies_between_bone_in_and_boneless():
    """WFLAMB (seen): 47.7 lb of part-boned cuts of 75 lb hot; its leg of 16.8 lb within 1.5."""
    rows = yield_rows("LAMB_75_KSU_CUTS")
    assert all(row.is_cited for row in rows)
    printed = sum(Decimal(row.lb) for row in rows)
    on_bone, boned = (_all("lamb", "carcass", "75", bone) for bone in ("in", "out"))
    assert Decimal(boned["meat"]) < printed < Decimal(on_bone["meat"])
    (leg,) = [row for row in rows if row.primal == "leg"]
    ours = sum(Decimal(one["weight"]) for one in on_bone["lines"] if one["large_cut"] == "leg")
    assert abs(ours - Decimal(leg.lb)) < Decimal("1.5")


@pytest.mark.parametrize(("bone", "pounds"), [("in", "15"), ("out", "10")])
def test_a_small_side_s_rib_is_about_ten_steaks(bone, pounds):
    """NORMSIDE (seen): 15 lb of rib on the bone, or 10 lb boneless, is about 10 steaks at 1.25 in.

    By construction too, as the pounds of an inch are taken from it. Other plants cut 14 of a half
    at 3/4 in (CUTSAMPLE, seen), of a rib whose weight is not told.
    """
    (row,) = carcass_rules("lean_rib_example", cited_only=True)
    assert "about 10 steaks at 1.25 in" in row.inputs
    share = {"in": Decimal("0.60"), "out": Decimal("0.36")}[bone] * Decimal("0.995")
    choice = {"large_cut": "rib", "bone": bone, "as": "steaks", "thickness": "1.25"}
    one = {
        "piece": "beef forequarter", "large_cuts": ["rib"], "trimmed": True, "choices": [choice],
        "weight": str(round(Decimal(pounds) / share, 2)),
    }  # fmt: skip
    plan = freezer_order({"schema": "collop.freezer/1", "parts": [one]})
    steaks = plan["parts"][0]["lines"][0]
    assert abs(Decimal(steaks["weight"]) - Decimal(pounds)) < Decimal("0.1")
    assert steaks["pieces"] == 10


def test_storage_times_are_the_chart_s():
    """COLDCHART (seen): steaks 6-12, chops 4-6, roasts 4-12, mince 3-4 months in a freezer."""
    choices = [
        {"large_cut": "rack", "as": "steaks"}, {"large_cut": "leg", "as": "steaks"},
        {"large_cut": "shoulder", "as": "roasts"},
    ]  # fmt: skip
    one = {"piece": "lamb carcass", "weight": "50", "choices": choices}
    plan = freezer_order({"schema": "collop.freezer/1", "parts": [one]})
    told = {one["kind"]: one["freezer"] for one in plan["storage"]}
    assert told == {
        "steaks": "6-12 mo", "chops": "4-6 mo", "roasts": "4-12 mo", "mince": "3-4 mo",
    }  # fmt: skip
    for one in plan["storage"]:
        assert rule_row(one["rule_id"]).is_cited
        assert not one["from_memory"]
