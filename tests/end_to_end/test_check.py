"""`caller check`: with real sound, on a pseudo-terminal, without sound, and for whoever helps."""

import json
import os
import queue
import re
import subprocess
import sys
import threading
import time
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest
import sounds
from child_env import WITHOUT_SOUND
from click.testing import CliRunner
from pedal_stand_ins import KEY_PAGEDOWN, PipePedal, moved
from virtual_sound import RATE, VirtualSound, why_not

from caller import __version__
from caller.calling.listening.level import Fault, measured
from caller.calling.ports import SoundBlock
from caller.cli import main
from caller.devices.recognisers import pocketsphinx
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import write_wav

DEMO = Path(__file__).parents[2] / "demo_patterns" / "sailing-boat.toml"
PARTS = ["sound library", "voice", "loudspeaker", "microphone", "recogniser", "spoken command"]
PARTS += ["pedal", "settings", "place", "English model", "own voice", "Vosk model"]
PARTS += ["keys of all windows", "pedal devices", "MIDI pedals"]
STATES = {"works", "fails", "absent", "skipped"}


LEAN = ("--recogniser", "pocketsphinx")
"""The recogniser that loads fastest, where it does not matter which one."""
UNHEARD = ("--recogniser", "vosk")
"""One without a model, which fails before it loads, where nothing that is said is tried."""


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A knitter's home with nothing kept in it, which is also where the check is run."""
    for variable in ("CALLER_VOSK_MODEL", "CALLER_SETTINGS", "CALLER_OWN_VOICE", "DISPLAY"):
        monkeypatch.delenv(variable, raising=False)
    return tmp_path


def environment(env: dict[str, str], home: Path, keep: tuple[str, ...] = ()) -> dict[str, str]:
    ours = ("CALLER_", "XDG_", "DISPLAY", "WAYLAND")
    kept = {name: value for name, value in env.items() if name in keep or not name.startswith(ours)}
    return {**kept, "HOME": str(home)}


def started(env, home: Path, *arguments: str, cwd=None, keep=()) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "caller", "check", "--voice", "espeak", *arguments],
        env=environment(env, home, keep),
        cwd=cwd or home,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def checked(env, home: Path, *arguments: str, cwd=None, keep=()):
    """Exit code, standard output and standard error of a whole check."""
    process = started(env, home, *arguments, cwd=cwd, keep=keep)
    out, err = process.communicate(timeout=200)
    assert "Traceback" not in err
    return process.returncode, out, err


def by_part(out: str) -> dict[str, dict]:
    return {result["part"]: result for result in json.loads(out)["results"]}


def test_without_sound_as_json(home):
    code, out, err = checked(WITHOUT_SOUND, home, "--no-wait", "--json", "--voice", "auto")
    assert code == 1
    told = json.loads(out)
    assert set(told) == {"works", "versions", "devices", "levels", "results"}
    assert told["works"] is False
    assert told["versions"]["caller"] == __version__
    assert told["versions"]["portaudio"] is None
    assert told["versions"]["python"] == ".".join(map(str, sys.version_info[:3]))
    assert told["versions"]["numpy"] == np.__version__
    assert told["devices"] == {"loudspeakers": [], "microphones": []}
    assert told["levels"] == {}
    assert [result["part"] for result in told["results"]] == PARTS
    assert re.match(
        r"The voice is (piper|espeak), at 140 words a minute: \w.+\.$",
        by_part(out)["voice"]["finding"],
    )
    for result in told["results"]:
        assert set(result) == {"part", "state", "finding", "remedy", "essential"}
        assert result["state"] in STATES
        assert result["finding"].endswith(".")
        if result["state"] in ("fails", "absent"):
            assert result["remedy"], f"{result['part']} says what to do"
    assert str(home) not in out + err, "whoever helps need not know the knitter's folders"
    assert err.splitlines()[0].startswith("Sound library: fails. ")


