"""Shared test set-up: the --slow switch; child processes find this very tree."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from holders.core.threads import one_thread
from tests import kept, tolerance

ROOT = Path(__file__).resolve().parent.parent
one_thread()  # as the program itself does
# hundreds of tests start a program: each would compile every module anew where the machine forbids keeping bytecode
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")]))


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--slow", action="store_true", help="also run the long sweeps")
    parser.addoption(
        "--tolerance-use", type=int, default=0, metavar="N", help="print the N fullest used tolerances"
    )


def pytest_configure(config: pytest.Config) -> None:
    # one commit gives one answer; what was never drawn before is looked for with --slow, or --hypothesis-seed=NUMBER
    # a machine with other work is no fault of the code: no test fails by the clock
    settings.register_profile(
        "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
    )
    if not config.getoption("--slow"):
        settings.load_profile("steady")
    if not hasattr(config, "workerinput"):  # workers inherit it
        kept.begin()
    tolerance.listen()
    config.pluginmanager.register(tolerance.Plugin(config.getoption("--tolerance-use")), "tolerance-use")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--slow"):
        return
    skip = pytest.mark.skip(reason="long sweep: run with --slow (its short form has run)")
    for item in items:
        if "slow" in item.keywords:
            item.add_marker(skip)


def pytest_unconfigure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):
        kept.end()
