"""What would save a short promise: each change told, put into the problem, does save it.

Figures are invented; how a butcher makes good a short order is common practice, no published
source.
"""

from __future__ import annotations

import copy
from decimal import Decimal

import jsonschema
import pytest
from hypothesis import given, settings

from bench.benched import weeks
from collop.bench import bench, saving_trial
from collop.bench.bench_plan_schema import PLAN
from collop.bench.checker import check_plan
from collop.bench.reading import read_problem
from collop.bench.saving import HOURS, _several
from collop.bench.saving_animals import MOST_MORE
from collop.bench.saving_trial import Budget

DATES = ["2026-06-09", "2026-06-10", "2026-06-11", "2026-06-12"]


def cut(name, **more):
    """Return a line of the case that nobody buys but by booking."""
    return {"id": name, "name": f"Cut {name}", "species": "beef", "price": "10.00",
            "keeps_days": 5, "usual": ["0"] * 4, "elasticity": 1.5, "steps": ["1"],
            "salvage": "0", "ground": None, "left": None, "stock": [], **more}  # fmt: skip


def style(name, minutes="0", **shares):
    """Return a style that gives shares of cuts; the rest is bone."""
    rest = 1 - sum((Decimal(share) for share in shares.values()), Decimal(0))
    outputs = [{"cut": key, "share": share} for key, share in shares.items()]
    bone = [{"worth": "0", "name": "bone", "share": str(rest)}] if rest else []
    return {"id": name, "name": name, "minutes": minutes, "outputs": outputs + bone}


def kind(name, *styles, label=None):
    """Return a kind of piece."""
    return {"id": name, "name": label or name.capitalize(), "species": "beef", "holds_days": 0,
            "styles": list(styles)}  # fmt: skip


def piece(tag, of, weight, **more):
    """Return a piece that may be broken on any day."""
    return {"tag": tag, "kind": of, "weight": weight, "shrink_per_day": "0", "from": 0,
            "until": None, "must": False, "worth_left": "0", "claims": [], **more}  # fmt: skip


def booking(name, due, **lines):
    """Return a booking of weights by cut."""
    return {"id": name, "name": f"Booking {name}", "due": due, "lines": [
        {"cut": key, "weight": weight, "price": None} for key, weight in lines.items()
    ]}  # fmt: skip


def hand(minutes="100", **more):
    """Return one at the block."""
    return {"name": "Marek", "minutes": [minutes] * 4, "overtime": ["0"] * 4,
            "per_hour": "24.00", "overtime_per_hour": "36.00", "cannot": [], **more}  # fmt: skip


def shop(**more):
    """Return a shop of four open days in which nothing is asked yet."""
    return {"schema": "collop.bench/1", "name": "", "currency": "USD", "rounding": "half-up",
            "unit": "lb", "days": [{"day": day, "open": True} for day in DATES],
            "hands": [hand()], "case_room": None, "kinds": [], "rail": [], "cuts": [], "bins": [],
            "makes": [], "bookings": [], "locks": [], "before": None, "gap": 0, "reasons": True,
            **more}  # fmt: skip


def onglet():
    """Return the standing order of 6.0 lb of a cut of which a hindquarter gives 0.006.

    Two pounds are in the case and 146.2 lb hang: 2.923 + 0.877 are there, 2.2 are not.
    """
    return shop(
        kinds=[kind("beef hindquarter", style("hind", C9="0.006", C1="0.7"))],
        cuts=[cut("C9", stock=[{"weight": "2.923", "days_left": 5, "lot": ""}]), cut("C1")],
        rail=[piece("B-41H", "beef hindquarter", "146.2", worth_left="550.00")],
        bookings=[booking("H4", 2, C9="6.0")],
    )


def sound(problem):
    """Return the plan of a problem, checked, and as its schema has it."""
    plan = bench(problem)
    assert check_plan(read_problem(problem), plan) == []
    jsonschema.validate(plan, PLAN)
    return plan


def saves(plan, at=0):
    """Return the changes of one short row by what they change."""
    return {one["change"]: one for one in plan["short"][at]["saves"]}


