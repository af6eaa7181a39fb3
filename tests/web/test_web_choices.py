"""Pricing choices: what stands, changing it with who and why, and the way back."""

from __future__ import annotations

import re
from datetime import time, timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collop.errors import WrongState
from collop.shop.choice_words import CHOICES
from collop.shop.pricing_choices import BY_PRODUCTS, CHANGEABLE

HERE = "/chalk/choices"
WHO = {"by": "ines", "why": "spring figures", "key": "k", "do": "save"}


def shown(client, read_page):
    """Return the form as a browser would send it back untouched."""
    return read_page(client.get(HERE).text).form(HERE)


def send(client, read_page, **typed):
    """Send the page's form with some fields typed over."""
    return client.post(HERE, data=shown(client, read_page) | WHO | typed)


def test_every_choice_is_shown_with_its_figure_and_meaning(client, read_page, words):
    """All that may be changed is there, nothing inline, every field named."""
    answer = client.get(HERE)
    page, text = read_page(answer.text), words(answer.text)
    assert (page.inline, page.unlabelled()) == ([], [])
    ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
    assert len(ids) == len(set(ids))
    assert {choice.name.partition(".")[0] for choice in CHOICES} == set(CHANGEABLE)
    assert {c.name for c in CHOICES if "." in c.name} == {f"worths.{kind}" for kind in BY_PRODUCTS}
    for choice in CHOICES:
        assert f"f-{choice.name}" in page.ids
        assert choice.meaning in text
    assert "Now 35 %, as it began" in text
    assert "Now 60 minutes, as it began" in text
    assert "Nothing was changed yet" in text
    assert f'href="{HERE}"' in client.get("/chalk").text


def test_the_page_is_not_taken_for_an_animal(client):
    """The address is found before that of an animal with any tag."""
    assert "Pricing choices" in client.get(HERE).text


CHANGES = [
    ({"target_margin": "38"}, "target_margin", Decimal("0.38"), "35 % 38 %"),
    ({"target_margin": "37,5 %"}, "target_margin", Decimal("0.375"), "35 % 37.5 %"),
    ({"target_margin": "0"}, "target_margin", Decimal(0), "35 % 0 %"),
    ({"price_jump": "20"}, "price_jump", Decimal("0.2"), "15 % 20 %"),
    ({"price_cap": "40"}, "price_cap", Decimal("1.4"), "25 % over 40 % over"),
    ({"labour_per_hour": "$1,026.50"}, "labour_per_hour", Decimal("1026.5"),
     "24.00 an hour 1026.50 an hour"),
    ({"price_step": "0.10"}, "price_step", Decimal("0.1"), "0.05 0.10"),
    ({"moves_from": "15:30"}, "moves_from", time(15, 30), "16:00 15:30"),
    ({"quote_hold_minutes": "1"}, "quote_hold_minutes", 1, "60 minutes 1 minute"),
    ({"ends": "list", "price_endings": ".99 0.49"}, "price_endings",
     (Decimal("0.49"), Decimal("0.99")), "none 0.49, 0.99"),
    ({"ends": "list", "price_endings": ".5,.995"}, "price_endings",
     (Decimal("0.5"), Decimal("0.995")), "none 0.50, 0.995"),
    ({"ends": "list", "price_endings": "0,49; 0,99"}, "price_endings",
     (Decimal("0.49"), Decimal("0.99")), "none 0.49, 0.99"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "name", "value", "says"), CHANGES)
def test_a_choice_is_changed_and_told(client, shop, words, read_page, typed, name, value, says):
    """It holds in the shop alone of all, the strip says from what to what, the table keeps why."""
    before = shop.settings()
    answer = send(client, read_page, **typed)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{HERE}?done=saved")
    after = shop.settings()
    assert getattr(after, name) == value
    assert [one for one in CHANGEABLE if getattr(after, one) != getattr(before, one)] == [name]
    html = client.get(answer.headers["location"]).text
    strip = words(html.split('role="status">')[1].split("</div>")[0])
    assert "Changed at 08:00, Ines:" in strip
    assert says in strip
    assert "(spring figures)" in strip
    table = words(html.split("<tbody>")[1])
    assert "Ines spring figures" in table
    assert ", Ines: spring figures" in words(html.split("<form")[2])


def test_worths_change_by_kind(client, shop, words, read_page):
    """One kind is changed, the others keep theirs, and a row tells that kind alone."""
    assert send(client, read_page, **{"worths.fat": "0.45"}).status_code == 303
    found = shop.settings().worths
    assert (found["fat"], found["trim"]) == (Decimal("0.45"), Decimal(3))
    text = words(client.get(HERE).text)
    assert "Worth of fat 0.45 a lb 0.30 a lb Ines" in text
    assert "Worth of trim" not in text


