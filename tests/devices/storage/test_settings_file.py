"""The settings file: what it gives, what it refuses and where, and that writing keeps the rest."""

import os
import tempfile
import tomllib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from caller import toml_tables
from caller.calling.commands import Command
from caller.cli import main
from caller.devices.storage import settings_file
from caller.devices.storage.settings_file import (
    KEPT_OPTIONS,
    KeptSettings,
    keep_pedals,
    load,
    spoken_words,
)
from caller.errors import CallerError, SettingError
from caller.settings import PedalKey, PressSettings

DEMO = Path(__file__).parents[3] / "demo_patterns" / "sailing-boat.toml"


@pytest.fixture(autouse=True)
def path(tmp_path, monkeypatch):
    file = tmp_path / "kept" / "settings.toml"
    monkeypatch.setenv(settings_file.ENVIRONMENT, str(file))
    return file


def written(path, text):
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")


def test_without_a_file_nothing_is_set(path):
    assert load() == KeptSettings()
    assert not path.parent.exists()


def test_all_that_it_may_hold(path):
    written(
        path,
        """
        [options]
        rate = 180
        wording = "full"
        stereo = true
        [words]
        next = ["다음 줄"]
        back = ["Zurück  bitte", "einmal zurück"]
        [presses]
        long = 0.8
        [[pedals]]
        source = "device"
        device = "Foot switch"
        key = "f13"
        short = "next"
        [[pedals]]
        source = "midi"
        key = "sustain"
        long = "back"
        """,
    )
    assert load() == KeptSettings(
        {"rate": "180", "wording": "full", "stereo": True},
        {
            "다음 줄": Command.NEXT,
            "zurück bitte": Command.BACK,
            "einmal zurück": Command.BACK,
        },
        PressSettings(long_s=0.8),
        (
            PedalKey("device", "f13", "Foot switch", short="next"),
            PedalKey("midi", "sustain", long="back"),
        ),
    )


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("x = 1", "line 1: 'x' is not known here; the keys are options"),
        ("[options]\nrow = 3", "line 2: 'row' is not known here; the keys are voice"),
        ("[options]\nrate = [1]", "line 2: 'rate' must be text"),
        ("options = 3", "line 1: 'options' must be written as [options]"),
        ('[words]\nnxt = ["a"]', "'nxt' is no command; the commands are next"),
        ('[words]\nnext = "a"', "line 2: 'next' must be a list of texts"),
        ("[words]\nnext = []", "line 2: 'next' must be a list of texts"),
        ("[words]\nnext = [1]", "line 2: 'next' must be a list of texts"),
        ('[words]\nnext = [" 3 "]', "must have letters"),
        ('[words]\nnext = ["on"]\nback = ["ON"]', "'on' is said for two commands"),
        ('[words]\nnext = ["on"]\nback = ["on back"]', "'on back' begins with 'on'"),
        (
            "[presses]\nlong = 9",
            "A long press of 9 seconds cannot be used; give a number from",
        ),
        ("[presses]\nlong = true", "line 2: 'long' must be a number of seconds"),
        ("[presses]\nslow = 1", "line 2: 'slow' is not known here"),
        ('[pedals]\nkey = "a"', "line 1: 'pedals' must be written as [[pedals]]"),
        ('[[pedals]]\nkey = "a"', "number 1 of [[pedals]] has no 'source'"),
        ('[[pedals]]\nsource = "midi"', "number 1 of [[pedals]] has no 'key'"),
        ('[[pedals]]\nsource = "x"\nkey = "k"\nshort = "next"', "kind of pedal 'x' is not known"),
        ('[[pedals]]\nsource = "midi"\nkey = "k"', "key k gives no command"),
        ('[[pedals]]\nsource = "midi"\nkey = 5', "line 3: 'key' must be text in quotes"),
        ("[options", "is not valid TOML"),
        ("\0", "is not valid TOML"),
    ],
)
def test_what_is_wrong_is_said_and_where(path, text, sentence):
    written(path, text)
    ((_, error), *_) = load().troubles
    assert sentence in str(error)
    assert str(path) in str(error)
    with pytest.raises(SettingError):
        load().whole()
    with pytest.raises(SettingError):
        keep_pedals([PedalKey("midi", "sustain", short="next")])
    assert path.read_text(encoding="utf-8") == text


