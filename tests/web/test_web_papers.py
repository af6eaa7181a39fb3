"""Papers, keyed back, and lists in and out, as pages: one request for a sheet, faults by field."""

from __future__ import annotations

import re
import zipfile
from datetime import datetime
from html import unescape
from io import BytesIO

import pypdfium2
import pytest

from collop.shop import DEMO_START
from collop.shop.day_model import both_scales
from collop.shop.exchange_loading import import_zip
from collop.web.exchange import MOST_FILE

NOON = DEMO_START.replace(hour=12)


def text_of(answer):
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.text)))


def values(html):
    """Return the hidden fields of the last form with a carried list."""
    return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', html))


def test_the_set_and_each_sheet_come_as_pdf(client):
    """Letter or A4; a sheet alone has fewer pages; the page names what there is."""
    assert "Print papers" in client.get("/papers").text
    whole = client.get("/papers/set.pdf?paper=a4")
    assert whole.headers["content-type"] == "application/pdf"
    sizes = {}
    for told, data in (("whole", whole.content),
                       ("sales", client.get("/papers/set.pdf?sheet=sales").content)):  # fmt: skip
        pdf = pypdfium2.PdfDocument(data)
        sizes[told] = (len(pdf), round(pdf[0].get_width()))
        pdf.close()
    assert sizes["whole"][1] == 595
    assert sizes["sales"] == (3, 612)
    assert sizes["whole"][0] > 8


def test_both_papers_and_both_pages_tell_the_same_limit_of_a_place(client, shop):
    """What is held cold to be cleaned less often is no limit, and is told in the same words."""
    pdf = pypdfium2.PdfDocument(client.get("/papers/set.pdf?sheet=cold").content)
    read = [page.get_textpage() for page in pdf]
    paper = "".join("".join(text.get_text_range().split()) for text in read)
    for one in (*read, pdf):
        one.close()
    pages = [text_of(client.get(path)) for path in
             ("/daybook/paper", "/daybook/cold", "/daybook/places")]  # fmt: skip
    places = shop.day.places()
    assert {place.has_limit for place in places} == {True, False}
    for place in places:
        told = both_scales(place.limit)
        if not place.has_limit:
            told = f"held at {told}; sets how often it is cleaned"
        assert (place.name + told if not place.has_limit else told).replace(" ", "") in paper
        for page in pages:
            assert f"{place.name} " in page
            assert told in page


@pytest.mark.parametrize(
    ("query", "said"),
    [("day=2026-06-01", "that day is past"), ("day=x", "choose a day"),
     ("day=2027-01-01", "more than 31 days"), ("paper=a0", "not known here"),
     ("sheet=gold", "no sheet")],
)  # fmt: skip
def test_a_wrong_wish_for_papers_is_told_in_the_summary(client, query, said):
    """422, the summary, and no PDF."""
    answer = client.get(f"/papers/set.pdf?{query}")
    assert answer.status_code == 422
    assert "There is a problem" in answer.text
    assert said in text_of(answer)


def sale_rows(count):
    rows = {"sheet-1": "P-0609-S1", "sheet-2": "P-0609-S2", "by": "dot"}
    for number in range(count):
        end = f"{number // 22 + 1}-{number % 22 + 1}"
        rows |= {f"time-{end}": f"8:{number:02d}", f"cut-{end}": ["C03", "Beef rump"][number % 2],
                 f"net-{end}": "0.10", f"paid-{end}": "card"}  # fmt: skip
    return rows


def test_forty_sales_are_keyed_in_one_request(client, shop, clock):
    """Two sheets of sales in one form: 40 slips, all late entries, at the prices of their hour."""
    clock.put(NOON)
    answer = client.post("/papers/back/sales", data=sale_rows(40))
    assert answer.status_code == 303
    late = shop.papers.late(NOON.date(), NOON.date())
    assert len(late) == 40
    slip = text_of(client.get(f"/sell/{late[0].answer}"))
    assert f"Late entry : sale done {late[0].done_at:%a %-d %b %H:%M}, written Tue 9 Jun" in slip
    assert {one.sheet[:9] for one in late} == {"P-0609-S1", "P-0609-S2"}
    said = text_of(client.get(answer.headers["location"]))
    assert "22 rows of P-0609-S1 written. 18 rows of P-0609-S2 written." in said
    again = client.post("/papers/back/sales", data=sale_rows(40))
    assert "22 there before" in text_of(client.get(again.headers["location"]))
    assert len(shop.papers.late(NOON.date(), NOON.date())) == 40
    page = text_of(client.get("/papers"))
    assert "P-0609-S2 row 18" in page
    assert "Tue 9 Jun 08:39" in page
    assert shop.check() == []


