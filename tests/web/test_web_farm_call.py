"""The Farm Call: what to say on the phone, counts as typed, and where the surplus goes."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

import hand_plan
import pytest

from collop.errors import Contradiction, WrongState
from collop.measures import Weight, WeightUnit
from collop.web import farm_call
from collop.web.farm_call_view import cuts_shown, weeks
from collop.web.farm_call_words import Words
from collop.web.rendering import Shown

FARM = "/farm"


class Bench:
    """Stands for the shop's bench: keeps the weeks it was asked for."""

    def __init__(self):
        self.weeks = []

    def farm_problem(self, week_of=None):
        """Return the problem written by hand."""
        self.weeks.append(week_of)
        return hand_plan.FARM

    def farm_notes(self, _week_of=None):
        """Return what the shop takes for granted."""
        return ("Goat has no season row.",)


@pytest.fixture
def bench(shop, monkeypatch):
    """Put a farm call written by hand into the shop; `problems` are what the kernel was asked."""
    shop.bench = Bench()
    shop.bench.problems = []

    def plan(problem):
        shop.bench.problems.append(problem)
        return hand_plan.farm_plan(problem)

    monkeypatch.setattr(farm_call, "_kernel", plan)
    monkeypatch.setattr(farm_call, "_memory", farm_call.Memory())
    return shop.bench


@pytest.mark.parametrize("address", [FARM, f"{FARM}?lamb=3", f"{FARM}?lamb=x&side=-1"])
def test_every_state_has_no_inline_and_names_its_fields(client, bench, read_page, address):
    """No inline script or style, every field named for a reader, every id once."""
    answer = client.get(address)
    assert answer.status_code in {200, 422}
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []
    ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
    assert len(ids) == len(set(ids))


def test_the_sentence_for_the_phone_stands_first(client, bench, words):
    """What to say, then counts with weight, cost, one more and one less in money."""
    answer = client.get(FARM)
    text = words(answer.text)
    assert text.index("Two lambs and one beef side for the week of 15 June 2026.") < text.index(
        "Animals"
    )
    for part in ("104.00 lb 660.00 -12.40 -31.00", "310.00 lb 1,705.00 -210.00 none",
                 "One more lamb brings 12.40 less.", "expected from the week 2,310.40",
                 "one week in ten under 1,900.00", "one in ten over 2,650.00"):  # fmt: skip
        assert part in text, part
    assert (
        'name="lamb" type="text" inputmode="numeric" class="w3" autocomplete="off" value="2"'
        in (answer.text)
    )


def test_surplus_standing_orders_and_cooler_are_told_with_words(client, bench, words):
    """Never by colour alone: OVER, CAPPED, FULL."""
    text = words(client.get(FARM).text)
    for part in ("OVER 6.0 lb of lamb breast: 2.0 lb marked down to 4.08, the rest ground.",
                 "Restaurant asks 6.00 lb, gets 1.90 lb CAPPED",
                 "6.0 lb of hanger and skirt is 7 sides; two sides give 1.9.",
                 "Cooler: 1550.00 lb of 1600.00 lb", "FULL : the cooler, not the customers",
                 "Lamb leg 36.00 lb 32.00 lb 4.00 lb 1.50 lb 31.50 lb 1.00 lb over 45 %",
                 "Lamb breast 6.00 lb 6.00 lb none none 12.00 lb 6.00 lb over 2 %",
                 "Beef in a summer week: 1.075 (E05, computed).", "Goat has no season row.",
                 "Proven: no plan is better."):  # fmt: skip
        assert part in text, part


def test_counts_as_typed_are_worked_out_against_the_best(client, bench, words):
    """Three lambs: 2,298.00 against 2,310.40 is 12.40 less; the kernel may order nothing else."""
    answer = client.get(f"{FARM}?week=2026-06-15&lamb=3&side=")
    assert "bring 12.40 less than two lambs and one beef side, and leave 0.50 lb less" in words(
        answer.text
    )
    assert "best 2" in words(answer.text)
    assert "One more lamb brings" not in words(answer.text)
    free, typed = bench.problems
    assert free == hand_plan.FARM
    assert typed["animals"] == [{"id": "lamb", "name": "Lamb", "least": 3, "most": 3},
                                hand_plan.FARM["animals"][1]]  # fmt: skip
    assert 'href="/farm?week=2026-06-15"' in answer.text


def test_going_back_works_nothing_out_again(client, bench):
    """The same counts twice: two problems in all."""
    for _ in range(2):
        client.get(FARM)
        client.get(f"{FARM}?lamb=3")
    assert len(bench.problems) == 2


