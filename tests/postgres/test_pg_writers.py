"""Writers on PostgreSQL: who meets another is run again, and a killed server keeps all.

Codes of errors: PostgreSQL 15 documentation, appendix A (40001 serialization_failure, 40P01
deadlock_detected, 57P01 admin_shutdown).
"""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import psycopg
import pytest
from sqlalchemy import text

from collop.errors import NotEnoughFree, StorageTrouble
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, StillClock, open_shop
from collop.shop.acts import once
from collop.shop.store import Store

WHEN = datetime(2026, 6, 13, 10)  # noqa: DTZ001 -- shop-local
GRAB = """
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from collop.errors import NotEnoughFree
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, open_shop

url, name = sys.argv[1:]
bird = NewLine("C23", Weight.of("4.1", WeightUnit.LB))
wish = NewBooking(name=name, collect_at=datetime(2026, 6, 13, 10), by="dot", lines=(bird,))

def grab(at):
    try:
        return shop.book(wish, key=f"{name}-{at}").id
    except NotEnoughFree:
        return None

with open_shop(url) as shop, ThreadPoolExecutor(25) as crowd:
    print("ready", flush=True)
    sys.stdin.readline()
    print([won for won in crowd.map(grab, range(25)) if won], flush=True)
"""


def order(case_id, amount, unit=WeightUnit.LB, name="Walk-in"):
    wanted = NewLine(case_id, Weight.of(amount, unit))
    return NewBooking(name=name, collect_at=WHEN, by="dot", lines=(wanted,))


def all_bookings(shop):
    return shop.bookings(WHEN.date() - timedelta(30), WHEN.date() + timedelta(30))


@pytest.fixture
def one(pair):
    return f"{pair}?shop=one"


@pytest.fixture
def store(one):
    """Return a store without the lock that orders its writers: they do meet."""
    opened = Store(f"{one}&writers=retry")
    yield opened
    opened.close()


def kept(store, name="test"):
    with store.read() as conn:
        return conn.scalar(text("SELECT value::text FROM settings WHERE name = :n"), {"n": name})


def put(conn, value, name="test"):
    conn.execute(text("INSERT INTO settings (name, value) VALUES (:n, CAST(:v AS json))"
                      " ON CONFLICT (shop_id, name) DO UPDATE SET value = excluded.value"),
                 {"n": name, "v": str(value)})  # fmt: skip


def add_one(conn, name="test"):
    now = conn.scalar(text("SELECT value::text FROM settings WHERE name = :n FOR UPDATE"),
                      {"n": name})  # fmt: skip
    put(conn, int(now or 0) + 1, name)


def test_the_database_itself_refuses_two_writers_that_meet(one):
    """Two raw SERIALIZABLE transactions that read and write the same row: the second gets 40001."""
    where = one.replace("?shop=one", "")
    with (psycopg.connect(where, options="-c collop.shop=one") as first,
          psycopg.connect(where, options="-c collop.shop=one") as second):  # fmt: skip
        for conn in (first, second):
            conn.isolation_level = psycopg.IsolationLevel.SERIALIZABLE
            conn.execute("SELECT count(*) FROM settings")
        for conn in (first, second):
            conn.execute("INSERT INTO settings (name, value) VALUES (%s, '1')", [f"{id(conn)}"])
        first.commit()
        with pytest.raises(psycopg.errors.SerializationFailure):
            second.commit()


def test_a_failed_proof_of_order_is_run_again_and_kept_once(store, one):
    """Another writer commits in the midst of the work: it runs twice, both additions stand."""
    other, runs = Store(f"{one}&writers=retry"), []

    def work(conn):
        runs.append(conn.scalar(text("SELECT count(*) FROM settings")))
        if len(runs) == 1:
            other.run(add_one)
        add_one(conn)
        return "done"

    assert store.run(work) == "done"
    other.close()
    assert len(runs) == 2
    assert kept(store) == "2"


