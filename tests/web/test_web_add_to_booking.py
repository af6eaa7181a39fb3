"""Adding to a booking on its page: each line at its own price, and nothing written unseen.

The conversation is invented: a quote, a board that moved, and a customer who rings again.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop import NewBooking, NewLine

WHY = (
    "Beef mince, 20 % fat, was booked at 7.80 (quoted 09:40, held until 10:40). The board moved"
    " to 8.60 at 10:00 by Ines: farm price. What is added now is at 8.60."
)


def pounds(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


def at(clock, hour):
    """Put the shop's clock to an hour of the demo's Tuesday."""
    clock.put(datetime.fromisoformat(f"2026-06-09T{hour}"))


def raise_mince(shop, to="8.60", why="farm price", key="up"):
    """Put mince up on the board."""
    shop.board_price("C11", UnitPrice.of(to, WeightUnit.LB), by="ines", why=why, key=key)


@pytest.fixture
def garden(shop, clock):
    """9.0 lb of mince at 7.80 and 4.0 lb of rump at 16.40, held; it is 10:20 and mince is 8.60."""
    at(clock, "09:40")
    lines = (NewLine("C11", pounds("9")), NewLine("C13", pounds("4")))
    quote = shop.quote(lines, ask={"heads": 24}, key="q")
    at(clock, "10:00")
    raise_mince(shop)
    at(clock, "10:05")
    new = NewBooking("Garden wall", datetime.fromisoformat("2026-06-09T16:30"), "dot", lines=lines)
    made = shop.book(new, key="b", quote_id=quote.id)
    at(clock, "10:20")
    return made


def place_of(booking):
    """Return the address of its page."""
    return f"/hook/{booking.id}/add"


def reviewed(client, read_page, booking, cut="C11", amount="2", **more):
    """Return the fields of the form that adds a line."""
    answer = client.get(place_of(booking), params={"cut": cut, "amount": amount, **more})
    assert answer.status_code == 200, answer.text
    return read_page(answer.text).form(place_of(booking))


def prices(booking):
    """Return line, price and money of each line."""
    return [(one.case_id, str(one.unit_price.amount), str(one.line_total)) for one in booking.lines]


def test_the_slip_leads_to_the_page_and_the_page_shows_what_is_held(
    client, garden, read_page, words
):
    """The link, the lines with their prices, the cuts with free weight and today's price."""
    assert place_of(garden) in read_page(client.get(f"/hook/{garden.id}").text).links
    answer = client.get(place_of(garden))
    text = words(answer.text)
    assert answer.status_code == 200
    assert "Beef mince, 20 % fat 9.00 lb 7.80 /lb 70.20" in text
    assert "Total as booked 135.80" in text
    assert "Beef mince, 20 % fat, 8.60 /lb," in text
    assert read_page(answer.text).unlabelled() == []


def test_every_free_line_can_be_chosen_and_no_other(client, shop, garden):
    """The list of cuts is the free case."""
    page = client.get(place_of(garden)).text
    for line in shop.case():
        assert (f'<option value="{line.id}"' in page) == bool(line.free.count and not line.is_past)


def test_another_price_is_explained_before_anything_is_added(client, shop, garden, words):
    """Both lines, the reason in one sentence, the old total struck, and nothing written."""
    answer = client.get(place_of(garden), params={"cut": "C11", "amount": "2"})
    text = words(answer.text)
    assert WHY in text
    assert "Beef mince, 20 % fat 9.00 lb 7.80 /lb 70.20" in text
    assert "Beef mince, 20 % fat added 2.00 lb 8.60 /lb 17.20" in text
    assert '<s><span class="unseen">before: </span>135.80</s>' in answer.text
    assert "now: 153.00" in text
    assert "Add for 17.20" in text
    assert shop.booking(garden.id) == garden


def test_what_was_shown_is_added_at_its_own_price(client, shop, garden, read_page, words):
    """Three lines with three prices, 153.00; the slip says what became of the total, and by whom.

    9.0 x 7.80 + 4.0 x 16.40 = 70.20 + 65.60 = 135.80; 2.0 x 8.60 = 17.20; 135.80 + 17.20 = 153.00.
    """
    form = reviewed(client, read_page, garden)
    answer = client.post(place_of(garden), data=form | {"by": "dot"})
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/hook/{garden.id}?done=added"
    now = shop.booking(garden.id)
    assert prices(now) == [
        ("C11", "7.80", "70.20"), ("C13", "16.40", "65.60"), ("C11", "8.60", "17.20"),
    ]  # fmt: skip
    assert now.total == Money.of("153.00")
    text = words(client.get(answer.headers["location"]).text)
    assert "Added. The lines before it keep their prices." in text
    assert (
        "added to, Dot: 153.00 instead of 135.80, for 2.00 lb of Beef mince, 20 % fat at 8.60"
        in text
    )