def changed(problem, row, save):
    """Return the problem with a told change put in."""
    other = copy.deepcopy(problem)
    if save["change"] == "animal":
        count, name = save["to"].split(" x ")
        hang = [one for one in other["rail"] if one["kind"] == name]
        weight = sum(Decimal(one["weight"]) for one in hang) / len(hang)
        left = sum(Decimal(one["worth_left"]) for one in hang) / len(hang)
        at_work = [day for day in range(row["due"] + 1)
                   if any(Decimal(one["minutes"][day]) for one in other["hands"])]  # fmt: skip
        other["rail"] += [
            piece(f"new {at}", name, f"{weight:.3f}", worth_left=f"{left:.2f}",
                  **{"from": max(at_work, default=row["due"])})
            for at in range(int(count))
        ]  # fmt: skip
    if save["change"] == "date":
        for one in other["bookings"]:
            if one["id"] == row["booking"]:
                one["due"] = [day["day"] for day in other["days"]].index(save["to"])
    if save["change"] == "weight":
        for one in other["bookings"]:
            if one["id"] == row["booking"]:
                line = next(line for line in one["lines"] if line["cut"] == row["cut"])
                line["weight"] = save["to"]
    return other


def is_met(plan, row):
    """Return whether no line of that cut of that booking is short."""
    return not any(
        one["booking"] == row["booking"] and one["cut"] == row["cut"] for one in plan["short"]
    )


# the standing order that no animal in the house can fill


def test_what_is_there_caps_a_promise():
    """Of 6.0 lb asked, 3.8 can be promised: 2.923 in the case and 0.877 off the hindquarter."""
    plan = sound(onglet())
    assert plan["short"][0]["weight"] == "2.2"
    told = saves(plan)["weight"]
    assert told == {"change": "weight", "to": "3.8",
                    "say": "3.8 lb can be promised; 2.2 lb less."}  # fmt: skip
    again = sound(changed(onglet(), plan["short"][0], told))
    assert again["answer"] == "all"


def test_animals_needed_are_what_division_says():
    """2.2 lb at 0.006 x 146.2 = 0.8772 lb each: two and a half hindquarters, so three."""
    problem = onglet()
    plan = sound(problem)
    told = saves(plan)["animal"]
    assert told["to"] == "3 x beef hindquarter"
    assert told["say"] == (
        "3 more beef hindquarters hanging by Thu would cover it: each gives 0.88 lb."
    )
    assert is_met(sound(changed(problem, plan["short"][0], told)), plan["short"][0])
    fewer = {**told, "to": "2 x beef hindquarter"}
    assert not is_met(sound(changed(problem, plan["short"][0], fewer)), plan["short"][0])


def test_neither_hours_nor_days_make_meat():
    """Where the meat is lacking, no longer day and no later one is told."""
    assert set(saves(sound(onglet()))) == {"animal", "weight"}


def test_a_herd_that_no_shop_could_hang_is_not_asked_for():
    """Forty hindquarters give 35 lb; of 60 lb asked only the weight there is can be promised."""
    problem = onglet()
    problem["bookings"] = [booking("H4", 2, C9="60.0")]
    assert list(saves(sound(problem))) == ["weight"]
    assert MOST_MORE * Decimal("0.8772") < Decimal("60.0") - Decimal("3.8")


def test_nothing_of_it_is_said_so():
    """A cut that nothing gives cannot be promised at all."""
    problem = shop(cuts=[cut("C9")], bookings=[booking("H4", 1, C9="2.0")])
    plan = sound(problem)
    assert plan["short"][0]["saves"] == [
        {"change": "weight", "to": "0", "say": "None of it can be promised."}
    ]


def test_the_cheapest_kind_is_asked_for_first():
    """One dear side or three cheap quarters would do: the quarters cost less in all."""
    problem = shop(
        kinds=[kind("side", style("a", C9="0.06")), kind("quarter", style("b", C9="0.04"))],
        cuts=[cut("C9")],
        rail=[piece("S-1", "side", "100.0", worth_left="900.00"),
              piece("Q-1", "quarter", "50.0", worth_left="100.00")],
        bookings=[booking("H4", 1, C9="13.0")],
    )  # fmt: skip
    plan = sound(problem)  # 6 + 2 are there; 5 are short
    assert saves(plan)["animal"]["to"] == "3 x quarter"
    problem["rail"][0]["worth_left"] = "200.00"
    assert saves(sound(problem))["animal"]["to"] == "1 x side"


