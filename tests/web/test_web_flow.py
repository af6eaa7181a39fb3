"""Where every pound went: the picture's figures, its table, the chooser and what it refuses."""

from __future__ import annotations

import json
import re
from datetime import datetime
from html import unescape

import pytest
from test_web_look import TABLES, ratio

from collop.measures import Money, Weight, WeightUnit
from collop.shop import Flow, FlowLink
from collop.web.flow import animals_known
from collop.web.flow_picture import picture_of
from collop.web.rendering import STATIC, Shown


def pounds(amount):
    return Weight.of(amount, WeightUnit.LB)


def flow_of(*links, into="100", lost=None):
    made = tuple(FlowLink(source, target, pounds(w)) for source, target, w in links)
    return Flow("T-1", pounds(into), made, lost, money_is_whole=True)


def drawn_on(html):
    """Return what the page gives its script to draw."""
    return json.loads(unescape(re.search(r"data-flow='([^']*)'", html)[1]))


def test_a_picture_has_one_node_for_each_name_with_weight_and_share():
    """Weight through a node is the larger of in and out; shares are of what entered."""
    picture = picture_of(
        flow_of(("T-1", "loin", "60"), ("T-1", "lost to air", "40"), ("loin", "sold", "45"))
    )
    assert [(n.name, n.kind, n.weight.text(), n.share_pct) for n in picture.nodes] == [
        ("T-1", "start", "100.00 lb", "100.0"),
        ("loin", "part", "60.00 lb", "60.0"),
        ("lost to air", "air", "40.00 lb", "40.0"),
        ("sold", "end", "45.00 lb", "45.0"),
    ]


def test_sold_kept_and_lost_make_what_entered():
    """What stays in a middle place is kept; the three figures sum to the whole."""
    picture = picture_of(
        flow_of(
            ("T-1", "loin", "60"), ("T-1", "bin", "3"), ("T-1", "loss and drip", "2"),
            ("T-1", "lost to air", "35"), ("loin", "sold", "45"),
        )
    )  # fmt: skip
    assert picture.total == pounds("100")
    assert (picture.sold, picture.lost, picture.kept) == (pounds("45"), pounds("40"), pounds("15"))
    assert [node.kind for node in picture.losses] == ["bin", "drip", "air"]


def test_what_lay_there_before_counts_as_entering():
    """A day moves more out of a place than came into it: the rest lay there."""
    picture = picture_of(flow_of(("came in", "case", "10"), ("case", "sold", "25"), into="10"))
    assert picture.total == pounds("25")
    assert picture.kept == pounds("0")


def test_an_empty_flow_has_a_picture_without_nodes():
    """No division by nothing."""
    picture = picture_of(flow_of(into="0"))
    assert picture.nodes == ()
    assert picture.share(pounds("1")) == "0.0"


def test_what_is_drawn_points_at_its_nodes_and_says_the_device_unit():
    """Sources and targets are places in the list of nodes; words are in the device's unit."""
    drawn = picture_of(flow_of(("T-1", "bone", "100"))).drawn(Shown("kg").weight)
    assert drawn["links"] == [
        {"source": 0, "target": 1, "value": 100.0, "says": "T-1 to bone: 45.359 kg"}
    ]
    assert drawn["nodes"][1]["says"] == "45.359 kg, 100.0 %"


def test_the_demo_animal_is_drawn_and_told_link_by_link(client, shop, words):
    """Each link of the service is in the picture and in the table, with its weight."""
    flow = shop.cutting.flow("B-41F")
    html = client.get("/flow?lot=B-41F").text
    drawn = drawn_on(html)
    names = [node["name"] for node in drawn["nodes"]]
    assert len(drawn["links"]) == len(flow.links)
    assert {(names[link["source"]], names[link["target"]]) for link in drawn["links"]} == {
        (link.source, link.target) for link in flow.links
    }
    body = html[html.index("<tbody>") : html.index("</tbody>")]
    assert body.count("<tr>") == len(flow.links)
    for link in flow.links:
        assert f"{link.source} {link.target} {link.weight.text()}" in words(body)


def test_the_demo_animal_says_what_was_lost_and_paid_for(client, shop, words):
    """Loss by kind, and the money that was paid for it."""
    said = words(client.get("/flow?lot=B-41F").text)
    assert shop.cutting.flow("B-41F").money_lost == Money.of("63.67")
    assert "13.10 lb lost to air" in said
    assert "1.80 lb loss and drip" in said
    assert "63.67 was paid for it" in said
    assert "B-41 asked for: B-41F" in said


@pytest.mark.parametrize(
    ("query", "start", "end", "title"),
    [
        ("day=2026-06-08", "2026-06-07T23:59", "2026-06-08T23:59", "Monday 8 June 2026"),
        ("week=2026-06-10", "2026-06-07T23:59", "2026-06-14T23:59", "8 June to 14 June 2026"),
    ],
)
def test_a_day_and_a_week_show_what_moved_in_them(client, shop, words, query, start, end, title):
    """From midnight to midnight; a week runs from its Monday."""
    flow = shop.cutting.flow_between(datetime.fromisoformat(start), datetime.fromisoformat(end))
    html = client.get(f"/flow?{query}").text
    assert len(drawn_on(html)["links"]) == len(flow.links) > 0
    assert title in words(html)


