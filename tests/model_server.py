"""A server on this machine that gives a model, well or badly, and models that are none.

Nothing here reaches the internet. What a server may answer to a request for a part of a file is
from RFC 9110 (seen): 206 with Content-Range, 200 with the whole file, or 416.
"""

import hashlib
import io
import os
import threading
import zipfile
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from caller.devices.recognisers.model_download import Download

NAME = "vosk-model-tiny"
NOISE = os.urandom(400_000)  # does not shrink, so that parts of it can be sent


def packed(*more, top=NAME, files=None):
    """A zip file with all that a usable model must hold, and these entries too."""
    files = files or {"am/final.mdl": NOISE, "graph/HCLr.fst": fst(), "graph/Gr.fst": b"fst"}
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(f"{top}/", b"")
        for name, content in files.items():
            archive.writestr(f"{top}/{name}", content)
        for entry, content in more:
            archive.writestr(entry, content)
    return buffer.getvalue()


def fst():
    """No graph that could be used, but of a kind that is left for the library to judge."""
    return b"\xd6\xfd\xb2\x7e" + bytes(500)


class Server(ThreadingHTTPServer):
    """Serves one file; `answers` are taken one a request, then it serves as it should."""

    def __init__(self, content=None):
        super().__init__(("127.0.0.1", 0), Handler)
        self.content = packed() if content is None else content
        self.answers = []
        self.asked = []
        self.release = threading.Event()
        threading.Thread(target=self.serve_forever, args=(0.01,), daemon=True).start()

    @property
    def address(self):
        return f"http://127.0.0.1:{self.server_port}/{NAME}.zip"

    def handle_error(self, request, client_address):
        """Say nothing of connections that were cut."""


class Handler(BaseHTTPRequestHandler):
    def log_message(self, *_):
        """Write nothing on the screen."""

    def do_GET(self):
        self.server.asked.append(self.headers.get("Range"))
        answer = self.server.answers.pop(0) if self.server.answers else Handler.well
        answer(self)

    def well(self, cut=None, then_wait=False):
        content, begin = self.server.content, 0
        if span := self.headers.get("Range"):
            begin = int(span.removeprefix("bytes=").removesuffix("-"))
            self.send_response(206)
            self.send_header("Content-Range", f"bytes {begin}-{len(content) - 1}/{len(content)}")
        else:
            self.send_response(200)
        self.send_header("Content-Length", str(len(content) - begin))
        self.end_headers()
        self.wfile.write(content[begin:cut])
        if then_wait:
            self.wfile.flush()
            self.server.release.wait(20)

    def whole(self):
        """As a server that knows no parts."""
        del self.headers["Range"]
        self.well()

    def status(self, code):
        self.send_response(code)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def redirect(self):
        self.send_response(302)
        self.send_header("Location", "/elsewhere.zip")
        self.send_header("Content-Length", "0")
        self.end_headers()

    def without_length(self):
        self.send_response(200)
        self.end_headers()
        self.wfile.write(self.server.content)

    def sends(self, content):
        self.send_response(200)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def sends_another_part(self):
        self.send_response(206)
        self.send_header("Content-Range", f"bytes 0-9/{len(self.server.content)}")
        self.send_header("Content-Length", "10")
        self.end_headers()
        self.wfile.write(self.server.content[:10])

    def nonsense(self):
        self.wfile.write(b"this is no HTTP\r\n\r\n")

    def hangs_up(self):
        self.connection.close()


def download_of(server):
    content = server.content
    return Download(NAME, server.address, len(content), hashlib.sha256(content).hexdigest(), "none")
