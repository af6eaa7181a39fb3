"""Lock-up in the browser's eyes: count, then carry, convert, freeze or bin, and lock."""

from __future__ import annotations

import re
from datetime import datetime

import pytest

from collop.measures import WeightUnit

EVENING = datetime.fromisoformat("2026-06-09T18:00")
SATURDAY = datetime.fromisoformat("2026-06-13T15:00")


@pytest.fixture
def evening(clock):
    """Let it be six in the evening of the demo's Tuesday."""
    clock.put(EVENING)


def free(shop, case_id):
    """Return the free pounds of a line."""
    line = next(one for one in shop.case() if one.id == case_id)
    return f"{line.free.text()}"


def test_the_sheet_has_ten_lines_with_what_is_expected(client, shop, evening, words, read_page):
    """Each with its money at risk and the way to its count; nothing is done by looking."""
    page = client.get("/lockup").text
    text = words(page)
    assert "0 of 10 lines counted." in text
    for line in shop.lockup.sheet().lines:
        assert line.name in text
        assert f"/lockup/line/{line.case_id}" in read_page(page).links
    assert "leans on a starting figure of 1 %" in text
    assert shop.check() == []


def test_a_count_shows_its_gap_and_then_the_best_way(client, shop, evening, words):
    """Shoulder 0.5 lb short: minus 4.20 at the board; freezing is among the ways, not done."""
    form = {"counted": "23.5", "unit": "lb", "by": "dot", "key": "k", "do": "count"}
    answer = client.post("/lockup/line/C02/count", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, "/lockup/line/C02?done=count")
    text = words(client.get(answer.headers["location"]).text)
    assert "Counted 23.50 lb: gap -0.50 lb (-2.1 %), -4.20 at the board" in text
    assert "to the trim bin for Lamb mince: worth" in text
    assert free(shop, "C02") == "14.50 lb"
    assert "1 of 10 lines counted." in words(client.get("/lockup").text)
    assert shop.check() == []


def test_a_count_far_off_is_asked_about_once(client, shop, evening, words):
    """The same figure again is taken as sure."""
    form = {"counted": "12", "unit": "lb", "by": "dot", "key": "k", "do": "count"}
    answer = client.post("/lockup/line/C02/count", data=form)
    assert answer.status_code == 422
    assert "count again, or say that it is right" in words(answer.text)
    assert 'name="sure" value="12"' in answer.text
    assert client.post("/lockup/line/C02/count", data=form | {"sure": "12"}).status_code == 303


