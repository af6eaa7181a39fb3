"""Many counters at once, and a machine that dies in the middle."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack

import pytest
from wished import case_line, lb, line, order

from collop.errors import NotEnoughFree, StorageTrouble
from collop.shop import open_shop
from collop.shop.store import Store

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

with open_shop(url) as shop, ThreadPoolExecutor(10) as crowd:
    print("ready", flush=True)
    sys.stdin.readline()
    print([won for won in crowd.map(grab, range(10)) if won], flush=True)
"""

BOOK_ON = """
import sys
from datetime import datetime
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, open_shop

shop = open_shop(sys.argv[1])
grams = NewLine("C02", Weight.of("1", WeightUnit.G))
at = 0
while True:
    at += 1
    when = datetime(2026, 6, 13, 10)
    new = NewBooking(name=f"number {at}", collect_at=when, by="dot", lines=(grams,))
    print(shop.book(new, key=f"{sys.argv[2]}-{at}").id, flush=True)
"""


@pytest.fixture
def last_bird(shop):
    """Nine of the ten free birds are booked; one is left."""
    shop.book(order(line("C23", "36.9")), key="nine")
    return shop


def birds_left(shop):
    return len(case_line(shop, "C23").piece_lb)


def test_of_two_hundred_threads_exactly_one_gets_the_last_bird(last_bird):
    """Forty threads book it five times over; one booking is made and nobody crashes."""

    def grab(at):
        try:
            return last_bird.book(order(line("C23", "4.1")), key=f"crowd-{at}").id
        except NotEnoughFree as error:
            return error

    with ThreadPoolExecutor(40) as crowd:
        found = list(crowd.map(grab, range(200)))
    assert [one for one in found if isinstance(one, str)] == ["H12"]
    assert birds_left(last_bird) == 0


def test_of_four_processes_exactly_one_gets_the_last_bird(last_bird, url):
    """Four counters, ten hands each, all at once on the same file."""
    with ExitStack() as stack:
        counters = [
            stack.enter_context(
                subprocess.Popen(
                    [sys.executable, "-c", GRAB, url, f"counter {at}"],
                    stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
                )
            )
            for at in range(4)
        ]  # fmt: skip
        for counter in counters:
            assert counter.stdout.readline() == "ready\n"
        for counter in counters:
            counter.stdin.write("go\n")
            counter.stdin.flush()
        said = [counter.communicate()[0].strip() for counter in counters]
    assert [counter.returncode for counter in counters] == [0, 0, 0, 0]
    assert sorted(said) == ["['H12']", "[]", "[]", "[]"]
    assert birds_left(last_bird) == 0


def test_the_same_key_from_many_threads_books_once(shop):
    """Forty senders of one request get one booking."""
    wish = order(line("C01", "1"))
    with ThreadPoolExecutor(40) as crowd:
        found = list(crowd.map(lambda _at: shop.book(wish, key="same"), range(40)))
    assert {one.id for one in found} == {"H11"}
    assert case_line(shop, "C01").free == lb("7")


def test_a_kill_at_any_moment_loses_no_acknowledged_booking(shop_file, url):
    """Three times killed while booking: every id it printed is there, and the ledger holds."""
    said = []
    for round_ in range(3):
        with subprocess.Popen(
            [sys.executable, "-c", BOOK_ON, url, str(round_)], stdout=subprocess.PIPE, text=True
        ) as worker:
            said += [worker.stdout.readline().strip() for _ in range(5 + 7 * round_)]
            worker.kill()
            rest = worker.stdout.read().splitlines(keepends=True)
            said += [line_.strip() for line_ in rest if line_.endswith("\n")]
    assert len(said) >= 36
    with open_shop(url) as shop:
        assert [shop.booking(name).id for name in said] == said
        assert shop.check() == []
        booked = case_line(shop, "C02").booked - lb("9")
        made = shop.bookings(order().collect_at.date(), order().collect_at.date())
        ours = [one for one in made if one.name.startswith("number ")]
        assert booked.count == len(ours) * 100_000_000
        assert len(ours) >= len(set(said))


def test_a_request_cut_off_may_be_sent_again(shop, monkeypatch):
    """The counter dies after the write and before the answer: the second try finds it done."""
    wish = order(line("C01", "2"))

    def gone(_store):
        raise StorageTrouble("The database shop.db is gone.")

    with monkeypatch.context() as broken:
        broken.setattr(Store, "read", gone)
        with pytest.raises(StorageTrouble):
            shop.book(wish, key="cut off")
    assert case_line(shop, "C01").free == lb("6")
    assert shop.book(wish, key="cut off").id == "H11"
    assert case_line(shop, "C01").free == lb("6")
