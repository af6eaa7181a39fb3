"""Fire sheets: what is known of a fire, the problem made of a booking, its address, its cooks."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import datetime, timedelta
from decimal import Decimal
from threading import Barrier, Thread

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from sqlalchemy import delete, update
from wished import SATURDAY, case_line, lb, line, order

from collop.errors import BadValue, NotFound, StorageTrouble, WrongState
from collop.fire.fire_schema import SCHEMAS
from collop.measures import Weight, WeightUnit
from collop.reference import cook_minimum
from collop.shop import CaseCook, DontEat, FireFacts, Thickness, open_shop
from collop.shop.clock import StillClock
from collop.shop.fire_cooks import ORDINARY, THICKNESSES, minutes_of
from collop.shop.fire_dont_eats import avoid_word, dont_eats_of
from collop.shop.fire_facts import as_json, from_ask, from_json
from collop.shop.fire_model import FIRE_KINDS
from collop.shop.fire_tables import case_cooks, fire_facts, fire_sheets
from collop.shop.migrate import migrate_shop
from collop.shop.store import Store
from collop.web.ask_form import AVOIDS, FIRES
from collop.web.cook_form import Scale, read_thickness

SUPPER = datetime(2026, 6, 13, 19, 0)  # noqa: DTZ001 -- shop-local
KETTLE = {
    "query": "heads=12&no_n=2&no_what=pork&fire=kettle&coals=60&oven=no&day=2026-06-13",
    "use_at": "2026-06-13T19:00",
    "contains": ["sesame"],
    "dont_eats": ["2 no pork"],
    "meat_free": 1,
}
BARE = FireFacts()


@pytest.fixture
def supper(shop):
    """Book chops and a chicken for Saturday with nothing told of the fire."""
    return shop.book(order(line("C17", "3"), line("C23", "8.2"), heads=6), key="supper").id


def facts_with(**told):
    return FireFacts(**told)


# what is known


def test_the_fires_and_dont_eats_are_those_of_the_ask():
    """The counter's form and the sheet know the same fires and words; no grill is no fire."""
    assert {key: (one.label, one.area_sq_in) for key, one in FIRE_KINDS.items()} == {
        key: (one.label, one.area_sq_in) for key, one in FIRES.items() if key != "none"
    }
    for what, words in AVOIDS.items():
        assert avoid_word(what) == words[0]


def test_of_an_ask_without_a_grill_the_oven_and_the_pots_are_known(shop):
    """No size of a grill is made up for it."""
    told = {"query": "heads=26&fire=none&oven=yes&pots=2", "use_at": KETTLE["use_at"]}
    booked = shop.book(order(line("C17", "3"), ask=told), key="k")
    facts = shop.fire.facts(booked.id)
    assert (facts.kind, facts.gross_sq_in) == (None, None)
    assert (facts.oven, facts.pots) == (True, 2)


def test_what_the_ask_said_is_known(shop):
    """Fire, coals, oven, meal and don't-eats come from the counter's form."""
    booked = shop.book(order(line("C17", "3"), ask=KETTLE), key="k")
    facts = shop.fire.facts(booked.id)
    assert (facts.kind, facts.gross_sq_in, facts.usable_pct) == ("kettle", Decimal(154), 80)
    assert (facts.coals_min, facts.oven, facts.pots) == (60, False, 0)
    assert facts.serve == (SUPPER,)
    assert facts.dont_eats == (DontEat("pork", 2), DontEat("meat", 1), DontEat("sesame"))
    assert (facts.covered, facts.ride_min, facts.unit, facts.hands) == (None, None, None, None)


@pytest.mark.parametrize(
    "ask",
    [
        {},
        {"query": 7, "use_at": "soon", "dont_eats": "pork", "meat_free": True},
        {"query": "area=NaN&coals=x&fire=volcano&usable=&pots=1e9", "use_at": 3},
        {"use_at": "2026-06-13T19:00+02:00", "dont_eats": ["2 no stone", None], "contains": [1]},
    ],
)
def test_an_ask_that_cannot_be_read_tells_nothing(ask):
    """Old or odd asks leave facts untold and raise nothing."""
    facts = from_ask(ask)
    assert facts.serve == ()
    assert (facts.kind, facts.area_sq_in, facts.coals_min) == (None, None, None)
    assert not facts.dont_eats


