"""Food limits as published: the rows of the table on food safety that were read in their source.

Rows that are quotations, and so no computation here: SF002 (meat that law lets arrive warm), SF009
(height of shelves), SF022 (a written procedure), SF049 to SF054 (ovens; no plan here sets one by
them), SF063 to SF068 (words and plans of vacuum packs; their words stand on tickets), SF075
to SF078 (when and in what order to clean; see test_cleaning_interval.py), SF090 (contact of other
sanitisers), SF116 to SF123 (bands of dry ageing). SF055 to SF057 are those of
test_safe_minimum_temperatures.py, compared here once more.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from collop.errors import BadValue
from collop.measures import Temperature
from collop.reference import cook_minimum
from collop.reference.rulebook import rule_row, rule_rows
from collop.rules import (
    Move,
    cleaning_hours,
    cold_limit,
    cooling_deadlines,
    cooling_verdict,
    date_mark,
    edition,
    freezer_limit,
    hot_limit,
    is_over,
    mixed_date_mark,
    retail_cook,
    roast_hold,
    rop_last_day,
    sanitiser,
    shelf_of,
    storage_days,
    storage_order,
    time_control,
)
from collop.rules.limits import Reading

F = Temperature.fahrenheit
QUOTED = {
    "SF002", "SF009", "SF022", "SF090",
    *(f"SF{number:03d}" for number in (*range(49, 55), *range(63, 69), *range(75, 79),
                                       *range(116, 124))),
}  # fmt: skip
# the rows each test below rests on
TESTED = {
    *("SF006", "SF007", "SF008", "SF012", "SF013", "SF014", "SF015", "SF016", "SF017", "SF019"),
    *("SF020", "SF021", "SF023", "SF024", "SF025", "SF026", "SF027", "SF028", "SF055", "SF056"),
    *("SF057", "SF060", "SF061", "SF062"),
    *(f"SF{number:03d}" for number in (*range(31, 44), *range(45, 48), *range(70, 75),
                                       *range(80, 88), *range(92, 97), *range(99, 114))),
}  # fmt: skip


def clock_of(day, clock):
    """Return a time of June 2026."""
    return datetime.fromisoformat(f"2026-06-{day}T{clock}")


def at(clock, f, day=9):
    """Return a reading of a June day."""
    return Reading(clock_of(f"{day:02d}", clock), F(f))


def test_each_row_that_was_read_is_tested_or_said_to_be_a_quotation():
    """No cited row is left out, and no row from memory is among the tested ones."""
    cited = {row.rule_id for row in rule_rows("safety", cited_only=True)}
    assert cited == TESTED | QUOTED
    assert not TESTED & QUOTED


@pytest.mark.parametrize(
    ("limit", "rule_id", "source", "within", "over"),
    [
        (cold_limit, "SF006", "FL03F", "41", "41.001"),
        (hot_limit, "SF007", "GATPHC", "135", "134.999"),
        (freezer_limit, "SF008", "TARRANT", "0", "0.001"),
    ],
)
def test_the_limits_of_holding(limit, rule_id, source, within, over):
    """FL03F, Food Code 3-501.16: 41 F; GATPHC: 135 F; TARRANT: 0 F; the limit itself is within."""
    found = limit()
    assert (found.row.rule_id, found.row.source.source_id) == (rule_id, source)
    assert not is_over(found, F(within))
    assert is_over(found, F(over))


def test_cooling_has_two_hours_and_six_hours_in_all():
    """WI501_14, Wisconsin Food Code 3-501.14: 135 to 70 F in 2 h, to 41 F in 6 h in total."""
    began = clock_of("09", "13:00")
    assert cooling_deadlines(began) == (
        (F(70), began + timedelta(hours=2)),
        (F(41), began + timedelta(hours=6)),
    )
    assert cooling_verdict([at("13:00", 135), at("15:00", 70), at("19:00", 41)]).state == "kept"
    late = cooling_verdict([at("13:00", 135), at("13:01", 134), at("15:02", 71), at("19:00", 41)])
    assert [step.state for step in late.steps] == ["broken", "kept"]
    later = cooling_verdict([at("13:00", 135), at("13:01", 134), at("15:00", 70), at("19:02", 42)])
    assert [step.state for step in later.steps] == ["kept", "broken"]


def test_cooling_from_room_temperature_has_four_hours():
    """WI501_14, Wisconsin Food Code 3-501.14(B): to 41 F within 4 h."""
    kept = cooling_verdict([at("09:00", 68), at("13:00", 41)], from_room=True)
    broken = cooling_verdict([at("09:00", 68), at("13:01", 42)], from_room=True)
    assert (kept.state, broken.state) == ("kept", "broken")


def test_the_day_of_making_is_the_first_of_seven():
    """SNHD7, Southern Nevada Health District: prepared 1 April, last day 7 April."""
    assert date_mark(date(2026, 4, 1)).last_day == date(2026, 4, 7)
    assert date_mark(date(2026, 4, 1)).row.source.source_id == "SNHD7"


def test_a_mixture_takes_the_oldest_date():
    """SNHD7, Southern Nevada Health District: cooked 1 June, mixed 3 June, last day 7 June."""
    mixed = mixed_date_mark([date_mark(date(2026, 6, 3)), date_mark(date(2026, 6, 1))])
    assert mixed.last_day == date(2026, 6, 7)


def test_freezing_stops_the_clock():
    """NCDATE: cooked 1 Oct, frozen 3 Oct, thawed 10 Oct (day 3), last day 14 Oct (day 7)."""
    moves = [Move(date(2026, 10, 3), "frozen"), Move(date(2026, 10, 10), "thawed")]
    found = date_mark(date(2026, 10, 1), moves)
    assert found.last_day == date(2026, 10, 14)
    assert found.used + 1 == 3  # the day of thawing
    assert date_mark(date(2026, 10, 1), moves[:1]).left == 5
    assert found.row.source.source_id == "NCDATE"


@pytest.mark.parametrize(("start", "begins"), [("41", True), ("135", True), ("41.1", False),
                                               ("134.9", False)])  # fmt: skip
def test_four_hours_of_time_alone_begin_cold_or_hot(start, begins):
    """GATPHC, Georgia 511-6-1.04(6)(i): at 41 F or below, or 135 F or above; gone within 4 h."""
    out = clock_of("09", "10:00")
    if begins:
        found = time_control("4h", out, F(start))
        assert (found.discard_at, found.is_ok) == (out + timedelta(hours=4), True)
    else:
        with pytest.raises(BadValue, match="the plan needs 41 °F or below or 135 °F or above"):
            time_control("4h", out, F(start))


def test_six_hours_of_time_alone_never_pass_seventy():
    """WYTPHC and FL03F, Food Code 3-501.19(C): begins at 41 F, never over 70 F, two times."""
    out = clock_of("09", "10:00")
    fine = time_control("6h", out, F(41), [at("12:00", 70)])
    warm = time_control("6h", out, F(41), [at("12:00", 70), at("13:00", "70.1")])
    assert (fine.out_at, fine.discard_at) == (out, out + timedelta(hours=6))
    assert (fine.is_ok, warm.is_ok) == (True, False)
    assert "throw it away now" in warm.say
    with pytest.raises(BadValue, match="needs 41 °F or below"):
        time_control("6h", out, F(135))


def test_what_the_shop_cooks():
    """AK31232, FL03C and MFFCOOK, Food Code 3-401.11(A): temperatures and holds."""
    told = {kind: [one.text() for one in retail_cook(kind)] for kind in ("whole", "poultry")}
    assert told == {"whole": ["145 °F for 15 s"], "poultry": ["165 °F, at once"]}
    assert [one.text() for one in retail_cook("ground")] == [
        "155 °F for 17 s", "145 °F for 3 min", "150 °F for 1 min", "158 °F, at once",
    ]  # fmt: skip


def test_older_editions_hold_mince_and_poultry_fifteen_seconds():
    """FL03C and MFFCOOK: 17 s and at once are of 2017 and later; older texts say 15 s."""
    for key, ground, poultry in (("2022", 17, 0), ("2017", 17, 0), ("2013", 15, 15),
                                 ("2009", 15, 15)):  # fmt: skip
        assert retail_cook("ground", key)[0].seconds == ground
        assert retail_cook("poultry", key)[0].seconds == poultry


@pytest.mark.parametrize(
    ("f", "seconds"),
    [
        (130, 112 * 60), (131, 89 * 60), (133, 56 * 60), (135, 36 * 60), (136, 28 * 60),
        (138, 18 * 60), (140, 12 * 60), (142, 8 * 60), (144, 5 * 60), (145, 4 * 60), (147, 134),
        (149, 85), (151, 54), (155, 22), (157, 14), (158, 0),
    ],
)  # fmt: skip
def test_the_roast_table(f, seconds):
    """AK31232, 18 AAC 31.232 (Food Code 3-401.11(B)): each temperature and its hold."""
    found = roast_hold(f)
    assert (found.seconds, found.row.source.source_id) == (seconds, "AK31232")


def test_between_two_rows_of_the_roast_table_the_longer_time_counts():
    """AK31232: none has less than the row under it; 153 F is only recalled, so 151 F's."""
    holds = [roast_hold(str(130 + tenth / 10)).seconds for tenth in range(300)]
    assert holds == sorted(holds, reverse=True)
    assert roast_hold(132).seconds == 89 * 60
    assert roast_hold(153).seconds == 54
    with pytest.raises(BadValue, match="under the least of the roast table, 130 °F"):
        roast_hold("129.9")


