"""Fixtures that every test shares."""

from __future__ import annotations

import gc
import itertools
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.internal.conjecture import providers

# How long an example takes says more about the machine than about the program, hence no deadline. The short profile
# is what people run; `--hypothesis-profile long` draws as many examples as each property needs to be believed.
for _profile, _examples in (("short", 25), ("long", 100)):
    settings.register_profile(
        _profile, deadline=None, max_examples=_examples, suppress_health_check=[HealthCheck.too_slow]
    )
settings.load_profile("short")


def _only_when_long(reads_sources: Callable[[], object]) -> Callable[[], object]:
    """Hypothesis also draws constants that it reads out of all sources of the package, anew in each worker of a fresh
    clone: seconds that a few examples do not repay. With the long profile it does.
    """
    return lambda: reads_sources() if settings.get_current_profile_name() == "long" else providers._local_constants


if hasattr(providers, "_get_local_constants") and hasattr(providers, "_local_constants"):  # not in every version
    providers._get_local_constants = _only_when_long(providers._get_local_constants)  # type: ignore[assignment]


# Each program that the tests start would compile the whole package anew where nothing compiled may be kept.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# A test that never stops asking for memory fails by itself; without a limit the system ends the whole run.
MOST_MEMORY = 6 << 30
if sys.platform != "win32":
    import resource

    resource.setrlimit(resource.RLIMIT_DATA, (MOST_MEMORY, resource.getrlimit(resource.RLIMIT_DATA)[1]))


MEMORY, ROOM = Path("/dev/shm"), 2 << 30  # noqa: S108 - each test still gets a folder of its own in it


def pytest_configure(config: pytest.Config) -> None:
    """Each entry waits for its disk: where there is room in memory tests write there, but for those that measure."""
    measures = any("bench" in Path(each).parts for each in config.args)
    if not measures and "TMPDIR" not in os.environ and MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > ROOM:
        os.environ["TMPDIR"], tempfile.tempdir = str(MEMORY), None


# Thousands of tests, and all that they import, stay until the end. Looked through as often as suits a small program,
# that took a twentieth of the time of all tests, and a fifth of that of collecting them.
gc.set_threshold(50_000, 20, 20)


def pytest_collection_finish() -> None:
    """What was collected stays anyway, so nobody looks through it again for what can go."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(optionalhook=True)  # the walk of one day on other Pythons has no xdist
def pytest_xdist_auto_num_workers() -> int:
    """One more than the cores: tests also wait, for terminals, disks and timers."""
    return (os.cpu_count() or 1) + 1


# Tests read English whatever the language of the machine; those of another say so.
os.environ["GRADECHECK_LANGUAGE"] = "en"


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Homes nobody has lived in; each folder that pytest itself numbers is numbered by looking at all the others."""
    street = tmp_path_factory.mktemp("homes")
    return (street / str(number) for number in itertools.count())


@pytest.fixture(autouse=True)
def own_folders(homes: Iterator[Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of its own for each test: the cache and settings of whoever runs the tests are never touched."""
    home = next(homes)
    home.mkdir()
    monkeypatch.setenv("GRADECHECK_CACHE", str(home / "cache"))
    monkeypatch.setenv("GRADECHECK_SETTINGS", str(home / "settings"))
    return home


@pytest.fixture(autouse=True)
def slow_disk_unsaid(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether a busy machine takes a second to write is no part of what a test expects to read; some set it back."""
    monkeypatch.setattr("gradecheck.session.waiting.SAID_AFTER", 600.0)
