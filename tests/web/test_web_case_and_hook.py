"""Case, hook and handing over."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

import pytest

from collop.measures import Weight, WeightUnit


def test_the_case_shows_on_hand_booked_and_free(client, words):
    """Three numbers a line, days left in words beside the dots."""
    text = words(client.get("/case").text)
    assert "C01 Lamb leg, bone in 34.00 lb 26.00 lb 8.00 lb 4 days 11.20 /lb" in text
    assert "C10 Beef brisket 14.00 lb 14.00 lb none" in text


@pytest.mark.parametrize(
    ("query", "there", "gone"),
    [
        ("find=lamb+chop", "Lamb loin chops", "Beef rump"),
        ("find=sesame", "soy-sesame", "Lamb leg"),
        ("find=hog", "Beef links", "Lamb red links"),
        ("only=free", "Lamb leg", "Beef brisket 14"),
        ("only=soon", "Beef mince", "Lamb leg, bone in 34"),
        ("only=slow", "Lamb breast", "Lamb leg, bone in 34"),
        ("only=bogus", "Lamb leg", "No line matches"),
        ("find=unicorn", "No line matches", "Lamb leg"),
    ],
)
def test_the_case_is_searched_by_words_and_filtered(client, words, query, there, gone):
    """Every word must be found, in name, species, contents or casing."""
    text = words(client.get(f"/case?{query}").text)
    assert there in text
    assert gone not in text


def test_an_empty_case_says_what_to_do_first(client, shop, words):
    """No rows, one sentence."""
    shop.case = tuple
    assert "The case is empty." in words(client.get("/case").text)


def test_the_hook_shows_a_fortnight_with_shut_days(client, words):
    """Fourteen columns, slips in the order of the hour."""
    answer = client.get("/hook")
    text = words(answer.text)
    assert answer.text.count('class="day') == 14
    assert text.index("School fair") < text.index("Wedding supper")
    assert "Sun 14 shut" in text


@pytest.mark.parametrize("find", ["rowing", "H2", "0134"])
def test_a_slip_is_found_by_name_phone_end_or_number(client, shop, words, find):
    """All three lead to the same slip."""
    wanted = shop.find(find)
    assert wanted
    assert wanted[0].name in words(client.get("/hook", params={"find": find}).text)


def test_nothing_found_says_how_to_look(client, words):
    """No slip, one sentence and a way back."""
    assert "No booking matches" in words(client.get("/hook?find=zzz").text)


def test_a_missing_booking_is_a_plain_404(client, words):
    """The shop's own sentence, no trace."""
    for name in ("H999", "nonsense", "H2%27"):
        answer = client.get(f"/hook/{name}")
        assert answer.status_code == 404
        assert "There is no booking" in words(answer.text)


def weigh(booking, **other):
    """Return form texts that weigh every line as booked, but for those named by case id."""
    return {
        f"weighed-{line.id}": other.get(line.case_id, str(line.weight.decimal(WeightUnit.LB)))
        for line in booking.lines
    }


def test_short_ribs_short_offer_three_ways_with_each_total(client, shop, words):
    """5.00 lb booked, 4.15 lb weighed: take, top up or swap, money rounded half up."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    form = weigh(booking, C09="4.15") | {"do": "check"}
    text = words(client.post(f"/hook/{booking.id}/hand-over", data=form).text)
    assert "Short by 17 %" in text
    assert "take as it is 36.94" in text
    assert "top up with 0.90 lb Beef shin on the bone 42.88" in text
    assert "swap for" in text
    assert "deposit 20.00" in text
    assert "to pay 16.94" in text


@pytest.mark.parametrize("choice", ["take", "top-up", "swap"])
def test_each_way_hands_over_what_was_chosen(client, shop, clock, words, choice):
    """The slip is gone, the money is for the weighed weight, a stand-in is a line of its own."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    clock.put(datetime(2026, 6, 11, 17, 0))  # noqa: DTZ001 -- shop-local
    form = weigh(booking, C09="4.15") | {
        "do": "hand-over", "by": "dot", "key": "k", f"choice-{booking.lines[0].id}": choice,
    }  # fmt: skip
    answer = client.post(f"/hook/{booking.id}/hand-over", data=form)
    assert answer.status_code == 303, words(answer.text)
    gone = shop.booking(booking.id)
    assert str(gone.state) == "gone"
    weighed = [line.weighed for line in gone.lines]
    handed = Weight.of("4.15", WeightUnit.LB)
    assert weighed[0] == (None if choice == "swap" else handed)
    assert len(weighed) == (1 if choice == "take" else 2)
    assert "Handed over." in words(client.get(answer.headers["location"]).text)
    again = client.post(f"/hook/{booking.id}/hand-over", data=form)
    assert again.status_code in {303, 409, 422}
    assert shop.booking(booking.id).lines == gone.lines


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "enter what the scale says"),
        ("NaN", "write the weight like 4.15"),
        ("-2", "write the weight like 4.15"),
        ("415", "is over twice the booked"),
    ],
)
def test_a_weight_that_cannot_be_is_asked_again(client, shop, words, typed, sentence):
    """422 and one sentence that names the line; nothing is handed over."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    form = weigh(booking, C09=typed) | {"do": "hand-over", "by": "dot", "key": "k"}
    answer = client.post(f"/hook/{booking.id}/hand-over", data=form)
    assert answer.status_code == 422
    assert sentence in words(answer.text)
    assert str(shop.booking(booking.id).state) == "booked"


def test_a_kilogram_reading_prices_the_same_weight(client, shop, words):
    """1.88 kg is read as such, and priced by the exact weight."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    form = weigh(booking, C09="1.88 kg") | {"do": "check"}
    text = words(client.post(f"/hook/{booking.id}/hand-over", data=form).text)
    exact = booking.lines[0].unit_price.line(Weight.of(Decimal("1.88"), WeightUnit.KG))
    assert f"total {exact}" in text
