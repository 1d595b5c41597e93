"""A small endpoint that answers JSON, with nothing but the standard library.

python docs/examples/http_endpoint.py            on http://127.0.0.1:8000

POST /drain_refill   {"drained": "3.3 L", "capacity": "8.85 L", "times": 3}
POST /check_text     {"text": "34 N·m (30 lb-ft)"}
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from inspect import signature
from socket import SHUT_RD, SHUT_WR, socket
from typing import Any

import sumpwise

ROUTES = {
    "/drain_refill", "/drains_needed", "/volume_needed", "/wrench_setting", "/setting_band", "/check_text",
}  # fmt: skip
LARGEST = 100_000
"""The largest request, in bytes."""
LONGEST = 1_000
"""The most elements of a list, which must not be nested: nested lists would multiply."""
PATIENCE = 10.0
"""The most seconds for a whole request to arrive, and for its answer to be taken."""
AT_ONCE = 16
"""How many requests are answered at once; others wait in the queue of the system."""


def answer(path: str, body: bytes) -> tuple[int, bytes]:
    """Status and JSON for one request. Everything that uses the library is in here."""
    if path not in ROUTES:
        return 404, written({"problem": "is not a route", "hint": ", ".join(sorted(ROUTES))})
    try:
        function = getattr(sumpwise, path[1:])
        result = function(**named(function, bounded(json.loads(body, object_pairs_hook=unique))))
        return 200, written({"result": plain(result)})
    except sumpwise.SumpwiseError as error:
        return 400, written({"code": error.code, "argument": error.argument, "problem": error.problem, "hint": error.hint or error.allowed})
    except (ValueError, TypeError, RecursionError) as error:
        problem = f"the request is not a JSON object of this route's arguments: {error}"
        return 400, written({"code": "file.syntax", "argument": "", "problem": problem, "hint": ""})


def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A JSON object; one that has a key twice is refused: nobody can say which was meant."""
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise sumpwise.FileError("appears twice", code="key.twice", argument=key, hint="keep one of them")
        found[key] = value
    return found


def bounded(arguments: Any) -> dict[str, Any]:
    """The arguments of a request, refused before anything is computed if the answer would be larger than the question."""
    if not isinstance(arguments, dict):
        raise TypeError("an object with the names of the arguments was expected")
    for name, value in arguments.items():
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, (list, dict)):
                raise sumpwise.RangeError("takes a value or a list of values", code="list.mixed", argument=name, hint="no lists in lists")
        if isinstance(value, list) and len(value) > LONGEST:
            problem, hint = f"has more than {LONGEST} elements", "ask in several requests"
            raise sumpwise.RangeError(problem, code="limit.entries", argument=name, hint=hint, limits=(0, LONGEST, ""))
    return arguments


def named(function: Callable[..., Any], arguments: dict[str, Any]) -> dict[str, Any]:
    """The arguments of a request, refused by name if one is unknown or missing, so that a form knows which field it is about.

    `errors` is for those who call the function themselves: whoever asks over HTTP gets an answer, or the first thing that is wrong.
    """
    asked = {name: one for name, one in signature(function).parameters.items() if name != "errors"}
    for name in arguments:
        if name not in asked:
            raise sumpwise.RangeError("is not an argument of this route", code="argument.unknown", argument=name, hint=", ".join(asked))
    for name, one in asked.items():
        if one.default is one.empty and name not in arguments:
            raise sumpwise.RangeError("is missing", code="argument.missing", argument=name)
    return arguments


def written(content: dict[str, Any]) -> bytes:
    """An answer as bytes; nan and infinity are refused, not written."""
    return json.dumps(content, ensure_ascii=False, allow_nan=False).encode("utf-8", "backslashreplace")


def plain(value: Any) -> Any:
    """An answer as JSON: quantities with their unit, uncertain numbers with their standard uncertainty."""
    if hasattr(value, "to_dict"):
        return value.to_dict()
    if hasattr(value, "lower"):
        return {"lower": plain(value.lower), "upper": plain(value.upper)}
    if hasattr(value, "magnitude"):
        inside = plain(value.magnitude)
        return {**(inside if isinstance(inside, dict) else {"value": inside}), "unit": f"{value.units:~P}"}
    if hasattr(value, "nominal_value"):
        return {"value": value.nominal_value, "standard_uncertainty": value.std_dev}
    return value.tolist() if hasattr(value, "tolist") else value


class Handler(BaseHTTPRequestHandler):
    """Reads a request, writes the answer."""

    timeout = PATIENCE
    default_request_version = "HTTP/1.0"  # older ones have no status

    def do_POST(self) -> None:
        """Answer one request."""
        lengths = self.headers.get_all("Content-Length", [])
        measured = len(lengths) == 1 and lengths[0].isascii() and lengths[0].isdecimal() and "Transfer-Encoding" not in self.headers
        if not measured or len(lengths[0]) > 9 or int(lengths[0]) > LARGEST:
            return self.reply(413, written({"problem": "needs one Content-Length", "hint": f"at most {LARGEST} bytes"}))
        body = self.rfile.read(int(lengths[0]))
        if len(body) < int(lengths[0]):
            return self.reply(400, written({"problem": "ended before its Content-Length, or took too long", "hint": ""}))
        return self.reply(*answer(self.path, body))

    def reply(self, status: int, data: bytes) -> None:
        """Write an answer, the only one of its connection."""
        self.close_connection = True
        self.send_response(status)
        self.send_header("Content-Type", "application/json; charset=utf-8")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(data)

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """What is not even a request, or has another method, is refused in JSON too."""
        self.reply(code, written({"problem": message or self.responses[code][0], "hint": "POST a JSON object"}))

    def log_message(self, format: str, *values: Any) -> None:
        """Say nothing: what people type is theirs."""


class Server(ThreadingHTTPServer):
    """A thread for each request, up to a limit, and none for longer than a request may take."""

    daemon_threads = True
    request_queue_size = 128

    def __init__(self, port: int) -> None:
        self.free = threading.BoundedSemaphore(AT_ONCE)
        super().__init__(("127.0.0.1", port), Handler)

    def process_request(self, request: Any, client_address: Any) -> None:
        """Hand a request to a thread as soon as one is free; none is held for long."""
        self.free.acquire()
        try:
            super().process_request(request, client_address)
        except BaseException:  # no thread could be started
            self.free.release()
            raise

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Answer; what has not arrived in time counts as cut off."""
        late = threading.Timer(PATIENCE, cut, [request])
        late.daemon = True
        try:
            late.start()
            super().process_request_thread(request, client_address)
        finally:
            late.cancel()
            self.free.release()

    def shutdown_request(self, request: Any) -> None:
        """Close a connection when the other side has stopped sending: to close it before would reset it, and the answer would be lost."""
        with suppress(OSError):  # over already, or still sending
            request.shutdown(SHUT_WR)
            request.settimeout(1.0)
            while request.recv(65536):
                pass
        self.close_request(request)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Whoever hangs up in the middle gets no answer and no traceback."""


def cut(request: socket) -> None:
    """Read no more from a connection that takes too long."""
    with suppress(OSError):  # over already
        request.shutdown(SHUT_RD)


def serve(port: int = 8000) -> Server:
    """A server on this machine alone."""
    return Server(port)


if __name__ == "__main__":
    with serve() as server:
        server.serve_forever()