def test_a_booking_that_was_told_nothing_says_what_it_assumes(shop, supper):
    """The grill's size, coals, lid, meal and guests are stated with their figures."""
    assert shop.fire.facts(supper) == BARE
    problem = shop.fire.problem(supper)
    told = {one.ask: one.what for one in shop.fire.assumptions(supper)}
    assert told["Size of: Grill"] == (
        "Grill not told: planned for one 22 in (56 cm) across, 304 sq in (1,961 sq cm) of it used."
    )
    assert problem["fire"]["zones"][0]["area_sq_in"] == 304.0
    assert told["Coals"].startswith("The coals last 180 min")
    assert problem["fire"]["zones"][0]["minutes"] == 180
    assert problem["serve"] == [{"id": "main", "at": "2026-06-13T13:30"}]
    assert told["You eat at"] == "Nobody told when you eat: planned for Saturday, 13:30."
    assert told["Ride home"] == "The ride home takes 30 min at the most."
    assert problem["ride_min"] == 30
    assert {"Lid", "Don't eat"} <= set(told)
    assert "Oven" not in told  # nothing here goes in one


def test_a_meal_nobody_timed_leaves_time_for_the_slowest_dish_and_the_thaw(shop):
    """Ten hours of brisket go to the next evening; a frozen duck waits until it has thawed."""
    brisket = shop.book(order(line("C30", "9.0", pieces=["9.0"])), key="b").id
    at = datetime.fromisoformat(shop.fire.problem(brisket)["serve"][0]["at"])
    # 9 lb at 4 lb a day of thawing is 54 h, with 10 h of cooking and one more for the ride
    assert at - SATURDAY >= timedelta(hours=65)
    assert f"{at:%H:%M}" == "18:30"


def test_facts_are_changed_once_and_the_row_before_stays(shop, supper, url):
    """The same request twice is one row; another with its key is refused; the newest counts."""
    told = facts_with(
        kind="kettle", coals_min=60, covered=True, oven=False, serve=(SUPPER,), unit="C",
        ride_min=20, hands=2, air_f=75, thickness={"C17": Thickness(Decimal("31.5"))},
        dont_eats=(DontEat("Pork ", 2),),
    )  # fmt: skip
    found = shop.fire.change(supper, told, by="dot", key="f1")
    assert found == replace(told, dont_eats=(DontEat("pork", 2),)) == shop.fire.facts(supper)
    shop.fire.change(supper, told, by="dot", key="f1")
    with pytest.raises(BadValue, match="another request"):
        shop.fire.change(supper, BARE, by="dot", key="f1")
    shop.fire.change(supper, replace(told, coals_min=90), by="dot", key="f2")
    assert shop.fire.facts(supper).coals_min == 90
    with Store(url).read() as conn:
        rows = conn.execute(fire_facts.select().where(fire_facts.c.key.in_(["f1", "f2"]))).all()
    assert [row.facts["coals_min"] for row in rows] == [60, 90]


BAD = [
    ({"kind": "volcano"}, "kind"),
    ({"area_sq_in": Decimal(0)}, "area_sq_in"),
    ({"area_sq_in": Decimal("NaN")}, "area_sq_in"),
    ({"area_sq_in": 12.5}, "area_sq_in"),
    ({"usable_pct": 101}, "usable_pct"),
    ({"coals_min": 9}, "coals_min"),
    ({"coals_min": True}, "coals_min"),
    ({"hands": 0}, "hands"),
    ({"ride_min": -1}, "ride_min"),
    ({"air_f": 200}, "air_f"),
    ({"unit": "K"}, "unit"),
    ({"oven": "yes"}, "oven"),
    ({"serve": (SATURDAY,)}, "serve"),
    ({"serve": (SUPPER, SUPPER)}, "serve"),
    ({"serve": (SUPPER, SUPPER + timedelta(hours=13))}, "serve"),
    ({"serve": (SUPPER + timedelta(days=90),)}, "serve"),
    ({"serve": (SUPPER,), "served": {"C17": 1}}, "served"),
    ({"serve": (SUPPER,), "served": {"C01": 0}}, "served"),
    ({"thickness": {"C01": Thickness(Decimal(30))}}, "thickness"),
    ({"thickness": {"C17": Thickness(Decimal("1e9"))}}, "thickness"),
    ({"thickness": {"C17": Thickness(Decimal("NaN"))}}, "thickness"),
    ({"dont_eats": (DontEat("stones"),)}, "dont_eats"),
    ({"dont_eats": (DontEat("pork", 0),)}, "dont_eats"),
]


@pytest.mark.parametrize(("told", "where"), BAD)
def test_facts_that_cannot_be_are_refused_in_one_sentence(shop, supper, told, where):
    """The field is named, nothing is written."""
    with pytest.raises(BadValue) as caught:
        shop.fire.change(supper, facts_with(**told), by="dot", key="bad")
    assert caught.value.where == where
    assert len(caught.value.message) < 200
    assert caught.value.message.endswith(".")
    assert shop.fire.facts(supper) == BARE