def test_what_is_no_settings_file(path):
    path.parent.mkdir()
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(SettingError, match="UTF-8"):
        load().whole()
    path.write_bytes(b"#" * (toml_tables.LARGEST_FILE + 1))
    with pytest.raises(SettingError, match="too large"):
        load().whole()
    path.unlink()
    path.mkdir()
    with pytest.raises(SettingError, match="cannot be read"):
        load().whole()
    if hasattr(os, "mkfifo"):
        path.rmdir()
        os.mkfifo(path)
        with pytest.raises(SettingError, match="ordinary file"):
            load().whole()


def test_only_what_is_wrong_is_left_out(path):
    written(
        path,
        """
        wool = 1
        [options]
        rate = 180
        row = 3
        wording = [1]
        numbers = "words"
        [words]
        next = "on"
        back = ["return"]
        [presses]
        slow = 1
        long = 0.8
        [[pedals]]
        source = "device"
        key = "f13"
        short = "next"
        [[pedals]]
        source = "device"
        key = 5
        [[pedals]]
        source = "midi"
        key = "sustain"
        long = "nxt"
        """,
    )
    kept = load()
    assert kept.options == {"rate": "180", "numbers": "words"}
    assert kept.words == {"return": Command.BACK}
    assert kept.presses == PressSettings(long_s=0.8)
    assert kept.pedals == (PedalKey("device", "f13", short="next"),)
    assert sorted(section for section, _ in kept.troubles) == [
        *("", "options", "options", "pedals", "pedals", "presses", "words"),
    ]


HOSTILE = {
    "nested": "a = " + "[" * 100_000,
    "nested tables": "a = " + "{a = " * 5_000,
    "dotted": "a" + ".a" * 100_000 + " = 1",
    "dotted often": ("a" + ".a" * 49 + "= 1\n[x]\n") * 8_000,
    "digits": "[options]\nrate = " + "9" * 5_000,
    "hexadecimal": "[options]\nrate = 0x" + "f" * 5_000,
    "large": "[presses]\nlong = 1" + "0" * 4_000,
    "infinite": "[presses]\nlong = inf\n[options]\nrate = nan",
    "endless heading": 'a = """\n[' + " " * 900_000 + '\n"""',
    "endless key": 'a = """\n' + "b " * 400_000 + '\n"""',
    "many keys": "".join(f"k{number} = 1\n" for number in range(20_000)),
    "many words": "[words]\n" + "".join(f"k{number} = [1]\n" for number in range(20_000)),
    "a long key": "k" * 900_000 + " = 1",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_nesting_numbers_and_length_are_refused_in_time(path, name):
    """The file has nothing but own errors, each short enough to be said."""
    written(path, HOSTILE[name])
    troubles = load().troubles
    assert troubles
    assert all(len(str(error)) < 600 for _, error in troubles)


@given(
    st.lists(
        st.sampled_from(
            [
                *("[options]", "[words]", "[presses]", "[[pedals]]", "rate", "next"),
                *(
                    "source",
                    "short",
                    " = ",
                    "\n",
                    "\n",
                    "[",
                    "]",
                    "{",
                    "}",
                    '"midi"',
                    '"',
                    ".",
                    ",",
                ),
                *(
                    "1",
                    "-1e400",
                    "nan",
                    "0x" + "f" * 40,
                    "9" * 4400,
                    "true",
                    "1979-05-27",
                    "\0",
                    "'",
                ),
            ]
        ),
        max_size=30,
    )
)
def test_whatever_it_holds_there_is_no_other_error(text):
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        file = Path(folder, "settings.toml")
        patch.setenv(settings_file.ENVIRONMENT, str(file))
        file.write_text("".join(text), encoding="utf-8")
        kept = load()
    assert all(isinstance(error, CallerError) for _, error in kept.troubles)


def test_pedals_are_kept_and_the_rest_stays(path):
    written(path, '# mine\n[options]\nrate = 180  # brisk\n\n[[pedals]]\nsource = "midi"\n'
            'key = "sustain"\nshort = "next"\n')  # fmt: skip
    pedals = (PedalKey("device", "pagedown", "A pedal", "next", "back", "repeat"),)
    assert keep_pedals(pedals) == path
    text = path.read_text(encoding="utf-8")
    assert "# mine" in text
    assert "rate = 180  # brisk" in text
    assert load() == KeptSettings({"rate": "180"}, pedals=pedals)
    keep_pedals(())
    assert load() == KeptSettings({"rate": "180"})
    assert "pedals" not in tomllib.loads(path.read_text(encoding="utf-8"))


def test_a_folder_that_cannot_be_written(path, monkeypatch):
    path.parent.write_text("a file in the way")
    monkeypatch.setenv(settings_file.ENVIRONMENT, str(path.parent / "x" / "settings.toml"))
    with pytest.raises(SettingError, match=r"cannot be (read|written)"):
        keep_pedals([PedalKey("midi", "sustain", short="next")])


@given(
    st.dictionaries(st.sampled_from([c.value for c in Command]), st.lists(st.text(), max_size=3))
)
def test_words_either_serve_or_are_refused(table):
    try:
        words = spoken_words(table)
    except SettingError:
        return
    assert {command.value for command in words.values()} == {name for name in table if table[name]}
    for phrase in words:
        assert phrase == " ".join(phrase.casefold().split())
        assert not any(other.startswith(f"{phrase} ") for other in words)


def test_every_option_that_can_be_kept_is_one():
    context = click.Context(main)
    known = {
        name.removeprefix("--")
        for command in (main.get_command(context, name) for name in main.list_commands(context))
        for option in command.params
        for name in option.opts
    }
    assert set(KEPT_OPTIONS) <= known


def call(*arguments):
    return CliRunner().invoke(main, list(map(str, arguments)))


def test_kept_options_are_used_and_the_command_line_wins(path):
    written(path, '[options]\nwording = "full"\n')
    assert "over eighty" in call("say", DEMO, "--row", 3, "--text").stdout
    short = call("say", DEMO, "--row", 3, "--text", "--wording", "short").stdout
    assert "stitches" not in short


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ('rate = "brisk"', "'brisk' is not a valid integer"),
        ("rate = 1.5", "'1.5' is not a valid integer"),
        ("rate = true", "is not a valid integer"),
        ('wording = "long"', "'long' is not one of"),
        ("rate = 900", "900 words a minute cannot be used"),
        ("runs = 900", "900 runs at once cannot be used"),
        ('stereo = "perhaps"', "'perhaps' is not a valid boolean"),
        ("x = 1", "line 2: 'x' is not known"),
        ("rate = [1]", "line 2: 'rate' must be text in quotes"),
    ],
)
def test_a_kept_option_that_is_wrong_is_told_of_and_left_out(path, line, sentence):
    written(path, f"[options]\n{line}\nnumbers = 'digits'\n")
    place = path.parent / "a.place"
    done = CliRunner().invoke(
        main,
        ["knit", str(DEMO), "--no-listen", "--voice", "espeak", "--place", str(place)],
        input="leave\n",
    )
    assert done.exit_code == 0, done.output
    assert sentence in done.output
    assert str(path) in done.output
    assert "Stopping at row 1" in done.output
    typed = call("say", DEMO, "--row", 3, "--text")
    assert typed.exit_code == 0
    assert "four zero" in typed.stdout, "what is right is used"
    if "runs" not in line and "stereo" not in line:
        assert sentence in typed.stderr


