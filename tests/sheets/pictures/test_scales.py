"""Which needles and rows are labelled and ticked, worked by hand."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from caller.pattern.bed import Bed
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
