"""Shared test set-up: the --slow switch; child processes find this very tree."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from holders.core.threads import one_thread
from tests import tolerance

ROOT = Path(__file__).resolve().parent.parent
one_thread()  # as the program itself does
os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")]))


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--slow", action="store_true", help="also run the long sweeps")
    parser.addoption(
        "--tolerance-use", type=int, default=0, metavar="N", help="print the N fullest used tolerances"
    )


def pytest_configure(config: pytest.Config) -> None:
    tolerance.listen()
    config.pluginmanager.register(tolerance.Plugin(config.getoption("--tolerance-use")), "tolerance-use")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--slow"):
        return
    skip = pytest.mark.skip(reason="long sweep: run with --slow (its short form has run)")
    for item in items:
        if "slow" in item.keywords:
            item.add_marker(skip)
