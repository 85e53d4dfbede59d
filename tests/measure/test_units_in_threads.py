"""Units are made ready in one thread while others begin to use numpy: neither is in the other's way."""

from __future__ import annotations

import subprocess
import sys

import pytest

TRIANGLE = """
import sys, threading
from fractions import Fraction as F
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import triangulate
from gradecheck.measure.quantities import Elevation, metres
from gradecheck.measure.units import read_slope, registry

wrong = []

def told(work):
    def run():
        try:
            work()
        except BaseException as why:
            wrong.append(repr(why))
    return threading.Thread(target=run)

def join_spots():
    spots = [Spot(f"{x} {y}", (metres(x), metres(y)), Elevation(F(0))) for x, y in ((0, 0), (1, 0), (0, 1))]
    assert len(triangulate(spots).corners) == 1
"""

AT_THAT_MOMENT = """
def watch(event, arguments):
    # Told before any lock is taken, so that another thread may import what it likes meanwhile.
    if event == "import" and arguments[0] == {moment!r} and "shapely" not in sys.modules:
        other = told(join_spots)
        other.start()
        other.join()

sys.addaudithook(watch)
units = told(registry)
units.start()
units.join()
assert read_slope("1/4 in/ft").ratio == F(1, 48)
assert "shapely" in sys.modules
assert not wrong, wrong
"""

TOGETHER = """
threads = [told(registry), told(join_spots), told(lambda: read_slope("2%")), told(registry), told(join_spots)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
assert read_slope("1/4 in/ft").ratio == F(1, 48)
assert not wrong, wrong
"""


def _run(script: str) -> str:
    """What a fresh start of Python says, since a package is imported but once."""
    done = subprocess.run(
        [sys.executable, "-c", TRIANGLE + script], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("moment", ["pint", "pint.compat", "numpy", "pint.facets.plain", "pint.facets.numpy"])
def test_spots_are_joined_in_one_thread_while_another_imports_pint(moment: str) -> None:
    _run(AT_THAT_MOMENT.format(moment=moment))


@pytest.mark.parametrize("time", range(3))
def test_units_and_joined_spots_may_be_begun_together(time: int) -> None:
    _run(TOGETHER)


def test_every_thread_has_the_same_units() -> None:
    script = "found = []\n" + "".join(
        f"t{number} = told(lambda: found.append(registry()))\nt{number}.start()\n" for number in range(8)
    )
    script += "".join(f"t{number}.join()\n" for number in range(8))
    assert _run(script + "print(len(found), len({id(each) for each in found}), wrong)").split() == ["8", "1", "[]"]


def test_units_bring_no_numerics_in_and_leave_the_imports_as_they_were() -> None:
    script = "before = list(sys.meta_path); registry()\n"
    assert _run(script + "print('pint' in sys.modules, 'numpy' in sys.modules, sys.meta_path == before)").split() == [
        "True",
        "False",
        "True",
    ]
