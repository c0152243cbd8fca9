"""What the voice of espeak-ng promises beyond the contract of voices."""

import os
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np
import pytest

from caller.devices.voices.espeak import EspeakVoice, espeak_voices
from caller.devices.voices.sentences import pieces
from caller.errors import SettingError, VoiceError

TEXT = "Row twelve, to the right. Navy, to left twenty. Ivory, to right five."


def length(voice: EspeakVoice, text: str = TEXT) -> int:
    return sum(len(block.samples) for block in voice.render(text))


def child(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, str(folder)], capture_output=True, text=True, timeout=60
    )


def test_two_voices_keep_their_own_settings():
    slow, fast = EspeakVoice(rate_wpm=90), EspeakVoice(rate_wpm=300)
    lengths = [length(voice) for voice in (slow, fast, slow, fast)]
    assert lengths[0] == pytest.approx(lengths[2], rel=0.02)
    assert lengths[1] == pytest.approx(lengths[3], rel=0.02)
    assert lengths[0] > 2 * lengths[1]


def test_voices_at_once_in_threads_keep_their_own_settings():
    rates = (90, 160, 300)
    alone = {rate: length(EspeakVoice(rate_wpm=rate)) for rate in rates}
    together: list[tuple[int, int]] = []

    def work(rate: int) -> None:
        voice = EspeakVoice(rate_wpm=rate)
        together.extend((rate, length(voice)) for _ in range(20))

    threads = [threading.Thread(target=work, args=(rate,)) for rate in rates for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(together) == 120
    for rate, count in together:
        assert count == pytest.approx(alone[rate], rel=0.02)


def test_another_rate_on_the_way():
    voice, slow = EspeakVoice(rate_wpm=300), EspeakVoice(rate_wpm=90)
    voice.set_rate(90)
    assert length(voice) == pytest.approx(length(slow), rel=0.02)
    for wrong in (79, 351):
        with pytest.raises(SettingError, match="80 to 350"):
            voice.set_rate(wrong)
    assert length(voice) == pytest.approx(length(slow), rel=0.02)


def test_louder_is_louder():
    def peak(volume: int) -> int:
        blocks = EspeakVoice(volume=volume).render(TEXT)
        return max(int(np.abs(block.samples).max()) for block in blocks)

    assert peak(30) < 0.5 * peak(100)


@pytest.mark.parametrize(
    "settings", [{"pitch": -1}, {"pitch": 100}, {"volume": -1}, {"volume": 201}]
)
def test_settings_out_of_range(settings):
    with pytest.raises(SettingError, match="give a whole number from 0 to"):
        EspeakVoice(**settings)


def test_languages():
    codes = espeak_voices()
    # Codes of ISO 639-1, which espeak-ng's documentation says it speaks (from memory).
    assert {"en", "de", "fr", "ko", "nl"} <= set(codes)
    assert len(codes) == len(set(codes)) > 100
    assert length(EspeakVoice(language="de")) != length(EspeakVoice(language="en-us"))


@pytest.mark.parametrize("language", ["tlh-x", "", "../en", "en\0", "\ud800", "e" * 5000])
def test_a_language_that_is_not_there(language):
    with pytest.raises(VoiceError, match=r"does not speak .*; among the \d+ languages .* en, "):
        EspeakVoice(language=language)


def test_without_its_data_it_is_an_error_not_an_end(tmp_path):
    code = """
import sys, espeakng_loader, caller.devices.voices.espeak as espeak
espeakng_loader.get_data_path = lambda: sys.argv[1]
try:
    espeak.EspeakVoice()
except espeak.VoiceError as error:
    print(error)
"""
    said = child(code, tmp_path)
    assert "pip install --force-reinstall espeakng-loader" in said.stdout
    assert (said.returncode, said.stderr) == (0, "")


def test_without_its_library(tmp_path):
    code = """
import sys, espeakng_loader, caller.devices.voices.espeak as espeak
espeakng_loader.get_library_path = lambda: sys.argv[1] + "/libespeak-ng.so"
for _ in range(2):
    try:
        espeak.EspeakVoice()
    except espeak.VoiceError as error:
        print(error)
"""
    said = child(code, tmp_path)
    assert said.stdout.count("pip install --force-reinstall espeakng-loader") == 2
    assert (said.returncode, said.stderr) == (0, "")


@pytest.mark.skipif(sys.platform == "win32", reason="symbolic links need a privilege there")
@pytest.mark.parametrize(("longest", "works"), [(159, True), (160, False)])
def test_a_path_too_long_for_the_library(tmp_path, longest, works):
    """The library keeps 160 bytes for the path of its data; more it cuts short (measured)."""
    import espeakng_loader

    folder = tmp_path / ("d" * (longest - len(os.fsencode(tmp_path)) - 1))
    folder.symlink_to(espeakng_loader.get_data_path())
    assert len(os.fsencode(folder)) == longest
    code = """
import sys, espeakng_loader, caller.devices.voices.espeak as espeak
espeakng_loader.get_data_path = lambda: sys.argv[1]
try:
    print(sum(block.seconds for block in espeak.EspeakVoice().render("Navy.")))
except espeak.VoiceError as error:
    print(error)
"""
    said = child(code, folder)
    assert (said.returncode, said.stderr) == (0, "")
    if works:
        assert 0.3 < float(said.stdout) < 2
    else:
        assert "install this program in a folder nearer to the top" in said.stdout


def test_pieces_lose_no_word():
    text = "Navy, to left twenty. " + "ivory " * 300 + "x" * 500 + "? Rose: grey;\tgreen!"
    found = list(pieces(text))
    assert "".join("".join(found).split()) == "".join(text.split())
    assert max(map(len, found)) <= 200
    assert found[0] == "Navy, to left twenty."
    assert found[-3:] == ["Rose:", "grey;", "green!"]
