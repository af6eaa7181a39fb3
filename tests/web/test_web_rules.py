"""Rules and settings on the screen: found, shown with their source, changed with a reason."""

from __future__ import annotations

import re
import sqlite3
from datetime import datetime, timedelta

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as run_with
from hypothesis import strategies as st

from collop.errors import BadValue, NotFound
from collop.rules import TOPICS, rules
from collop.web.rules import KINDS
from collop.web.rules_sums import SUMS, in_turn

SHOWN = [*[one.id for one in rules()][::7], "SF061", "TR049", "WM025", "TX023", "OWN01"]
WHY = {"why": "the sealer asked", "by": "ines"}


def change(client, rule_id, name, value, key="k", **typed):
    """Send the form of a rule."""
    return client.post(
        f"/rules/{rule_id}", data={"name": name, "value": value, "key": key} | WHY | typed
    )


def test_every_topic_is_on_the_first_page(client, read_page, words):
    """Each topic has its link; nothing is inline, every field is named, ids are single."""
    answer = client.get("/rules")
    page = read_page(answer.text)
    assert (page.inline, page.unlabelled()) == ([], [])
    for topic, title in TOPICS.items():
        assert f"/rules?topic={topic}" in page.links
        assert title in words(answer.text)
    assert "Nothing was changed; every figure stands as published." in words(answer.text)
    assert "Your local code and your local authority come first." in words(answer.text)


def test_every_rule_can_be_reached_from_its_topic(client, read_page):
    """All rows of all tables are linked from the page of their topic."""
    reached = set()
    for topic in TOPICS:
        answer = client.get(f"/rules?topic={topic}")
        ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
        assert len(ids) == len(set(ids)), topic
        page = read_page(answer.text)
        assert (page.inline, page.unlabelled()) == ([], [])
        reached |= {link.removeprefix("/rules/") for link in page.links if "/rules/" in link}
    assert reached >= {one.id for one in rules()}


@pytest.mark.parametrize("rule_id", SHOWN)
def test_a_rule_is_shown_with_source_edition_and_what_is_done(client, read_page, words, rule_id):
    """Source, mark where it is from memory, and what the tool does with it."""
    one = next(each for each in rules() if each.id == rule_id)
    answer = client.get(f"/rules/{rule_id}")
    text, page = words(answer.text), read_page(answer.text)
    assert answer.status_code == 200
    assert (page.inline, page.unlabelled()) == ([], [])
    assert re.sub(r"\s+", " ", one.source.text()) in text
    assert (one.does or "The tool only shows it.") in text
    marked = not one.is_cited and not one.id.startswith("OWN")
    if not one.also:
        assert ("from memory, not checked" in text) == marked
    for each in one.settings:
        assert each.label in text


def test_the_prescribed_words_are_shown(client, words):
    """The safe handling block stands with its topic, word for word."""
    text = words(client.get("/rules?topic=handling").text)
    assert "Keep refrigerated or frozen. Thaw in refrigerator or microwave." in text


def test_words_find_rules(client, words):
    """A search finds over all topics; one that finds nothing says so."""
    text = words(client.get("/rules?q=sesame").text)
    assert "LB104" in text
    assert "No rule has that." in words(client.get("/rules?q=unicorn").text)
    assert client.get("/rules?q=" + "x" * 4000).status_code == 200


def test_the_list_is_narrowed(client, words, read_page):
    """To what may be set, what was set, and what is from memory."""
    change(client, "SF006", "cold_limit_f", "38")
    chosen = read_page(client.get("/rules?show=chosen").text)
    assert {"SF006"} == set(re.findall(r"/rules/([A-Z]+\d+)", " ".join(filter(None, chosen.links))))
    settings = words(client.get("/rules?show=settings").text)
    assert "Freezer, at most: 0 °F" in settings
    assert "Cold holding, at most: 38 °F , published 41 °F" in settings
    memory = words(client.get("/rules?show=memory&topic=receiving").text)
    assert "SF001" in memory
    assert "SF002" not in memory
    assert set(KINDS) == {"", "settings", "chosen", "memory"}


@pytest.mark.parametrize("query", ["topic=zz", "show=zz"])
def test_an_unknown_topic_is_a_fault(client, words, query):
    """It is told beside its field."""
    answer = client.get(f"/rules?{query}")
    assert answer.status_code == 422
    assert "choose one of the list" in words(answer.text)


def test_an_unknown_rule_is_not_here(client, words):
    """404 with one sentence."""
    answer = client.get("/rules/SF999")
    assert answer.status_code == 404
    assert "There is no rule 'SF999'" in words(answer.text)
    assert client.post("/rules/SF999", data=WHY).status_code == 404