def test_a_large_cut_gives_its_cut_as_well():
    """A cut that comes off a large cut counts: 0.5 x 0.4 x 10 lb is 2 lb an animal."""
    problem = shop(
        kinds=[
            {**kind("lamb"), "styles": [{"id": "whole", "name": "whole", "minutes": "0",
             "outputs": [{"kind": "saddle", "share": "0.5"},
                         {"worth": "0", "name": "rest", "share": "0.5"}]}]},
            kind("saddle", style("chops", C9="0.4")),
        ],
        cuts=[cut("C9")], rail=[piece("L-1", "lamb", "10.0")],
        bookings=[booking("H4", 1, C9="5.0")],
    )  # fmt: skip
    told = saves(sound(problem))["animal"]
    assert told["to"] == "2 x lamb"
    assert told["say"].endswith("each gives 2 lb.")


def test_mince_is_made_of_the_trim_of_more_animals():
    """Mince that is short asks for the animal whose trim it is made of."""
    problem = shop(
        kinds=[{**kind("side"), "styles": [{"id": "s", "name": "s", "minutes": "0", "outputs": [
            {"bin": "trim", "share": "0.2"}, {"cut": "C1", "share": "0.8"}]}]}],
        cuts=[cut("C9"), cut("C1")], rail=[piece("S-1", "side", "50.0")],
        bins=[{"id": "trim", "name": "Trim", "species": "beef", "fat": "0.2", "keeps_days": 4,
               "worth": "1.00", "stock": []}],
        makes=[{"cut": "C9", "name": "Mince", "bins": ["trim"], "fat_max": None, "fat_min": None,
                "added": "0", "added_cost": "0", "cost_per_unit": "0", "minutes_per_unit": "0"}],
        bookings=[booking("H4", 1, C9="25.0")],
    )  # fmt: skip
    plan = sound(problem)
    told = saves(plan)["animal"]
    assert told["to"] == "2 x side"
    assert "each gives up to 10 lb" in told["say"]
    assert is_met(sound(changed(problem, plan["short"][0], told)), plan["short"][0])


# hours


def busy():
    """Return a shop with 100 minutes a day, where two of three sides can be cut by Wednesday."""
    return shop(
        hands=[hand("100")],
        kinds=[kind("side", style("s", "90", C9="0.5"))], cuts=[cut("C9")],
        rail=[piece(f"S-{at}", "side", "20.0") for at in range(3)],
        bookings=[booking("H4", 1, C9="30.0")],
    )  # fmt: skip


def test_hours_are_told_where_only_hours_lack():
    """A third side by Wednesday takes 90 minutes and 10 are spare: 80 more, told as two hours."""
    problem = busy()
    plan = sound(problem)
    row, told = plan["short"][0], saves(plan)["hours"]
    assert told["to"] == "120"
    assert told["say"] == "2 hours more at the bench by Wed would do it."
    for minutes, met in (("60", False), ("120", True)):
        other = copy.deepcopy(problem)
        other["hands"][0]["overtime"][1] = minutes
        assert is_met(sound(other), row) is met


def test_a_later_day_is_told_where_it_can_be_cut_by_then():
    """The third side is cut on Thursday."""
    problem = busy()
    plan = sound(problem)
    row, told = plan["short"][0], saves(plan)["date"]
    assert told == {"change": "date", "to": "2026-06-11", "say": "From Thu 11 Jun it is there."}
    assert is_met(sound(changed(problem, row, told)), row)


def test_a_closed_day_is_no_date():
    """Nobody can collect on Thursday if the shop is closed: Friday it is."""
    problem = busy()
    problem["days"][2]["open"] = False
    assert saves(sound(problem))["date"]["to"] == "2026-06-12"


def test_more_animals_do_not_help_hands_that_are_full():
    """Where only hours lack, no animal is told."""
    assert set(saves(sound(busy()))) == {"date", "hours", "weight"}


def test_one_who_is_not_in_does_not_stay_longer():
    """Nobody works on the days up to the booking: no hours are told."""
    problem = busy()
    problem["hands"][0]["minutes"] = ["0", "0", "300", "300"]
    assert "hours" not in saves(sound(problem))