def test_sent_twice_is_added_once_whatever_happened_between(client, shop, clock, garden, read_page):
    """The same answer, even after the board moved again and the booking was cut."""
    form = reviewed(client, read_page, garden) | {"by": "dot"}
    first = client.post(place_of(garden), data=form)
    raise_mince(shop, "8.90", key="again")
    shop.change_state(garden.id, "cut", by="kofi", key="cut")
    second = client.post(place_of(garden), data=form)
    assert first.headers["location"] == second.headers["location"]
    assert len(shop.booking(garden.id).lines) == 3


def test_a_board_that_moved_between_is_said_and_accepted_by_its_own_button(
    client, shop, garden, read_page, words
):
    """409, both figures, nothing written; the new figures are on a button that says them."""
    form = reviewed(client, read_page, garden) | {"by": "dot"}
    raise_mince(shop, "8.90", "dearer again", key="again")
    answer = client.post(place_of(garden), data=form)
    text = words(answer.text)
    assert answer.status_code == 409
    assert (
        "Beef mince, 20 % fat is 8.90 a lb on the board now, not 8.60; the total is 17.80" in text
    )
    assert "Nothing was added. This is how it stands now." in text
    assert "Add at 8.90, for 17.80" in text
    assert "now: 153.60" in text
    assert shop.booking(garden.id) == garden
    accepted = read_page(answer.text).form(place_of(garden))
    assert accepted["by"] == ["dot"]
    assert client.post(place_of(garden), data=accepted).status_code == 303
    assert shop.booking(garden.id).total == Money.of("153.60")


def test_a_weight_that_is_gone_is_said_with_what_is_free(client, shop, garden, read_page, words):
    """Somebody else was quicker: 409, what is free, the field kept, nothing written."""
    form = reviewed(client, read_page, garden) | {"by": "dot"}
    free = next(line.free for line in shop.case() if line.id == "C11")
    left = free - pounds("1.5")
    new = NewBooking("Rival", datetime.fromisoformat("2026-06-10T10:00"), "dot",
                     lines=(NewLine("C11", left),))  # fmt: skip
    shop.book(new, key="rival")
    answer = client.post(place_of(garden), data=form)
    text = words(answer.text)
    assert answer.status_code == 409
    assert text.count("Beef mince, 20 % fat: only 1.50 lb is free; take less.") == 2
    assert "Nothing was added." in text
    assert 'value="2"' in answer.text
    assert shop.booking(garden.id) == garden


def test_a_booking_changed_by_somebody_else_is_shown_again(client, shop, garden, read_page, words):
    """The total that was said must still be the total: else 409, and the new one to say yes to."""
    form = reviewed(client, read_page, garden) | {"by": "dot"}
    shop.add_lines(garden.id, (NewLine("C13", pounds("1")),), by="kofi", key="other")
    answer = client.post(place_of(garden), data=form)
    text = words(answer.text)
    assert answer.status_code == 409
    assert f"{garden.id} comes to 152.20 now, not 135.80" in text
    assert "before: 152.20" in text
    assert "now: 169.40" in text
    assert len(shop.booking(garden.id).lines) == 3


def test_a_form_without_a_name_says_so_and_names_a_price_that_moved_too(
    client, shop, garden, read_page, words
):
    """422 beside the names; the moved board is not slipped in unsaid."""
    form = reviewed(client, read_page, garden)
    answer = client.post(place_of(garden), data=form)
    assert answer.status_code == 422
    assert words(answer.text).count("Who: choose who does this.") == 2
    assert "Add for 17.20" in words(answer.text)
    raise_mince(shop, "8.90", key="again")
    moved = words(client.post(place_of(garden), data=form).text)
    assert "The board moved meanwhile; the price below is that of now." in moved
    assert "Add at 8.90, for 17.80" in moved
    assert shop.booking(garden.id) == garden


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"cut": "", "amount": "2"}, "Cut: choose what is added."),
        ({"cut": "nope", "amount": "2"}, "there is no 'nope' in the case"),
        ({"cut": "C11", "amount": ""}, "Beef mince, 20 % fat: write the weight"),
        ({"cut": "C11", "amount": "two"}, ": sold by weight; write it like 2 or"),
        ({"cut": "C11", "amount": "NaN"}, ": sold by weight; write it like 2 or"),
        ({"cut": "C11", "amount": "1e-999999"}, ": sold by weight; write it like"),
        ({"cut": "C11", "amount": "0"}, ": write a weight over 0."),
        ({"cut": "C11", "amount": "-2"}, "Beef mince"),
        ({"cut": "C11", "amount": "900"}, ": only 13.00 lb is free; take less."),
    ],
)
def test_what_cannot_be_added_is_said_beside_its_field(client, shop, garden, words, sent, sentence):
    """422, the sentence above and beside the field, nothing written."""
    answer = client.get(place_of(garden), params=sent)
    assert answer.status_code == 422
    assert words(answer.text).count(sentence) >= 2
    assert shop.booking(garden.id) == garden