amounts = st.decimals(min_value=2, max_value=400, places=1)
told_facts = st.builds(
    FireFacts,
    kind=st.none() | st.sampled_from(sorted(FIRE_KINDS)),
    area_sq_in=st.none() | amounts,
    usable_pct=st.none() | st.integers(30, 100),
    coals_min=st.none() | st.integers(10, 1440),
    covered=st.none() | st.booleans(),
    oven=st.none() | st.booleans(),
    pots=st.none() | st.integers(0, 20),
    serve=st.lists(
        st.datetimes(datetime(2026, 6, 13), datetime(2026, 6, 14)).map(  # noqa: DTZ001
            lambda at: at.replace(second=0, microsecond=0)
        ),
        max_size=4,
    ).map(tuple),
    ride_min=st.none() | st.integers(0, 1440),
    unit=st.sampled_from([None, "F", "C"]),
    thickness=st.dictionaries(
        st.sampled_from(["C17", "C23"]), st.builds(Thickness, amounts, st.booleans())
    ),
    dont_eats=st.none()
    | st.lists(
        st.builds(DontEat, st.sampled_from(["pork", "milk", "meat"]), st.none() | st.integers(1, 9))
    ).map(tuple),
)


@given(told_facts)
def test_facts_are_read_back_as_they_were_kept(facts):
    """What is kept is plain JSON, holds only what was told, and gives the same facts."""
    kept = json.loads(json.dumps(as_json(facts)))
    assert from_json(kept) == facts
    assert all(value is not None for value in kept.values())
    assert set(kept) <= {field.name for field in fields(FireFacts)}


# the problem


def checked(problem):
    Draft202012Validator(SCHEMAS["fire"]).validate(problem)
    return {item["id"]: item for item in problem["items"]}


def test_the_problem_holds_what_is_held(shop, supper):
    """Weights, areas and pieces are those of the booking, area by area a pound."""
    items = checked(shop.fire.problem(supper))
    chops, bird = items["C17"], items["C23"]
    assert (chops["weight_lb"], chops["area_sq_in"], chops["pieces"]) == ("3", 114.0, None)
    assert (bird["weight_lb"], bird["pieces"], bird["piece_lb"]) == ("8.2", 2, "4.1")
    assert bird["area_sq_in"] == pytest.approx(8.2 * 34, abs=1e-3)
    assert (chops["cook_as"], bird["cook_as"], bird["role"]) == ("whole", "poultry", "bird")
    assert (chops["method"], bird["method"]) == ("direct", "indirect")
    problem = shop.fire.problem(supper)
    assert (problem["now"], problem["heads"]) == ("2026-06-13T10:00", 6)
    assert (problem["unit"], problem["weight_unit"]) == ("F", "lb")


def test_a_cut_booked_on_two_lines_is_one_dish(shop):
    """Weight added at another price goes on the fire with the first."""
    booked = shop.book(order(line("C17", "2")), key="a").id
    shop.add_lines(booked, [line("C17", "1.25")], by="dot", key="more")
    items = checked(shop.fire.problem(booked))
    assert list(items) == ["C17"]
    assert (items["C17"]["weight_lb"], items["C17"]["area_sq_in"]) == ("3.25", 123.5)


def test_metric_weights_are_never_rounded_down(shop):
    """A kilogram is 2.20462... lb; the fire is planned with a thousandth more, not less."""
    kilo = type(line("C17", "1"))("C17", Weight.of("1", WeightUnit.KG))
    item = checked(shop.fire.problem(shop.book(order(kilo), key="kg").id))["C17"]
    assert item["weight_lb"] == "2.205"
    assert item["area_sq_in"] == 83.776  # 2.2046226 lb at 38 sq in, rounded up


