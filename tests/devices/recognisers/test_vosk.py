"""Vosk's front door: what is no model never reaches the library, which might end the process.

None of these needs a model; tests/contracts/test_recognisers.py runs one.
"""

import struct

import platformdirs
import pytest

from caller.devices.recognisers.vosk import VoskRecogniser
from caller.devices.recognisers.vosk_models import (
    ENVIRONMENT,
    find_model,
    model_home,
    model_places,
    wrong_with,
)
from caller.errors import ListeningError

PHRASES = ("next row", "go back")


# A graph of 1,000 states and 2,000 arcs, in OpenFst's file format.
SIZES = struct.pack("<iiQqqq", 2, 0, 0, 0, 1000, 2000)
GRAPH = b"\xd6\xfd\xb2\x7e\x05\0\0\0const\x08\0\0\0standard" + SIZES + bytes(60_000)


def model_at(folder, *files):
    for name in files or ("am/final.mdl", "graph/HCLr.fst", "graph/Gr.fst"):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(GRAPH if name.endswith("HCLr.fst") else b"")
    return folder


@pytest.fixture
def homes(tmp_path, monkeypatch):
    """An empty folder to stand in and an empty data folder of the user."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.delenv(ENVIRONMENT, raising=False)
    monkeypatch.setattr(platformdirs, "user_data_path", lambda name: tmp_path / "data" / name)
    return tmp_path


def test_without_a_model_none_is_found(homes):
    assert find_model(None) is None
    (homes / "here" / "models" / "notes").mkdir(parents=True)
    (homes / "here" / "models" / "README.md").write_text("about models")
    assert find_model(None) is None


def test_the_places_are_searched_in_order(homes, monkeypatch):
    in_data = model_at(homes / "data" / "caller" / "models" / "vosk-model-small-en-us-0.15")
    assert find_model(None) == in_data
    here = model_at(homes / "here" / "models" / "vosk-model-small-en-us-0.15")
    assert find_model(None).resolve() == here
    monkeypatch.setenv(ENVIRONMENT, str(homes / "elsewhere"))
    assert find_model(None) == homes / "elsewhere"
    assert find_model(homes / "given") == homes / "given"


def test_an_empty_variable_names_no_folder(homes, monkeypatch):
    monkeypatch.setenv(ENVIRONMENT, "")
    assert find_model(None) is None


def test_the_first_of_two_by_name(homes):
    for name in ("vosk-model-small-en-us-0.15", "vosk-model-en-us-0.22-lgraph"):
        model_at(homes / "here" / "models" / name)
    assert find_model(None).name == "vosk-model-en-us-0.22-lgraph"


def test_a_model_unpacked_into_a_folder_of_its_own_name(homes):
    name = "vosk-model-small-en-us-0.15"
    inner = model_at(homes / "here" / "models" / name / name)
    assert find_model(None).resolve() == inner


def refusal(folder, phrases=PHRASES):
    with pytest.raises(ListeningError) as refused:
        VoskRecogniser(folder, phrases)
    return str(refused.value)


def test_a_missing_folder_is_named(tmp_path):
    said = refusal(tmp_path / "no-such-model")
    assert str(tmp_path / "no-such-model") in said
    assert "is not there" in said
    assert "caller models" in said


def test_a_file_is_no_folder(tmp_path):
    zipped = tmp_path / "vosk-model-small-en-us-0.15.zip"
    zipped.write_bytes(b"PK")
    assert str(zipped) in refusal(zipped)


def test_an_empty_folder_is_named(tmp_path):
    said = refusal(tmp_path)
    assert str(tmp_path) in said
    assert "caller models" in said


@pytest.mark.parametrize("content", [b"", b"no model", bytes(range(256)) * 40])
def test_a_broken_model_is_said_without_noise(tmp_path, capfd, content):
    folder = model_at(tmp_path / "broken")
    (folder / "am" / "final.mdl").write_bytes(content)
    said = refusal(folder)
    assert str(folder) in said
    assert "cannot be loaded" in said
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("kept", [0, 10, 50, 70, 1000, 51_000])
def test_a_graph_that_was_cut_short_is_said(tmp_path, kept):
    """The library itself would end the process."""
    folder = model_at(tmp_path / "short")
    (folder / "graph" / "HCLr.fst").write_bytes(GRAPH[:kept])
    said = refusal(folder)
    assert str(folder) in said
    assert "not unpacked whole" in said


def test_a_model_with_a_fixed_graph_is_refused(tmp_path):
    said = refusal(model_at(tmp_path, "am/final.mdl", "graph/HCLG.fst"))
    assert "fixed graph" in said
    assert "lgraph" in said


def test_no_phrase_is_refused_before_the_model(tmp_path):
    assert "no phrase" in refusal(tmp_path, ())
    assert "no phrase" in refusal(tmp_path, ("", "  "))


@pytest.mark.parametrize("name", ["modèle", "модель", "a model"])
def test_any_folder_name_will_do(tmp_path, name, capfd):
    folder = model_at(tmp_path / name)
    assert name in refusal(folder)
    assert capfd.readouterr() == ("", "")


def test_a_model_that_is_seen_to_be_broken_is_passed_over(homes):
    short = model_at(homes / "here" / "models" / "a-short")
    (short / "graph" / "HCLr.fst").write_bytes(GRAPH[:100])
    assert find_model(None).name == "a-short", "where it is the only one it says what is wrong"
    whole = model_at(homes / "data" / "caller" / "models" / "b-whole")
    assert find_model(None) == whole
    assert wrong_with(whole) is None
    assert "not unpacked whole" in wrong_with(short).finding


def test_the_places_are_told_in_order(homes, monkeypatch):
    monkeypatch.setenv(ENVIRONMENT, str(homes / "named"))
    places = model_places(homes / "given")
    assert [place.named for place in places] == [True, True, False, False]
    assert places[0].models == (homes / "given",)
    assert places[1].models == (homes / "named",)
    assert places[3].folder == model_home() == homes / "data" / "caller" / "models"
