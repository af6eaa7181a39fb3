"""Every row of the bar-code rules that was seen and can be worked, each with its source.

BIIP: biip checksums.py and rcn.py with their tests, which cite GS1 General Specifications 7.9.1 to
7.9.4. GS1SYN: GS1 Barcode Syntax Dictionary, commit ff2eb4b. GS1ENG: GS1 Barcode Syntax Engine,
test cases, commit 50657db. GS1UKVM: GS1 UK, How to barcode variable measure items. TDT20: GS1 TDT
Table K (General Specifications v22 figure 7.8.2-1). WIKIUPC: UPC check-digit worked example
(036000241457). UPCSPEC: Appendix D UPC specifications (number system characters).
"""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from collop.errors import BadValue
from collop.reference.rulebook import rule_row, rule_rows
from collop.ticket.digits import check_digit, full, gtin14, verify
from collop.ticket.elements import decode, digital_link, encode
from collop.ticket.elements_any import read_code
from collop.ticket.elements_pairing import PAIRINGS
from collop.ticket.identifiers import identifier, identifiers
from collop.ticket.variable import (
    STRUCTURES,
    price_verifier,
    read_variable,
    structure_of,
    variable_ean,
)

ITEM = "90614141000015"
# what stands beside each identifier so that it may stand at all
PARTNERS = {"392": {"3103": "000500"}, "393": {"3103": "000500"}, "395": {"3103": "000500"}}
# one right value of each format in the table
VALUES = {
    "N18": "376104250021234569", "N14": ITEM, "X..20": "ABC-1", "N6": "260613", "N2": "07",
    "X..30": "EST/1-2", "N..8": "12", "N..15": "1584", "N3 + N..15": "8401584",
    "N4": "0250", "N3": "840", "N3 to N15 in threes": "840826", "N10": "2606131430",
    "N6 or N12": "260601260613", "N3 + X..27": "840EST1234", "N8 to N12": "26061314",
}  # fmt: skip


def seen(rule_id, source):
    """Return a row after making sure that it was seen in the source named."""
    row = rule_row(rule_id)
    assert row.is_cited
    assert row.source.source_id == source
    return row


@pytest.mark.parametrize(
    ("rule_id", "source"),
    [("BC002", "WIKIUPC"), *((f"BC{number:03d}", "BIIP") for number in (4, 5, 6, 7, 9, 10, 11, 12)),
     *((f"BC{number:03d}", "GS1ENG") for number in (14, 15, 16))],
)  # fmt: skip
def test_the_check_digit_of_each_worked_number(rule_id, source):
    """WIKIUPC, BIIP, GS1ENG (seen): GTIN-12, 13, 14, GLN, SSCC end in the digit of rule BC001."""
    row = seen(rule_id, source)
    assert check_digit(row.worked_inputs) == row.value
    assert full(row.worked_inputs) == row.worked_result
    assert verify(row.worked_result) == row.worked_result


def test_a_wrong_check_digit_fails():
    """BIIP (seen), BC017: 5901234123458 is refused, for its check digit is 7."""
    row = seen("BC017", "BIIP")
    with pytest.raises(BadValue, match="ends in 8, but its check digit must be 7"):
        verify(row.worked_inputs)


def test_a_shorter_number_is_stored_with_zeros_first():
    """BIIP (seen), BC019: 036000291452 is kept as 00036000291452."""
    row = seen("BC019", "BIIP")
    assert gtin14(row.worked_inputs) == row.worked_result


