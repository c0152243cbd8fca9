"""Which needles and rows are labelled and ticked, worked by hand."""

from itertools import pairwise
from typing import get_args

from hypothesis import given
from hypothesis import strategies as st

from caller.pattern.bed import Bed, Numbering
from caller.sheets.pictures.scales import (
    Label,
    Tick,
    needle_labels,
    needle_ticks,
    row_labels,
    row_ticks,
    step_for,
    without_overlap,
)


def written(labels: tuple[Label, ...]) -> str:
    return " ".join(f"{label.place}:{label.text}" for label in labels)


def test_needles_of_a_hundred_stitches() -> None:
    # 100 stitches lie on left 50 to right 50 (common practice).
    assert written(needle_labels(Bed(200), 50, 100)) == (
        "0:L50 99:R50 49:L1 50:R1 10:L40 20:L30 30:L20 40:L10 59:R10 69:R20 79:R30 89:R40"
    )


def test_needles_of_an_odd_piece() -> None:
    assert written(needle_labels(Bed(200), 88, 25)) == "0:L12 24:R13 11:L1 12:R1 2:L10 21:R10"


def test_fewer_needles_where_there_is_little_room() -> None:
    labels = needle_labels(Bed(200), 0, 200, every=50)
    assert written(labels) == "0:L100 199:R100 99:L1 100:R1 50:L50 149:R50"


def test_needles_of_the_smallest_pieces() -> None:
    assert written(needle_labels(Bed(200), 100, 1)) == "0:R1"
    assert written(needle_labels(Bed(200), 99, 2)) == "0:L1 1:R1"
    assert written(needle_labels(Bed(3), 0, 3)) == "0:L1 2:R2 1:R1"


def test_needles_of_a_bed_numbered_from_its_left_end() -> None:
    # 25 stitches from needle 1 on: both ends, and every tenth; the centre is far to the right.
    bed = Bed(200, numbering="straight")
    assert written(needle_labels(bed, 0, 25)) == "0:1 24:25 9:10 19:20"
    # About the centre of 110 needles, which lies between 55 and 56: 36 to 75.
    bed = Bed(110, numbering="straight")
    assert written(needle_labels(bed, 35, 40)) == "0:36 39:75 19:55 20:56 4:40 14:50 24:60 34:70"
    assert needle_ticks(bed, 97, 13) == (Tick(2, True), Tick(7, False), Tick(12, True))


def number_of(bed: Bed, position: int) -> int:
    """A needle's number, counted needle by needle as a knitter does."""
    if bed.numbering == "straight":
        return len(range(position + 1))
    half = bed.needles // 2
    return len(range(position, half)) if position < half else len(range(half, position + 1))


@given(st.data(), st.integers(2, 300), st.sampled_from(get_args(Numbering)))
def test_every_label_and_tick_is_that_of_its_needle(
    data: st.DataObject, needles: int, numbering: Numbering
) -> None:
    bed = Bed(needles, numbering=numbering)
    first = data.draw(st.integers(0, needles - 1))
    stitches = data.draw(st.integers(1, needles - first))
    every = data.draw(st.sampled_from([10, 20, 50]))
    numbers = [number_of(bed, first + column) for column in range(stitches)]
    labels = needle_labels(bed, first, stitches, every)
    assert all(int(label.text.strip("LR")) == numbers[label.place] for label in labels)
    assert all(bed.position(label.text) == first + label.place for label in labels)
    tenths = {column for column, number in enumerate(numbers) if number % every == 0}
    centre = {bed.needles // 2 - 1 - first, bed.needles // 2 - first} & set(range(stitches))
    assert {label.place for label in labels} == {0, stitches - 1} | centre | tenths
    assert needle_ticks(bed, first, stitches) == tuple(
        Tick(column, number in range(0, 301, 10))
        for column, number in enumerate(numbers)
        if number in range(0, 301, 5)
    )


def test_rows() -> None:
    assert written(row_labels(1)) == "0:1"
    assert written(row_labels(34)) == "0:1 33:34 9:10 19:20 29:30"
    assert written(row_labels(40, every=20)) == "0:1 39:40 19:20"


def test_ticks() -> None:
    assert needle_ticks(Bed(200), 88, 25) == (
        Tick(2, True),
        Tick(7, False),
        Tick(16, False),
        Tick(21, True),
    )
    assert row_ticks(16) == (Tick(4, False), Tick(9, True), Tick(14, False))
    assert row_ticks(4) == ()


def test_steps() -> None:
    assert step_for(room=10, needed=90) == 10
    assert step_for(room=10, needed=101) == 20
    assert step_for(room=1, needed=99) == 100


spans = st.lists(st.tuples(st.floats(0, 100), st.floats(0, 20)).map(lambda s: (s[0], s[0] + s[1])))


@given(spans, st.floats(0.1, 5))
def test_labels_keep_apart(spans: list[tuple[float, float]], gap: float) -> None:
    kept = [spans[index] for index in without_overlap(spans, gap)]
    assert kept[:1] == spans[:1]
    kept.sort()
    assert all(b - a >= gap - 1e-9 for (_, a), (b, _) in pairwise(kept))
    for span in spans:  # and none is left out without need
        assert any(span[0] < end + gap and begin < span[1] + gap for begin, end in kept)