def test_a_wrong_file_stops_no_command(path):
    written(path, "x = 1")
    done = call("rows", DEMO)
    assert done.exit_code == 0
    assert done.stderr == ""
    said = call("say", DEMO, "--row", 3, "--text")
    assert said.exit_code == 0
    assert "line 1: 'x' is not known" in said.stderr


@pytest.mark.skipif(os.name == "nt", reason="folders of settings differ")
def test_it_lies_in_the_users_folder_of_settings(monkeypatch, tmp_path):
    monkeypatch.delenv(settings_file.ENVIRONMENT)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("HOME", str(tmp_path))
    assert tmp_path in settings_file.settings_path().parents
    assert settings_file.settings_path().name == "settings.toml"


@pytest.mark.parametrize(
    ("kept", "typed"),
    [
        ("pitch = 60", ("--voice", "system")),
        ('voice = "piper"\nvoice-file = "a.onnx"', ("--voice", "espeak")),
    ],
)
def test_what_is_typed_wins_over_what_does_not_go_with_it(path, kept, typed):
    written(path, f"[options]\n{kept}\n")
    done = call("say", DEMO, "--row", 3, "--text", *typed)
    assert done.exit_code == 0, done.stderr
    assert call("say", DEMO, "--row", 3, "--text", "--pitch", "900").exit_code == 2


def test_what_is_typed_wrong_is_refused_whatever_is_kept(path):
    written(path, "[options]\nrate = 900\n")
    done = call("say", DEMO, "--row", 3, "--text", "--voice", "system", "--pitch", "60")
    assert done.exit_code == 2
    assert "has a pitch of its own" in done.stderr


def test_a_pedal_that_gives_no_command_is_named(path):
    written(path, '[[pedals]]\nsource = "midi"\nkey = "sustain"\nshort = "nxt"\n')
    with pytest.raises(SettingError, match="short press of sustain gives 'nxt', which is no"):
        load().whole()