def test_a_setting_is_changed_with_a_reason_and_stays_in_the_list(client, shop, words):
    """It holds from now on, and who, when and why are kept."""
    answer = change(client, "SF006", "cold_limit_f", "38")
    assert (answer.status_code, answer.headers["location"]) == (303, "/rules/SF006?done=1")
    assert shop.rules.chosen() == {"cold_limit_f": "38"}
    text = words(client.get("/rules/SF006?done=1").text)
    assert "Changed. It holds from now on" in text
    assert "38 °F 41 °F Ines the sealer asked" in text
    assert "the sealer asked" in words(client.get("/rules").text)


def test_empty_goes_back_to_what_is_published(client, shop):
    """Both changes stay on record."""
    change(client, "SF006", "cold_limit_f", "38", key="k1")
    change(client, "SF006", "cold_limit_f", "", key="k2")
    assert shop.rules.chosen() == {}
    assert [(one.before, one.value) for one in shop.rules.history()] == [
        ("41 °F", "38 °F"), ("38 °F", "41 °F"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("rule_id", "name", "value", "says"),
    [
        ("SF006", "cold_limit_f", "45", "is laxer than the 41 °F of Violation 03F-07-5"),
        ("SF006", "cold_limit_f", "warm", "write a figure such as 41"),
        ("SF061", "pack_days", "31", "give 30 or less"),
        ("SF125", "food_code", "1999", "use one of 2022, 2017, 2013, 2009"),
        ("TR017", "grind_record_years", "0", "give 1 or more"),
        ("SF006", "freezer_f", "0", "choose what to change"),
        ("WM025", "rounding", "half-even", "choose what to change"),
        ("TR049", "", "100000", "choose what to change"),
    ],
)
def test_what_may_not_be_is_told_beside_the_field(client, shop, words, rule_id, name, value, says):
    """The sentence names source and nearest figure; what was typed stays; nothing is written."""
    answer = change(client, rule_id, name, value)
    assert answer.status_code == 422
    assert says in words(answer.text)
    assert shop.rules.history() == ()
    if rule_id == "SF006" and name == "cold_limit_f":
        assert f'value="{value}"' in answer.text


@pytest.mark.parametrize("typed", [{"why": ""}, {"by": ""}, {"by": "nobody"}, {"why": "x"},
                                   {"why": "y" * 201}])  # fmt: skip
def test_reason_and_person_are_needed(client, shop, typed):
    """Without them nothing is written."""
    assert change(client, "SF006", "cold_limit_f", "38", **typed).status_code == 422
    assert shop.rules.history() == ()


def test_sent_twice_it_is_done_once(client, shop):
    """The key makes it harmless; the same key with another value is refused."""
    assert change(client, "SF006", "cold_limit_f", "38").status_code == 303
    assert change(client, "SF006", "cold_limit_f", "38").status_code == 303
    assert change(client, "SF006", "cold_limit_f", "37").status_code == 409
    assert len(shop.rules.history()) == 1


def test_the_service_refuses_what_the_page_would(shop):
    """A reason, a known name and a person are asked of every caller."""
    with pytest.raises(BadValue, match="Why: write the reason"):
        shop.rules.change("cold_limit_f", "38", why=" ", by="ines", key="a")
    with pytest.raises(BadValue, match="no setting 'colour'"):
        shop.rules.change("colour", "red", why="because", by="ines", key="b")
    with pytest.raises(NotFound, match="Nobody called 'zoe'"):
        shop.rules.change("cold_limit_f", "38", why="because", by="zoe", key="c")
    assert shop.rules.change("cold_limit_f", "41", why="as published", by="ines", key="d") == "41"
    assert shop.rules.change("cold_limit_f", "41", why="once more", by="ines", key="e") == "41"
    assert len(shop.rules.history()) == 1


def test_the_edition_rules_what_was_chosen_under_another(shop):
    """21 days of a vacuum pack give way to the 14 of the older text."""
    shop.rules.change("pack_days", "21", why="habit", by="ines", key="a")
    assert shop.rules.change("food_code", "2009", why="our state", by="ines", key="b") == "2009"
    with pytest.raises(BadValue, match="give 14 or less"):
        shop.rules.change("pack_days", "20", why="habit", by="ines", key="c")


SUM_CASES = [
    ("ready", {"made": "2026-06-05"}, "Last day: Thu 11 Jun 2026."),
    ("ready", {"made": "2026-05-01"}, "That day is past: do not sell it."),
    ("ready", {"made": "2026-06-05", "frozen": "2026-06-06"}, "it is thawed, with that day."),
    ("ready", {"made": "2026-06-05", "frozen": "2026-06-06"}, "6 days of 7 are left"),
    ("ready", {"made": "2026-06-05", "thawed": "2026-06-06"}, "write when it was frozen"),
    ("ready", {}, "Made or opened: write a day"),
    ("pack", {"packed": "2026-06-01"}, "Last day: Wed 1 Jul 2026."),
    ("pack", {"packed": "2026-06-01", "frozen": "2026-06-03"}, "it is thawed, from that day."),
    ("pack", {"packed": "2026-06-01", "frozen": "2026-06-03", "thawed": "2026-06-08"},
     "Last day: Mon 6 Jul 2026."),
    ("pack", {"packed": "2026-06-01", "maker": "2026-06-20"}, "Last day: Sat 20 Jun 2026."),
    ("out", {"plan": "4h", "time": "10:00", "start": "40"}, "Cook, sell or throw away by 14:00."),
    ("out", {"plan": "4h", "time": "00:30", "start": "40"}, "Its time was over at 04:30"),
    ("out", {"plan": "6h", "time": "10:00", "start": "40", "warmest": "71"}, "throw it away now"),
    ("out", {"plan": "6h", "time": "10:00", "start": "40", "warmest": "70"}, "away by 16:00."),
    ("out", {"plan": "6h", "time": "10:00", "start": "40", "warmest": "x"}, "Warmest since: write"),
    ("keep", {"kept": "whole", "day": "2026-06-09"}, "Last day: Fri 12 Jun 2026, 3 days from it."),
    ("keep", {"kept": "ground", "day": "2026-06-01"}, "That day is past: do not sell it."),
    ("keep", {"kept": "stone", "day": "2026-06-01"}, "no class 'stone' of keeping"),
    ("out", {"plan": "4h", "time": "10:00", "start": "60"}, "the plan needs 41 °F or below"),
    ("cooling", {"readings": "06:00 135, 07:50 70 11:40 41"}, "Cooled in time at every step."),
    ("cooling", {"readings": "06:00 135, 06:01 134 08:40 90"}, "Do not sell it."),
    ("cooling", {"readings": "22:00 135, 23:30 70, 03:30 41"}, "Cooled in time at every step."),
    ("cooling", {"readings": "22:00 135, 22:05 134, 03:30 80"}, "Do not sell it."),
    ("cooling", {"readings": "01:00 135, 01:05 134, 02:00 100"}, "Do not sell it."),
    ("cooling", {"readings": "warm"}, "Readings: write time and degrees F"),
    ("cook", {"kind": "ground"}, "155 °F for 17 s."),
    ("cook", {"kind": "roast", "core": "130"}, "130 °F for 112 min."),
    ("cook", {"kind": "roast"}, "Core: write degrees F"),
    ("sanitiser", {"what": "chlorine", "mg": "50", "ph": "8"}, "Water at 24 °C (75 °F) or more"),
    ("sanitiser", {"what": "hot water machine"}, "Surface of the dish at 71 °C (160 °F) or more."),
    ("sanitiser", {"what": "hot water"}, "Water at 77 °C (171 °F) or more, for at least 30 s"),
    ("sanitiser", {"what": "iodine"}, "from memory, not checked"),
    ("sanitiser", {"what": "chlorine"}, "read the test strip"),
    ("record", {"of": "traded", "day": "2026-03-10"}, "Keep it through Sun 31 Dec 2028."),
    ("record", {"of": "check", "day": "2026-03-10"}, "Our own figure, no published source."),
    ("sales", {"year": "2025", "meat": "103600.01", "poultry": "0", "others": "0",
               "total": "900000"}, "over the limit"),
    ("sales", {"year": "2026", "meat": "0", "poultry": "0", "others": "0", "total": "0"},
     "Read the notice of 2026"),
    ("sales", {"year": "x"}, "Year: write it such as 2026"),
    ("sale", {"species": "beef", "weight": "310"}, "over the 300 lb"),
    ("sale", {"species": "lamb", "weight": "20"}, "Within the 27.5 lb"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "typed", "says"), SUM_CASES)
def test_the_sums_of_the_rules(client, words, read_page, name, typed, says):
    """Each answers with its source, or tells what is wrong beside the field."""
    answer = client.get("/rules/sums", params={"sum": name} | typed)
    page, text = read_page(answer.text), words(answer.text)
    assert says in text
    assert (page.inline, page.unlabelled()) == ([], [])
    if answer.status_code == 422:
        assert "There is a problem" in text
        pointed = [link for link in page.links if link and link.startswith("#f-")]
        assert all(link[1:] in page.ids for link in pointed)
    else:
        assert re.search(r"/rules/[A-Z]{2}\d+", answer.text) or "no published source" in text


def test_every_sum_is_on_the_page(client, words):
    """Nothing is worked out unless it is asked."""
    text = words(client.get("/rules/sums").text)
    for title in SUMS.values():
        assert title in text
    assert client.get("/rules/sums?sum=zz").status_code == 200


def test_the_sums_go_by_what_the_shop_set(client, shop, words):
    """A stricter choice moves the answer."""
    shop.rules.change("date_mark_days", "4", why="our habit", by="ines", key="a")
    answer = client.get("/rules/sums?sum=ready&made=2026-06-08")
    assert "Last day: Thu 11 Jun 2026." in words(answer.text)
    shop.rules.change("food_code", "2009", why="our state", by="ines", key="b")
    answer = client.get("/rules/sums?sum=pack&packed=2026-06-01")
    assert "Last day: Mon 15 Jun 2026." in words(answer.text)
    shop.rules.change("days_whole", "5", why="our habit", by="ines", key="c")
    answer = client.get("/rules/sums?sum=keep&kept=whole&day=2026-06-09")
    assert "Last day: Sun 14 Jun 2026, 5 days from it." in words(answer.text)


def test_a_setting_that_is_no_more_is_left_out(client, shop, tmp_path):
    """What was written stays in the list of changes; nothing goes by it."""
    shop.rules.change("cold_limit_f", "38", why="the sealer asked", by="ines", key="a")
    with sqlite3.connect(tmp_path / "shop.db") as file:
        file.execute(
            "INSERT INTO rule_choices (name, value, why, at, by_id, key)"
            " SELECT 'colour', value, why, at, by_id, 'b' FROM rule_choices"
        )
    assert shop.rules.chosen() == {"cold_limit_f": "38"}
    assert [(one.name, one.value) for one in shop.rules.history()][1:] == [("colour", "38")]
    assert client.get("/rules").status_code == 200


def test_a_laxer_edition_says_so_wherever_it_rules(client, shop, words):
    """On its rule, and in the sum that goes by it; the usual edition says nothing."""
    said = "It counts only where your local code is that edition; ask your local authority."
    sum_of_cooking = "/rules/sums?sum=cook&kind=ground"
    assert said not in words(client.get("/rules/SF125").text + client.get(sum_of_cooking).text)
    change(client, "SF125", "food_code", "2013")
    assert "Food Code 2013 is laxer than Food Code 2022: mince at 155 F for 15 s" in words(
        client.get("/rules/SF125").text
    )
    text = words(client.get(sum_of_cooking).text)
    assert "155 °F for 15 s." in text
    assert said in text
    assert said not in words(client.get("/rules/SF006").text)


def test_only_a_published_figure_is_called_published(client, shop, words):
    """Beside what the shop chose stands the published figure, or the usual one that is ours."""
    shop.rules.change("cold_checks_a_day", "4", why="summer", by="ines", key="a")
    shop.rules.change("cold_limit_f", "38", why="summer", by="ines", key="b")
    assert "usual 3 a day" in words(client.get("/rules?topic=own").text)
    assert "published 41 °F" in words(client.get("/rules?topic=holding").text)


@pytest.mark.parametrize("clock", ["00:10", "05:00", "13:00", "23:50"])
def test_cooling_is_never_of_the_future(clock):
    """Readings stand in turn over midnight, and the last one is not after now."""
    now = datetime.fromisoformat(f"2026-06-09T{clock}")
    found = in_turn([("22:00", "135"), ("23:30", "70"), ("03:30", "41")], now)
    assert [one.at.strftime("%H:%M") for one in found] == ["22:00", "23:30", "03:30"]
    assert found[-1].at - found[0].at == timedelta(hours=5, minutes=30)
    assert timedelta(0) <= now - found[-1].at < timedelta(days=1)


@run_with(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(list(SUMS)), st.text(max_size=40), st.text(max_size=40))
def test_whatever_is_typed_into_a_sum_gets_an_answer(client, name, one, two):
    """No text breaks a sum."""
    fields = ("made", "frozen", "thawed", "packed", "maker", "plan", "time", "start", "readings",
              "kind", "core", "what", "mg", "ph", "of", "day", "year", "meat", "poultry", "others",
              "total", "species", "weight", "kept", "warmest")  # fmt: skip
    typed = {field: (one, two)[number % 2] for number, field in enumerate(fields)}
    assert client.get("/rules/sums", params={"sum": name} | typed).status_code in (200, 422)
