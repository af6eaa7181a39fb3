"""Kept cutting plans, worths, what bookings want, and the settings of the cutting room."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from by_hand import REFUSES, raw
from sqlalchemy import event
from wished import lb, line

from collop.errors import BadValue, NotFound, StorageTrouble, WrongState
from collop.measures import WeightUnit
from collop.shop import (
    BenchHand,
    StillClock,
    bench_room,
    migrate_shop,
    offers_of,
    open_shop,
)
from collop.shop.acts import once
from collop.shop.bench_kept import begun_at, keep_plan, version_of
from collop.shop.bench_model import KeptPlan, PlanInWork
from collop.shop.bench_tables import bench_plans, booking_wants
from collop.shop.bench_worth import worth_sold
from collop.shop.ledger import held_by, move
from collop.shop.releasing import line_rows

TUESDAY = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local


# kept plans


def test_a_plan_is_kept_and_made_anew_only_when_something_moved(shop, clock, url):
    """Asked twice it is one plan; after a weighing, a price, a want, or at midnight another."""
    assert shop.bench.latest() is None
    first = shop.bench.refresh()
    assert (first.number, first.is_current, first.changes) == (1, True, ())
    assert shop.bench.refresh() == first
    with open_shop(url, StillClock()) as again:
        assert again.bench.latest() == first
    moves = [
        lambda: shop.cutting.hang("L-207", lb("50.3"), by="ines", key="h"),
        lambda: shop.bench.want("H2", "C11", lb("1"), by="ines", key="w"),
        lambda: shop.change_settings({"labour_per_hour": 30}, by="ines", why="x", key="s"),
        lambda: clock.put(TUESDAY + timedelta(days=1)),
    ]
    for number, do in enumerate(moves, 2):
        do()
        kept = shop.bench.latest()
        assert (kept.number, kept.is_current) == (number - 1, False)
        found = shop.bench.refresh()
        assert (found.number, found.is_current) == (number, True)
    assert shop.bench.refresh(force=True).number == len(moves) + 2


def test_two_counters_that_plan_at_once_keep_one_plan(shop, url):
    """Both begin before either is done; the plan is kept once and both get it."""
    with open_shop(url, StillClock()) as other, ThreadPoolExecutor(2) as pool:
        found = list(pool.map(lambda one: one.bench.refresh(), (shop, other)))
    assert {one.number for one in found} == {1}
    assert found[0].plan == found[1].plan


def test_the_next_plan_starts_from_the_last(shop, clock):
    """What is still to come of the breaks before is handed over, days counted from today."""
    kept = shop.bench.refresh()
    clock.put(TUESDAY + timedelta(days=2))
    before = shop.bench.problem()["before"]
    want = {(one["tag"], one["style"], one["day"] - 2)
            for one in kept.plan["breaks"] if one["day"] >= 2}  # fmt: skip
    assert want
    assert {(row["tag"], row["style"], row["day"]) for row in before} == want


def test_what_changed_is_kept_with_the_plan(shop):
    """A booking that nothing covers is told when it comes, and told off when it goes."""
    shop.bench.refresh()
    shop.bench.want("H8", "C12", lb("60"), by="ines", key="w")
    said = shop.bench.refresh().changes
    assert any(one.startswith("H8 is short") and "Beef fillet" in one for one in said)
    shop.bench.want("H8", "C12", lb("0"), by="ines", key="w2")
    assert "H8 is covered: Beef fillet." in shop.bench.refresh().changes


def test_kept_plans_are_never_edited(shop, url):
    """The database refuses to change one, and to change or delete a want; so does the store."""
    shop.bench.refresh()
    with raw(url) as hand:
        for verb in ("UPDATE bench_plans SET at = at", "UPDATE booking_wants SET at = at",
                     "DELETE FROM booking_wants"):  # fmt: skip
            with pytest.raises(REFUSES, match="never edited"):
                hand.execute(verb)
    for edit in (bench_plans.update().values(number=9), booking_wants.delete()):
        with (
            pytest.raises(StorageTrouble, match="never edited"),
            shop.bench._room.store.write() as conn,
        ):
            conn.execute(edit)


def put_plan(shop, at):
    """Keep a plan of that hour without working it out: the last plan's own figures again."""
    room = shop.bench._room
    with room.store.read() as conn:
        after, now = begun_at(conn), room.clock.now()
        version, last = version_of(conn, now), shop.bench.latest()
    assert now == at
    keep_plan(room, version, last.problem, last.plan, after=after)