def test_acts_that_meet_are_all_done_once(one):
    """Without the lock, four stores book a gram of the same line ten times each: 40 bookings."""
    with open_shop(f"{one}&writers=retry", StillClock()) as shop, ThreadPoolExecutor(4) as crowd:
        others = [open_shop(f"{one}&writers=retry", StillClock()) for _ in range(4)]

        def book(at):
            chosen = others[at % 4]
            return chosen.book(order("C02", "1", WeightUnit.G), key=f"gram-{at}").id

        found = list(crowd.map(book, range(40)))
        assert sorted(found, key=lambda name: int(name[1:])) == [f"H{at}" for at in range(11, 51)]
        assert [shop.book(order("C02", "1", WeightUnit.G), key=f"gram-{at}").id
                for at in range(40)] == found  # fmt: skip
        assert shop.check() == []
        for other in others:
            other.close()


def test_a_deadlock_is_run_again(store, one):
    """Two works that take two rows crosswise both come to an end, and each is kept once."""
    other, meet = Store(f"{one}&writers=retry"), threading.Barrier(2, timeout=20)
    with store.write() as conn:
        put(conn, 0, "a")
        put(conn, 0, "b")
    runs = []

    def work(chosen, names):
        def both(conn):
            first = threading.get_ident() not in runs
            runs.append(threading.get_ident())
            add_one(conn, names[0])
            if first:
                meet.wait()
            add_one(conn, names[1])

        chosen.run(both)

    with ThreadPoolExecutor(2) as crowd:
        for done in [crowd.submit(work, store, "ab"), crowd.submit(work, other, "ba")]:
            done.result()
    other.close()
    assert len(runs) > 2
    assert (kept(store, "a"), kept(store, "b")) == ("2", "2")


def test_an_answer_lost_after_the_commit_is_found_by_its_key(one, monkeypatch):
    """The connection dies when all is kept: the booking is there once, under the same number."""
    with open_shop(one, StillClock()) as shop:
        dialect = shop._room.store._writer.dialect
        real, lost = dialect.do_commit, []

        def commit(raw):
            real(raw)
            if not lost:
                lost.append(True)
                raw.dbapi_connection.close()
                raise psycopg.OperationalError("server closed the connection unexpectedly")

        monkeypatch.setattr(dialect, "do_commit", commit)
        before = len(all_bookings(shop))
        assert shop.book(order("C23", "4.1"), key="lost").id == "H11"
        assert lost
        assert len(all_bookings(shop)) == before + 1
        assert shop.book(order("C23", "4.1"), key="lost").id == "H11"
        assert shop.check() == []


def test_a_connection_ended_before_the_commit_leaves_nothing_and_is_run_again(ground, one):
    """The server ends the connection in the midst of an act; the next run books once."""
    with open_shop(one, StillClock()) as shop:
        runs = []

        def work(act):
            runs.append(act.conn.scalar(text("SELECT pg_backend_pid()")))
            put(act.conn, len(runs))
            if len(runs) == 1:
                ground.sql(f"SELECT pg_terminate_backend({runs[0]})")
            put(act.conn, len(runs))
            return "kept"

        room = shop._room
        assert once(room, "test", [], by="dot", key="ended", work=work) == "kept"
        assert len(set(runs)) == 2
        assert kept(room.store) == "2"
        assert shop.check() == []


def test_after_the_last_try_one_sentence_is_said(one, monkeypatch):
    """A work that always meets another gives up, and says so in one sentence."""
    monkeypatch.setattr("collop.shop.store.TRIES", 3)
    store, runs = Store(one), []

    def work(conn):
        runs.append(1)
        conn.exec_driver_sql("DO $$ BEGIN RAISE EXCEPTION 'met' USING ERRCODE = '40001'; END $$")

    with pytest.raises(StorageTrouble, match="busy with another writer; try again"):
        store.run(work)
    store.close()
    assert len(runs) == 3


def test_a_fault_of_the_work_is_not_run_again(one):
    """What is refused for good is refused at once, and the lock is let go."""
    store, runs = Store(one), []

    def work(conn):
        runs.append(1)
        raise NotEnoughFree("No more.")

    with pytest.raises(NotEnoughFree):
        store.run(work)
    with store.write() as conn:
        locks = "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND granted"
        assert conn.scalar(text(locks)) == 1
    with store.read() as conn:
        assert conn.scalar(text(locks)) == 0
    store.close()
    assert len(runs) == 1


