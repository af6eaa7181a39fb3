"""Recall: all that holds weight of one source, where it is, who has it; and drills."""

from __future__ import annotations

import csv
import io
import json
from datetime import timedelta
from fractions import Fraction

import pytest
from wished import lb, line, order

from collop.errors import BadValue, NotFound
from collop.shop import NewDrill, NewMaterial, recall_csv, recall_json
from collop.shop.acts import once
from collop.shop.knife_tables import lot_links
from collop.shop.ledger import Pick, pass_on, receive
from collop.shop.lots import NewLot, make_lot
from collop.shop.recall_model import HERE


def lot(name, weight, species="beef", case_id=None, act=None):
    return NewLot(id=name, kind="stock", species=species, what=name, weight=weight, since=act.at,
                  case_id=case_id)  # fmt: skip


def written(shop, key, work):
    """Do some work in one act, as a service of the shop would."""
    once(shop._room, "test", key, by="marek", key=key, work=lambda act: str(work(act)))


def buy(shop, name, weight):
    """Bring a lot in at the trim bins."""

    def work(act):
        make_lot(act, lot(name, weight, act=act))
        receive(act, name, weight, "trim")

    written(shop, f"buy {name}", work)


def mix(shop, name, parts):
    """Make a mince lot of weight of several others, as the grinder does."""
    total = sum((weight for _, weight in parts), lb("0"))

    def work(act):
        make_lot(act, lot(name, total, act=act))
        for parent, weight in parts:
            unit = weight.unit.value
            given, taken = Pick(parent, weight.count, unit), Pick(name, weight.count, unit)
            place = "trim" if not parent.startswith("M") else "block"
            move = pass_on(act, given, taken, (place, "block"), "mince")
            act.conn.execute(
                lot_links.insert().values(
                    move=move, parent_id=parent, child_id=name, count=weight.count, at=act.at,
                    by_id=act.by, key=act.key,
                )
            )  # fmt: skip

    written(shop, f"mix {name}", work)


def by_id(found):
    return {one.lot_id: one for one in found.lots}


def test_one_cut_leads_to_the_animal_and_every_lot_of_both_its_quarters(shop):
    """The short ribs are of B-41, which hangs as two quarters: the other one is affected too."""
    found = shop.tracing.recall("B-41F.03")
    assert found.roots == ("B-41",)
    assert found.chain == ("B-41F.03", "B-41F", "B-41")
    assert found.origins[0].farm == "Upper Nimmock"
    assert found.origins[0].establishment == "F-01 (made up)"
    sisters = {one.lot_id for one in shop.cutting.trace("B-41F.03").sisters}
    assert set(by_id(found)) == sisters | {"B-41F.03", "B-41F", "B-41"}
    assert all(one.share == 1 for one in found.lots)


def test_all_of_the_animal_s_weight_is_found_where_the_ledger_has_it(shop):
    """174.0 and 152.0 lb came in; what is on rail, block, bone, fat, trim, case, drip is 326.0."""
    balance = shop.tracing.recall("B-41F.03").balance
    assert balance.came_in == lb("326.0")
    assert (balance.others, balance.gap, balance.found_pct) == (lb("0"), lb("0"), "100.00")
    assert balance.closes
    assert balance.found == lb("326.0")


def test_those_who_hold_of_it_are_called_in_the_order_they_collect(shop):
    """H4, H8 and H9 hold cuts of the forequarter; what is handed over goes first."""
    found = shop.tracing.recall("B-41F.03")
    assert [one.booking_id for one in found.customers] == ["H4", "H8", "H9"]
    assert not any(one.has_it for one in found.customers)
    weights = {one.id: one.weight for one in shop.booking("H9").lines}
    shop.hand_over("H9", weights, by="dot", key="h")
    found = shop.tracing.recall("B-41F.03")
    assert [(one.booking_id, one.has_it) for one in found.customers] == [
        ("H9", True), ("H4", False), ("H8", False),
    ]  # fmt: skip
    (taken,) = [one for one in found.customers[0].taken if one.is_sold]
    assert (taken.weight, taken.at) == (lb("3.0"), shop.now())
    assert found.balance.closes


def test_a_booking_that_is_off_holds_nothing(shop):
    """Released weight is free again, so nobody is called for it."""
    shop.release("H8", by="ines", key="r", why="off")
    assert "H8" not in [one.booking_id for one in shop.tracing.recall("B-41F.03").customers]


def test_a_lot_mixed_from_two_farms_is_affected_as_a_whole(shop):
    """10 lb of one lot and 30 lb of another: a quarter of it is recalled, and all of it is held."""
    buy(shop, "X-1", lb("10"))
    buy(shop, "X-2", lb("30"))
    mix(shop, "M-1", [("X-1", lb("10")), ("X-2", lb("30"))])
    found = shop.tracing.recall("X-1")
    assert found.roots == ("X-1",)
    assert set(by_id(found)) == {"X-1", "M-1"}
    mince = by_id(found)["M-1"]
    assert (mince.share, mince.here, mince.from_lots) == (
        Fraction(1, 4), lb("40"), ("X-1", "X-2"),
    )  # fmt: skip
    assert (found.balance.came_in, found.balance.others) == (lb("10"), lb("30"))
    assert found.balance.closes
    both = shop.tracing.recall("M-1")
    assert set(both.roots) == {"X-1", "X-2"}
    assert by_id(both)["M-1"].share == 1


