"""The page of the cutting plan: the answer, a person's own choice beside it, and worths."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

import hand_plan
import pytest

from collop.errors import Contradiction
from collop.shop.bench_model import PlanInWork
from collop.web.bench_plan_view import compared, gone, proof_words, read_choices
from collop.web.rendering import UNIT_COOKIE

PLAN = "/bench/plan"
BOTH = f"{PLAN}?keep=L-207&do=B-41H:hind-mince:2026-06-11"


@pytest.fixture
def bench(shop):
    """Put a bench with a plan written by hand into the shop."""
    shop.bench = hand_plan.HandBench()
    return shop.bench


@pytest.mark.parametrize("address", [PLAN, BOTH, f"{PLAN}?try=B-41H", f"{PLAN}?do=x&keep=y"])
def test_every_state_has_no_inline_and_names_its_fields(client, bench, read_page, address):
    """No inline script or style, every field named for a reader, every id once."""
    answer = client.get(address)
    assert answer.status_code == 200
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []
    ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
    assert len(ids) == len(set(ids))


def test_the_answer_stands_on_top_with_its_reason(client, bench, words):
    """Day, tag, style, minutes, reason, whom it covers, surplus with its plan, next best."""
    text = words(client.get(PLAN).text)
    answer = text[text.index("What is broken when") : text.index("If it were done otherwise")]
    for part in ("Thu 11 Jun", "B-41H Hindquarter for the case", "146.20 lb", "110 min",
                 "rump runs out on Thursday", "Beef rump 12.40 lb Thu to Fri",
                 "H9 Beef fillet 2.10 lb Thu", "Hangs for H3 20.00 lb of it",
                 "6.00 lb of shin sells at 0.8",
                 "it wins if mince sells at 9.10", "Make Beef mince 10.00 lb, 19.8 % fat, 5 min",
                 "Grind Beef shin 2.00 lb: gives 1.90 lb of trim", "127.5 min at the block",
                 "Left hanging L-207 Lamb 50.50 lb"):  # fmt: skip
        assert part in answer
    assert "New in this plan B-41H moved from Wed to Thu" in text


def test_what_is_short_says_what_would_save_it(client, bench, words):
    """The booking, the cut, the weight, and each way out."""
    text = words(client.get(PLAN).text)
    for part in ("H4 Restaurant , Thu 11 Jun", "2.20 lb Beef hanger and skirt short",
                 "One more side gives 1.9 lb.", "Or on Tuesday 16 June."):  # fmt: skip
        assert part in text
    assert text.index("One more side") < text.index("What is broken when")


def test_nothing_short_is_said_too(client, bench, words):
    """With all bookings covered the strip says so in one line."""
    bench.kept.plan = {**hand_plan.PLAN, "short": [], "answer": "all"}
    text = words(client.get(PLAN).text)
    assert "Every booking is covered." in text
    assert "promised line" not in text


def test_a_choice_becomes_a_link_so_that_back_works(client, bench):
    """The small form leads to an address that carries the new choice and the ones before."""
    sent = f"{PLAN}?keep=L-207&tag=B-41H&style=hind-mince&day=2026-06-11"
    answer = client.get(sent)
    assert answer.status_code == 303
    assert answer.headers["location"] == (
        f"{PLAN}?keep=L-207&do=B-41H%3Ahind-mince%3A2026-06-11#compare"
    )
    again = client.get(f"{PLAN}?keep=L-207&tag=L-207&style=lamb&day=any")
    assert again.headers["location"] == f"{PLAN}?do=L-207%3Alamb%3Aany#compare"
    keep = client.get(f"{PLAN}?do=L-207:lamb:any&tag=L-207&style=keep&day=any")
    assert keep.headers["location"] == f"{PLAN}?keep=L-207#compare"


def test_the_bench_is_asked_with_the_choices(client, bench):
    """A kept piece without style and day, another with both, one with the day left open."""
    client.get(BOTH)
    client.get(f"{PLAN}?do=B-41H:hind-mince:any")
    assert bench.asked == [
        [{"tag": "L-207", "style": None, "day": None},
         {"tag": "B-41H", "style": "hind-mince", "day": 2}],
        [{"tag": "B-41H", "style": "hind-mince", "day": None}],
    ]  # fmt: skip


def test_without_a_choice_nothing_is_worked_out(client, bench, words):
    """The page in force costs no second plan."""
    text = words(client.get(PLAN).text)
    assert bench.asked == []
    assert "This plan" not in text


def test_both_plans_stand_side_by_side_in_words_and_figures(client, bench, words):
    """Both figures and the difference: 1234.56 - 1180.00; 14 lb sold against 13; 1.5 lb spoilt."""
    text = words(client.get(BOTH).text)
    for part in ("Contribution 1,234.56 1,180.00 54.56 less", "Bookings short 1 2 1 more",
                 "Sold over the counter 14.00 lb 13.00 lb 1.00 lb less",
                 "Spoilt 0.00 lb 1.50 lb 1.50 lb more", "Labour 127.5 min 127.5 min the same",
                 "Of it overtime 12.5 min 12.5 min the same",
                 "Your way brings as much"):  # fmt: skip
        assert part in text, part
    assert "Short your way: H9 Rowing club." in text


def test_money_within_what_was_proven_is_called_no_difference(client, bench, words):
    """The changed plan's bound is 55.10 above it: 54.56 may be the proof's own room; then not."""
    assert "the difference is within what was proven, 55.10" in words(client.get(BOTH).text)
    proven = hand_plan.changed_plan()
    proven["proof"] = {"status": "optimal", "gap": 0.0, "bound": "1180.00"}
    bench.rival = lambda *_: proven
    assert "Your way brings 54.56 less" in words(client.get(BOTH).text)


def test_what_becomes_unavailable_and_what_is_there_instead():
    """Rump: 4 wanted on Thursday, 1 sold, none on hand: 3 lb; leg: 2 lb of Thursday are back.

    A shut day counts for nothing though the rump is out on it too.
    """
    other = hand_plan.changed_plan()
    (rump,) = gone(hand_plan.PLAN, other, hand_plan.PROBLEM)
    assert (rump.name, rump.weight.text(), rump.days) == (
        "Beef rump", "3.00 lb", (date(2026, 6, 11),)
    )  # fmt: skip
    (leg,) = gone(other, hand_plan.PLAN, hand_plan.PROBLEM)
    assert (leg.name, leg.weight.text(), leg.days) == ("Lamb leg", "2.00 lb", (date(2026, 6, 11),))


def test_a_plan_against_itself_differs_in_nothing():
    """Every line the same, nothing gone, nothing back."""
    same = compared(hand_plan.PLAN, hand_plan.PLAN, hand_plan.PROBLEM)
    assert all(cell.is_same and cell.word == "" for cell in same.cells)
    assert same.gone == same.back == same.newly_short == ()
    assert same.within == Decimal("0.54")


@pytest.mark.parametrize(
    "do",
    ["B-41H:lamb:any", "B-41H:hind:2026-06-13", "L-207:lamb:2026-06-12", "B-41H", "B-41H::", "",
     ":::::", "B-41H:hind:nan", "Q-1:hind:any", "x" * 3000],
)  # fmt: skip
def test_a_choice_that_does_not_fit_is_dropped_with_a_sentence(client, bench, words, do):
    """Another kind's style, a day outside the plan or past the piece's last, a piece that is gone.

    Nothing is worked out for it.
    """
    choices = read_choices(hand_plan.PROBLEM, [], [do])
    assert choices.made == ()
    assert len(choices.dropped) == 1
    assert choices.dropped[0] in words(client.get(PLAN, params={"do": do}).text)
    assert bench.asked == []


def test_a_refused_choice_keeps_the_page(client, bench, words):
    """The bench's own sentence stands beside the choices."""

    def refuse(*_):
        raise Contradiction("L-207 must be broken by Thursday; it cannot be left hanging.")

    bench.rival = refuse
    answer = client.get(f"{PLAN}?keep=L-207")
    assert answer.status_code == 422
    text = words(answer.text)
    assert "it cannot be left hanging" in text
    assert "L-207 is left hanging" in text


