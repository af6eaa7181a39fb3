"""Every route, sent requests half real and half rubbish, never breaks and never half writes.

What a route takes is read from the application's own OpenAPI description (OpenAPI 3.1; good and bad
requests of the last test are made from it by the reference library schemathesis); the forms of the
second test from the pages themselves. That a refusal wrote nothing is told by SQLite (its pragma
``data_version``). The long run is ``benchmarks/fuzz/routes.py``.
"""

from __future__ import annotations

import sys
from contextlib import suppress
from itertools import product
from pathlib import Path

import pytest
from bent_forms import SHUTTING, Bender, Written, may_write
from odd_requests import fault_of, names_real, request_of
from page_forms import HERE, routes_of
from starlette.testclient import TestClient

from collop.shop import StillClock, create_shop
from collop.web import create_app

sys.path.append(str(Path(__file__).parents[1] / "web"))

import fake_kernel

#: Pages and forms that are sent.
_SENT = 350
#: Every so many operations get requests of schemathesis: all of them take minutes.
_EVERY = 40


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    path = tmp_path_factory.mktemp("any") / "shop.db"
    with create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()) as shop:
        app = create_app(shop, answer=fake_kernel.answer)
        with TestClient(app, base_url=HERE, follow_redirects=False) as client:
            yield Watched(shop, app, client, Written(path))


class Watched:
    """A shop served, and what was wrong with its answers."""

    def __init__(self, shop, app, client, written):
        self.shop, self.app, self.client, self.written = shop, app, client, written
        self.faults, self.done = [], {}

    def send(self, method, path, address, **sent):
        """Send one request of a route; return the answer."""
        answer = self.client.request(method, address, **sent)
        fault = fault_of(answer)
        if self.written.since() and not may_write(method, path, answer.status_code):
            fault = fault or f"{answer.status_code}, and something was written"
        if fault:
            self.faults.append((method, path, address, sent, fault))
        self.done.setdefault(f"{method} {path}", set()).add(answer.status_code)
        return answer

    def told(self):
        """Return what was wrong with answers since the last time, and which there were."""
        told = self.faults, self.done
        self.faults, self.done = [], {}
        return told


def _grouped(form):
    data = {}
    for name, value in form:
        data.setdefault(name, []).append(value)
    return data or None


def test_every_route_answers_any_request_with_a_page_or_a_sentence(served):
    """No server error, no traceback, nothing written and refused; the ledger and the log hold."""
    for route in routes_of(served.app):
        for method in sorted(route.methods - {"HEAD"}):
            if route.path not in SHUTTING:
                address, query, form = request_of(method, route.path, 1_000_000)
                served.send(method, route.path, address, params=query or None, data=_grouped(form))
    faults, done = served.told()
    assert faults == []
    assert len(done) > 240
    assert served.shop.check() == []


def test_the_forms_of_the_pages_bent_a_little_are_acts_or_refusals(served):
    """A third of the routes come to the end of their act; what lies behind a field is tried."""
    requests, answer = Bender(served.client, served.app).requests(), None
    for _ in range(_SENT):
        method, path, address, form = requests.send(answer)
        answer = served.send(method, path, address, data=form or None)
    faults, done = served.told()
    assert faults == []
    sent = [statuses for key, statuses in done.items() if key.startswith("POST")]
    assert sum(1 for statuses in sent if statuses & {200, 303}) >= len(sent) / 3 > 15
    assert served.shop.check() == []


@pytest.mark.parametrize(
    "header",
    [("Cookie", "=;;=\xff; units=\xb2; session=" + "9" * 3000), ("Cookie", 'units="'),
     ("Accept-Language", "\xff" * 50), ("HX-Request", "\xff"), ("If-None-Match", '"' * 999),
     ("X-Forwarded-For", "1.2.3.4, x"), ("Range", "bytes=9-1,-0"), ("Content-Type", "a/b; =")],
)  # fmt: skip
def test_rubbish_in_a_header_is_a_header_not_sent(served, header):
    """Pages show and forms are refused as ever; nothing is written."""
    name, value = header
    headers = {name: value.encode("latin-1")}
    for path in ("/ask", "/case", "/hook", "/sign-in", "/" + "a" * 5000, "/%00"):
        served.send("GET", path, path, headers=headers, params={"a": "\0"})
    served.send("POST", "/sell", "/sell", headers=headers, content=b"\xff=%zz&%=&&=;\0")
    faults, done = served.told()
    assert faults == []
    assert done["GET /ask"] == {200}
    assert min(done["POST /sell"]) >= 400


def test_requests_made_from_the_description_are_answered_too(served):
    """Some operations, each with requests that fit the description and some that do not."""
    import schemathesis
    from hypothesis import HealthCheck, given, settings
    from hypothesis.errors import Unsatisfiable

    made = schemathesis.openapi.from_dict(served.app.openapi())
    operations = [one.ok() for one in made.get_all_operations()][::_EVERY]
    for operation, mode in product(operations, schemathesis.GenerationMode):

        @given(operation.as_strategy(generation_mode=mode))
        @settings(max_examples=3, database=None, suppress_health_check=list(HealthCheck))
        def send(case):
            names_real(case)
            body = case.body if isinstance(case.body, dict) else {}
            served.send(case.method, case.operation.path, case.formatted_path,
                        params=case.query or None, data=body or None)  # fmt: skip

        # of some operations nothing can be made that does not fit
        with suppress(Unsatisfiable):
            send()
    faults, done = served.told()
    assert faults == []
    assert len(done) == len(operations)
    assert served.shop.check() == []
