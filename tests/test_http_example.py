"""The HTTP example of the documentation: what it answers, and what it answers to nonsense."""

import http.client
import json
import runpy
import socket
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

import sumpwise

EXAMPLE = Path(__file__).parents[1] / "docs" / "examples" / "http_endpoint.py"


@pytest.fixture(scope="module")
def port():
    server = runpy.run_path(str(EXAMPLE))["serve"](0)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield server.server_port
    server.shutdown()
    server.server_close()
    thread.join()


def ask(port, path, body, once=False, **headers):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        content = body if isinstance(body, bytes) else json.dumps(body).encode()
        connection.request("POST", path, content, headers)
        reply = connection.getresponse()
        if once:
            return reply.status
        assert reply.headers["Content-Type"] == "application/json; charset=utf-8"
        return reply.status, json.loads(reply.read())
    finally:
        connection.close()


def test_a_plain_answer(port):
    status, answer = ask(port, "/drain_refill", {"drained": "3.3 L", "capacity": "8.85 L", "times": 3})
    assert (status, answer) == (200, {"result": sumpwise.drain_refill("3.3 L", "8.85 L", times=3)})


def test_an_answer_with_a_unit_comes_in_the_unit_that_asked(port):
    status, answer = ask(port, "/volume_needed", {"target": 0.9, "capacity": "9 1/4 qt"})
    assert status == 200
    assert answer["result"]["unit"] == "qt"
    assert answer["result"]["value"] == pytest.approx(21.2989, abs=1e-4)  # 9.25 ln 10


def test_an_uncertain_answer_has_its_standard_uncertainty(port):
    _, answer = ask(port, "/drain_refill", {"drained": "3.0(3) L", "capacity": "10 L"})
    assert answer["result"] == pytest.approx({"value": 0.3, "standard_uncertainty": 0.03})


def test_a_band_has_two_limits(port):
    _, answer = ask(port, "/setting_band", {"lower": "31 N·m", "upper": "37 N·m", "tolerance": 0.04})
    assert answer["result"]["lower"]["value"] == pytest.approx(31 / 0.96)
    assert answer["result"]["upper"]["value"] == pytest.approx(37 / 1.04)


def test_a_description_is_checked(port):
    status, answer = ask(port, "/check_text", {"text": "Torque the plug to 34 N·m (30 lb-ft)."})
    assert status == 200
    assert [f["verdict"] for f in answer["result"]["findings"]] == ["disagrees"]


@pytest.mark.parametrize(
    ("body", "argument", "says"),
    [
        ({"drained": "3.3", "capacity": "8.85 L"}, "drained", "unit"),
        ({"drained": "9 L", "capacity": "8.85 L"}, "drained", "capacity"),
        ({"drained": "3.3 N·m", "capacity": "8.85 L"}, "drained", ""),
        ({"drained": "<script>", "capacity": "8.85 L"}, "drained", ""),
        ({"drained": ["3.3 L", None], "capacity": "8.85 L"}, "drained[1]", ""),
        ({"drained": "9**9**9 L", "capacity": "8.85 L"}, "drained", ""),
        ({"drained": "3.3 L", "capacity": "8.85 L", "purity": 2}, "purity", ""),
    ],
)
def test_bad_input_is_400_with_the_argument_the_problem_and_a_hint(port, body, argument, says):
    status, answer = ask(port, "/drain_refill", body)
    assert status == 400
    assert answer["argument"] == argument
    assert answer["problem"]
    assert answer["hint"]
    assert says in " ".join(answer.values())


MASKED = {"drained": ["3.3 L", "nothing"], "capacity": "8.85 L", "errors": "mask"}


@pytest.mark.parametrize(
    "body", [b"", b"{", b"[]", b"3", b"null", b"\xff", b"[" * 50_000, b"9" * 5000, {"drained": "3.3 L"}, {"nonsense": 1}, MASKED]
)
def test_what_is_not_a_request_is_400_too(port, body):
    status, answer = ask(port, "/drain_refill", body)
    assert status == 400
    assert answer["problem"]


