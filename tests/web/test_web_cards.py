"""Learn the case: one question at a time, remembered on the device and nowhere else."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing

from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass.cards import LONGEST
from collop.carcass.cards_places import BIRD_PARTS, BODY_PARTS
from collop.cli import main
from collop.shop.cards import cards
from collop.web.animal_drawing import BIRD, BODY, drawing_of
from collop.web.cards_progress import Progress, mark_of


def asked(html):
    """Return line and question that are shown, with the mark in the form."""
    line = re.search(r'id="card-title">([^<]+)<', html)[1]
    return line, re.search(r'class="sum"><b>([^<]+)<', html)[1], re.search(
        r'name="card" value="([0-9a-f]{6})"', html)[1]  # fmt: skip


def test_a_question_is_asked_and_its_answer_stands_under_a_button(client, read_page):
    """The page asks one thing; the answer is folded away and needs no script."""
    html = client.get("/cards").text
    line, question, _mark = asked(html)
    assert line
    assert question.endswith("?")
    assert html.count("<details data-card>") == 1
    page = read_page(html)
    assert page.unlabelled() == []
    assert page.inline == []


def test_what_was_told_right_is_not_asked_again_and_what_was_not_is(client):
    """Told right: never again on this device. Told wrong: again after four others."""
    first = asked(client.get("/cards").text)
    client.post("/cards", data={"card": first[2], "do": "wrong"})
    seen = []
    for _ in range(4):
        now = asked(client.get("/cards").text)
        seen.append(now)
        client.post("/cards", data={"card": now[2], "do": "right"})
    assert first not in seen
    assert len(set(seen)) == 4
    assert asked(client.get("/cards").text) == first
    client.post("/cards", data={"card": first[2], "do": "right"})
    after = client.get("/cards")
    assert asked(after.text) != first
    assert re.search(r"\b5 of \d+ told right", after.text)
    assert "come again" not in after.text


def test_muscles_by_their_names_lie_in_a_fold(client):
    """What a cut is comes first in plain words; its muscles open under them, for who wants them."""
    answers = []
    while 'name="card"' in (html := client.get("/cards?animal=lamb").text):
        shown = html[html.index('class="say"') :]
        answers.append(shown)
        plain, _, folded = shown.partition('<details class="where-from">')
        assert "Muscle" not in plain
        assert "rests on</summary>" in folded
        client.post("/cards", data={"card": asked(html)[2], "do": "right", "animal": "lamb"})
    assert any("Muscles: " in one for one in answers)


def test_all_of_one_animal_can_be_learned_to_the_end(client):
    """When all of it was told right the page says so, and can begin anew."""
    count = 0
    while 'name="card"' in (html := client.get("/cards?animal=duck").text):
        client.post("/cards", data={"card": asked(html)[2], "do": "right", "animal": "duck"})
        count += 1
        assert count < 20
    assert count == 8  # two lines of duck, four questions each
    assert "case was told right." in html
    assert client.post("/cards", data={"do": "anew"}).status_code == 303
    assert 'name="card"' in client.get("/cards?animal=duck").text


def test_where_it_sat_is_drawn_too(client, shop):
    """With the answer, behind its button: its parts are marked; other answers draw none."""
    told = {card.name: one.parts for card in cards(shop) for one in card.questions if one.parts}
    seen = {}
    for _ in range(400):
        html = client.get("/cards").text
        if "All of today" in html:
            break
        line, question, mark = asked(html)
        is_drawn = 'class="drawn-animal"' in html
        assert is_drawn == (question.startswith("Where") and line in told)
        if is_drawn:
            assert html.index("<details data-card>") < html.index("drawn-animal")
            seen[line] = html.count('class="is-told"')
        client.post("/cards", data={"card": mark, "do": "right"})
    assert seen.keys() == told.keys()
    assert (seen["Lamb leg, bone in"], seen["Beef rump"], seen["Duck legs"]) == (2, 1, 4)


def test_every_part_has_a_shape_and_every_shape_is_a_part():
    """No part is told that the drawing has not; corners lie in its field."""
    for shapes, parts in ((BODY, BODY_PARTS), (BIRD, BIRD_PARTS)):
        assert {name.partition(",")[0] for name in shapes} == set(parts)
        for points in shapes.values():
            for corner in points.split():
                x, y = map(int, corner.split(","))
                assert 0 <= x <= 106
                assert 0 <= y <= 64
    assert drawing_of("beef", ()) is None


def test_nothing_is_written_in_the_shop(client, shop, tmp_path):
    """No marks of people: the answer lives in the device's cookie only."""

    def rows():
        with closing(sqlite3.connect(tmp_path / "shop.db")) as file:
            return list(file.iterdump())

    before = rows()
    answer = client.post("/cards", data={"card": "0a1b2c", "do": "right"})
    assert answer.headers["set-cookie"].startswith("collop_cards=")
    assert "HttpOnly" in answer.headers["set-cookie"]
    assert rows() == before
    assert shop.check() == []


def test_a_strange_cookie_or_form_does_no_harm(client):
    """What cannot be read counts as nothing learned."""
    client.cookies.set("collop_cards", "9" * 50 + "|zz|zz-zz")
    assert client.get("/cards").status_code == 200
    assert client.post("/cards", data={"card": "<script>", "do": "right"}).status_code == 303
    assert client.get("/cards?animal=unicorn").status_code == 200


def test_every_line_of_the_demo_case_is_asked_in_one_line(shop):
    """All but stock bones have a card; every answer and reason is ninety letters at most."""
    found = cards(shop)
    assert {line.id for line in shop.case()} - {card.case_id for card in found} == {"C32"}
    for card in found:
        for one in card.questions:
            assert 0 < len(one.answer) <= LONGEST == 90
            assert len(one.reason) <= LONGEST


def test_the_cousin_is_the_spreads(shop):
    """Lamb shoulder: leg, as the shop says customers ask for it by habit."""
    (shoulder,) = (card for card in cards(shop) if card.case_id == "C02")
    (cousin,) = (one for one in shoulder.questions if one.kind == "cousin")
    assert cousin.answer == "Lamb leg, bone in."


def test_the_command_tells_the_same(shop, demo_file):
    """Every card as JSON, and in words."""
    run = CliRunner().invoke(main, ["cards", "--db", str(demo_file), "--json"])
    assert run.exit_code == 0, run.output
    assert len(json.loads(run.output)["cards"]) == len(cards(shop))
    assert (
        "What is its cousin?" in CliRunner().invoke(main, ["cards", "--db", str(demo_file)]).output
    )


@given(st.lists(st.tuples(st.booleans(), st.integers(0, 30)), max_size=60))
def test_a_device_keeps_its_place(steps):
    """Whatever was answered, the cookie reads back and nothing told right is asked again."""
    marks = [mark_of(str(at)) for at in range(31)]
    progress = Progress()
    for was_right, at in steps:
        progress = progress.right(marks[at]) if was_right else progress.wrong(marks[at])
        assert Progress.read(progress.write()) == progress
        assert len(progress.write()) < 4000
        assert progress.told_right(marks) == len(set(progress.known))
        following = progress.following(marks)
        assert following not in progress.known
        assert bool(following) == (set(marks) != set(progress.known))


@given(st.text(max_size=80))
def test_any_cookie_can_be_read(text):
    """Never an error, and what is written again is stable."""
    once = Progress.read(text)
    assert Progress.read(once.write()) == once
