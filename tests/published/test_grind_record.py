"""The seven fields of a grind record, against 9 CFR 320.1(b)(4), source id CFR320_1.

"9 CFR 320.1(b)(4), restated in FSIS Directive 5000.10" of the table of sources names five lettered
items, (A) to (E); two of them are double. Retention: source id CFR320_3, "9 CFR 320.3 Record
retention period". That they are seven is counted by us, row TR008, from memory.
"""

from __future__ import annotations

from datetime import date

import pytest

from collop.errors import WrongState
from collop.measures import Weight, WeightUnit
from collop.reference import rule_row, rule_rows
from collop.rules import keep_until
from collop.shop import MakingState, NewMaterial, StillClock, create_shop, open_shop

SEVEN = tuple(f"TR00{number}" for number in range(1, 8))
TRIM = "B-41F.07"
TOLD = {"what": "Chuck trim", "establishment": "M-1", "supplier_lot": "SL-9",
        "produced_on": date(2026, 6, 5)}  # fmt: skip


def lb(amount):
    return Weight.of(amount, WeightUnit.LB)


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("grind") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True).close()
    return path


@pytest.fixture
def shop(demo_file, tmp_path):
    copy = tmp_path / "shop.db"
    copy.write_bytes(demo_file.read_bytes())
    clock = StillClock()
    with open_shop(f"sqlite:///{copy}", clock) as opened:
        opened.day.clean_down(by="marek", key="clean-1")
        yield opened, clock
        assert opened.check() == []


def whole(shop, clock, without=()):
    """Make a lot and tell all seven fields, but for those in `without`."""
    told = {name: value for name, value in TOLD.items() if name not in without}
    box = NewMaterial(
        lb("4"), what=told.get("what", ""), establishment=told.get("establishment", ""),
        supplier_lot=told.get("supplier_lot", ""), produced_on=told.get("produced_on"),
    )  # fmt: skip
    who = iter({"by": "marek", "key": f"w{number}"} for number in range(20))
    made = shop.making.open("beef", "G1", "Beef mince", box, **next(who))
    if "produced" in without:
        shop.making.carry(made.code, lb("4"), **next(who))
    else:
        shop.making.produce(made.code, "C11", lb("4"), **next(who))
    if "carry_over" not in without:
        shop.making.fill(made.code, no_carry_over=True, **next(who))
    if "cleaned" not in without:
        clock.put(clock.now().replace(hour=9))
        shop.day.clean_down("grinder", **next(who))
    return shop.making.record(made.code), who


def test_the_record_has_the_five_lettered_items_two_of_them_double(shop):
    """Supplying establishments, lots and dates, names, carry-over, time made, time cleaned."""
    rows = [row for row in rule_rows("trace", "grind_record", cited_only=True)
            if row.rule_id in SEVEN]  # fmt: skip
    assert [row.source.source_id for row in rows] == ["CFR320_1"] * 7
    assert {row.value for row in rows} == {"required"}
    made, _ = whole(*shop)
    assert [one.rule_id for one in made.fields] == list(SEVEN)
    assert [one.name for one in made.fields] == [row.text for row in rows]
    assert all(one.told and one.is_whole for one in made.fields)


@pytest.mark.parametrize(("left_out", "rule", "words"), [
    ("establishment", "TR001", "establishment number of Chuck trim"),
    ("supplier_lot", "TR002", "supplier lot number of Chuck trim"),
    ("produced_on", "TR003", "production date of Chuck trim"),
    ("what", "TR004", "name of 26160-G1-01-S1"),
    ("carry_over", "TR005", "carry-over: name the lot, or say that there is none"),
    ("produced", "TR006", "date and time produced"),
    ("cleaned", "TR007", "date and time cleaned after"),
])  # fmt: skip
def test_a_lot_is_not_closed_while_one_of_the_seven_is_missing(shop, left_out, rule, words):
    """Each in turn: closing is refused and names it, and only it; told late, the lot closes."""
    room, clock = shop
    made, who = whole(room, clock, without={left_out})
    assert [one.rule_id for one in made.fields if not one.is_whole] == [rule]
    assert len(made.missing) == 1
    with pytest.raises(WrongState, match=f"is not closed; it lacks: {words}"):
        room.making.close(made.code, **next(who))
    clock.put(clock.now().replace(hour=14))
    if left_out in TOLD:
        told = {left_out: TOLD[left_out]}
        made = room.making.fill_material(made.code, made.materials[0].seq, told, **next(who))
    elif left_out == "carry_over":
        made = room.making.fill(made.code, no_carry_over=True, **next(who))
    elif left_out == "produced":
        moment = clock.now().replace(hour=8, minute=30)
        made = room.making.fill(made.code, produced_at=moment, **next(who))
    else:
        moment = clock.now().replace(hour=9)
        room.day.clean_down("grinder", done_at=moment, **next(who))
    if left_out != "cleaned":
        late = made.events[-1]
        assert late.is_late
        assert (late.done_at.hour, late.at.hour) == (8, 14)
    assert room.making.close(made.code, **next(who)).state is MakingState.CLOSED


def test_trim_of_own_animals_needs_the_plant_s_number(shop):
    """Own carcasses are source material: their tag, and the number of the plant (TR015, memory)."""
    room, clock = shop
    assert rule_row("TR015").status == "memory"
    lot = NewMaterial(lb("5"), lot_id=TRIM, place="trim")
    made = room.making.open("beef", "G1", "Beef mince", lot, by="marek", key="a")
    assert made.fields[0].told == ("F-01 (made up)",)
    assert made.fields[1].told == ("B-41",)
    assert clock.now().hour == 8


def test_weights_are_kept_though_the_rule_dropped_them(shop):
    """Source id AAMPGR: the weight of each component is not required; the shop keeps it."""
    assert rule_row("TR010").value == "not required"
    made, _ = whole(*shop)
    assert made.materials[0].weight == lb("4")


def test_the_record_is_kept_a_year(shop):
    """Source id CFR320_3: one year; mince of 25 November 2026 through 25 November 2027."""
    row = rule_row("TR017")
    assert (row.value, row.unit, row.source.source_id) == ("1", "year", "CFR320_3")
    made, _ = whole(*shop)
    assert made.keep_until == date(2027, 6, 9)
    assert keep_until("grind", date(2026, 11, 25)).until == date(2027, 11, 25)


def test_a_lot_code_fits_the_batch_field_of_the_general_specifications(shop):
    """At most 20 characters of GS1 set 82 (form: TR085, from memory; example 26329-G1-02)."""
    made, _ = whole(*shop)
    assert len(made.code) <= 20
    assert set(made.code) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-")