def test_without_sound_on_the_screen(home):
    code, out, err = checked(WITHOUT_SOUND, home, "--no-wait")
    assert (code, err) == (1, "")
    lines = out.splitlines()
    assert lines[0].startswith("Sound library: fails. There is no sound and no listening because")
    if sys.platform == "linux":
        assert "sudo apt install libportaudio2" in lines[0]
    assert "Voice: works. The voice is espeak, at 140 words a minute: it was asked for." in lines
    assert "Microphone: not tried. It needs the sound library." in lines
    assert "Recogniser: works. The recogniser is english, for 19 phrases." in lines
    assert "Spoken command: not tried. There is no microphone." in lines
    assert "Not all that is needed works. What fails: sound library." in lines
    left = {path.name for path in home.iterdir()} - {".config"}  # made by ALSA's sound server
    assert not left, "nothing is left behind"


def test_no_sound_device(home):
    """PortAudio is there and finds nothing."""
    pytest.importorskip("sounddevice", exc_type=OSError)
    env = {**os.environ, "PULSE_SERVER": "none"}
    code, out, _ = checked(env, home, "--no-wait", "--json", *UNHEARD)
    if json.loads(out)["devices"]["microphones"]:
        pytest.skip("this machine has sound devices")
    found = by_part(out)
    assert code == 1
    assert found["sound library"]["state"] == "works"
    for part in ("loudspeaker", "microphone"):
        assert found[part]["state"] == "fails"
        assert found[part]["finding"].startswith(f"No {part} was found")
        assert "lug" in found[part]["remedy"], "plug one in"


def test_what_is_kept_is_found(home, tmp_path):
    """A model folder that is none, settings that are read, a place that cannot be kept."""
    settings = home / ".config" / "caller" / "settings.toml"
    settings.parent.mkdir(parents=True)
    settings.write_text('[options]\nrate = 200\n[words]\nnext = ["onward please"]\n')
    arguments = ("--no-wait", "--json", "--model", str(home / "nowhere"))
    nowhere = "/proc" if sys.platform == "linux" else None
    code, out, _ = checked(WITHOUT_SOUND, home, *arguments, cwd=nowhere)
    found = by_part(out)
    assert code == 1
    assert "200 words a minute" in found["voice"]["finding"]
    assert found["settings"]["finding"].startswith("~/.config/caller/settings.toml is read")
    assert (found["Vosk model"]["state"], found["recogniser"]["state"]) == ("fails", "fails")
    assert found["Vosk model"]["finding"] == "There is no folder ~/nowhere."
    if nowhere:
        assert found["place"]["state"] == "fails"
        assert "--place" in found["place"]["remedy"]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("--wait", "0"), "--wait"),
        (("--wait", "soon"), "--wait"),
        (("--voice", "espeak", "--voice-file", "x.onnx"), "The espeak voice is not in a file"),
        (("--rate", "9"), "A rate of 9 words a minute cannot be used"),
        (("--recogniser", "pocketsphinx", "--model", "x"), "A model folder is for Vosk"),
    ],
)
def test_bad_input(home, arguments, sentence):
    asked = ["check", "--voice", "espeak", *arguments]
    done = CliRunner().invoke(main, asked, env={"HOME": str(home)})
    assert (done.exit_code, done.stdout) == (2, "")
    assert sentence in done.stderr


def at_a_terminal(home, *options):
    pexpect = pytest.importorskip("pexpect")
    sitting = pexpect.spawn(
        sys.executable,
        ["-m", "caller", "check", "--voice", "espeak", *UNHEARD, *options],
        env={**environment(WITHOUT_SOUND, home), "TERM": "xterm"},
        cwd=str(home),
        encoding="utf-8",
        dimensions=(24, 250),
        timeout=40,
    )
    sitting.ptyproc.delayafterterminate = 1.5  # a busy machine takes longer than the usual 0.1 s
    return sitting


