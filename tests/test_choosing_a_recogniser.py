"""Which recogniser listens: what was taught, a Vosk model, or the one that is shipped."""

from dataclasses import replace

import numpy as np
import pytest
import sounds
from small_pieces import HALVES

from caller.calling.commands import PHRASES, Command
from caller.devices.recognisers.english import model_files
from caller.devices.storage import take_store
from caller.errors import ListeningError, SettingError
from caller.pattern.yarns import Yarn
from caller.settings import ListeningSettings
from caller.wiring.hearing import any_sentence
from caller.wiring.recognisers import choose_recogniser


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("CALLER_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.setenv(take_store.ENVIRONMENT, str(tmp_path / "own-voice"))
    monkeypatch.delenv("CALLER_VOSK_MODEL", raising=False)
    return tmp_path


@pytest.fixture
def without_english(monkeypatch):
    monkeypatch.setattr(model_files, "find_spec", lambda _name: None)


def teach(command=Command.NEXT, count=3):
    take_store.keep(command, [sounds.tone(300, 0.5 + 0.01 * n) for n in range(count)])


def test_what_listens_without_an_option():
    chosen = choose_recogniser(ListeningSettings())
    assert (chosen.name, chosen.notes) == ("english", ())
    assert ("next row", "next") in chosen.said


def test_without_the_english_model_the_note_brings_it(without_english):
    chosen = choose_recogniser(ListeningSettings())
    assert chosen.name == "pocketsphinx"
    [note] = chosen.notes
    assert "not installed; this command brings it: row-caller add english" in str(note)
    asked = choose_recogniser(ListeningSettings(engine="pocketsphinx"))
    assert (asked.name, asked.notes) == ("pocketsphinx", ())
    with pytest.raises(ListeningError, match="this command brings it"):
        choose_recogniser(ListeningSettings(engine="english"))


def test_no_vosk_model_and_asked_for():
    with pytest.raises(ListeningError, match="no Vosk model here; row-caller models"):
        choose_recogniser(ListeningSettings(engine="vosk"))


def test_what_was_taught_is_heard_beside_the_phrases():
    teach()
    chosen = choose_recogniser(ListeningSettings(), any_sentence)
    assert (chosen.name, chosen.notes) == ("english and own", ())
    assert ("next row", "next") in chosen.said
    assert chosen.sentences is any_sentence
    assert (chosen.taught_names, len(chosen.said)) == (("next",), len(PHRASES))
    english = choose_recogniser(ListeningSettings(engine="english"), any_sentence)
    assert chosen.listening == english.listening


@pytest.mark.parametrize("engine", ["own", "english", "pocketsphinx"])
def test_what_is_asked_for_listens_alone(engine):
    teach()
    chosen = choose_recogniser(ListeningSettings(engine=engine))
    assert chosen.name == engine
    assert chosen.taught_names == (("next",) if engine == "own" else ())
    assert bool(chosen.said) is (engine != "own")


def test_what_was_taught_is_not_heard_without_the_english_model(without_english):
    teach()
    chosen = choose_recogniser(ListeningSettings())
    assert (chosen.name, chosen.taught_names) == ("pocketsphinx", ())
    [note] = chosen.notes
    assert str(note).startswith("What you taught is not heard. The English model")
    assert "row-caller add english" in str(note)


def test_words_of_the_settings_are_checked_where_something_was_taught_too(home):
    teach()
    (home / "settings.toml").write_text('[words]\nnext = ["red"]\n')
    with pytest.raises(SettingError, match="'red'"):
        choose_recogniser(ListeningSettings())


def test_beside_what_was_taught_words_that_are_not_english_are_left_out(home):
    teach()
    settings = home / "settings.toml"
    settings.write_text('[words]\nnext = ["다음 줄"]\nback = ["one before"]\n', encoding="utf-8")
    chosen = choose_recogniser(ListeningSettings())
    assert (chosen.name, chosen.said) == ("english and own", (("one before", "back"),))
    assert chosen.notes == (), "it is taught"
    settings.write_text('[words]\nback = ["뒤로 가"]\n', encoding="utf-8")
    alone = choose_recogniser(ListeningSettings())
    assert (alone.name, alone.taught_names) == ("own", ("next",))
    assert "뒤로 가" in str(*alone.notes)


def test_a_vosk_model_of_every_evening_leaves_what_was_taught(home, monkeypatch):
    teach()
    monkeypatch.setenv("CALLER_VOSK_MODEL", str(home))
    (home / "settings.toml").write_text('[words]\nnext = ["다음 줄"]\n', encoding="utf-8")
    chosen = choose_recogniser(ListeningSettings())
    assert (chosen.name, chosen.said) == ("vosk and own", (("다음 줄", "next"),))


def test_nothing_taught_and_asked_for():
    with pytest.raises(ListeningError, match="row-caller teach does that"):
        choose_recogniser(ListeningSettings(engine="own"))


def test_a_take_that_is_damaged_is_told_of(home):
    teach()
    (home / "own-voice" / "next" / "take-2.wav").write_bytes(b"no sound")
    chosen = choose_recogniser(ListeningSettings())
    assert chosen.name == "english"
    [trouble] = chosen.notes
    assert "take-2.wav" in trouble.finding
    assert "caller teach" in trouble.remedy


def test_a_model_that_is_named_comes_before_what_was_taught(home):
    teach()
    assert choose_recogniser(ListeningSettings(model_folder=home)).name == "vosk"


def test_own_words_of_the_settings(home):
    (home / "settings.toml").write_text('[words]\nnext = ["forward now"]\n')
    chosen = choose_recogniser(ListeningSettings())
    assert chosen.said == (("forward now", "next"),)
    opened = chosen.open()
    assert opened.recognise(np.zeros(16_000, dtype=np.int16)).phrase is None
    opened.close()
    (home / "settings.toml").write_text('[words]\nnext = ["stage 12"]\n')
    with pytest.raises(ListeningError, match="12"):
        choose_recogniser(ListeningSettings()).open()


def test_own_words_are_held_against_the_pattern(home):
    (home / "settings.toml").write_text('[words]\nnext = ["kingfisher"]\n')
    assert choose_recogniser(ListeningSettings()).said == (("kingfisher", "next"),)
    named = replace(HALVES, yarns=(Yarn("kingfisher", "#1b6a9a"), HALVES.yarns[1]))
    with pytest.raises(SettingError, match="sounds like 'kingfisher', as the call names a yarn"):
        choose_recogniser(ListeningSettings(), pattern=named)


def test_a_model_for_another_ear_is_refused(home):
    with pytest.raises(SettingError, match="leave --model away"):
        ListeningSettings(engine="own", model_folder=home)
