"""What all commands share: the group, its way with errors, and common options."""

import contextlib
import functools
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn, TypeVar, get_args

import click
from click.core import ParameterSource

from caller import __version__
from caller.cli.listing import FILES, IN_ORDER
from caller.cli.screen import Command, Context, UsageError, show
from caller.cli.streams import ended_properly, prepare
from caller.errors import CallerError, SettingError
from caller.installation import PROGRAM
from caller.settings import (
    FASTEST_WPM,
    FULL_VOLUME,
    HIGHEST_PITCH,
    LOUDEST,
    SLOWEST_WPM,
    STRICTEST,
    CallSettings,
    Engine,
    ListeningSettings,
    NumberStyle,
    VoiceKind,
    VoiceSettings,
    Wording,
)

Made = TypeVar("Made")
_FILE_OF = {command: file for file, commands in FILES.items() for command in commands}
_COMMAND, _VOICE, NOTES = "caller.command", "caller.voice", "caller.notes"
_WHOLE = 1000  # letters; a command's first sentence is shorter
_BY_EAR = ("knit",)
"""The commands that are heard from their first word on, so that their errors are, too."""


def _tell_that_it_stopped() -> None:
    show(f"{PROGRAM}: Stopped. Nothing is lost; the same command begins again.", err=True)


class SentenceGroup(click.Group):
    """Imports the file of a command when the command is asked for.

    Says what went wrong in one sentence, without a traceback, and ends with exit code 2.

    Options that are kept in the settings file are what is asked for where nothing else is.
    """

    command_class = Command
    context_class = Context

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return [command for commands in IN_ORDER.values() for command in commands]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """As click's, under headings, and with no sentence cut short."""
        for heading, names in IN_ORDER.items():
            commands = ((name, self.get_command(ctx, name)) for name in names)
            with formatter.section(heading):
                formatter.write_dl(
                    [(name, one.get_short_help_str(_WHOLE)) for name, one in commands if one]
                )

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in _FILE_OF:
            import_module(f"caller.cli.{_FILE_OF[cmd_name]}")
        return super().get_command(ctx, cmd_name)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        named = bool(args) and not args[0].startswith("-") and not ctx.resilient_parsing
        if named and self.get_command(ctx, args[0]) is None:
            self._unknown(ctx, args[0])
        name, command, rest = super().resolve_command(ctx, args)
        ctx.meta[_COMMAND] = name
        if name is not None and command is not None:
            ctx.default_map = {name: self._kept_options(ctx, command)}
        return name, command, rest

    def _unknown(self, ctx: click.Context, word: str) -> NoReturn:
        """The nearest command is named, and is said where that would have been heard."""
        from difflib import get_close_matches

        near = get_close_matches(word, self.list_commands(ctx), n=1)
        ctx.meta[_COMMAND] = near[0] if near else None
        ctx.fail(f"There is no command {word}." + (f" Did you mean {near[0]}?" if near else ""))

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """As click's; leaves the terminal as it was, whatever ends the program."""
        with ended_properly():
            prepare()
            return super().main(*args, **kwargs)

    def make_context(self, *args: Any, **kwargs: Any) -> click.Context:
        """As click's, which would end with its own word where Ctrl-C comes here."""
        try:
            return super().make_context(*args, **kwargs)
        except KeyboardInterrupt:
            _tell_that_it_stopped()
            raise SystemExit(130) from None

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except click.UsageError as error:
            harmless = UsageError(error.format_message(), error.ctx)
            harmless.show()
            self._say(ctx, CallerError(harmless.format_message()))
            ctx.exit(2)
        except CallerError as error:
            show(f"{PROGRAM}: {error}", err=True)
            self._say(ctx, error)
            ctx.exit(2)
        except KeyboardInterrupt:
            _tell_that_it_stopped()
            ctx.exit(130)

    def _say(self, ctx: click.Context, error: CallerError) -> None:
        """Say what is wrong, too, where the knitter would have heard the command's own words."""
        if ctx.meta.get(_COMMAND) not in _BY_EAR:
            return
        from caller.wiring.spoken_errors import say_error

        with contextlib.suppress(KeyboardInterrupt):
            say_error(error, *ctx.meta.get(_VOICE, (VoiceSettings(), None)))

    def _kept_options(self, ctx: click.Context, command: click.Command) -> dict[str, str | bool]:
        """The values of the settings file, by what click calls the option; a wrong one is told of
        and left out, where the command has it."""
        from caller.devices.storage import settings_file

        kept = settings_file.load()
        options = [
            (long, option)
            for option in command.params
            for long in _long_names(option)
            if option.name and long in settings_file.KEPT_OPTIONS
        ]
        for section, error in kept.troubles:
            # The sections that only a session uses are told of where they are used.
            if options and section in ("", "options"):
                take_note(ctx, str(error))
        chosen: dict[str, str | bool] = {}
        for long, option in options:
            if long in kept.options and option.name is not None:
                value = _as_given(option, kept.options[long])
                try:
                    option.type_cast_value(ctx, value)
                except click.BadParameter as error:
                    why = f"In {settings_file.settings_path()}: {error.format_message()}"
                    take_note(ctx, f"{why} It is left out.")
                else:
                    chosen[option.name] = value
        return chosen


