"""Tries at the door under any order of times: delays that grow, end, and lock nobody out."""

from __future__ import annotations

import threading

import pytest
from doorstep import WORDS, Wall, all_in, cheap_hashes, door
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import create_engine, delete

from collop.errors import TooSoon, WrongState
from collop.shop import access_throttle as throttle
from collop.shop import open_shop
from collop.shop.access import CONSOLE
from collop.shop.access_secrets import new_token, token_hash
from collop.shop.access_tables import sign_in_counts

PIN = "493817"


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    cheap_hashes(monkeypatch)


@pytest.fixture(scope="module")
def books():
    """Return a connection to the table of counts alone."""
    engine = create_engine("sqlite://")
    sign_in_counts.create(engine)
    with engine.connect() as conn:
        yield conn
    engine.dispose()


@settings(max_examples=150)
@given(st.lists(st.tuples(st.integers(-40, 200), st.booleans()), max_size=60))
def test_any_row_of_tries_keeps_the_rules(books, tries):
    """Looked at only when the delay is over; the delay is that of the failures and never over 60 s.

    The model beside it counts by itself. The clock may go back between tries.
    """
    books.execute(delete(sign_in_counts))
    now, failures, last = 1_800_000_000, 0, None
    for passed, is_right in tries:
        now += passed
        refusal, _ = throttle.begin_try(books, "password 0 ines", now)
        delay = 0 if failures < 5 else min(60, 2 ** min(failures - 5, 10))
        waits = 0 if last is None or now < last else max(0, delay - (now - last))
        assert (0 if refusal is None else refusal.wait_s) == waits
        assert waits <= 60
        if refusal is None:
            failures, last = failures + 1, now
            if is_right:
                throttle.clear_tries(books, "password 0 ines")
                failures = 0
    assert throttle.failures_of(books, "password 0 ines") == failures


@given(st.integers(0, 10**6))
def test_waiting_a_minute_is_always_enough(books, failures):
    """However many failures went before."""
    assert 0 <= throttle.delay_after(failures) <= 60
    assert throttle.delay_after(failures) <= throttle.delay_after(failures + 1)


def test_delays_double_from_one_second():
    """Nothing for four failures, then 1, 2, 4, 8, 16, 32, 60, 60 seconds."""
    delays = [throttle.delay_after(n) for n in range(4, 14)]
    assert delays == [0, 1, 2, 4, 8, 16, 32, 60, 60, 60]


def fail(access, times, who="ines", **where):
    """Try wrong words so often; return what was refused as too soon."""
    soon = []
    for _ in range(times):
        try:
            access.sign_in(who, "wrong words", **where)
        except TooSoon as error:
            soon.append(error.wait_s)
        except WrongState:
            pass
    return soon


def test_a_try_too_soon_is_not_looked_at_and_moves_no_delay(shop):
    """Hammering at the door makes nobody wait longer."""
    wall = Wall()
    access = door(shop, wall)
    all_in(access)
    assert fail(access, 5) == []
    assert fail(access, 20) == [1] * 20
    wall.on(1)
    assert access.sign_in("ines", WORDS["ines"])


def test_counts_outlive_a_restart(shop, url):
    """The delay stands in the database, not in the server."""
    wall = Wall()
    all_in(door(shop, wall))
    fail(door(shop, wall), 8)
    with open_shop(url) as again, pytest.raises(TooSoon):
        door(again, wall).sign_in("ines", WORDS["ines"])


def test_guessing_from_elsewhere_locks_nobody_out_of_a_known_device(shop):
    """A known device has a count of its own, and so has each person."""
    access = door(shop)
    all_in(access, "kofi")
    _, here = access.know_device("counter", by="ines")
    fail(access, 30)
    with pytest.raises(TooSoon):
        access.sign_in("ines", WORDS["ines"])
    assert access.sign_in("ines", WORDS["ines"], device_token=here)
    assert access.sign_in("kofi", WORDS["kofi"])


def test_the_console_always_gets_in(shop):
    """A new password forgets the failures."""
    access = door(shop)
    all_in(access)
    fail(access, 30)
    access.set_password("ines", "another few words", by=CONSOLE)
    assert access.sign_in("ines", "another few words")


def test_names_that_nobody_has_are_slowed_down_as_others_are(shop):
    """The same five tries, then the same delay; a few rows keep the count of all of them."""
    access = door(shop)
    all_in(access)
    assert fail(access, 5, who="nobody") == []
    assert fail(access, 1, who="nobody") == [1]
    for n in range(200):
        fail(access, 1, who=f"guess {n}")
    with shop._room.store.read() as conn:
        rows = conn.execute(sign_in_counts.select()).all()
    assert len(rows) <= 33


def test_twenty_tries_at_once_get_no_more_than_five_looks(shop):
    """Counted before it is looked at: being quick is no way around."""
    access = door(shop)
    all_in(access)
    said = []

    def one():
        try:
            access.sign_in("ines", "wrong words")
        except (TooSoon, WrongState) as error:
            said.append(type(error))

    crowd = [threading.Thread(target=one) for _ in range(20)]
    for each in crowd:
        each.start()
    for each in crowd:
        each.join()
    assert said.count(WrongState) == 5
    assert said.count(TooSoon) == 15


def test_a_hundred_failures_within_an_hour_are_told_to_the_owner(shop):
    """Each is in the log up to there, and then a flood writes nothing more."""
    wall = Wall()
    access = door(shop, wall)
    all_in(access)
    fail(access, 99)
    assert access.alarms() == ()
    fail(access, 1)
    assert len(access.alarms()) == 1
    assert "as Ines" in access.alarms()[0]
    fail(access, 50)
    day = shop.now().date()
    found = access.log(day, day, kind="refused")
    assert len(found) == 100
    assert "further ones of this hour are not written" in found[0].what
    wall.on(3600)
    assert access.alarms() == ()
    fail(access, 1)
    assert len(access.log(day, day, kind="refused")) == 101


def test_a_flood_of_early_tries_writes_nothing(shop):
    """Beyond the alarm a try that is too soon reads one row and changes none."""
    access = door(shop)
    all_in(access)
    fail(access, 120)
    before = access.seal()
    with shop._room.store.read() as conn:
        rows = conn.execute(sign_in_counts.select()).all()
    assert len(fail(access, 30)) == 30
    with shop._room.store.read() as conn:
        assert conn.execute(sign_in_counts.select()).all() == rows
    assert access.seal() == before


def test_failures_of_an_old_password_are_failures(shop):
    """Whoever sits at an open session cannot guess the password there."""
    access = door(shop)
    all_in(access)
    for _ in range(5):
        with pytest.raises(WrongState):
            access.set_password("ines", "mine from now on", by="ines", old="guess")
    with pytest.raises(TooSoon):
        access.set_password("ines", "mine from now on", by="ines", old=WORDS["ines"])


def test_a_hundred_thousand_tokens_and_no_two_alike():
    """Each has 256 random bits in 43 signs that a cookie may hold; so have their digests 64."""
    tokens = {new_token() for _ in range(100_000)}
    assert len(tokens) == 100_000
    assert {len(one) for one in tokens} == {43}
    assert all(one.replace("-", "").replace("_", "").isalnum() for one in tokens)
    some = list(tokens)[:1000]
    assert len({token_hash(one) for one in some}) == 1000
    assert {len(token_hash(one)) for one in some} == {64}
