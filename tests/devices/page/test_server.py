"""The server of the page: what it serves, to whom, and how often; the real one, over sockets."""

import http.client
import json
import queue
import re
import socket
import threading
from contextlib import closing, suppress

import pytest

from caller.calling.events import Pressed
from caller.devices.page import doors, server
from caller.devices.page.doors import CODE_LENGTH, CODE_LETTERS, MOST_AT_ONCE, Door, Rates, new_code
from caller.devices.page.server import KEYS, PageServer, home_address, is_of_home
from caller.errors import PageError


def page(key):
    return Pressed(key, on_page=True)


@pytest.fixture
def opened(monkeypatch):
    """A server with its queue; no test is held up by how often another one asked."""
    monkeypatch.setattr(doors, "MOST_AT_ONCE", 1000)
    pressed = queue.SimpleQueue()
    with closing(PageServer("computer", pressed.put)) as page:
        page.pressed = pressed
        yield page


def ask(page, path="", method="GET", code=None, **headers):
    """A request as a browser on this computer makes it, with these headers instead of its own."""
    door = page.door
    sent = {"Host": f"{door.host}:{door.port}"}
    if method == "POST":
        sent["Origin"] = f"http://{door.host}:{door.port}"
    sent |= headers
    link = http.client.HTTPConnection(door.host, door.port, timeout=10)
    with closing(link):
        link.putrequest(method, f"/{door.code if code is None else code}/{path}", skip_host=True)
        for name, value in sent.items():
            if value is not None:
                link.putheader(name, value)
        link.endheaders()
        answer = link.getresponse()
        return answer.status, dict(answer.getheaders()), answer.read()


class Looker:
    """One that looks on: reads server-sent events as the HTML standard has them, 9.2.6."""

    def __init__(self, page):
        self.link = http.client.HTTPConnection(page.door.host, page.door.port, timeout=10)
        self.link.request("GET", f"/{page.door.code}/events")
        self.answer = self.link.getresponse()

    def next(self):
        """The next message's data; a beat has none."""
        while line := self.answer.readline().decode():
            if line.startswith("data: "):
                return json.loads(line.removeprefix("data: "))
        return None

    def close(self):
        self.link.close()


def test_the_address():
    codes = {new_code() for _ in range(200)}
    assert len(codes) == 200
    assert all(len(code) == CODE_LENGTH and set(code) <= set(CODE_LETTERS) for code in codes)
    # 10,000 guesses a second hit such a code once in a thousand years and more.
    assert len(set(CODE_LETTERS)) ** CODE_LENGTH / 10_000 / (365 * 86400) > 1000
    assert Door("127.0.0.1", 8750, "abc").address == "http://127.0.0.1:8750/abc/"


def test_the_page_and_its_headers(opened):
    for path, kind, part in [
        ("", "text/html", b'<html lang="en">'),
        ("page.css", "text/css", b"color-scheme"),
        ("page.js", "text/javascript", b"EventSource"),
    ]:
        status, headers, body = ask(opened, path)
        assert status == 200
        assert part in body
        assert headers["content-type"].startswith(kind)
        policy = headers["content-security-policy"].split("; ")
        assert {"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'"} <= set(policy)
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"
        assert "server" not in headers
    html = ask(opened)[2].decode()
    assert "<script>" not in html
    assert " style=" not in html


HOSTS = [
    "evil.example",
    "evil.example:8750",
    "127.0.0.1",
    "127.0.0.1:1",
    "",
    None,
    "192.168.1.2:80",
]
ORIGINS = ["http://evil.example", "null", "https://127.0.0.1:8750", "http://127.0.0.1"]