@pytest.mark.parametrize(
    ("form", "says"),
    [
        ({"do": "freeze", "weight": "", "by": "dot"}, "Weight: enter what the scale says"),
        ({"do": "freeze", "weight": "2", "by": ""}, "Who: choose who does this."),
        ({"do": "bin", "weight": "2", "by": "dot"}, "Why: say why it is binned"),
        ({"do": "melt", "weight": "2", "by": "dot"}, "is not known here"),
        ({"do": "freeze", "weight": "900", "by": "dot"}, "may be moved so, not 900.00 lb"),
        ({"do": "freeze", "weight": "2", "gives": "3", "by": "dot"}, "weigh both again"),
        ({"do": "convert", "weight": "2", "by": "dot"}, "without its bone"),
        ({"do": "convert", "weight": "2", "into": "C13", "by": "dot"}, "is lamb, and"),
        ({"do": "convert", "weight": "2", "gives": "1", "rest": "x", "by": "dot"}, "choose where"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(client, evening, read_page, words, form, says):
    """Summary and field say the same, the link of the summary leads there, nothing moved."""
    answer = client.post("/lockup/line/C02/do", data=form | {"unit": "lb", "key": "k"})
    assert answer.status_code == 422
    assert says in words(answer.text)
    found = read_page(answer.text)
    targets = [link[1:] for link in found.links if link and link.startswith("#f-")]
    assert targets
    assert set(targets) <= found.ids


def test_every_way_goes_through_the_page(client, shop, evening):
    """Carry moves nothing; freeze makes its line; the trim bin takes boned meat."""

    def send(case_id, **form):
        data = {"unit": "lb", "by": "ines", "key": f"{case_id}-{form['do']}"} | form
        answer = client.post(f"/lockup/line/{case_id}/do", data=data)
        assert answer.status_code == 303, answer.text
        assert answer.headers["location"] == f"/lockup?done={form['do']}"
        assert client.get(answer.headers["location"]).status_code == 200

    send("C01", do="carry")
    assert free(shop, "C01") == "8.00 lb"
    send("C31", do="freeze", weight="6.2", gives="6.1")
    send("C05", do="convert", weight="5", gives="2.9", into="", rest="bone")
    send("C02", do="convert", weight="6", gives="5.5", into="C05", rest="")
    send("C03", do="bin", weight="1.5", why="dropped")
    send("C23", do="freeze", weight="4.1 + 4.1", gives="4.1 + 4.05")
    made = {one.name: one.free.text() for one in shop.case()}
    assert made["Goat shoulder, diced, frozen"] == "6.10 lb"
    assert made["Lamb neck slices"] == "5.50 lb"
    assert made["Chicken, whole, frozen"] == "8.15 lb"
    assert shop.check() == []


def test_the_last_act_is_undone_from_the_sheet(client, shop, evening, words):
    """The button names it; the opposite is written, and the button is gone."""
    form = {"do": "freeze", "weight": "2", "unit": "lb", "by": "ines", "key": "f"}
    client.post("/lockup/line/C31/do", data=form)
    page = client.get("/lockup").text
    assert "Undo: frozen Goat shoulder, diced" in words(page)
    seq = shop.lockup.sheet(also="C31").line("C31").entries[-1].seq
    assert client.post("/lockup/undo", data={"seq": seq, "key": "u"}).status_code == 422
    answer = client.post("/lockup/undo", data={"seq": seq, "by": "ines", "key": "u"})
    assert answer.headers["location"] == "/lockup?done=undo"
    assert free(shop, "C31") == "7.00 lb"
    assert "Undo: frozen" not in words(client.get("/lockup").text)


def test_locking_asks_for_each_booking_left_and_then_tells_what_came_after(
    client, shop, evening, words, read_page
):
    """H4 was not handed over; with its word the day is locked, and a later count is after it."""
    answer = client.post("/lockup", data={"by": "ines", "key": "l"})
    assert answer.status_code == 422
    assert "H4, Restaurant standing order: say what became of it." in words(answer.text)
    assert "f-word-H4" in read_page(answer.text).ids
    data = {"by": "ines", "key": "l", "word-H4": "short", "note": "all well"}
    assert client.post("/lockup", data=data).headers["location"] == "/lockup?done=lock"
    again = client.post("/lockup", data=data | {"key": "m"})
    assert again.status_code == 409
    assert "was locked at 18:00" in words(again.text)
    form = {"counted": "9", "unit": "lb", "by": "dot", "key": "k", "do": "count"}
    client.post("/lockup/line/C03/count", data=form)
    text = words(client.get("/lockup").text)
    assert "Tuesday was locked at Tue 18:00 by Ines" in text
    assert "H4 Restaurant standing order: short" in text
    assert "10 skipped" in text


def test_what_was_skipped_comes_first_the_next_day(client, shop, clock, evening, words):
    """One skipped line leads Wednesday's sheet and says so."""
    form = {"do": "skip", "by": "dot", "key": "s"}
    answer = client.post("/lockup/line/C12/count", data=form)
    assert answer.headers["location"] == "/lockup?done=skip"
    clock.put(datetime.fromisoformat("2026-06-10T18:00"))
    assert shop.lockup.sheet().lines[0].case_id == "C12"
    assert "skipped the last time" in words(client.get("/lockup").text)


def test_saturday_has_the_last_mark_down_with_its_links(client, clock, words, read_page):
    """Before two shut days the moves stand on the sheet, and nothing that passes is carried."""
    clock.put(SATURDAY)
    page = client.get("/lockup").text
    assert "Last mark-down before Tuesday" in words(page)
    assert any(link.startswith("/chalk/line/") or "?do=" in link for link in read_page(page).links
               if link)  # fmt: skip
    answer = client.post("/lockup/line/C02/do", data={"do": "carry", "by": "dot", "key": "c"})
    assert answer.status_code == 409
    assert "is past its day before the shop opens on Tue 16 Jun" in words(answer.text)


def test_a_day_gone_by_tells_what_was_written_and_a_day_to_come_is_refused(
    client, shop, clock, evening, words
):
    """Nothing is counted for a day that is over."""
    client.post("/lockup", data={"by": "ines", "key": "l", "word-H4": "gone"})
    clock.put(datetime.fromisoformat("2026-06-10T09:00"))
    text = words(client.get("/lockup?day=2026-06-09").text)
    assert "Tuesday was locked" in text
    assert "skipped" in text
    answer = client.get("/lockup?day=2026-07-01")
    assert answer.status_code == 422
    assert "still to come" in words(answer.text)
    assert client.get("/lockup?day=x").status_code == 200
    assert client.get("/lockup/line/C99").status_code == 404


def test_the_pages_have_labels_and_no_inline_script(client, evening, read_page):
    """Every field has its label; nothing runs in the page itself."""
    for address in ("/lockup", "/lockup/line/C02", "/lockup/line/C23?do=freeze&weight=4.1"):
        found = read_page(client.get(address).text)
        assert not found.inline
        for tag, facts, is_in_label in found.fields:
            if facts.get("type") == "hidden":
                continue
            assert is_in_label or facts.get("id") in found.labels, (address, tag, facts)


def test_a_booking_that_was_said_to_be_gone_is_named_while_it_holds(
    client, clock, evening, words, read_page
):
    """The next night it is not asked about; it is told, with the way to its slip."""
    client.post("/lockup", data={"by": "ines", "key": "l", "word-H4": "gone"})
    assert "lock-up, Ines: Tue 09 Jun: gone" in words(client.get("/hook/H4").text)
    clock.put(datetime.fromisoformat("2026-06-10T18:00"))
    page = client.get("/lockup").text
    assert "H4 Restaurant standing order: gone. Hand it over or release it" in words(page)
    assert "/hook/H4" in read_page(page).links
    assert "f-word-H4" not in read_page(page).ids


def test_a_field_never_offers_more_than_there_is(client, shop, evening):
    """7.0 lb less 0.996 leave 6.004: the form offers 6.004, and takes it."""
    form = {"unit": "lb", "by": "ines", "key": "b", "why": "dropped", "do": "bin"}
    assert client.post("/lockup/line/C31/do", data=form | {"weight": "0.996"}).status_code == 303
    assert 'value="6.004"' in client.get("/lockup/line/C31?do=freeze").text
    data = {"unit": "lb", "by": "ines", "key": "f", "do": "freeze", "weight": "6.004"}
    assert client.post("/lockup/line/C31/do", data=data).status_code == 303


def test_a_way_that_is_linked_to_comes_with_its_weight(client, shop, evening):
    """The moves lead here by the way alone: the best weight stands in its field."""
    way = next(
        one for one in shop.lockup.sheet(also="C31").line("C31").ways if one.what == "freeze"
    )
    page = client.get("/lockup/line/C31?do=freeze").text
    asked = page.split('id="f-weight"')[1].split(">")[0]
    assert f'value="{way.weight.decimal(WeightUnit.LB, 2)}"' in asked


def test_weights_are_told_in_the_unit_of_the_device(client, evening, words):
    """On a device in kg no sentence and no figure is in pounds; pounds have two places."""
    pounds = words(client.get("/lockup/line/C02").text)
    assert "% of 24.00 lb handled" in pounds
    client.cookies.set("collop_unit", "kg")
    client.post("/lockup", data={"by": "ines", "key": "l", "word-H4": "gone"})
    for address in ("/lockup", "/lockup/line/C02"):
        text = words(client.get(address).text)
        assert re.search(r"[0-9] kg", text)
        assert re.findall(r"[0-9.]+ lb\b", text.replace("kg lb lb oz", "")) == []


def test_figures_follow_the_name_and_the_count_stays_in_view(client, evening):
    """The buttons stand last, in view while a narrow screen scrolls; the name leads there too."""
    page = client.get("/lockup").text
    heads = re.findall(r'<th scope="col"[^>]*>([^<]+)</th>', page)
    assert heads[:7] == ["Line", "Expected", "Counted", "Gap", "At risk", "Done", "Count"]
    lines = page.count('<td class="stays"><a class="button" href="/lockup/line/')
    assert lines == page.count('<a class="line-cook" href="/lockup/line/') > 0
    assert "case-table" not in page  # its fifth column stands to the left


def test_a_deposit_of_a_released_booking_is_money_not_settled(client, shop, evening, words):
    """H1 is off with 100.00 paid: told to give back until it is noted, then no more."""
    shop.release("H1", by="dot", key="r", why="off")
    paid = shop.booking("H1").deposit
    text = words(client.get("/lockup").text)
    assert "Money not settled" in text
    assert f"H1 Wedding supper at the boathouse: {paid} to give back, or to note as kept" in text
    shop.money.note("H1", "given back", "cash", None, by="dot", key="g")
    assert "to give back, or to note as kept" not in words(client.get("/lockup").text)


def test_after_lock_up_tells_what_people_wrote(client, shop, clock, evening):
    """A bench plan worked out for a look is nobody's write; the count after it is told."""
    client.post("/lockup", data={"by": "ines", "key": "l", "word-H4": "gone"})
    clock.put(EVENING.replace(hour=19))
    shop.bench.refresh()
    form = {"counted": "9", "unit": "lb", "by": "dot", "key": "k", "do": "count"}
    client.post("/lockup/line/C03/count", data=form)
    assert [one.by for one in shop.lockup.sheet().after] == ["dot"]
