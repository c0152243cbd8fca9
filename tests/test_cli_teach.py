"""`caller teach` without a sound device: from recordings, listed, forgotten, and every way of no.

The recordings are espeak-ng's.
"""

import json
import os
import shutil
import stat
import subprocess
import sys
from functools import cache

import numpy as np
import pytest
import sounds
from child_env import WITHOUT_SOUND
from click.testing import CliRunner, Result

from caller.calling.commands import BY_NAME, Command
from caller.calling.listening.listener import Listener, hear_recording
from caller.calling.ports import SoundBlock
from caller.cli import main
from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser
from caller.devices.recognisers.silero_vad import SileroDetector
from caller.devices.sound.sound_files import write_wav
from caller.devices.storage import settings_file, take_store
from caller.wiring import enrolment

SPEAKER = "en+f3"
WORDS = {"next": "weiter bitte", "back": "noch einmal"}


@pytest.fixture(autouse=True)
def store(tmp_path, monkeypatch):
    monkeypatch.setenv("CALLER_OWN_VOICE", str(tmp_path / "own"))
    return tmp_path / "own"


@pytest.fixture(autouse=True)
def opened_once(monkeypatch):
    """What hears phrases is opened once for all tests, but for those with settings of their own."""
    own_words = settings_file.load
    monkeypatch.setattr(
        enrolment, "open_ears", lambda: OPEN_EARS() if own_words().words else usual_ears()
    )


OPEN_EARS = enrolment.open_ears


@cache
def usual_ears():
    likeness, heard_as = OPEN_EARS()
    by_sound = cache(lambda sound: heard_as(np.frombuffer(sound, np.int16)))
    return likeness, lambda sound: by_sound(sound.tobytes())


@pytest.fixture
def recordings(tmp_path):
    folder = tmp_path / "recorded"
    folder.mkdir()
    for command, words in WORDS.items():
        for number, wpm in enumerate((130, 140, 150), 1):
            record(folder, f"{command}-{number}.wav", sounds.say(words, SPEAKER, wpm))
    return folder


@pytest.fixture(scope="module")
def taught_once(tmp_path_factory):
    """A store in which both commands are taught."""
    folder = tmp_path_factory.mktemp("taught-once")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CALLER_OWN_VOICE", str(folder))
        for command, words in WORDS.items():
            takes = [sounds.say(words, SPEAKER, wpm) for wpm in (130, 140, 150)]
            take_store.keep(Command(command), [sounds.apart([take], 0.2) for take in takes])
    return folder


@pytest.fixture
def taught(taught_once, store):
    shutil.copytree(taught_once, store)
    return store


def record(folder, name: str, *said: np.ndarray, rate: int = 16_000) -> None:
    write_wav(folder / name, [SoundBlock(sounds.apart(said), rate)])


