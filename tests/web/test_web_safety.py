"""Headers, requests from elsewhere, vendored files, and forms filled with anything."""

from __future__ import annotations

import hashlib
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from collop.errors import StorageTrouble
from collop.web import create_app
from collop.web.rendering import STATIC

PAGES = ("/ask", "/ask?heads=34&money=310", "/ask?heads=26&money=10", "/ask?heads=-1",
         "/ask/customer?heads=34", "/case", "/case?find=zzz", "/hook", "/hook?find=zzz", "/hook/H2",
         "/hook/H8/hand-over", "/hook/H999", "/nowhere")  # fmt: skip


@pytest.mark.parametrize("address", PAGES)
def test_every_page_carries_the_policy_and_nothing_inline(client, read_page, address):
    """No inline script or style, no outside address, every field named for a reader."""
    answer = client.get(address)
    assert answer.status_code < 500
    policy = answer.headers["content-security-policy"]
    assert policy.startswith("default-src 'self'")
    assert "unsafe" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []
    assert not re.search(r"(src|href|action)=\"(https?:)?//", answer.text)


@pytest.mark.parametrize("address", PAGES)
def test_every_id_is_used_once(client, address):
    """A label or a summary link can only mean one thing."""
    ids = re.findall(r"\sid=\"([^\"]*)\"", client.get(address).text)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
    ],
)
def test_a_form_sent_by_another_site_is_refused(client, shop, headers):
    """403 and nothing done, whatever the form says."""
    before = shop.bookings(shop.now().date(), shop.now().date())
    for address in ("/ask/quote", "/hook/H2/release", "/device/units", "/ask/spread"):
        answer = client.post(address, data={"by": "dot", "key": "k"}, headers=headers)
        assert answer.status_code == 403
        assert "set-cookie" not in answer.headers
    assert shop.bookings(shop.now().date(), shop.now().date()) == before


def test_the_shop_s_own_form_passes(client):
    """Same origin by either header."""
    for headers in ({"Sec-Fetch-Site": "same-origin"}, {"Origin": "http://testserver"}):
        answer = client.post("/ask/spread", data={"heads": "12"}, headers=headers)
        assert answer.status_code == 200


def test_nothing_is_changed_by_reading(client):
    """Every address that changes something refuses GET."""
    for address in ("/ask/quote", "/hook/H2/release", "/hook/H2/undo", "/hook/H2/state",
                    "/device/units", "/ask/spread"):  # fmt: skip
        assert client.get(address).status_code in {404, 405}


def test_an_oversized_form_is_refused(client):
    """A form over a quarter of a megabyte is no order."""
    assert client.post("/ask/spread", data={"heads": "1" * 300_000}).status_code == 413


def test_a_database_that_cannot_be_read_is_one_plain_sentence(client, shop):
    """503, what happened and what still works, no trace."""

    def broken():
        raise StorageTrouble("The database cannot be read; see that the disk is there.")

    shop.settings = broken
    answer = client.get("/case")
    assert answer.status_code == 503
    assert answer.text.startswith("The database cannot be read")
    assert "Traceback" not in answer.text


def vendored(folder):
    """Return file and digest of each row of a vendor folder's list."""
    readme = (folder / "README.md").read_text(encoding="utf-8")
    rows = [line.split("|") for line in readme.splitlines() if line.startswith("| `")]
    return [(row[1].strip(" `"), row[-2].strip(" `")) for row in rows]


def test_vendored_files_are_as_they_came(request):
    """Each digest in the list is that of the file, and no file is left out of the list."""
    axe = request.config.rootpath / "tests" / "browser" / "vendor"
    for folder in (STATIC / "vendor", axe):
        listed = vendored(folder)
        assert listed
        for name, digest in listed:
            assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest
        code = {path.name for path in folder.iterdir() if path.suffix in {".js", ".css"}}
        assert code == {name for name, _ in listed}


