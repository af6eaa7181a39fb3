"""What the shop's own pages send: every form of a page, and a walk over all pages of a shop."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import parse_qsl, urljoin, urlsplit

from fastapi.routing import APIRoute
from starlette.routing import Match

from collop.web import forms

HERE = "http://127.0.0.1:8000"
_MOST_OF_ONE = 4
#: Not sent on the way, or the walk would be over.
_LEAVING = ("/sign-out", "/people/me/out")


@dataclass
class Field:
    """One field of a form: its kind, what stands in it, and what may be chosen."""

    name: str
    kind: str = "text"
    values: list = field(default_factory=list)
    is_sent: bool = True


@dataclass
class Form:
    """One form of a page: where it goes, and its fields in order."""

    method: str
    action: str
    fields: list = field(default_factory=list)

    def sent(self):
        """Return what a browser sends if nothing is typed: names and values."""
        return [(one.name, one.values[0] if one.values else "") for one in self.fields
                if one.is_sent]  # fmt: skip


class FormsOf(HTMLParser):
    """Every form and every address of a page."""

    def __init__(self, html):
        super().__init__()
        self.forms, self.links = [], set()
        self._by_id, self._later = {}, []
        self._form = self._select = None
        self.feed(html)
        for owner, one in self._later:
            if owner in self._by_id:
                self._by_id[owner].fields.append(one)

    def handle_starttag(self, tag, attrs):
        """Note what opens here."""
        facts = {name: value or "" for name, value in attrs}
        for name in ("href", "hx-get", "src"):
            if name in facts and tag != "script":
                self.links.add(facts[name])
        if tag == "form":
            post = "hx-post" in facts or facts.get("method", "get").lower() == "post"
            self._form = Form("POST" if post else "GET",
                              facts.get("action") or facts.get("hx-post", ""))  # fmt: skip
            self.forms.append(self._form)
            if "id" in facts:
                self._by_id[facts["id"]] = self._form
        elif "hx-post" in facts:
            self.forms.append(Form("POST", facts["hx-post"]))
        if tag in {"input", "select", "textarea", "button"} and facts.get("name"):
            self._put(tag, facts)
        if tag == "option" and self._select is not None and "value" in facts:
            at = 0 if "selected" in facts else len(self._select.values)
            self._select.values.insert(at, facts["value"])

    def _put(self, tag, facts):
        told = facts.get("type", "text")
        by_mode = {"decimal": "amount", "numeric": "count"}
        kind = by_mode.get(facts.get("inputmode", ""), told)
        kind = {"select": "choice", "button": "button", "textarea": "text"}.get(tag, kind)
        one = Field(facts["name"], kind, [facts["value"]] if "value" in facts else [])
        one.is_sent = told not in {"radio", "checkbox"} or "checked" in facts
        if told == "submit" or tag == "button":
            one.is_sent = False
        self._select = one if tag == "select" else None
        owner = facts.get("form")
        if owner:
            self._later.append((owner, one))
        elif self._form is not None:
            self._form.fields.append(one)

    def handle_endtag(self, tag):
        """Note what closes here."""
        if tag == "form":
            self._form = None
        if tag == "select":
            self._select = None


def routes_of(app):
    """Return every route of the application that is described."""
    found = []

    def look(routes):
        for one in routes:
            if isinstance(one, APIRoute):
                if one.include_in_schema:
                    found.append(one)
            elif hasattr(one, "original_router"):
                look(one.original_router.routes)

    look(app.routes)
    return found


def route_at(routes, method, path):
    """Return the route that answers an address; None if there is none."""
    scope = {"type": "http", "method": method, "path": path, "root_path": "", "headers": []}
    return next((one for one in routes if one.matches(scope)[0] is Match.FULL), None)


class Walk:
    """A walk over the pages of a shop: each route a few times, by its links and by its forms.

    Parameters
    ----------
    client : TestClient
        Of the shop; it does not follow redirections.
    app : FastAPI
        The same shop's application.
    """

    def __init__(self, client, app):
        self.client, self.routes = client, routes_of(app)
        self.fields = {}
        self.visits, self.seen, self.known = {}, set(), {}

    def all(self):
        """Walk all pages; what no link or form leads to is then sent with names of the shop."""
        self.pages("/", "/ask", "/case", "/hook", "/rail", "/bench", "/chalk")
        for route in self.routes:
            for method in sorted(route.methods - {"HEAD"}):
                if not self.visits.get(f"{method} {route.path}"):
                    self._try(method, route)

    def again(self, client, starts):
        """Look at some pages once more, in other hands or in another shop."""
        self.client = client
        for address in starts:
            self.visits = {key: 0 for key in self.visits if address in key}
            self._visit(address)
        for route in self.routes:
            for method in sorted(route.methods - {"HEAD"}):
                inside = route.path.startswith(tuple(starts)) and route.path not in _LEAVING
                if inside and method == "POST":
                    self._try(method, route)

    def _try(self, method, route):
        for number in range(_MOST_OF_ONE):
            address = re.sub(r"\{(\w+)(:\w+)?\}", lambda one, at=number: self._named(one[1], at),
                             route.path)  # fmt: skip
            with reading(self, f"{method} {route.path}"):
                if method == "GET":
                    self.client.get(address)
                else:
                    who = {"by": "marek"} if number % 2 else {}
                    self.client.post(address, data=who)

    def _named(self, name, at):
        values = self.known.get(name) or ["1", "2", "3", "4"]
        return values[at % len(values)]

    def _met(self, route, address):
        """Keep the names in an address as values of its route's parameters."""
        found = route.path_regex.match(urlsplit(address).path)
        for name, value in (found.groupdict() if found else {}).items():
            values = self.known.setdefault(name, [])
            if value not in values:
                values.append(value)

    def pages(self, *starts):
        """Visit every page that links lead to, and note the fields of its forms."""
        left = list(starts)
        while left:
            address = left.pop(0)
            for more in self._visit(address):
                if more not in self.seen:
                    self.seen.add(more)
                    left.append(more)

    def _visit(self, address):
        path = urlsplit(address).path
        route = route_at(self.routes, "GET", path)
        key = f"GET {route.path}" if route else ""
        if route is None or self.visits.get(key, 0) >= _MOST_OF_ONE:
            return []
        self._met(route, address)
        self.visits[key] = self.visits.get(key, 0) + 1
        with reading(self, key):
            answer = self.client.get(address)
        for name, value in parse_qsl(urlsplit(address).query, keep_blank_values=True):
            self.note(key, Field(name, "text", [value]))
        if "location" in answer.headers:
            return [urljoin(address, answer.headers["location"])]
        if "html" not in answer.headers.get("content-type", ""):
            return []
        return self._of_page(address, answer.text)

    def _of_page(self, address, html):
        page = FormsOf(html)
        more = [urljoin(address, link).partition("#")[0] for link in sorted(page.links)]
        for form in page.forms:
            goes = urljoin(address, form.action or address)
            route = route_at(self.routes, form.method, urlsplit(goes).path)
            if route is None:
                continue
            for one in form.fields:
                self.note(f"{form.method} {route.path}", one)
            self._met(route, goes)
            if form.method == "GET":
                more.append(urlsplit(goes).path)
            else:
                self._post(route, goes, form)
        return [one for one in more if one.startswith("/")]

    def _post(self, route, goes, form):
        """Send a form as it stands and with nothing in it, to see what is read."""
        key = f"POST {route.path}"
        count = self.visits.get(key, 0)
        if count < _MOST_OF_ONE and route.path not in _LEAVING:
            self.visits[key] = count + 1
            with reading(self, key):
                self.client.post(goes, data=[] if count == 0 else dict(form.sent()))

    def note(self, key, one):
        """Keep a field of a route: its kind and a few of its values."""
        kept = self.fields.setdefault(key, {}).setdefault(one.name, Field(one.name, one.kind))
        if kept.kind == "text":
            kept.kind = one.kind
        kept.values += [value for value in one.values if value not in kept.values]


class reading:  # noqa: N801 -- reads as a word
    """While it lasts, every name that a page looks for is noted as a field of its route."""

    def __init__(self, walk, key):
        self.walk, self.key = walk, key

    def __enter__(self):
        """Look over the shoulder of `Fields`."""
        self.kept = {name: getattr(forms.Fields, name) for name in ("one", "all", "__contains__")}

        def looked(method):
            def look(fields, name, *more):
                if isinstance(name, str) and re.fullmatch(r"[A-Za-z0-9_.-]{1,60}", name):
                    self.walk.note(self.key, Field(name))
                return method(fields, name, *more)

            return look

        for name, method in self.kept.items():
            setattr(forms.Fields, name, looked(method))

    def __exit__(self, *_error):
        """Look away."""
        for name, method in self.kept.items():
            setattr(forms.Fields, name, method)
