"""Two hundred clients who book the same last bird at once, round after round.

    .venv/bin/python benchmarks/reliability/crowd.py [--rounds 50] [--clients 200]

Nine of the ten whole birds of the demo shop are booked. In each round all clients have a line open
before the first of them speaks; then each sends the form of ``/free-by/book`` for one bird, with a
key of its own. One of them must be told a booking and all others one sentence: with status 409 if
the bird was there when their form was read, with 422 if it was gone by then. The shop must have
exactly that one booking more; it is released for the next round. Once on a file
behind one server, and once on PostgreSQL behind two servers between which the clients are shared.
"""

from __future__ import annotations

import argparse
import asyncio
import html
import http.client
import platform
import re
import sys
import tempfile
import time
from collections import Counter
from contextlib import ExitStack, closing, contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "src"), str(HERE.parents[2] / "tests")]

import served as _s; _s.DEADLINE_S = 400; from served import served

from collop.shop import StillClock, create_shop, open_shop  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Iterator

BIRD, BIRDS, DAY = "C23", 10, date(2026, 6, 12)
FORM = "application/x-www-form-urlencoded"
_NOTICE = re.compile(
    r'<p class="notice loud" role="alert">(.*?)</p>'  # refused as the shop stood
    r'|<section class="problem" id="problem".*?<ul>(.*?)</ul>',  # or while the form was read
    re.DOTALL,
)


def wish(name: str, key: str, birds: int) -> str:
    """Return the form of a booking as a browser sends it."""
    return urlencode({
        "name": name, "phone": "07700 900 4471", "day": DAY.isoformat(), "time": "10:00",
        "cut1": BIRD, "amount1": str(birds), "by": "dot", "key": key,
    })  # fmt: skip


def post(port: int, address: str, body: str) -> tuple[int, str]:
    """Send one form on a line of its own and return status and place."""
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as line:
        line.request("POST", address, body=body, headers={"Content-Type": FORM})
        answer = line.getresponse()
        answer.read()
        return answer.status, answer.getheader("location", "") or ""


async def booked_at_once(ports: list[int], bodies: list[str]) -> list[tuple[int, str, str, float]]:
    """Open a line for each form, then send all; return status, place, text and seconds of each."""
    lines = await asyncio.gather(*(
        asyncio.open_connection("127.0.0.1", ports[at % len(ports)]) for at in range(len(bodies))
    ))  # fmt: skip

    async def answer(at: int, begun: float) -> tuple[int, str, str, float]:
        reader, writer = lines[at]
        text = (await reader.read()).decode()
        writer.close()
        head, _, page = text.partition("\r\n\r\n")
        place = re.search(r"(?im)^location: (\S+)", head)
        status = int(head.split()[1]) if head else 0
        return status, place[1] if place else "", page, time.perf_counter() - begun

    for (_, writer), body in zip(lines, bodies, strict=True):
        writer.write(f"POST /free-by/book HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n"
                     f"Content-Type: {FORM}\r\nContent-Length: {len(body)}\r\n\r\n{body}"
                     .encode())  # fmt: skip
    begun = time.perf_counter()
    return list(await asyncio.gather(*(answer(at, begun) for at in range(len(bodies)))))


def holders(url: str, name: str) -> int:
    """Return how many bookings of a round hold a bird."""
    with open_shop(url, StillClock()) as shop:
        return sum(one.name.startswith(name) and one.state.holds for one in shop.bookings(DAY, DAY))


