"""Requests nobody's browser would send, on every route: half real, half rubbish.

What a route reads is what ``/openapi.json`` says of it; names and values are those that the pages
of the demo shop showed (``form_fields.json``), bent as problems are.
"""

from __future__ import annotations

import re
from html import unescape
from random import Random
from urllib.parse import quote

from collop.web.describing import fields_of

#: Names of things in the demo shop, by the parameter of an address that takes them.
REAL = {
    "booking_id": [f"H{number}" for number in range(1, 13)],
    "tag": ["B-41F", "B-41H", "B-41", "B-42", "G-031", "L-207", "L-208", "P-118", "P-59"],
    "case_id": [f"C{number:02}" for number in range(1, 35)], "order_id": ["S1", "S2"],
    "code": ["26159-B-01", "26159-G1-01"], "rule_id": ["WM136", "LB135"],
    "act": ["own", "box", "ingredient", "out", "left", "lost", "none", "made", "tell", "back",
            "close", "reopen"],
    "kind": ["bench", "bookings", "cold", "orders", "sales"], "who": ["ines", "dot"],
    "name": ["case", "bookings", "people", "board", "T1", "V1", "M1", "S1", "E1", "1"],
    "quote_id": ["Q1", "Q2", "Q3"], "number": ["1", "2"], "line_id": ["1", "2", "3"],
    "token": ["1"],
}  # fmt: skip
ODD = (
    "", " ", "0", "-1", "1e999", "1e-999999", "NaN", "9" * 30, "9" * 5000, "0.000001", "1_0", "a",
    "a" * 3000, "\0", "a\nb", "\r\nX: 1", "\u202e", "\ufffd", "\U0001f404", "<b>x</b>", "'; --",
    "{{7*7}}", "../../etc", "%00", "=1+1", "\N{SUPERSCRIPT TWO}", "\N{ARABIC-INDIC DIGIT THREE}",
    "2026-02-30", "0001-01-01", "9999-12-31", "2026-06-12", "24:00", "25:61", "12,5", "1,234",
    "4.85", "2 lb 12 oz", "100000", "-0", "null", "[]", "{}", "true", "on", "yes", "kg", "lb",
)  # fmt: skip
_TOLD_TO_A_PROGRAMMER = re.compile(r"Traceback \(most|<class '|object at 0x|Something broke here")


def request_of(method, path, number):
    """Return address, query and form of request `number` of a route; the same each time."""
    random = Random(f"{method} {path} {number}")
    share = random.choice((0.0, 0.05, 0.3, 1.0))
    address = re.sub(r"\{(\w+)(?::\w+)?\}", lambda one: _named(one[1], random, share), path)
    fields = fields_of().get(f"{method} {re.sub(r':[a-z]+}', '}', path)}", {})
    sent = []
    for name, (_kind, *values) in fields.items():
        if random.random() < 0.85:
            sent.append((name, _value(name, values, random, share)))
        if random.random() < share / 20:
            sent += [(name, _value(name, values, random, share))] * random.choice((1, 50))
    if random.random() < share / 4:
        sent.append((random.choice(ODD), random.choice(ODD)))
    if method == "POST" and random.random() < 0.01:
        sent += [(f"f{at}", "1") for at in range(10_000)]
    return (address, sent, []) if method == "GET" else (address, [], sent)


def _named(name, random, share):
    if random.random() < share / 2:
        return quote(random.choice(ODD)[:300], safe="") or "-"
    return random.choice(REAL.get(name, REAL["number"]))


def _value(name, values, random, share):
    if random.random() < share:
        return random.choice(ODD)
    if name == "key":
        return f"{random.randrange(1 << 64):x}"
    if name == "by":
        return random.choice(("ines", "dot", "marek", "kofi"))
    plain = ("1", "2", "4.85", "12.00", "2026-06-12", "16:00", "Ann", "because")
    return random.choice([one for one in values if one] or plain)


def names_real(case):
    """Give the names in the address of a case of schemathesis things there are, mostly."""
    for name, made in (case.path_parameters or {}).items():
        random = Random(f"{name} {made!r} {case.body!r}")
        if random.random() < 0.75:
            case.path_parameters[name] = random.choice(REAL.get(name, REAL["number"]))


def fault_of(answer):
    """Return what is wrong with an answer; empty if it is one the shop may give."""
    if answer.status_code >= 500:
        return f"status {answer.status_code}: {answer.text[:300]!r}"
    kind = answer.headers.get("content-type", "")
    if "html" not in kind and "plain" not in kind:
        return ""
    text = unescape(re.sub(r"<[^>]*>", " ", answer.text))
    found = _TOLD_TO_A_PROGRAMMER.search(text)
    if found:
        return f"says {found[0]!r}"
    if answer.status_code >= 400 and not re.search(r"[A-Za-z][^.?]{5,}[.?]", text):
        return f"status {answer.status_code} without a sentence: {text[:200]!r}"
    return ""
