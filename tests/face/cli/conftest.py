"""Commands called in the test's own process find the CAD kernel loaded: a helper process for each would take long."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="session", autouse=True)
def _kernel() -> None:
    import holders.solid.kernel  # noqa: F401