def take_note(ctx: click.Context, sentence: str) -> None:
    """Tell of a setting that is left out: now, or with the first words of a command by ear."""
    root = ctx.find_root()
    root.meta.setdefault(NOTES, []).append(sentence)
    if root.meta.get(_COMMAND) not in _BY_EAR:
        show(f"{PROGRAM}: {sentence}", err=True)


def _long_names(option: click.Parameter) -> list[str]:
    return [name.removeprefix("--") for name in option.opts if name.startswith("--")]


def _kept_and_other(
    prefix: str, chosen: dict[str, Any]
) -> tuple[dict[str, Any], dict[str, Any], bool]:
    """The options of one value that come from the settings file, all others, and whether one of
    these overrules what is kept."""
    context = click.get_current_context()
    source = context.get_parameter_source
    kept = {
        field: value
        for field, value in chosen.items()
        if source(f"{prefix}{field}") is ParameterSource.DEFAULT_MAP
    }
    other = {field: value for field, value in chosen.items() if field not in kept}
    overruled = any(f"{prefix}{field}" in (context.default_map or {}) for field in other)
    return kept, other, overruled


def _as_given(option: click.Parameter, value: str | bool) -> str | bool:
    """As on the command line, where only switches are on or off."""
    return value if isinstance(value, str) or getattr(option, "is_flag", False) else str(value)


def made_with_kept(make: Callable[..., Made], chosen: dict[str, Any], prefix: str = "") -> Made:
    """A value of the chosen options; what is kept and does not serve is left out.

    SettingError where what is typed is wrong. A kept value that is wrong by itself is told of, and
    one that only what is typed rules out is not.
    """
    try:
        return make(**chosen)
    except SettingError:
        kept, other, overruled = _kept_and_other(prefix, chosen)
        if not kept:
            raise
        made = make(**other)
    if not overruled:
        from caller.devices.storage.settings_file import settings_path

        try:
            make(**kept)
        except SettingError as error:
            where = f"In {settings_path()}: {error}"
            take_note(click.get_current_context(), f"{where} The usual is used.")
    return made