def round_at(url: str, ports: list[int], clients: int, name: str, seen: Counter[str]) -> float:
    """Let all clients book, count what they were told, and return the slowest one's seconds."""
    bodies = [wish(f"{name} client {at}", f"{name}-{at}", 1) for at in range(clients)]
    told = asyncio.run(booked_at_once(ports, bodies))
    seen.update(f"status {status}" for status, *_ in told)
    won = [place for status, place, *_ in told if status == 303]
    notices = [_NOTICE.findall(page) for status, _, page, _ in told if status in {409, 422}]
    seen["rounds"] += 1
    seen["one wins"] += len(won) == 1 and holders(url, f"{name} client") == 1
    seen["told in one sentence"] += sum(len(one) == 1 for one in notices)
    seen["told it is busy"] += sum("busy with another" in str(one) for one in notices)
    if len(won) != 1:
        print(f"FOUND {name}: {won}", flush=True)
    if seen["rounds"] == 1:
        for one in sorted({" ".join(re.sub(r"<[^>]+>", " ", "".join(*one)).split())
                           for one in notices}):  # fmt: skip
            print("The others read:", html.unescape(one), flush=True)
    for place in won:
        body = urlencode({"by": "dot", "key": f"{name} {place}", "why": "next round"})
        status, _ = post(ports[0], f"{place.partition('?')[0]}/release", body)
        seen["released"] += status == 303
    return max(took for *_, took in told)


def crowd(url: str, ports: list[int], *, rounds: int, clients: int) -> Counter[str]:
    """Run all rounds against the servers of one shop and print what was seen."""
    seen, slowest = Counter[str](), 0.0
    status, place = post(ports[0], "/free-by/book", wish("Early", "early", BIRDS - 1))
    assert (status, place[:6]) == (303, "/hook/"), status
    for number in range(rounds):
        slowest = max(slowest, round_at(url, ports, clients, f"Round {number}", seen))
        if number % 10 == 9:
            print(f"{number + 1} rounds: {dict(seen)}", flush=True)
    with open_shop(url, StillClock()) as shop:
        seen["findings"] = len(shop.check())
    print(f"{url.partition(':')[0]}: {dict(seen)}, the last of a round waited {slowest:.1f} s at "
          "most", flush=True)  # fmt: skip
    return seen


@contextmanager
def postgresql() -> Iterator[str]:
    """Yield the address of a fresh demo shop on a throw-away server that syncs."""
    from pg_ground import Server  # noqa: PLC0415 -- the driver may not be here

    server = Server()
    try:
        url = f"{server.database('crowd')}?shop=mill"
        create_shop(url, demo=True).close()
        yield url
    finally:
        server.close()


@contextmanager
def sqlite() -> Iterator[str]:
    """Yield the address of a fresh demo shop in a file."""
    with tempfile.TemporaryDirectory() as name:
        url = f"sqlite:///{Path(name) / 'shop.db'}"
        create_shop(url, demo=True).close()
        yield url


GROUNDS = {"sqlite": (sqlite, 1), "postgresql": (postgresql, 2)}


def main() -> None:
    """Run both databases and print the table."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("--rounds", type=int, default=50)
    ask.add_argument("--clients", type=int, default=200)
    ask.add_argument("--db", choices=[*GROUNDS, "both"], default="both")
    told = ask.parse_args()
    begun, found = time.monotonic(), {}
    for name in GROUNDS if told.db == "both" else [told.db]:
        ground, servers = GROUNDS[name]
        with ground() as url, ExitStack() as stack:
            ports = [stack.enter_context(served(url))[0] for _ in range(servers)]
            found[name] = crowd(url, ports, rounds=told.rounds, clients=told.clients)
    print(f"\n{platform.machine()}, Python {platform.python_version()}, {told.clients} clients, "
          f"{time.monotonic() - begun:.0f} s\n")  # fmt: skip
    print("| database | servers | rounds | exactly one wins | 303 | 409 | 422 | other | one"
          " sentence | of these busy | findings |\n"
          "|---|---|---|---|---|---|---|---|---|---|---|")  # fmt: skip
    for name, seen in found.items():
        calls = sum(count for what, count in seen.items() if what.startswith("status"))
        other = calls - sum(seen[f"status {one}"] for one in (303, 409, 422))
        print(f"| {name} | {GROUNDS[name][1]} | {seen['rounds']} | {seen['one wins']} | "
              f"{seen['status 303']} | {seen['status 409']} | "
              f"{seen['status 422']} | {other} | "
              f"{seen['told in one sentence']} | {seen['told it is busy']} | "
              f"{seen['findings']} |")  # fmt: skip


if __name__ == "__main__":
    main()
