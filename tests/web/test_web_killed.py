"""A real server killed under load: nothing that was answered is lost, nothing is done twice.

The full run of a thousand is ``benchmarks/reliability/kill.py``. That a killed process loses no
commit at any setting is SQLite's own word (sqlite.org/pragma.html, synchronous: "commits ... may
roll back following a power loss or system crash", not after a crash of the application); what a
power cut can take at a weaker setting is shown in tests/shop/test_shop_power_cut.py.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from killed_server import (
    Hand,
    Nursery,
    all_synced,
    noted_keys,
    power_cut,
    round_of,
    shim_in,
    wait_for,
)

from collop.shop import StillClock, open_shop

ROUNDS = 14


@pytest.fixture
def served(demo_file, tmp_path):
    return Path(shutil.copy(demo_file, tmp_path / "served.db"))


def test_a_server_killed_under_load_loses_nothing_it_answered(served, tmp_path):
    """Fourteen kills at random moments, four hands: all that was answered is there, once."""
    chance, notes = random.Random(4), tmp_path / "notes"
    hands = [Hand(f"K{number}", notes, random.Random(number)) for number in range(4)]
    nursery = Nursery(served)
    try:
        for _ in range(ROUNDS):
            more, late = chance.randint(2, 9), chance.uniform(0, 0.05)

            def wait(more=more, late=late):
                wait_for(hands, more)
                time.sleep(late)

            troubles = round_of(nursery, hands, wait)
            assert troubles == []
            with closing(sqlite3.connect(served)) as raw:
                there = [key for (key,) in raw.execute("SELECT key FROM acts WHERE key LIKE 'K%'")]
            answered = noted_keys(notes)
            assert len(set(answered)) == len(answered)
            assert set(answered) <= set(there)
            # at most one act of each hand is there whose answer did not come through
            open_keys = {hand.pending.key for hand in hands if hand.pending}
            assert set(there) - set(answered) <= open_keys
            with open_shop(f"sqlite:///{served}", StillClock()) as shop:
                assert shop.check() == []
    finally:
        nursery.close()
    assert sum(hand.done for hand in hands) > 4 * ROUNDS
    # of all that was sent only steps of a booking may be refused: it may have moved on already
    refused = [one for hand in hands for one in hand.refused]
    assert {kind for kind, *_ in refused} <= {"release", "state", "undo"}, refused[:2]
    command = [Path(sys.executable).with_name("collop"), "check", "--db", served]
    said = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (said.returncode, said.stdout) == (0, "All weights, bookings and pieces add up.\n")


def keys_in(path):
    """Return the keys of the acts of a shop."""
    with closing(sqlite3.connect(path)) as raw:
        return {key for (key,) in raw.execute("SELECT key FROM acts")}


def cut_rounds(served, tmp_path, *, sync, rounds):
    """Kill the server and cut its power, over and over; return the answered keys that were lost."""
    shim = shim_in(tmp_path)
    if shim is None:
        pytest.skip("there is no C compiler to make the library that plays a power cut")
    chance, lost, notes = random.Random(7), [], tmp_path / "notes"
    nursery = Nursery(served, sync=sync, shim=shim)
    try:
        for number in range(rounds):
            hands = [Hand(f"P{number}{name}", notes, random.Random(number)) for name in "ab"]
            all_synced(served)
            troubles = round_of(nursery, hands, lambda hands=hands: wait_for(hands, 5))
            assert troubles == []
            power_cut(served, chance)
            there = keys_in(served)
            lost += [key for key in noted_keys(notes) if key not in there]
            notes.unlink(missing_ok=True)
            with open_shop(f"sqlite:///{served}", StillClock()) as shop:
                assert shop.check() == []
    finally:
        nursery.close()
    return lost


def test_a_power_cut_takes_nothing_that_was_answered(served, tmp_path):
    """All that was not synced is gone, or some blocks of it are there: no answered act is lost."""
    assert cut_rounds(served, tmp_path, sync="FULL", rounds=6) == []


def test_the_same_cut_at_a_weaker_setting_is_seen_to_lose(served, tmp_path):
    """With synchronous=NORMAL the newest commits need not be on the disk: this test can fail."""
    assert cut_rounds(served, tmp_path, sync="NORMAL", rounds=3) != []