def test_endings_go_back_to_a_step(client, shop, read_page):
    """With the step chosen the list no longer holds."""
    send(client, read_page, ends="list", price_endings=".49 .99")
    assert send(client, read_page, ends="step", key="k2").status_code == 303
    assert shop.settings().price_endings == ()


FAULTS = [
    ({"target_margin": "90.5"}, "target_margin", "enter from 0 to 90"),
    ({"target_margin": "-1"}, "target_margin", "too little"),
    ({"target_margin": ""}, "target_margin", "Target margin: write"),
    ({"target_margin": "35.00001"}, "target_margin", "at most 4 decimals"),
    ({"price_jump": "1001"}, "price_jump", "Jump limit"),
    ({"price_cap": "901"}, "price_cap", "Cap over"),
    ({"price_step": "0"}, "price_step", "too little"),
    ({"labour_per_hour": "1e3"}, "labour_per_hour", "write a figure"),
    ({"labour_per_hour": "NaN"}, "labour_per_hour", "write a figure"),
    ({"worths.bone": "1000.01"}, "worths.bone", "Bone"),
    ({"moves_from": "teatime"}, "moves_from", "Moves shown from"),
    ({"quote_hold_minutes": "0"}, "quote_hold_minutes", "too few"),
    ({"quote_hold_minutes": "10081"}, "quote_hold_minutes", "too many"),
    ({"ends": "list", "price_endings": "1.49"}, "price_endings", "each under 1"),
    ({"ends": "list", "price_endings": ""}, "price_endings", "write them like"),
    ({"ends": "list", "price_endings": " ".join(f".{at:02}" for at in range(21))},
     "price_endings", "up to 20"),
    ({"ends": "neither"}, "ends", "Prices end"),
    ({"price_endings": ".49"}, "ends", "to use the list"),
    ({"target_margin": "38", "why": " "}, "why", "write a reason"),
    ({"target_margin": "38", "by": ""}, "by", "choose who"),
    ({"target_margin": "38", "by": "nobody"}, "by", "not known"),
    ({}, "target_margin", "Nothing is changed yet"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "name", "says"), FAULTS)
def test_a_fault_stands_beside_its_field(client, shop, words, read_page, typed, name, says):
    """Summary and field say the same, what was typed stays, and nothing is changed."""
    before = shop.settings()
    answer = send(client, read_page, **{"labour_per_hour": "26"} | typed if typed else {})
    assert answer.status_code == 422
    page = read_page(answer.text)
    assert f"f-{name}" in page.ids
    summary = answer.text.split("</section>")[0]
    assert f'href="#f-{name}"' in summary
    beside = answer.text.split(f'id="e-{name}">')[1].split("</p>")[0]
    assert says in words(beside)
    assert words(beside).replace(" Error: ", "").strip() in words(summary)
    assert "<title>Error: " in answer.text
    sent = page.form(HERE)
    kept = {key: text for key, text in typed.items() if key not in {"by", "ends", "why"}}
    assert {key: sent[key][0] for key in kept} == kept
    assert (shop.settings(), shop.setting_changes()) == (before, ())


def test_a_form_sent_twice_changes_once(client, shop, read_page):
    """The key makes the second sending harmless; with other figures it is refused in words."""
    form = shown(client, read_page) | WHO | {"target_margin": "38"}
    for _ in range(2):
        assert client.post(HERE, data=form).status_code == 303
    assert len(shop.setting_changes()) == 1
    answer = client.post(HERE, data=form | {"price_jump": "30"})
    assert answer.status_code == 409
    assert "were sent already" in answer.text
    assert len(shop.setting_changes()) == 1


def test_a_page_shown_before_keeps_what_others_changed(client, shop, words, read_page):
    """A field left as it was shown writes nothing over; one both changed is asked about."""
    old = shown(client, read_page)
    shop.change_settings({"target_margin": "0.4"}, by="dot", why="rent", key="other")
    assert client.post(HERE, data=old | WHO | {"price_jump": "20"}).status_code == 303
    assert shop.settings().target_margin == Decimal("0.4")
    late = old | WHO | {"target_margin": "38", "key": "late"}
    answer = client.post(HERE, data=late)
    assert answer.status_code == 422
    assert "changed to 40 % since this page was shown" in words(answer.text)
    assert shop.settings().target_margin == Decimal("0.4")
    again = read_page(answer.text).form(HERE) | WHO | {"key": "again"}
    assert again["target_margin"] == ["38"]
    assert client.post(HERE, data=again).status_code == 303
    assert shop.settings().target_margin == Decimal("0.38")