def test_old_plans_go_but_for_the_last_of_each_day(shop, clock, url):
    """50 newest stay, and of each earlier day the last one, for 35 days."""
    shop.bench.refresh()
    want, number = {}, 1
    for day in range(40):
        for hour in (0, 2, 4):
            at = TUESDAY + timedelta(days=day, hours=hour)
            clock.put(at)
            put_plan(shop, at)
            number += 1
            want[at.date()] = number
    with raw(url) as hand:
        held = [row[0] for row in hand.execute("SELECT number FROM bench_plans ORDER BY 1")]
    newest = list(range(number - 49, number + 1))
    since = clock.now().date() - timedelta(days=35)
    days = [one for day, one in want.items() if day >= since and one < newest[0]]
    assert held == days + newest
    assert len(days) == 19  # 36 days there are, of which the newest 50 plans have 17
    assert shop.bench.newest().number == number


def test_a_plan_is_due_again_as_the_day_goes(shop, clock):
    """Open from 8 to 18: it stands to half past ten, then four more times at the most."""
    seen = []
    for minutes in range(0, 14 * 60, 10):
        clock.put(TUESDAY + timedelta(minutes=minutes))
        if not seen or shop.bench.version() != seen[-1][1]:
            seen.append((minutes, shop.bench.version()))
    assert [one for one, _ in seen] == [0, 150, 300, 450, 600]


def test_the_plan_s_own_choice_gives_the_plan_s_own_figures(shop, clock):
    """An hour later too: the rival is of the kept problem, not of what is left of today."""
    kept = shop.bench.refresh()
    clock.put(TUESDAY + timedelta(hours=1))
    assert shop.bench.newest().is_current
    own = [{"tag": one["tag"], "style": one["style"], "day": one["day"]}
           for one in kept.plan["breaks"] if one["of"] is None]  # fmt: skip
    own += [{"tag": one["tag"], "style": None, "day": None} for one in kept.plan["kept"]]
    assert {one["style"] is None for one in own} == {True, False}
    assert shop.bench.rival(kept, own) == kept.plan
    assert shop.bench.rival(kept, [own[0] | {"day": None}]) == kept.plan
    # asked all the same, the kernel answers that problem with the same money to a few cents
    told = Decimal(kept.plan["contribution"])
    again = bench_room._planned(bench_room._locked(kept, own), ())
    assert abs(Decimal(again["contribution"]) - told) <= Decimal("0.05")
    now = shop.bench.plan(locks=own, reasons=False)
    assert abs(Decimal(now["contribution"]) - told) > 1


def test_a_rival_is_worked_out_once(shop, monkeypatch):
    """Going back to a comparison asks no kernel; another choice does; the kept lock gives way."""
    asked = []
    monkeypatch.setattr(bench_room, "_planned", lambda problem, _: asked.append(problem) or {})
    locks = [{"tag": "L-207", "style": None, "day": None}, {"tag": "X", "style": None, "day": None}]
    problem = shop.bench.problem() | {"locks": locks}
    plan = {"days": ["2026-06-09"], "breaks": [], "kept": []}
    kept = KeptPlan(1, TUESDAY, plan, problem, (), is_current=True)
    mine = {"tag": "X", "style": "hind", "day": 0}
    for _ in range(2):
        shop.bench.rival(kept, [mine])
    shop.bench.rival(kept, [mine | {"day": 1}])
    assert [one["locks"] for one in asked] == [[mine, locks[0]], [mine | {"day": 1}, locks[0]]]
    assert [one["reasons"] for one in asked] == [False, False]


def test_down_and_up_the_next_plan_is_kept(shop, url):
    """The acts are still there and the plans are not: plans of the same shop are kept anew."""
    shop.bench.refresh()
    shop.bench.refresh(force=True)
    shop.close()
    migrate_shop(url, "0005")
    migrate_shop(url)
    with open_shop(url, StillClock()) as again:
        assert again.bench.latest() is None
        assert again.bench.refresh().number == 1
        assert again.bench.refresh(force=True).number == 2


