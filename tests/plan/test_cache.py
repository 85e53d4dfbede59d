"""A plan once understood is remembered and comes back as it was, without the slow imports; it is only a cache."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.plan import cache
from gradecheck.plan.load import Loaded, load_plan, text_hash
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.sealed import seal, unseal
from tests.plan.sample import WALK, plan_of, spoiled
from tests.strategies import Chain, chains

# Nothing in it is in the order of the alphabet.
UNORDERED = spoiled(
    ("rods:\n  site rod:", "rods:\n  zero rod: {kind: direct}\n  site rod:"),
    ("benchmarks:\n", "benchmarks:\n  SILL: 4 in\n"),
    ("areas:\n", "areas:\n  zigzag path:\n    points:\n      Z1: 0\n      A1: 1\n"),
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.yaml"
    path.write_text(UNORDERED, encoding="utf-8")
    return path


def _order(plan: Plan) -> list[list[str]]:
    return [
        list(plan.rods),
        list(plan.benchmarks),
        list(plan.areas),
        *([point.name for point in area.points] for area in plan.areas.values()),
        *(list(area.tolerances) for area in plan.areas.values()),
    ]


def test_a_plan_from_the_cache_is_the_plan_from_the_file(job: Path) -> None:
    first = load_plan(job)
    assert cache.recall(text_hash(UNORDERED)) is not None
    assert load_plan(job) == first


def test_a_plan_from_the_cache_has_everything_in_the_order_of_the_file(job: Path) -> None:
    first = load_plan(job).plan
    again = cache.recall(text_hash(UNORDERED))
    assert again is not None
    assert _order(again) == _order(first)
    assert again.rod == first.rod


@given(chains())
def test_any_plan_is_remembered_exactly(chain: Chain) -> None:
    plan = plan_of(chain.job())
    cache.remember(text_hash(chain.job()), plan)
    again = cache.recall(text_hash(chain.job()))
    assert again is not None
    assert again == plan
    assert _order(again) == _order(plan)


@pytest.mark.parametrize("content", ["", "{", "null", "[]", "{}", '{"job":1}', "\x00", "[" * 100_000])
def test_what_is_no_plan_in_the_cache_is_passed_over(job: Path, content: str) -> None:
    first = load_plan(job)
    [kept] = cache.folder().glob("*.json")
    kept.write_text(content, encoding="utf-8")
    assert cache.recall(text_hash(UNORDERED)) is None
    assert load_plan(job) == first


def test_a_float_in_the_cache_is_no_length(job: Path) -> None:
    load_plan(job)
    [kept] = cache.folder().glob("*.json")
    sealed = unseal(kept.read_bytes(), kept.stem)
    assert sealed is not None
    plan = json.loads(sealed)
    plan["benchmarks"]["SILL"]["elevation"] = 0.1
    kept.write_bytes(seal(json.dumps(plan).encode(), kept.stem))
    assert cache.recall(text_hash(UNORDERED)) is None


@given(st.data())
def test_a_digit_changed_in_the_cache_is_noticed_and_the_file_reread(data: st.DataObject) -> None:
    plan = plan_of(UNORDERED)
    cache.remember(text_hash(UNORDERED), plan)
    [kept] = cache.folder().glob("*.json")
    whole = kept.read_text(encoding="utf-8")
    place = data.draw(st.sampled_from([place for place, each in enumerate(whole) if each.isdigit()]))
    digit = data.draw(st.sampled_from("0123456789").filter(lambda each: each != whole[place]))
    kept.write_text(f"{whole[:place]}{digit}{whole[place + 1 :]}", encoding="utf-8")
    assert cache.recall(text_hash(UNORDERED)) is None


def test_one_kept_plan_does_not_pass_for_another(job: Path) -> None:
    load_plan(job)
    [kept] = cache.folder().glob("*.json")
    other = text_hash(WALK)
    kept.rename(kept.with_name(kept.name.replace(text_hash(UNORDERED), other)))
    assert cache.recall(other) is None


def test_a_changed_file_is_read_anew(job: Path) -> None:
    load_plan(job)
    job.write_text(UNORDERED.replace("W2: -3 1/4 in", "W2: -3 1/2 in"), encoding="utf-8")
    assert load_plan(job).plan != plan_of(UNORDERED)


def test_a_file_with_problems_is_never_remembered(job: Path) -> None:
    job.write_text(UNORDERED.replace("-3 1/4 in", "1_000"), encoding="utf-8")
    for _ in range(2):
        with pytest.raises(PlanProblemsError, match="1_000"):
            load_plan(job)
    assert not cache.folder().exists() or not list(cache.folder().glob("*.json"))


def test_without_a_place_to_write_everything_works_the_same(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GRADECHECK_CACHE", str(job / "below a file"))
    assert load_plan(job) == load_plan(job) == Loaded(plan_of(UNORDERED), UNORDERED, {})


def test_only_the_latest_plans_are_kept() -> None:
    plan = plan_of(WALK)
    for number in range(70):
        cache.remember(f"{number:064x}", plan)
        # A day apart each, in the order they were made: file times alone are too coarse to tell.
        [kept] = cache.folder().glob(f"*{number:064x}.json")
        os.utime(kept, (86_400 * number, 86_400 * number))
    cache.remember("f" * 64, plan)
    assert len(list(cache.folder().glob("*.json"))) == 64
    assert cache.recall("f" * 64) == plan
    assert cache.recall(f"{69:064x}") == plan
    assert cache.recall(f"{0:064x}") is None
    assert not [path for path in cache.folder().iterdir() if path.suffix != ".json"]


def _python(code: str, *arguments: str) -> str:
    """What a fresh interpreter prints."""
    run = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), *arguments], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    return run.stdout.strip()


SLOW = "sorted({'pint', 'pydantic', 'yaml', 'textual', 'sqlite3'} & {name.partition('.')[0] for name in sys.modules})"


def test_loading_is_imported_without_the_slow_packages() -> None:
    assert _python(f"import sys, gradecheck.plan.load; print({SLOW})") == "[]"


def test_a_plan_known_from_before_needs_no_slow_package_and_is_the_same(job: Path) -> None:
    """In processes of their own: one that reads the file, one that finds the plan in the cache."""
    code = f"""
        import sys
        from pathlib import Path
        from gradecheck.plan.load import load_plan
        loaded = load_plan(Path(sys.argv[1]))
        plan, text = loaded.plan, loaded.text
        print({SLOW})
        print(ascii((plan, text)))
    """
    first_imports, first = _python(code, str(job)).splitlines()
    again_imports, again = _python(code, str(job)).splitlines()
    assert {"pint", "pydantic", "yaml"} <= set(json.loads(first_imports.replace("'", '"')))
    assert again_imports == "[]"
    assert again == first