@pytest.mark.parametrize("way", ["mask", "collect", "raise"])
def test_what_an_answer_cannot_say_in_json_is_no_argument_of_a_route(port, way):
    status, answer = ask(port, "/drain_refill", MASKED | {"errors": way})
    assert (status, answer["code"], answer["argument"]) == (400, "argument.unknown", "errors")
    assert answer["hint"] == "drained, capacity, times, start, purity, refilled"


def test_a_key_that_is_there_twice_is_refused_as_in_a_record(port, tmp_path):
    status, answer = ask(port, "/drain_refill", b'{"drained": "1 L", "capacity": "9 L", "drained": "2 L"}')
    assert (status, answer["argument"]) == (400, "drained")
    (tmp_path / "record.json").write_bytes(b'{"drained": "1 L", "drained": "2 L"}')
    with pytest.raises(sumpwise.FileError) as refused:
        sumpwise.ServiceRecord.load(tmp_path / "record.json")
    assert {key: answer[key] for key in ("code", "problem", "hint")} == {
        "code": refused.value.code, "problem": refused.value.problem, "hint": refused.value.hint,
    }  # fmt: skip


def test_an_unknown_route_is_404(port):
    for path in ("/", "/Job", "/__class__", "/verify", "/drain_refill/.."):
        status, answer = ask(port, path, {})
        assert status == 404
        assert "/drain_refill" in answer["hint"]


def test_a_huge_or_unmeasured_request_is_refused_unread(port):
    for length in ("100001", "-1", "many", "²", "9" * 30):
        status, _ = ask(port, "/drain_refill", b"", **{"Content-Length": length})
        assert status == 413


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ({"drained": [["1 L"], ["2 L"]], "capacity": "8 L"}, "list of values"),
        ({"drained": {"value": 1}, "capacity": "8 L"}, "list of values"),
        ({"drained": ["1 L"] * 1001, "capacity": "8 L"}, "more than 1000"),
    ],
)
def test_an_answer_is_bounded_before_it_is_computed(port, body, says):
    status, answer = ask(port, "/drain_refill", body)
    assert (status, answer["argument"]) == (400, "drained")
    assert says in answer["problem"]