@pytest.mark.parametrize(
    "change",
    [
        {"counts": ""}, {"counts": "x"}, {"counts": "9" * 400}, {"total": "-1"}, {"total": ""},
        {"price": "NaN"}, {"price": "1e-999999"}, {"price": ""}, {"per": "stone"}, {"cut": ""},
        {"counts": "1+1", "by_piece": "yes"}, {"counts": "0"},
    ],
)  # fmt: skip
def test_a_form_that_was_tampered_with_writes_nothing(client, shop, garden, read_page, change):
    """A sentence, no trace of the inside, and the booking as it was."""
    form = reviewed(client, read_page, garden) | {"by": "dot"}
    answer = client.post(place_of(garden), data=form | change)
    assert answer.status_code in {409, 422}
    assert "Nothing was added." in answer.text
    assert shop.booking(garden.id) == garden


def test_goods_by_the_piece_are_added_by_number_oldest_first(
    client, shop, garden, read_page, words
):
    """Two pieces are the two oldest; a weight is refused with how to write it."""
    line = next(one for one in shop.case() if one.piece_lb and len(one.piece_lb) >= 2)
    weight = line.piece_lb[0] + line.piece_lb[1]
    form = reviewed(client, read_page, garden, line.id, "2")
    client.post(place_of(garden), data=form | {"by": "dot"})
    added = shop.booking(garden.id).lines[-1]
    assert added.pieces == line.piece_lb[:2]
    assert added.weight == weight
    assert added.line_total == line.price.line(weight)
    for text in ("4.1", "4.1 lb", "", "0", "99"):
        answer = client.get(place_of(garden), params={"cut": line.id, "amount": text})
        assert answer.status_code == 422
        assert line.name in words(answer.text)


def test_a_weight_in_kilograms_is_priced_by_its_exact_pounds(client, shop, garden, read_page):
    """1.5 kg at 8.60 a pound is 28.44 (1.5 / 0.45359237 x 8.60 = 28.4396...).

    Source: NIST, Handbook 44, Appendix C, "General Tables of Units of Measurement": 1 lb is
    0.45359237 kg exactly.
    """
    form = reviewed(client, read_page, garden, amount="1.5 kg")
    assert client.post(place_of(garden), data=form | {"by": "dot"}).status_code == 303
    line = shop.booking(garden.id).lines[-1]
    assert line.weight == Weight.of("1.5", WeightUnit.KG)
    assert line.line_total == Money.of("28.44")


def test_a_device_in_kilograms_reads_bare_numbers_as_kilograms(client, shop, garden, read_page):
    """The unit is written beside the field and sent with the form."""
    client.cookies.set("collop_unit", "kg")
    assert "In kg" in client.get(place_of(garden)).text
    form = reviewed(client, read_page, garden, amount="1.5", unit="kg")
    client.cookies.clear()
    assert client.post(place_of(garden), data=form | {"by": "dot"}).status_code == 303
    assert shop.booking(garden.id).lines[-1].weight == Weight.of("1.5", WeightUnit.KG)


def test_a_booking_that_is_cut_is_left_alone(client, shop, garden, read_page, words):
    """409 in words on both ways in; the slip has no link any more."""
    form = reviewed(client, read_page, garden) | {"by": "dot"}
    shop.change_state(garden.id, "cut", by="kofi", key="cut")
    for answer in (client.get(place_of(garden)), client.post(place_of(garden), data=form)):
        assert answer.status_code == 409
        assert f"{garden.id} is cut" in words(answer.text)
    assert place_of(garden) not in read_page(client.get(f"/hook/{garden.id}").text).links
    assert client.get("/hook/H999/add").status_code == 404


def test_an_allergy_of_the_booking_keeps_the_cut_off_the_list(client, shop, clock, words):
    """What holds sesame is left out by name, and refused if asked for anyway."""
    held = next(line for line in shop.case() if line.id == "C25")
    rump = (NewLine("C13", pounds("1")),)
    new = NewBooking("No sesame", datetime.fromisoformat("2026-06-10T10:00"), "dot", lines=rump,
                     ask={"contains": ["sesame"]})  # fmt: skip
    place = place_of(shop.book(new, key="b"))
    page = client.get(place).text
    assert f'value="{held.id}"' not in page
    assert f"Left out for the allergy of this booking: {held.name}" in words(page)
    answer = client.get(place, params={"cut": held.id, "amount": "1"})
    assert answer.status_code == 422
    assert "sesame" in words(answer.text)