def test_a_row_without_a_time_goes_on_the_slip_above(client, shop, clock):
    """Three rows, two slips."""
    clock.put(NOON)
    rows = sale_rows(3) | {"time-1-2": ""}
    client.post("/papers/back/sales", data=rows)
    slips = [shop.slip(one.answer) for one in shop.papers.late(NOON.date(), NOON.date())]
    assert [len(slip.lines) for slip in slips] == [2, 1]


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        ({"cut-1-2": "Moon"}, "cut-1-2", "no 'Moon' on the board"),
        ({"net-1-2": "x"}, "net-1-2", "write the weight like"),
        ({"time-1-2": "99"}, "time-1-2", "write the time"),
        ({"time-1-2": "12:30"}, "time-1-2", "Row 2 of P-0609-S1: Done at: Tue 9 Jun 12:30 lies"),
        ({"net-1-2": "900"}, "cut-1-2", "Row 2 of P-0609-S1"),
        ({"paid-1-2": "gold"}, "paid-1-2", "not known here"),
        ({"paid-1-2": "account"}, "name-1-2", "needs a name"),
        ({"sheet-1": "today"}, "sheet-1", "no number of a sheet"),
        ({"by": ""}, "by", "choose who"),
        ({"by": "nobody"}, "by", "not known here"),
    ],
)
def test_a_bad_row_stands_in_the_summary_beside_its_field(client, shop, clock, change, field, said):
    """422, a link to the field, all that was typed is kept, and nothing is written."""
    clock.put(NOON)
    answer = client.post("/papers/back/sales", data=sale_rows(3) | change)
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert f'id="f-{field}"' in answer.text
    assert said in text_of(answer)
    assert 'value="8:02"' in answer.text
    assert shop.papers.late(NOON.date(), NOON.date()) == ()


def test_an_empty_form_and_an_unknown_sheet(client):
    """Nothing filled is told; a kind nobody knows leads to the choice."""
    assert "Nothing is filled in yet" in text_of(
        client.post("/papers/back/cold", data={"sheet-1": "P-0609-C1", "by": "dot"}))  # fmt: skip
    for kind in ("board", "gold"):
        assert client.get(f"/papers/back/{kind}").headers["location"] == "/papers/back"
        assert client.post(f"/papers/back/{kind}", data={"x": "y"}).status_code == 303


def test_cold_checks_hand_overs_bench_and_orders_are_keyed_back(client, shop, clock):
    """Each sheet by its form; both times stand in the Day Book and on the slip."""
    clock.put(NOON)
    cold = {"sheet-1": "P-0609-C1", "by": "kofi", "heat-1": "39", "time-1": "08:05"}
    assert client.post("/papers/back/cold", data=cold).status_code == 303
    assert "08:05" in text_of(client.get("/daybook"))
    over = cold | {"heat-2": "52", "time-2": "11:00"}
    answer = client.post("/papers/back/cold", data=over)
    assert answer.status_code == 422
    assert 'href="#f-action-2"' in answer.text
    over |= {"action-2": "moved", "told-2": "Ines"}
    assert client.post("/papers/back/cold", data=over).status_code == 303

    number = next(one.number for one in shop.bench.lines().lines if one.booking_id == "H7")
    bench = {"sheet-1": "P-0609-B1", "by": "marek", f"net-{number}": "2.02",
             f"time-{number}": "9:30"}  # fmt: skip
    assert client.post("/papers/back/bench", data=bench).status_code == 303

    booking = shop.booking("H4")
    went = {"sheet-1": "P-0609-H1", "by": "dot", "time-H4": "11:02", "paid-H4": "card"}
    went |= {f"w-{line.id}": line.weight.text() for line in booking.lines}
    assert client.post("/papers/back/bookings", data=went).status_code == 303
    assert shop.slip("H4").total == booking.total

    order = {"sheet-1": "P-0609-O1", "by": "dot", "time-1": "9:10", "name-1": "River supper",
             "usual-1": "4", "child-1": "2", "dont-1": "one eats no pork", "fire-1": "half drum",
             "cut-1-1": "C02", "net-1-1": "3 lb", "day-1": "2026-06-12", "hour-1": "16:00",
             "phone-1": "4471", "deposit-1": "10"}  # fmt: skip
    assert client.post("/papers/back/orders", data=order).status_code == 303
    (booked,) = shop.find("River supper")
    assert booked.heads == 6
    assert booked.collect_at == datetime(2026, 6, 12, 16, 0)  # noqa: DTZ001
    assert "half drum" in booked.note
    assert "one eats no pork" in booked.note
    slip = text_of(client.get(f"/hook/{booked.id}"))
    assert "Late entry" in slip
    assert "P-0609-O1 row 1" in slip
    assert shop.check() == []


def test_every_list_goes_out_and_comes_in_unchanged(client, shop):
    """As a spreadsheet gets them: with a mark of their encoding."""
    for kind in shop.exchange.lists():
        answer = client.get(f"/exchange/{kind.name}.csv")
        assert answer.headers["content-type"].startswith("text/csv")
        assert answer.content.startswith(b"\xef\xbb\xbf")
        if kind.into is None:
            continue
        sent = client.post("/exchange", data={"list": kind.name, "by": "ines", "do": "try"},
                           files={"file": (f"{kind.name}.csv", answer.content)})  # fmt: skip
        assert "Nothing changes; " in text_of(sent)
    assert client.get("/exchange/gold.csv").status_code == 404