def test_an_entry_at_midnight_belongs_to_the_day_it_begins(client, shop, clock):
    """The shop counts after the start and up to the end; a day begins at its first moment."""
    clock.put(datetime.fromisoformat("2026-06-10"))
    shop.cutting.bin("B-41F.05", "case", by="marek", key="a", why="dropped", weight=pounds("1"))
    assert "binned" in client.get("/flow?day=2026-06-10").text
    assert "binned" not in client.get("/flow?day=2026-06-09").text


def test_a_day_on_which_nothing_moved_says_so(client, words):
    """A useful empty state, and no picture."""
    answer = client.get("/flow?day=2026-06-30")
    assert answer.status_code == 200
    assert "Nothing moved: Tuesday 30 June 2026." in words(answer.text)
    assert "data-flow" not in answer.text


def test_the_chooser_lists_every_animal_in_the_shop(client, shop, read_page):
    """Animals on the rail and those already broken, by tag; each is one tap."""
    known = dict(animals_known(client.app.state.room))
    assert known["B-41"] == "beef"
    assert {piece.species for piece in shop.cutting.rail()} <= set(known.values())
    links = read_page(client.get("/flow").text).links
    assert {f"/flow?lot={tag}" for tag in known} <= set(links)


@pytest.mark.parametrize("text", ["\x00", "-", "9" * 3000, "%", "'; drop", "٣", "0001-01-01"])
def test_no_text_breaks_the_flow_or_the_trace(client, text):
    """Odd texts in any field of the address are told, never a failure."""
    for address, name in [("/flow", "lot"), ("/flow", "day"), ("/flow", "week"), ("/trace", "lot"),
                          ("/trace", "booking")]:  # fmt: skip
        answer = client.get(address, params={name: text})
        assert answer.status_code in {404, 422}, (address, name)
        assert "Traceback" not in answer.text


@pytest.mark.parametrize(
    ("query", "field", "sentence"),
    [
        ("lot=nix", "lot", "There is no lot 'nix'"),
        ("day=soon", "day", "Day: choose a day, written like 2026-06-09."),
        ("day=1066-10-14", "day", "Day: choose a day within ten years of today."),
        ("week=9999-12-31", "week", "Week of: choose a day within ten years of today."),
    ],
)
def test_a_fault_is_said_above_and_beside_its_field(client, words, query, field, sentence):
    """422, a summary that links to the field, and the text kept."""
    answer = client.get(f"/flow?{query}")
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert f'id="e-{field}"' in answer.text
    assert sentence in words(answer.text)
    assert "<title>Error: " in answer.text
    assert f'value="{query.split("=")[1]}"' in answer.text


def test_names_from_the_shop_cannot_break_out_of_the_picture(client, shop, monkeypatch):
    """A part's name with quotes and tags stays text, in the attribute and in the table."""
    bad = "<script>'\"&"
    monkeypatch.setattr(shop.cutting, "flow", lambda _lot: flow_of(("T-1", bad, "100")))
    html = client.get("/flow?lot=B-41").text
    assert "<script>'" not in html
    assert drawn_on(html)["nodes"][1]["name"] == bad


def test_the_picture_needs_no_inline_script_or_style(client, read_page):
    """The policy forbids them; the picture's facts travel in an attribute."""
    assert read_page(client.get("/flow?lot=B-41F").text).inline == []
    assert "innerHTML" not in (STATIC / "flow.js").read_text(encoding="utf-8")


def test_the_figures_use_the_colours_of_the_one_table():
    """No colour is named in their style sheet but black for paper; nothing is fetched."""
    css = (STATIC / "figures.css").read_text(encoding="utf-8")
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", css)) <= {"#000"}
    sheet = (STATIC / "collop.css").read_text(encoding="utf-8")
    known = set(re.findall(r"--([a-z0-9-]+):", sheet))
    assert set(re.findall(r"var\(--([a-z0-9-]+)\)", css)) <= known
    assert "url(" not in css
    assert "@import" not in css


@pytest.mark.parametrize(
    ("edge", "ground"),
    [("brass", "brass-pale"), ("good", "card"), ("alert", "card"), ("brass", "card")],
)
def test_ribbons_and_marks_stand_out_from_their_ground(edge, ground):
    """Edges, patterns and bars of the picture, WCAG 1.4.11."""
    assert all(ratio(light, (edge, ground)) >= 3 for light in TABLES)


def test_every_field_of_the_chooser_has_a_label(client, read_page):
    """No field without a name for a screen reader."""
    assert read_page(client.get("/flow").text).unlabelled() == []
