"""What a check finds, as data and in sentences."""

import json
import re

import numpy as np
import pytest

from caller.calling import check_report
from caller.calling.check_report import Outcome, Report, Result
from caller.calling.commands import WAYS, Command
from caller.calling.listening.level import Fault, measured
from caller.calling.words.keys import key_words
from caller.errors import PedalError, SoundError

RATE = 16_000


def level(decibels: float):
    sigma = 32768 * 10 ** (decibels / 20)
    return measured(np.rint(np.random.default_rng(1).normal(0, sigma, RATE)).astype(np.int16))


SILENT = measured(np.zeros(RATE, dtype=np.int16))
QUIET, VOICE = level(-65), level(-25)


def test_what_is_shown_and_said():
    works = Result("voice", Outcome.WORKS, "The voice is espeak.", essential=True)
    assert works.shown == "Voice: works. The voice is espeak."
    assert works.said == "The voice is espeak."
    fails = Result("microphone", Outcome.FAILS, "It is mute.", "Unmute it.", essential=True)
    assert fails.shown == fails.said == "Microphone: fails. It is mute. Unmute it."
    absent = Result("own voice", Outcome.ABSENT, "Nothing was taught.", "See row-caller teach.")
    assert absent.said == "Own voice: not there. See row-caller teach."
    assert "Nothing was taught." in absent.shown


@pytest.mark.parametrize(
    ("error", "finding", "remedy"),
    [
        (SoundError("It is missing", "enter this: x"), "It is missing.", "Enter this: x"),
        (SoundError("It is lost.", "Plug it in; wait."), "It is lost.", "Plug it in; wait."),
        (PedalError("Which pedal?", "One of these."), "Which pedal?", "One of these."),
        (SoundError("Version 1.2 fails. It is old."), "Version 1.2 fails. It is old.", ""),
    ],
)
def test_an_error_is_what_was_found_and_what_to_do(error, finding, remedy):
    result = check_report.failed("part", error)
    assert (result.finding, result.remedy) == (finding, remedy)
    assert result.state is Outcome.FAILS
    assert result.essential
    can_be_missing = check_report.unusable("part", error)
    assert (can_be_missing.finding, can_be_missing.remedy) == (finding, remedy)
    assert can_be_missing.state is Outcome.ABSENT
    assert not can_be_missing.essential


def test_what_is_needed_decides():
    voice = Result("voice", Outcome.WORKS, "It speaks.", essential=True)
    pedal = Result("pedal", Outcome.FAILS, "It is lost.", "Plug it in.")
    ear = Result("microphone", Outcome.FAILS, "It is mute.", "Unmute it.", essential=True)
    skipped = Result("spoken command", Outcome.SKIPPED, "Nobody was waited for.", essential=True)
    assert Report({}, {}, results=(voice, pedal, skipped)).works
    assert not Report({}, {}, results=(voice, ear)).works
    assert check_report.summary((voice, pedal)) == "All that is needed works."
    assert check_report.summary((voice, ear)).endswith("What fails: microphone.")


def test_what_is_said_unasked():
    works = Result("voice", Outcome.WORKS, "It speaks.", essential=True)
    heard = Result("spoken command", Outcome.WORKS, "Heard: next row.")
    lost = Result("pedal", Outcome.FAILS, "It is lost.", "Plug it in.")
    model = Result("Vosk model", Outcome.ABSENT, "None was found.", "Get one.")
    midi = Result("MIDI pedals", Outcome.ABSENT, "None is plugged in.", "Plug one in.")
    results = (works, heard, lost, model, midi)
    assert [one.is_news for one in results] == [False, True, True, False, False]
    assert check_report.not_there(results) == (
        "Not there, and not needed: Vosk model and MIDI pedals."
    )
    assert check_report.not_there((model,)) == "Not there, and not needed: Vosk model."
    assert check_report.not_there((works,)) is None


