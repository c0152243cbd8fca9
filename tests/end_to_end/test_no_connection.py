"""A whole session opens no connection to a network, whatever library would like to."""

import re
import subprocess
import sys
import time

import numpy as np
import pytest
import strace_log
from PIL import Image
from test_hands_free import say_into_microphone

_ASKED = re.compile(r"\b(connect|bind|sendto|sendmsg|sendmmsg)\(\d+.*?(AF_INET6?|AF_PACKET)\b.*")


def to_a_network(log: str) -> list[str]:
    """The calls in this log of strace that name an address of a network, or open such a socket."""
    opened = re.findall(r"socket\(AF_(?:INET6?|PACKET),[^)]*\)", log)
    return opened + [found[0] for found in _ASKED.finditer(log)]


def traced(log, *command):
    calls = "trace=socket,connect,bind,sendto,sendmsg,sendmmsg"
    return ["strace", "-f", "--seccomp-bpf", "-qq", "-e", calls, "-o", str(log), *command]


@pytest.mark.skipif(strace_log.why_not() is not None, reason=str(strace_log.why_not()))
def test_what_is_looked_for_is_seen(tmp_path):
    """A datagram to nobody: the watch would notice it, from a child of a child as well."""
    code = (
        "import socket, subprocess, sys; subprocess.run([sys.executable, '-c', "
        "'import socket; socket.socket(socket.AF_INET, socket.SOCK_DGRAM)"
        '.sendto(b"x", ("127.0.0.1", 9))\'])'
    )
    subprocess.run(traced(tmp_path / "log", sys.executable, "-c", code), check=True)
    seen = to_a_network((tmp_path / "log").read_text())
    assert any(call.startswith("socket(AF_INET") for call in seen)
    assert any(call.startswith("sendto(") for call in seen)


@pytest.mark.sound
@pytest.mark.slow
@pytest.mark.skipif(strace_log.why_not() is not None, reason=str(strace_log.why_not()))
def test_a_session_as_it_comes(virtual_sound, tmp_path):
    """With its natural voice, its recogniser and its keys; sound goes by a socket of the system."""
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    picture = str(tmp_path / "stripes.png")
    Image.fromarray(grid).save(picture)
    log = tmp_path / "log"
    sitting = subprocess.Popen(
        traced(log, sys.executable, "-m", "caller", "knit", picture, "--rate", "350"),
        env=virtual_sound.env,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with virtual_sound.quiet_room():
        assert "Row 1" in sitting.stdout.readline()
        until = time.monotonic() + 60
        while log.read_text().count("AF_UNIX") < 2 and time.monotonic() < until:
            time.sleep(0.1)  # loudspeaker and microphone
        say_into_microphone(virtual_sound, "next row", tmp_path)
    told, _ = sitting.communicate("next\nwhere\nhelp\nslower\nback\nleave\n", timeout=200)
    assert "Your place is kept." in told
    assert sitting.returncode == 0
    calls = log.read_text()
    assert "AF_UNIX" in calls, "the sound's own socket is seen"
    assert to_a_network(calls) == []
