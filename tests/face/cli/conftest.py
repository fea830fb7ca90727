"""Commands called in the test's own process find the CAD kernel loaded: a helper process for each would take long.

Nor do they try next steps, which take most of a check's time and have tests of their own, also as a user sees them
(tests/search/test_next_steps.py): a test here that wants them asks for the fixture ``next_steps_tried``.
"""

from __future__ import annotations

import pytest


@pytest.fixture(scope="session", autouse=True)
def _kernel() -> None:
    import holders.solid.kernel  # noqa: F401


@pytest.fixture
def next_steps_tried() -> None:
    """Next steps are tried as for a user."""


@pytest.fixture(autouse=True)
def _no_next_steps(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if "next_steps_tried" not in request.fixturenames:
        monkeypatch.setattr("holders.search.tried.with_steps", lambda found, *_args, **_more: found)
