"""The bench's reader of written calls: every spelling of a thing is that thing, and no other is."""

import pytest
from written import Fact, Tally, facts

YARNS = ("navy", "cream", "sky blue", "grey")


def needles(text: str) -> list[str]:
    return [fact.what for fact in facts(text, YARNS) if fact.kind == "needle"]


@pytest.mark.parametrize(
    ("written", "needle"),
    [
        *(
            (text, "L27")
            for text in ("left 27.", "left twenty-seven", "Left twenty seven,", "LEFT 27")
        ),
        *((text, "R13") for text in ("right thirteen, one three", "right 13, 1-3", "Write 1313.")),
        *((text, "R13") for text in ("right one three", "right 1 3", "right 13 13")),
        *((text, "R13") for text in ("right 13 13 13", "right 131313", "right 13 and 13")),
        *((text, "L18") for text in ("left 18, 1A", "left 18 181818", "left 1818, 1-8")),
        *((text, "L118") for text in ("left 118 and 118", "left 118, 11A")),
        *((text, "L30") for text in ("left thirty, three zero", "left 30, 3-0", "left 3 0")),
        *((text, "L100") for text in ("left one hundred", "left 100", "left 1 0 0")),
        *((text, "R126") for text in ("right one hundred and twenty-six", "right 126")),
        *((text, "L2") for text in ("left two", "left to.", "left, too", "left 2")),
        *((text, "R4") for text in ("right for.", "right four")),
        *((text, "R22") for text in ("right 20 2", "right twenty two", "right 2 2", "right 22")),
        *((text, "R14") for text in ("right 40, 1-4", "right 4-ing, 1-4", "right 4ing")),
        *(
            (text, "R14")
            for text in ("right foring, 1-4", "right 4 in 1-4", "right 4d14", "right 4, King, 1, 4")
        ),
        *((text, "R114") for text in ("right 140, 1 1 4", "right one hundred and forty, 1 1 4")),
        *((text, "L39") for text in ("left 3rd 9", "left third nine", "left 39")),
        *((text, "L106") for text in ("left 100 6", "left 100 and 6", "left 100 in 6")),
        *((text, "L113") for text in ("left 100 and 13, 1 1 3", "left 100 13 113")),
        ("left 100 1 0 0", "L100"),
        ("left 100 30, 1 1 3", "L113"),
        ("left 130 6", "L?"),
        ("right 50, 1-4", "R?"),
        ("right 14, 4 0", "R?"),
        ("right 140, 1 4", "R?"),
        ("left thirty three zero", "L?"),
        ("left 33.0", "L?"),
        ("left 13, 3 0", "L?"),
        ("left 1330", "L1330"),
        ("left 1311", "L1311"),
        ("left 18 18 81", "L?"),
        ("left 18, 8", "L?"),
        ("left 13 and 30", "L13"),
    ],
)
def test_a_needle_in_every_spelling(written, needle):
    assert needles(f"navy, to {written}") == [needle]


def test_digits_settle_nothing_but_a_teen():
    assert needles("navy, to right foring, 4 0") == []
    assert needles("navy, to right foring, 1-1") == []
    assert needles("navy, to right foring, 1") == []
    assert needles("navy, to right 5 d 14") == ["R5"]
    assert needles("navy, from left 1, as far as right 4, over 14 stitches") == ["L1", "R4"]
    assert needles("navy, to right 4. cream, to left 14") == ["R4", "L14"]


@pytest.mark.parametrize(
    "written", ["Oh number 12", "0 number 12", "for all number 12", "All number twelve"]
)
def test_the_first_sound_of_a_row_may_be_lost(written):
    assert facts(f"{written}, going left.", YARNS) == facts("Row number 12, going left.", YARNS)
    assert facts("Cut all ends. Number 12.", YARNS)[:2] == facts("cut all", YARNS)


def test_a_row_is_read_whole():
    said = (
        "Row number twelve, going left. new navy, bobbin two, only right forty. cream, to right "
        "twenty-two. sky blue waiting at left one, as far as left nineteen, one nine. After the "
        "pass, cut cream at left forty."
    )
    written = (
        "Row 12, going left. New navy, bobbin 2, only right 40, cream to right 22. Skyblue waiting "
        "at left one, as far as left 19, 1-9. After the pass, cut cream at left 40."
    )
    read = facts(said, YARNS)
    assert read == facts(written, YARNS)
    assert [(fact.kind, fact.what) for fact in read] == [
        *(("number", "12"), ("side", "L")),
        *(("word", "new"), ("yarn", "navy"), ("word", "bobbin"), ("number", "2")),
        *(("word", "only"), ("needle", "R40"), ("yarn", "cream"), ("needle", "R22")),
        *(("yarn", "sky blue"), ("word", "waiting"), ("needle", "L1"), ("needle", "L19")),
        *(("word", "cut"), ("yarn", "cream"), ("needle", "L40")),
    ]


