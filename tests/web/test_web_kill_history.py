"""A history of calls and replies under kills, broken lines and a jumping clock, judged afterwards.

After Jepsen's way of testing (source id JEPSEN: clients, a nemesis, a history, a checker). The long
run is ``benchmarks/reliability/history.py``. The other tests spoil a history or a file in one place
each, and see that the checker says so.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from killed_history import WORK, Teller, verdict
from killed_server import Nursery, round_of, wait_for

from collop.shop import StillClock, open_shop

ROUNDS = 4
CLEAN = ["lost", "half", "without an act", "not asked", "answers", "numbers", "below zero",
         "prices"]  # fmt: skip


@pytest.fixture(scope="module")
def worked(demo_file, tmp_path_factory):
    """Return the file of a shop, what it was copied from, and the tellers that worked at it."""
    folder = tmp_path_factory.mktemp("history")
    path, notes = folder / "shop.db", folder / "notes"
    shutil.copy(demo_file, path)
    tellers = [Teller(f"K{number}", notes, random.Random(number)) for number in range(3)]
    tellers.append(Teller("P", notes, random.Random(8), kinds=("price",)))
    tellers.append(Teller("S", notes, random.Random(9), kinds=("scarce", "sale", *WORK, "again")))
    nursery = Nursery(path)
    try:
        for number in range(ROUNDS):
            minutes = (0, 60, -60)[number % 3]
            troubles = round_of(nursery, tellers, lambda: wait_for(tellers, 14), minutes)
            assert troubles == []
    finally:
        nursery.close()
    return path, demo_file, tellers


@pytest.fixture
def spoiled(worked, tmp_path):
    """Return a copy of what was worked, for a test to spoil."""
    path, begun, tellers = worked
    copy = tmp_path / "spoiled.db"
    with open_shop(f"sqlite:///{path}", StillClock()):
        pass  # its log is folded away on closing
    with closing(sqlite3.connect(path)) as conn, closing(sqlite3.connect(copy)) as there:
        conn.backup(there)
        there.commit()
    alike = [replace(one, history=[replace(told) for told in one.history]) for one in tellers]
    return copy, begun, alike


def change(path, *steps):
    """Change a file behind the shop's back."""
    with closing(sqlite3.connect(path)) as conn:
        guards = conn.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (guard,) in guards:
            conn.execute(f'DROP TRIGGER "{guard}"')
        for step, values in steps:
            assert conn.execute(step, values).rowcount
        conn.commit()


def found(judged):
    """Return the rules that something was found against."""
    return {rule for rule, findings in judged.items() if findings}


def one_of(tellers, kind):
    """Return the last act of a kind that was answered."""
    told = [one for teller in tellers for one in teller.history if one.kind == kind and one.place]
    return max(told, key=lambda one: one.reply)


def test_what_the_clients_saw_could_have_happened(worked):
    """Nothing lost, half done or done twice; prices in force; numbers whole; no stock below zero.

    Every answer of one act is the same, however often its form was sent, and no act that was done
    is told as refused.
    """
    path, begun, tellers = worked
    judged = verdict(path, begun, tellers)
    assert list(judged) == CLEAN
    assert found(judged) == set(), judged
    assert sum(teller.done for teller in tellers) >= 5 * ROUNDS
    assert any(one.tries > 1 for teller in tellers for one in teller.history)
    assert {"sale", "booking", "price"} <= {o.kind for t in tellers for o in t.history if o.place}
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        assert shop.check() == []


def test_a_lost_act_is_seen(spoiled):
    """An answered price that is not among the acts is lost, and its row has no act."""
    path, begun, tellers = spoiled
    change(path, ("DELETE FROM acts WHERE key = ?", (one_of(tellers, "price").key,)))
    assert {"lost", "without an act"} <= found(verdict(path, begun, tellers))


def test_half_an_act_is_seen(spoiled):
    """A sale without its money is half a sale."""
    path, begun, tellers = spoiled
    change(path, ("DELETE FROM payments WHERE key = ?", (one_of(tellers, "sale").key,)))
    assert "half" in found(verdict(path, begun, tellers))


def test_a_price_that_was_not_in_force_is_seen(spoiled):
    """A sale at the price the board began with, long after it was replaced, is seen."""
    path, begun, tellers = spoiled
    told = one_of(tellers, "sale")
    step = """
        UPDATE booking_lines SET price_amount = (
            SELECT amount FROM board_prices WHERE case_id = 'C11' ORDER BY seq LIMIT 1)
        WHERE case_id = 'C11' AND booking_number = (SELECT number FROM bookings WHERE key = ?)
    """
    change(path, (step, (told.key,)))
    assert found(verdict(path, begun, tellers)) == {"prices"}


def test_a_number_left_out_is_seen(spoiled):
    """A thermometer reading taken away leaves a gap in the numbers."""
    path, begun, tellers = spoiled
    change(path, ("DELETE FROM day_checks WHERE seq = (SELECT max(seq) - 1 FROM day_checks)", ()))
    assert "numbers" in found(verdict(path, begun, tellers))


def test_stock_below_zero_is_seen(spoiled):
    """More out of a lot than was in it is seen, though a later act puts it right."""
    path, begun, tellers = spoiled
    row = "INSERT INTO ledger_entries (move, lot_id, place, delta, unit, reason, at, key) SELECT "
    told = "move, lot_id, 'case', {} 9000000, unit, reason, at, {} FROM ledger_entries LIMIT 1"
    change(path, (row + told.format("-", "'x1'"), ()), (row + told.format("+", "'x2'"), ()))
    assert "below zero" in found(verdict(path, begun, tellers))


def test_a_second_answer_that_differs_is_seen(spoiled):
    """A form sent twice and told two numbers, or told as refused though it was done, is seen."""
    path, begun, tellers = spoiled
    one_of(tellers, "booking").place = "/hook/H9999?done=promised"
    assert found(verdict(path, begun, tellers)) == {"answers"}
    one_of(tellers, "sale").place = ""
    said = verdict(path, begun, tellers)["answers"]
    assert any(one.endswith("is done and was told as refused") for one in said)