def test_homes_are_told_more_than_the_shop_needs():
    """USDATEMP: 145 F with 3 min rest, 160 F, 165 F; each at least the retail one."""
    for cook_as, rule_id, f in (("whole", "SF055", 145), ("ground", "SF056", 160),
                                ("poultry", "SF057", 165)):  # fmt: skip
        assert rule_row(rule_id).figure == f
        assert cook_minimum(cook_as).temperature == F(f)
        assert cook_minimum(cook_as).temperature >= retail_cook(cook_as)[0].temperature
    assert rule_row("SF055").when == "rest 3 min"
    assert cook_minimum("whole").rest_min == 3


def test_a_vacuum_pack_has_thirty_days():
    """WI502_12, Wisconsin Food Code 3-502.12(B): 30 days from packing, frozen time not counted."""
    assert rop_last_day(date(2026, 6, 1)).last_day == date(2026, 7, 1)
    moves = [Move(date(2026, 6, 11), "frozen"), Move(date(2026, 8, 11), "thawed")]
    assert rop_last_day(date(2026, 6, 1), moves).last_day == date(2026, 8, 31)
    early = rop_last_day(date(2026, 6, 1), makers_date=date(2026, 6, 20))
    assert early.last_day == date(2026, 6, 20)
    assert edition("2013").pack_row.source.source_id == "WI502_12"
    assert rule_row("SF060").value == "41 or below"
    assert cold_limit().temperature == F(41)


