"""Asks the HTTP example of the documentation many times at once: `python tests/http_load.py` prints rate, waits and failures.

Server and askers are on this machine alone; the number of requests is bounded.
"""

from __future__ import annotations

import http.client
import json
import runpy
import sys
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

EXAMPLE = Path(__file__).parents[1] / "docs" / "examples" / "http_endpoint.py"
ASKERS, EACH = 8, 500
CUT_OFF = 0
"""In place of a status: no answer came."""
BODIES = [
    ("/drain_refill", {"drained": "3.3 ± 0.1 L", "capacity": "8.85 L", "times": 3}),
    ("/volume_needed", {"target": 0.9, "capacity": "8.85 L"}),
    ("/setting_band", {"lower": "31 N·m", "upper": "37 N·m", "tolerance": "4 %"}),
    ("/check_text", {"text": "The plug takes 34 N·m (25 lb-ft). " * 100}),
    ("/drain_refill", {"drained": "nine", "capacity": "8.85 L"}),
]


def main() -> int:
    """Run the load; return how many requests failed."""
    server = runpy.run_path(str(EXAMPLE))["serve"](0)
    threading.Thread(target=server.serve_forever, daemon=True).start()

    def asker(number: int) -> list[tuple[int, float]]:
        found = []
        for index in range(EACH):
            path, body = BODIES[(number + index) % len(BODIES)]
            start = time.perf_counter()
            connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=30)
            try:
                connection.request("POST", path, json.dumps(body).encode())
                reply = connection.getresponse()
                json.loads(reply.read() or b"null")
                status = reply.status
            except (OSError, http.client.HTTPException):
                status = CUT_OFF
            finally:
                connection.close()
            found.append((status, time.perf_counter() - start))
        return found

    start = time.perf_counter()
    with ThreadPoolExecutor(ASKERS) as pool:
        found = [one for many in pool.map(asker, range(ASKERS)) for one in many]
    lasted = time.perf_counter() - start
    server.shutdown()
    waits = sorted(wait for _, wait in found)
    failed = sum(status not in (200, 400) for status, _ in found)
    print(f"{len(found)} requests by {ASKERS} askers in {lasted:.1f} s: {len(found) / lasted:.0f} a second, {failed} failed")
    print("statuses:", dict(sorted(Counter(status for status, _ in found).items())))
    half, most = waits[len(waits) // 2], waits[int(0.99 * len(waits))]
    print(f"waits: median {1000 * half:.1f} ms, 99 % within {1000 * most:.1f} ms, longest {1000 * waits[-1]:.0f} ms")
    return failed


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
