"""Element strings: 10,000 fuzzed ones, round trips, another reader's words, and what is said."""

from __future__ import annotations

import random
import string
import time
from datetime import date
from decimal import Decimal

import pytest
import zxingcpp
from drawn_codes import drawn
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Money, WeightUnit
from collop.ticket.digits import check_digit, full, gtin14, verify, whole_digits
from collop.ticket.elements import decode, digital_link, encode, read_link
from collop.ticket.elements_any import from_keyboard, read_code
from collop.ticket.elements_making import date_value, price_element, weight_element
from collop.ticket.elements_reading import GS, LONGEST
from collop.ticket.elements_values import SET_82, worth_of_digits
from collop.ticket.identifiers import identifier, identifiers
from collop.ticket.symbols import symbol_of

ITEM = "90614141000015"
LETTERS = "".join(sorted(SET_82))


def _text(luck, most):
    return "".join(luck.choices(LETTERS, k=luck.randint(1, most)))


def _day(luck):
    return f"{luck.randrange(20, 50):02d}{luck.randint(1, 12):02d}{luck.randint(1, 28):02d}"


def valid_values(luck):
    """Return a mapping that may be encoded."""
    values = {"01": full("9" + "".join(luck.choices(string.digits, k=12)))}
    wishes = {
        f"310{luck.randrange(6)}": f"{luck.randrange(10**6):06d}",
        f"320{luck.randrange(6)}": f"{luck.randrange(10**6):06d}",
        "17": _day(luck), "13": _day(luck), "10": _text(luck, 20), "21": _text(luck, 20),
        "251": _text(luck, 30), "422": "840", "7030": "840" + _text(luck, 27),
        "7003": _day(luck) + "1430", "7007": _day(luck), "91": _text(luck, 90), "20": "07",
        "30": str(luck.randint(1, 10**8 - 1)), "423": "840826",
    }  # fmt: skip
    for ai in luck.sample(sorted(wishes), k=luck.randrange(7)):
        values[ai] = wishes[ai]
    if luck.random() < 0.5 and any(ai[:2] in {"31", "32"} or ai == "30" for ai in values):
        values[f"392{luck.randrange(10)}"] = str(luck.randrange(10**6))
    return values


def test_two_thousand_valid_strings_go_round():
    """What is encoded is decoded as it was, in both forms, and encoding that gives the same."""
    luck = random.Random(11)
    for _ in range(2000):
        values = valid_values(luck)
        made = encode(values)
        for form in (made.transmitted, made.element_string, "]d2" + made.transmitted):
            read = {one.ai: one.value for one in decode(form)}
            assert read == values
        assert encode(read) == made
        assert not made.transmitted.endswith(GS)


def _mutated(luck, text):
    """Return a text with a few characters changed, moved, doubled or lost."""
    found = list(text)
    for _ in range(luck.randint(1, 4)):
        place = luck.randrange(len(found) + 1)
        act = luck.randrange(5)
        if act == 0 and found:
            del found[min(place, len(found) - 1)]
        elif act == 1:
            found.insert(place, luck.choice(string.printable + GS + "\0é٣肉"))
        elif act == 2 and found:
            found[min(place, len(found) - 1)] = luck.choice(string.digits + "()" + GS)
        elif act == 3:
            end = luck.randrange(len(found) + 1)
            found[place:place] = found[min(place, end) : max(place, end)]
        else:
            found = found[:place]
    return "".join(found)


def _fuzzed(luck):
    """Return a string that may be anything."""
    kind = luck.randrange(8)
    if kind == 0:
        return luck.randbytes(luck.randrange(60)).decode("latin-1")
    if kind == 1:
        return "".join(chr(luck.randrange(0x11000)) for _ in range(luck.randrange(40)))
    if kind == 2:
        return "".join(luck.choices(string.digits, k=luck.randrange(80)))
    if kind == 3:
        return luck.choice(["https://", "http://x/", "(", "]C1", "01", "(01)"]) + _text(luck, 40)
    if kind == 4:
        return luck.choice(["9", "(01)", "\\(", GS, "%"]) * luck.choice([100, 1999, 10_000])
    made = encode(valid_values(luck))
    if kind == 5:
        address = digital_link(dict(decode_pairs(made)), "https://shop.example")
        return _mutated(luck, address)
    return _mutated(luck, luck.choice([made.transmitted, made.element_string]))