# What a terminal sends for Page Down (ECMA-48, the VT220's editing keys) and F13 (xterm).
@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ("\x1b[6~", "Pedal: works. Page down gives the command next."),
        ("\x1b[25~", "Pedal: fails. F 13 came in, and gives no command. Teach it with"),
    ],
)
def test_a_pedal_that_sends_keys(home, sent, told):
    sitting = at_a_terminal(home)
    sitting.expect("Press your pedal, or any key.")
    time.sleep(0.7)  # the terminal is in its raw mode soon after
    sitting.send(sent)
    sitting.expect(told.replace(".", r"\."))
    sitting.expect("Not all that is needed works")
    sitting.close()


def test_nobody_presses(home):
    sitting = at_a_terminal(home, "--wait", "1")
    sitting.expect("Pedal: not there. No pedal and no key was pressed in 1 seconds.")
    sitting.close()


def test_stopping(home):
    sitting = at_a_terminal(home)
    sitting.expect("Press your pedal, or any key.")
    time.sleep(0.7)
    sitting.send("\x03")
    sitting.expect("row-caller: Stopped.")
    sitting.expect(__import__("pexpect").EOF)
    sitting.close()
    assert sitting.exitstatus == 130


class Speaking:
    """Says the same into the microphone again and again, as a knitter does who is not heard."""

    def __init__(self, sound: VirtualSound, folder: Path, samples) -> None:
        self._sound, self._wav = sound, folder / "said.wav"
        write_wav(self._wav, [SoundBlock(samples, 16_000)])
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._speak)

    def __enter__(self):
        self._thread.start()

    def _speak(self):
        while not self._over.is_set():
            self._sound.speak(self._wav)

    def __exit__(self, *_):
        self._over.set()
        self._thread.join()