@pytest.mark.parametrize(("method", "path"), [("GET", ""), ("GET", "events"), ("POST", "next")])
def test_strangers_are_refused(opened, method, path):
    """A wrong code, another name for this computer, and pages of other sites: nothing moves."""
    own = opened.door.code
    for code in ("", "x", own[:-1], own + "x", own.upper(), new_code(), "%00", "%C3%A4"):
        if code != own:
            assert ask(opened, path, method, code=code)[0] in (404, 405), code
    for host in HOSTS:
        status, _, body = ask(opened, path, method, Host=host)
        assert status in (400, 421), host
        assert own.encode() not in body
    for origin in ORIGINS:
        assert ask(opened, path, method, Origin=origin)[0] == 403, origin
    if method == "POST":
        assert ask(opened, path, method, Origin=None)[0] == 403
    assert opened.pressed.empty()
    # "localhost" is this computer as well, where the page is for it alone.
    port = opened.door.port
    local = {"Host": f"localhost:{port}", "Origin": f"http://localhost:{port}"}
    opened.show({"at": "1.0.."})
    if path != "events":
        assert ask(opened, path + "?at=1.0..", method, **local)[0] in (200, 204)


@pytest.mark.parametrize(
    "path",
    [
        "page.html", "server.py", "../server.py", "..%2fserver.py", "%2e%2e/server.py", "page.js/",
        "/etc/passwd", "//etc/passwd", "docs", "openapi.json", "next", "leave", "events/",
        "page.js%00", "static/page.js",
    ],
)  # fmt: skip
def test_nothing_else_is_there(opened, path):
    status, _, body = ask(opened, path)
    assert status in (404, 405)
    assert body in (b"", b"Method Not Allowed", b"Not Found")


def test_nothing_stands_at_the_root(opened):
    for code in ("favicon.ico", "robots.txt", "", "%2e%2e"):
        assert ask(opened, code=code)[0] == 404
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"):
        assert ask(opened, "next", method)[0] == 405
    assert opened.pressed.empty()


def test_who_asks_too_often_waits():
    """Guesses of the code cost ten times as much, and one computer holds up no other."""
    now = [0.0]
    rates = Rates(lambda: now[0])
    assert [rates.too_often("a") for _ in range(MOST_AT_ONCE)] == [False] * MOST_AT_ONCE
    assert rates.too_often("a")
    assert not rates.too_often("b")
    now[0] += 0.5
    assert [rates.too_often("a") for _ in range(6)] == [False] * 5 + [True]
    guesses = [rates.too_often("c", 10) for _ in range(100)]
    assert guesses.count(False) == MOST_AT_ONCE / 10
    for number in range(1000):
        rates.too_often(str(number))
    assert len(rates._buckets) <= 256
    with closing(PageServer("computer", lambda _: None)) as page:
        page._rates = Rates(lambda: 0.0)
        assert ask(page)[0] == 200
        guessed = [ask(page, code=new_code())[0] for _ in range(12)]
        assert guessed[0] == 404
        assert guessed[-1] == 429
        assert ask(page)[0] == 429  # the right code too: whether it is, is not told


def test_presses_go_into_the_queue(opened):
    opened.show({"at": "3.0..", "words": "Row 3."})
    with closing(Looker(opened)) as looker:
        assert looker.next() == {"number": 1, "at": "3.0..", "words": "Row 3."}
        assert ask(opened, "repeat?at=3.0..", "POST")[0] == 204
        assert ask(opened, "next?at=3.0..", "POST")[0] == 204
        assert [opened.pressed.get(), opened.pressed.get()] == [page("up"), page("pagedown")]
        # It comes twice before the session has answered, and once more after that.
        assert ask(opened, "next?at=3.0..", "POST")[0] == 409
        opened.show({"at": "4.0.."})
        assert looker.next()["at"] == "4.0.."
        assert ask(opened, "next?at=3.0..", "POST")[0] == 409
        assert ask(opened, "back", "POST")[0] == 409
        assert opened.pressed.empty()
        assert ask(opened, "back?at=4.0..", "POST")[0] == 204
        assert opened.pressed.get() == page("pageup")
        assert ask(opened, "yes?at=4.0..", "POST")[0] == 409
        assert set(KEYS) == {"next", "repeat", "back", "yes"}
        assert ask(opened, "leave?at=4.0..", "POST")[0] == 404