def decode_pairs(made):
    """Return identifiers and values of an element string."""
    return [(one.ai, one.value) for one in made.elements]


def test_ten_thousand_fuzzed_strings_are_read_or_refused_with_a_reason():
    """No crash and no long wait; a refusal is one sentence, and what is read goes round."""
    luck = random.Random(2026)
    read = refused = 0
    slowest = 0.0
    for _ in range(10_000):
        text = _fuzzed(luck)
        began = time.perf_counter()
        try:
            found = decode(text)
        except BadValue as error:
            refused += 1
            assert error.message.endswith(".")
            assert 20 < len(error.message) < 300
        else:
            read += 1
            values = {one.ai: one.value for one in found}
            assert len(values) == len(found)
            assert {one.ai: one.value for one in decode(encode(values).transmitted)} == values
        slowest = max(slowest, time.perf_counter() - began)
    assert read > 300
    assert refused > 5000
    assert slowest < 0.5


@given(st.text(max_size=80))
def test_no_text_breaks_the_reader(text):
    """Whatever is scanned or typed, it is read or refused."""
    for work in (decode, read_code, read_link, verify, gtin14, check_digit, identifier):
        try:
            work(text)
        except BadValue as error:
            assert error.message.endswith(".")


@given(
    st.dictionaries(st.text(max_size=5), st.one_of(st.text(max_size=30), st.integers(), st.none()))
)
def test_no_mapping_breaks_the_writer(values):
    """Whatever is to be encoded, it is written or refused."""
    for work in (encode, digital_link):
        try:
            work(values)
        except BadValue as error:
            assert error.message.endswith(".")


def test_another_reader_puts_the_same_brackets():
    """zxing-cpp cuts 300 random strings out of a QR into the identifiers and values we wrote."""
    luck = random.Random(5)
    for _ in range(300):
        values = {ai: value.replace("(", "A") for ai, value in valid_values(luck).items()}
        line = encode(values).element_string
        if len(line) > 150:
            continue
        (found,) = zxingcpp.read_barcodes(drawn(symbol_of("gs1-qr", line), 2))
        assert found.text == line
        sent = bytes(found.bytes).decode("ascii")
        assert sent == encode(values).transmitted
        assert decode(found.text) == decode(sent)


def test_a_bracket_in_a_value_is_escaped():
    """A backslash stands before a bracket of the value, and goes away again."""
    made = encode({"01": ITEM, "10": "A(21)B"})
    assert made.element_string == rf"(01){ITEM}(10)A\(21)B"
    assert decode(made.element_string)[1].value == "A(21)B"
    assert decode(made.transmitted)[1].value == "A(21)B"


