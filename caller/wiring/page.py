"""The page at the machine, put to a session."""

from collections.abc import Callable
from dataclasses import replace

from caller.calling.desk import Desk
from caller.calling.events import News, Trouble
from caller.calling.state import Told
from caller.devices.page.server import PageServer
from caller.devices.page.view import view
from caller.errors import CallerError
from caller.settings import PageOn

READY = "The page is ready; its address is on the screen."


def with_page(
    desk: Desk, on: PageOn, show_whole: Callable[[str], None]
) -> tuple[Desk, Callable[[], None]] | None:
    """The desk, with a page that follows, and what closes it; None where it cannot be had.

    The address is given to `show_whole`, and that it is there, or why not, is told.
    """
    put = desk.events.put
    try:
        server = PageServer(on, put)
    except CallerError as error:
        put(Trouble(error))
        return None

    before = desk.watch

    def watch(told: Told) -> None:
        before(told)
        server.show(view(told))

    show_whole(server.door.address)
    put(News(READY))
    return replace(desk, watch=watch), server.close
