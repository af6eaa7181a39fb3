"""What ``serve`` opens, what it refuses, and the certificate it takes.

Requirements 3.4.1 and 12.1.1 are of OWASP ASVS 5.0 (source ASVS5 of the reference tables); that a
shop is not opened to a network before it has a password is its own rule.
"""

from __future__ import annotations

import re
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
import urllib.parse
import urllib.request
import warnings

import pytest
from click.testing import CliRunner

from collop.cli import main
from collop.cli.serving import must_be_allowed, opened_words, read_site, tls_settings
from collop.errors import BadValue, StorageTrouble
from collop.hosts import is_this_machine
from collop.shop import Settings, create_shop, open_shop

NO_TLS = (None, None)
OWNERS = "twelve oxen pull slowly"
EVERYWHERE = "0.0.0.0"  # noqa: S104 -- refused, or for words alone


def run(*args):
    result = CliRunner().invoke(main, ["serve", *(str(arg) for arg in args)])
    assert result.exit_code == 1, result.output
    assert "Traceback" not in result.output
    return result.output


@pytest.fixture(scope="module")
def certificate(tmp_path_factory):
    """Return the files of a certificate for localhost and its key, made by openssl."""
    folder = tmp_path_factory.mktemp("tls")
    key, pem = folder / "shop.key", folder / "shop.pem"
    made = subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
         "-nodes", "-days", "2", "-keyout", key, "-out", pem, "-subj", "/CN=localhost",
         "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1"],
        capture_output=True, check=False,
    )  # fmt: skip
    assert made.returncode == 0, made.stderr
    return str(pem), str(key)


@pytest.fixture
def locked(tmp_path):
    """Return the file of a small shop whose owner has a password."""
    path = tmp_path / "locked.db"
    with create_shop(f"sqlite:///{path}", settings=Settings("Ours")) as shop:
        shop.access.set_up("Ann", OWNERS)
    return path


@pytest.mark.parametrize(
    ("host", "is_ours"),
    [("127.0.0.1", True), ("127.9.9.9", True), ("::1", True), ("[::1]", True), ("localhost", True),
     (EVERYWHERE, False), ("::", False), ("192.168.1.5", False), ("shop.lan", False),
     ("localhost.evil.example", False), ("", False)],
)  # fmt: skip
def test_only_loopback_is_this_machine(host, is_ours):
    """Whatever is not known to be this machine alone counts as a network."""
    assert is_this_machine(host) is is_ours


def test_a_network_needs_a_password_and_a_certificate():
    """Each refusal names what to do; this machine needs neither."""
    must_be_allowed("127.0.0.1", is_locked=False, tls=NO_TLS, without_tls=False)
    must_be_allowed(EVERYWHERE, is_locked=True, tls=("c", "k"), without_tls=False)
    must_be_allowed(EVERYWHERE, is_locked=True, tls=NO_TLS, without_tls=True)
    for is_locked, tls, without, said in (
        (False, ("c", "k"), False, "Nobody has a password"),
        (False, NO_TLS, True, "Nobody has a password"),
        (True, NO_TLS, False, "--certificate and --key"),
        (True, ("c", None), True, "go together"),
    ):
        with pytest.raises(BadValue, match=said):
            must_be_allowed(EVERYWHERE, is_locked=is_locked, tls=tls, without_tls=without)


def test_what_is_opened_is_told():
    """To a network: who can reach what, and without TLS that passwords can be read."""
    assert opened_words("Ours", "::1", 8000, has_tls=False) == [
        "Ours is open on http://[::1]:8000/  (Ctrl-C closes)"
    ]
    told = opened_words("Ours", EVERYWHERE, 8000, has_tls=True)
    assert told[0].startswith("Ours is open on https://0.0.0.0:8000/")
    assert told[1].startswith("Everybody on this network")
    assert len(told) == 2
    assert "readable" in opened_words("Ours", EVERYWHERE, 8000, has_tls=False)[2]


@pytest.mark.parametrize(("text", "site"), [
    ("https://shop.example", ("https://shop.example", "shop.example")),
    ("http://shop.example:8443/", ("http://shop.example:8443", "shop.example")),
    ("https://[2001:db8::1]", ("https://[2001:db8::1]", "2001:db8::1")),
    ("", ("", "")),
])  # fmt: skip
def test_where_customers_reach_the_shop_is_read(text, site):
    """Scheme, host and port as RFC 3986, 3.2 writes them; addresses kept for examples."""
    assert read_site(text) == site


@pytest.mark.parametrize("text", [
    "shop.example", "ftp://shop.example", "https://", "https://shop.example/fire", "https://a b",
    "https://ann@shop.example", "https://shop.example:port", "https://shop.example?x", "https://[",
    "https://shop.example:99999", "javascript:alert(1)",
])  # fmt: skip
def test_what_no_customer_could_open_is_refused(text, tmp_path):
    """One sentence before anything is opened or made."""
    with pytest.raises(BadValue, match=r"^--site: .* is no address customers could open; give one"):
        read_site(text)
    path = tmp_path / "demo.db"
    said = run("--db", path, "--port", 0, "--site", text)
    assert "no address customers could open" in said
    assert not path.exists()


