"""PocketSphinx where it is not installed, as with Python 3.14."""

import sys

import pytest

from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser
from caller.errors import ListeningError


def test_it_is_told_that_it_is_missing(monkeypatch):
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    with pytest.raises(ListeningError, match=r"^PocketSphinx is not installed here.*the keys work"):
        PocketSphinxRecogniser(("next row",))