# promises that vie with one another


def test_what_the_change_brings_goes_to_the_dearer_promise_first():
    """A line is saved only by so many animals that the dearer one short of the same cut is, too."""
    problem = shop(
        kinds=[kind("side", style("s", C9="0.1"))], cuts=[cut("C9")],
        rail=[piece("S-1", "side", "10.0", until=0)],
        bookings=[booking("H1", 1, C9="2.0"), booking("H2", 1, C9="3.0")],
    )  # fmt: skip
    problem["bookings"][0]["lines"][0]["price"] = "12.00"
    plan = sound(problem)  # 1 lb is there and goes to H1
    told = {row["booking"]: saves(plan, at)["animal"]["to"] for at, row in enumerate(plan["short"])}
    assert told == {"H1": "1 x side", "H2": "4 x side"}
    for at, row in enumerate(plan["short"]):
        assert is_met(sound(changed(problem, row, saves(plan, at)["animal"])), row)


def test_a_date_that_makes_another_promise_shorter_is_not_told():
    """Moved to Thursday, H1 would take what is H2's on Thursday."""
    problem = shop(
        hands=[hand("90")], kinds=[kind("side", style("s", "90", C9="0.5"))], cuts=[cut("C9")],
        rail=[piece("S-1", "side", "20.0", **{"from": 2}),
              piece("S-2", "side", "20.0", **{"from": 3})],
        bookings=[booking("H1", 0, C9="10.0"), booking("H2", 2, C9="10.0")],
    )  # fmt: skip
    plan = sound(problem)
    assert [row["booking"] for row in plan["short"]] == ["H1"]
    assert saves(plan)["date"]["to"] == "2026-06-12"


# claims, and pieces that must be broken


def claimed(**more):
    """Return a side that H9 hangs on, which takes longer than the hands have by Wednesday."""
    claim = {"booking": "H9", "name": "Half for Ada", "weight": "10.0", "due": 1}
    return shop(
        hands=[hand() | {"minutes": ["60", "60", "90", "90"]}],
        kinds=[kind("side", style("s", "90", C9="0.5"))], cuts=[cut("C9")],
        rail=[piece("S-1", "side", "20.0", worth_left="80.00", claims=[claim]) | more],
    )  # fmt: skip


def test_a_claim_that_is_not_met_is_listed():
    """It says what hangs, and that half an hour more or Thursday would do."""
    problem = claimed()
    plan = sound(problem)
    row = plan["short"][0]
    assert [row[key] for key in ("booking", "name", "cut", "cut_name", "weight", "due")] == [
        "H9", "Half for Ada", None, "Side S-1", "10", 1,
    ]  # fmt: skip
    assert plan["answer"] == "short"
    assert row["say"] == (
        "Half for Ada (H9) hangs on Side S-1, which cannot be broken by Wed 10 Jun."
    )
    told = saves(plan)
    assert {change: one["to"] for change, one in told.items()} == {
        "date": "2026-06-11", "hours": "30",
    }  # fmt: skip
    later = copy.deepcopy(problem)
    later["rail"][0]["claims"][0]["due"] = 2
    assert bench(later)["answer"] == "all"
    longer = copy.deepcopy(problem)
    longer["hands"][0]["overtime"][1] = "30"
    assert bench(longer)["answer"] == "all"


def test_those_who_share_a_piece_wait_together():
    """Two claims on one side: a later day is told of both."""
    problem = claimed()
    problem["rail"][0]["claims"].append(
        {"booking": "H8", "name": "", "weight": "5.0", "due": 0})  # fmt: skip
    plan = sound(problem)
    assert [row["booking"] for row in plan["short"]] == ["H9", "H8"]
    for at in (0, 1):
        assert saves(plan, at)["date"]["say"] == ("From Thu 11 Jun it is there, if H9 and H8 wait.")


def test_a_piece_that_must_be_broken_and_is_not_is_listed():
    """A piece due by Wednesday that nobody has the time for is short as a whole."""
    plan = bench(claimed(claims=[], must=True, until=1))
    row = plan["short"][0]
    assert (row["booking"], row["cut"], row["cut_name"], row["weight"]) == (
        "",
        None,
        "Side S-1",
        "20",
    )
    assert row["say"] == "Side S-1 was to be broken by Wed 10 Jun and cannot be."
    assert (plan["answer"], set(saves(plan))) == ("short", {"date", "hours"})