def test_facts_reach_the_problem(shop, supper):
    """Fire, servings, weather, ride, unit and thickness are those told."""
    told = facts_with(
        kind="kettle", coals_min=60, covered=False, oven=True, unit="C", ride_min=20, hands=2,
        air_f=95, serve=(SUPPER, SUPPER - timedelta(hours=1)), served={"C23": 1},
        thickness={"C17": Thickness(Decimal("31.5"), measured=True)},
        dont_eats=(DontEat("pork", 2),),
    )  # fmt: skip
    shop.fire.change(supper, told, by="dot", key="f")
    problem = shop.fire.problem(supper)
    items = checked(problem)
    grill, oven = problem["fire"]["zones"]
    assert (grill["name"], grill["area_sq_in"], grill["minutes"]) == ("Balcony kettle", 123.2, 60)
    assert (grill["heats"], oven["heats"]) == (["direct"], ["oven"])
    assert problem["fire"] == problem["fire"] | {"hands": 2, "air_f": 95, "covered": False}
    assert (problem["ride_min"], problem["unit"]) == (20, "C")
    assert [one["at"][-5:] for one in problem["serve"]] == ["18:00", "19:00"]
    assert (items["C17"]["serve"], items["C23"]["serve"]) == ("meal-1", "meal-2")
    assert items["C23"]["method"] == "oven"  # no lid: nothing cooks beside the coals
    assert items["C17"]["body"] == items["C17"]["body"] | {"thickness_mm": 31.5, "measured": True}
    assert problem["dont_eats"] == [
        {"what": "pork", "count": 2,
         "plate": "own plate, own tool: Chicken, whole. Not: Pork loin chops"},
    ]  # fmt: skip


def test_dont_eats_see_casings_and_declared_allergens(shop):
    """Hog casing is pork, sesame is in the marinade, and meat-free food has a plate of its own."""
    booked = shop.book(order(line("C22", "1"), line("C25", "1"), line("C34", "1")), key="d").id
    told = (DontEat("pork", 1), DontEat("sesame", 1), DontEat("meat", 1), DontEat("goat", 1))
    shop.fire.change(booked, facts_with(dont_eats=told), by="dot", key="f")
    pork, sesame, meat, goat = (one["plate"] for one in shop.fire.problem(booked)["dont_eats"])
    assert pork.endswith("Not: Beef links")
    assert sesame.endswith("Not: Chicken thigh, soy-sesame")
    assert meat == "own plate, own tool: Flat mushrooms. Not: Beef links; Chicken thigh, soy-sesame"
    assert goat == "nothing here has goat in it, so any plate"


def test_what_is_not_on_the_sheet_is_said(shop):
    """Stock bones are not cooked here, and what is still to be made is named."""
    booked = shop.book(order(line("C17", "2"), line("C32", "2")), key="b").id
    shop.bench.want(booked, "C20", lb("3"), by="dot", note="", key="w")
    told = [one.what for one in shop.fire.assumptions(booked)]
    assert "Not cooked at this fire: Marrow and stock bones." in told
    assert any("still to be made: 3.00 lb Pork links, fennel" in one for one in told)


def test_a_booking_without_food_for_a_fire_has_no_sheet(shop):
    """Bones alone, or an order that only hangs, are refused in one sentence."""
    bones = shop.book(order(line("C32", "2")), key="b").id
    for booking in (bones, "H3"):
        with pytest.raises(WrongState, match="nothing that goes on a fire"):
            shop.fire.sheet(booking)
    with pytest.raises(NotFound, match="H999"):
        shop.fire.problem("H999")


def test_a_booking_that_has_gone_keeps_its_sheet_at_the_weights_handed_over(shop, supper):
    """The scale's weight is what the customer cooks."""
    weights = {one.id: one.weight for one in shop.booking(supper).lines}
    first = next(one.id for one in shop.booking(supper).lines if one.case_id == "C17")
    shop.hand_over(supper, weights | {first: lb("3.10")}, by="dot", key="h")
    assert checked(shop.fire.problem(supper))["C17"]["weight_lb"] == "3.1"


# the sheet and its address


def test_the_address_is_made_once_and_is_not_to_be_guessed(shop, supper):
    """The token holds over 128 bits, stays, and opens the very same sheet."""
    sheet = shop.fire.sheet(supper)
    assert len(sheet.token) * 6 >= 128  # six bits a letter
    assert shop.fire.sheet(supper) == sheet == shop.fire.by_token(sheet.token)
    assert sheet.plan["answer"] == "yes"
    Draft202012Validator(SCHEMAS["fire.plan"]).validate(dict(sheet.plan))
    other = shop.fire.sheet(shop.book(order(line("C13", "1")), key="o").id)
    assert other.token != sheet.token


def test_looking_at_a_sheet_writes_nothing(shop, supper):
    """No address until one is made; made again, or by another key, it stays."""
    before = shop.bench.version()
    seen = shop.fire.look(supper)
    assert (seen.token, seen.made_at, seen.plan["answer"]) == (None, None, "yes")
    assert shop.bench.version() == before
    made = shop.fire.make(supper, by="dot", key="m")
    assert made.token is not None
    assert shop.fire.make(supper, by="ines", key="again") == made
    assert shop.fire.look(supper) == made == shop.fire.sheet(supper)


def test_an_address_is_made_for_food_only(shop):
    """Bones alone get none."""
    bones = shop.book(order(line("C32", "2")), key="b").id
    with pytest.raises(WrongState, match="nothing that goes on a fire"):
        shop.fire.make(bones, by="dot", key="m")


