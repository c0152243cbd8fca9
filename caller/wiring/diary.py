"""The diary of a work, from the knitter's history and the place file."""

from pathlib import Path

from caller.calling.diary import Diary, diary
from caller.devices.storage import place_file
from caller.devices.storage.history import History, history_path
from caller.errors import PlaceError


def read_diary(pattern_path: Path, kept_in: Path | None = None) -> Diary:
    """What is known of a work; PlaceError where nothing is, or it cannot be read."""
    path = (kept_in or place_file.place_file(pattern_path)).resolve()
    history = History(history_path())
    try:
        found = place_file.read(path)
    except OSError:
        found = None
    work = history.work(found.kept.work) if found else history.work_at(path)
    if work is not None:
        kept = work.kept
        if found is not None and found.kept.moves > kept.moves:
            kept = found.kept
        return diary(kept, history.moves(kept.work))
    if found is not None:
        return diary(found.kept, found.diary)  # of an older version, or of another computer
    raise PlaceError(
        f"No row of {pattern_path} has been called yet, so there is no diary of it",
        f"begin with: row-caller knit {pattern_path}",
    )
