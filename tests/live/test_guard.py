"""Nobody but the browser that was given the address gets anything from the real server."""

import json
import socket
import subprocess
from contextlib import suppress

import pytest
from live_page import Live, connected
from websockets.exceptions import ConnectionClosed, InvalidStatus

from ohmscape.live.guard import Guard


def test_an_address_works_once_and_gives_a_cookie_for_one_path(shared):
    # `shared` has used its own up.
    status, headers, body = shared.asked(f"/?token={shared.token}")
    assert status == 403
    assert "set-cookie" not in headers
    assert shared.path not in body
    status, _, _ = shared.asked("/")
    assert status == 403
    guard = Guard(1234)
    first, second = (guard.address().split("=")[1] for _ in range(2))
    assert first != second
    assert guard.invited(first)
    assert not guard.invited(first)
    assert guard.invited(second)
    assert not guard.invited("")
    assert not guard.invited("ü")


def test_cookie_is_strict_and_for_its_path_only(shared):
    guard = Guard(1234)
    name, *marks = guard.cookie().split("; ")
    assert name.startswith("ohmscape-1234=")
    assert marks == [f"Path={guard.path}", "HttpOnly", "SameSite=Strict"]
    assert len(shared.path) > 40  # nobody guesses it


def page_headers(live, **changed):
    given = {"Host": live.host, "Cookie": live.cookie} | changed
    return [(name, value) for name, value in given.items() if value is not None]


def test_the_page_comes_with_a_strict_policy(shared):
    status, headers, body = shared.asked(shared.path, headers=page_headers(shared))
    assert status == 200
    policy = headers["content-security-policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    nonce = rules["script-src"].strip("'").removeprefix("nonce-")
    assert rules == {
        "default-src": "'none'",
        "script-src": f"'nonce-{nonce}'",
        "style-src": f"'nonce-{nonce}'",
        "img-src": "data: blob:",
        "connect-src": f"ws://{shared.host}",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
    assert body.count(f'nonce="{nonce}"') == body.count("<script") + body.count("<style")
    assert " style=" not in body
    assert "eval(" not in body
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cache-control"] == "no-store"
    assert headers["x-content-type-options"] == "nosniff"
    again = shared.asked(shared.path, headers=page_headers(shared))[1]
    assert nonce not in again["content-security-policy"]


@pytest.mark.parametrize(
    "changed",
    [
        {"Cookie": None},
        {"Cookie": "ohmscape-1=guessed"},
        {"Cookie": ""},
        {"Host": None},
        {"Host": "evil.example"},
        {"Host": "localhost"},
        {"Host": "127.0.0.1"},
        {"Host": "127.0.0.1:1"},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
    ],
    ids=str,
)
def test_whoever_brings_something_else_gets_no_page(shared, changed):
    status, headers, body = shared.asked(shared.path, headers=page_headers(shared, **changed))
    assert status in (400, 403)
    assert len(body) < 200
    assert "set-cookie" not in headers


@pytest.mark.slow
def test_a_name_that_leads_here_does_not_use_an_address_up(file):
    live = Live(file)
    try:
        for host in ("rebound.example", f"rebound.example:{live.port}"):
            status, headers, _ = live.asked(f"/?token={live.token}", headers=[("Host", host)])
            assert status == 403
            assert "set-cookie" not in headers
        status, _, _ = live.asked(
            f"/?token={live.token}",
            headers=[("Host", live.host), ("Origin", "http://evil.example")],
        )
        assert status == 403
        status, _, _ = live.asked(f"/?token={live.token}", method="HEAD")
        assert status == 403
        live.enter()
    finally:
        live.kill()


def test_two_hosts_in_one_request_are_refused(shared):
    headers = [("Host", shared.host), ("Host", "evil.example"), ("Cookie", shared.cookie)]
    assert shared.asked(shared.path, headers=headers)[0] in (400, 403)


@pytest.mark.parametrize(
    "path", ["/p/", "/p/x/", "/etc/passwd", "/../../etc/passwd", "//", "/live"]
)
def test_there_are_no_other_paths(shared, path):
    status, _, body = shared.asked(path, headers=page_headers(shared))
    assert status == 404
    assert len(body) < 100


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "TRACE"])
def test_nothing_can_be_sent_but_through_the_socket(shared, method):
    status, headers, _ = shared.asked(shared.path, method=method, headers=page_headers(shared))
    assert status == 405
    assert not any("access-control" in name for name in headers)