def raw(port, *pieces, wait=0.0):
    """What comes back for bytes sent in pieces."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        for piece in pieces:
            connection.sendall(piece)
            time.sleep(wait)
        connection.shutdown(socket.SHUT_WR)
        return received(connection)


def received(connection):
    """All that comes back until the other side is done."""
    found = b""
    while piece := connection.recv(65536):
        found += piece
    return found


@pytest.mark.parametrize(
    "head",
    [
        b"Content-Length: 2\r\nContent-Length: 2\r\n",
        b"Content-Length: 2\r\nTransfer-Encoding: chunked\r\n",
        b"Transfer-Encoding: chunked\r\n",
        b"Content-Length: +2\r\n",
        b"Content-Length: 1e3\r\n",
        b"",
    ],
)
def test_a_length_that_can_be_read_two_ways_is_refused(port, head):
    assert raw(port, b"POST /drain_refill HTTP/1.1\r\nHost: x\r\n" + head + b"\r\n{}").startswith(b"HTTP/1.0 413")


def test_a_body_shorter_than_it_says_is_400(port):
    assert raw(port, b"POST /drain_refill HTTP/1.1\r\nContent-Length: 50\r\n\r\n{}").startswith(b"HTTP/1.0 400")


@contextmanager
def serving(**limits):
    """The port of a server with other limits."""
    example = runpy.run_path(str(EXAMPLE))
    example["Server"].process_request_thread.__globals__.update(limits)
    with example["serve"](0) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield server.server_port
        server.shutdown()
        thread.join()


def test_slow_senders_are_cut_off_and_others_wait_for_them():
    with serving(PATIENCE=0.5, AT_ONCE=3) as port:
        slow = [socket.create_connection(("127.0.0.1", port), timeout=10) for _ in range(3)]
        for connection in slow:
            connection.sendall(b"POST /drain_refill HTTP/1.1\r\nContent-Length: 90\r\n\r\n")
        assert ask(port, "/drain_refill", {"drained": "3 L", "capacity": "9 L"}, once=True) == 200
        for connection in slow:
            with connection:
                assert received(connection).startswith(b"HTTP/1.0 400")


def test_no_more_are_answered_at_once_than_are_free_and_each_gets_an_answer():
    """Those for whom there was no thread were cut off while they were still sending, and did not even see why."""
    with serving(AT_ONCE=1) as port, ThreadPoolExecutor(8) as pool:
        body = {"text": "The plug takes 34 N·m (25 lb-ft). " * 50}
        assert set(pool.map(lambda _: ask(port, "/check_text", body, once=True), range(80))) == {200}


def test_who_is_refused_while_still_sending_is_told_why(port):
    """Closing a connection from which something is left to read resets it, and what was answered is lost."""
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
            connection.sendall(b"POST /drain_refill HTTP/1.1\r\nContent-Length: 300000\r\n\r\n" + b"x" * 100_000)
            time.sleep(0.01)
            connection.sendall(b"x" * 200_000)
            time.sleep(0.01)
            assert received(connection).startswith(b"HTTP/1.0 413")


def test_who_never_stops_sending_is_cut_off():
    with serving(PATIENCE=0.5) as port, socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        connection.sendall(b"POST /drain_refill HTTP/1.1\r\nContent-Length: 300000\r\n\r\n")
        began = time.monotonic()
        with suppress(OSError):  # closed by the other side
            while time.monotonic() < began + 10:
                connection.sendall(b"x")
                time.sleep(0.01)
        assert time.monotonic() < began + 5


@pytest.mark.parametrize(
    "request_line", [b"GET /drain_refill HTTP/1.1", b"BREW / HTTP/1.1", b"\x00\xff", b"GET / FTP", b"POST /" + b"a" * 70_000]
)
def test_another_method_or_junk_is_refused_in_json(port, request_line):
    head, _, body = raw(port, request_line + b"\r\n\r\n").partition(b"\r\n\r\n")
    assert int(head.split()[1]) in (400, 414, 501, 505)
    assert b"Content-Type: application/json; charset=utf-8" in head
    assert json.loads(body)["problem"]


def test_the_headers_alone_have_no_body(port):
    head, _, body = raw(port, b"HEAD /drain_refill HTTP/1.1\r\n\r\n").partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.0 501")
    assert not body


def test_of_requests_sent_together_the_first_is_answered(port):
    body = b'{"drained": "3.3 L", "capacity": "8.85 L"}'
    one = b"POST /drain_refill HTTP/1.1\r\nContent-Length: %d\r\n\r\n" % len(body) + body
    answer = raw(port, one + one)
    assert answer.count(b"HTTP/1.0 200") == 1
    assert json.loads(answer.partition(b"\r\n\r\n")[2])["result"] == sumpwise.drain_refill("3.3 L", "8.85 L")


def test_eight_at_once_get_their_own_answers(port):
    def one(n):
        return ask(port, "/drain_refill", {"drained": f"{n} L", "capacity": "10 L"})

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(one, range(1, 10)))
    assert [a["result"] for _, a in answers] == [sumpwise.drain_refill(f"{n} L", "10 L") for n in range(1, 10)]


@pytest.mark.parametrize(
    ("request_", "argument", "code"),
    [
        ({"drained": "3.3 L"}, "capacity", "argument.missing"), ({}, "drained", "argument.missing"),
        ({"drained": "3.3 L", "capacity": "8.85 L", "time": 3}, "time", "argument.unknown"),
        ({"drained": "", "capacity": "8.85 L"}, "drained", "number.missing"),
    ],
)  # fmt: skip
def test_a_form_is_told_which_field_is_missing_unknown_or_empty(request_, argument, code):
    status, body = runpy.run_path(str(EXAMPLE))["answer"]("/drain_refill", json.dumps(request_).encode())
    told = json.loads(body)
    assert (status, told["argument"], told["code"]) == (400, argument, code)


def test_every_refusal_has_a_code_that_an_app_translates():
    from sumpwise.codes import CODES

    answer = runpy.run_path(str(EXAMPLE))["answer"]
    for body in (b"", b"{", b"[1]", b"NaN", b'{"drained": 1}', b'{"drained": "1 L", "drained": "2 L"}', b"null"):
        status, told = answer("/drain_refill", body)
        assert (status, json.loads(told)["code"] in CODES) == (400, True), body
