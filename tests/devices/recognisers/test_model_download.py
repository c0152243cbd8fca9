"""Fetching a model from a server on this machine that answers well, badly, or not at all."""

import errno
import hashlib
import shutil
import stat
import zipfile
from pathlib import Path

import pytest
from model_server import NAME, NOISE, Handler, Server, download_of, fst, packed

from caller.devices.recognisers import model_download
from caller.devices.recognisers.model_download import DOWNLOADS, Download, fetch
from caller.devices.recognisers.vosk_models import wrong_with
from caller.errors import ListeningError


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch):
    monkeypatch.setenv("no_proxy", "*")


@pytest.fixture
def serve():
    servers = []

    def start(content=None):
        server = Server(content)
        servers.append(server)
        return server, download_of(server)

    yield start
    for server in servers:
        server.release.set()
        server.shutdown()
        server.server_close()


def refused(download, home):
    with pytest.raises(ListeningError) as error:
        fetch(download, home, ignore)
    said = str(error.value)
    assert said.endswith((".", ")"))
    assert "Traceback" not in said
    return said


def ignore(so_far, size):
    """Nobody looks at the progress."""


def part_of(home):
    return home / f"{NAME}.zip.part"


def left_in(home):
    return sorted(path.name for path in home.iterdir())


def test_a_model_is_fetched_and_put_in_place(serve, tmp_path):
    _, download = serve()
    seen = []
    home = tmp_path / "not" / "yet" / "there"
    folder = fetch(download, home, lambda *told: seen.append(told))
    assert folder == home / NAME
    assert (folder / "am" / "final.mdl").read_bytes() == NOISE
    assert wrong_with(folder) is None
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == ((0, download.size), (download.size, download.size))
    assert left_in(home) == [NAME], "neither the zip file nor a part of it is left"


def test_what_broke_off_is_carried_on(serve, tmp_path):
    server, download = serve()
    server.answers = [lambda handler: handler.well(cut=150_000)]
    said = refused(download, tmp_path)
    assert "broke off" in said
    assert "same command carries on" in said
    kept = part_of(tmp_path).stat().st_size
    assert kept == 150_000
    seen = []
    folder = fetch(download, tmp_path, lambda *told: seen.append(told))
    assert server.asked == [None, "bytes=150000-"]
    assert seen[0] == (150_000, download.size)
    assert (folder / "am" / "final.mdl").read_bytes() == NOISE


def test_a_server_that_knows_no_parts_begins_anew(serve, tmp_path):
    server, download = serve()
    part_of(tmp_path).write_bytes(b"what came before " * 1000)
    server.answers = [Handler.whole]
    fetch(download, tmp_path, ignore)
    assert left_in(tmp_path) == [NAME]


def test_a_whole_part_needs_no_network(serve, tmp_path):
    server, download = serve()
    part_of(tmp_path).write_bytes(server.content)
    fetch(download, tmp_path, ignore)
    assert server.asked == []


@pytest.mark.parametrize("before", [b"", b"x" * 5_000_000])
def test_a_part_that_is_empty_or_too_long_begins_anew(serve, tmp_path, before):
    server, download = serve()
    part_of(tmp_path).write_bytes(before)
    fetch(download, tmp_path, ignore)
    assert server.asked == [None]


def test_a_redirect_is_followed(serve, tmp_path):
    server, download = serve()
    server.answers = [Handler.redirect]
    assert fetch(download, tmp_path, ignore).is_dir()
    assert len(server.asked) == 2


def test_an_answer_without_its_length_will_do(serve, tmp_path):
    server, download = serve()
    server.answers = [Handler.without_length]
    assert fetch(download, tmp_path, ignore).is_dir()


def test_no_network_is_said_plainly(tmp_path, serve):
    server, download = serve()
    server.shutdown()
    server.server_close()
    said = refused(download, tmp_path)
    assert said.startswith("There is no network, or 127.0.0.1 cannot be reached (")
    assert said.endswith("Nothing is lost; the same command carries on.")


def test_a_host_without_a_name_is_no_network(tmp_path):
    # RFC 2606 (seen): names in .invalid never exist.
    download = Download(NAME, "http://models.invalid/m.zip", 1000, "0" * 64, "none")
    assert "There is no network, or models.invalid cannot be reached" in refused(download, tmp_path)


