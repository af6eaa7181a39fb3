"""Trace: the chain to the farm, the other lots of the animal, bookings, and the scan field."""

from __future__ import annotations

import pytest


def section(html, start, end):
    return html[html.index(start) : html.index(end, html.index(start))]


def test_a_cut_leads_to_piece_animal_and_farm_in_that_order(client, words):
    """The line names farm, kill day, arrival, and each lot on the way."""
    html = client.get("/trace?lot=B-41F.03").text
    line = words(section(html, '<ol class="trace-line">', "</ol>"))
    order = ["Upper Nimmock", "killed Sun 24 May 2026", "arrived Tue 26 May 2026, 07:00",
             "beef, whole animal", "forequarter, one side", "B-41F.03", "Short ribs"]  # fmt: skip
    places = [line.index(part) for part in order]
    assert places == sorted(places)


def test_every_other_lot_of_the_animal_is_listed_with_place_weight_and_booking(client, shop, words):
    """One row for each sister; what is booked links to its slip."""
    trace = shop.cutting.trace("B-41F.03")
    html = client.get("/trace?lot=B-41F.03").text
    body = section(html, "<tbody>", "</tbody>")
    rows = [words(row) for row in body.split("<tr>")[1:]]
    assert len(rows) == len(trace.sisters) > 5
    for row, lot in zip(rows, trace.sisters, strict=True):
        assert row.strip().startswith(f"{lot.lot_id} {lot.what}")
        assert all(weight.text() in row for _, weight in lot.where)
        assert all(booking in row for booking in lot.bookings)
    assert 'href="/hook/H4"' in body
    assert "14.00 lb in the case, booked" in words(body)


def test_a_booking_shows_one_line_for_each_of_its_lots(client, shop, words):
    """Each lot it holds, with its own chain."""
    lots = shop.cutting.lots_of_booking("H4")
    html = client.get("/trace?booking=H4").text
    assert html.count('<ol class="trace-line">') == len(lots) > 1
    said = words(html)
    assert all(lot in said for lot in lots)
    assert "Upper Nimmock" in said
    assert "no animal is written down for lamb lot" in said


def test_the_scan_field_takes_a_booking_too(client, words):
    """A booking typed where a lot is asked for is understood, in either case."""
    for text in ("H4", "h4"):
        assert "Booking H4" in words(client.get(f"/trace?lot={text}").text)


def test_a_lot_may_be_typed_without_capitals(client, words):
    """As it stands on the ticket, or in small letters."""
    assert "Short ribs" in words(client.get("/trace?lot=b-41f.03").text)
    assert "asked for: b-41f" in words(client.get("/flow?lot=b-41f").text)


def test_a_booking_without_lots_says_so(client, shop, words):
    """A released booking holds nothing."""
    shop.release("H4", by="marek", key="r", why="called off")
    said = words(client.get("/trace?booking=H4").text)
    assert "No lot is held for this booking" in said


@pytest.mark.parametrize(
    ("query", "sentence", "kept"),
    [
        ("lot=B-99", "There is no lot 'B-99'; scan the ticket again.", "B-99"),
        ("lot=h999", "There is no booking", "H999"),
        ("booking=H999", "There is no booking", "H999"),
        ("booking=x", "There is no booking", "X"),
    ],
)
def test_what_is_not_there_is_said_beside_the_field_and_kept(client, words, query, sentence, kept):
    """The service's own sentence; what was scanned stays in the field."""
    answer = client.get(f"/trace?{query}")
    assert answer.status_code == 404
    assert sentence in words(answer.text)
    assert 'id="e-lot"' in answer.text
    assert f'value="{kept}"' in answer.text


def test_the_empty_page_tells_what_to_scan(client, words, read_page):
    """What may be typed, and one labelled field that the scanner can write into."""
    html = client.get("/trace").text
    assert "Scan a ticket, or type a ticket such as T12, a lot" in words(html)
    assert read_page(html).unlabelled() == []
    assert read_page(html).inline == []


def test_trace_and_flow_lead_to_each_other(client, read_page):
    """From a lot to where its animal's weight went, and back."""
    assert "/flow?lot=B-41F.03" in read_page(client.get("/trace?lot=B-41F.03").text).links
    assert "/trace?lot=B-41F.03" in read_page(client.get("/flow?lot=B-41F.03").text).links


def test_text_from_the_address_cannot_break_out_of_the_page(client):
    """A lot that is a tag in the other sense is shown as text."""
    html = client.get("/trace", params={"lot": '"><script>alert(1)</script>'}).text
    assert "<script>alert" not in html