def test_fixed_lengths_come_first_and_one_open_length_last():
    """No separator is needed for (01)(3202)(17) then (10), whatever the order given."""
    made = encode({"10": "L1", "17": "260613", "3202": "000244", "01": ITEM})
    assert made.transmitted == f"01{ITEM}17260613320200024410L1"
    assert GS not in made.transmitted
    assert encode({"01": ITEM, "10": "L1", "21": "7"}).transmitted == f"01{ITEM}10L1{GS}217"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (f"01{ITEM}3103000195", "0.195 kg"), (f"01{ITEM}3202000244", "2.44 lb"),
        (f"01{ITEM}3100000012", "12 kg"), (f"01{ITEM}30007", "7"),
        (f"01{ITEM}3103000195{GS}39328401584", "15.84 USD"),
        (f"01{ITEM}3103000195{GS}39329991584", "15.84 in currency 999"),
        (f"01{ITEM}39420250", "2.50 percent"), (f"01{ITEM}422840", "country 840"),
        (f"01{ITEM}423840826", "country 840, 826"),
        (f"01{ITEM}7030840EST1234", "country 840, number EST1234"),
        (f"01{ITEM}70032606131430", "2026-06-13 14:30"),
        (f"01{ITEM}800826061314", "2026-06-13 14:00"),
        (f"01{ITEM}8008260613143059", "2026-06-13 14:30:59"),
        (f"01{ITEM}7007260601260613", "2026-06-01 to 2026-06-13"),
        (f"01{ITEM}10L-208.01", "L-208.01"), ("00376104250021234569", "376104250021234569"),
    ],
)  # fmt: skip
def test_values_in_words(text, words):
    """Weight with its unit, price, day, time, country: exact, as many decimals as the code says."""
    assert decode(text)[-1].decoded == words


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "no code to read"), (None, "no code to read"), (b"01", "no code to read"),
        ("]C1", "holds nothing"), (GS, "holds nothing"),
        ("]E05901234123457", "']E0' is no bar code that holds identifiers"),
        ("0" * (LONGEST + 1), "no code has over 2000"),
        (f"01{ITEM}{GS}{GS}10A", "at character 18 is no identifier known here"),
        (f"01{ITEM[:-1]}", "has 13 characters; it must have 14"),
        (f"01{ITEM}10{'A' * 21}", "a separator may be missing behind it"),
        (f"01{ITEM}10A B", "holds ' ', which is not allowed in a code"),
        (f"01{ITEM}10é", "which is not allowed in a code"),
        (f"01{ITEM}31030001x5", "holds 'x', which is not a digit"),
        (f"01{ITEM}3103\u0660\u0660\u0660\u0661\u0669\u0665", "which is not a digit"),
        (f"01{ITEM}3106000195", "is no identifier; (310n) goes from 3100 to 3105"),
        (f"01{ITEM}3956000195", "(395n) goes from 3950 to 3955"),
        (f"01{ITEM}17261301", "has month 13; it must be 01 to 12"),
        (f"01{ITEM}17260001", "has month 00"),
        (f"01{ITEM}17260229", "has day 29; it must be 00 to 28"),
        (f"01{ITEM}70032606132430", "24 is over 23"), (f"01{ITEM}70032606131460", "60 is over 59"),
        (f"01{ITEM}7007260613260601", "before it begins on 2026-06-13"),
        (f"01{ITEM}422000", "names country 000"),
        (f"01{ITEM}42384", "has 2 characters; it must have 3 or 6 or 9 or 12 or 15"),
        (f"01{ITEM}01{ITEM}", "(01) stands twice"), (f"(01){ITEM}(10)A(10)A", "(10) stands twice"),
        (f"01{ITEM}3922100{GS}3921100{GS}301", "say the same thing"),
        (f"(01){ITEM}x(10)", "has 15 characters; it must have 14"),
        (f"(01){ITEM}(10)", "has 0 characters; it must have 1 to 20"),
        ("(ab)1", "must begin with an identifier in brackets"),
        ("(01", "must begin with an identifier"),
        ("(99999)1", "must begin with an identifier"), ("(310)000195", "(310n) goes from 3100"),
        ("(24)1", "is no identifier known here"), ("(0112)1", "(0112) is no identifier known here"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told(text, reason):
    """One sentence names the identifier or the place, and what it should be."""
    with pytest.raises(BadValue) as caught:
        decode(text)
    assert reason in caught.value.message


@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ({}, "nothing to encode"), ([("01", ITEM)], "nothing to encode"),
        ("01", "nothing to encode"),
        ({"1": ITEM}, "(1) is no identifier"), ({1: ITEM}, "(1) is no identifier"),
        ({"x" * 999: "1"}, "is no identifier known here"),
        ({"01": 90614141000015}, "text in quotes"),
        ({"01": None}, "text in quotes"), ({"01": ITEM[:-1] + "4"}, "its check digit must be 5"),
        ({"01": ITEM, "10": f"A{GS}B"}, "which is not allowed in a code"),
        ({str(n): "1" for n in range(61)}, "do not fit one code"),
    ],
)  # fmt: skip
def test_what_cannot_be_written_is_told(values, reason):
    """A wrong kind, an unknown identifier, a separator inside a value."""
    with pytest.raises(BadValue) as caught:
        encode(values)
    assert reason in caught.value.message
    assert len(caught.value.message) < 200


@pytest.mark.parametrize(
    ("year", "two", "read"),
    [(2026, "20", 2020), (2026, "76", 2076), (2026, "77", 1977), (2051, "01", 2101),
     (2051, "02", 2002), (1999, "50", 1950), (1999, "49", 2049)],
)  # fmt: skip
def test_the_century_lies_nearest_the_year_of_reading(year, two, read):
    """From memory, not checked: at most 50 years ahead and 49 back (General Specifications)."""
    # 50 years ahead of 2026 is 2076, 49 back is 1977; 01 read in 2051 is 50 back, so 2101
    assert decode(f"01{ITEM}17{two}0613", read_in=year)[-1].decoded == f"{read}-06-13"