class NamedFile(click.Path):
    """A file's name; an empty one is refused before it is taken for the current folder."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value == "":
            self.fail("the file's name is empty.", param, ctx)
        return super().convert(value, param, ctx)


FILE = NamedFile(path_type=Path)
PATTERN = click.argument("pattern_path", metavar="PATTERN", type=FILE)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
_VOICE_OPTIONS = {
    "kind": click.option(
        "--voice",
        "voice_kind",
        type=click.Choice(get_args(VoiceKind)),
        default=VoiceSettings.kind,
        show_default=True,
        help="auto: the most natural one that is there; piper sounds like a person; espeak is the "
        "quickest and knows many languages; system is the computer's own voice.",
    ),
    "name": click.option(
        "--voice-name",
        help="espeak: a language code, like en (British) or de; system: a name. "
        "The words stay English.",
    ),
    "file": click.option(
        "--voice-file",
        type=FILE,
        help="The .onnx file of another piper voice, with its .onnx.json beside it.",
    ),
    "rate_wpm": click.option(
        "--rate",
        "voice_rate_wpm",
        type=int,
        default=VoiceSettings.rate_wpm,
        show_default=True,
        help=f"Words a minute, {SLOWEST_WPM} to {FASTEST_WPM}.",
    ),
    "pitch": click.option(
        "--pitch",
        "voice_pitch",
        type=int,
        default=VoiceSettings.pitch,
        show_default=True,
        help=f"How high espeak speaks, 0 to {HIGHEST_PITCH}.",
    ),
    "volume": click.option(
        "--volume",
        "voice_volume",
        type=int,
        default=VoiceSettings.volume,
        show_default=True,
        help=f"Percent, 0 to {LOUDEST}; other voices than espeak 1 to {FULL_VOLUME}.",
    ),
}


_LISTENING_OPTIONS = {
    "engine": click.option(
        "--recogniser",
        "listening_engine",
        type=click.Choice(get_args(Engine)),
        default="auto",
        show_default=True,
        help="own: your voice, as taught; english: English phrases from anyone; vosk: a Vosk "
        "model; pocketsphinx runs on every computer; auto: the best of these that is there, and "
        "your voice beside it.",
    ),
    "model_folder": click.option(
        "--model",
        "listening_model_folder",
        type=FILE,
        help="Folder of a Vosk model; row-caller models tells where to get one.",
    ),
    "strictness": click.option(
        "--strictness",
        "listening_strictness",
        type=int,
        default=ListeningSettings.strictness,
        show_default=True,
        help=f"Of your own voice, 0 to {STRICTEST}: lower when your words are missed, higher when "
        "other talk is taken for them.",
    ),
    "microphone": click.option(
        "--microphone", "listening_microphone", help="The microphone by its name, or a part of it."
    ),
}
LOUDSPEAKER = click.option(
    "--loudspeaker", help="The loudspeaker or headphones by name, or a part of it."
)


def voice_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of the voice; the command is given them as its argument `voice`."""
    return _gathered(command, "voice", _VOICE_OPTIONS, VoiceSettings)


def listening_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of listening; the command is given them as its argument `listening`."""
    return _gathered(command, "listening", _LISTENING_OPTIONS, ListeningSettings)


def engine_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Those by which a recogniser is chosen, where nothing is listened to; as `listening`."""
    chosen = {field: _LISTENING_OPTIONS[field] for field in ("engine", "model_folder")}
    return _gathered(command, "listening", chosen, ListeningSettings)


def _gathered(
    command: Callable[..., Any], name: str, options: dict[str, Any], make: Callable[..., Any]
) -> Callable[..., Any]:
    """The command with these options, given to it as one value under this name."""

    @functools.wraps(command)
    def with_one(**given: Any) -> Any:
        chosen = {field: given.pop(f"{name}_{field}") for field in options}
        made = made_with_kept(make, chosen, f"{name}_")
        if isinstance(made, VoiceSettings):
            click.get_current_context().meta[_VOICE] = (made, given.get("loudspeaker"))
        return command(**{name: made}, **given)

    optional: Callable[..., Any] = with_one
    for option in reversed(options.values()):
        optional = option(optional)
    return optional


WORDING = click.option(
    "--wording",
    type=click.Choice(get_args(Wording)),
    default="short",
    show_default=True,
    help="short: each yarn and its last needle; full: both needles, stitches and tails; "
    "changes: what differs from the row before. All say what to hang, take up and cut.",
)
NUMBERS = click.option(
    "--numbers",
    type=click.Choice(get_args(NumberStyle)),
    default="checked",
    show_default=True,
    help="checked adds the digits to numbers that are easily misheard, like thirteen.",
)
CROSSINGS = click.option(
    "--crossings", is_flag=True, help="Say at every joint which yarn the next comes from under."
)
PAUSE = click.option(
    "--pause",
    "pause_s",
    type=float,
    default=CallSettings.pause_s,
    show_default=True,
    help="Seconds of silence after each yarn.",
)


@click.group(cls=SentenceGroup, invoke_without_command=True)
@click.version_option(__version__, prog_name=PROGRAM)
@click.pass_context
def main(context: click.Context) -> None:
    """Call the rows of a colour-block picture aloud to a knitter at a flat bed.

    PATTERN is a pattern file (.toml), or a picture taken as one pixel a stitch. Without a command
    you are told the three things to do next in this folder.
    """
    if context.invoked_subcommand is None:
        from caller.wiring.next_steps import next_steps

        for step in next_steps(Path()):
            show(step)
