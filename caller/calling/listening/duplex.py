"""When the ears are open: between the caller's own words, or while it speaks too."""

from caller.calling.events import Events, NotQuiteHeard, Spoken, Trouble
from caller.calling.listening.listener import HeardPhrase, Listener
from caller.calling.ports import EchoRemover, Loudspeaker, Microphone
from caller.errors import CallerError


def listen(
    microphone: Microphone,
    listener: Listener,
    loudspeaker: Loudspeaker,
    events: Events,
    echo: EchoRemover | None = None,
) -> None:
    """Turn what the microphone hears into commands until it is closed; runs on its own thread.

    Without `echo` half-duplex: what comes in while the loudspeaker speaks, and a little after, is
    dropped. With it the caller's own voice is taken out of all that comes in, and the call gets
    softer from where a word seems to begin, so that its end is heard better.
    """
    try:
        for samples in microphone.blocks():
            if echo is not None:
                found = listener.feed(echo.clean(samples))
                if listener.in_word:
                    echo.soften()
            elif loudspeaker.quiet_for() < listener.settings.deaf_after_speech_s:
                listener.deafen(len(samples))
                continue
            else:
                found = listener.feed(samples)
            for heard in found:
                if isinstance(heard, HeardPhrase):
                    events.put(Spoken(heard.command))
                else:
                    events.put(NotQuiteHeard())
    except CallerError as error:
        events.put(Trouble(error))
    finally:
        microphone.close()  # nobody empties its queue any more
