"""How a line of the case cooks: its page, its form, and the warm-up of the counter."""

from __future__ import annotations

import threading
import time
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from collop.errors import BadValue, StorageTrouble
from collop.reference import cook_minimum
from collop.shop import CaseCook
from collop.web import create_app
from collop.web.cook_form import Scale, read_core, read_thickness
from collop.web.warming import Warmer

GOOD = {"key": "k", "form": "steak", "thickness": "1 1/4 in", "measured": "yes", "bone": "yes",
        "fat_rich": "no", "shape": "", "method": "", "treatment": "", "done": "", "rest_min": "",
        "hold_min": "", "carve": "", "by": "ines"}  # fmt: skip
CHOPS = "/case/C17/cook"


def send(client, address=CHOPS, **change):
    return client.post(address, data=GOOD | change)


def test_the_page_tells_the_minutes_a_spread_is_offered(client, shop, words):
    """The band, form, thickness, minimum and who said so, and a way there from the case."""
    text = words(client.get(CHOPS).text)
    low, high = next(one["minutes"] for one in shop.offers() if one["id"] == "C17")
    assert f"{low} to {high} min 10 to 90 of 100" in text
    assert "1.1 in (28 mm), cut to it" in text
    assert "Published minimum 145 °F (63 °C), then 3 min rest" in text
    assert "Rest 5 min" in text
    assert "Mon 8 Jun 2026, 18:00 Ines - steak, chop, 1.1 in (28 mm)" in text
    assert f'href="{CHOPS}"' in client.get("/case").text
    assert f'href="{CHOPS}"' in client.get("/chalk/line/C17").text


def test_a_line_without_form_says_whose_minutes_they_are(client, shop, words):
    """Brisket has the shop's minutes; a line with none says that nobody told."""
    text = words(client.get("/case/C30/cook").text)
    assert "480 to 600 min" in text
    assert "The shop's own minutes, given when the line was made." in text
    bones = words(client.get("/case/C32/cook").text)
    assert "Nobody told yet; the words and minutes of the case count." in bones
    assert shop.fire.told("C32").method is None


def test_a_thicker_chop_changes_page_offers_and_history(client, shop, words):
    """What is written counts at once; what stood before stays in the list."""
    before = shop.fire.told("C17").minutes
    answer = send(client, thickness="1 1/2 in", done="150", rest_min="6", carve="Off the bone.")
    assert (answer.status_code, answer.headers["location"]) == (303, f"{CHOPS}?done=1")
    cook = shop.fire.cook("C17")
    assert cook == CaseCook(
        form="steak", thickness_mm=Decimal("38.1"), measured=True, bone=True, done_f=150,
        rest_min=6, carve="Off the bone.",
    )  # fmt: skip
    told = shop.fire.told("C17")
    assert (told.minutes[0], told.minutes[1]) > before
    offer = next(one for one in shop.offers() if one["id"] == "C17")
    assert tuple(offer["minutes"]) == told.minutes
    text = words(client.get(answer.headers["location"]).text)
    assert "Changed." in text
    assert "Tue 9 Jun 2026, 08:00 Ines 150 °F (66 °C) steak, chop, 1.5 in (38.1 mm)" in text
    assert "Mon 8 Jun 2026, 18:00" in text
    assert [one.by for one in told.changes] == ["ines", "ines"]


def test_the_same_key_changes_it_once(client, shop):
    """Sent twice it stands once; the key with other words is refused."""
    assert [send(client).status_code for _ in range(2)] == [303, 303]
    assert len(shop.fire.told("C17").changes) == 2
    assert send(client, thickness="40 mm").status_code == 409
    assert len(shop.fire.told("C17").changes) == 2


@pytest.mark.parametrize("case_id", ["C01", "C11", "C14", "C17", "C23", "C30", "C32", "C34"])
@pytest.mark.parametrize("unit", ["lb", "kg"])
def test_a_form_sent_back_unchanged_leaves_the_line_as_it_was(client, shop, case_id, unit):
    """Inches or millimetres, degrees F or C: what is shown is read as what is kept."""
    client.cookies.set("collop_unit", unit)
    before = shop.fire.cook(case_id) or CaseCook()
    html = client.get(f"/case/{case_id}/cook").text
    sent = {name: value for name, value in shown_in(html).items() if name != "key"}
    assert send(client, f"/case/{case_id}/cook", **sent, by="ines").status_code == 303
    assert shop.fire.cook(case_id) == before


def shown_in(html):
    """Return the fields of the form with what they show."""
    from html.parser import HTMLParser

    class Shown(HTMLParser):
        def __init__(self):
            super().__init__()
            self.found, self.select = {}, None

        def handle_starttag(self, tag, attrs):
            facts = dict(attrs)
            if tag == "select":
                self.select = facts["name"]
            if tag == "option" and "selected" in facts:
                self.found[self.select] = facts["value"]
            if tag == "input" and facts.get("type") == "text" and facts.get("name") in GOOD:
                self.found[facts["name"]] = facts["value"]

    shown = Shown()
    shown.feed(html)
    assert len(shown.found) >= len(GOOD) - 2  # all but key and who
    return shown.found


