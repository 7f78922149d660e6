"""Settings and fixtures that all tests share."""

from __future__ import annotations

import gc
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from support.editing import old
from support.ordering import chartmaker, knots, order

from chartmaker.pages.proof.proof import proof_picture

__all__ = ["chartmaker", "knots", "old", "order", "root"]

settings.register_profile("suite", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
settings.load_profile("suite")

os.environ["CHARTMAKER_NO_CACHE"] = "1"  # the tests of the cache itself set a folder of their own

# A process that is started in the background may ignore these signals; those that the tests start must not.
for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
    if signal.getsignal(number) is signal.SIG_IGN:
        signal.signal(number, signal.SIG_DFL)

ROOT = Path(__file__).parents[1]

#: The folders and modules of tests whose proof pictures are smaller.
SMALL_PROOFS = {"cli", "jobs", "verify", "test_cachefolder", "test_examples", "test_guide", "test_places"}

#: The modules that take longest, the longest first: each took more than ten seconds of a core when all were measured.
LONGEST = (
    *("test_cluster", "test_guide", "test_flat", "test_collection_command", "test_examples", "test_readme"),
    *("test_figuresheets", "test_every_mark", "test_tampered", "test_running", "test_loom_trust", "test_chart"),
    *("test_relay", "test_sizes_command", "test_invariances", "test_folder", "test_shaded", "test_repeats"),
    *("test_engines", "test_every_number", "test_making", "test_places", "test_exactness", "test_rowsheets"),
    *("test_page", "test_shape", "test_motifs", "test_steady", "test_streams", "test_cachefolder"),
    *("test_loom_page", "test_hostile_set", "test_revisions", "test_carving_command", "test_hostile"),
    *("test_keeping", "test_legend", "test_failures", "test_writers", "test_alarms", "test_extremes", "test_grid"),
)

gc.disable()  # until all tests are collected, because what is made by then stays


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the modules that take longest, so that no process has one left when the other is through."""
    items.sort(key=lambda item: LONGEST.index(item.path.stem) if item.path.stem in LONGEST else len(LONGEST))


def pytest_collection_finish() -> None:
    """Leave thousands of tests and modules out of the search for garbage, which else takes a tenth of the time."""
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)
    gc.enable()


@pytest.fixture(scope="session")
def root() -> Path:
    """The project's folder."""
    return ROOT


@pytest.fixture(scope="module", autouse=True)
def _smaller_proofs(request: pytest.FixtureRequest) -> Iterator[None]:
    """Draw proof pictures of 1200 pixels, which take three quarters of the time of a small set where they have 3000.

    This holds where sets are made in this process alone, not where they are compared with those of other processes.
    """
    with pytest.MonkeyPatch.context() as patch:
        if {request.path.parent.name, request.path.stem} & SMALL_PROOFS:
            patch.setitem(proof_picture.__kwdefaults__, "long_side_px", 1200)
        yield
