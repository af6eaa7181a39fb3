"""What a refusal of the fire teaches: sure rows take nothing away that can be cooked."""

from __future__ import annotations

from fractions import Fraction

import pytest

from collop.spread import make_plan
from collop.spread.ceilings import plenty_caps
from collop.spread.firing import Hearth
from collop.spread.model import build_model
from collop.spread.model_fire import loads_beside
from collop.spread.need import unions
from collop.spread.options import usable_options
from collop.spread.picks import Pick
from collop.spread.refusals import MOST_REFUSALS, refusal_row
from spread.asked import ask, offer, plan, read

TWO_HALVES = {"zones": [{"name": "left", "area_sq_in": 100}, {"name": "right", "area_sq_in": 100}],
              "minutes": 90}  # fmt: skip


def bird(offer_id="bird", price="2.00", pounds="4.00"):
    return offer(
        offer_id, price, species="chicken", pieces_lb=[pounds], free_lb=pounds, minutes=[45, 75],
        boneless_fraction=0.7, grill_sq_in_per_lb=34, method="opened flat, covered grill",
    )  # fmt: skip


def steak(offer_id="steak", price="12.00"):
    return offer(offer_id, price, minutes=[10, 18], grill_sq_in_per_lb=40, method="direct grill")


def modelled(problem):
    """Return (model, picks of one step or piece each) of an ask."""
    options, _ = usable_options(problem)
    needs = unions(problem, problem.offers)
    caps = plenty_caps(problem, needs, Fraction(5, 4))
    model = build_model(problem, options, needs, caps=caps, slow_line=False)
    return model, [Pick(o, (1,) + (0,) * (len(o.parts) - 1)) for o in options]


def test_a_bird_that_no_half_holds_is_never_cut_over_two():
    """136 sq in fit neither half of 100, though the halves together hold it: steaks instead."""
    found = plan(ask(bird(), steak(), fire=TWO_HALVES))
    assert found["answer"] == "yes"
    for spread in found["spreads"]:
        assert [line["id"] for line in spread["lines"]] == ["steak"]
        assert spread["proof"]["status"] == "optimal"


def test_where_nothing_else_is_there_the_refusal_is_the_answer():
    """The bird alone: no, for the fire, whose figures are told; longer coals do not help."""
    found = plan(ask(bird(pounds="5.00"), heads=2, fire=TWO_HALVES))
    assert found["answer"] == "no"
    assert "fire" in found["blocked_by"]
    assert "170 sq in" in found["why_no"]
    assert "fire" not in {yes["change"] for yes in found["nearest_yes"]}


def test_a_sure_row_names_the_fewest_lines_that_cannot_be_cooked():
    """Steak and bird are refused together because of the bird alone."""
    problem = read(ask(bird(), steak(), fire=TWO_HALVES))
    model, picks = modelled(problem)
    row, is_sure = refusal_row(Hearth(problem), model, picks, "refused")
    assert is_sure
    use = next(u for u, o in zip(model.used, model.options, strict=True) if o.offer.id == "bird")
    assert (row.terms, row.high) == (((use, 1.0),), 0)


def test_too_much_of_what_fits_is_a_guess_and_takes_the_set_away():
    """Nine pounds of steak do not fit, half a pound does: the row is not sure."""
    problem = read(ask(steak(), fire={"zones": [TWO_HALVES["zones"][0]], "minutes": 30}))
    model, (pick,) = modelled(problem)
    row, is_sure = refusal_row(Hearth(problem), model, [Pick(pick.option, (900,))], "refused")
    assert not is_sure
    assert row.high == 0


def test_what_is_slow_leaves_others_fewer_loads():
    """A roast of 40 min rested 15 is on by 55 before: coals of 60 are out 5 after the meal."""
    roast = offer("roast", minutes=[20, 40], method="covered grill",
                  cook={"rest_min": 15, "hold_min": 45})  # fmt: skip
    quick = offer("quick", minutes=[8, 13], method="direct grill",
                  cook={"rest_min": 5, "hold_min": 10})  # fmt: skip
    fire = {"zones": TWO_HALVES["zones"][:1], "minutes": 60}
    options, _ = usable_options(read(ask(roast, quick, fire=fire)), rounds=True)
    slow = next(one for one in options if one.offer.id == "roast")
    fast = next(one for one in options if one.offer.id == "quick")
    assert fast.waves == 3
    # first off at most 15 before, last 5 after the meal, 15 minutes a load: 1 + 20 // 15
    assert loads_beside(slow, fast, 60) == 2
    assert loads_beside(fast, slow, 60) == slow.waves
    # coals of 35 minutes would be out 20 before the meal, and steaks wait no longer than 15
    assert loads_beside(slow, fast, 35) == 0


def test_two_that_cannot_be_on_one_fire_are_never_shown_together():
    """Ribs of 60 min rested 20, thin steaks that wait for nobody, coals of 62 minutes."""
    ribs = offer("ribs", "4.00", free_lb="1.20", minutes=[40, 60], method="covered grill",
                 grill_sq_in_per_lb=20, cook={"rest_min": 20})  # fmt: skip
    thin = offer("thin", "6.00", minutes=[3, 5], method="direct grill",
                 grill_sq_in_per_lb=20, cook={"rest_min": 3, "hold_min": 0})  # fmt: skip
    fire = {"zones": [{"name": "grill", "area_sq_in": 300}], "minutes": 62}
    found = plan(ask(ribs, thin, fire=fire))
    assert found["answer"] == "yes"
    for spread in found["spreads"]:
        assert [line["id"] for line in spread["lines"]] == ["thin"]
        # refused in the least amounts too, so the proof stands
        assert spread["proof"]["status"] == "optimal"


class FussyHearth(Hearth):
    """A fire that refuses every spread with more than so much of one cut."""

    def can_cook(self, picks):
        """Refuse over 1.2 lb of the cheap cut."""
        return all(p.mlb <= 1200 for p in picks if p.option.offer.id == "cheap")

    def cannot_cook(self, picks):
        """Tell the same as proven."""
        return not self.can_cook(picks)


@pytest.fixture
def fussy(monkeypatch):
    monkeypatch.setattr("collop.spread.setting.Hearth", FussyHearth)


@pytest.mark.usefixtures("fussy")
def test_a_guess_is_never_called_optimal():
    """1.2 lb of the cheap cut could be cooked beside the other; the answer says its gap."""
    problem = read(ask(offer("cheap", "5.00"), offer("dear", "9.00"), want=1))
    (spread,) = make_plan(problem).spreads
    assert [line.option.offer.id for line in spread.lines] == ["dear"]
    assert spread.status == "gap"
    # the bound is the worth of 1.75 lb of the cheap cut
    assert spread.gap > 0


def test_an_aim_is_given_up_after_so_many_refusals():
    """More single lines are refused than tried: no answer, and that is a no."""
    birds = [bird(f"bird{n}", f"{2 + n}.00", f"{4 + n / 10:.2f}") for n in range(3)]
    assert len(birds) < MOST_REFUSALS
    found = plan(ask(*birds, steak(), fire=TWO_HALVES))
    assert {line["id"] for s in found["spreads"] for line in s["lines"]} == {"steak"}
