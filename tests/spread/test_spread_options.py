"""What can be used at all: thaw, days left, cooking time, place, pieces, styles."""

from __future__ import annotations

from datetime import datetime, timedelta
from fractions import Fraction

import pytest

from collop.spread.options import is_slow, usable_options
from spread.asked import NOW, ask, first, group, line_of, offer, plan, read, rules

GRILL = {"zones": [{"name": "direct", "area_sq_in": 400}], "minutes": 60}


def at(hours):
    return {
        "now": NOW,
        "use_at": (datetime.fromisoformat(NOW) + timedelta(hours=hours)).isoformat(),
    }


def used(problem):
    """Return the ids of usable offers, and the limit each other one runs into."""
    options, left_out = usable_options(read(problem))
    return {one.offer.id for one in options}, {one.offer_id: one.limit for one in left_out}


def limit(problem):
    return used(problem)[1].get("A")


@pytest.mark.parametrize(
    ("pounds", "hours", "fits"),
    [("5.00", 32.0, False), ("5.00", 32.1, True), ("1.00", 26.0, False), ("1.00", 26.1, True)],
)
def test_frozen_weight_counts_only_if_thaw_and_cooking_fit(pounds, hours, fits):
    """Six hours a pound, never under a day, then two hours on the fire and five minutes of rest."""
    frozen = offer("A", free_lb=pounds, frozen_lb=pounds, minutes=[60, 120])
    assert (limit(ask(frozen, **at(hours))) is None) == fits
    assert limit(ask(frozen, **at(hours))) in (None, "use_at")


def test_pieces_thaw_side_by_side():
    """Three ducks of 5.2 lb take as long as one: 31.2 h and the cooking."""
    ducks = offer(
        "A", pieces_lb=["5.20"] * 3, frozen_lb="15.60", free_lb="15.60", minutes=[90, 130]
    )
    assert limit(ask(ducks, **at(21))) == "use_at"
    assert limit(ask(ducks, **at(33))) == "use_at"
    assert limit(ask(ducks, **at(34))) is None


def test_the_fresh_part_of_a_half_frozen_line_can_be_had_at_once():
    """Four of ten pounds are frozen: six are free for tonight."""
    half = offer("A", frozen_lb="4.00")
    (option,), _ = usable_options(read(ask(half, **at(5))))
    assert option.free_mlb == 6000
    assert plan(ask(half, heads=14, **at(5)))["answer"] == "no"
    assert plan(ask(half, heads=14, **at(48)))["answer"] == "yes"


def test_without_an_hour_nothing_frozen_is_offered_and_it_is_said():
    """The hour is not known: assume nothing thaws."""
    frozen = offer("A", frozen_lb="10.00")
    assert limit(ask(frozen)) == "use_at"
    told = plan(ask(frozen, offer("B")))["assumptions"]
    assert any("nothing frozen is offered" in text for text in told)


@pytest.mark.parametrize(("days", "usable"), [(0, False), (1, False), (2, True), (30, True)])
def test_nothing_is_used_after_its_last_day(days, usable):
    """The meal is the day after tomorrow."""
    assert (limit(ask(offer("A", days_left=days), **at(48))) is None) == usable


def test_what_is_past_its_day_already_is_never_used():
    """Minus one day left needs no hour of the meal to be refused."""
    assert limit(ask(offer("A", days_left=-1))) == "use_at"
    assert limit(ask(offer("A", days_left=0))) is None


def test_what_cooks_longer_than_there_is_time_is_left_out():
    """Three hours of braising do not fit two; three and the five minutes of rest do."""
    slow = offer("A", minutes=[120, 180])
    assert limit(ask(slow, **at(2))) == "use_at"
    assert limit(ask(slow, **at(3))) == "use_at"
    assert limit(ask(slow, **at(3.1))) is None


