"""The listening of a session: its microphone, its recogniser, and what stands in the way."""

import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import partial

from caller.calling.commands import TAUGHT_FIRST
from caller.calling.desk import Desk
from caller.calling.events import News
from caller.calling.listening.listener import listen
from caller.calling.listening.loading import LoadingRecogniser
from caller.calling.ports import Recogniser
from caller.errors import CallerError, SoundLibraryError
from caller.settings import ListeningSettings
from caller.wiring.recognisers import (
    RecogniserChoice,
    open_canceller,
    open_listener,
    open_microphone,
    open_noticing,
)


@contextmanager
def listening(desk: Desk, choice: RecogniserChoice, settings: ListeningSettings) -> Iterator[bool]:
    """Listen on threads of their own while the session runs, from the moment all is loaded.

    Gives whether it listens. What stands in the way is said once.
    """
    from caller.devices.sound import reconnecting_microphone

    put = desk.events.put
    with ExitStack() as stack:
        microphone = None
        for name in dict.fromkeys((settings.microphone, None)):
            try:
                microphone = reconnecting_microphone.ReconnectingMicrophone(
                    partial(open_microphone, name), put
                )
                break
            except SoundLibraryError:
                pass  # the loudspeaker needs it too, and has said so
            except CallerError as error:
                usual = " The usual one is tried." if name is not None else ""
                put(News(f"{error}{usual}"))
        if microphone is None:
            yield False
            return
        echo = None
        try:
            echo = open_canceller(settings, desk.loudspeaker)
        except CallerError as error:
            put(News(str(error)))  # and it listens between the calls, all the same
        if echo is not None:
            stack.callback(echo.close)
        for note in (*choice.notes, *_not_taught(choice)):
            put(News(str(note)))
        begun: list[Recogniser] = []

        def stop() -> None:
            for recogniser in begun:
                recogniser.close()

        open_ = partial(choice.open_apart, begun.append)
        loading = LoadingRecogniser(choice.name, open_, put, stop=stop)
        listener = open_listener(choice, loading)
        stack.callback(listener.close)
        noticed = None
        if not settings.listen_while_speaking and (
            noticing := open_noticing(choice, loading, desk.loudspeaker)
        ):
            noticed, canceller = noticing
            stack.callback(canceller.close)
        thread = threading.Thread(
            target=listen,
            args=(microphone, listener, desk.loudspeaker, desk.events, echo, noticed),
            name="microphone",
            daemon=True,
        )
        stack.callback(thread.join, 5)
        stack.callback(microphone.close)
        thread.start()
        yield True


def _not_taught(choice: RecogniserChoice) -> Iterator[str]:
    """Which of the main commands a recogniser that knows takes alone was not taught."""
    names = [command.value for command in TAUGHT_FIRST]
    missing = [name for name in names if name not in choice.taught_names]
    if not choice.words and missing:
        yield f"Not taught, so by keys and pedals only: {', '.join(missing)}."
