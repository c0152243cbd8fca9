"""Random commands against an independent model of the place; tests/bench/commands.py tries more."""

import commands
import place_model
import pytest


@pytest.mark.parametrize("seed", range(3))
def test_the_place_is_always_where_the_model_has_it(seed, tmp_path):
    assert [*commands.tried(seed, tmp_path, 400)] == []


def test_a_place_that_is_elsewhere_is_noticed(tmp_path, monkeypatch):
    monkeypatch.setattr(place_model, "WAITS_S", 60.0)  # as if a question waited twice as long
    wrong = (one for seed in range(3) for one in commands.tried(seed, tmp_path, 400))
    assert any("and not" in one for one in wrong)