@pytest.mark.parametrize(
    ("typed", "said"),
    [("x", "Lamb: write a whole number"), ("-1", "Lamb: -1 is too few; enter 0 or more."),
     ("2.5", "Lamb: write a whole number"), ("999", "Lamb: 999 is too many"),
     ("nan", "Lamb: write a whole number"), ("9" * 400, "Lamb: write a whole number")],
)  # fmt: skip
def test_a_count_that_cannot_be_read_is_told_at_its_field(client, bench, words, typed, said):
    """One sentence; what was typed stays, and the best answer stays below."""
    answer = client.get(FARM, params={"lamb": typed})
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert f'value="{typed}"' in answer.text
    assert 'href="#f-lamb"' in answer.text
    assert "Two lambs and one beef side" in answer.text


def test_counts_the_cooler_cannot_hold_keep_the_best_answer(client, bench, monkeypatch, words):
    """The kernel's sentence, with what was typed; the best stays."""

    def refuse(problem):
        if problem["animals"][0]["least"]:
            raise Contradiction("Nine lambs do not fit the cooler; order at most six.")
        return hand_plan.farm_plan(problem)

    monkeypatch.setattr(farm_call, "_kernel", refuse)
    answer = client.get(f"{FARM}?lamb=9")
    assert answer.status_code == 409
    assert "Nine lambs do not fit the cooler" in words(answer.text)
    assert "Two lambs and one beef side" in answer.text
    assert 'value="9"' in answer.text


def test_a_week_is_chosen_by_link(client, bench, words):
    """The weeks ahead; anything else is the next one, and a notice says so."""
    answer = client.get(f"{FARM}?week=2026-06-22")
    assert 'class="notice"' not in answer.text
    assert 'class="notice"' not in client.get(FARM).text
    for bad in ("1999-01-01", "x"):
        text = words(client.get(f"{FARM}?week={bad}").text)
        assert "none that can be ordered for; this is next week." in text
    assert bench.weeks == [date(2026, 6, 22), *[date(2026, 6, 15)] * 3]
    assert '<a class="button" href="/farm?week=2026-06-22" aria-current="true">' in answer.text


@pytest.mark.parametrize("today", [date(2026, 6, 8), date(2026, 6, 9), date(2026, 6, 14)])
def test_weeks_begin_on_mondays_after_today(today):
    """On a Monday, a Tuesday and a Sunday the next week is that of 15 June 2026, a Monday."""
    found = weeks(today)
    assert found[0] == date(2026, 6, 15)
    assert {one.weekday() for one in found} == {0}


def test_a_shop_without_animals_is_told_why_nothing_is_worked_out(client, bench, words):
    """The service's sentence and the weeks; no table."""

    def refuse(_):
        raise WrongState("Nothing was ever received, so there is nothing to order by.")

    bench.farm_problem = refuse
    answer = client.get(FARM)
    assert answer.status_code == 409
    assert "Nothing was ever received" in words(answer.text)
    assert "<table" not in answer.text


def test_cuts_with_most_surplus_stand_first_on_one_scale():
    """Breast 6 lb over first; 36 lb wanted is the whole width, 12 lb of it 33 %; nothing left."""
    breast, leg = cuts_shown(hand_plan.farm_plan(hand_plan.FARM), Words.of("lb", "lb"))
    assert (breast.cut["id"], breast.wanted_bar, breast.made_bar) == ("C03", 17, 33)
    assert (leg.cut["id"], leg.wanted_bar, leg.made_bar) == ("C01", 100, 88)


@pytest.mark.parametrize("device", ["lb", "kg"])
def test_every_row_closes_as_it_is_shown(shop, device):
    """Wanted is met and short, on hand and made are met and over, to the last digit shown."""
    few = {"count": 3, "seed": 1, "common_cv": 0.15}
    plan = farm_call._kernel({**shop.bench.farm_problem(date(2026, 6, 15)), "scenarios": few})
    show, cuts = Shown(device), cuts_shown(plan, Words.of(plan["unit"], device))
    assert len(cuts) > 20
    for one in cuts:
        wanted, met, short, on_hand, made, over = (
            Decimal(show.weight(weight).split()[0])
            for weight in (one.wanted, one.met, one.short, one.on_hand, one.made, one.over)
        )
        assert wanted == met + short
        assert on_hand + made == met + over
        told = Weight.of(one.cut["wanted"], WeightUnit(plan["unit"])).exact(WeightUnit(device))
        assert abs(Fraction(wanted) - told) <= Fraction(3, 100)


