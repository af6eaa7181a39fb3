"""Addresses, lengths and methods that no browser sends.

Sources: RFC 3986, 2 (addresses are ASCII); RFC 9110, 8.6 (Content-Length is digits) and 9.3.2
(HEAD is answered as GET, without content).
"""

from __future__ import annotations

import asyncio

import pytest


def called(app, method="GET", path="/ask", query=b"", headers=(), body=b""):
    """Call the application itself, past any server that would refuse the request before it."""
    sent, waiting = [], [{"type": "http.request", "body": body, "more_body": False}]

    async def receive():
        return waiting.pop() if waiting else {"type": "http.disconnect"}

    async def send(message):
        sent.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
        "scheme": "http", "path": path, "raw_path": path.encode(), "query_string": query,
        "root_path": "", "headers": [(b"host", b"127.0.0.1:8000"), *headers],
        "client": ("127.0.0.1", 5), "server": ("127.0.0.1", 8000), "state": {},
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    status = next(one["status"] for one in sent if one["type"] == "http.response.start")
    content = b"".join(one.get("body", b"") for one in sent if one["type"] == "http.response.body")
    return status, content.decode()


@pytest.mark.parametrize("query", [b"a=\xff", b"\xff\xfe=1&b=2"])
def test_a_query_of_other_bytes_is_refused(client, query):
    """It is no address, and gets one sentence."""
    status, said = called(client.app, query=query)
    assert (status, said) == (400, "The address could not be read; nothing was done.")


@pytest.mark.parametrize("length", [b"\xb2", b"-1", b"abc", b"", b"9" * 5000])
def test_a_length_that_is_no_number_is_refused(client, length):
    """A figure that is no digit, or thousands of digits."""
    headers = [(b"content-length", length)]
    status, said = called(client.app, "POST", "/sell", headers=headers)
    assert status == 400
    assert said.endswith("nothing was done.")


@pytest.mark.parametrize("origin", [b"http://[", b"\xff", b"null", b"://", b"http://[::1"])
def test_an_origin_that_is_no_address_is_another_site(client, origin):
    """What cannot be read is not ours."""
    status, said = called(client.app, "POST", "/sell", headers=[(b"origin", origin)])
    assert status == 403
    assert said.endswith("nothing was done.")


@pytest.mark.parametrize("path", ["/ask", "/case", "/hook", "/fire", "/board", "/static/tag.svg"])
def test_head_is_answered_as_get_without_content(client, path):
    """Status, kind and length are those of the page."""
    whole, bare = client.get(path), client.head(path)
    assert (bare.status_code, bare.content) == (whole.status_code, b"")
    assert bare.headers["content-type"] == whole.headers["content-type"]


@pytest.mark.parametrize("method", ["OPTIONS", "PUT", "DELETE", "TRACE"])
def test_other_methods_are_refused_in_words(client, method):
    """No page takes them."""
    answer = client.request(method, "/ask")
    assert answer.status_code == 405
    assert "cannot be sent to" in answer.text
