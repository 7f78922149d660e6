"""What all tests share."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("suite", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
settings.load_profile("suite")

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def root() -> Path:
    """The project's folder."""
    return ROOT