def test_while_a_plan_is_made_the_page_stays(client, bench, words):
    """The sentence stands on the page, for the button and for a choice; 409 both times."""

    def refuse(*_, **__):
        raise PlanInWork("A plan is being made; look again in a minute.")

    bench.rival = bench.refresh = refuse
    for answer in (client.post(PLAN, data={"shown": "1"}), client.get(f"{PLAN}?keep=L-207")):
        assert answer.status_code == 409
        text = words(answer.text)
        assert "A plan is being made; look again in a minute." in text
        assert "No plan was made" not in text
        assert "What is broken when" in text


def test_the_button_sends_the_plan_it_stands_under(client, bench, read_page):
    """Two presses are one plan: the shown number goes along, 0 for none."""
    assert read_page(client.get(PLAN).text).form(PLAN) == {"shown": ["1"]}
    bench.kept = None
    assert read_page(client.get(PLAN).text).form(PLAN) == {"shown": ["0"]}


def test_an_old_plan_says_so_and_is_not_compared(client, bench, words):
    """Two plans of different days would differ for other reasons than the choice."""
    bench.kept.is_current = False
    text = words(client.get(BOTH).text)
    assert "The shop has moved since this plan was made" in text
    assert "Plan again, then compare" in text
    assert bench.asked == []


def test_plan_again_forces_a_plan_and_leads_back(client, bench):
    """A POST, so that going back does not plan again."""
    answer = client.post(PLAN)
    assert (answer.status_code, answer.headers["location"]) == (303, PLAN)
    assert bench.forced == [(True, None)]
    client.post(PLAN, data={"shown": "1"})
    client.post(PLAN, data={"shown": "\u0662"})
    assert bench.forced[1:] == [(True, 1), (True, None)]