@pytest.mark.parametrize("write", ["sheet", "make", "renew"])
def test_a_sheet_whose_address_is_lost_gets_another(shop, supper, url, write):
    """Taken down to the step before fire sheets and up again, acts stay and addresses are gone."""
    asked = {} if write == "sheet" else {"by": "dot", "key": "k"}
    old = getattr(shop.fire, write)(supper, **asked).token
    cook = CaseCook("steak", Decimal(30))
    shop.fire.set_cook("C17", cook, by="ines", key="c")
    shop.close()
    migrate_shop(url, "0006")
    migrate_shop(url)
    with open_shop(url, StillClock()) as again:
        assert again.fire.by_token(old) is None
        assert again.fire.set_cook("C17", cook, by="ines", key="c") == cook  # no row, no fault
        token = getattr(again.fire, write)(supper, **asked).token
        assert token not in {None, old}
        assert again.fire.by_token(token).booking_id == supper


def test_an_act_of_any_key_does_not_stand_in_the_way_of_an_address(shop, supper):
    """A key somebody sent with something else is not the one the address is made with."""
    shop.fire.change(supper, BARE, by="dot", key=f"fire-address-{supper}")
    assert shop.fire.sheet(supper).token is not None


def test_many_who_ask_at_once_wait_for_one_plan(shop, supper, monkeypatch):
    """A page, its picture and its paper of a sheet nobody asked for yet: worked out once."""
    import collop.fire as room

    plans, asked, start = [], [], Barrier(4)
    whole = room.fire
    monkeypatch.setattr(room, "fire", lambda problem: (asked.append(1), whole(problem))[1])

    def ask():
        start.wait(10)
        plans.append(shop.fire.look(supper).plan)

    runs = [Thread(target=ask) for _ in range(4)]
    for run in runs:
        run.start()
    for run in runs:
        run.join()
    assert len(asked) == 1
    assert plans == plans[:1] * 4


def test_a_plan_that_fails_is_worked_out_anew(shop, supper, monkeypatch):
    """The fault reaches who asked, and is not kept."""
    import collop.fire as room

    def refuse(_problem):
        raise BadValue("No.")

    with monkeypatch.context() as patch:
        patch.setattr(room, "fire", refuse)
        for _ in range(2):
            with pytest.raises(BadValue, match="No"):
                shop.fire.look(supper)
    assert shop.fire.look(supper).plan["answer"] == "yes"


def test_two_who_ask_at_once_get_one_address(shop, supper):
    """The first address is written once, however many ask for it."""
    found = []
    runs = [Thread(target=lambda: found.append(shop.fire.sheet(supper).token)) for _ in range(4)]
    for run in runs:
        run.start()
    for run in runs:
        run.join()
    assert len(found) == 4
    assert len(set(found)) == 1


def test_a_new_address_ends_the_old_one(shop, supper):
    """Renewed twice with one key it changes once; the old token opens nothing."""
    old = shop.fire.sheet(supper).token
    new = shop.fire.renew(supper, by="dot", key="n").token
    assert shop.fire.renew(supper, by="dot", key="n").token == new != old
    assert shop.fire.by_token(old) is None
    assert shop.fire.by_token(new) is not None


@pytest.mark.parametrize(
    "token", ["", "x", "a" * 32, "a" * 10_000, "\ud800", "é" * 20, "%00", "H1"]
)
def test_a_token_that_is_none_opens_nothing(shop, supper, token):
    """Whatever is typed, the answer is the same."""
    shop.fire.sheet(supper)
    assert shop.fire.by_token(token) is None


def test_a_booking_that_is_off_shows_its_sheet_no_more(shop, supper):
    """The token opens nothing, and no facts or address are written for it."""
    token = shop.fire.sheet(supper).token
    shop.release(supper, by="dot", key="r", why="rain")
    assert shop.fire.by_token(token) is None
    for act in (
        lambda: shop.fire.sheet(supper),
        lambda: shop.fire.renew(supper, by="dot", key="n"),
        lambda: shop.fire.change(supper, BARE, by="dot", key="c"),
    ):
        with pytest.raises(WrongState, match="is off"):
            act()


def test_a_sheet_holds_no_money_and_no_phone(shop):
    """Of the booking there is its name, its day and its food, nothing more."""
    new = order(line("C17", "2"), name="Ada", phone_end="9731", note="gate code 4455", heads=3)
    booked = shop.book(new, key="p")
    sheet = shop.fire.sheet(booked.id)
    said = json.dumps([dict(sheet.problem), dict(sheet.plan)], default=str)
    assert "Ada" in said
    for secret in ("9731", "4455", "10.10", "20.20", "price", "deposit", "dot"):
        assert secret not in said