def test_a_server_that_falls_silent_is_not_waited_for(serve, tmp_path, monkeypatch):
    monkeypatch.setattr(model_download, "TIMEOUT_S", 0.3)
    server, download = serve()
    server.answers = [lambda handler: handler.well(cut=70_000, then_wait=True)]
    assert "broke off" in refused(download, tmp_path)
    assert part_of(tmp_path).stat().st_size == 70_000


def test_a_server_that_never_answers_is_not_waited_for(serve, tmp_path, monkeypatch):
    monkeypatch.setattr(model_download, "TIMEOUT_S", 0.3)
    server, download = serve()
    server.answers = [lambda handler: handler.server.release.wait(20)]
    said = refused(download, tmp_path)
    assert "cannot be reached" in said
    assert "timed out" in said


@pytest.mark.parametrize("answer", [Handler.nonsense, Handler.hangs_up])
def test_a_server_that_talks_nonsense(serve, tmp_path, answer):
    server, download = serve()
    server.answers = [answer]
    assert "carries on" in refused(download, tmp_path)
    assert left_in(tmp_path) == []


@pytest.mark.parametrize("code", [403, 404, 429, 500, 503])
def test_what_the_server_refuses_is_said(serve, tmp_path, code):
    server, download = serve()
    part_of(tmp_path).write_bytes(b"kept")
    server.answers = [lambda handler: handler.status(code)]
    said = refused(download, tmp_path)
    assert f"answers {code}" in said
    assert part_of(tmp_path).read_bytes() == b"kept"


def test_a_file_that_has_become_shorter_is_not_asked_for_again(serve, tmp_path):
    server, download = serve()
    part_of(tmp_path).write_bytes(b"x" * 1000)
    server.answers = [lambda handler: handler.status(416)]
    assert "not the file" in refused(download, tmp_path)
    assert left_in(tmp_path) == []


@pytest.mark.parametrize(
    "page", [b"<html>Log in to this network first</html>", b"", b"x" * 3_000_000]
)
def test_a_page_instead_of_the_model_is_not_taken(serve, tmp_path, page):
    """As in a network that wants a login first."""
    server, download = serve()
    server.answers = [lambda handler: handler.sends(page)]
    assert "not the file" in refused(download, tmp_path)
    assert not (tmp_path / NAME).exists()
    assert fetch(download, tmp_path, ignore).is_dir()


def test_a_part_that_was_not_asked_for_is_not_taken(serve, tmp_path):
    server, download = serve()
    part_of(tmp_path).write_bytes(server.content[:1000])
    server.answers = [Handler.sends_another_part]
    assert "not the file" in refused(download, tmp_path)
    assert part_of(tmp_path).stat().st_size == 1000


def test_a_longer_answer_without_its_length_is_not_taken(serve, tmp_path):
    server, download = serve()
    server.content += b"x" * 200_000
    server.answers = [Handler.without_length]
    assert "longer" in refused(download, tmp_path)
    assert left_in(tmp_path) == []


def test_a_wrong_hash_is_said_and_the_file_removed(serve, tmp_path):
    server, download = serve()
    server.content = server.content[:-1] + b"?"
    said = refused(download, tmp_path)
    assert hashlib.sha256(server.content).hexdigest() in said
    assert download.sha256 in said
    assert left_in(tmp_path) == []


def test_parts_of_two_files_are_not_put_together(serve, tmp_path):
    _, download = serve()
    part_of(tmp_path).write_bytes(b"of another file" * 1000)
    assert "SHA-256" in refused(download, tmp_path)
    assert left_in(tmp_path) == []


def test_what_is_there_is_not_touched(serve, tmp_path):
    server, download = serve()
    (tmp_path / NAME).mkdir()
    assert "there already" in refused(download, tmp_path)
    assert server.asked == []
    assert left_in(tmp_path) == [NAME]


def test_too_little_space_is_said_before_anything_is_loaded(serve, tmp_path, monkeypatch):
    server, download = serve()
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=1000))
    assert "not enough space" in refused(download, tmp_path)
    assert server.asked == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="There is no /dev/full here.")
