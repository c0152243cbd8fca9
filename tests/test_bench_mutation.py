"""The bench that counts small mistakes makes the ones that it should."""

import pytest

pytest.importorskip("mutmut")
mutation = pytest.importorskip("mutation")

SOURCE = '''"""A module."""

from os import sep

WIDTH = 3


def shorter(name: str, least: int = 2) -> str:
    """Not changed."""
    if len(name) < least:
        raise ValueError("not changed")
    return name[:WIDTH] + sep
'''


def test_each_mutant_is_one_change_that_can_be_run():
    found = mutation.mutants(SOURCE)
    made = [mutant.source() for mutant in found]
    for mutant, source in zip(found, made, strict=True):
        compile(source, "mutant", "exec")
        before, after = SOURCE.splitlines(), source.splitlines()
        assert [a == b for a, b in zip(before, after, strict=True)].count(False) == 1
        assert before[mutant.line - 1] != after[mutant.line - 1]
    assert len(set(made)) == len(made)
    for line in ("WIDTH = 4", "name: str, least: int = 3", "len(name) <= least", "[:WIDTH] - sep"):
        assert any(line in source for source in made)
    for kept in ('"""A module."""', "from os import sep", "name: str,", '"""Not changed."""'):
        assert all(kept in source for source in made)
    assert all('"not changed"' in source or "None" in source for source in made)


def test_every_module_and_test_is_there():
    for file, tests in mutation.MODULES.values():
        for path in (file, *tests):
            assert (mutation.ROOT / path).exists(), path