# the case


def test_a_night_over_the_room_of_the_case_is_told():
    """Ten pounds that are there do not fit five: five over each night, and it says so."""
    stock = [{"weight": "10.0", "days_left": 1, "lot": ""}]
    problem = shop(cuts=[cut("C9", stock=stock)], case_room="5")
    plan = sound(problem)
    assert plan["case_room"]["over"] == ["5", "0", "0", "0"]
    assert plan["assumptions"][-1] == (
        "The case holds 5 lb and must hold 10 lb on Tue night: no way to cut keeps within it."
    )
    hushed = copy.deepcopy(plan)
    hushed["case_room"]["over"][0] = "0"
    assert any("over its room" in rule for rule in check_plan(read_problem(problem), hushed))
    del hushed["case_room"]["over"]
    assert any("over its room" in rule for rule in check_plan(read_problem(problem), hushed))


def test_a_case_with_room_is_over_on_no_night():
    """Nothing is said of a case that holds what it has to."""
    problem = onglet() | {"case_room": "300"}
    plan = sound(problem)
    assert plan["case_room"]["over"] == ["0"] * 4
    assert not any("The case holds" in one for one in plan["assumptions"])


# at large


def short_money(problem, plan):
    """Return what a plan leaves short, in money."""
    prices = {one["id"]: one["price"] for one in problem["cuts"]}
    agreed = {(one["id"], line["cut"]): line["price"] or prices[line["cut"]]
              for one in problem["bookings"] for line in one["lines"]}  # fmt: skip
    return sum(Decimal(row["weight"]) * Decimal(agreed[row["booking"], row["cut"]])
               for row in plan["short"] if row["cut"])  # fmt: skip


@settings(max_examples=15)
@given(weeks(most_choices=40))
def test_each_change_told_does_save_it(problem):
    """An animal or a date put into the problem leaves the line met; less weight, less short."""
    problem = problem | {"reasons": True}
    plan = sound(problem)
    for row in plan["short"]:
        assert len(row["saves"]) <= 4
        for save in row["saves"]:
            if row["cut"] is None or save["change"] == "hours" or save["to"] == "0":
                assert save["change"] != "hours" or int(save["to"]) in HOURS
                continue
            other = changed(problem, row, save) | {"reasons": False}
            again = bench(other)
            if save["change"] != "weight":
                assert is_met(again, row), (row, save)
            else:  # of two promises at one price, either may be the one that is met
                price = short_money(problem, {"short": [row]})
                assert short_money(other, again) <= short_money(problem, plan) - price + Decimal(
                    "0.1"
                )


def test_a_large_shop_tells_what_a_found_plan_shows(monkeypatch):
    """Where the least shortage is not proven, animals and hours are as arithmetic has them."""
    monkeypatch.setattr(saving_trial, "_SMALL", 0)
    assert saves(sound(onglet()))["animal"]["to"] == "3 x beef hindquarter"
    told = saves(sound(busy()))
    assert (told["hours"]["to"], told["date"]["to"]) == ("120", "2026-06-11")
    assert "animal" not in told


def test_a_hundred_short_lines_are_told_within_the_budget():
    """A dozen solves go to the dearest; of the rest it is said how much can be promised."""
    many = [booking(f"H{at:03d}", at % 3, C9=f"{1 + at / 10:.1f}") for at in range(100)]
    problem = onglet() | {"bookings": many}
    plan = sound(problem)
    assert len(plan["short"]) >= 99
    assert all(row["saves"][-1]["change"] == "weight" for row in plan["short"])
    tried = [row for row in plan["short"] if len(row["saves"]) > 1]
    assert len(tried) <= Budget().solves


@pytest.mark.parametrize(("one", "more"), [
    ("lamb", "lambs"), ("beef half", "beef halves"), ("carcass", "carcasses"),
    ("Hog (dressed)", "Hog (dressed)"),
])  # fmt: skip
def test_a_name_for_several(one, more):
    """Names take the ending of the trade; one that ends in a bracket stays as it is."""
    assert _several(one) == more
