"""Reading what people type, and writing an ask back into its address."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.web.ask_form import ALLERGENS, AVOIDS, FIRES, SLOTS, STYLES, Ask, Avoid, read_ask
from collop.web.ask_steps import step_ask
from collop.web.forms import Fields, Heads, read_amount, read_heads, read_phone_end, read_time
from collop.web.planning import Planner, build_problem, field_of
from collop.web.rendering import Shown
from collop.web.room import fields_of_query

NOW = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("34", 34, 34),
        ("30-45", 30, 45),
        ("45 - 30", 30, 45),
        ("30\N{EN DASH}45", 30, 45),
        ("thirty, maybe forty-five", 30, 45),
        ("about thirty", 30, 30),
        ("twenty-six", 26, 26),
        ("a hundred and twenty" .removeprefix("a "), 120, 120),
        ("12 or 14", 12, 14),
        ("up to 20", 20, 20),
    ],
)  # fmt: skip
def test_heads_are_read_in_digits_and_words(text, low, high):
    """One number, or two ends of what was said."""
    assert read_heads(text) == Heads(low, high)


@pytest.mark.parametrize("text", ["", "0", "-5", "501", "many", "3.5", "1-2-3", "30 to 900", "NaN"])
def test_heads_that_cannot_be_are_refused(text):
    """One sentence that starts with the label."""
    with pytest.raises(BadValue, match=r"^Eaters: "):
        read_heads(text)


def test_two_head_counts_are_planned_three_quarters_up():
    """Rounded up, so never under the middle."""
    assert Heads(30, 45).planned == 42
    assert Heads(34, 34).planned == 34
    assert Heads(1, 2).planned == 2


@pytest.mark.parametrize(
    ("text", "value"),
    [("310", "310"), ("$48.50", "48.50"), ("1,250.00", "1250.00"), ("9,5", "9.5")],
)
def test_money_is_read_as_people_write_it(text, value):
    """A sign, a comma for thousands, or a comma for the decimals."""
    assert read_amount(text, "Money") == Decimal(value)


def test_only_the_phone_end_is_kept():
    """A whole number is cut to its last four digits."""
    assert read_phone_end("+44 (0)7700 900-4471") == "4471"


def test_times_take_a_point_or_a_colon():
    """18.30 is how it is chalked."""
    assert read_time("18.30", "Time") == read_time("18:30", "Time")


ASKS = st.builds(
    Ask,
    heads=st.builds(lambda low, more: Heads(low, low + more), st.integers(20, 300),
                    st.integers(0, 100)),
    day=st.dates(date(2026, 6, 10), date(2026, 12, 31)),
    time=st.times().map(lambda at: at.replace(second=0, microsecond=0)),
    child=st.integers(0, 5), big=st.integers(0, 5), meat_free=st.integers(0, 5),
    avoids=st.lists(st.sampled_from(sorted(AVOIDS)), unique=True, max_size=2).map(
        lambda names: tuple(Avoid(2, name) for name in names)),
    contains=st.sets(st.sampled_from(ALLERGENS)).map(
        lambda names: tuple(name for name in ALLERGENS if name in names)),
    fire=st.sampled_from(sorted(FIRES)), area=st.integers(1, 9999).map(Decimal),
    coals=st.integers(10, 600), oven=st.booleans(), pots=st.integers(0, 9),
    usable=st.integers(30, 100),
    money=st.none() | st.integers(1, 900000).map(lambda cents: Decimal(cents) / 100),
    per=st.sampled_from(["total", "head"]), style=st.sampled_from(sorted(STYLES)),
    slots=st.sets(st.sampled_from(sorted(SLOTS))).map(
        lambda names: tuple(name for name in SLOTS if name in names)),
    to=st.none() | st.integers(1, 900000).map(lambda cents: Decimal(cents) / 100),
    lighter=st.integers(0, 3), pins=st.just(("C01@2.00",)), leave=st.just(("C02",)),
).map(lambda ask: replace(ask, area=Decimal(0)) if ask.fire == "none" else ask)  # fmt: skip


@given(ask=ASKS)
def test_an_ask_read_back_from_its_address_is_the_same_ask(ask):
    """Parse after format is identity, so the same address is the same ask."""
    again, faults = read_ask(fields_of_query(ask.query()), NOW)
    assert not faults.messages
    assert again == ask
    assert again.query() == ask.query()


def asked(query):
    """Return the ask of a query that has no faults."""
    ask, faults = read_ask(fields_of_query(query), NOW)
    assert not faults.messages
    return ask


class Settings:
    """What the problem takes from the shop."""

    currency = "USD"
    rounding = "half-up"


def test_groups_keep_every_head_and_name_what_each_does_not_eat():
    """34 heads: usual, big, children, meat-free, and seven of the usual without pork."""
    ask = asked("heads=34&child=4&big=10&meat_free=2&no_n=7&no_what=pork&contains=sesame")
    groups = build_problem(ask, [], Settings, NOW)["groups"]
    assert sum(group["count"] for group in groups) == 34
    counts = {group["name"]: group["count"] for group in groups}
    assert counts == {"no pork": 7, "everybody else": 11, "big eaters": 10, "children": 4,
                      "meat-free": 2}  # fmt: skip
    assert all("allergen:sesame" in group["avoids"] for group in groups)
    no_pork = next(group for group in groups if group["name"] == "no pork")
    assert {"species:pork", "casing:hog"} <= set(no_pork["avoids"])


def test_more_without_pork_than_usual_appetites_are_taken_from_the_others():
    """Nobody is lost or counted twice."""
    ask = asked("heads=10&child=4&big=4&no_n=8&no_what=pork")
    groups = build_problem(ask, [], Settings, NOW)["groups"]
    assert sum(group["count"] for group in groups) == 10
    without = [group for group in groups if "species:pork" in group["avoids"]]
    assert sum(group["count"] for group in without) == 8


def test_a_patch_cannot_touch_prices():
    """An accepted change may move money, time, style and heads; offers are the shop's."""
    ask = asked('heads=10&patch={"offers":[]}')
    with pytest.raises(BadValue, match="cannot be read"):
        build_problem(ask, [], Settings, NOW)