def test_all_who_look_on_get_the_whole_state(opened):
    opened.show({"words": "one"})
    first = Looker(opened)
    assert first.next() == {"number": 1, "words": "one"}
    second = Looker(opened)
    assert second.next() == {"number": 1, "words": "one"}
    opened.show({"words": "two"})
    assert first.next() == second.next() == {"number": 2, "words": "two"}
    first.close()  # its connection drops; it comes back, and has missed nothing that counts
    opened.show({"words": "three"})
    opened.show({"words": "four"})
    again = Looker(opened)
    assert again.next() == {"number": 4, "words": "four"}
    # The last words reach everybody before the server goes.
    opened.show({"words": "bye", "ended": True})
    opened.close()
    assert again.next() == {"number": 5, "words": "bye", "ended": True}
    assert again.next() is None
    for looker in (second, again):
        looker.close()
    opened.close()


def test_so_many_may_look_on(opened, monkeypatch):
    monkeypatch.setattr(server, "MOST_LOOKERS", 2)
    lookers = [Looker(opened) for _ in range(3)]
    assert [looker.answer.status for looker in lookers] == [200, 200, 503]
    for looker in lookers:
        looker.close()


def test_what_is_no_request_harms_nothing(opened):
    """Half a request, a huge header, a body that never ends, and bytes of no protocol."""
    own = f"/{opened.door.code}/".encode()
    links = []
    for sent in (
        b"GET " + own,
        b"GET " + own + b" HTTP/1.1\r\nX: " + b"a" * 200_000 + b"\r\n\r\n",
        b"POST " + own + b"next HTTP/1.1\r\nContent-Length: 999999999\r\n\r\naaaa",
        bytes(range(256)) * 50,
    ):
        link = socket.create_connection((opened.door.host, opened.door.port), timeout=5)
        links.append(link)
        with suppress(ConnectionError):
            link.sendall(sent)
    assert ask(opened)[0] == 200
    assert opened.pressed.empty()
    for link in links:
        link.close()


def test_the_network_of_the_home():
    """RFC 1918 and RFC 3927 have the addresses that no computer outside reaches."""
    for address in ("192.168.1.20", "10.0.0.7", "172.16.4.4", "172.31.255.1", "169.254.3.3"):
        assert is_of_home(address)
    for address in ("8.8.8.8", "172.32.0.1", "192.169.0.1", "127.0.0.1", "0.0.0.0", "100.64.0.1"):
        assert not is_of_home(address)


def test_on_the_computer_only_it_reaches_the_page(opened):
    assert opened.door.host == "127.0.0.1"
    assert opened._socket.getsockname()[0] == "127.0.0.1"


def test_in_the_home():
    """The page is at the address that others know, and at no other one."""
    try:
        address = home_address()
    except PageError:
        pytest.skip("this computer is in no home network")
    with closing(PageServer("home", lambda _: None)) as page:
        assert page.door.host == address
        assert ask(page)[0] == 200
        port = page.door.port
        assert ask(page, Host=f"localhost:{port}")[0] == 421
        with pytest.raises(OSError, match=r"."):
            socket.create_connection(("127.0.0.1", port), timeout=2)


def test_no_home_and_no_libraries(monkeypatch):
    monkeypatch.setattr(server, "is_of_home", lambda _: False)
    with pytest.raises(PageError, match=r"in no home network.*leave --page-on away"):
        PageServer("home", lambda _: None)
    monkeypatch.setitem(__import__("sys").modules, "uvicorn", None)
    with pytest.raises(PageError, match=r"needs two more libraries; .*row-caller add page$"):
        PageServer("computer", lambda _: None)


def test_two_sessions_have_pages_of_their_own(opened):
    with closing(PageServer("computer", lambda _: None)) as other:
        assert other.door.port != opened.door.port
        assert other.door.code != opened.door.code
        assert ask(other, code=opened.door.code)[0] == 404


def test_closing_waits_for_nobody(opened):
    lookers = [Looker(opened) for _ in range(4)]
    before = {thread.name for thread in threading.enumerate()}
    assert "page" in before
    opened.close()
    assert not opened._thread.is_alive()
    for looker in lookers:
        looker.close()


def test_the_page_names_nothing_of_a_network(opened):
    for path in ("", "page.css", "page.js"):
        assert not re.search(rb"https?:|//[a-z]+\.", ask(opened, path)[2])