def test_static_files_may_be_kept_by_their_digest_only(client):
    """With its digest a file is kept for ever; without it is asked for again."""
    html = client.get("/case").text
    address = re.search(r"/static/collop\.css\?v=[0-9a-f]{16}", html)[0]
    assert "immutable" in client.get(address).headers["cache-control"]
    assert client.get("/static/collop.css").headers["cache-control"] == "no-cache"
    assert client.get("/static/../app.py").status_code == 404


def test_the_offline_script_lists_every_static_file_by_digest(client):
    """Its kept files all answer, and no placeholder is left."""
    script = client.get("/sw.js")
    assert script.headers["content-type"].startswith("text/javascript")
    assert "__" not in script.text
    kept = re.findall(r"/static/[^\"]+\?v=[0-9a-f]{16}", script.text)
    assert len(set(kept)) == 36
    assert all(client.get(address).status_code == 200 for address in kept)


FIELD = st.sampled_from(
    ["heads", "child", "big", "meat_free", "no_n", "no_what", "contains", "fire", "area", "coals",
     "oven", "pots", "usable", "day", "time", "money", "per", "style", "slot", "pin", "leave",
     "aim", "to", "lighter", "patch", "show", "do", "was", "last", "fire_was", "money_was", "ask",
     "seen", "stock_at", "key"]
)  # fmt: skip
TEXT = st.one_of(
    st.text(max_size=30),
    st.sampled_from(
        ["34", "0", "-1", "NaN", "Infinity", "1e400", "1" * 60, "30-45", "thirty", "pork", "yes",
         "no", "own", "kettle", "stew", "bird", "C01", "C01@2.00", "C01@x@plate", "2026-06-12",
         "9999-12-31", "18:30", "99:99", "best-value", "undo", "cheaper", "finer", "lighter",
         "yes:0", "yes:99", "pin:C01@1", "swap:C01>C02", "to:5", "to:NaN", "heads+", '{"groups":1}',
         '{"offers":[]}', "{", "[" * 2000, "heads=12", "\x00", "%", "٣٤", "½"]
    ),
)  # fmt: skip


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(form=st.dictionaries(FIELD, TEXT, max_size=8))
def test_no_form_whatever_breaks_the_ask(client, form):
    """Anything typed anywhere is answered: a spread, a no, or 422 with a sentence."""
    answer = client.post("/ask/spread", data={"heads": "12"} | form)
    assert answer.status_code in {200, 422}
    if answer.status_code == 422:
        assert "There is a problem" in answer.text
    assert client.get("/ask", params=form).status_code in {200, 422}
    assert client.get("/ask/customer", params=form).status_code in {200, 422}
    assert client.post("/ask/quote", data=form).status_code in {200, 303, 409, 422}


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    form=st.dictionaries(
        st.sampled_from(["by", "key", "state", "why", "do", "weighed-H8-1", "choice-H8-1", "name",
                         "phone", "day", "time", "deposit", "find", "only", "from"]),
        TEXT, max_size=6),
    address=st.sampled_from(["/hook/H8/release", "/hook/H8/undo", "/hook/H8/state",
                             "/hook/H8/hand-over", "/hook/H999/undo", "/ask/book/Q9",
                             "/device/units"]),
)  # fmt: skip
def test_no_form_whatever_breaks_the_hook(client, form, address):
    """Anything sent to a slip is answered below 500."""
    assert client.post(address, data=form).status_code < 500
    assert client.get("/hook", params=form).status_code == 200
    assert client.get("/case", params=form).status_code == 200


@pytest.mark.parametrize(
    ("host", "status"),
    [("localhost:8000", 200), ("127.0.0.1:8000", 200), ("[::1]:8000", 200), ("192.168.1.5", 200),
     ("shop.lan", 200), ("evil.example", 421), ("", 421), ("localhost.evil.example", 421),
     ("[bad", 421)],
)  # fmt: skip
def test_the_shop_answers_only_to_names_it_was_given(shop, host, status):
    """A foreign name that points here is refused; figures and given names are served."""
    with TestClient(create_app(shop, hosts=["shop.lan"])) as client:
        assert client.get("/case", headers={"host": host}).status_code == status
