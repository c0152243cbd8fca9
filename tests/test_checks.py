"""Checks of single values let through what is in range and nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.checks import one_of, whole, within
from caller.errors import SettingError


@given(st.integers(-20, 20), st.integers(-10, 10), st.integers(0, 10))
def test_whole_numbers(value, least, above):
    most = least + above
    if least <= value <= most:
        assert whole(SettingError, "A pitch", value, least, most) == value
        return
    with pytest.raises(SettingError) as refused:
        whole(SettingError, "A pitch", value, least, most, "cm")
    assert refused.value.finding == f"A pitch of {value} cm cannot be used"
    assert refused.value.remedy == f"give a whole number from {least} to {most}."


@pytest.mark.parametrize("value", [True, 1.0, "1", None])
def test_what_is_no_whole_number(value):
    with pytest.raises(SettingError):
        whole(SettingError, "A pitch", value)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -0.001, 1.001, True])
def test_numbers_out_of_range(value):
    with pytest.raises(SettingError, match="give a number from 0 to 1 cm"):
        within(SettingError, "A tail", value, 0, 1, "cm")


def test_numbers_in_range():
    assert [within(SettingError, "A tail", value, 0, 1) for value in (0, 0.5, 1)] == [0, 0.5, 1]
    assert whole(SettingError, "A run", 10**9, 1) == 10**9


def test_one_of_a_few():
    one_of(SettingError, "side", "left", ("left", "right"))
    with pytest.raises(SettingError, match="The side 'up' is not known; it is one of left, right"):
        one_of(SettingError, "side", "up", ("left", "right"))
