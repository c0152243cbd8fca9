"""The server of the page at the machine: one session's page, and nothing else.

It runs on a thread of its own, with a loop of its own. The session's thread gives it what to show;
each browser that looks gets the whole of it over server-sent events, and again whenever it has lost
the connection. What is pressed there goes into the session's queue as keys do.
"""

import asyncio
import contextlib
import ipaddress
import json
import os
import socket
import threading
from collections.abc import AsyncIterator, Callable
from importlib.resources import files
from typing import Any

from caller.calling.events import Pressed
from caller.devices.page.doors import WRONG_COSTS, Door, Rates, new_code
from caller.errors import PageError
from caller.installation import installs
from caller.settings import PageOn

PORT = 8750
"""Where it is free, so that the browser finds the size of its text again; else any other."""
BEAT_S = 5.0
"""How often a word comes that the connection holds, so that the page notices where it does not."""
MOST_LOOKERS = 16
_START_S = 10.0
_STOP_S = 1.0

KEYS = {"next": "pagedown", "repeat": "up", "back": "pageup", "yes": "y"}
"""What the page's buttons are, as keys."""
_MOVES = ("next", "back", "yes")

_FILES = {
    "": ("page.html", "text/html"),
    "page.css": ("page.css", "text/css"),
    "page.js": ("page.js", "text/javascript"),
}
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; script-src 'self'; "
    "img-src data:; connect-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'",
    "Cache-Control": "no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


