"""The page Codes: what a scanned code holds, whether its digits are right, and building one."""

from __future__ import annotations

import re
from urllib.parse import urlencode

import numpy as np
import pytest
import zxingcpp
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

PACK = "(01)90614141000015(3202)000244(3922)1584"


def get(client, **query):
    return client.get("/codes?" + urlencode(query))


def joined(html):
    """Return a page's words with the places where a long code may break left out."""
    return html.replace("<wbr>", "")


def test_the_empty_page_has_two_forms_and_nothing_inline(client, read_page):
    """Each field has a label, each id stands once, nothing is inline."""
    answer = client.get("/codes")
    assert answer.status_code == 200
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []
    ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
    assert len(ids) == len(set(ids))
    assert answer.text.count('action="/codes"') == 2


def test_a_weighed_pack_says_item_and_price(client, words):
    """Digits right, item 00101, 4.99, and that the structure is from memory."""
    text = words(joined(get(client, code="200101804990", place="us").text))
    assert "Its digits are right" in text
    assert "item 00101" in text
    assert "price 4.99 0499 from memory, not checked" in text


def test_a_line_says_each_of_its_elements(client, words):
    """Weight, price and day in words, with the part of the code each was read from."""
    text = words(joined(get(client, code=f"{PACK}(17)260613").text))
    assert "net weight, lb 2.44 lb (3202) 000244" in text
    assert "use by / expiry date 2026-06-13 (17) 260613" in text
    assert "from memory" not in text
    assert "One code with several parts" in text
    assert "number of the goods 90614141000015" in text
    assert "price of this pack 15.84" in text
    assert not re.search(r"GTIN|monetary area|lement string", text)


def test_a_scanner_s_separator_is_read_and_shown(client, words):
    """The sign itself or {GS}; the field shows {GS}, for the sign cannot be seen."""
    for sent in ("019061414100001510L1\x1d217", "019061414100001510L1{GS}217"):
        answer = get(client, code=sent)
        assert "number of this pack 7" in words(joined(answer.text))
        assert 'value="019061414100001510L1{GS}217"' in answer.text


@pytest.mark.parametrize(
    ("query", "name", "reason"),
    [
        ({"code": "200101804991"}, "code", "its check digit must be 0"),
        ({"code": "(01)90614141000014"}, "code", "its check digit must be 5"),
        ({"code": ""}, "code", "nothing was sent"),
        ({"code": "200101804990", "place": "mars"}, "code", "is not known here"),
        ({"kind": "code-93", "number": "1"}, "kind", "is not known here"),
        ({"kind": "upc-a", "number": ""}, "number", "enter the item"),
        ({"kind": "upc-a", "number": "00101", "price": "137.50"}, "price",
         "GS1 DataBar Expanded code with the price in (392n)"),
        ({"kind": "upc-a", "number": "101", "price": "4.99"}, "number", "it must have 5"),
        ({"kind": "upc-a", "number": "00101", "price": "0"}, "price", "enter more than 0"),
        ({"kind": "upc-a", "number": "200101804991"}, "number", "its check digit must be 0"),
        ({"kind": "gs1-qr", "number": "90614141000015", "price": "4.99"}, "number",
         "(3922) must come with"),
        ({"kind": "gs1-qr", "number": "90614141000015", "weight": "x"}, "weight", "Weight:"),
        ({"kind": "gs1-qr", "number": "90614141000015", "weight": "1", "unit": "oz"}, "weight",
         "Unit:"),
        ({"kind": "gs1-qr", "number": "90614141000015", "use_by": "soon"}, "use_by",
         "choose a day"),
        ({"kind": "gs1-qr", "number": "90614141000015", "lot": "a b"}, "number",
         "which is not allowed in a code"),
        ({"kind": "gs1-qr", "number": "9061414100001"}, "number",
         "As the first 13 of 14 digits it would be 90614141000015"),
    ],
)  # fmt: skip
def test_what_is_wrong_stands_beside_its_field(client, words, query, name, reason):
    """The summary links to the field, and nothing is drawn."""
    answer = get(client, **query)
    assert answer.status_code == 422
    assert f'href="#f-{name}"' in answer.text
    assert reason in words(answer.text)
    assert "<svg" not in answer.text


def test_a_number_of_the_shop_is_led_to_its_trace(client):
    """A ticket's or a booking's number is no bar code of goods."""
    answer = get(client, code="t12")
    assert answer.status_code == 200
    assert 'href="/trace?lot=T12"' in answer.text


@pytest.mark.parametrize(
    ("query", "text"),
    [
        ({"kind": "upc-a", "number": "00101", "price": "4.99"}, "0200101804990"),
        ({"kind": "upc-a", "number": "03600029145"}, "0036000291452"),
        ({"kind": "ean-13", "number": "590123412345"}, "5901234123457"),
        ({"kind": "gs1-qr", "number": "90614141000015", "weight": "2.44", "unit": "lb",
          "price": "15.84"}, PACK),
        ({"kind": "databar-expanded-stacked", "number": "90614141000015", "weight": "1.250",
          "unit": "kg", "use_by": "2026-06-13", "lot": "L-208.01"},
         "(01)90614141000015(3103)001250(17)260613(10)L-208.01"),
        ({"kind": "gs1-128", "number": "90614141000015", "lot": "A"}, "(01)90614141000015(10)A"),
        ({"kind": "datamatrix", "number": "T12 L-208.01"}, "T12 L-208.01"),
    ],
)  # fmt: skip
def test_a_built_code_is_read_back_from_the_page(client, query, text):
    """The drawing on the page, put on dots, is read by zxing-cpp as what was asked for."""
    html = get(client, **query).text
    width, height = (int(one) for one in re.search(r'viewBox="0 0 (\d+) (\d+)"', html).groups())
    paper = np.full(((height + 8) * 3, width * 3), 255, np.uint8)
    boxes = re.findall(r"M(\d+) (\d+)h(\d+)v(\d+)h-\d+z", html)
    assert boxes
    for x, y, wide, high in (map(int, box) for box in boxes):
        paper[(y + 4) * 3 : (y + 4 + high) * 3, x * 3 : (x + wide) * 3] = 0
    (found,) = zxingcpp.read_barcodes(paper)
    assert found.text == text


NAMES = ["code", "place", "kind", "number", "price", "weight", "unit", "lot", "use_by"]
TEXTS = ["gs1-qr", "upc-a", "qr", PACK, "90614141000015", "us", "gb", "kg", "4.85", "2026-06-13"]


@given(st.dictionaries(
    st.sampled_from(NAMES), st.one_of(st.text(max_size=30), st.sampled_from(TEXTS))
))  # fmt: skip
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_text_breaks_the_page(client, query):
    """Whatever is sent, the page answers with what it holds or what is wrong."""
    answer = get(client, **query)
    assert answer.status_code in {200, 422}
    assert "Codes" in answer.text


def test_what_stands_on_a_ticket_may_be_typed_as_it_stands(client, words):
    """The number under the bars with its spaces, and the text of the square code."""
    assert "price 4.99" in words(joined(get(client, code="2 00101 80499 0").text))
    said = get(client, code="T3 B-41F.04").text
    assert "T3 is a number of this shop" in words(said)
    assert 'href="/trace?lot=T3"' in said