@pytest.mark.sound
@pytest.mark.slow
def test_a_command_and_the_sides_with_real_sound(
    virtual_sound, home, tmp_path_factory, monkeypatch
):
    folder = tmp_path_factory.mktemp("said")
    word = sounds.apart([sounds.say("next row")], 0.9)
    lines = []
    with virtual_sound.recording(channels=2) as recording, ExitStack() as speaking:
        process = started(virtual_sound.env, home, "--wait", "30", "--rate", "350", "--json")
        for line in process.stderr:
            lines.append(line.strip())
            if line == "After the tone, say: next row.\n":
                speaking.enter_context(Speaking(virtual_sound, folder, word))
            if line.startswith("Level"):
                speaking.close()
        out = process.stdout.read()
        heard = recording.samples
    assert process.wait(60) == 0, lines
    assert "Spoken command: works. Heard by english: next row, for the command next." in lines
    assert lines.count("All that is needed works.") == 1
    told, found = json.loads(out), by_part(out)
    assert told["works"] is True
    assert told["devices"] == {"loudspeakers": ["default"], "microphones": ["default"]}
    # The level at which it was said, to what ten milliseconds more or less of it make.
    loudest = measured(word).loudest_db
    assert told["levels"]["voice"]["loudest_db"] == pytest.approx(loudest, abs=2)
    assert found["level"]["state"] == found["microphone"]["state"] == "works"
    assert found["pedal"]["state"] == "skipped"

    sides = heard.reshape(-1, 2).astype(float)
    frame = RATE // 50
    frames = sides[: len(sides) // frame * frame].reshape(-1, frame, 2)
    left, right = np.sqrt(np.mean(frames**2, axis=1)).T
    loud = np.maximum(left, right) > 300
    only_left = np.flatnonzero(loud & (left > 3 * right))
    only_right = np.flatnonzero(loud & (right > 3 * left))
    assert len(only_left) > 5
    assert len(only_right) > 5
    assert only_left.max() < only_right.min(), "left is said first"
    monkeypatch.setattr(pocketsphinx, "ONCE", {"left", "right"})
    recogniser = pocketsphinx.PocketSphinxRecogniser(("left", "right"))
    told_sides = []
    for side, found in ((0, only_left), (1, only_right)):
        cut = sides[(found.min() - 8) * frame : (found.max() + 8) * frame, side]
        cut = resampled(cut.astype(np.int16), RATE, 16_000)
        hiss = sounds.quiet(len(cut) / 16_000 + 0.1)[: len(cut)]
        told_sides.append(recogniser.recognise(cut + hiss).phrase)
    # So short a word is not always understood, but never taken for the other.
    assert told_sides in (["left", "right"], [None, "right"], ["left", None])


# A loudspeaker that is not there keeps these short: nothing is said.
SPEECHLESS = ("--json", "--loudspeaker", "nowhere")


@pytest.mark.sound
def test_a_room_without_the_knitter(virtual_sound, home, tmp_path_factory):
    """Nothing is waited for; the microphone gives the room, 45 dB below full scale."""
    room = (sounds.pink(5.0) * 32768 * 10 ** (-45 / 20)).astype(np.int16)
    with Speaking(virtual_sound, tmp_path_factory.mktemp("room"), room):
        code, out, err = checked(virtual_sound.env, home, "--no-wait", *SPEECHLESS, *LEAN)
    told, found = json.loads(out), by_part(out)
    assert code == 1, err
    assert told["levels"]["room"]["rms_db"] == pytest.approx(-45, abs=2)
    assert found["microphone"]["state"] == "works"
    assert found["spoken command"]["state"] == found["pedal"]["state"] == "skipped"
    assert found["loudspeaker"]["finding"] == "There is no loudspeaker 'nowhere'."
    assert found["loudspeaker"]["remedy"] == "The only loudspeaker is default (the usual one)."


@pytest.mark.sound
@pytest.mark.parametrize("name", ["spare_headset", "trumpet"])
def test_a_microphone_that_gives_nothing(virtual_sound, home, name):
    """The wrong one, which nobody speaks into, and one that is not there."""
    arguments = ("--no-wait", *SPEECHLESS, *UNHEARD, "--microphone", name)
    code, out, _ = checked(virtual_sound.env_with_names, home, *arguments)
    microphone = by_part(out)["microphone"]
    assert code == 1
    assert microphone["state"] == "fails"
    if name == "trumpet":
        assert microphone["finding"] == "There is no microphone 'trumpet'."
        assert "headset" in microphone["remedy"], "those there are"
    else:
        assert microphone["finding"] == Fault.SILENT.finding
        assert "--microphone" in microphone["remedy"]


@pytest.mark.sound
@pytest.mark.parametrize("said", ["", "the cat sat on a mat"])
def test_waiting_in_vain(virtual_sound, home, tmp_path_factory, said):
    """What to do depends on whether anything was heard."""
    with ExitStack() as speaking:
        if said:
            sound = sounds.apart([sounds.say(said)], 0.5)
            folder = tmp_path_factory.mktemp("said")
            speaking.enter_context(Speaking(virtual_sound, folder, sound))
        code, out, _ = checked(virtual_sound.env, home, "--wait", "5", *SPEECHLESS, *LEAN)
    command, microphone = by_part(out)["spoken command"], by_part(out)["microphone"]
    assert code == 1
    assert command["state"] == "fails"
    if said:
        assert microphone["state"] == "works"
        assert "caller teach" in command["remedy"]
    else:
        assert microphone["finding"] == Fault.SILENT.finding
        assert command["finding"] == "No command was heard in 5 seconds."
        assert command["remedy"] == microphone["remedy"] == Fault.SILENT.remedy


@pytest.mark.sound
def test_the_sound_card_goes_away_in_the_middle(home):
    if reason := why_not():
        pytest.skip(reason)
    with VirtualSound() as server:
        process = started(server.env, home, "--wait", "60", "--rate", "350", *LEAN)
        said = []
        for line in process.stdout:
            said.append(line.strip())
            if line.startswith("After the tone"):
                time.sleep(4)
                server.stop()
        assert process.wait(60) == 1
    assert any(line.startswith("Spoken command: fails. ") for line in said)
    assert any(line.startswith("Sound: fails. The loudspeaker was taken away") for line in said)
    assert "MIDI pedals" in said[-1], "it goes on to the end on the screen"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="devices of Linux")
