"""Requests on every route of the application, from its own description, for some minutes.

``python benchmarks/fuzz/routes.py --minutes 12`` makes a demo shop and goes round all routes: our
own requests (``tests/properties/odd_requests.py``: half real, half rubbish) and, every eighth time,
those that schemathesis makes from ``/openapi.json``, good and bad. It prints calls and statuses by
route, what may not be, and at the end whether the shop's ledger still holds.

Options: ``--kernel`` answers asks with the real kernel instead of the tests' quick one.
"""

from __future__ import annotations

import argparse
import logging
import sys
import tempfile
import time
import warnings
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests/web"), str(ROOT / "tests/properties")]

import fake_kernel  # noqa: E402
import schemathesis  # noqa: E402
from hypothesis import HealthCheck, given, settings  # noqa: E402
from odd_requests import fault_of, request_of  # noqa: E402
from page_forms import HERE, routes_of  # noqa: E402
from starlette.testclient import TestClient  # noqa: E402

from collop.shop import StillClock, create_shop  # noqa: E402
from collop.web import create_app  # noqa: E402

if TYPE_CHECKING:
    from fastapi import FastAPI

    from collop.shop import Shop

_SCHEMATHESIS_EVERY, _EXAMPLES = 8, 3


class Run:
    """The counts of one run."""

    def __init__(self, client: TestClient) -> None:
        self.client, self.statuses, self.faults = client, {}, {}
        self.made = Counter()

    def send(self, maker: str, method: str, path: str, **sent: Any) -> None:  # noqa: ANN401
        """Send one request of a route and keep how it was answered."""
        address = sent.pop("address")
        self.made[maker] += 1
        try:
            answer = self.client.request(method, address, **sent)
        except Exception as error:  # noqa: BLE001 -- whatever it is, it is a finding
            status, fault = "crash", repr(error)[:200]
        else:
            status, fault = answer.status_code, fault_of(answer)
        self.statuses.setdefault(f"{method} {path}", Counter())[status] += 1
        if fault and (method, path, fault[:40]) not in self.faults:
            self.faults[method, path, fault[:40]] = (fault, address, str(sent)[:600])
            print(f"  {method} {path}: {fault}\n    {address} {str(sent)[:600]}", flush=True)


def main() -> None:
    """Go round until the time is over, and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=12)
    parser.add_argument("--kernel", action="store_true")
    told = parser.parse_args()
    logging.disable(logging.CRITICAL)
    with tempfile.TemporaryDirectory() as folder:
        shop = create_shop(f"sqlite:///{folder}/shop.db", demo=True, clock=StillClock())
        app = create_app(shop, answer=None if told.kernel else fake_kernel.answer)
        with shop, TestClient(app, base_url=HERE, follow_redirects=False,
                              raise_server_exceptions=False) as client:  # fmt: skip
            run = Run(client)
            rounds = go_round(run, app, time.monotonic() + 60 * told.minutes)
            tell(run, rounds, shop)


def go_round(run: Run, app: FastAPI, until: float) -> int:
    """Send requests of every route, over and over; return how many rounds were whole."""
    routes = [(method, one.path) for one in routes_of(app)
              for method in sorted(one.methods - {"HEAD"})]  # fmt: skip
    made = schemathesis.openapi.from_dict(app.openapi())
    operations = [one.ok() for one in made.get_all_operations()]
    number = 0
    while True:
        if number % _SCHEMATHESIS_EVERY == 1:
            for one in operations:
                if time.monotonic() > until:
                    return number
                _of_description(run, one)
        for method, path in routes:
            if time.monotonic() > until:
                return number
            address, query, form = request_of(method, path, number)
            body = {"data": _grouped(form)} if form else {}
            run.send("own", method, path, address=address, params=query or None, **body)
        number += 1


def _grouped(form: list[tuple[str, str]]) -> dict[str, list[str]]:
    """Return a form as name to values, the way the client sends it."""
    found = {}
    for name, value in form:
        found.setdefault(name, []).append(value)
    return found


def _of_description(run: Run, operation: Any) -> None:  # noqa: ANN401 -- schemathesis' own
    """Send what schemathesis makes of one operation, good and bad."""
    for mode in schemathesis.GenerationMode:

        @given(operation.as_strategy(generation_mode=mode))
        @settings(max_examples=_EXAMPLES, database=None, deadline=None, derandomize=True,
                  suppress_health_check=list(HealthCheck))  # fmt: skip
        def send(case: schemathesis.Case) -> None:
            body = case.body if isinstance(case.body, dict) else None
            data = {str(k): str(v) for k, v in body.items()} if body else None
            params = {str(k): str(v) for k, v in (case.query or {}).items()}
            maker = f"schemathesis {mode.value}"  # noqa: B023 -- called before the next turn
            run.send(maker, operation.method.upper(), operation.path,
                     address=case.formatted_path, params=params or None, data=data)  # fmt: skip

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                send()
            except Exception as error:  # noqa: BLE001 -- no negative value can be made of it
                run.made[f"not made: {type(error).__name__}"] += 1


def tell(run: Run, rounds: int, shop: Shop) -> None:
    """Print counts by route, in all, what may not be, and the ledger."""
    for key, found in sorted(run.statuses.items()):
        shown = "  ".join(f"{status}: {count}" for status, count in sorted(found.items(), key=str))
        print(f"{key:<48}{sum(found.values()):>7}  {shown}")
    sums = sum(run.statuses.values(), Counter())
    print(
        f"{len(run.statuses)} routes, {sum(sums.values())} calls, {rounds} rounds; {dict(run.made)}"
    )
    print("statuses", dict(sorted(sums.items(), key=str)))
    print(f"{len(run.faults)} findings; shop.check() == {shop.check()}")


if __name__ == "__main__":
    main()