@pytest.mark.parametrize(
    ("method", "fire", "fits"),
    [
        ("direct grill", GRILL, True),
        ("direct grill", {"zones": [], "oven": True, "minutes": 60}, True),
        ("direct grill", {"zones": [], "pots": 2, "minutes": 60}, False),
        ("direct grill", {"zones": [{"name": "direct", "area_sq_in": 0}], "minutes": 60}, False),
        ("braise", GRILL, False),
        ("Braise", {**GRILL, "pots": 1}, True),
        ("pot roast", {**GRILL, "pots": 1}, True),
        ("braise", {**GRILL, "oven": True}, True),
        ("covered grill or oven", GRILL, True),
        ("oven", GRILL, True),  # under the lid
        ("low oven or smoke", GRILL, True),
    ],
)
def test_each_method_has_its_place_or_is_left_out(method, fire, fits):
    """Grill, oven or pot: what cooks nowhere here is not offered, and what does is planned."""
    cut = offer("A", method=method, minutes=[20, 30], grill_sq_in_per_lb=30)
    problem = ask(cut, fire=fire)
    assert limit(problem) == (None if fits else "fire")
    assert plan(problem)["answer"] == ("yes" if fits else "no")


def test_what_needs_longer_than_the_coals_last_is_left_out():
    """Ninety minutes do not fit an hour of fire."""
    assert limit(ask(offer("A", method="direct grill", minutes=[60, 90]), fire=GRILL)) == "fire"
    assert limit(ask(offer("A", method="direct grill", minutes=[50, 60]), fire=GRILL)) is None


def test_a_stew_needs_a_pot_or_an_oven_and_two_hours():
    """A stew is never grilled and never hurried."""
    stew = offer("A", styles=["stew"], eating={"stew": 0.7}, method="direct grill")
    need = {"need_oz": {"stew": 4}}
    assert limit(ask(stew, **need)) is None
    assert limit(ask(stew, fire=GRILL, **need)) == "fire"
    potted = {**GRILL, "pots": 1}
    assert limit(ask(stew, fire=potted, **need)) is None
    assert limit(ask(stew, fire=potted, **need, **at(1.9))) == "use_at"


def test_a_line_lies_in_the_zone_its_method_names():
    """`direct` finds its zone; without a namesake any will do but the meat-free side."""
    zones = [{"name": name, "area_sq_in": 200} for name in ("Direct", "indirect", "meat-free side")]
    fire = {"zones": zones, "minutes": 60}
    cuts = [offer("A", method="direct grill", grill_sq_in_per_lb=9),
            offer("B", method="indirect then direct", grill_sq_in_per_lb=9),
            offer("C", method="skewers", grill_sq_in_per_lb=9)]  # fmt: skip
    options, _ = usable_options(read(ask(*cuts, fire=fire)))
    places = {one.offer.id: one.place for one in options}
    assert places == {
        "A": {"Direct"},
        "B": {"Direct", "indirect"},
        "C": {"Direct", "indirect"},
    }


@pytest.mark.parametrize(
    ("minutes", "hold", "rounds", "waves"),
    [
        (60, 240, False, 1), (30, 240, False, 1), (29, 240, False, 2), (19, 240, False, 2),
        (18, 240, False, 3), (5, 240, False, 3),
        # a steak is good for ten minutes after its rest; 45 more in a further round
        (18, None, False, 1), (8, None, False, 2), (5, None, False, 2), (3, None, False, 3),
        (29, None, True, 2), (18, None, True, 3), (60, None, True, 1),
        (12, 0, False, 1), (12, 0, True, 3),
    ],
)  # fmt: skip
def test_as_many_loads_as_coals_and_plates_wait_but_never_over_three(minutes, hold, rounds, waves):
    """Sixty minutes of coals, two minutes between loads, the first still good with the last."""
    cut = offer("A", method="direct grill", minutes=[1, minutes], grill_sq_in_per_lb=30,
                cook={"hold_min": hold})  # fmt: skip
    (option,), _ = usable_options(read(ask(cut, fire=GRILL)), rounds=rounds)
    assert option.waves == waves
    assert option.strip_per_lb == Fraction(30, waves)