def test_the_report_as_json():
    results = (
        Result("voice", Outcome.WORKS, "It speaks.", essential=True),
        Result("own voice", Outcome.ABSENT, "Nothing was taught.", "See row-caller teach."),
    )
    versions = {"caller": "1", "piper-tts": None}
    devices = {"loudspeakers": ["a"], "microphones": []}
    told = Report(versions, devices, {"room": QUIET}, results).as_json()
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert set(told) == {"works", "versions", "devices", "levels", "results"}
    assert told["results"][1] == {
        "part": "own voice",
        "state": "absent",
        "finding": "Nothing was taught.",
        "remedy": "See row-caller teach.",
        "essential": False,
    }
    assert told["results"][0]["remedy"] is None
    assert told["levels"]["room"]["rms_db"] == pytest.approx(-65, abs=0.2)
    assert told["levels"]["room"]["silent"] is False


@pytest.mark.parametrize(
    ("room", "voice", "state", "said"),
    [
        (QUIET, None, Outcome.WORKS, "The microphone headset hears the room at -65 decibels."),
        (SILENT, None, Outcome.FAILS, Fault.SILENT.finding),
        (SILENT, SILENT, Outcome.FAILS, Fault.SILENT.finding),
        (
            SILENT,
            VOICE,
            Outcome.WORKS,
            "The microphone headset hears you, and nothing of the room.",
        ),
    ],
)
def test_the_microphone(room, voice, state, said):
    result = check_report.microphone_result("headset", room, voice)
    assert (result.state, result.finding) == (state, said)
    assert bool(result.remedy) == (state is Outcome.FAILS)
    assert result.essential


def test_the_level_of_a_voice():
    good = check_report.level_result(QUIET, VOICE)
    assert good.state is Outcome.WORKS
    figures = re.match(r"Your voice is at (-\d+) decibels, (\d+) above the room\.", good.finding)
    assert [int(figure) for figure in figures.groups()] == pytest.approx([-25, 40], abs=1.5)
    assert "above" not in check_report.level_result(SILENT, VOICE).finding
    noisy = check_report.level_result(level(-30), level(-26))
    assert (noisy.finding, noisy.remedy) == (Fault.NOISY.finding, Fault.NOISY.remedy)


def test_a_command_that_was_heard():
    heard = check_report.heard_result("next row", Command.NEXT, "pocketsphinx")
    assert heard.said == "Heard by pocketsphinx: next row, for the command next."
    own = check_report.heard_result("next", Command.NEXT, "own")
    assert own.said == "Heard by own: next."


def test_a_command_that_was_not_heard():
    nothing = check_report.unheard_result(8.0, nearly=False, fault=None)
    assert nothing.state is Outcome.FAILS
    assert "No command was heard in 8 seconds. " in nothing.said
    assert "caller teach" in nothing.remedy
    nearly = check_report.unheard_result(8.0, nearly=True, fault=None)
    assert "nearly" in nearly.finding
    quiet = check_report.unheard_result(8.0, nearly=False, fault=Fault.TOO_QUIET)
    assert quiet.remedy == Fault.TOO_QUIET.remedy


def test_every_key_that_gives_a_command_is_told_with_it():
    for way in WAYS:
        for key in way.keys:
            result = check_report.key_result(key, key_words(key))
            assert result.state is Outcome.WORKS
            assert result.finding.endswith(f"gives the command {way.command.value}.")


def test_a_key_is_called_by_its_name():
    result = check_report.key_result("space", key_words("space"))
    assert result.said == "The space bar gives the command next."


def test_a_key_that_gives_none():
    result = check_report.key_result("f13", key_words("f13"))
    assert result.state is Outcome.FAILS
    assert result.finding == "F 13 came in, and gives no command."
    assert "caller pedal" in result.remedy
    assert not result.essential


def test_no_pedal_is_no_failure_but_a_lost_one_is():
    assert check_report.unpressed_result(8, []).state is Outcome.ABSENT
    lost = check_report.unpressed_result(8, [PedalError("The pedal is not there", "plug it in.")])
    assert (lost.state, lost.finding) == (Outcome.FAILS, "The pedal is not there.")
    assert lost.remedy == "Plug it in."