def test_a_full_disk_is_said(serve, tmp_path):
    """Everything that is written to /dev/full meets a full disk (Linux manual, full(4))."""
    _, download = serve()
    part_of(tmp_path).symlink_to("/dev/full")
    said = refused(download, tmp_path)
    assert "disk is full" in said
    assert "carries on" in said


def test_a_folder_that_cannot_be_written_is_named(serve, tmp_path):
    _, download = serve()
    (tmp_path / "home").write_text("a file")
    said = refused(download, tmp_path / "home")
    assert str(tmp_path / "home") in said


def entry(name, mode=0):
    made = zipfile.ZipInfo(name)
    made.external_attr = mode << 16
    return made


@pytest.mark.parametrize(
    "evil",
    [
        "../outside",
        f"{NAME}/../../outside",
        "/tmp/caller-outside",
        "elsewhere/file",
        f"{NAME}\\..\\..\\outside",
        f"{NAME}/c:outside",
        f"./{NAME}/../x",
    ],
)
def test_nothing_is_unpacked_outside_its_folder(serve, tmp_path, evil):
    _, download = serve(packed((entry(evil), b"evil")))
    home = tmp_path / "in" / "models"
    assert "was not put in place" in refused(download, home)
    assert not (home / NAME).exists()
    assert list(tmp_path.rglob("*outside*")) == []
    assert not Path("/tmp/caller-outside").exists()


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFDIR])
def test_only_plain_files_are_unpacked(serve, tmp_path, kind):
    _, download = serve(packed((entry(f"{NAME}/odd", kind | 0o777), b"/etc")))
    assert "odd" in refused(download, tmp_path)
    assert not (tmp_path / NAME).exists()


def test_a_file_with_the_rights_of_a_plain_one_is_unpacked(serve, tmp_path):
    _, download = serve(packed((entry(f"{NAME}/README", stat.S_IFREG | 0o600), b"read me")))
    assert (fetch(download, tmp_path, ignore) / "README").read_bytes() == b"read me"


def test_what_unpacks_to_far_too_much_is_refused(serve, tmp_path):
    small = packed(files={"am/final.mdl": bytes(30_000_000), "graph/HCLr.fst": fst()})
    _, download = serve(small)
    assert len(small) < 1_000_000
    assert "far too much" in refused(download, tmp_path)
    assert not (tmp_path / NAME).exists()


@pytest.mark.parametrize("content", [b"no zip file at all", packed()[:-3000]])
def test_what_is_no_zip_file_is_refused(serve, tmp_path, content):
    _, download = serve(content)
    assert "was not put in place" in refused(download, tmp_path)
    assert not (tmp_path / NAME).exists()


def test_a_damaged_file_in_the_zip_is_refused(serve, tmp_path):
    content = bytearray(packed())
    content[200_000] ^= 0xFF
    _, download = serve(bytes(content))
    assert "cannot be unpacked" in refused(download, tmp_path)
    assert [name for name in left_in(tmp_path) if not name.endswith(".part")] == []


def test_a_zip_without_a_model_is_refused(serve, tmp_path):
    _, download = serve(packed(files={"README": b"nothing else"}))
    assert "no usable model" in refused(download, tmp_path)
    assert not (tmp_path / NAME).exists()


def test_stopped_by_the_knitter_it_carries_on(serve, tmp_path):
    server, download = serve()

    def stop(so_far, size):
        if so_far > 100_000:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fetch(download, tmp_path, stop)
    kept = part_of(tmp_path).stat().st_size
    assert kept > 100_000
    fetch(download, tmp_path, ignore)
    assert server.asked[-1] == f"bytes={kept}-"


def test_every_error_that_writing_meets_is_a_sentence(serve, tmp_path, monkeypatch):
    _, download = serve()

    def fails(*_):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(zipfile.ZipFile, "open", fails)
    assert "Input/output error" in refused(download, tmp_path)
    assert part_of(tmp_path).stat().st_size == download.size


def test_the_table_of_downloads():
    """Safe addresses, whole hashes, one name each, as the folder inside is called too."""
    assert len({one.name for one in DOWNLOADS}) == len(DOWNLOADS)
    for one in DOWNLOADS:
        assert one.address == f"https://alphacephei.com/vosk/models/{one.name}.zip"
        assert len(bytes.fromhex(one.sha256)) == 32
        assert 10**7 < one.size < 10**9