FAULTS = [
    ({"form": "wedge"}, "form", "choose one of"),
    ({"form": ""}, "form", "Give form and thickness together"),
    ({"thickness": ""}, "form", "Give form and thickness together"),
    ({"thickness": "thick"}, "thickness", "write it like 1 1/4 in or 30 mm"),
    ({"thickness": "1/0 in"}, "thickness", "write it like"),
    ({"thickness": "30 miles"}, "thickness", "write it like"),
    ({"thickness": "NaN"}, "thickness", "write it like"),
    ({"thickness": "1 mm"}, "thickness", "write 2 to 400 mm"),
    ({"thickness": "999 in"}, "thickness", "write 2 to 400 mm"),
    (
        {"thickness": "7 mm"},
        "thickness",
        "7 mm is no thickness of a steak (8 to 90 mm); write the unit, such as 1 in.",
    ),
    ({"thickness": "350 mm"}, "thickness", "350 mm is no thickness of a steak"),
    (
        {"thickness": "60 mm", "method": "indirect", "done": "205"},
        "thickness",
        "does not get done within 12 hours",
    ),
    ({"shape": "-1"}, "shape", "write 0 to 2"),
    ({"shape": "3"}, "shape", "write 0 to 2"),
    ({"method": "boil"}, "method", "choose one of"),
    ({"treatment": "sung to"}, "treatment", "choose one of"),
    ({"done": "rare"}, "done", "write it like 150 °F"),
    ({"done": "144"}, "done", "under the published minimum, 63 °C (145 °F)"),
    ({"done": "62 C"}, "done", "under the published minimum"),
    ({"done": "150", "treatment": "injected"}, "done", "minimum, 72 °C (160 °F)"),
    ({"done": "999"}, "done", "Wanted core: write 32 to 212 °F."),
    ({"rest_min": "2"}, "rest_min", "the published one is 3 min"),
    ({"rest_min": "x"}, "rest_min", "whole number"),
    ({"hold_min": "999"}, "hold_min", "240 or fewer"),
    ({"carve": "x" * 201}, "carve", "one sentence"),
    ({"by": ""}, "by", "choose who"),
    ({"by": "nobody"}, "by", "not known here"),
]


@pytest.mark.parametrize(("change", "field", "says"), FAULTS)
def test_a_fault_is_said_above_and_beside_its_field(client, shop, words, change, field, says):
    """The summary leads to the field, what was typed stays, and nothing is written."""
    before = shop.fire.told("C17").changes
    answer = send(client, **change)
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert f'id="e-{field}"' in answer.text
    assert f'id="f-{field}"' in answer.text
    assert words(answer.text).count(says) == 2
    if len(change) == 1 and field not in {"form", "method", "treatment", "by"}:
        assert f'value="{change[field]}"' in answer.text
    assert shop.fire.told("C17").changes == before


def test_a_core_beyond_boiling_is_refused_for_food_without_a_rule(client, shop, words):
    """900 °F for corn is said beside its field; nothing is written."""
    answer = send(client, "/case/C33/cook", form="", thickness="", done="900")
    assert answer.status_code == 422
    assert words(answer.text).count("Wanted core: write 32 to 212 °F.") == 2
    assert shop.fire.cook("C33") is None


def test_mince_and_birds_have_their_own_minimum(client, words):
    """A core of 150 °F is refused for mince, 160 for a bird."""
    assert "72 °C (160 °F)" in words(send(client, "/case/C11/cook", form="patty", done="150").text)
    bird = send(client, "/case/C23/cook", form="bird-flat", thickness="43 mm", done="160")
    assert "74 °C (165 °F)" in words(bird.text)


def test_a_piece_no_model_knows_keeps_the_minutes_of_the_case(client, shop):
    """A pot has no heat model: its form tells the rest, the case its time."""
    assert send(client, method="pot").status_code == 303
    told = shop.fire.told("C17")
    assert (told.by_model, told.minutes) == (False, told.line.minutes)
    assert "for this way to cook there is no heat model" in client.get(CHOPS).text


def test_an_unknown_line_is_not_here(client):
    """Neither to be seen nor to be changed."""
    assert client.get("/case/C99/cook").status_code == 404
    assert send(client, "/case/C99/cook").status_code == 404


def test_every_field_has_a_label_and_nothing_is_inline(client, read_page):
    """As on every page of the counter."""
    page = read_page(client.get(CHOPS).text)
    assert page.unlabelled() == []
    assert page.inline == []


def test_another_site_cannot_change_it(client, shop):
    """A form sent from elsewhere is refused."""
    answer = client.post(CHOPS, data=GOOD, headers={"origin": "https://elsewhere.example"})
    assert answer.status_code == 403
    assert len(shop.fire.told("C17").changes) == 1


