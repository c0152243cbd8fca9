"""The bed: two ways of numbering, where the work lies, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.words.numbers import needle_words
from caller.errors import BedError
from caller.pattern.bed import COMMON_BEDS, Bed

beds = st.builds(Bed, st.integers(2, 300), st.just(4.5), st.sampled_from(["centre", "straight"]))


@given(beds)
def test_labels_and_positions_agree(bed):
    labels = [bed.label(position) for position in range(bed.needles)]
    assert [bed.position(label) for label in labels] == list(range(bed.needles))
    assert [bed.position(f" {label.lower()} ") for label in labels] == list(range(bed.needles))
    assert len(set(labels)) == bed.needles


@given(beds, st.data())
def test_sides_and_numbers_spell_the_labels(bed, data):
    position = data.draw(st.integers(0, bed.needles - 1))
    side, number = bed.side_and_number(position)
    letters = {"left": "L", "right": "R", None: ""}
    assert bed.label(position) == f"{letters[side]}{number}"
    assert (side is None) == (bed.numbering == "straight")


def test_a_straight_bed_counts_from_the_left_end():
    bed = Bed(200, numbering="straight")
    assert [bed.label(position) for position in (0, 1, 99, 199)] == ["1", "2", "100", "200"]
    # 100 stitches lie on the middle 100 of 200 needles (common practice of the trade): 50 needles
    # are left empty at either end.
    assert bed.label(bed.centred(100)) == "51"
    assert bed.label(bed.centred(100) + 99) == "150"


def test_needles_in_words():
    assert needle_words(Bed(), Bed().position("L20")) == "left twenty"
    assert needle_words(Bed(), Bed().position("R1")) == "right one"
    assert needle_words(Bed(numbering="straight"), 19) == "needle twenty"


def test_common_beds():
    # Pitches 3.6, 4.5, 6.5 and 9 mm: seen, in wide agreement. 200 needles on a standard bed: seen.
    # 250 on a fine one, about 110 to 150 on mid and bulky ones: from memory.
    assert dict(COMMON_BEDS) == {
        "fine": (250, 3.6),
        "standard": (200, 4.5),
        "mid": (150, 6.5),
        "bulky": (110, 9.0),
    }
    assert Bed(*COMMON_BEDS["standard"]) == Bed()
    # All of them are about as wide as a table, 0.9 to 1 m (computed).
    for needles, pitch in COMMON_BEDS.values():
        assert 890 <= Bed(needles, pitch).needles * pitch <= 1000


@given(beds, st.data())
def test_placed_work_lies_on_the_bed(bed, data):
    stitches = data.draw(st.integers(1, bed.needles))
    assert bed.placed(stitches) == bed.centred(stitches)
    first = data.draw(st.integers(0, bed.needles - stitches))
    assert bed.placed(stitches, bed.label(first)) == first


@pytest.mark.parametrize(
    ("bed", "stitches", "first", "sentence"),
    [
        (Bed(), 60, "R60", "fits from needle R60 on is 41; make it narrower, or begin at R41"),
        (Bed(), 2, "R100", "from needle R100 on is 1; make it narrower, or begin at R99"),
        (Bed(), 200, "L99", "begin at L100"),
        (
            Bed(numbering="straight"),
            60,
            "160",
            "needle 160 on is 41; make it narrower, or begin at 141",
        ),
        (Bed(), 201, None, "201 stitches wide and the bed has 200 needles; make it at most 200"),
        (Bed(), 201, "L100", "make it at most 200"),
        (Bed(), 0, None, "at least one"),
        (Bed(), -4, "L1", "at least one"),
        (Bed(), 10, "X1", "written like L50 or R1"),
        (Bed(), 10, "50", "written like L50 or R1"),
        (Bed(), 10, "L101", "runs from L100 to R100"),
        (Bed(), 10, "", "not a needle"),
        (Bed(numbering="straight"), 10, "L50", "as plain numbers like 50"),
        (Bed(numbering="straight"), 10, "201", "runs from 1 to 200"),
        (Bed(numbering="straight"), 10, "0", "not a needle"),
        (Bed(numbering="straight"), 10, "-1", "not a needle"),
        (Bed(numbering="straight"), 10, "٣", "not a needle"),
        (Bed(numbering="straight"), 10, "9" * 5000, "not a needle"),
    ],
)
def test_work_that_does_not_lie_there(bed, stitches, first, sentence):
    with pytest.raises(BedError, match=sentence):
        bed.placed(stitches, first)


@pytest.mark.parametrize("position", [-1, 200, 10**9])
@pytest.mark.parametrize("numbering", ["centre", "straight"])
def test_positions_off_the_bed(position, numbering):
    bed = Bed(numbering=numbering)
    for ask in (bed.label, bed.side_and_number):
        with pytest.raises(BedError):
            ask(position)


@pytest.mark.parametrize("numbering", ["", "left", "Centre", "zero", None])
def test_numberings_that_are_not_known(numbering):
    with pytest.raises(BedError, match="centre outward"):
        Bed(200, 4.5, numbering)


@pytest.mark.parametrize("pitch", [float("nan"), float("inf"), 0.0, -4.5])
def test_pitches_that_cannot_be(pitch):
    with pytest.raises(BedError):
        Bed(200, pitch)