def test_a_changed_fire_changes_the_plan(shop, supper):
    """A kettle of fourteen inches and twenty minutes of coals cannot roast a bird."""
    yes = shop.fire.sheet(supper).plan
    assert shop.fire.sheet(supper).plan == yes
    small = facts_with(kind="kettle", coals_min=20, serve=(SUPPER,), oven=False)
    shop.fire.change(supper, small, by="dot", key="f")
    no = shop.fire.sheet(supper).plan
    assert (yes["answer"], no["answer"]) == ("yes", "no")
    assert no["why_no"]
    assert no["items"][0]["loads"] == []


def test_the_shops_assumptions_come_first_and_nothing_is_asked_twice(shop, supper):
    """What the shop guessed stands in the place of the kernel's own word on it."""
    plan = shop.fire.sheet(supper).plan
    asks = [one["ask"] for one in plan["assumptions"]]
    assert len(asks) == len(set(asks))
    assert asks[:3] == ["Hotter than that", "Ride home", "You eat at"]


def test_no_row_of_a_sheet_is_edited(shop, supper, url):
    """The database refuses it, whoever asks."""
    shop.fire.sheet(supper)
    store = Store(url)
    for statement in (
        update(fire_sheets).values(booking_number=1), delete(fire_facts), delete(case_cooks),
    ):  # fmt: skip
        with pytest.raises(StorageTrouble, match="never edited"), store.write() as conn:
            conn.execute(statement)
    store.close()


# how lines cook


def test_how_a_line_cooks_is_kept_and_the_newest_counts(shop):
    """Written once for a key; the row after it counts."""
    first = CaseCook(form="steak", thickness_mm=Decimal(30), done_f=150, carve="As it is.")
    assert shop.fire.set_cook("C03", first, by="ines", key="c1") == first
    assert shop.fire.set_cook("C03", first, by="ines", key="c1") == first
    second = replace(first, thickness_mm=Decimal("33.5"), rest_min=6)
    shop.fire.set_cook("C03", second, by="ines", key="c2")
    assert shop.fire.cook("C03") == second == case_line(shop, "C03").cook
    assert shop.fire.cook("C33") is None


COOKS = [
    ({"form": "wedge", "thickness_mm": Decimal(20)}, "form"),
    ({"form": "steak"}, "form"),
    ({"thickness_mm": Decimal(20)}, "form"),
    ({"form": "steak", "thickness_mm": Decimal(900)}, "thickness_mm"),
    ({"form": "steak", "thickness_mm": Decimal("NaN")}, "thickness_mm"),
    ({"shape": Decimal(3)}, "shape"),
    ({"method": "boil"}, "method"),
    ({"treatment": "sung to"}, "treatment"),
    ({"done_f": 144}, "done_f"),
    ({"done_f": 150, "treatment": "tenderised"}, "done_f"),
    ({"done_f": 300}, "done_f"),
    ({"rest_min": 2}, "rest_min"),
    ({"hold_min": 9_999}, "hold_min"),
    ({"carve": "x" * 201}, "carve"),
]


@pytest.mark.parametrize(("told", "where"), COOKS)
def test_a_way_to_cook_that_cannot_be_is_refused(shop, told, where):
    """A core or a rest under the published minimum is refused too, needled meat as ground."""
    with pytest.raises(BadValue) as caught:
        shop.fire.set_cook("C17", CaseCook(**told), by="ines", key="bad")
    assert caught.value.where == where
    assert shop.fire.cook("C17") == case_line(shop, "C17").cook


@pytest.mark.parametrize("done", [900, 213, 31, -1])
def test_a_core_beyond_boiling_is_refused_for_food_without_a_rule_too(shop, done):
    """32 to 212 °F, whatever it is; one that was kept before counts as not told."""
    assert shop.fire.told("C33").minimum is None
    with pytest.raises(BadValue, match="Wanted core: write 32 to 212 °F") as caught:
        shop.fire.set_cook("C33", CaseCook(done_f=done), by="ines", key="hot")
    assert caught.value.where == "done_f"


def test_a_core_beyond_boiling_that_was_kept_before_counts_as_not_told(shop, monkeypatch):
    """Such a row can be there from before it was refused; sheets live on."""
    with monkeypatch.context() as before:
        before.setattr("collop.shop.fire_cooks._HOTTEST_F", 1000)
        shop.fire.set_cook("C33", CaseCook(done_f=900), by="ines", key="hot")
        assert shop.fire.cook("C33").done_f == 900
    assert shop.fire.cook("C33") == CaseCook()