def test_a_recall_of_the_lot_alone_leaves_its_source_out(shop):
    """A fault that arose at the grinder does not call back the animals above it."""
    buy(shop, "X-1", lb("20"))
    mix(shop, "M-1", [("X-1", lb("10"))])
    found = shop.tracing.recall("M-1", scope="lot")
    assert set(by_id(found)) == {"M-1"}
    assert (found.balance.came_in, found.balance.others) == (lb("10"), lb("0"))
    assert found.balance.closes
    assert set(by_id(shop.tracing.recall("M-1"))) == {"M-1", "X-1"}


def test_a_carry_over_is_followed_through_any_number_of_lots(shop):
    """Forty mince lots, each with half a pound of the one before: the first recalls them all."""
    buy(shop, "X-0", lb("1"))
    mix(shop, "M-00", [("X-0", lb("1"))])
    for step in range(1, 41):
        buy(shop, f"X-{step}", lb("1"))
        before = [(f"M-{step - 1:02d}", lb("0.5"))]
        mix(shop, f"M-{step:02d}", [*before, (f"X-{step}", lb("1"))])
    found = shop.tracing.recall("X-0")
    assert len(found.lots) == 42
    assert by_id(found)["M-40"].share == Fraction(1, 3) ** 40
    assert found.balance.closes
    assert len(shop.tracing.recall("M-40").roots) == 41


def test_what_was_put_back_whole_is_not_affected(shop):
    """Weight that was moved into a lot and all of it out again leaves no trace of it there."""
    buy(shop, "X-1", lb("10"))
    mix(shop, "M-1", [("X-1", lb("10"))])

    def back(act):
        given, taken = Pick("M-1", lb("10").count, "lb"), Pick("X-1", lb("10").count, "lb")
        move = pass_on(act, given, taken, ("block", "trim"), "taken back")
        act.conn.execute(
            lot_links.insert().values(
                move=move, parent_id="X-1", child_id="M-1", count=-lb("10").count, at=act.at,
                by_id=act.by, key=act.key,
            )
        )  # fmt: skip

    written(shop, "back", back)
    assert set(by_id(shop.tracing.recall("X-1"))) == {"X-1"}


@pytest.mark.parametrize("name", ["B-41F.03", "b-41f.03", "  B-41F.03 ", "B-41F", "B-41", "H8"])
def test_any_name_of_it_leads_to_the_same_animal(shop, name):
    """A cut, a piece, the animal, small letters, or the booking that holds it."""
    assert "B-41" in shop.tracing.recall(name).roots


@pytest.mark.parametrize(
    "name", ["", " ", "X-9", "T99999", "H999", "x" * 201, "a\nb", "T0", "(10)nix", "]C1\x1d\x1d"]
)
def test_what_has_no_name_here_is_refused_in_one_sentence(shop, name):
    """Nothing, too much, or something unknown."""
    with pytest.raises((BadValue, NotFound)) as told:
        shop.tracing.recall(name)
    assert "\n" not in told.value.message


def test_a_scope_that_is_none_is_refused(shop):
    """The two ways to begin are named."""
    with pytest.raises(BadValue, match="source or lot"):
        shop.tracing.recall("B-41", scope="all")


def test_no_look_takes_more_questions_for_more_lots(shop):
    """The number of questions grows with the length of the chain, not with the number of lots."""
    from sqlalchemy import event
    from sqlalchemy.engine import Engine

    asked = []

    def note(*told):
        asked.append(told[2])

    event.listen(Engine, "before_cursor_execute", note)
    shop.tracing.recall("B-41")
    few = len(asked)
    for step in range(30):
        buy(shop, f"Y-{step}", lb("1"))
    mix(shop, "M-9", [(f"Y-{step}", lb("1")) for step in range(30)])
    asked.clear()
    found = shop.tracing.recall("M-9")
    event.remove(Engine, "before_cursor_execute", note)
    assert len(found.lots) == 31
    assert len(asked) <= few + 2


def test_json_and_csv_tell_the_same(shop):
    """Each lot and place, each booking; a name that begins like a formula is no formula."""
    new = order(line("C07", "1"), name="=HYPERLINK(1)")
    shop.book(new, key="b")
    found = shop.tracing.recall("B-41F.04")
    told = json.loads(json.dumps(recall_json(found)))
    rows = list(csv.DictReader(io.StringIO(recall_csv(found))))
    lots = {(row["lot"], row["place"]): row["weight"] for row in rows if row["row"] == "lot"}
    assert lots == {
        (one["lot"], place): weight
        for one in told["lots"]
        for place, weight in one["where"].items()
    }
    names = {row["name"] for row in rows if row["row"] == "booking"}
    assert "'=HYPERLINK(1)" in names
    assert {one["name"] for one in told["customers"]} >= {"=HYPERLINK(1)", "Anniversary table"}
    assert told["balance"]["closes"] is True


