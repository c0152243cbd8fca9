"""The sentences with a number: all of them, each once, and none in the caller's own mouth."""

import pytest

from caller.calling.commands import BY_NUMBER, PHRASES, WAYS, Command
from caller.calling.events import Typed
from caller.calling.listening.grammar import beginnings, example, grammar
from caller.calling.orders import understood
from caller.calling.place import Place
from caller.calling.spelling import Asked, Spelling
from caller.calling.state import State
from caller.pattern.bed import Bed

CENTRE, STRAIGHT = Bed(60), Bed(60, numbering="straight")


def test_every_row_and_needle_is_there_once():
    found = grammar(126, CENTRE)
    by_command = {
        command: [one.number for one in found.values() if one.command is command]
        for command in BY_NUMBER
    }
    assert by_command[Command.ROW] == [str(row) for row in range(1, 127)]
    assert by_command[Command.UNRAVEL] == [str(count) for count in range(1, 126)]
    assert by_command[Command.NEEDLE] == [CENTRE.label(needle) for needle in range(60)]


@pytest.mark.parametrize(
    ("bed", "words", "command", "number"),
    [
        (CENTRE, "go to row forty-two", Command.ROW, "42"),
        (CENTRE, "back ten rows", Command.UNRAVEL, "10"),
        (CENTRE, "back one row", Command.UNRAVEL, "1"),
        (CENTRE, "needle left twenty", Command.NEEDLE, "L20"),
        (STRAIGHT, "which yarn is on needle twenty", Command.NEEDLE, "20"),
    ],
)
def test_sentences(bed, words, command, number):
    one = grammar(126, bed)[words]
    assert (one.command, one.number) == (command, number)


@pytest.mark.parametrize("bed", [CENTRE, STRAIGHT])
def test_what_can_be_said_can_be_typed(bed):
    """Every sentence in each of its wordings and in figures, as it is written by hand."""
    asking = State(Place(1), 140, spelling=Spelling(Command.NEEDLE))
    for sentence in grammar(126, bed).values():
        wanted = Asked(sentence.command, sentence.number)
        for text in sentence.written:
            for line in (text, f"  {text.capitalize()}?\n", text.replace("-", " ")):
                assert understood(bed, State(Place(1), 140), Typed(line)) == wanted
            assert understood(bed, asking, Typed(text)) == wanted
        assert len(sentence.written) >= 2


def test_every_sentence_of_the_table_is_tried():
    """A new one is typed above, for each bed that has it."""
    typed = [
        text
        for bed in (CENTRE, STRAIGHT)
        for one in grammar(9, bed).values()
        for text in one.written
    ]
    for way in WAYS:
        for template in way.sentences:
            assert any(text.startswith(template.split("{")[0]) for text in typed)


def test_in_words_and_in_figures():
    one = grammar(126, CENTRE)["go to row one hundred and thirteen"]
    assert one.wordings == (
        "go to row one hundred and thirteen",
        "go to row one hundred thirteen",
    )
    assert one.written == (*one.wordings, "go to row 113")
    needle = grammar(126, CENTRE)["needle left twenty"]
    assert needle.wordings[1] == "which yarn is on left twenty"
    assert "needle left 20" in needle.written


@pytest.mark.parametrize("bed", [CENTRE, STRAIGHT])
def test_no_two_sentences_are_written_alike_and_none_is_a_phrase(bed):
    written = [text for one in grammar(200, bed).values() for text in one.written]
    assert len(written) == len(set(written))
    assert not set(written) & set(PHRASES)
    # A phrase that a sentence goes on from would have to wait for it.
    assert not [text for text in written for one in PHRASES if text.startswith(f"{one} ")]


@pytest.mark.parametrize("bed", [CENTRE, STRAIGHT])
def test_every_sentence_has_a_beginning_that_the_caller_parts(bed):
    for one in grammar(130, bed).values():
        for words in one.wordings:
            assert any(words.replace("-", " ").startswith(begin) for begin in beginnings()), words


@pytest.mark.parametrize("bed", [CENTRE, STRAIGHT])
def test_the_help_has_an_example_of_each(bed):
    for way in WAYS:
        assert (example(way, bed) is None) == (way.command not in BY_NUMBER)
        if way.sentences:
            assert grammar(20, bed)[str(example(way, bed))].command is way.command