def test_undo_writes_the_former_figures_as_a_further_change(client, shop, words, read_page):
    """All of one act go back, with who and why; sent twice it is done once; no undo of an undo."""
    before = shop.settings()
    send(client, read_page, **{"target_margin": "38", "worths.fat": "0.45", "ends": "list",
                               "price_endings": ".49"})  # fmt: skip
    form = shown(client, read_page)
    assert ">Undo<" in client.get(HERE).text
    undo = form | {"do": "undo", "by": "dot", "key": "back"}
    for _ in range(2):
        answer = client.post(HERE, data=undo)
        assert (answer.status_code, answer.headers["location"]) == (303, f"{HERE}?done=undone")
    assert shop.settings() == before
    changes = shop.setting_changes()
    assert len(changes) == 6
    assert {(one.by, one.why) for one in changes[3:]} == {("dot", "taken back: spring figures")}
    html = client.get(f"{HERE}?done=undone").text
    assert "Taken back at 08:00, Dot: Target margin 38 % 35 %" in words(html)
    assert ">Undo<" not in html


def test_undo_is_there_for_an_hour_and_for_the_last_change_only(client, shop, clock, read_page):
    """Later, or after another change, nothing is written and the page says why."""
    send(client, read_page, target_margin="38")
    old = shown(client, read_page) | {"do": "undo", "by": "dot", "key": "back"}
    assert client.post(HERE, data=old | {"by": ""}).status_code == 422
    clock.put(clock.now() + timedelta(minutes=5))
    send(client, read_page, target_margin="39", key="k2")
    answer = client.post(HERE, data=old)
    assert answer.status_code == 409
    assert "look again" in answer.text
    fresh = shown(client, read_page) | {"do": "undo", "by": "dot", "key": "back2"}
    clock.put(clock.now() + timedelta(minutes=61))
    answer = client.post(HERE, data=fresh)
    assert answer.status_code == 409
    assert "more than an hour old" in answer.text
    assert ">Undo<" not in client.get(HERE).text
    assert shop.settings().target_margin == Decimal("0.39")


def test_what_the_shop_refuses_is_said_and_nothing_lost(client, shop, read_page, monkeypatch):
    """A refusal is no field error; what was typed is there again."""

    def refuse(*_, **__):
        raise WrongState("The week is closed.")

    monkeypatch.setattr(shop, "change_settings", refuse)
    answer = send(client, read_page, target_margin="38")
    assert answer.status_code == 409
    assert "The week is closed. Nothing was changed." in answer.text
    assert read_page(answer.text).form(HERE)["target_margin"] == ["38"]


def test_a_changed_margin_counts_on_the_chalk_page(client, read_page, words):
    """The choice is what prices are worked out with."""
    send(client, read_page, target_margin="41.5")
    assert "target margin 41.5 %" in words(client.get("/chalk").text)


NAMES = st.sampled_from(
    [*(c.name for c in CHOICES), *(f"was-{c.name}" for c in CHOICES), "ends", "was-ends", "why",
     "by", "key", "do", "last", "worths", "done"]
)  # fmt: skip
TEXT = st.one_of(
    st.text(max_size=30),
    st.sampled_from(["", "0", "-1", "1e9", "NaN", "Infinity", "1" * 300, "1,000", ",", ".", "%",
                     "0.49 0.99", ".49,.99", "٣٤", "½", "\x00", "undo", "save", "list", "step",
                     "16:00", "25:00", "ines", "dot", "1e-999999"]),
)  # fmt: skip


def test_a_day_opened_beside_the_usual_ones_is_no_choice_of_prices(client, words):
    """It stands on the Long List; the choices show as before and have nothing to take back."""
    before = words(client.get(HERE).text)
    day = {"day": "2026-06-15", "why": "the feast", "by": "ines", "do": "open", "key": "k"}
    assert client.post("/long-list/day", data=day).status_code == 303
    answer = client.get(HERE)
    assert answer.status_code == 200
    assert "the feast" not in words(answer.text)
    assert words(answer.text) == before


@settings(max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(form=st.dictionaries(NAMES, TEXT, max_size=10), named=st.booleans())
def test_no_form_whatever_breaks_the_choices(client, form, named):
    """Anything typed anywhere is saved, or answered with a sentence."""
    answer = client.post(HERE, data=form | ({"by": "ines", "why": "x"} if named else {}))
    assert answer.status_code in {303, 409, 422}
    if answer.status_code == 422:
        assert "There is a problem" in answer.text
    assert client.get(HERE, params=form).status_code == 200


@settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from([c.name for c in CHOICES
                             if c.name not in {"price_endings", "moves_from"}]),
       figure=st.decimals(min_value=0, max_value=2000, places=2, allow_nan=False))  # fmt: skip
def test_what_is_saved_is_shown_as_it_was_typed(client, read_page, name, figure):
    """Every figure within its range comes back the same; others are refused."""
    answer = send(client, read_page, **{name: str(figure), "key": ""})
    if answer.status_code == 303:
        assert Decimal(shown(client, read_page)[name][0]) == figure
    else:
        assert answer.status_code == 422
