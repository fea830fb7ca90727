"""The page as a program: on this machine alone, stopped by Ctrl-C, nothing left behind."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.face.page.server import bound
from tests.face.page.pages import PRINTED, Running, started


def children(pid: int) -> set[int]:
    found = set()
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == pid:
            found.add(int(stat.parent.name))
    return found


def gone(pids: set[int], most_s: float = 8.0) -> bool:
    end = time.monotonic() + most_s
    while time.monotonic() < end:
        if not any(Path(f"/proc/{pid}").exists() for pid in pids):
            return True
        time.sleep(0.05)
    return False


def fetched(running: Running, path: str, headers: dict[str, str]) -> tuple[int, bytes]:
    link = http.client.HTTPConnection("127.0.0.1", running.port, timeout=10)
    link.request("GET", path, headers=headers)
    answer = link.getresponse()
    body = answer.read()
    link.close()
    return answer.status, body


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_it_stops_cleanly(tmp_path: Path, how: signal.Signals) -> None:
    running = started(tmp_path)
    assert list(tmp_path.glob("holders-page-*"))
    workers = children(running.process.pid)
    assert len(workers) >= 2
    assert fetched(running, "/", {})[0] == 200
    running.process.send_signal(how)
    _, words = running.process.communicate(timeout=15)
    assert gone(workers)
    assert not list(tmp_path.glob("holders-page-*"))
    assert "Traceback" not in words, words
    if how != signal.SIGTERM:
        assert running.process.returncode == 0


@pytest.mark.parametrize("waits", [True, False])
def test_it_stops_without_a_traceback_in_the_midst_of_a_long_answer(tmp_path: Path, waits: bool) -> None:
    """Whether the browser still waits for it, or went away before: then the worker that was at it was ended."""
    running = started(tmp_path)
    link = http.client.HTTPConnection("127.0.0.1", running.port, timeout=30)
    head = {"x-holders-token": running.token, "content-type": "application/json"}
    link.request("POST", "/api/propose", json.dumps({"values": PRINTED, "by_hand": []}), head)
    time.sleep(3.0)  # it takes tens of seconds
    if not waits:
        link.close()
        time.sleep(1.0)
    running.process.send_signal(signal.SIGINT)
    _, words = running.process.communicate(timeout=15)
    link.close()
    assert words == ""
    assert running.process.returncode == 0


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_ctrl_c_that_reaches_every_process_is_quiet(tmp_path: Path) -> None:
    code = "from holders.face.page.server import serve\nif __name__ == '__main__':\n serve(0, open_browser=False)\n"
    (tmp_path / "run.py").write_text(code, encoding="utf-8")
    process = subprocess.Popen(
        [sys.executable, "-u", str(tmp_path / "run.py")], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "TMPDIR": str(tmp_path)}, start_new_session=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline().startswith("http://127.0.0.1:")
    os.killpg(process.pid, signal.SIGINT)
    _, words = process.communicate(timeout=15)
    assert process.returncode == 0
    assert words == ""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_workers_do_not_outlive_a_killed_page(tmp_path: Path) -> None:
    running = started(tmp_path)
    workers = children(running.process.pid)
    time.sleep(1.5)  # until they have settled
    running.process.kill()
    running.process.communicate(timeout=10)
    assert gone(workers)


def test_it_listens_on_this_machine_alone(server: Running) -> None:
    port = server.port
    with socket.socket() as probe:
        probe.settimeout(2)
        assert probe.connect_ex(("127.0.0.2", port)) != 0  # loopback too, but not the bound address
    status, body = fetched(server, "/", {"Host": "evil.example"})
    assert status == 403
    assert b"token" not in body


def test_a_fresh_token_each_run(server: Running, tmp_path: Path) -> None:
    other = started(tmp_path)
    keys = [fetched(other, "/api/form", {"x-holders-token": run.token})[0] for run in (server, other)]
    other.process.terminate()
    other.process.communicate(timeout=15)
    assert len(server.token) >= 40
    assert server.token != other.token
    assert keys == [403, 200]


def test_ports_are_refused_in_words() -> None:
    with pytest.raises(InputError, match="--port"):
        bound(70_000)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(InputError, match="in use"):
            bound(taken.getsockname()[1])
    with bound(None) as free:
        assert free.getsockname()[0] == "127.0.0.1"
