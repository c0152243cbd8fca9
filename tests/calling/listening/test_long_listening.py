"""Listening goes on for hours: six by a scripted detector, and a while by the real one."""

import gc

import numpy as np
import psutil
import pytest
import sounds

from caller.calling.commands import PHRASES, Command
from caller.calling.listening.blocks import BLOCK_SAMPLES, RATE
from caller.calling.listening.listener import HeardPhrase, Listener
from caller.calling.ports import Verdict
from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser
from caller.devices.recognisers.silero_vad import SileroDetector

HOUR_S = 3600


class ByLoudness:
    """A detector for drawn sound: a loud block is speech."""

    def probability(self, samples):
        return 0.9 if samples[0] > 100 else 0.0

    def reset(self):
        pass


class AlwaysNext:
    """Takes every segment for the same phrase."""

    name = "always"

    def recognise(self, _segment):
        return Verdict("next row")

    def close(self):
        pass


def drawn_minute():
    """A word at the 10th second, talk too long to be one from the 20th to the 50th."""
    minute = np.zeros(60 * RATE // BLOCK_SAMPLES * BLOCK_SAMPLES, dtype=np.int16)
    minute[10 * RATE : round(10.5 * RATE)] = 1000
    minute[20 * RATE : 50 * RATE] = 1000
    return minute


def heard_in(listener, minute):
    """The commands of a minute fed in eighths of a second, as a microphone gives it."""
    heard = []
    for at in range(0, len(minute), RATE // 8):
        heard += listener.feed(minute[at : at + RATE // 8])
    return heard


@pytest.mark.slow
def test_hours_on_end_hear_every_word_on_time_and_take_no_memory():
    listener, minute, process = (
        Listener(ByLoudness(), AlwaysNext()),
        drawn_minute(),
        psutil.Process(),
    )
    heard_in(listener, minute)
    gc.collect()
    before, things = process.memory_info().rss, len(gc.get_objects())
    minutes = 6 * 60
    for number in range(1, minutes):
        [heard] = heard_in(listener, minute)
        assert isinstance(heard, HeardPhrase)
        assert heard.command is Command.NEXT
        began_s = number * len(minute) / RATE + 10
        assert heard.at_s == pytest.approx(began_s, abs=BLOCK_SAMPLES / RATE)
        listener.deafen(0)
    gc.collect()
    assert len(gc.get_objects()) - things < 1000
    assert process.memory_info().rss - before < 10e6


@pytest.mark.slow
def test_the_real_detector_hears_the_same_in_the_third_round_as_in_the_first():
    """Half a minute of words, talk, a carriage and quiet, three times over."""
    said = sounds.spoken((*PHRASES[:4], "I told her so and then we went on knitting until tea"))
    parts = [sounds.apart(said), sounds.in_noise(said[1], sounds.carriage_rasp(20), 20, 8)]
    half = np.concatenate([*parts, sounds.quiet(30)])[: 30 * RATE]
    listener, process = (
        Listener(SileroDetector(), PocketSphinxRecogniser(PHRASES)),
        psutil.Process(),
    )
    heard, grown = [], []
    for _ in range(3):
        listener.deafen(0)
        heard.append([found.phrase for found in heard_in(listener, half)])
        gc.collect()
        grown.append(process.memory_info().rss)
    assert heard[0] == list(PHRASES[:4]) + heard[0][4:]
    assert all(one == heard[0] for one in heard)
    assert grown[-1] - grown[1] < 10e6
