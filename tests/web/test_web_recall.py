"""The recall page: what to hold, whom to call, the balance, saving it, and keeping a drill."""

from __future__ import annotations

import csv
import io
import re

import pytest


def kept(html):
    """Return the hidden fields of the form that keeps a drill."""
    form = html[html.index('action="/recall/drill"') :]
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))


def test_one_lot_shows_what_to_hold_whom_to_call_and_how_much_is_found(client, shop, words):
    """Every lot in the shop, every booking, and 100 % of the animal's weight."""
    html = client.get("/recall?lot=B-41F.03").text
    found = shop.tracing.recall("B-41F.03")
    said = words(html)
    assert "All of 326.00 lb is found" in said
    assert not re.search(r"\d ms\b", said)
    assert "farm Upper Nimmock, plant F-01 (made up)" in said
    for lot in found.here:
        assert f"{lot.lot_id} {lot.what}" in said
    for one in found.customers:
        assert f'href="/hook/{one.booking_id}"' in html
        assert f"{one.name} {one.phone_end}" in said


def test_the_empty_page_tells_what_to_scan_and_that_nothing_moves(client, words, read_page):
    """One labelled field; no script or style of its own."""
    html = client.get("/recall").text
    assert "No stock is moved by looking" in words(html)
    assert read_page(html).unlabelled() == []
    assert read_page(html).inline == []
    full = client.get("/recall?lot=B-41").text
    assert read_page(full).unlabelled() == []
    assert read_page(full).inline == []


@pytest.mark.parametrize("lot", ["nix", "T99999", "H999", "x" * 300, "<b>", "%F0%9F%A5%A9"])
def test_what_is_not_there_is_said_beside_the_field(client, lot):
    """One sentence, the field in fault, and what was typed is kept as text."""
    answer = client.get(f"/recall?lot={lot}")
    assert answer.status_code == 404
    assert 'id="e-lot"' in answer.text
    assert 'value="<b>' not in answer.text


def test_it_may_begin_at_the_lot_alone(client, words):
    """A fault of this shop: only what was made from the lot."""
    said = words(client.get("/recall?lot=B-41F.03&scope=lot").text)
    assert "in 1 lot." in said
    assert "All of 12.00 lb is found" in said


def test_it_is_saved_as_a_table_and_as_json(client):
    """Both as files that no cache keeps; the same lots in both."""
    table = client.get("/recall.csv?lot=B-41F.03")
    assert table.headers["content-type"] == "text/csv; charset=utf-8"
    assert table.headers["cache-control"] == "no-store"
    told = client.get("/recall.json?lot=B-41F.03")
    assert told.headers["cache-control"] == "no-store"
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert {row["lot"] for row in rows if row["row"] == "lot"} == {
        one["lot"] for one in told.json()["lots"] if one["where"]
    }
    assert client.get("/recall.json?lot=nix").status_code == 404


def test_a_drill_is_kept_once_and_listed(client, shop, words):
    """Sent twice, written once; the list tells time and what was found."""
    fields = kept(client.get("/recall?lot=B-41F.03").text)
    fields |= {"by": "ines", "counted": "100", "note": "two trays"}
    for _ in range(2):
        answer = client.post("/recall/drill", data=fields, follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, "/recall?done=1#drills")
    (drill,) = shop.tracing.drills()
    assert (drill.lot_id, drill.note, drill.by) == ("B-41F.03", "two trays", "ines")
    said = words(client.get("/recall").text)
    assert f"{drill.counted_pct} % two trays Ines" in said


@pytest.mark.parametrize(
    ("change", "field"),
    [({"by": ""}, "by"), ({"counted": "much"}, "counted"), ({"lot": "nix"}, "lot"),
     ({"begun": "2001-01-01T00:00:00"}, "lot")],
)  # fmt: skip
def test_a_drill_with_a_fault_is_not_kept(client, shop, change, field):
    """The field is named, what was found still stands, and nothing is written."""
    fields = kept(client.get("/recall?lot=B-41F.03").text) | {"by": "ines"} | change
    answer = client.post("/recall/drill", data=fields)
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert shop.tracing.drills() == ()