def test_a_pedal_that_is_kept(home):
    """A pedal's own device, here a pipe, and one that is not plugged in."""
    with PipePedal(home / "event7") as pedal:
        settings = home / "settings.toml"
        one = f'[[pedals]]\nsource = "device"\ndevice = "{pedal.path}"\nkey = "pagedown"\n'
        settings.write_text(one + 'short = "back"\n')
        env = {**WITHOUT_SOUND, "CALLER_SETTINGS": str(settings)}
        process = started(env, home, *UNHEARD, keep=("CALLER_SETTINGS",))
        said = []
        for line in process.stdout:
            said.append(line.strip())
            if line.startswith("Press your pedal"):
                time.sleep(1)
                pedal.send(moved(KEY_PAGEDOWN, 1) + moved(KEY_PAGEDOWN, 0))
        assert process.wait(60) == 1
    assert "Pedal: works. Your pedal gives the command back." in said
    settings.write_text(one.replace("event7", "event8") + 'short = "back"\n')
    arguments = ("--wait", "1", "--json", *UNHEARD)
    code, out, _ = checked(env, home, *arguments, keep=("CALLER_SETTINGS",))
    pedal = by_part(out)["pedal"]
    assert (code, pedal["state"]) == (1, "fails")
    assert "~/event8" in pedal["finding"] + pedal["remedy"]


@pytest.mark.sound
def test_the_level_again_and_again(virtual_sound, tmp_path):
    """What `levels` gives of a tone of 12,000 of 32,768, a second long."""
    program = """
import sys
from caller.wiring.check import levels
heard = levels(None)
loudest = max(level.rms_db for level, _ in zip(heard, range(12)))
heard.close()
print(loudest)
"""
    with Speaking(virtual_sound, tmp_path, sounds.tone(500, 1.0)):
        child = subprocess.run(
            [sys.executable, "-c", program], env=virtual_sound.env, capture_output=True, text=True
        )
    assert child.returncode == 0, child.stderr
    assert float(child.stdout.split()[-1]) == pytest.approx(
        20 * np.log10(12_000 / 32_768 / np.sqrt(2)), abs=1
    )


@pytest.mark.sound
@pytest.mark.slow
def test_a_session_whose_microphone_is_unplugged(home):
    """It is told of, aloud and on the screen, and so is its return; then it is heard again."""
    if reason := why_not():
        pytest.skip(reason)
    lines: queue.Queue[str] = queue.Queue()
    with VirtualSound() as server:
        session = subprocess.Popen(
            [
                *(
                    sys.executable,
                    "-m",
                    "caller",
                    "knit",
                    str(DEMO),
                    "--row",
                    "3",
                    "--voice",
                    "espeak",
                    "--rate",
                    "350",
                ),
                *("--place", str(home / "boat.place"), "--microphone", "headset"),
            ],
            env=environment(server.env_with_names, home),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,  # where PortAudio writes when a device dies
            text=True,
        )
        threading.Thread(target=lambda: [*map(lines.put, session.stdout)], daemon=True).start()

        def until(begin: str) -> None:
            while begin not in (line := lines.get(timeout=90)):
                assert line

        until("Row 3")
        server.take_microphone_away()
        until(Fault.SILENT.finding)
        until("The microphone was taken away or its driver stopped.")
        server.plug_microphone_in()
        until("The microphone is back")
        with Speaking(server, home, sounds.apart([sounds.say("next row")], 1.5)):
            until("Row 4")
        session.stdin.write("leave\n")
        session.stdin.close()
        assert session.wait(60) == 0
