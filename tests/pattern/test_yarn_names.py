"""What a yarn may be called, since its name is said in every row."""

import pytest

from caller.errors import YarnError
from caller.pattern.yarns import Yarn


@pytest.mark.parametrize(
    "name", ["left", "Right", "left over", "navy to LEFT five", "needle-green"]
)
def test_a_name_that_would_be_heard_as_a_needle(name):
    with pytest.raises(YarnError, match="would be heard as a needle; choose another name"):
        Yarn(name, "#1b2a4a")


@pytest.mark.parametrize(
    "name", ["bright", "leftover", "Wright's blue", "next", "links", "針", "ναυτικό"]
)
def test_names_of_any_language_are_kept_as_written(name):
    assert Yarn(name, "#1b2a4a").name == name