def test_a_device_in_kilograms_reads_its_sentences_so(client, bench, words):
    """6 lb are 2.7 kg, 2 and 4 lb of it 0.9 and 1.8: they add up; no pound is left on the page."""
    client.cookies.set("collop_unit", "kg")
    text = words(client.get(FARM).text)
    for part in ("Lamb breast: 2.7 kg more than sells at the board price in a usual week.",
                 "Plan: 0.9 kg more sold by a lower price, 4.08 more than at the board price;",
                 "price; 1.8 kg ground, 7.20.", "2.7 kg of hanger and skirt is 7 sides",
                 "Lamb breast 2.721 kg 2.721 kg none none 5.443 kg 2.722 kg over"):  # fmt: skip
        assert part in text, part
    assert " lb" not in text.partition("Farm Call week of")[2]


@pytest.mark.parametrize(
    ("said", "read"),
    [("They weigh 2,205 lb and cost 10.00.", "They weigh 1,000.2 kg and cost 10.00."),
     ("0.53 lb less is short.", "0.24 kg less is short."),
     ("each lb short counts as 4.54, the dearest", "each kg short counts as 10.01, the dearest"),
     ("Case C31 and 40 weeks.", "Case C31 and 40 weeks.")],
)  # fmt: skip
def test_sentences_are_said_in_the_unit_of_the_device(said, read):
    """By 0.45359237 kg a pound, to a tenth, under one to a hundredth; pounds stay as they are."""
    assert Words.of("lb", "kg").say(said) == read
    assert Words.of("lb", "lb-oz").say(said) == said


ROOM = {"rail": "1600", "hanging": "350.6"}
HEAVY = {**hand_plan.FARM, "room": ROOM,
         "animals": [{"id": "lamb", "name": "Lamb", "weight": "52", "least": 0, "most": 6},
                     {"id": "side", "name": "Beef side", "weight": "328.5", "least": 0,
                      "most": 4}]}  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [({"side": "20"}, "side", "20 beef sides weigh 6,570 lb; the rail carries 1,600 lb,"),
     ({"side": "5"}, "side", "1,600 lb, and 350.6 lb hang on it already. Order fewer."),
     ({"lamb": "9", "side": "3"}, "side", "Nine lambs and three beef sides weigh 1,453.5 lb;"),
     ({"lamb": "30", "side": "1"}, "lamb", "30 lambs and one beef side weigh 1,888.5 lb;")],
)  # fmt: skip
def test_what_the_rail_cannot_carry_is_told_at_the_heaviest_count(
    client, bench, monkeypatch, words, typed, field, said
):
    """One plain sentence at a field, nothing of keys; the kernel is not asked."""
    monkeypatch.setattr(bench, "farm_problem", lambda _week=None: HEAVY)
    answer = client.get(FARM, params=typed)
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert f'href="#f-{field}"' in answer.text
    assert "$." not in answer.text
    assert len(bench.problems) == 1


def test_what_the_rail_carries_is_worked_out(client, bench, monkeypatch):
    """Three sides and four lambs weigh 1,193.5 lb: there is room for 1,249.4."""
    monkeypatch.setattr(bench, "farm_problem", lambda _week=None: HEAVY)
    assert client.get(FARM, params={"lamb": "4", "side": "3"}).status_code == 200


def test_the_rail_leads_to_plan_and_farm_call(client, read_page):
    """From where the animals hang to what is done with them, and to the next ones."""
    assert {"/bench/plan", "/farm"} <= set(read_page(client.get("/rail").text).links)


def test_the_demo_shop_is_told_what_to_order(client, shop, monkeypatch, words):
    """The shop's own problem and the kernel, on three weeks that may come; then as typed."""
    kernel, problem = farm_call._kernel, shop.bench.farm_problem(date(2026, 6, 15))
    few = {"count": 3, "seed": 1, "common_cv": 0.15}
    monkeypatch.setattr(farm_call, "_kernel", lambda asked: kernel({**asked, "scenarios": few}))
    monkeypatch.setattr(farm_call, "_memory", farm_call.Memory())
    text = words(client.get(FARM).text)
    best = kernel({**problem, "scenarios": few})
    assert best["say"][0] in text
    assert all(one["say"] in text for one in (*best["ends"], *best["standing"]))
    first = best["orders"][0]
    typed = client.get(FARM, params={first["id"]: str(first["count"] + 1)})
    assert typed.status_code == 200
    assert f"best {first['count']}" in words(typed.text)
    way, by = re.search(r"bring ([0-9,.]+) (less|more) than", words(typed.text)).group(2, 1)
    by = Decimal(by.replace(",", "")) * (-1 if way == "less" else 1)
    # two sums of money, each rounded to the cent
    assert abs(by - Decimal(first["one_more"]["money"])) <= Decimal("0.01")