def test_a_plan_that_is_lost_is_a_sentence(shop, monkeypatch):
    """Kept and not found again, it is trouble of the database."""
    monkeypatch.setattr(bench_room, "_planned", lambda *_: {})
    monkeypatch.setattr(bench_room, "keep_plan", lambda *_, **__: None)
    with pytest.raises(StorageTrouble, match="plan again"):
        shop.bench.refresh()


def test_two_presses_make_one_plan(shop):
    """The second shows plan 1 as well and gets plan 2, which stands; then it is forced."""
    shop.bench.refresh()
    assert shop.bench.refresh(force=True, shown=1).number == 2
    assert shop.bench.refresh(force=True, shown=1).number == 2
    assert shop.bench.refresh(force=True, shown=2).number == 3
    shop.bench.want("H2", "C11", lb("1"), by="ines", key="w")
    assert shop.bench.refresh(force=True, shown=1).number == 4


def test_two_presses_at_once_make_one_plan(shop):
    """Both show no plan; the second waits for the first and gets its plan."""
    with ThreadPoolExecutor(2) as pool:
        found = list(pool.map(lambda _: shop.bench.refresh(force=True, shown=0), range(2)))
    assert [one.number for one in found] == [1, 1]


def test_the_strip_reads_neither_plan_nor_problem(shop):
    """Number, hour, changes and whether it stands are as with the whole plan, which is not read."""
    assert shop.bench.newest() is None
    kept, said = shop.bench.refresh(), []
    engine = shop.bench._room.store._reader

    def note(_conn, _cursor, statement, *_):
        said.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    found = shop.bench.newest()
    event.remove(engine, "before_cursor_execute", note)
    assert (found.number, found.at, found.changes, found.is_current) == (
        kept.number, kept.at, kept.changes, True,
    )  # fmt: skip
    assert any("bench_plans.number" in one for one in said)
    assert not any("bench_plans.plan" in one or "bench_plans.problem" in one for one in said)


def test_a_plan_in_work_is_waited_for_and_then_said(shop, monkeypatch):
    """Whoever asks meanwhile has a sentence, and the lock is free again afterwards."""
    monkeypatch.setattr(bench_room, "_WAITS_S", 0.01)
    with shop.bench._alone():
        for ask in (shop.bench.refresh, shop.bench.plan):
            with pytest.raises(PlanInWork, match="look again in a minute"):
                ask()
    assert shop.bench.refresh().number == 1


def test_a_plan_of_an_older_shop_is_not_kept_over_a_newer(shop, url, monkeypatch):
    """While one server plans, the shop moves and another plans: the second plan stands."""
    real = bench_room._planned

    def meanwhile(problem, notes):
        monkeypatch.setattr(bench_room, "_planned", real)
        with open_shop(url, StillClock()) as other:
            other.bench.want("H2", "C11", lb("1"), by="ines", key="w")
            other.bench.refresh()
        return real(problem, notes) | {"name": "of the shop before"}

    monkeypatch.setattr(bench_room, "_planned", meanwhile)
    found = shop.bench.refresh()
    assert (found.number, found.is_current) == (1, True)
    assert found.plan["name"] != "of the shop before"


def test_a_full_disk_is_one_sentence(shop, monkeypatch):
    """What cannot be kept is said; the shop stands as it was."""

    def refuse(*_, **__):
        raise StorageTrouble("The disk is full.")

    monkeypatch.setattr("collop.shop.bench_room.keep_plan", refuse)
    with pytest.raises(StorageTrouble, match="disk is full"):
        shop.bench.refresh()
    assert shop.bench.latest() is None


# worths


def test_worths_are_those_of_the_day_of_use(shop, clock):
    """Outside the plan its nearest day counts; a plan that is over tells nothing."""
    assert shop.bench.worths() == {}
    plan = shop.bench.refresh().plan
    want = [{one["id"]: worth_sold(one, day) for one in plan["cuts"]} for day in range(7)]
    assert want[0] != want[6]
    today = TUESDAY.date()
    assert shop.bench.worths() == want[0]
    assert shop.bench.worths(today + timedelta(days=3)) == want[3]
    assert shop.bench.worths(today + timedelta(days=40)) == want[6]
    clock.put(TUESDAY + timedelta(days=6))
    assert shop.bench.worths(today) == want[0]
    assert shop.bench.worths() == want[6]
    clock.put(TUESDAY + timedelta(days=7))
    assert shop.bench.worths() == {}