def test_every_identifier_begins_no_other():
    """A string can be cut in one way only."""
    known = list(identifiers())
    assert len(known) > 70
    assert not [(a, b) for a in known for b in known if a != b and b.startswith(a)]
    assert identifier("3103000195").ai == "3103"


@pytest.mark.parametrize(
    ("address", "reason"),
    [
        ("https://shop.example/01/09520123456788/10/ABC123?10=ABC123", "(10) stands twice"),
        ("https://shop.example/01/09520123456788?17=260613&17=260613", "(17) stands twice"),
        ("https://shop.example/01/9520123456788", "must have 14"),
        ("https://shop.example/01/09520123456788/21/1/10/A", "(10) may not stand there"),
        ("https://shop.example/01/09520123456788/17/260613", "(17) may not stand there"),
        ("https://shop.example/01/09520123456788/10", "holds no trade item"),
        ("https://shop.example/about", "holds no trade item"),
        ("https:///01/09520123456788", "no host"),
        ("https://shop.example/01/0952012345 6788", "no web address of a trade item"),
        ("https://shop.example/01/09520123456788?999999=1", "is no identifier known here"),
        ("https://shop.example/01/09520123456788?10=%ff", "no web address that can be read"),
        ("https://[/01/09520123456788", "no web address that can be read"),
        ("https://shop.example/01/09520123456788?" + "&".join(f"{n}=1" for n in range(200)),
         "no web address that can be read"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_an_address_is_told(address, reason):
    """Repeats, order, length, host, escapes; BC139, from memory: a repeat is refused."""
    with pytest.raises(BadValue) as caught:
        decode(address)
    assert reason in caught.value.message


def test_addresses_go_round_with_any_character():
    """What is written into an address is read back, also signs that mean something there."""
    luck = random.Random(3)
    for _ in range(300):
        values = valid_values(luck)
        address = digital_link(values, "https://shop.example/meat")
        assert address.isascii()
        assert {one.ai: one.value for one in decode(address)} == values
    values = {"01": "09520123456788", "10": "A/B?&=%+(", "17": "260613"}
    address = digital_link(values, "http://shop.example/")
    assert address == "http://shop.example/01/09520123456788/10/A%2FB%3F%26%3D%25%2B%28?17=260613"
    assert {one.ai: one.value for one in decode(address + "&linkType=all")} == values


def test_an_address_without_key_or_with_a_strange_host_is_refused():
    """A key must be there, and the beginning must be one of an address."""
    with pytest.raises(BadValue, match="needs a trade item"):
        digital_link({"10": "A"})
    for domain in ("shop.example", "https://a b", "javascript:x", "https://x/<y>"):
        with pytest.raises(BadValue, match="is no beginning of an address"):
            digital_link({"01": ITEM}, domain)
    assert digital_link({"00": "376104250021234569"}).endswith("/00/376104250021234569")


@pytest.mark.parametrize(
    ("code", "place", "sort", "facts"),
    [
        ("200101804990", "us", "weighed pack (us)", [("item", "00101"), ("price", "4.99")]),
        ("0200101804990", "us", "weighed pack (us)", [("item", "00101"), ("price", "4.99")]),
        ("]E00200101804990", "us", "weighed pack (us)", [("item", "00101"), ("price", "4.99")]),
        (full("2810009" + "01234"), "de", "weighed pack (de)", None),
        ("036000291452", "us", "trade item number, GTIN-12, as in a UPC-A",
         [("trade item", "00036000291452")]),
        ("5901234123457", "us", "trade item number, GTIN-13, as in an EAN-13",
         [("trade item", "05901234123457")]),
        ("12345670", "us", "trade item number, GTIN-8", [("trade item", "00000012345670")]),
        (ITEM, "us", "trade item number, GTIN-14", [("trade item", ITEM)]),
        ("376104250021234569", "us", "SSCC, a logistic unit",
         [("logistic unit", "376104250021234569")]),
        (f"]d201{ITEM}3202000244", "us", "element string",
         [("GTIN", ITEM), ("net weight, lb", "2.44 lb")]),
        ("https://shop.example/01/09520123456788", "us", "element string",
         [("GTIN", "09520123456788")]),
    ],
)  # fmt: skip
def test_any_code_is_told_apart(code, place, sort, facts):
    """A retail number, a weighed pack, a logistic unit, a line, an address."""
    if facts is None:  # a German weight with a verifier that is wrong
        with pytest.raises(BadValue, match="for weight 01234 it must be"):
            read_code(code, place)
        return
    found = read_code(code, place)
    assert found.sort == sort
    assert [(one.name, one.value) for one in found.facts] == facts


def test_what_was_read_by_memory_says_so():
    """The structure of the United States is from memory, an identifier of the table is not."""
    assert all(one.from_memory for one in read_code("200101804990").facts)
    assert not any(one.from_memory for one in read_code(f"01{ITEM}").facts)
    assert read_code(f"01{ITEM}91X").as_json()["facts"][1]["status"] == "memory"
    assert read_code("2011122912346", "gb").as_json()["facts"][1]["status"] == "seen"


def test_a_place_nobody_knows_is_refused():
    """The sentence names those that are known."""
    with pytest.raises(BadValue, match="use one of us, us, 5-digit price, gb"):
        read_code("200101804990", "atlantis")


def test_a_separator_may_be_typed():
    """{GS}, <GS> and its sign stand for it; a scanner's own is kept."""
    for typed in ("{GS}", "<GS>", "\N{SYMBOL FOR GROUP SEPARATOR}", GS):
        assert from_keyboard(f" 01{ITEM}10A{typed}21B\r\n") == f"01{ITEM}10A{GS}21B"


@pytest.mark.parametrize(
    ("net", "unit", "element"),
    [("4.85", WeightUnit.LB, ("3202", "000485")), ("0.195", WeightUnit.KG, ("3103", "000195")),
     ("12", WeightUnit.LB, ("3200", "000012")), ("30.00", WeightUnit.LB, ("3202", "003000"))],
)  # fmt: skip
def test_a_weight_is_written_with_its_own_decimals(net, unit, element):
    """As the scale read it, exactly; it reads back as the same weight."""
    assert weight_element(Decimal(net), unit) == element
    assert worth_of_digits(element[1], int(element[0][-1])) == Decimal(net)


@pytest.mark.parametrize(
    ("net", "unit", "reason"),
    [("0", WeightUnit.LB, "zero or less"), ("-1", WeightUnit.KG, "zero or less"),
     ("4.85", WeightUnit.OZ, "in kg or lb"), ("1234567", WeightUnit.LB, "does not fit 6 digits"),
     ("1.2345678", WeightUnit.KG, "does not fit 6 digits"), ("NaN", WeightUnit.LB, "plain decimal"),
     ("1E-999999", WeightUnit.LB, "plain decimal"), ("1E+99", WeightUnit.LB, "plain decimal")],
)  # fmt: skip
def test_a_weight_that_does_not_fit_is_refused(net, unit, reason):
    """Nothing is rounded to make it fit."""
    with pytest.raises(BadValue, match=reason):
        weight_element(Decimal(net), unit)


def test_a_price_and_a_day_as_elements():
    """Decimals of the currency, six digits of the day."""
    assert price_element(Money.of("137.50", "USD")) == ("3922", "13750")
    assert price_element(Money.of("500", "JPY")) == ("3920", "500")
    assert date_value(date(2026, 6, 3)) == "260603"
    with pytest.raises(BadValue, match="gets no ticket"):
        price_element(Money.of("0", "USD"))
    with pytest.raises(BadValue, match="a code holds 15"):
        price_element(Money(10**15))


@pytest.mark.parametrize(
    "text", ["", "12a", "١٢٣٤٥٦٧", "1" * 6, "1" * 18, None, 1234567, " 1234567"]
)
def test_digits_that_are_none_are_refused(text):
    """7 to 17 digits 0-9, in quotes, and nothing else."""
    with pytest.raises(BadValue, match="7 to 17"):
        check_digit(text)


def test_a_number_of_a_fixed_length_says_so():
    """The sentence names the length, and a trade item has one of four."""
    with pytest.raises(BadValue, match="It has 3 digits; it must have 5"):
        whole_digits("123", 5, 5, "It")
    with pytest.raises(BadValue, match="must have 8, 12, 13 or 14"):
        gtin14("123456789")