def test_what_some_do_not_eat_and_a_last_day_are_said(client, shop, words):
    """Both are sentences beside the money; neither stops the line."""
    pork = next(line for line in shop.case() if line.species == "pork" and line.free.count
                and line.use_by and line.piece_lb is None)  # fmt: skip
    late = pork.use_by + timedelta(days=1)
    while not shop.settings().is_open(late):
        late += timedelta(days=1)
    ask = {"avoids": ["species:pork"], "dont_eats": ["7 no pork"]}
    new = NewBooking("Mixed table", datetime.combine(late, datetime.min.time().replace(hour=10)),
                     "dot", ask=ask, lines=(NewLine("C13", pounds("1")),))  # fmt: skip
    place = place_of(shop.book(new, key="b"))
    answer = client.get(place, params={"cut": pork.id, "amount": "0.5"})
    assert answer.status_code == 200
    assert f"Not all of them eat {pork.name}. The ask said: 7 no pork." in words(answer.text)
    assert f"The oldest {pork.name} is to be used by" in words(answer.text)


def test_at_the_same_price_nothing_is_explained(client, shop, garden, words):
    """Rump is still at the price it was booked at."""
    answer = client.get(place_of(garden), params={"cut": "C13", "amount": "1"})
    assert "was booked at" not in words(answer.text)
    assert "Add for 16.40" in words(answer.text)


def test_what_is_added_is_taken_off_at_hand_over_by_a_zero(client, shop, garden, read_page):
    """As the page says: no undo of its own, but 0 leaves the line out and its weight is free."""
    free = next(line.free for line in shop.case() if line.id == "C11")
    form = reviewed(client, read_page, garden) | {"by": "dot"}
    client.post(place_of(garden), data=form)
    assert "/undo" not in client.get(f"/hook/{garden.id}").text
    ids = [line.id for line in shop.booking(garden.id).lines]
    data = {f"weighed-{ids[0]}": "9", f"weighed-{ids[1]}": "4", f"weighed-{ids[2]}": "0",
            "do": "hand-over", "by": "dot", "key": "out"}  # fmt: skip
    answer = client.post(f"/hook/{garden.id}/hand-over", data=data)
    assert answer.status_code == 303, answer.text
    assert shop.slip(garden.id).total == Money.of("135.80")
    assert next(line.free for line in shop.case() if line.id == "C11") == free


def test_a_line_of_another_day_is_told_with_its_day(client, shop, clock, garden, words):
    """Tomorrow the sentence says Tuesday beside each hour."""
    clock.put(clock.now() + timedelta(days=1))
    text = words(client.get(place_of(garden), params={"cut": "C11", "amount": "1"}).text)
    assert "(quoted Tue 09:40, held until Tue 10:40)" in text
    assert "The board moved to 8.60 at Tue 10:00 by Ines: farm price." in text


def test_a_line_added_before_at_a_third_price_is_named_without_a_quote(client, shop, garden, words):
    """7.80 was quoted, 8.60 was added; at 8.90 both are said, in that order."""
    shop.add_lines(garden.id, (NewLine("C11", pounds("2")),), by="dot", key="more")
    raise_mince(shop, "8.90", "dearer again", key="again")
    text = words(client.get(place_of(garden), params={"cut": "C11", "amount": "1"}).text)
    assert (
        "Beef mince, 20 % fat, was booked at 7.80 (quoted 09:40, held until 10:40) and 8.60. The"
        " board moved to 8.90 at 10:20 by Ines: dearer again. What is added now is at 8.90." in text
    )


def test_a_deposit_is_taken_off_both_totals(client, shop, words):
    """The money to pay is marked as changed too."""
    new = NewBooking("Paid some", datetime.fromisoformat("2026-06-10T10:00"), "dot",
                     lines=(NewLine("C13", pounds("4")),), deposit=Money.of("20.00"))  # fmt: skip
    made = shop.book(new, key="b")
    text = words(client.get(place_of(made), params={"cut": "C13", "amount": "1"}).text)
    assert "To pay, less 20.00 deposit before: 45.60 now: 62.00" in text


def test_pieces_that_went_meanwhile_are_said_in_words(client, shop, garden, read_page, words):
    """All but one bird were booked by another: 409, what is free, nothing written."""
    line = next(one for one in shop.case() if one.id == "C29")
    form = reviewed(client, read_page, garden, line.id, "2") | {"by": "dot"}
    new = NewBooking("Rival", datetime.fromisoformat("2026-06-10T10:00"), "dot",
                     lines=(NewLine(line.id, sum(line.piece_lb[:-1], pounds("0")),
                                    line.piece_lb[:-1]),))  # fmt: skip
    shop.book(new, key="rival")
    answer = client.post(place_of(garden), data=form)
    assert answer.status_code == 409
    assert f"{line.name}: only 1 piece free, and 2 asked; take fewer." in words(answer.text)
    assert shop.booking(garden.id) == garden