@pytest.mark.parametrize(
    "heard",
    [
        "cream, to left thirty",  # another name
        "navy, to right thirty",  # another side
        "navy, to left thirteen",  # another number
        "navy, to left thirty-one",
        "new navy, to left thirty",  # a word more
        "navy, to left",
        "Navi, to left thirty",
        "",
    ],
)
def test_what_is_heard_otherwise_is_another_thing(heard):
    assert facts(heard, YARNS) != facts("navy, to left thirty", YARNS)


@pytest.mark.parametrize(
    ("said", "written", "expected"),
    [
        (
            "First decrease one on each side, edges at left nineteen, one nine and right nineteen, "
            "one nine.",
            "First decreased 1 on each side, edges at left 19, 1-9 and right 19, 1-9.",
            [("word", "decrease"), ("number", "1"), ("word", "each"), ("word", "edge"),
             ("needle", "L19"), ("needle", "R19")],
        ),
        (
            "First bind off four on the left, with navy, edge at left twenty, then cut it.",
            "first bind off for on the left with Navy edge at left 20 then cut it",
            [("word", "bind off"), ("number", "4"), ("side", "L"), ("yarn", "navy"),
             ("word", "edge"), ("needle", "L20"), ("word", "cut")],
        ),
        (
            "Then cast on two on the right, with new cream, edge at right four.",
            "Then cast on to on the right, with new cream, edge at right for.",
            [("word", "cast on"), ("number", "2"), ("side", "R"), ("word", "new"),
             ("yarn", "cream"), ("word", "edge"), ("needle", "R4")],
        ),
    ],
)  # fmt: skip
def test_what_is_done_at_the_edges(said, written, expected):
    read = facts(said, YARNS)
    assert [(fact.kind, fact.what) for fact in read] == expected
    assert facts(written, YARNS) == read
    for wrong in ("increase three on each side", "bind off four on the right", "cast on two"):
        assert facts(wrong, YARNS) != read


def test_the_tally():
    tally = Tally()
    said = facts("Row number two, going left. navy, to left thirty. cream, to right two.", YARNS)
    assert tally.add(said, said) == []
    heard = facts("Row number two, going left. navy, to left 30. cream, to left two.", YARNS)
    assert tally.add(said, heard) == ["R2 > L2"]
    heard = facts("Row number two, going left. navy, to left 13.", YARNS)
    tally.add(said, heard)
    assert (tally.rows, tally.rows_right, tally.rows_right_but_number) == (3, 1, 1)
    assert (tally.needles, tally.needles_right) == (6, 3)
    assert tally.sides_swapped == 1
    assert (tally.yarns, tally.yarns_right) == (6, 5)


def test_a_row_whose_number_is_misheard():
    tally = Tally()
    said = facts("Row number eight, going left. navy, to left thirty.", YARNS)
    for heard, hands in (
        ("Row A, going left. Navy to left 30.", 1),
        ("Row 18, going left. Navy to left 30.", 2),
        ("Row 18, going right. Navy to left 30.", 2),
        ("Row A, going left. Navy to left 13.", 2),
    ):
        tally.add(said, facts(heard, YARNS))
        assert (tally.rows_right, tally.rows_right_but_number) == (0, hands)


def test_a_bobbin_in_every_spelling():
    for written in ("bobbin two", "Bobin II", "Bobbien 2", "Bob and 2", "bobbing to"):
        assert facts(written, YARNS) == [Fact("word", "bobbin"), Fact("number", "2")]
    assert facts("Bobin IV", YARNS) == [Fact("word", "bobbin"), Fact("number", "4")]


def test_two_ends_in_every_spelling():
    for written in ("cut two ends, all of them", "Cut to ends, all of them.", "cut 2 ends, all"):
        cut = [Fact("word", "cut"), Fact("number", "2"), Fact("word", "all")]
        assert facts(written, YARNS) == cut
    assert Fact("number", "2") not in facts("cut the ends", YARNS)


def test_salmon_is_written_as_it_sounds():
    assert facts("Sammon to left 3", ("salmon",)) == [Fact("yarn", "salmon"), Fact("needle", "L3")]


def test_grey_is_spelt_in_two_ways():
    assert facts("gray, to left 3", YARNS) == [Fact("yarn", "grey"), Fact("needle", "L3")]