@pytest.mark.parametrize("form", sorted(THICKNESSES))
def test_a_thickness_no_piece_has_is_taken_for_a_slip_of_the_unit(shop, supper, form):
    """Under and over the range of its form: refused with the range and a unit to write."""
    low, high, name, example = THICKNESSES[form]
    for mm in (low - Decimal("0.1"), high + Decimal("0.1")):
        with pytest.raises(BadValue) as caught:
            shop.fire.set_cook("C17", CaseCook(form, mm), by="ines", key="thick")
        assert caught.value.where == "thickness_mm"
        if mm >= 2:
            said = f"{mm} mm is no thickness of {name} ({low} to {high} mm)"
            assert caught.value.message == f"Thickness: {said}; write the unit, such as {example}."
    shown = read_thickness(example, Scale())
    assert low <= shown <= high
    told = facts_with(thickness={"C17": Thickness(Decimal(2))})
    with pytest.raises(BadValue, match="2 mm is no thickness of a steak") as caught:
        shop.fire.change(supper, told, by="dot", key="f")
    assert caught.value.where == "thickness"


def test_every_line_of_the_shop_is_as_thick_as_its_form_can_be(shop):
    """No line of the case is taken for a slip."""
    cooks = [one["id"] for one in shop.offers()]
    bodies = [cook for cook in map(shop.fire.cook, cooks) if cook and cook.form]
    assert len(bodies) > 10
    for cook in bodies:
        low, high, *_ = THICKNESSES[cook.form]
        assert low <= cook.thickness_mm <= high


def test_a_line_that_is_not_there_cooks_not(shop):
    """The id is looked up before anything is written."""
    with pytest.raises(NotFound, match="C99"):
        shop.fire.set_cook("C99", CaseCook(), by="ines", key="bad")


def test_needled_meat_is_cooked_as_ground(shop, supper):
    """The sheet's minimum rises to that of mince, and the offers say so."""
    cook = replace(shop.fire.cook("C17"), treatment="tenderised")
    shop.fire.set_cook("C17", cook, by="ines", key="n")
    (chops,) = [one for one in shop.fire.sheet(supper).plan["items"] if one["id"] == "C17"]
    assert chops["minimum"]["core_f"] == cook_minimum("ground").whole_fahrenheit
    offer = next(one for one in shop.offers() if one["id"] == "C17")
    assert offer["cook"]["treatment"] == "tenderised"


def test_minutes_are_those_of_the_sheet(shop, supper):
    """The offers' minutes and the sheet's band of the same cut are one and the same."""
    plan = shop.fire.sheet(supper).plan
    offered = {one["id"]: one for one in shop.offers()}
    for item in plan["items"]:
        low, high = minutes_of(case_line(shop, item["id"]))
        assert offered[item["id"]]["minutes"] == [low, high]
        assert item["minutes"]["source"] == "model"
        assert abs(low - item["minutes"]["p10"]) <= 1  # one rounds down, the other to the nearest
        assert abs(high - item["minutes"]["p90"]) <= 1


def test_a_line_without_a_body_keeps_the_minutes_of_the_case(shop):
    """A shoulder that takes hours is the shop's own knowledge."""
    line_ = case_line(shop, "C02")
    assert minutes_of(line_) == shop.fire.minutes_of(line_) == line_.minutes == (180, 240)


def test_a_thicker_chop_takes_longer(shop):
    """The minutes follow the body."""
    thin = case_line(shop, "C17")
    thick = replace(thin, cook=replace(thin.cook, thickness_mm=thin.cook.thickness_mm * 2))
    assert minutes_of(thick)[0] > minutes_of(thin)[1]


def test_a_core_of_the_shops_own_is_in_the_offered_minutes(shop):
    """Where more is wanted than the minimum, the offer says it with its minutes and its body."""
    before = next(one for one in shop.offers() if one["id"] == "C24")
    cook = replace(shop.fire.cook("C24"), done_f=180)
    shop.fire.set_cook("C24", cook, by="ines", key="d")
    offer = next(one for one in shop.offers() if one["id"] == "C24")
    assert offer["cook"]["done_f"] == 180
    assert offer["cook"]["body"] == before["cook"]["body"]
    assert offer["minutes"][1] > before["minutes"][1]


def test_the_ordinary_grill_is_covered():
    """The minutes of offers are those under a lid."""
    assert ORDINARY.covered