class PageServer:
    """The page of one session, from its making to `close`; `put` takes what is pressed there.

    Raises PageError where there is no home network, the libraries are missing, or the computer
    lets no server be opened.
    """

    def __init__(self, on: PageOn, put: Callable[[Pressed], None]) -> None:
        self._libraries = _libraries()
        self._put = put
        self._rates = Rates()
        self._number = 0
        self._view: dict[str, Any] = {}
        self._pressed_at = -1  # the number of what was shown when a move was taken last
        self._lookers = 0
        self._loop: asyncio.AbstractEventLoop | None = None
        self._changed = asyncio.Event()
        self._closed = False
        host = home_address() if on == "home" else "127.0.0.1"
        self._socket = _listening(host)
        self.door = Door(host, self._socket.getsockname()[1], new_code())
        _, uvicorn = self._libraries
        self._server = uvicorn.Server(
            uvicorn.Config(
                self._app(),
                log_config=None,
                log_level="critical",
                access_log=False,
                lifespan="off",
                http="h11",
                ws="none",
                loop="asyncio",
                proxy_headers=False,
                server_header=False,
                limit_concurrency=4 * MOST_LOOKERS,
                timeout_graceful_shutdown=_STOP_S,
            )
        )
        self._thread = threading.Thread(target=self._run, name="page", daemon=True)
        self._started = threading.Event()
        self._thread.start()
        if not self._started.wait(_START_S):
            raise PageError("The page at the machine does not start", "the call needs none.")

    def show(self, view: dict[str, Any]) -> None:
        """Show this on every page that looks on; returns at once, from any thread."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # it is closed
                self._loop.call_soon_threadsafe(self._take, view)

    def close(self) -> None:
        """Let go of every page; harmless when done twice."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):
                self._loop.call_soon_threadsafe(self._end)
        self._thread.join(2 * _STOP_S)
        self._socket.close()

    def _run(self) -> None:
        async def serve() -> None:
            self._loop = asyncio.get_running_loop()
            self._started.set()
            await self._server.serve(sockets=[self._socket])

        asyncio.run(serve())

    def _take(self, view: dict[str, Any]) -> None:
        self._number += 1
        self._view = view
        self._wake()

    def _end(self) -> None:
        self._closed = True
        self._wake()
        self._server.should_exit = True

    def _wake(self) -> None:
        self._changed.set()
        self._changed = asyncio.Event()

    def _app(self) -> Any:
        starlette, _ = self._libraries
        route = starlette.routing.Route
        return starlette.applications.Starlette(
            routes=[
                route("/{code}/events", self._events, methods=["GET"]),
                route("/{code}/{name}", self._press, methods=["POST"]),
                route("/{code}/{name:path}", self._file, methods=["GET"]),
                route("/{path:path}", self._nothing, methods=["GET", "POST"]),
            ],
        )

    def _refused(self, request: Any, moves: bool = False) -> int:
        """The status by which a request is refused, 0 where it is not; all of them pass here."""
        computer = request.client.host if request.client else ""
        headers = request.headers
        status = self.door.refuses(
            headers.get("host"), headers.get("origin"), request.path_params.get("code", ""), moves
        )
        often = self._rates.too_often(computer, WRONG_COSTS if status else 1)
        return 429 if often else status

    def _answer(self, status: int, text: str = "", kind: str = "text/plain") -> Any:
        starlette, _ = self._libraries
        return starlette.responses.Response(text, status, _HEADERS, kind)

    async def _nothing(self, request: Any) -> Any:
        return self._answer(self._refused(request) or 404)

    async def _file(self, request: Any) -> Any:
        name = request.path_params["name"]
        status = self._refused(request) or (0 if name in _FILES else 404)
        if status:
            return self._answer(status)
        file, kind = _FILES[name]
        return self._answer(200, files(__package__).joinpath(file).read_text("utf-8"), kind)

    async def _press(self, request: Any) -> Any:
        """Take what was pressed; 409 for a press that was meant for another place."""
        name = request.path_params["name"]
        status = self._refused(request, moves=True) or (0 if name in KEYS else 404)
        if status:
            return self._answer(status)
        if name in _MOVES:
            if request.query_params.get("at") != self._view.get("at"):
                return self._answer(409)
            if self._pressed_at == self._number:
                return self._answer(409)
            self._pressed_at = self._number
        self._put(Pressed(KEYS[name], on_page=True))
        return self._answer(204)

    async def _events(self, request: Any) -> Any:
        status = self._refused(request) or (503 if self._lookers >= MOST_LOOKERS else 0)
        if status:
            return self._answer(status)
        starlette, _ = self._libraries
        return starlette.responses.StreamingResponse(
            self._stream(), headers=_HEADERS, media_type="text/event-stream"
        )

    async def _stream(self) -> AsyncIterator[str]:
        """All there is to show, whole each time; a comment of a beat where nothing changes."""
        self._lookers += 1
        sent = 0
        try:
            yield "retry: 1000\n\n"
            while not self._closed or sent != self._number:
                changed = self._changed
                if sent != self._number:
                    sent = self._number
                    yield f"data: {json.dumps({'number': sent, **self._view})}\n\n"
                    continue
                try:
                    await asyncio.wait_for(changed.wait(), BEAT_S)
                except TimeoutError:
                    yield "event: beat\ndata:\n\n"
        finally:
            self._lookers -= 1


def home_address() -> str:
    """This computer's address in the network that it is in; PageError where that is none of a home.

    Connecting a datagram socket sends nothing; it only chooses the address.
    """
    address = ""
    with (
        contextlib.suppress(OSError),
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking,
    ):
        asking.connect(("198.51.100.1", 9))
        address = asking.getsockname()[0]
    if not address or not is_of_home(address):
        raise PageError(
            "This computer is in no home network, so no other one reaches the page",
            "connect it, or leave --page-on away.",
        )
    return address


def is_of_home(address: str) -> bool:
    """Whether an address leads to one computer in its own network only."""
    found = ipaddress.ip_address(address)
    return found.is_private and not (found.is_loopback or found.is_unspecified)


def _listening(host: str) -> socket.socket:
    for port in (PORT, 0):
        opened = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        try:
            if os.name != "nt":  # there it would share the port with another program
                opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            opened.bind((host, port))
            opened.listen()
            return opened
        except OSError:
            opened.close()
    raise PageError(
        "This computer lets no page be opened", "the call goes on without; allow it and try again."
    )


def _libraries() -> tuple[Any, Any]:
    try:
        import starlette
        import starlette.applications
        import starlette.responses
        import starlette.routing
        import uvicorn
    except ImportError:
        raise PageError("The page at the machine needs two more libraries", installs("page")) from (
            None
        )
    return starlette, uvicorn