@pytest.mark.parametrize(
    "given",
    [
        {"origin": ""},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost:80"},
        {"cookie": ""},
        {"cookie": "ohmscape-1=guessed"},
        {"path": "/p/guessed/live"},
        {"path": "/"},
        {"path": "/live"},
    ],
    ids=str,
)
def test_whoever_brings_something_else_gets_no_socket(shared, given):
    with pytest.raises(InvalidStatus) as refused:
        connected(shared, **given)
    assert refused.value.response.status_code in (403, 404)


def test_a_socket_for_another_host_is_refused_by_raw_bytes(shared):
    asked = (
        f"GET {shared.path}live HTTP/1.1\r\nHost: evil.example:{shared.port}\r\n"
        f"Cookie: {shared.cookie}\r\nOrigin: http://evil.example:{shared.port}\r\n"
        "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
        "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", shared.port), timeout=10) as raw:
        raw.sendall(asked.encode())
        assert b" 403 " in raw.recv(4096).splitlines()[0]


def test_it_listens_to_this_machine_alone(shared):
    listed = subprocess.run(
        ["cat", "/proc/net/tcp", "/proc/net/tcp6"], capture_output=True, text=True
    ).stdout
    port = f":{shared.port:04X}"
    places = {line.split()[1] for line in listed.splitlines() if port in line.split()[1:2][0]}
    listening = {place for place in places if place.endswith(port)}
    assert listening
    assert all(place.startswith("0100007F") for place in listening)


def code_of_end(talking):
    """Why a socket is closed; what comes before that is left unread."""
    try:
        while True:
            talking.recv(timeout=20)
    except ConnectionClosed as closed:
        return closed.rcvd.code


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "null",
        "7",
        '{"do": NaN}',
        '{"do": "set", "value": 1e999}',
        "{" * 1000,
        "[" * 100_000,
        '{"do": "set"',
    ],
    ids=lambda text: text[:12],
)
def test_what_is_no_message_closes_the_socket_and_nothing_else(shared, text):
    with connected(shared) as talking:
        talking.send(text)
        assert code_of_end(talking) == 1003
    with connected(shared) as other:
        assert json.loads(other.recv(timeout=20))["say"] == "case"


def test_too_large_a_message_closes_the_socket(shared):
    with connected(shared) as talking:
        talking.send(json.dumps({"do": "set", "path": ["title"], "value": "x" * 300_000}))
        assert code_of_end(talking) == 1009


def test_bytes_are_not_taken(shared):
    with connected(shared) as talking:
        talking.send(b"{}")
        assert code_of_end(talking) == 1003


def test_too_many_messages_close_the_socket(shared):
    with connected(shared) as talking:
        with suppress(ConnectionClosed):
            for _ in range(5000):
                talking.send('{"do": "nothing"}')
        assert code_of_end(talking) == 1008


@pytest.mark.parametrize(
    "given",
    [
        {"do": "import os"},
        {"do": "save copy", "name": "../out.yaml"},
        {"do": "save copy", "name": "/tmp/out.yaml"},
        {"do": "save copy"},
        {"do": "export", "as": "../../x"},
        {"do": "variant", "name": "\ud800"},
        {"do": "set", "path": ["title"], "value": "\ud800"},
        {"do": "set", "path": {"a": 1}, "value": 1},
        {"do": "set", "path": ["\ud800"], "value": 1},
        {"do": "set", "path": ["title", 10**400], "value": 1},
        {"do": "set", "path": ["title"], "value": json.loads("[" * 900 + "]" * 900)},
        {"do": "add", "path": ["electrodes"], "value": 10**4000},
        {"do": 5},
    ],
    ids=lambda given: str(given["do"]),
)
def test_what_a_page_cannot_ask_for_is_refused(shared, given):
    tab = shared.tab()
    tab.socket.send(json.dumps(given))
    answer = tab.wait("refused", "failed")
    assert answer["problems"][0]["message"]
    tab.close()
