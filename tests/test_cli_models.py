"""`caller models`: what it lists, tries and fetches, as a program would be used."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import platformdirs
import pytest
import sounds
from click.testing import CliRunner
from model_server import NAME, Handler, Server, download_of, fst

import caller.wiring.models as wired
from caller.calling.commands import Command
from caller.cli import main
from caller.devices.recognisers import vosk_trial
from caller.devices.recognisers.english import model_files
from caller.devices.recognisers.vosk_models import ENVIRONMENT
from caller.devices.storage import take_store
from caller.errors import ListeningError


@pytest.fixture
def homes(tmp_path, monkeypatch):
    """An empty folder to stand in, an empty data folder of the user, and no other settings."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.delenv(ENVIRONMENT, raising=False)
    monkeypatch.setenv("CALLER_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.setenv("CALLER_OWN_VOICE", str(tmp_path / "own-voice"))
    monkeypatch.setenv("no_proxy", "*")
    monkeypatch.setattr(platformdirs, "user_data_path", lambda name: tmp_path / "data" / name)
    return tmp_path


@pytest.fixture
def others_whole(monkeypatch):
    """The engines that come with the program are not tried, which takes most of a second."""
    for attempt in ("_try_english", "_try_sphinx", "_try_own_voice"):
        monkeypatch.setattr(wired, attempt, lambda: None)


def model_at(folder, *missing, graph="HCLr.fst"):
    contents = {"am/final.mdl": b"mdl", f"graph/{graph}": fst(), "graph/Gr.fst": b"fst"}
    for name, content in contents.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if name not in missing:
            path.write_bytes(content)
    return folder


def run(*arguments):
    return CliRunner().invoke(main, ["models", *map(str, arguments)])


def listed(*arguments):
    ran = run("--json", *arguments)
    assert ran.exit_code == 0, ran.output
    return json.loads(ran.stdout)


def test_without_a_vosk_model_the_english_one_listens_and_every_place_is_named(homes):
    told = listed()
    assert told["recogniser"] == "english"
    assert told["model"] is None
    assert [place["folder"] for place in told["places"]] == [
        "models",
        str(homes / "data" / "caller" / "models"),
    ]
    assert [place["models"] for place in told["places"]] == [[], []]
    assert {"name": "english", "wrong": None} in told["others"]
    assert {"name": "pocketsphinx", "wrong": None} in told["others"]
    text = run().output
    assert "The English model listens" in text
    assert str(homes / "data" / "caller" / "models") in text


def test_each_model_is_listed_with_what_is_wrong_and_the_whole_one_is_used(homes, others_whole):
    here = homes / "here" / "models"
    model_at(here / "a-short", "graph/Gr.fst")
    model_at(here / "b-fixed", graph="HCLG.fst")
    model_at(here / "c-whole")
    model_at(homes / "data" / "caller" / "models" / "d-whole")
    assert listed()["recogniser"] == "english"
    told = listed("--recogniser", "vosk")
    assert told["recogniser"] == "vosk"
    assert told["model"] == str(Path("models", "c-whole"))
    wrong = {one["name"]: one["wrong"] for place in told["places"] for one in place["models"]}
    assert "not unpacked whole" in wrong["a-short"]
    assert "fixed graph" in wrong["b-fixed"]
    assert wrong["c-whole"] is None
    assert wrong["d-whole"] is None
    text = run("--recogniser", "vosk").output
    assert "with c-whole, the first whole one" in text
    assert "c-whole: whole" in text


def test_where_no_model_is_whole_it_is_said_that_nothing_listens(homes, others_whole):
    model_at(homes / "here" / "models" / "a-short", "graph/Gr.fst")
    assert listed()["recogniser"] == "english"
    told = listed("--recogniser", "vosk")
    assert told["recogniser"] is None
    assert "Nothing would listen" in told["why"]
    assert "not unpacked whole" in told["why"]


def test_named_folders_come_first_though_they_are_no_model(homes, others_whole, monkeypatch):
    model_at(homes / "here" / "models" / "whole")
    monkeypatch.setenv(ENVIRONMENT, str(homes / "nowhere"))
    told = listed()
    assert (told["recogniser"], told["model"]) == (None, str(homes / "nowhere"))
    assert told["places"][0]["place"] == f"named by {ENVIRONMENT}"
    assert "is not there" in told["why"]
    given = model_at(homes / "given")
    told = listed("--model", given)
    assert (told["recogniser"], told["model"]) == ("vosk", str(given))
    assert [place["place"] for place in told["places"][:2]] == [
        "named by --model",
        f"named by {ENVIRONMENT}",
    ]


def test_what_was_asked_for_is_told(homes, others_whole):
    model_at(homes / "here" / "models" / "whole")
    assert listed("--recogniser", "pocketsphinx")["recogniser"] == "pocketsphinx"
    assert listed("--recogniser", "vosk")["recogniser"] == "vosk"
    own = listed("--recogniser", "own")
    assert own["recogniser"] is None
    assert "caller teach" in own["why"]


@pytest.mark.parametrize("engine", ["auto", "english", "pocketsphinx"])
def test_words_that_cannot_be_heard_are_told(homes, engine):
    (homes / "settings.toml").write_text('[words]\nnext = ["다음 줄"]\n', encoding="utf-8")
    told = listed("--recogniser", engine)
    assert told["recogniser"] is None
    assert "다음, 줄" in told["why"]


def test_what_was_taught_is_told_beside_what_listens(homes, others_whole):
    take_store.keep(Command.NEXT, [sounds.tone(300, 0.5)] * 3)
    told = listed()
    assert told["recogniser"] == "english and own"
    assert told["why"].startswith("The English model listens: it hears")
    assert told["why"].endswith("Beside it your own voice is heard, as taught: next.")
    assert listed("--recogniser", "own")["why"] == "Your own voice alone is heard, as taught: next."


def test_words_of_ones_own_and_a_vosk_model_go_together(homes, others_whole):
    (homes / "settings.toml").write_text('[words]\nnext = ["다음 줄"]\n', encoding="utf-8")
    model_at(homes / "here" / "models" / "whole")
    assert listed()["recogniser"] == "vosk"


def test_without_the_english_model_it_is_said_how_to_get_it(homes, monkeypatch):
    monkeypatch.setattr(model_files, "find_spec", lambda _name: None)
    told = listed()
    assert told["recogniser"] == "pocketsphinx"
    assert told["why"].startswith("PocketSphinx listens. The English model that hears best is not")
    assert listed("--recogniser", "english")["recogniser"] is None


def test_what_is_wrong_in_a_settings_file_is_told_and_left_out(homes, others_whole):
    (homes / "settings.toml").write_text("[words]\nfly = ['up']\n")
    ran = run()
    assert ran.exit_code == 0
    assert "fly" in ran.output


@pytest.mark.parametrize(
    ("missing", "said"),
    [("am/final.mdl", "am/final.mdl"), ("graph/HCLr.fst", "graph/HCLr.fst")],
)
def test_a_folder_that_lacks_a_file_is_said(homes, missing, said):
    ran = run("--check", model_at(homes / "model", missing))
    assert ran.exit_code == 2
    assert said in ran.output


def test_a_model_that_the_library_refuses_is_said_by_the_child(homes):
    ran = run("--check", model_at(homes / "model"))
    assert ran.exit_code == 2
    assert "cannot be loaded" in ran.output


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="Windows has no such signal.")
def test_a_child_that_dies_is_said_and_nothing_else_ends(homes, monkeypatch):
    """As when the library meets a file that it cannot bear."""
    killer = homes / "killer"
    killer.write_text(f"#!{sys.executable}\nimport os\nos.kill(os.getpid(), 11)\n")
    killer.chmod(0o755)
    monkeypatch.setattr(vosk_trial.sys, "executable", str(killer))
    with pytest.raises(ListeningError, match=r"ended the program.*-11"):
        vosk_trial.try_model(model_at(homes / "model"), ("next row",))