def test_degrees_and_lengths_follow_the_device(client, words):
    """Kilograms bring mm and °C first; degrees chosen on a sheet come before that."""
    client.cookies.set("collop_unit", "kg")
    text = words(client.get(CHOPS).text)
    assert "28 mm (1.1 in)" in text
    assert "63 °C (145 °F), then 3 min rest" in text
    client.cookies.set("collop_heat", "F")
    assert "145 °F (63 °C), then 3 min rest" in words(client.get(CHOPS).text)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.dictionaries(
        st.sampled_from(sorted(set(GOOD) - {"key"})),
        st.sampled_from(["", "1e999", "-1", "NaN", "\u0661", "x" * 3000, "<b>", "2/0 in", "7 mm"])
        | st.text(max_size=8),
    )
)
def test_no_form_whatever_breaks_the_page(client, change):
    """It is taken, or sent back with what is wrong; never a broken page."""
    answer = send(client, key="", **change)
    assert answer.status_code in {303, 409, 422}
    assert client.get(CHOPS).status_code == 200


# reading what is typed


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        # an inch is 25.4 mm exactly
        ("1 in", "25.4"), ("25 mm", "25"), ("1 1/4 in", "31.8"), ('1 1/4"', "31.8"),
        ("3/4", "19.1"), ("1,5 in", "38.1"), ("2.5 cm", "25"),
        ("  1   3/4  inches ", "44.5"), ("1", "25.4"),
    ],
)  # fmt: skip
def test_a_thickness_is_read_in_any_unit(text, mm):
    """Fractions, decimals, inches, centimetres, millimetres; alone it is the device's."""
    assert read_thickness(text, Scale()) == Decimal(mm)


@given(st.integers(20, 4000), st.booleans())
def test_a_thickness_shown_is_read_as_itself(tenths, inches):
    """To a tenth of a millimetre, in either unit."""
    mm, scale = Decimal(tenths) / 10, Scale(inches=inches)
    assert read_thickness(scale.typed_length(mm), scale) == mm


@given(st.integers(32, 212), st.booleans())
def test_a_core_shown_is_read_as_itself(fahrenheit, celsius):
    """To the degree, in either unit."""
    scale = Scale(celsius=celsius)
    assert read_core(scale.typed_core(fahrenheit), scale) == fahrenheit


@pytest.mark.parametrize("cook_as", ["whole", "ground", "poultry"])
def test_a_core_a_little_under_the_minimum_is_not_lifted_to_it(cook_as):
    """A tenth of a degree C under the published minimum is read as under it."""
    rule = cook_minimum(cook_as)
    under = rule.temperature.in_celsius(3) - Decimal("0.1")
    assert read_core(f"{under:.1f} C", Scale()) < rule.whole_fahrenheit
    assert read_core(f"{rule.whole_celsius} C", Scale()) >= rule.whole_fahrenheit


@given(st.text(max_size=12), st.booleans())
def test_no_text_whatever_breaks_the_readers(text, other):
    """A value, or one sentence."""
    for read, scale in ((read_thickness, Scale(inches=other)), (read_core, Scale(celsius=other))):
        try:
            found = read(text.strip(), scale)
        except BadValue as error:
            assert error.message.endswith(".")
        else:
            assert found is None or found >= 0


# the warm-up


class CountedShop:
    """A shop that counts what is asked of it."""

    def __init__(self, trouble=None):
        self.trouble, self.asked = trouble, threading.Event()

    def offers(self):
        """Note that it was asked."""
        self.asked.set()
        if self.trouble:
            raise self.trouble


@pytest.mark.parametrize("trouble", [None, StorageTrouble("closed"), RuntimeError("broken")])
def test_the_warm_up_asks_for_the_offers_and_ends_by_itself(trouble, capfd):
    """In a thread of its own; a shop that is closed or broken ends it without a word."""
    shop = CountedShop(trouble)
    warmer = Warmer(shop, wait=0)
    warmer.start()
    assert shop.asked.wait(10)
    until = time.monotonic() + 20
    while any(one.name == "warming" for one in threading.enumerate()):
        assert time.monotonic() < until
        time.sleep(0.01)
    warmer.stop()
    assert capfd.readouterr().err == ""


def test_a_warm_up_that_is_stopped_before_it_begins_asks_nothing():
    """The server that closes at once waits for nothing."""
    shop = CountedShop()
    warmer = Warmer(shop, wait=30)
    warmer.start()
    warmer.stop()
    warmer.start()
    for one in threading.enumerate():
        if one.name == "warming":
            one.join(20)
            assert not one.is_alive()
    assert not shop.asked.is_set()


def test_the_counter_warms_up_only_if_asked(shop, monkeypatch):
    """Not in other applications; where it does, nothing is written."""
    asked = threading.Event()
    whole = type(shop).offers
    monkeypatch.setattr(type(shop), "offers", lambda self: (whole(self), asked.set())[0])
    with TestClient(create_app(shop)):
        assert not any(one.name == "warming" for one in threading.enumerate())
    before = shop.check(), shop.bench.version()
    with TestClient(create_app(shop, warm=True)) as client:
        assert client.get("/case").status_code == 200
        assert asked.wait(20)
    assert (shop.check(), shop.bench.version()) == before
