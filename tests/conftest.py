"""Fixtures that several folders of tests share."""

from collections.abc import Iterator

import pytest
from virtual_sound import VirtualSound, why_not


@pytest.fixture(scope="session")
def virtual_sound() -> Iterator[VirtualSound]:
    """A loudspeaker that can be recorded and a microphone that can be spoken into."""
    reason = why_not()
    if reason:
        pytest.skip(reason)
    with VirtualSound() as server:
        yield server