def test_offers_carry_the_worth_of_the_day_of_use(shop):
    """Before a plan 0, which is unknown; with one its worth; lines outside it stay unknown."""
    assert {one["worth_per_lb"] for one in shop.offers()} == {"0"}
    shop.bench.refresh()
    for day in (TUESDAY.date(), date(2026, 6, 13)):
        worths = shop.bench.worths(day)
        for one in shop.offers(use_on=day):
            if one["id"] in worths:
                known = max(worths[one["id"]], Decimal("0.01"))
                assert Decimal(one["worth_per_lb"]) == known
            else:
                assert one["worth_per_lb"] == "0"


def test_a_worth_per_kilogram_is_told_per_pound_exactly(shop):
    """10 a kg is 4.5359237 a lb; a known worth of nothing is 0.01, as 0 would be unknown."""
    worths = {"C01": Decimal(10), "C02": Decimal(0)}
    found = {one["id"]: one["worth_per_lb"]
             for one in offers_of(shop.case(), None, worths, WeightUnit.KG)}  # fmt: skip
    assert (found["C01"], found["C02"], found["C03"]) == ("4.5359237", "0.01", "0")


# what bookings want


def test_the_newest_want_counts_and_nothing_takes_it_back(shop):
    """Written twice the second stands; zero withdraws it; the same key does it once."""
    ask = {"by": "dot", "key": "w1", "note": "thick"}
    shop.bench.want("H2", "C16", lb("3.0"), **ask)
    shop.bench.want("H2", "C16", lb("3.0"), **ask)
    shop.bench.want("H2", "C16", lb("4.5"), by="dot", key="w2")
    found = next(one for one in shop.bench.wants() if one.booking_id == "H2")
    assert (found.case_name, found.weight, found.left) == (
        "Pork shoulder steaks", lb("4.5"), lb("4.5"),
    )  # fmt: skip
    lines = next(one["lines"] for one in shop.bench.problem()["bookings"] if one["id"] == "H2")
    # 6 lb are reserved: what is wanted beyond stands in the same line, at the same price
    assert {"cut": "C16", "weight": "10.500", "price": "6.4"} in lines
    shop.bench.want("H2", "C16", lb("0"), by="dot", key="w3")
    assert [one.booking_id for one in shop.bench.wants()] == ["H4", "H6"]


def test_what_is_reserved_afterwards_is_taken_off_a_want(shop, clock):
    """Once 5 lb of it are booked, 15 of the 20 lb are still to be made."""
    clock.put(TUESDAY + timedelta(hours=1))
    shop.add_lines("H6", [line("C19", "5.0")], by="dot", key="a")
    found = next(one for one in shop.bench.wants() if one.booking_id == "H6")
    assert (found.weight, found.left) == (lb("20"), lb("15"))


def test_what_was_reserved_before_a_want_and_is_put_back_is_no_part_of_it(shop, clock):
    """H2 holds 6 lb; 4 more are wanted; 3 reserved and the 6 put back and held again leave 1 lb."""
    clock.put(TUESDAY + timedelta(hours=1))
    shop.bench.want("H2", "C16", lb("4"), by="dot", key="w")
    clock.put(TUESDAY + timedelta(hours=2))
    room = shop.bench._room
    with room.store.read() as conn:
        held = next(row for row in line_rows(conn, 2) if row.case_id == "C16")
        picks = held_by(conn, held.id)

    def swing(*way):
        def work(act):
            move(act, picks, way, "released", held.id)
            return "H2"

        once(room, "swing", way, by="dot", key=way[0], work=work)
        return next(one for one in shop.bench.wants() if one.booking_id == "H2").left

    shop.add_lines("H2", [line("C16", "3")], by="dot", key="a")
    assert next(one for one in shop.bench.wants() if one.booking_id == "H2").left == lb("1")
    assert swing("booked", "case") == lb("1")
    assert swing("case", "booked") == lb("1")


