"""A shop that is locked: an owner and three others, each with a password, and clients of it."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import fake_kernel
from starlette.testclient import TestClient

from collop.web import create_app

OWN = "twelve oxen pull slowly"
SECRETS = {
    "ines": "four shanks in the pot",
    "marek": "saw the bone twice over",
    "dot": "counter bell rings late",
    "kofi": "mop the floor at eight",
}
PIN = "481592"


def lock(shop, *names):
    """Give the first name the owner's password and the others theirs; return the owner's id."""
    owner, *others = names or SECRETS
    shop.access.set_up(owner, SECRETS[owner])
    for name in others:
        shop.access.set_password(name, SECRETS[name], by=owner)
    return owner


def client_of(shop, *, base_url="http://testserver", **options):
    """Return a client of the shop's pages that follows no redirect."""
    app = create_app(shop, answer=fake_kernel.answer, **options)
    return TestClient(app, base_url=base_url, follow_redirects=False)


def sign_in(client, name, back="/ask"):
    """Sign in with name and password; return the answer."""
    form = {"who": name, "password": SECRETS[name], "back": back}
    return client.post("/sign-in", data=form)


def signed_in(shop, name, **options):
    """Return a client in whose browser somebody is signed in."""
    client = client_of(shop, **options)
    assert sign_in(client, name).status_code == 303
    return client


class Hidden(HTMLParser):
    """The hidden fields of the form with an address."""

    def __init__(self, html, action):
        super().__init__()
        self.fields, self._action, self._inside = {}, action, False
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        """Note forms and their hidden fields."""
        facts = dict(attrs)
        if tag == "form":
            self._inside = facts.get("action") == self._action
        if tag == "input" and self._inside and facts.get("type") == "hidden":
            self.fields.setdefault(facts["name"], facts.get("value", ""))

    def handle_endtag(self, tag):
        """Note that a form ends."""
        self._inside = self._inside and tag != "form"


def hidden(html, action):
    """Return name and text of a form's hidden fields."""
    return Hidden(html, action).fields


def cookie_of(answer, name):
    """Return the whole Set-Cookie line of a cookie; None if it is not set."""
    lines = answer.headers.get_list("set-cookie")
    return next((line for line in lines if line.startswith(f"{name}=")), None)


def secret_in(line):
    """Return the text of a cookie from its Set-Cookie line."""
    return re.match(r"[^=]+=([^;]*)", line).group(1).strip('"')
