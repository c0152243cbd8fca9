"""What listening takes of a computer: measured in a process of its own, as in a session."""

import multiprocessing
from time import perf_counter, process_time

import hearing
import negatives
import numpy as np
import psutil
import sounds
from engines import Engine
from sounds import RATE, Sound
from speakers import Speaker

from caller.calling.listening.blocks import BLOCK_SAMPLES
from caller.calling.listening.endpointing import Endpointer
from caller.devices.recognisers.silero_vad import SileroDetector


def told(engine: Engine, speaker: Speaker) -> dict[str, float]:
    """Print and give loading time, memory, and the share of a core in quiet and in dense talk."""
    dense = next(negatives.stretches(negatives.own_clauses(), 120))
    if engine.personal:
        engine.recogniser_of(speaker)  # keeps its takes, so that they are not made again there
    context = multiprocessing.get_context("spawn")
    with context.Pool(1) as pool:
        found = pool.apply(_measured, (engine, speaker, dense))
    print(
        "  a core's share {quiet_share:.1%} in quiet, {talk_share:.1%} in dense talk "
        "({segments_a_minute:.0f} segments a minute, {segment_ms:.0f} ms a segment); "
        "loaded in {loading_s:.2f} s; "
        "{grown_mb:.0f} MB more than Python with numpy, {whole_mb:.0f} MB in all".format(**found)
    )
    return found


def _measured(engine: Engine, speaker: Speaker, dense: Sound) -> dict[str, float]:
    process = psutil.Process()
    before = process.memory_info().rss
    began = perf_counter()
    detector, recogniser = SileroDetector(), hearing.TimedRecogniser(engine.recogniser_of(speaker))
    loading_s = perf_counter() - began
    quiet_s, _ = _listened(detector, recogniser, np.tile(sounds.quiet(1), 60))
    talk_s, segments = _listened(detector, recogniser, dense)
    after = process.memory_info().rss
    dense_s = len(dense) / RATE
    return {
        "loading_s": loading_s,
        "quiet_share": quiet_s / 60,
        "talk_share": talk_s / dense_s,
        "segments_a_minute": segments / dense_s * 60,
        "segment_ms": 1000 * float(np.mean(recogniser.took)),
        "grown_mb": (after - before) / 1e6,
        "whole_mb": after / 1e6,
    }


def _listened(
    detector: SileroDetector, recogniser: hearing.TimedRecogniser, sound: Sound
) -> tuple[float, int]:
    endpointer, segments, began = Endpointer(), 0, process_time()
    for at in range(0, len(sound) - BLOCK_SAMPLES + 1, BLOCK_SAMPLES):
        block = sound[at : at + BLOCK_SAMPLES]
        if segment := endpointer.feed(block, detector.probability(block)):
            recogniser.verdict(segment)
            segments += 1
    return process_time() - began, segments