def test_the_demo_is_not_opened_to_a_network_and_not_made_either(tmp_path):
    """One sentence; no shop is left behind."""
    path = tmp_path / "demo.db"
    args = ("--db", path, "--host", EVERYWHERE, "--port", 0, "--without-tls")
    assert "There is no shop" in run(*args)
    assert not path.exists()
    create_shop(f"sqlite:///{path}", demo=True).close()
    assert "Nobody has a password" in run(*args)


def test_a_locked_shop_is_not_opened_to_a_network_without_a_certificate(locked):
    """Refused, and the way said."""
    said = run("--db", locked, "--host", EVERYWHERE, "--port", 0)
    assert "--without-tls" in said
    assert "docs/serve.md" in said


def test_files_that_are_no_certificate_are_one_sentence(tmp_path, certificate):
    """Missing, not a certificate, or a key that does not fit."""
    other = tmp_path / "x.pem"
    other.write_text("nothing", encoding="utf-8")
    for pair in ((str(tmp_path / "no.pem"), certificate[1]), (str(other), certificate[1]),
                 (certificate[0], str(other))):  # fmt: skip
        with pytest.raises(StorageTrouble) as refusal:
            tls_settings(pair)
        assert refusal.value.message.count("\n") == 0
    assert tls_settings(NO_TLS) == {}
    said = run("--db", tmp_path / "s.db", "--port", 0, "--certificate", other, "--key", other)
    assert "no certificate and its key" in said
    assert not (tmp_path / "s.db").exists()


def free_port():
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]


def started(*args):
    """Start a server in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-u", "-c", "from collop.cli import main; main()", "serve",
         *(str(arg) for arg in args)],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip


def ended(server):
    """Stop a server; return what else it said."""
    server.send_signal(signal.SIGINT)
    return server.communicate(timeout=60)[0]


def fetched(address, context=None):
    """Return the answer to a request, asked until the server listens."""
    until = time.monotonic() + 60
    while True:
        try:
            return urllib.request.urlopen(address, timeout=10, context=context)  # noqa: S310 -- ours
        except OSError:
            assert time.monotonic() < until
            time.sleep(0.1)


def test_a_new_shop_tells_its_set_up_code_in_the_terminal_only(tmp_path):
    """The code is printed, opens the first run, and stands on no page."""
    path, port = tmp_path / "own.db", free_port()
    create_shop(f"sqlite:///{path}", settings=Settings("Ours")).close()
    server = started("--db", path, "--port", port)
    try:
        said = ""
        while "set-up code" not in said:
            said += server.stdout.readline()
        code = re.search(r"([0-9a-z]{4}-){6}[0-9a-z]{4}", said).group()
        address = f"http://127.0.0.1:{port}/first-run"
        page = fetched(address).read().decode()
        assert "First run" in page
        assert code not in page
        form = {"code": code, "name": "Ann", "new": OWNERS, "again": OWNERS}
        sent = urllib.parse.urlencode(form).encode()
        answer = urllib.request.urlopen(address, data=sent, timeout=30)
        assert answer.geturl().endswith(("/people", "/sign-in?back=/people"))
    finally:
        ended(server)
    with open_shop(f"sqlite:///{path}") as shop:
        assert shop.access.is_locked()


def test_https_with_tls_1_2_and_later_only(locked, certificate):
    """The certificate is served, HSTS is sent for a year, and TLS 1.1 gets no connection."""
    port = free_port()
    server = started("--db", locked, "--port", port, "--certificate", certificate[0],
                     "--key", certificate[1])  # fmt: skip
    try:
        context = ssl.create_default_context(cafile=certificate[0])
        answer = fetched(f"https://localhost:{port}/sign-in", context)
        assert answer.headers["strict-transport-security"] == "max-age=31536000"
        for version in (ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3):
            assert _handshake(port, version)
        assert not _handshake(port, ssl.TLSVersion.TLSv1_1)
    finally:
        said = ended(server)
    assert "https://127.0.0.1" in said


def test_a_server_that_speaks_tls_1_1_is_seen_to_do_so(certificate):
    """The check above can fail: the same client does speak 1.1 with a server that does."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(*certificate)
    _only(context, ssl.TLSVersion.TLSv1_1)
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def answer():
            with listener.accept()[0] as raw, context.wrap_socket(raw, server_side=True):
                pass

        server = threading.Thread(target=answer)
        server.start()
        assert _handshake(listener.getsockname()[1], ssl.TLSVersion.TLSv1_1)
        server.join(30)


def _only(context, version):
    context.set_ciphers("ALL:@SECLEVEL=0")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        context.minimum_version = context.maximum_version = version


def _handshake(port, version):
    """Tell whether the server speaks one version of TLS."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    _only(context, version)
    try:
        with (socket.create_connection(("127.0.0.1", port), timeout=10) as raw,
              context.wrap_socket(raw)):  # fmt: skip
            return True
    except (ssl.SSLError, ConnectionError):
        return False