def test_accepted_heads_are_read_back_into_the_form():
    """Fewer heads in the same proportion land in the fields, not in a hidden change."""
    ask = asked("heads=26&child=6&no_n=4&no_what=pork&money=55")
    groups = [
        {"name": "no pork", "count": 3, "kind": "adult", "appetite": 1.0, "avoids": []},
        {"name": "everybody else", "count": 10, "kind": "adult", "appetite": 1.0, "avoids": []},
        {"name": "children", "count": 4, "kind": "child", "appetite": 0.5, "avoids": []},
    ]
    plan = {"nearest_yes": [{"change": "count", "to": 17, "why": "", "patch": {"groups": groups}}]}
    taken = step_ask("yes:0", ask, None, plan).ask
    assert (taken.heads, taken.child, taken.avoids) == (Heads(17, 17), 4, (Avoid(3, "pork"),))
    assert taken.patch == ()


def test_the_same_problem_is_worked_out_once():
    """The kernel is asked again only when something changed."""
    seen = []

    def kernel(problem):
        seen.append(problem)
        return {"answer": "yes"}

    planner = Planner(kernel)
    for heads in (10, 10, 11, 10):
        planner.plan(asked(f"heads={heads}"), [{"id": "C01"}], Settings, NOW)
    assert len(seen) == 2


def test_problems_take_turns_and_the_same_one_waits_for_its_answer():
    """One is worked out at a time; who waited for the same problem gets the same plan."""
    inside, most, seen, gate = [], [], [], threading.Event()

    def kernel(problem):
        inside.append(1)
        most.append(len(inside))
        seen.append(problem["groups"][0]["count"])
        gate.wait(5)
        inside.pop()
        return {"answer": "yes"}

    planner = Planner(kernel, at_once=1)
    heads = (10, 10, 11, 10, 11, 10)
    with ThreadPoolExecutor(len(heads)) as hands:
        plans = [
            hands.submit(planner.plan, asked(f"heads={n}"), [{"id": "C01"}], Settings, NOW)
            for n in heads
        ]
        gate.set()
    assert max(most) == 1
    assert sorted(seen) == [10, 11]
    assert plans[0].result() is plans[1].result()


@pytest.mark.parametrize(
    ("where", "name"),
    [("$.groups[0].count", "heads"), ("$.rules.slots[1]", "slot"), ("$.pinned[0]", "pins"),
     ("$.budget_per_head", "money"), ("$.use_at", "day"), ("$.elsewhere", "")],
)  # fmt: skip
def test_a_refusal_of_the_kernel_shows_beside_its_field(where, name):
    """The longest known path wins."""
    assert field_of(BadValue("no", where=where)) == name


@given(st.decimals(0, 999, places=2))
def test_every_unit_shows_the_same_weight(pounds):
    """Shown in kilograms or pounds and ounces, it is still that weight within its last digit."""
    text = f"{pounds:.2f}"
    weight = Weight.of(text, WeightUnit.LB)
    assert Shown("lb").weight(text) == f"{text} lb"
    kilograms = Decimal(Shown("kg").weight(text).removesuffix(" kg"))
    assert abs(Weight.of(kilograms, WeightUnit.KG).count - weight.count) <= 5 * 10**7
    whole, ounces = Shown("lb-oz").weight(text).removesuffix(" oz").split(" lb ")
    assert Decimal(ounces) < 16
    assert abs(Decimal(whole) * 16 + Decimal(ounces) - pounds * 16) <= Decimal("0.05")


def test_prices_and_heats_are_shown_in_the_device_s_units():
    """Per kilogram from the exact price per pound; both scales, the device's first."""
    price = UnitPrice.of("8.40", WeightUnit.LB)
    assert Shown("lb").price(price) == "8.40 /lb"
    assert Shown("kg").price(price) == "18.52 /kg"
    assert Shown("lb").heat(145) == "145 °F (63 °C)"
    assert Shown("kg").heat(145) == "63 °C (145 °F)"
    assert Shown("lb").ounces(2.5) == "2.5 oz"
    assert Shown("kg").ounces(7.0) == "198 g"


def test_more_than_forty_texts_of_one_name_are_left_out():
    """A form cannot grow without end."""
    assert len(Fields([("pin", str(at)) for at in range(100)]).all("pin")) == 40