def test_dont_eats_are_read_from_an_ask():
    """None where nobody was asked, empty where nobody minds."""
    assert dont_eats_of({}) is None
    assert dont_eats_of({"dont_eats": []}) == ()
    assert dont_eats_of({"dont_eats": ["3 no pork"], "meat_free": 0}) == (DontEat("pork", 3),)


def test_a_shop_opened_again_knows_its_fires(shop, supper, url):
    """Facts, cooks and the address outlive the process."""
    told = facts_with(kind="pit", serve=(SUPPER,))
    shop.fire.change(supper, told, by="dot", key="f")
    sheet = shop.fire.sheet(supper)
    with open_shop(url, StillClock()) as again:
        assert again.fire.facts(supper) == told
        assert again.fire.by_token(sheet.token) == sheet


# a meal before the food is home, and a piece that is never done


@pytest.mark.parametrize(
    ("eat", "ride", "home"),
    [
        (SATURDAY, None, False),
        (SATURDAY + timedelta(minutes=19), 20, False),
        (SATURDAY + timedelta(minutes=20), 20, True),
        (SATURDAY + timedelta(minutes=1), None, True),
    ],
)
def test_a_meal_before_the_food_is_home_has_no_plan(shop, supper, eat, ride, home):
    """Collection and ride are named in one sentence; a meal just then is left to the plan."""
    told = facts_with(serve=(eat,), ride_min=ride)
    if home:
        shop.fire.change(supper, told, by="dot", key="f")
        assert shop.fire.problem(supper)["now"] == f"{SATURDAY:%Y-%m-%dT%H:%M}"
        assert shop.fire.sheet(supper).plan["answer"] == "no"
    else:
        with pytest.raises(BadValue, match="Eat at") as caught:
            shop.fire.change(supper, told, by="dot", key="f")
        assert caught.value.where == "serve"
        assert shop.fire.facts(supper) == BARE


def test_an_ask_for_a_meal_before_collection_is_said_and_not_guessed_away(shop):
    """The sheet is refused with both hours; the hour is not taken as never told."""
    ask = {"use_at": f"{SATURDAY - timedelta(hours=1):%Y-%m-%dT%H:%M}"}
    booked = shop.book(order(line("C17", "3"), ask=ask), key="k").id
    with pytest.raises(BadValue) as caught:
        shop.fire.sheet(booked)
    assert caught.value.message == (
        f"Eat at: Sat 13 Jun, 09:00 is before the food is home; {booked} is collected"
        " Sat 13 Jun, 10:00. Put the meal later."
    )


@pytest.mark.parametrize(
    ("case_id", "cook", "where"),
    [
        # no fire brings these to their core in half a day
        ("C13", CaseCook("steak", Decimal(60), done_f=205, method="indirect"), "thickness_mm"),
        ("C01", CaseCook("roast", Decimal(250), done_f=165), "thickness_mm"),
        ("C17", CaseCook("joint", Decimal(90), done_f=205, method="oven"), "thickness_mm"),
    ],
)
def test_a_piece_that_is_never_done_is_refused(shop, case_id, cook, where):
    """Else it would be planned and offered with the minutes of an ordinary piece."""
    before = shop.fire.told(case_id)
    with pytest.raises(BadValue, match="does not get done within 12 hours") as caught:
        shop.fire.set_cook(case_id, cook, by="ines", key="thick")
    assert caught.value.where == where
    assert shop.fire.told(case_id) == before


def test_a_thickness_told_that_is_never_done_is_refused(shop):
    """A booking's own thickness is asked of the heat model too."""
    supper = shop.book(order(line("C01", "5")), key="leg").id
    shop.fire.set_cook("C01", CaseCook("roast", Decimal(60), done_f=165), by="ines", key="c")
    told = facts_with(thickness={"C01": Thickness(Decimal(250))})
    with pytest.raises(BadValue, match="does not get done") as caught:
        shop.fire.change(supper, told, by="dot", key="f")
    assert caught.value.where == "thickness"
    assert shop.fire.facts(supper) == BARE


def test_a_line_is_told_as_its_sheet_is_planned(shop, supper):
    """Minutes, rest and the core it comes off at are those of the plan's item."""
    items = {item["id"]: item for item in shop.fire.sheet(supper).plan["items"]}
    for case_id in ("C17", "C23"):
        told, item = shop.fire.told(case_id), items[case_id]
        assert (told.by_model, told.rest_min) == (True, item["rest_min"])
        assert told.off == (item["pull_f"], item["pull_c"])
        assert told.minutes[0] <= item["minutes"]["p10"] <= told.minutes[0] + 1
        assert told.minutes[1] - 1 <= item["minutes"]["p90"] <= told.minutes[1]
        assert [one.by for one in told.changes] == ["ines"]
