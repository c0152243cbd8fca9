"""The page at the machine, put to a session."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from caller.calling.desk import Desk
from caller.calling.events import News, Trouble
from caller.calling.state import Told
from caller.devices.page.view import view
from caller.devices.page.ways_in import open_browser, qr_code
from caller.errors import CallerError
from caller.settings import PageOn
from caller.wiring.large import Draw

READY = "The page is ready; its address is on the screen."


@dataclass(frozen=True)
class PageWish:
    """Who reaches the page, and whether this computer's browser opens it; `draw` draws the code
    that leads other devices there, None for no code."""

    on: PageOn = "computer"
    opens: bool = False
    draw: Draw | None = None


def with_page(
    desk: Desk, wish: PageWish, show_whole: Callable[[str], None]
) -> tuple[Desk, Callable[[], None]] | None:
    """The desk, with a page that follows, and what closes it; None where it cannot be had.

    The address is given to `show_whole`, and that it is there, or why not, is told.
    """
    from caller.devices.page.server import PageServer  # late: it brings asyncio

    put = desk.events.put
    try:
        server = PageServer(wish.on, put)
    except CallerError as error:
        put(Trouble(error))
        return None

    before = desk.watch

    def watch(told: Told) -> None:
        before(told)
        server.show(view(told))

    address = server.door.address
    show_whole(address)
    if wish.draw is not None and wish.on == "home":
        wish.draw(partial(qr_code, address))
    put(News(READY))
    if wish.opens:
        try:
            open_browser(address)
        except CallerError as error:
            put(Trouble(error))
    return replace(desk, watch=watch), server.close
