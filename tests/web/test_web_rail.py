"""The rail page: hooks to scale, what air took, weighing again and planning a day."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from monday import hanging, open_monday, pounds

from collop.shop import Settings, StillClock, create_shop
from collop.web.rail import hung, initials

TODAY = date(2026, 6, 8)


@pytest.fixture
def shop(tmp_path_factory, tmp_path):
    opened = open_monday(tmp_path_factory, tmp_path)
    yield opened
    opened.close()


def weigh(client, tag, text, **more):
    """Weigh a piece again as the form does."""
    fields = {"weight": text, "unit": "lb", "by": "marek", "key": f"w-{tag}-{text}"}
    return client.post(f"/rail/{tag}/weigh", data=fields | more)


def test_every_piece_hangs_longest_first_with_its_money(client, words):
    """Nine hooks; of B-41F the days, both weights, the lost weight and its money, the price."""
    answer = client.get("/rail")
    assert answer.status_code == 200
    tags = re.findall(r'<h2 id="tag-[0-9]+">([^<]+)</h2>', answer.text)
    assert tags == ["B-41F", "B-41H", "L-207", "L-208", "L-209", "G-031", "B-42", "P-118", "P-119"]
    first = words(answer.text.split('class="hung"')[1])
    for said in ("13 days", "now 166.70 lb", "in 174.00 lb", "lost 7.30 lb", "4.2 %",
                 "paid for it 31.19", "5.92 /lb saleable", "Mon 8 Jun",
                 "H3 HFO Household freezer order 40.00 lb, cut to list"):  # fmt: skip
        assert said in first


def test_the_whole_shrink_of_the_rail_is_said_as_money(client, words):
    """26.80 lb were paid for and went to air; the load is said against what the rail carries."""
    text = words(client.get("/rail").text)
    assert "26.80 lb lost to air, 123.58 paid for it" in text
    assert "996.20 lb of 1600.00 lb that the rail carries" in text


def test_the_rail_follows_the_units_of_the_device(client, words):
    """In kilograms the same hook says 75.614 kg and a price for each kilogram."""
    client.cookies.set("collop_unit", "kg")
    text = words(client.get("/rail").text)
    assert "75.614 kg" in text
    assert "13.04 /kg saleable" in text


def test_bars_share_one_scale_and_show_the_planned_day(shop):
    """The longest of days and plans is the full height; B-41H is planned for its 16th day."""
    hooks = {one.piece.tag: one for one in hung(shop.rail(), TODAY)}
    assert (hooks["B-41H"].planned_days, hooks["B-41H"].planned_level) == (16, 100)
    assert hooks["B-41F"].level == 100 * 13 // 16
    assert hooks["B-41F"].says == "13 days on the rail, planned for 13"
    assert hooks["P-118"].level == 100 * 3 // 16


def test_a_piece_of_today_still_shows_a_bar_and_one_day_is_singular(shop):
    """Nought days is a low bar, not none."""
    piece = replace(shop.rail()[0], days=0, break_on=None)
    assert hung((piece,), TODAY)[0].level > 0
    assert hung((replace(piece, days=1),), TODAY)[0].says == "1 day on the rail, no day planned"


def test_a_late_piece_says_so_in_words_and_by_its_hatch(shop, client, words):
    """On Tuesday the forequarter planned for Monday is LATE; on Monday nothing is."""
    assert "LATE" not in client.get("/rail").text
    shop.cutting._room.clock.put(shop.now().replace(day=9))
    text = client.get("/rail").text
    late = text.split('class="hung"')[1]
    assert "LATE" in words(late)
    assert 'fill="url(#hatch-late)"' in late
    assert text.count("LATE") == 1


def test_weighing_again_is_kept_and_its_loss_is_seen(shop, client, words):
    """Half a pound less hangs, and the page says it in weight and money."""
    page = client.get("/rail?tag=B-42&do=weigh").text
    assert "hung last at 324.40 lb" in words(page)
    answer = weigh(client, "B-42", "323.9")
    assert (answer.status_code, answer.headers["location"]) == (303, "/rail?done=weigh")
    assert hanging(shop, "B-42").weight_now == pounds("323.9")
    assert "27.30 lb lost to air" in words(client.get("/rail?done=weigh").text)


def test_a_form_sent_twice_weighs_once(shop, client):
    """The same key with the same figure is the same weighing."""
    for _ in range(2):
        assert weigh(client, "P-118", "90.6").status_code == 303
    assert hanging(shop, "P-118").weight_now == pounds("90.6")
    assert shop.check() == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Weight now: enter what the scale says"),
        ("heavy", "Weight now: write the weight like 4.15"),
        ("0", "B-42 weighs nothing"),
        ("400", "meat gains nothing on the rail"),
    ],
)
def test_a_weight_that_cannot_be_is_refused_beside_its_field(shop, client, read_page, text, said):
    """422, the sentence in the summary and at the field, what was typed kept, nothing written."""
    answer = weigh(client, "B-42", text)
    assert answer.status_code == 422
    assert said in answer.text
    assert 'href="#f-weight"' in answer.text
    page = read_page(answer.text)
    assert {"f-weight", "e-weight"} <= page.ids
    assert [facts.get("value") for _, facts, _ in page.fields if facts.get("id") == "f-weight"] == [
        text
    ]
    assert hanging(shop, "B-42").weight_now == pounds("324.4")


def test_kilograms_are_read_where_the_label_says_kilograms(shop, client):
    """147 kg typed on a kilogram device is 324.08 lb."""
    assert weigh(client, "B-42", "147", unit="kg").status_code == 303
    assert str(hanging(shop, "B-42").weight_now.decimal("lb")) == "324.08"


def test_somebody_must_have_weighed(shop, client):
    """Without a person nothing is written."""
    answer = weigh(client, "B-42", "323.9", by="")
    assert answer.status_code == 422
    assert "Who: choose who does this." in answer.text
    assert hanging(shop, "B-42").weight_now == pounds("324.4")


def test_a_day_is_planned_and_the_plan_taken_away(shop, client):
    """The newest plan counts; an empty day is no plan."""
    fields = {"day": "2026-06-12", "by": "ines", "key": "p1"}
    assert client.post("/rail/L-207/plan", data=fields).status_code == 303
    assert hanging(shop, "L-207").break_on == date(2026, 6, 12)
    client.post("/rail/L-207/plan", data=fields | {"day": "", "key": "p2"})
    assert hanging(shop, "L-207").break_on is None


@pytest.mark.parametrize("day", ["2026-06-07", "Friday", "2029-01-01"])
def test_a_day_that_cannot_be_planned_is_refused(shop, client, day):
    """Past, no day, or years ahead: said at the field, the old plan stays."""
    answer = client.post("/rail/L-207/plan", data={"day": day, "by": "ines", "key": "p"})
    assert answer.status_code == 422
    assert "Break on:" in answer.text
    assert hanging(shop, "L-207").break_on == date(2026, 6, 9)


def test_a_tag_that_does_not_hang_is_said_on_the_rail(client, words):
    """404 or 409, in a sentence, with the rail still drawn."""
    answer = weigh(client, "B-99", "10")
    assert answer.status_code == 404
    assert "B-99" in words(answer.text)
    assert "Nothing was changed." in words(answer.text)
    assert 'id="tag-9"' in answer.text


def test_an_empty_rail_says_the_first_thing_to_do(tmp_path):
    """Rail is empty, and where to receive an animal; no bar, no money."""
    import fake_kernel
    from starlette.testclient import TestClient

    from collop.web import create_app

    empty = create_shop(f"sqlite:///{tmp_path}/e.db", settings=Settings("Ours"), clock=StillClock())
    app = create_app(empty, answer=fake_kernel.answer, is_open_without_password=True)
    with TestClient(app) as client:
        text = client.get("/rail").text
        assert client.get("/knife").text.count("Rail is empty.") == 1
    empty.close()
    assert "Rail is empty." in text
    assert 'href="/rail/receive"' in text
    assert "lost to air" not in text


def test_each_piece_leads_to_its_four_ways(client, read_page):
    """Break, weigh again, plan a day, where it went."""
    links = read_page(client.get("/rail").text).links
    for way in ("/knife?tag=L-208", "/rail?tag=L-208&do=weigh#panel",
                "/rail?tag=L-208&do=plan#panel", "/flow?lot=L-208"):  # fmt: skip
        assert way in links
    assert links[-1] == "/knife?tag=B-41F"


def test_the_pages_have_names_for_every_field_and_nothing_inline(client, read_page):
    """Labels for all fields; no inline script, handler or style."""
    for path in ("/rail", "/rail?tag=B-42&do=weigh", "/rail?tag=B-42&do=plan"):
        page = read_page(client.get(path).text)
        assert page.unlabelled() == []
        assert page.inline == []


def test_initials_are_at_most_three_letters():
    """First letters of the first three words."""
    assert initials("Household freezer order of June") == "HFO"
    assert initials("dot") == "D"