def test_a_child_that_hangs_is_not_waited_for(homes, monkeypatch):
    sleeper = homes / "sleeper"
    sleeper.write_text(f"#!{sys.executable}\nimport time\ntime.sleep(60)\n")
    sleeper.chmod(0o755)
    monkeypatch.setattr(vosk_trial.sys, "executable", str(sleeper))
    monkeypatch.setattr(vosk_trial, "LONGEST_S", 0.3)
    with pytest.raises(ListeningError, match="still loading"):
        vosk_trial.try_model(model_at(homes / "model"), ("next row",))


@pytest.fixture
def server(homes, monkeypatch):
    server = Server()
    monkeypatch.setattr(wired, "DOWNLOADS", (download_of(server),))
    yield server
    server.shutdown()
    server.server_close()


def test_a_model_is_fetched_told_of_and_tried(homes, others_whole, server):
    """What is served is no model to the library, which says so in the child."""
    ran = run("--fetch", NAME)
    folder = homes / "data" / "caller" / "models" / NAME
    assert folder.is_dir()
    lines = ran.stderr.splitlines()
    assert lines[0].startswith("0 percent, 0 of ")
    assert any(line.startswith("100 percent") for line in lines)
    assert len(lines) <= 13, "a line for every ten percent, and no more"
    assert f"{NAME} is in {folder}." in lines
    assert "cannot be loaded" in lines[-1]
    assert listed("--recogniser", "vosk")["model"] == str(folder)