def test_a_list_is_tried_looked_at_and_then_written(client, shop):
    """The trial tells what changes and writes nothing; the button carries the same list."""
    body = b"name;price\r\nBeef rump;16,90\r\n"
    tried = client.post("/exchange", data={"list": "board", "by": "ines", "do": "try"},
                        files={"file": ("board.csv", body)})  # fmt: skip
    assert "1 price change, nothing else." in text_of(tried)
    assert shop.board_changes("C13")[-1].price.amount != 16.9
    done = client.post("/exchange", data=values(tried.text) | {"do": "write"},
                       files={"file": ("", b"")})  # fmt: skip
    assert "Written: 1 price change, nothing else." in text_of(done)
    assert str(shop.board_changes("C13")[-1].price.amount) == "16.90"


@pytest.mark.parametrize(
    ("data", "body", "field"),
    [
        ({"list": "board", "by": "ines"}, b"", "file"),
        ({"list": "gold", "by": "ines"}, b"name\nx\n", "list"),
        ({"list": "board"}, b"name\nx\n", "by"),
        ({"list": "board", "by": "ines"}, b"name,prise\nx,1\n", "file"),
        ({"list": "board", "by": "ines"}, b"name,price\nBeef rump,99\n", "why"),
        ({"list": "board", "by": "ines"}, b"x" * (MOST_FILE + 1), "file"),
        ({"list": "sales", "by": "ines"}, b"day\n1\n", "list"),
    ],
)
def test_what_is_wrong_with_a_list_is_told_beside_its_field(client, shop, data, body, field):
    """422 with a link to the field, and the shop as it was."""
    before = shop.exchange.export()
    answer = client.post("/exchange", data=data | {"do": "write"}, files={"file": ("a.csv", body)})
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert shop.exchange.export() == before


def test_a_file_far_too_large_is_not_taken(client):
    """Half a megabyte is refused before it is read."""
    answer = client.post("/exchange", data={"list": "board"},
                         files={"file": ("a.csv", b"x" * 500_000)})  # fmt: skip
    assert answer.status_code == 413


def test_everything_comes_as_one_zip_that_makes_the_same_shop(client, shop, tmp_path):
    """The file of the page is that of the service, and can be brought in."""
    answer = client.get("/exchange/everything.zip")
    assert answer.content == shop.exchange.export()
    with zipfile.ZipFile(BytesIO(answer.content)) as packed:
        assert "bookings.csv" in packed.namelist()
    assert import_zip(answer.content, f"sqlite:///{tmp_path / 'copy.db'}")["people"] == 4


@pytest.mark.parametrize("page", ["lockup", "daybook", "bench"])
def test_papers_are_a_touch_away_from_where_they_are_wanted(client, page):
    """Lock-up, Day Book and Bench lead to the papers, the papers to the lists."""
    assert 'href="/papers"' in client.get(f"/{page}").text
    assert 'href="/exchange"' in client.get("/papers").text


def test_a_form_of_hand_overs_or_of_the_bench_sent_twice_is_written_once(client, shop, clock):
    """What went by the first sending stands on no list any more, and is still not a fault."""
    clock.put(NOON)
    (booking,) = [one for one in shop.bookings(NOON.date(), NOON.date()) if one.id == "H4"]
    went = {"sheet-1": "P-0609-H1", "by": "dot", "time-H4": "11:05", "paid-H4": "card"}
    went |= {f"w-{line.id}": "1.00" for line in booking.lines}
    number = next(one.number for one in shop.bench.lines().lines if one.booking_id == "H7")
    bench = {"sheet-1": "P-0609-B1", "by": "marek", f"time-{number}": "9:30",
             f"net-{number}": "2.02"}  # fmt: skip
    for kind, sheet, form in (("bench", "B1", bench), ("bookings", "H1", went)):
        first, second = (client.post(f"/papers/back/{kind}", data=form) for _ in range(2))
        assert first.status_code == second.status_code == 303, text_of(first)[:1500]
        told = text_of(client.get(second.headers["location"]))
        assert f"0 rows of P-0609-{sheet} written, 1 there before." in told
    assert shop.check() == []


def test_a_weight_of_the_bench_goes_to_the_line_that_was_seen(client, shop, clock):
    """The list moved up between the form and its sending: nothing is written to another line."""
    clock.put(NOON)
    before = {one.number: one for one in shop.bench.lines().lines}
    form = client.get("/papers/back/bench").text
    assert f'name="line-1" value="{before[1].id}"' in form
    weighed = {line.id: line.held for line in shop.booking("H4").lines}
    shop.pickup.go_without("H4", by="dot", key="without")
    shop.hand_over("H4", weighed, by="dot", key="go")
    assert next(one.id for one in shop.bench.lines().lines if one.number == 1) != before[1].id
    sent = {"sheet-1": "P-0609-B1", "by": "marek", "time-1": "9:30", "net-1": "2",
            "line-1": before[1].id}  # fmt: skip
    answer = client.post("/papers/back/bench", data=sent)
    assert answer.status_code == 422
    assert "the list changed meanwhile" in text_of(answer)
    assert shop.papers.late(NOON.date(), NOON.date()) == ()