@pytest.mark.parametrize(
    ("cook", "words", "fire", "method"),
    [
        ({}, "direct grill", GRILL, "direct"),
        ({}, "covered grill or oven", GRILL, "indirect"),
        ({}, "indirect then direct", GRILL, "indirect then direct"),
        ({"method": "indirect"}, "direct grill", GRILL, "indirect"),
        ({"method": "oven"}, "direct grill", GRILL, "indirect"),
        ({}, "covered grill or oven", GRILL | {"oven": True}, "oven"),
        ({"method": "oven then direct"}, "low oven, finish on grill", GRILL | {"oven": True},
         "oven then direct"),
        ({"method": "oven then direct"}, "low oven, finish on grill", GRILL | {"minutes": 240},
         "indirect then direct"),
        ({}, "low oven, finish on grill", GRILL | {"oven": True}, "oven then direct"),
        ({}, "low oven, finish on grill", {"zones": [], "oven": True}, "oven"),
        ({}, "low oven or smoke", GRILL, "indirect"),
        ({}, "braise", GRILL | {"pots": 1}, "pot"),
        ({}, "braise", GRILL | {"oven": True}, "oven"),
    ],
)  # fmt: skip
def test_the_method_is_what_the_shop_says_where_this_fire_can(cook, words, fire, method):
    """`cook.method` counts before the words of the offer; what cooks indoors is not on the fire."""
    cut = offer("A", method=words, minutes=[20, 30], grill_sq_in_per_lb=30, cook=cook)
    (option,), _ = usable_options(read(ask(cut, fire=fire)))
    assert option.method == method


def test_a_cut_is_offered_in_each_style_it_suits_and_that_is_allowed():
    """Plate and wrap are allowed; stew is not, and a cut for stew alone is left out."""
    cuts = [offer("A", styles=["plate", "wrap", "stew"], eating={"plate": 0.4, "wrap": 0.8}),
            offer("B", styles=["stew"], eating={"stew": 0.9})]  # fmt: skip
    problem = ask(*cuts, need_oz={"plate": 7, "wrap": 5})
    options, left_out = usable_options(read(problem))
    assert {(one.offer.id, one.style) for one in options} == {("A", "plate"), ("A", "wrap")}
    assert [(one.offer_id, one.limit) for one in left_out] == [("B", "style")]
    assert {line["style"] for line in first(problem)["lines"]} == {"wrap"}


def test_bones_and_empty_lines_are_left_out_with_their_reason():
    """No edible part, nothing free, no piece left, nobody to eat it, not asked for."""
    cuts = [offer("bone", boneless_fraction=0.0), offer("none", free_lb="0"),
            offer("crumb", free_lb="0.009"), offer("sold", pieces_lb=[]),
            offer("pork", species="pork"), offer("other"), offer("A")]  # fmt: skip
    problem = ask(*cuts, groups=[group(4, "species:pork")],
                  rules=rules(only=["bone", "none", "crumb", "sold", "pork", "A"]))  # fmt: skip
    found, limits = used(problem)
    assert found == {"A"}
    assert limits == {"bone": "style", "none": "stock", "crumb": "stock", "sold": "stock",
                      "pork": "don't-eats", "other": "only"}  # fmt: skip
    told = {one["id"]: one["why"] for one in plan(problem)["unusable"]}
    assert set(told) == set(limits)
    assert all(told.values())


def test_a_piece_is_taken_whole_with_its_real_weight():
    """Birds of 4.10, 4.10 and 3.95 lb: the plan names the pieces, none is cut."""
    birds = offer("A", pieces_lb=["4.10", "3.95", "4.10"], free_lb="12.15", boneless_fraction=0.68)
    line = first(ask(birds, heads=6))["lines"][0]
    assert line["pieces"] == ["3.95"]
    two = first(ask(birds, heads=8))["lines"][0]
    assert sorted(two["pieces"]) == ["3.95", "4.10"]
    assert two["weight_lb"] == "8.05"


def test_weights_finer_than_a_hundredth_are_written_out():
    """A piece of 4.125 lb keeps its third decimal."""
    line = first(ask(offer("A", pieces_lb=["4.125"], free_lb="4.125"), heads=6))["lines"][0]
    assert (line["weight_lb"], line["pieces"]) == ("4.125", ["4.125"])


