"""A stream cut into blocks: nothing lost, nothing doubled, however it comes."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.listening.blocks import BLOCK_SAMPLES, Blocks


@given(st.lists(st.integers(0, 3 * BLOCK_SAMPLES), max_size=12), st.integers(1, 700))
def test_the_blocks_are_the_stream(lengths, size):
    stream = np.arange(sum(lengths), dtype=np.int64).astype(np.int16)
    blocks, out, at = Blocks(size), [], 0
    for length in lengths:
        found = blocks.feed(stream[at : at + length])
        assert found.shape[1] == size
        out.append(found.ravel())
        at += length
    whole = np.concatenate(out) if out else np.zeros(0, np.int16)
    assert whole.tolist() == stream[: len(stream) // size * size].tolist()
    assert blocks.drop() == len(stream) % size
    assert blocks.drop() == 0
    assert len(blocks.feed(np.zeros(size - 1, np.int16))) == 0, "what was dropped is forgotten"
