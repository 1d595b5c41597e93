"""A small endpoint that answers JSON, from the standard library alone.

    python docs/examples/http_endpoint.py            on http://127.0.0.1:8000

    POST /drain_refill   {"drained": "3.3 L", "capacity": "8.85 L", "times": 3}
    POST /check_text     {"text": "34 N·m (30 lb-ft)"}
"""

from __future__ import annotations

import json
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import sumpwise

ROUTES = {
    "/drain_refill", "/drains_needed", "/volume_needed", "/wrench_setting", "/setting_band", "/check_text",
}  # fmt: skip
LARGEST = 100_000
"""Bytes of a request that are read."""


def answer(path: str, body: bytes) -> tuple[int, dict[str, Any]]:
    """Status and JSON for one request. Everything that embeds the library is in here."""
    if path not in ROUTES:
        return 404, {"problem": "is no route", "hint": ", ".join(sorted(ROUTES))}
    try:
        result = getattr(sumpwise, path[1:])(**json.loads(body))
        return 200, {"result": plain(result)}
    except sumpwise.SumpwiseError as error:
        return 400, {"argument": error.argument, "problem": error.problem, "hint": error.hint or error.allowed}
    except (ValueError, TypeError, RecursionError) as error:
        problem = f"the request is no JSON object of this route's arguments: {error}"
        return 400, {"argument": "", "problem": problem, "hint": ""}


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

    def do_POST(self) -> None:
        """Answer one request."""
        length = self.headers.get("Content-Length", "")
        if not length.isdecimal() or int(length) > LARGEST:
            status, content = 413, {"problem": "needs a Content-Length", "hint": f"at most {LARGEST} bytes"}
            self.close_connection = True
        else:
            status, content = answer(self.path, self.rfile.read(int(length)))
        data = json.dumps(content, ensure_ascii=False, allow_nan=False).encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json; charset=utf-8")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)

    def log_message(self, format: str, *values: Any) -> None:
        """Say nothing: what people type is theirs."""


def serve(port: int = 8000) -> ThreadingHTTPServer:
    """A server on this machine alone; each request has a thread of its own."""
    return ThreadingHTTPServer(("127.0.0.1", port), Handler)


if __name__ == "__main__":
    with serve() as server:
        server.serve_forever()