def test_a_vacuum_pack_has_fourteen_days_under_the_older_text():
    """PA46402, 7 Pa. Code 46.402: 14 days, of places on the text of 2009 or older."""
    found = rop_last_day(date(2026, 6, 1), chosen={"food_code": "2009"})
    assert (found.last_day, found.row.source.source_id) == (date(2026, 6, 15), "PA46402")


@pytest.mark.parametrize(("f", "hours"), [("41", 24), ("45", 20), ("50", 16), ("55", 10),
                                          ("55.1", 4)])  # fmt: skip
def test_the_room_sets_the_hours_to_the_next_clean_down(f, hours):
    """MN0845, Minnesota Rules 4626.0845 (Food Code 4-602.11): 24, 20, 16, 10 and 4 h."""
    found, row = cleaning_hours(F(f))
    assert (found, row.source.source_id) == (hours, "MN0845")


@pytest.mark.parametrize(
    ("mg_l", "ph", "least"),
    [
        ("25", "10", 120), ("25", "8", 120), ("49.9", "8", 120), ("50", "10", 100),
        ("50", "8.1", 100), ("50", "8", 75), ("99", "7", 75), ("100", "10", 55), ("100", "8", 55),
        ("200", "9", 55),
    ],
)  # fmt: skip
def test_chlorine_by_its_strength_and_ph(mg_l, ph, least):
    """LA117, La. Admin. Code 51:X-117 (Food Code 4-501.114(A)): the least temperature of water."""
    found = sanitiser("chlorine", mg_l, ph)
    assert (found.least, found.row.source.source_id) == (F(least), "LA117")
    assert found.contact_s == 10


def test_hot_water_alone():
    """WA04550: 171 F, 30 s by hand (MN0905's text); MN0905: 160 F on the dish in a machine."""
    hand, machine = sanitiser("hot water"), sanitiser("hot water machine")
    assert (hand.least, hand.contact_s, hand.row.source.source_id) == (F(171), 30, "WA04550")
    assert (machine.least, machine.contact_s, machine.row.source.source_id) == (
        F(160), None, "MN0905",
    )  # fmt: skip


def test_what_needs_the_most_heat_lies_lowest():
    """STOREORD (Food Code 3-302.11): ready to eat, fish, whole, ground, poultry from the top."""
    assert [row.value for row in storage_order()] == [
        "ready-to-eat food", "whole fish", "whole-muscle beef, pork, lamb, game",
        "ground meat and fish", "poultry",
    ]  # fmt: skip
    kinds = ("ready to eat", "fish", "whole", "ground", "poultry")
    assert [shelf_of(kind) for kind in kinds] == [1, 2, 3, 4, 5]
    heats = [retail_cook(kind)[0].temperature for kind in ("whole", "ground", "poultry")]
    assert heats == sorted(heats)


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [
        ("steaks", 3, 5), ("chops", 3, 5), ("roasts", 3, 5), ("mince", 1, 2),
        ("raw sausage", 1, 2), ("bacon", 7, 7), ("whole bird", 1, 2), ("bird pieces", 1, 2),
        ("hot dogs, opened", 7, 7), ("hot dogs, unopened", 14, 14), ("lunch meat, opened", 3, 5),
        ("lunch meat, unopened", 14, 14), ("cooked meat", 3, 4), ("soups and stews", 3, 4),
        ("offal", 1, 2),
    ],
)  # fmt: skip
def test_days_in_the_fridge(kind, low, high):
    """COLDCHART and COLDVAR, reprints of the FoodSafety.gov chart: days in a fridge at 40 F."""
    found = storage_days(kind)
    assert (found.low, found.high) == (low, high)
    assert found.row.source.source_id == ("COLDVAR" if kind == "offal" else "COLDCHART")