def test_a_drill_keeps_how_long_it_took_and_what_was_found(shop):
    """What people weighed is held against what the ledger says is in the shop."""
    answer = shop.tracing.recall("B-41F.03")
    here = sum((weight for place, weight in answer.balance.places if place in HERE), lb("0"))
    begun = shop.now() - timedelta(minutes=4, seconds=10)
    new = NewDrill(begun, 17, counted=here - lb("3"), note="one tray not found")
    kept = shop.tracing.keep_drill("B-41F.03", new, by="ines", key="d")
    assert (kept.minutes, kept.milliseconds, kept.found_pct) == (5, 17, "100.00")
    assert kept.counted_pct == str(round(100 * (here - lb("3")).count / here.count, 2))
    assert shop.tracing.keep_drill("B-41F.03", new, by="ines", key="d") == kept
    assert [one.number for one in shop.tracing.drills()] == [kept.number]
    assert shop.check() == []


@pytest.mark.parametrize(
    ("new", "where"),
    [
        (lambda now: NewDrill(now + timedelta(seconds=1), 1), "begun_at"),
        (lambda now: NewDrill(now - timedelta(days=2), 1), "begun_at"),
        (lambda now: NewDrill(now, -1), "milliseconds"),
        (lambda now: NewDrill(now, 1, counted=lb("-1")), "counted"),
        (lambda now: NewDrill(now, 1, note="x" * 201), "note"),
    ],
)
def test_a_drill_that_cannot_be_is_not_kept(shop, new, where):
    """Each figure out of its range names its field, and nothing is written."""
    with pytest.raises(BadValue) as told:
        shop.tracing.keep_drill("B-41", new(shop.now()), by="ines", key="d")
    assert told.value.where == where
    assert shop.tracing.drills() == ()


def test_one_ticket_leads_to_the_animal_and_to_every_other_ticket_of_it(shop):
    """A pack of the demo week: B-41, all tickets of its cuts, all of its weight."""
    every = [one for day in (8, 9) for one in shop.tickets.on(shop.now().date().replace(day=day))]
    of_it = {one.id for one in every if one.lot.startswith("B-41")}
    assert len(of_it) > 5
    for name in sorted(of_it):
        found = shop.tracing.recall(name)
        assert found.roots == ("B-41",)
        assert {one.ticket_id for one in found.tickets} == of_it
        assert (found.balance.found_pct, found.balance.came_in) == ("100.00", lb("326.0"))


def test_what_a_scanner_reads_off_a_ticket_leads_to_the_same(shop):
    """The text of the square code, and a GS1 code that holds the lot, with and without brackets."""
    whole = shop.tracing.recall("B-41F.03").roots
    gs1 = "019061414100001532020001371" + "0B-41F.03"
    for text in ("(01)90614141000015(3202)000137(10)B-41F.03", gs1, f"]e0{gs1}\x1d21T3",
                 "B-41F.03 T3"):  # fmt: skip
        assert shop.tracing.recall(text).roots == whole, text


def test_a_supplier_s_lot_told_late_or_put_right_is_found(shop):
    """Told after the lot was begun, in capitals or not; the one it was mistaken for is not found.

    A box that was taken back is still found; casing nobody weighed leads to its batch, till then.
    """
    room, who = shop.making, iter(range(99))

    def call(name, *args, **more):
        return getattr(room, name)(*args, by="kofi", key=f"late-{next(who)}", **more)

    shop.day.clean_down(by="kofi", key="clean")
    trim = NewMaterial(lb("4"), lot_id="B-41F.07", place="trim")
    made = call("open", "beef", "G1", "Mince", trim)
    made = call("add", made.code, NewMaterial(lb("2"), what="Chuck", supplier_lot="SL-1"))
    made = call("add", made.code, NewMaterial(lb("1"), what="Flank"))
    chuck, flank = made.materials[1], made.materials[2]
    call("fill_material", made.code, chuck.seq, {"supplier_lot": "SL-2"})
    call("fill_material", made.code, flank.seq, {"supplier_lot": "SL-3"})
    assert shop.tracing.meant("SL-2") == (chuck.lot_id,)
    assert shop.tracing.meant("sl-3") == (flank.lot_id,)
    assert made.code in {one.lot_id for one in shop.tracing.recall("SL-3").lots}
    with pytest.raises(NotFound):
        shop.tracing.meant("SL-1")
    call("take_back_material", made.code, flank.seq, "not in")
    assert shop.tracing.meant("SL-3") == (flank.lot_id,)
    batch = call("open_batch", "Links", "C22", trim)
    casing = NewMaterial(None, what="Casing", is_ingredient=True, supplier_lot="HC-9")
    batch = call("add", batch.code, casing)
    assert shop.tracing.meant("HC-9") == (batch.code,)
    call("take_back_material", batch.code, batch.materials[-1].seq, "other batch")
    with pytest.raises(NotFound):
        shop.tracing.meant("HC-9")
