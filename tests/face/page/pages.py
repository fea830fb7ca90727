"""What the page's tests share: a preset, the page as a program, waiting for a job."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

ROOT = Path(__file__).resolve().parents[3]
PORT = 8620
TOKEN = "a-token-for-tests"
HEAD = {"host": f"127.0.0.1:{PORT}", "x-holders-token": TOKEN}
PRINTED = {
    "title": "Low Weir 8x10",
    "route": "print",
    "bed": {"name": "a4-wide", "focus_height_mm": 3.1},
    "film": {"format": "8x10", "emulsion": "down"},
    "material": {"name": "petg"},
    "printer": {"name": "p300"},
    "lip": {"all_mm": 2.5},
}


def finished(client: TestClient, key: str, most_s: float = 60.0) -> dict[str, Any]:
    """The job once it is over."""
    end = time.monotonic() + most_s
    while time.monotonic() < end:
        told: dict[str, Any] = client.get(f"/api/jobs/{key}").json()
        if told["state"] not in ("waiting", "uploading", "running"):
            return told
        time.sleep(0.05)
    raise AssertionError("the job did not end")


@dataclass
class Running:
    """The page as a program: ``address`` holds the key, ``port`` is where anybody may knock."""

    address: str
    process: subprocess.Popen[str]
    temp: Path

    @property
    def port(self) -> int:
        return int(re.findall(r":(\d+)/", self.address)[0])

    @property
    def token(self) -> str:
        return self.address.partition("#")[2]


def started(temp: Path, *arguments: str) -> Running:
    """Start the page as a program on a free port, its temporary files in ``temp``."""
    code = "from holders.face.page.server import serve\nif __name__ == '__main__':\n    serve(0, open_browser=False,"
    code += " tell=lambda a: print(a, flush=True))\n"
    script = temp / "run_page.py"
    script.write_text(code, encoding="utf-8")
    environment = {**os.environ, "TMPDIR": str(temp), "OMP_NUM_THREADS": "1"}
    process = subprocess.Popen(
        [sys.executable, str(script), *arguments],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    line = process.stdout.readline().strip()
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/#[\w-]{40,}", line), (
        line,
        process.stderr.read() if process.stderr else "",
    )
    return Running(line, process, temp)


def stopped(running: Running) -> tuple[int, str]:
    """End it politely; its exit code and what it said."""
    running.process.terminate()
    try:
        _, words = running.process.communicate(timeout=15)
    except subprocess.TimeoutExpired:
        running.process.kill()
        raise
    return running.process.returncode, words
