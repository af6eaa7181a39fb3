"""Writers that meet: the lock that orders them against running again whoever failed its proof.

Run ``python benchmarks/reliability/writers.py [--bookings N]``. One PostgreSQL server that syncs;
1, 2, 4 and 8 counters book a gram of the same line as fast as they can, each with connections of
its own, once with the lock and once with ``writers=retry``. Told are bookings a second, median and
95th percentile of one booking, and how often a work was run again.
"""

from __future__ import annotations

import argparse
import json
import statistics
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from replicas import Cluster, grams

from collop.errors import StorageTrouble
from collop.shop import create_shop, open_shop, store


def run(url: str, writers: int, bookings: int, name: str) -> dict[str, object]:
    """Let the writers share the bookings, and return what it took."""
    pauses: list[int] = []
    real = store._pause  # noqa: SLF001 -- each pause is one work that is run again

    def counted(attempt: int) -> None:
        pauses.append(attempt)
        real(attempt)

    def book(at: int) -> list[float]:
        times = []
        with open_shop(url) as shop:
            for number in range(bookings // writers):
                key = f"{name}-{at}-{number}"
                began = time.perf_counter()
                try:
                    shop.book(grams(key), key=key)
                except StorageTrouble:
                    failed.append(key)
                times.append((time.perf_counter() - began) * 1000)
        return times

    failed: list[str] = []
    store._pause = counted  # noqa: SLF001
    try:
        began = time.perf_counter()
        with ThreadPoolExecutor(writers) as crowd:
            times = sorted(one for done in crowd.map(book, range(writers)) for one in done)
        took = time.perf_counter() - began
    finally:
        store._pause = real  # noqa: SLF001
    return {"how": name, "writers": writers, "bookings": len(times),
            "a_second": round(len(times) / took, 1), "median_ms": round(statistics.median(times)),
            "p95_ms": round(times[int(len(times) * 0.95)]), "run_again": len(pauses),
            "refused": len(failed)}  # fmt: skip


def main() -> None:
    """Print the figures."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--bookings", type=int, default=160)
    chosen = words.parse_args()
    found = []
    with tempfile.TemporaryDirectory(prefix="collop-writers-") as place:
        Path(place).chmod(0o755)
        server = Cluster(Path(place) / "server")
        try:
            server.make()
            server.sql("CREATE ROLE collop LOGIN")
            server.sql("CREATE DATABASE collop OWNER collop")
            url = f"postgresql://collop@127.0.0.1:{server.port}/collop?shop=mill"
            create_shop(url, demo=True).close()
            for writers in (1, 2, 4, 8):
                found += [
                    run(f"{url}&writers={how}", writers, chosen.bookings, f"{how} {writers}")
                    for how in ("lock", "retry")
                ]
        finally:
            server.close()
    print(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
