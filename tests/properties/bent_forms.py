"""The forms of the shop's own pages, sent as they stand or with a field or two bent.

Requests made up from a description mostly fall at the first field; these come through to the act,
because a page has just shown what stands in them: keys, what was seen, names of things there are.
"""

from __future__ import annotations

import re
import sqlite3
from random import Random
from urllib.parse import urljoin, urlsplit

from odd_requests import ODD
from page_forms import HERE, FormsOf, route_at, routes_of

#: Of an address that takes names, this many are kept to go to.
_MOST_ADDRESSES = 40
_FORMS_A_PAGE = 3
#: These end the walk: they shut the shop to whoever walks.
SHUTTING = ("/people/lock", "/people/me/out", "/sign-out")
#: A refused try is counted here, and so written.
COUNTED_TRIES = ("/sign-in",)
#: One form stands on every page: it is sent this often, and then left.
_ON_EVERY_PAGE, _OFTEN = "/device/units", 5
_TYPED = {
    "amount": ("1", "0.5", "4.85", "12.00", "0.25"), "count": ("1", "2", "3"),
    "date": ("2026-06-12", "2026-06-13", "2026-06-15"), "time": ("09:00", "16:00"),
    "password": ("four wet hands in June",), "search": ("Ann",),
}  # fmt: skip
_TEXT = ("Ann", "1", "2", "because the bone was split", "H1", "C01", "7.40", "2026-06-12")


class Bender:
    """Goes from page to page of a shop and sends what stands there; the same way each time.

    Parameters
    ----------
    client : TestClient
        Of the shop; it does not follow redirections.
    app : FastAPI
        The same shop's application.
    seed : int
        Of the choices.
    """

    def __init__(self, client, app, seed=1):
        self.client, self.routes, self.random = client, routes_of(app), Random(seed)
        self.addresses, self.visits = {}, {}
        for route in self.routes:
            if "GET" in route.methods and "{" not in route.path:
                self.addresses[route.path] = [route.path]

    def requests(self):
        """Yield one page and some of its forms, for ever less visited first; send answers back.

        Yields
        ------
        tuple
            Method, path of the route, address, form: names to lists of values, or None.
        """
        while True:
            path = min(self.addresses, key=lambda one: (self.visits.get(one, 0), one))
            address = self.random.choice(self.addresses[path])
            answer = yield "GET", path, address, None
            self.visits[path] = self.visits.get(path, 0) + 1
            for form, goes, route in self._forms(address, answer):
                key = f"POST {route.path}"
                self.visits[key] = self.visits.get(key, 0) + 1
                done = yield "POST", route.path, goes, self._filled(form)
                self._learn(goes, done.headers.get("location", ""))

    def _forms(self, address, answer):
        self._learn(address, answer.headers.get("location", ""))
        if "html" not in answer.headers.get("content-type", ""):
            return []
        page = FormsOf(answer.text)
        for link in sorted(page.links):
            self._learn(address, link)
        found = []
        for form in page.forms:
            goes = urljoin(HERE + address, form.action or address)
            if form.method == "POST" and goes.startswith(HERE):
                goes = goes.removeprefix(HERE)
                route = route_at(self.routes, "POST", urlsplit(goes).path)
                if route is not None and not self._is_left_out(route.path):
                    found.append((form, goes, route))
        self.random.shuffle(found)
        found.sort(key=lambda one: self.visits.get(f"POST {one[2].path}", 0))
        return found[:_FORMS_A_PAGE]

    def _is_left_out(self, path):
        often = self.visits.get(f"POST {path}", 0) >= _OFTEN
        return path in SHUTTING or (path == _ON_EVERY_PAGE and often)

    def _learn(self, here, link):
        goes = urljoin(HERE + here, link)
        if not link or not goes.startswith(HERE + "/"):
            return
        goes = goes.removeprefix(HERE).partition("#")[0]
        route = route_at(self.routes, "GET", urlsplit(goes).path)
        if route is None:
            return
        known = self.addresses.setdefault(route.path, [])
        if goes not in known:
            known.append(goes)
            if len(known) > _MOST_ADDRESSES:
                del known[self.random.randrange(len(known) - 1)]

    def _filled(self, form):
        """Return a form as a person fills it, now and then with something odd in it."""
        random, sent, chosen = self.random, {}, {}
        for one in form.fields:
            if one.kind in {"radio", "button", "submit"}:
                kind = "radio" if one.kind == "radio" else "button"
                chosen.setdefault((kind, one.name if kind == "radio" else ""), []).append(one)
            elif one.kind == "checkbox":
                if random.random() < (0.8 if one.is_sent else 0.3):
                    sent.setdefault(one.name, []).extend(one.values or ["on"])
            elif one.kind != "file":
                sent.setdefault(one.name, []).append(self._value(one))
        for (kind, _name), fields in chosen.items():
            one = random.choice(fields)
            if kind == "radio" or random.random() < 0.7:
                sent[one.name] = list(one.values) or ["on"]
        for _ in range(random.choice((0, 0, 0, 1, 1, 2))):
            if sent:
                self._bend(sent)
        return sent

    def _value(self, one):
        values = [value for value in one.values if value]
        if one.kind == "choice" and values:
            return values[0] if self.random.random() < 0.5 else self.random.choice(values)
        if one.kind == "hidden" or (values and self.random.random() < 0.8):
            return one.values[0] if one.values else ""
        if re.search(r"\d", one.name) and self.random.random() < 0.6:
            return ""  # of ten lines most are left empty
        return self.random.choice(_TYPED.get(one.kind, _TEXT))

    def _bend(self, sent):
        random = self.random
        name = random.choice(sorted(sent))
        bent = random.randrange(4)
        if bent == 0:
            del sent[name]
        elif bent == 1:
            sent[name] = sent[name] * 2 + [random.choice(ODD)]
        elif bent == 2 and len(sent) > 1:
            sent[name] = list(sent[random.choice(sorted(sent))])
        else:
            sent[name] = [random.choice(ODD)]


def may_write(method, path, status):
    """Tell whether something may have been written when a request was answered so."""
    if method == "GET":
        return False
    return status < 400 or (path in COUNTED_TRIES and status in {401, 429})


class Written:
    """Tells whether anything was committed to a shop's SQLite file since it was last asked.

    ``PRAGMA data_version`` changes with each commit of another connection (SQLite, pragma list).
    """

    def __init__(self, path):
        self._eye = sqlite3.connect(path)
        self._last = self._now()

    def _now(self):
        return self._eye.execute("PRAGMA data_version").fetchone()[0]

    def since(self):
        """Return whether something was committed since the last call."""
        now = self._now()
        was, self._last = self._last, now
        return now != was

    def close(self):
        """Look away."""
        self._eye.close()