def test_a_want_of_a_line_that_nothing_gives_is_said(shop):
    """Chicken is bought in: the plan cannot make it, and says so."""
    shop.bench.want("H2", "C23", lb("8.2"), by="dot", key="w")
    said = shop.bench.plan(reasons=False)["assumptions"]
    assert any(one.startswith("H2 wants 8.20 lb of Chicken, whole") for one in said)


@pytest.mark.parametrize(("ask", "error", "says"), [
    (("H2", "C99", "1"), NotFound, "no case line"),
    (("H99", "C01", "1"), NotFound, "no booking"),
    (("zebra", "C01", "1"), NotFound, "zebra"),
    (("H2", "C01", "-1"), BadValue, "how much"),
    (("H2", "C01", "100000"), BadValue, "how much"),
])  # fmt: skip
def test_a_want_that_cannot_be_is_refused(shop, ask, error, says):
    """One sentence each, and nothing is written."""
    with pytest.raises(error, match=says):
        shop.bench.want(ask[0], ask[1], lb(ask[2]), by="dot", key="w")
    assert len(shop.bench.wants()) == 2


def test_a_booking_that_is_off_wants_nothing(shop):
    """Released, its wants are gone, and no more can be written."""
    shop.release("H6", by="ines", key="r", why="rain")
    assert [one.booking_id for one in shop.bench.wants()] == ["H4"]
    with pytest.raises(WrongState, match="nothing more is cut"):
        shop.bench.want("H6", "C19", lb("1"), by="dot", key="w")


# settings


def test_the_cutting_room_s_settings_change_with_a_reason(shop, url):
    """Hands, room of the case and warmth are kept, told, and there after opening again."""
    hands = [{"person": "Ines", "minutes": [240] * 7}, BenchHand("Marek", (480,) * 7, (30,) * 7)]
    changes = {"hands": hands, "case_room": "500 lb", "cut_room_f": "41"}
    found = shop.change_settings(changes, by="ines", why="summer hours", key="k")
    assert found.hands == (BenchHand("Ines", (240,) * 7, (0,) * 7), hands[1])
    assert (found.case_room, found.cut_room_f) == (lb("500"), Decimal(41))
    with open_shop(url, StillClock()) as again:
        assert again.settings() == found
    assert {one.name for one in shop.setting_changes()} == set(changes)
    assert shop.bench.problem()["hands"][1]["overtime"] == ["30"] * 7


@pytest.mark.parametrize(("name", "value"), [
    ("hands", "Ines"), ("hands", [1]), ("hands", [{"person": "", "minutes": [1] * 7}]),
    ("hands", [{"person": "A", "minutes": [1] * 6}]), ("hands", [{"person": "A"}]),
    ("hands", [{"person": "A", "minutes": [1.5] * 7}]),
    ("hands", [{"person": "A", "minutes": [1441] * 7}]),
    ("hands", [{"person": "A", "minutes": [1440] * 7, "overtime": [1] * 7}]),
    ("hands", [{"person": "A", "minutes": [True] * 7}]),
    ("hands", [{"person": "A", "minutes": [10**30] * 7}]),
    ("hands", [{"person": "A", "minutes": [0] * 7, "x": 1}]),
    ("hands", [{"person": "A", "minutes": [0] * 7}, {"person": "a", "minutes": [0] * 7}]),
    ("hands", [{"person": str(n), "minutes": [0] * 7} for n in range(21)]),
    ("case_room", "much"), ("case_room", 5), ("case_room", "0"), ("case_room", "-1 lb"),
    ("case_room", [1]), ("case_room", [True, "lb"]), ("case_room", [1, "stone"]),
    ("case_room", "200000 lb"), ("cut_room_f", "NaN"), ("cut_room_f", "1e-999999"),
    ("cut_room_f", 300), ("cut_room_f", 50.0),
])  # fmt: skip
def test_a_setting_out_of_range_is_refused(shop, name, value):
    """One sentence, nothing changed."""
    before = shop.settings()
    with pytest.raises(BadValue):
        shop.change_settings({name: value}, by="ines", why="x", key="k")
    assert shop.settings() == before