@pytest.mark.parametrize(
    ("rule_id", "of"),
    [("BC020", lambda n: 2 * n - n // 5), ("BC021", lambda n: 3 * n),
     ("BC022", lambda n: 5 * n + n // 2), ("BC023", lambda n: 5 * n - n // 2)],
)  # fmt: skip
def test_the_weighted_products_are_what_their_names_say(rule_id, of):
    """BIIP (seen), BC020 to BC023: 2- and 5-, 3, 5+ are the units of twice, thrice, five times.

    A minus or plus corrects the product by its tens: 2n less a unit for 5 and over, 5n with its
    tens added or taken away (General Specifications 7.9.2). Each is a permutation of the digits.
    """
    row = seen(rule_id, "BIIP")
    table = [int(one) for one in row.value.split()]
    assert table == [of(n) % 10 for n in range(10)]
    assert sorted(table) == list(range(10))


@pytest.mark.parametrize("rule_id", ["BC026", "BC027"])
def test_the_verifier_of_the_standard_s_own_examples(rule_id):
    """BIIP (seen), General Specifications 7.9.3 and 7.9.4: 2875 has 9, 14685 has 6."""
    row = seen(rule_id, "BIIP")
    assert seen("BC024", "BIIP").value == "2- 2- 3 5-"
    assert seen("BC025", "BIIP").value == "5+ 2- 5- 5+ 2-"
    assert price_verifier(row.worked_inputs.split(":")[0]) == row.value


def test_the_wrong_verifier_of_a_web_page_is_refused():
    """BIIP (seen), BC027: a page gives 7 for 14685; a pack with 7 is told wrong, 6 right."""
    good = full("221234" + "6" + "14685")
    assert read_variable(good, "de").amount == Decimal("146.85")
    bad = full("221234" + "7" + "14685")
    with pytest.raises(BadValue, match="The verifier is 7, for price 14685 it must be 6"):
        read_variable(bad, "de")


def test_number_systems_for_weighed_packs_and_companies():
    """UPCSPEC BC049, BIIP BC050, BC060 (seen): 2 is a weighed pack, 4 a company's own."""
    assert "random weight" in seen("BC049", "UPCSPEC").text
    assert read_code("212345928752").sort == "weighed pack (us)"
    seen("BC050", "BIIP")
    assert "inside one company" in read_code(full("41234567890")).sort
    seen("BC060", "BIIP")
    for prefix in ("02", *map(str, range(20, 30))):
        assert "one region" in read_code(full(f"{prefix}1234567890"), _other(prefix)).sort


def _other(prefix):
    """Return a place that writes no weighed pack with a prefix."""
    taken = {one.place for one in STRUCTURES if prefix in one.prefixes}
    return next(one.place for one in STRUCTURES if one.place not in taken)


def test_a_company_prefix_of_13_digits():
    """BIIP (seen), BC061: prefix 04 is a company's own (40 to 49 of the row stay trade items)."""
    seen("BC061", "BIIP")
    assert "inside one company" in read_code(full("041234567890")).sort


def test_the_worked_pack_of_great_britain():
    """BIIP (seen), BC062: 2011122912346 is item 11122 at 12.34, verifier 9."""
    row = seen("BC062", "BIIP")
    found = read_variable("2011122912346", "gb")
    assert (found.item, found.amount) == ("11122", Decimal("12.34"))
    assert row.value == "2011122912346 valid"
    assert variable_ean("11122", Decimal("12.34"), place="gb", prefix="20") == "2011122912346"


@pytest.mark.parametrize(
    ("place", "prefix", "rule_id", "source", "item", "verifier", "value", "measure", "decimals"),
    [
        ("gb", "20", "BC064", "GS1UKVM", 5, True, 4, "price", 2),
        ("gb", "28", "BC064", "GS1UKVM", 5, True, 4, "price", 2),
        ("dk", "21", "BC065", "BIIP", 4, False, 6, "price", 2),
        ("dk", "24", "BC065", "BIIP", 4, False, 6, "price", 2),
        ("de", "22", "BC066", "BIIP", 4, True, 5, "price", 2),
        ("de", "23", "BC066", "BIIP", 4, True, 5, "price", 2),
        ("de", "28", "BC067", "BIIP", 4, True, 5, "weight", 3),
        ("de", "29", "BC067", "BIIP", 4, True, 5, "weight", 3),
        *((place, prefix, "BC068", "BIIP", 6, False, 4, "weight", decimals)
          for place in ("fi", "ee", "lv", "lt")
          for prefix, decimals in (("23", 3), ("24", 2), ("25", 1))),
        *((place, prefix, "BC069", "BIIP", 6, False, 4, "price", decimals)
          for place in ("se", "no") for prefix, decimals in (("20", 2), ("21", 1), ("22", 0))),
        *((place, prefix, "BC070", "BIIP", 6, False, 4, "weight", decimals)
          for place in ("se", "no") for prefix, decimals in (("23", 3), ("24", 2), ("25", 1))),
    ],
)  # fmt: skip
def test_each_place_writes_its_own_pack(
    place, prefix, rule_id, source, item, verifier, value, measure, decimals
):
    """GS1UKVM, BIIP (seen), BC064 to BC070: item, verifier, value and decimals by prefix."""
    row = seen(rule_id, source)
    how = structure_of(place, prefix)
    assert (how.rule_id, how.item, how.verifier) == (rule_id, item, verifier)
    assert (how.value, how.measure, how.decimals) == (value, measure, decimals)
    if rule_id != "BC064":
        assert measure in row.value
        assert "verifier" in row.value or not verifier
    amount = Decimal(7).scaleb(-decimals)
    code = variable_ean("1" * item, amount, place=place, prefix=prefix)
    assert len(code) == 13
    assert read_variable(code, place).amount == amount


AI_ROWS = [row for row in rule_rows("barcodes", "ai") if re.match(r"\(\d+", row.text)]


def test_the_table_of_identifiers_has_all_thirty_two_rows():
    """GS1SYN (seen), BC071 to BC102: every row of an identifier is read, none twice."""
    assert [row.rule_id for row in AI_ROWS] == [f"BC{number:03d}" for number in range(71, 103)]
    assert {one.rule_id for one in identifiers().values()} >= {row.rule_id for row in AI_ROWS}


def _beside(ai):
    """Return what must stand beside an identifier."""
    if ai in {"00", "01", "02"}:
        return {}
    return {"02" if ai == "37" else "01": ITEM} | PARTNERS.get(ai[:3], {})


@pytest.mark.parametrize("row", AI_ROWS, ids=lambda row: row.rule_id)
def test_each_identifier_is_read_and_written(row):
    """GS1SYN (seen), BC071 to BC102: format, lengths, and whether a separator follows, by row."""
    assert seen(row.rule_id, "GS1SYN") is row
    mine = [one for one in identifiers().values() if one.rule_id == row.rule_id]
    assert mine
    for known in mine:
        value = VALUES[row.when]
        beside = _beside(known.ai)
        if known.ai in beside:
            continue
        written = encode(beside | {known.ai: value, "91": "X"}).transmitted
        assert f"{known.ai}{value}" in written
        follows = written[written.index(f"{known.ai}{value}") + len(known.ai) + len(value)]
        assert (follows == "\x1d") == row.value.endswith("yes")
        read = {one.ai: one.value for one in decode(written)}
        assert read == beside | {known.ai: value, "91": "X"}
        for wrong in (value + "0" * known.longest, "", "é" * known.shortest):
            with pytest.raises(BadValue, match=rf"\({known.ai}\)"):
                encode(beside | {known.ai: wrong})


@pytest.mark.parametrize(
    ("rule_id", "good", "bad", "reason"),
    [
        *(("BC104", {"01": ITEM, ai: "260613" if ai != "10" else "A"},
           {ai: "260613" if ai != "10" else "A"}, "must come with (01) or (02)")
          for ai in ("10", "11", "13", "15", "16", "17")),
        ("BC105", {"01": ITEM, "21": "7"}, {"21": "7"}, "must come with (01) or (03)"),
        ("BC105", {"01": ITEM, "21": "7"}, {"02": ITEM, "21": "7"}, "must come with (01) or (03)"),
        ("BC106", {"01": ITEM, "251": "7"}, {"02": ITEM, "251": "7"}, "must come with (01)"),
        ("BC107", {"02": ITEM, "3102": "000100"}, {"3102": "000100"}, "come with (01) or (02)"),
        ("BC107", {"01": ITEM, "3102": "000100", "3202": "000220"},
         {"01": ITEM, "3102": "000100", "3103": "001000"}, "say the same thing"),
        ("BC107", {"01": ITEM, "3202": "000100"},
         {"01": ITEM, "3202": "000100", "3203": "001000"}, "say the same thing"),
        ("BC108", {"01": ITEM, "3922": "1", "30": "2"}, {"01": ITEM, "3922": "1"}, "(31nn)"),
        ("BC108", {"01": ITEM, "3922": "1", "3202": "000100"},
         {"02": ITEM, "3922": "1", "3202": "000100"}, "must come with (01)"),
        ("BC108", {"01": ITEM, "3932": "8401", "30": "2"},
         {"01": ITEM, "3922": "1", "3932": "8401", "30": "2"}, "may not stand with (3932)"),
        ("BC109", {"01": ITEM, "3952": "000100", "30": "1"},
         {"01": ITEM, "3952": "000100"}, "(31nn)"),
        ("BC109", {"01": ITEM, "3952": "000100", "30": "1"},
         {"01": ITEM, "3952": "000100", "30": "1", "8005": "000100"}, "may not stand with (8005)"),
        ("BC109", {"01": ITEM, "3952": "000100", "30": "1"},
         {"01": ITEM, "3952": "000100", "30": "1", "3922": "1"}, "may not stand with (3922)"),
        ("BC109", {"01": ITEM, "3952": "000100", "30": "1"},
         {"01": ITEM, "3952": "000100", "30": "1", "3932": "8401"}, "may not stand with (3932)"),
        ("BC110", {"422": "840"}, {"422": "840", "426": "840"}, "may not stand with (426)"),
        ("BC111", {"01": ITEM, "7002": "A"}, {"7002": "A"}, "must come with (01) or (02)"),
        ("BC111", {"02": ITEM, "7035": "840A"}, {"7035": "840A"}, "must come with (01) or (02)"),
        ("BC112", {"02": ITEM, "37": "5"}, {"01": ITEM, "37": "5"}, "may not stand with (37)"),
    ],
)  # fmt: skip
def test_what_may_stand_together(rule_id, good, bad, reason):
    """GS1SYN (seen), BC104 to BC112: missing partners and forbidden pairs are refused by name."""
    seen(rule_id, "GS1SYN")
    assert rule_id in {one.rule_id for one in PAIRINGS}
    assert {one.ai: one.value for one in decode(encode(good).transmitted)} == good
    for attempt in (
        lambda: encode(bad),
        lambda: decode("".join(f"({a}){v}" for a, v in bad.items())),
    ):
        with pytest.raises(BadValue, match=re.escape(reason)):
            attempt()


@pytest.mark.parametrize(
    ("rule_id", "source", "text", "words"),
    [
        ("BC114", "GS1ENG", "0109520123456788310300019539220299", "2.99"),
        ("BC115", "BIIP", f"01{ITEM}3105123456", "1.23456 kg"),
    ],
)
def test_the_last_digit_counts_the_decimals(rule_id, source, text, words):
    """GS1ENG BC114, BIIP BC115 (seen): 3922 0299 is 2.99, 3105 123456 is 1.23456 kg."""
    seen(rule_id, source)
    assert decode(text)[-1].decoded == words


@pytest.mark.parametrize(
    ("ai", "digits", "day"),
    [("15", "200200", "2020-02-29"), ("15", "210200", "2021-02-28"), ("17", "211200", "2021-12-31"),
     *((ai, "260600", "2026-06-30") for ai in ("11", "13", "15", "16", "17"))],
)  # fmt: skip
def test_day_nought_is_the_last_of_the_month(ai, digits, day):
    """BIIP (seen), BC117: 200200 is 29 February 2020, 210200 the 28th, 211200 the 31st."""
    seen("BC117", "BIIP")
    assert decode(f"01{ITEM}{ai}{digits}")[-1].decoded == day


@pytest.mark.parametrize(("ai", "value"), [("7003", "2606001430"), ("7006", "260600"),
                                           ("7007", "260600"), ("8008", "26060014")])  # fmt: skip
def test_day_nought_is_refused_elsewhere(ai, value):
    """BIIP (seen), BC117: not for 7003, 7006, 7007; 8008 is not among those that may have it."""
    seen("BC117", "BIIP")
    with pytest.raises(BadValue, match="has day 00; it must be 01 to 30"):
        decode(f"(01){ITEM}({ai}){value}")


def test_identifiers_have_the_lengths_of_table_k():
    """TDT20 (seen), BC120 to BC122: two, three or four digits by the first two."""
    lengths = {}
    for rule_id, count in (("BC120", 2), ("BC121", 3), ("BC122", 4)):
        row = seen(rule_id, "TDT20")
        assert row.value == f"{count} digits"
        for low, high in re.findall(r"(\d\d)(?:-(\d\d))?", row.text.split("digits ")[1]):
            lengths |= {f"{n:02d}": count for n in range(int(low), int(high or low) + 1)}
    for ai in identifiers():
        if ai[:2] in lengths:
            assert len(ai) == lengths[ai[:2]], ai
    with pytest.raises(BadValue, match="'240' is no identifier known here"):
        identifier("2401")


def test_a_separator_follows_only_where_the_dictionary_asks_for_one():
    """GS1SYN (seen), BC125: identifiers 00 to 04, 11 to 20, 31 to 36 and 41 need none."""
    seen("BC125", "GS1SYN")
    free = {f"{n:02d}" for n in (*range(5), *range(11, 21), *range(31, 37), 41)}
    for ai, known in identifiers().items():
        assert known.separator == (ai[:2] not in free), ai


def test_web_addresses_of_the_engine_s_tests():
    """GS1ENG (seen), BC135 to BC137: weight, price, expiry; lot and serial; another order."""
    first, second, third = (seen(f"BC{n}", "GS1ENG").value for n in (135, 136, 137))
    read = {one.ai: one.decoded for one in decode(first)}
    assert read == {"01": "09520123456788", "3103": "0.195 kg", "3922": "2.99", "17": "2020-12-25"}
    assert {one.ai: one.decoded for one in decode(third)} == read
    assert [(one.ai, one.value) for one in decode(second)] == [
        ("01", "09520123456788"), ("10", "ABC1"), ("21", "12345"), ("17", "180426"),
    ]  # fmt: skip
    for address in (first, second, third):
        values = {one.ai: one.value for one in decode(address)}
        assert digital_link(values, "https://id.gs1.org") == address
