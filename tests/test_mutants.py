"""The list of changes that tests must catch fits the code, and the script refuses what would change nothing."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.mutants import MUTANTS, PACKAGE, TREE, Mutant, chosen, must_catch
from tests.thorough import every


@pytest.mark.parametrize("file", every(8, sorted({each.file for each in MUTANTS})))
def test_every_change_can_be_made_and_changes_something(file: str) -> None:
    code = (TREE / PACKAGE / file).read_text(encoding="utf-8")
    for mutant in MUTANTS:
        if mutant.file == file:
            assert mutant.applied(code) != code


def test_a_text_that_is_gone_or_there_twice_is_refused() -> None:
    for code, often in (("a = 2\n", 0), ("a = 1\nb = a = 1\n", 2)):
        with pytest.raises(ValueError, match=f"has {often} times 'a = 1'"):
            Mutant("x.py", "a = 1", "a = 2").applied(code)


def test_a_change_of_spaces_or_remarks_alone_is_refused() -> None:
    with pytest.raises(ValueError, match="changes nothing"):
        Mutant("x.py", "a = 1", "a  =  1  # one").applied("a = 1\n")


def test_no_change_is_on_the_list_twice() -> None:
    assert [each for each, often in Counter(MUTANTS).items() if often > 1] == []


def test_each_change_has_tests_of_its_room_and_of_published_sources() -> None:
    for mutant in MUTANTS:
        *mirrored, published = must_catch(mutant)
        assert published == ["tests/published"]
        assert mirrored
        assert all((TREE / tests[0]).exists() for tests in mirrored), mutant


def test_parts_are_the_whole_once() -> None:
    parts = [set(chosen("", f"{number}/3", 0, 1)) for number in (1, 2, 3)]
    assert set.union(*parts) == set(MUTANTS)
    assert sum(map(len, parts)) == len(MUTANTS)


def test_a_sample_is_the_same_for_the_same_seed() -> None:
    assert list(chosen("", "1/1", 7, 3)) == list(chosen("", "1/1", 7, 3))
    assert len(list(chosen("journal/", "1/1", 5, 3))) == 5
