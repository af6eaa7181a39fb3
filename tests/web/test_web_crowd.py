"""Many clients who book the same last bird at once, over real connections.

The full run, two hundred clients and fifty rounds on both databases, is
``benchmarks/reliability/crowd.py``; this is the same crowd, smaller.
"""

from __future__ import annotations

import random
import shutil
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

from killed_server import Hand, Nursery, fields_of

from collop.shop import StillClock, open_shop

CLIENTS, ROUNDS = 16, 2


def bodies(name, birds=1, clients=CLIENTS):
    """Return the form of each client, with a key of its own."""
    return [
        {"name": f"{name} {at}", "phone": "07700 900 4471", "day": "2026-06-12", "time": "10:00",
         "cut1": "C23", "amount1": str(birds), "by": "dot", "key": f"{name}-{at}"}
        for at in range(clients)
    ]  # fmt: skip


def sent_at_once(port, notes, forms):
    """Send each form on a line of its own, all released together; return what each was told."""
    gate = threading.Barrier(len(forms))

    def send(form):
        hand = Hand("crowd", notes, random.Random(1), port)
        gate.wait(30)
        return hand.ask("POST", "/free-by/book", form)

    with ThreadPoolExecutor(len(forms)) as crowd:
        return list(crowd.map(send, forms))


def test_one_client_gets_the_last_bird_and_all_others_one_sentence(demo_file, tmp_path, words):
    """Round after round exactly one booking; the rest are refused in words, by no fault of ours."""
    path, notes = Path(shutil.copy(demo_file, tmp_path / "crowd.db")), tmp_path / "notes"
    nursery = Nursery(path)
    try:
        port = nursery.start()
        sent_at_once(port, notes, bodies("Early", birds=9, clients=1))
        for number in range(ROUNDS):
            told = sent_at_once(port, notes, bodies(f"Round {number}"))
            (won,) = [place for status, place, _ in told if status == 303]
            others = [(status, words(text)) for status, _, text in told if status != 303]
            assert {status for status, _ in others} <= {409, 422}
            for _, text in others:
                gone = "none of Chicken, whole" in text, "0 pieces may be promised" in text
                assert sum(gone) == 1
            with open_shop(f"sqlite:///{path}", StillClock()) as shop:
                day = shop.bookings(date(2026, 6, 12), date(2026, 6, 12))
            assert [one.id for one in day if one.name.startswith(f"Round {number} ")] == [
                won.partition("?")[0].rpartition("/")[2]
            ]
            slip = won.partition("?")[0]
            hand = Hand("K", notes, random.Random(1), port)
            form = fields_of(hand.ask("GET", slip)[2], f"{slip}/release") | {"by": "dot"}
            assert hand.ask("POST", f"{slip}/release", form)[0] == 303
        nursery.kill()
    finally:
        nursery.close()
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        assert shop.check() == []