def run(*arguments: object) -> Result:
    result = CliRunner().invoke(main, ["teach", "--voice", "espeak", *map(str, arguments)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def refused(*arguments: object) -> str:
    result = run(*arguments)
    assert result.exit_code == 2, result.output
    return result.stderr.splitlines()[-1]


def listed() -> dict:
    return json.loads(run("--list", "--json").stdout)["commands"]


def test_recordings_are_taught_listed_heard_and_forgotten(recordings, store):
    result = run("--from", recordings)
    assert result.exit_code == 0, result.output
    assert result.stderr.count(": good.") == 6
    assert {path.name for path in (store / "next").iterdir()} == {
        "take-1.wav",
        "take-2.wav",
        "take-3.wav",
    }
    assert stat.S_IMODE(store.stat().st_mode) == 0o700 or sys.platform == "win32"
    found = listed()
    assert set(found) == {"next", "back"}
    for taught in found.values():
        assert taught["taught"]
        assert taught["alike"]
        for take in taught["takes"]:
            assert take["fault"] is None
            assert 0.5 < take["talk_s"] < 1.6
            assert -40 < take["level_db"] < -10
            assert take["above_noise_db"] > 20
    assert "next: 3 takes, taught" in run("--list").stdout
    # The ear hears other takes of the same words, and not other words.
    listener = Listener(
        SileroDetector(), OwnVoiceRecogniser(take_store.kept().taught), words=BY_NAME
    )
    said = [sounds.say(words, SPEAKER, 145) for words in (*WORDS.values(), "good morning")]
    heard = [phrase.command for phrase in hear_recording(sounds.apart(said), listener)]
    assert heard == [Command.NEXT, Command.BACK]
    assert "Forgotten: next." in run("--forget", "next", "--yes").stderr
    assert set(listed()) == {"back"}
    assert "Forgotten: back." in run("--forget", "--yes").stderr
    assert "Nothing was taught." in run("--forget").stderr
    assert "Nothing is taught yet" in run("--list").stdout


@pytest.mark.parametrize(
    ("typed", "left"),
    [
        ("y\ny\n", {"back"}),
        ("Yes\nYES\n", {"back"}),
        ("y\nn\n", {"next", "back"}),
        ("n\ny\n", {"next", "back"}),
        ("y\n", {"next", "back"}),
        ("", {"next", "back"}),
    ],
)
def test_forgetting_asks_twice_and_keeps_all_without_two_yes(taught, typed, left, monkeypatch):
    monkeypatch.setitem(sys.modules, "sounddevice", None)  # a machine without sound
    result = CliRunner().invoke(main, FORGET, input=typed)
    assert result.exit_code == 0, result.output
    asked_and_told(result.stderr, typed, left)


def test_a_whole_program_forgets(taught):
    ran = subprocess.run(
        [sys.executable, "-m", "caller", *FORGET],
        env={**WITHOUT_SOUND, "CALLER_OWN_VOICE": os.environ["CALLER_OWN_VOICE"]},
        input="y\ny\n",
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert ran.returncode == 0, ran.stderr
    asked_and_told(ran.stderr, "y\ny\n", {"back"})


FORGET = ["teach", "--voice", "espeak", "--forget", "next"]


def asked_and_told(told: str, typed: str, left: set[str]) -> None:
    asked = "Forget your words for: hear what follows? Press Y to forget them"
    assert asked in told
    assert ("They cannot be brought back." in told) == typed.casefold().startswith("y")
    assert ("Nothing was forgotten." in told) == (left != {"back"})
    assert ("Forgotten: hear what follows." in told) == (left == {"back"})
    assert {command.value for command in take_store.commands_kept()} == left


def test_json_after_a_folder_is_one_document_on_standard_output(recordings):
    told = json.loads(run("--from", recordings, "--json").stdout)
    assert set(told["commands"]) == {"next", "back"}


def test_recordings_of_any_rate_and_case_will_do(recordings):
    soundfile = pytest.importorskip("soundfile")
    for path in list(recordings.iterdir()):
        samples, rate = soundfile.read(path)
        soundfile.write(path.with_name(path.name.upper()), np.repeat(samples, 3), rate * 3)
        path.unlink()
    assert run("--from", recordings).exit_code == 0
    assert set(listed()) == {"next", "back"}


BAD = {
    "too soft": (lambda word: [(word * 0.02).astype(np.int16)], "That was too quiet."),
    "too loud": (
        lambda word: [np.clip(word * 10.0, -32768, 32767).astype(np.int16)],
        "That was too loud.",
    ),
    "twice": (lambda word: [word, word], "More than one thing was said."),
    "nothing": (lambda _: [sounds.quiet(1)], "No words were heard."),
    "another's phrase": (
        lambda _: [sounds.say("go back", "en-us", 140)],
        "That is already understood, without teaching, as another command. It is back.",
    ),
    "another's": (
        lambda _: [sounds.say(WORDS["back"], SPEAKER, 135)],
        "That sounded like the words of another command. It is back.",
    ),
}


@pytest.mark.parametrize("what", BAD)
def test_a_bad_recording_is_named_and_nothing_is_kept_of_its_command(recordings, what):
    """Commands are taken in the order of the table, so back is there when next comes again."""
    assert run("--from", recordings, "--commands", "back").exit_code == 0
    make, sentence = BAD[what]
    record(recordings, "next-2.wav", *make(sounds.say(WORDS["next"], SPEAKER, 140)))
    result = run("--from", recordings, "--commands", "next")
    assert result.exit_code == 2
    assert f"next-2.wav: {sentence}" in result.stderr
    assert "Too few good takes of next, so nothing was kept of it; 3 are needed." in result.stderr
    assert set(listed()) == {"back"}


def test_phrases_are_those_of_the_settings(recordings, tmp_path, monkeypatch):
    settings = tmp_path / "settings.toml"
    monkeypatch.setenv("CALLER_SETTINGS", str(settings))
    for number in (1, 2, 3):
        word = sounds.say("where am i", "en-us", 130 + 5 * number)
        record(recordings, f"next-{number}.wav", word)
    one = ("--from", recordings, "--commands", "next")
    assert run(*one).stderr.count("without teaching, as another command. It is where.") == 3
    settings.write_text('[words]\nback = ["where am i"]\n')
    assert run(*one).stderr.count("without teaching, as another command. It is back.") == 3
    settings.write_text('[words]\nnext = ["where am i"]\n')
    assert run(*one).exit_code == 0, "a command's own phrase may be taught"


def test_a_fourth_recording_makes_up_for_a_bad_one(recordings):
    record(recordings, "next-2.wav", sounds.quiet(1))
    record(recordings, "next-4.wav", sounds.say(WORDS["next"], SPEAKER, 145))
    assert run("--from", recordings).exit_code == 0
    assert len(listed()["next"]["takes"]) == 3


def test_takes_that_differ_are_kept_and_told(recordings):
    record(recordings, "next-3.wav", sounds.say("seven green bottles", SPEAKER, 140))
    result = run("--from", recordings)
    assert result.exit_code == 0
    assert "next: These sounded unlike one another." in result.stderr
    assert not listed()["next"]["alike"]
    assert "next: 3 takes, taught; unlike" in run("--list").stdout


def test_no_recording_there(tmp_path, recordings):
    assert "cannot be read" in refused("--from", tmp_path / "missing")
    assert "name the files like next-1.wav" in refused("--from", tmp_path)
    assert "repeat-1.wav" in refused("--from", recordings, "--commands", "repeat")
    (recordings / "next-1.wav").write_text("no sound")
    assert "next-1.wav is not a sound file" in refused("--from", recordings)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("--commands", "sideways"), "There is no command 'sideways' to teach; they are next,"),
        (("--commands", ""), "There is no command '' to teach"),
        (("--forget", "sideways"), "There is no command 'sideways'"),
        (("--commands", "next", "--all"), "Give --commands or --all, not both."),
        (("--takes", "2"), "A lesson of 2 takes a command cannot be used"),
        (("--takes", "10"), "give a whole number from 3 to 9"),
    ],
)
def test_wishes_that_cannot_be_met(arguments, sentence, store):
    assert sentence in refused(*arguments)
    assert not store.exists()


def test_a_damaged_take_is_told_and_the_others_are_listed(taught):
    (taught / "next" / "take-1.wav").write_bytes(b"RIFF")
    result = run("--list")
    assert "take-1.wav cannot be read; teach that command again" in result.stderr
    assert "next: 2 takes, not taught yet" in result.stdout
    assert "back: 3 takes, taught" in result.stdout


def test_without_a_microphone_there_is_one_sentence(tmp_path):
    result = subprocess.run(
        [sys.executable, "-m", "caller", "teach", "--voice", "espeak"],
        env={**WITHOUT_SOUND, "CALLER_OWN_VOICE": str(tmp_path / "own")},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert result.returncode == 2
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert line.startswith("row-caller: ")
    assert not (tmp_path / "own").exists()