def test_what_is_there_and_whole_is_not_fetched_again(homes, server):
    run("--fetch", NAME)
    asked = len(server.asked)
    assert f"{NAME} is in " in run("--fetch", NAME).stderr
    assert len(server.asked) == asked


def test_what_is_there_and_broken_is_left_for_the_knitter(homes, server):
    folder = homes / "data" / "caller" / "models" / NAME
    folder.mkdir(parents=True)
    ran = run("--fetch", NAME)
    assert ran.exit_code == 2
    assert "rename or delete" in ran.output
    assert server.asked == []


def test_no_network_is_one_sentence(homes, server):
    server.shutdown()
    server.server_close()
    ran = run("--fetch", NAME)
    assert ran.exit_code == 2
    assert "There is no network" in ran.output
    assert "Traceback" not in ran.output


def test_a_broken_download_carries_on_with_the_same_command(homes, server):
    server.answers = [lambda handler: handler.well(cut=200_000)]
    first = run("--fetch", NAME)
    assert first.exit_code == 2
    assert "the same command carries on" in first.stderr
    second = run("--fetch", NAME)
    assert "100 percent" in second.stderr
    assert not second.stderr.startswith("0 percent")
    assert server.asked == [None, "bytes=200000-"]


def test_an_unknown_name_tells_the_known_ones(homes, server):
    ran = run("--fetch", "vosk-model-en-us-0.22")
    assert ran.exit_code == 2
    assert NAME in ran.output
    assert "by hand" in ran.output


@pytest.mark.parametrize("name", ["", "..", "../../x", "/etc", NAME.upper()])
def test_a_name_is_never_taken_for_a_path(homes, server, name):
    assert run("--fetch", name).exit_code == 2
    assert server.asked == []


def test_check_and_fetch_together_are_refused(homes):
    assert run("--check", "x", "--fetch", "y").exit_code == 2


@pytest.mark.skipif(sys.platform == "win32", reason="Sends SIGINT to one process.")
def test_control_c_keeps_what_has_come(homes, server):
    server.answers = [lambda handler: handler.well(cut=200_000, then_wait=True)]
    program = (
        "import sys, platformdirs, pathlib, signal; "
        # Where the tests run in the background, the shell has turned the signal off.
        "signal.signal(signal.SIGINT, signal.default_int_handler); "
        "from caller.devices.recognisers.model_download import Download; "
        "import caller.wiring.models as wired; "
        "wired.DOWNLOADS = (Download(*eval(sys.argv[2])),); "
        "platformdirs.user_data_path = lambda name: pathlib.Path(sys.argv[3]); "
        "from caller.cli import main; main(['models', '--fetch', sys.argv[1]])"
    )
    one = wired.DOWNLOADS[0]
    fields = repr((one.name, one.address, one.size, one.sha256, one.licence))
    process = subprocess.Popen(
        [sys.executable, "-c", program, NAME, fields, str(homes / "data")],
        env={**os.environ},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    part = homes / "data" / "models" / f"{NAME}.zip.part"
    until = time.monotonic() + 60
    while not (part.exists() and part.stat().st_size):
        assert time.monotonic() < until
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    server.release.set()
    assert process.returncode == 130
    assert "Nothing is lost" in err
    assert "Traceback" not in err
    assert part.stat().st_size > 0


def test_a_server_that_refuses_is_said(homes, server):
    server.answers = [lambda handler: Handler.status(handler, 404)]
    assert "answers 404" in run("--fetch", NAME).stderr