@pytest.mark.parametrize(
    ("cover", "days", "slow"),
    [(6.0, 4, True), (4.0, 4, False), (2.0, 0, True), (1.0, 0, False), (None, 4, False),
     (6.0, None, False)],
)  # fmt: skip
def test_slow_is_what_lasts_longer_than_it_keeps(cover, days, slow):
    """Days of cover against days left, and at least one day."""
    found = read(ask(offer("A", cover_days=cover, days_left=days)))
    assert is_slow(found.offers[0]) == slow


def test_help_is_the_price_less_the_shadow_price_or_what_would_be_left():
    """With a shadow price of 4 a pound at 10 helps by 6; half left over helps by half."""
    shadow, left = offer("A", worth_per_lb="4.00"), offer("B", cover_days=8, days_left=4)
    options, _ = usable_options(read(ask(shadow, left, offer("C"))))
    assert {one.offer.id: one.help_per_lb for one in options} == {"A": 600, "B": 500, "C": 0}


def test_a_slow_cut_is_in_the_spread_unless_it_would_cost_more_than_the_money():
    """The slow cut comes first, and gives way to the budget."""
    slow = offer("S", "30.00", days_left=2, cover_days=9)
    problem = ask(offer("A"), slow, rules=rules(help_animal=True, one_in=2))
    assert line_of(first(problem), "S")["slow"]
    tight = first(problem | {"budget_total": "18.00"})
    assert [line["id"] for line in tight["lines"]] == ["A"]


def test_a_body_gives_the_minutes_of_the_heat_model_whatever_the_offer_says():
    """A thicker steak takes longer, and the offer's own minutes do not count beside a body."""

    def minutes(thickness, told):
        body = {"form": "steak", "thickness_mm": thickness, "measured": True}
        cut = offer("A", method="direct grill", minutes=told, cook={"body": body})
        (option,), _ = usable_options(read(ask(cut, fire=GRILL)))
        return option.times.planned

    assert minutes(20, [1, 2]) == minutes(20, [30, 50])
    assert minutes(20, [1, 2]) < minutes(32, [1, 2])


@pytest.mark.parametrize(("form", "method"), [("roast", "indirect"), ("steak", "direct")])
def test_what_the_heat_never_brings_to_its_core_is_left_out_in_words(form, method):
    """A piece as thick as four hands that nobody timed is no option on any coals, and no error."""
    body = {"form": form, "thickness_mm": 390}
    cut = offer("A", method="direct grill", grill_sq_in_per_lb=9,
                cook={"body": body, "method": method})  # fmt: skip
    assert limit(ask(cut, fire=GRILL)) == "fire"
    assert limit(ask(cut, fire=GRILL | {"minutes": 400})) == "fire"
    assert plan(ask(cut, offer("B", method="direct grill", minutes=[9, 12]),
                    fire=GRILL))["answer"] == "yes"  # fmt: skip


@pytest.mark.parametrize("treatment", ["tenderised", "injected", "rolled", "ground"])
def test_what_a_blade_or_needle_has_gone_through_is_cooked_as_ground(treatment):
    """The published minimum of mince, 160 degF, is told for it; 145 for the whole cut."""
    whole = first(ask(offer("A", species="beef")))
    assert line_of(whole, "A")["cook_to"]["f"] == 145
    pierced = first(ask(offer("A", species="beef", cook={"treatment": treatment})))
    assert line_of(pierced, "A")["cook_to"]["f"] == 160


def test_what_the_shop_cooks_in_a_pot_needs_one():
    """`cook.method` pot: no grill does, a pot does."""
    cut = offer("A", method="", minutes=[60, 90], grill_sq_in_per_lb=9, cook={"method": "pot"})
    assert limit(ask(cut, fire=GRILL)) == "fire"
    spread = first(ask(cut, fire=GRILL | {"pots": 1}))
    assert spread["loads"] == []