def test_writers_of_one_shop_take_turns_and_those_of_another_do_not_wait(pair):
    """A writer that holds its turn stops its own shop's writers and no other's."""
    mine, same, other = (Store(f"{pair}?shop={name}") for name in ("one", "one", "two"))
    with ThreadPoolExecutor(1) as crowd:
        with mine.write() as conn:
            put(conn, 1)
            waiting = crowd.submit(same.run, add_one)
            other.run(add_one)
            time.sleep(0.3)
            assert not waiting.done()
        waiting.result(timeout=20)
    assert (kept(mine), kept(other)) == ("2", "1")
    for store in (mine, same, other):
        store.close()


def test_of_two_hundred_threads_and_four_processes_one_gets_the_last_bird(one):
    """A hundred threads here and 25 in each of four processes: one booking is made."""
    with open_shop(one, StillClock()) as shop:
        shop.book(order("C23", "36.9"), key="nine")

        def grab(at):
            try:
                return shop.book(order("C23", "4.1"), key=f"crowd-{at}").id
            except NotEnoughFree:
                return None

        workers = [
            subprocess.Popen([sys.executable, "-c", GRAB, one, f"p{at}"], stdin=subprocess.PIPE,
                             stdout=subprocess.PIPE, text=True)
            for at in range(4)
        ]  # fmt: skip
        for worker in workers:
            assert worker.stdout.readline() == "ready\n"
        for worker in workers:
            worker.stdin.write("go\n")
            worker.stdin.flush()
        with ThreadPoolExecutor(100) as crowd:
            won = [name for name in crowd.map(grab, range(100)) if name]
        for worker in workers:
            out, _ = worker.communicate(timeout=120)
            assert worker.returncode == 0
            won += [name for name in out.strip("[]\n").split(", ") if name]
        assert len(won) == 1
        assert shop.check() == []


def wait_for(is_so, longest_s=120):
    """Wait until something is so; a machine that is busy may take its time."""
    until = time.monotonic() + longest_s
    while not is_so():
        assert time.monotonic() < until
        time.sleep(0.05)


@pytest.mark.parametrize("how", ["immediate", "kill"])
def test_a_server_that_dies_in_the_midst_keeps_what_it_acknowledged(ground, one, how):
    """Four times it is stopped without ado, or killed; all answers stand, and none twice.

    Who writes waits while it is away. A fault is told only of what was sent before it was back:
    where the answer was being read again when it died, or where it is away longer than the tries
    last. The same request sent anew finds what was kept.
    """
    answers, unknown, away, over = {}, [], [], threading.Event()

    def write(name):
        with open_shop(one, StillClock()) as shop:
            at = 0
            while not over.is_set():
                at += 1
                key, sent = f"{name}-{at}", time.monotonic()
                try:
                    answers[key] = shop.book(order("C02", "1", WeightUnit.G, key), key=key).id
                except StorageTrouble:
                    unknown.append((key, sent, time.monotonic()))
                    over.wait(0.5)

    with ThreadPoolExecutor(3) as crowd:
        writers = [crowd.submit(write, name) for name in "abc"]
        try:
            for died in range(4):
                time.sleep(1.0)
                wait_for(lambda least=6 * died: len(answers) > least)
                dies = time.monotonic()
                if how == "kill":
                    ground.kill()
                else:
                    ground.stop("immediate")
                ground.start()
                away.append((dies, time.monotonic()))
            wait_for(lambda: len(answers) > 24)
        finally:
            over.set()
        for writer in writers:
            writer.result()
    with open_shop(one, StillClock()) as shop:
        for key, _sent, _told in unknown:  # who was told of a fault sends the same again
            assert key not in answers
            answers[key] = shop.book(order("C02", "1", WeightUnit.G, key), key=key).id
        found = {}
        for booking in all_bookings(shop):
            found.setdefault(booking.name, []).append(booking.id)
        assert all(found[key] == [number] for key, number in answers.items())
        for key, sent, told in unknown:
            assert any(sent <= back and dies <= told for dies, back in away), key
        numbers = sorted(int(number[1:]) for number in answers.values())
        assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))
        assert shop.check() == []