def test_a_plan_that_cannot_be_made_keeps_the_one_in_force(client, bench, words):
    """The sentence, and the old plan under it."""

    def refuse(**_):
        raise Contradiction("B-41H has no cutting style; add one.")

    bench.refresh = refuse
    answer = client.post(PLAN)
    assert answer.status_code == 409
    assert "B-41H has no cutting style; add one. No plan was made." in words(answer.text)
    assert "What is broken when" in answer.text


def test_before_the_first_plan_one_button_makes_it(client, bench, words):
    """No plan yet: said, with the way to it."""
    bench.kept = None
    answer = client.get(PLAN)
    assert "No plan is kept yet." in words(answer.text)
    assert 'method="post" action="/bench/plan"' in answer.text


def test_worths_idle_minutes_and_the_proof_are_told(client, bench, words):
    """Cut by day, the bin, the piece, minutes beside those used, an hour's worth, the case."""
    text = words(client.get(PLAN).text)
    for part in ("Beef rump 16.40 16.40 16.40 12.10 0.00", "Beef trim 3.00 3.00 3.00 3.00",
                 "B-41H Beef hindquarter 1,022.10 6.99", "365 used 115, over 12.5",
                 "Worth of one more hour 0.00 0.00 3.00 0.00",
                 "The case holds 600.00 lb; fullest night 512.50 lb.",
                 "Proven: no plan is better by more than 0.06 %.",
                 "A figure of these tests."):  # fmt: skip
        assert part in text, part


@pytest.mark.parametrize(
    ("status", "gap", "said"),
    [("optimal", 0, "Proven: no plan is better."),
     ("optimal", 0.001, "Proven: no plan is better by more than 0.1 %."),
     ("optimal", 0.00061, "Proven: no plan is better by more than 0.07 %."),
     ("optimal", 1e-9, "Proven: no plan is better by more than 0.01 %."),
     ("gap", 0.0312, "Not proven to the end: a better plan may exist, by 3.12 % at most.")],
)  # fmt: skip
def test_the_proof_in_plain_words(status, gap, said):
    """Per cent, rounded up so that it holds."""
    assert proof_words({"proof": {"status": status, "gap": gap, "bound": "1"}}) == said


def test_weights_follow_the_device(client, bench, words):
    """146.2 lb is 66.315 kg at 0.45359237 kg a pound (exact by definition)."""
    client.cookies.set(UNIT_COOKIE, "kg")
    assert "66.315 kg" in words(client.get(PLAN).text)


@pytest.fixture
def planned(client, shop):
    """Plan the demo week by the button, as a person does."""
    assert client.post(PLAN).status_code == 303
    return shop.bench.latest()


def test_the_demo_week_is_planned_and_told(client, planned, words):
    """Every break and every piece left hanging, each short booking; the money lines add up."""
    text = words(client.get(PLAN).text)
    assert len(planned.plan["breaks"]) > 3
    for one in planned.plan["breaks"]:
        assert f"{one['tag']} {one['style_name']}" in text
        assert not one["say"] or one["say"] in text
    assert all(f"{one['tag']} " in text for one in planned.plan["kept"])
    assert all(one["say"] in text for one in planned.plan["short"])
    told = text[text.index("What it brings") : text.index("Worth of one more")]
    total, *parts = (
        Decimal(one.replace(",", "")) for one in re.findall(r"-?[0-9,]+\.[0-9]{2}", told)
    )
    assert total == Decimal(planned.plan["contribution"]) == sum(parts)


def test_no_own_choice_beats_the_plan_by_more_than_was_proven(client, planned, shop, words):
    """The demo's first broken piece left hanging: other breaks, and no more money."""
    tag = planned.plan["breaks"][0]["tag"]
    text = words(client.get(f"{PLAN}?keep={tag}").text)
    assert f"{tag} is left hanging" in text
    other = shop.bench.rival(planned, [{"tag": tag, "style": None, "day": None}])
    assert tag not in {one["tag"] for one in other["breaks"]}
    told = compared(planned.plan, other, planned.problem)
    assert told.cells[0].by <= told.within
    assert f"{told.cells[0].this:,.2f} {told.cells[0].other:,.2f}" in text
