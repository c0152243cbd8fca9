"""The English model: its files, its tokens, and phrases of every shape."""

import shutil

import numpy as np
import pytest
import sounds
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.commands import PHRASES
from caller.calling.listening.grammar import grammar
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.english import model_files, numbered
from caller.devices.recognisers.english.free_writing import write_freely
from caller.devices.recognisers.english.model import EnglishModel
from caller.devices.recognisers.english.recogniser import EnglishRecogniser
from caller.devices.recognisers.english.sentence_tree import Scored, SentenceTree
from caller.devices.recognisers.english.spellings import spellings
from caller.devices.sound.resample import resampled
from caller.errors import ListeningError
from caller.pattern.bed import Bed


@pytest.fixture(scope="module")
def model():
    return EnglishModel()


def segment_of(text, voice="en-us", wpm=130):
    return np.concatenate([sounds.quiet(0.25), sounds.say(text, voice, wpm), sounds.quiet(0.29)])


def test_text_is_cut_as_the_model_was_trained(model):
    """The pieces that the model itself writes for these words (seen in its own output)."""
    pieces = [
        [model.tokeniser.text([token]) for token in model.tokeniser.tokens(text)]
        for text in ("Repeat that.", "Where am I?", "Next row.")
    ]
    assert pieces == [
        ["Re", "peat", "that", "."],
        ["Where", "am", "I", "?"],
        ["Next", "row", "."],
    ]
    written = write_freely(model, model.encode(segment_of("next row")))
    assert (written.text, written.whole) == ("Next row.", True)


@given(st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\u2581"), max_size=40))
def test_any_text_survives_its_tokens(text):
    tokeniser = _tokeniser()
    assert tokeniser.text(tokeniser.tokens(text)) == text.strip()


def _tokeniser(kept=[]):  # noqa: B006
    if not kept:
        kept.append(EnglishModel().tokeniser)
    return kept[0]


def test_the_tree_gives_what_scoring_one_by_one_gives(model):
    """The definition: log-sum-exp over spellings of the sum of the tokens' log-likelihoods."""
    encoded = model.encode(segment_of("where am i", "en-us+f2"))
    tree = SentenceTree(model.tokeniser, {phrase: spellings(phrase) for phrase in PHRASES})
    found = tree.search(model, encoded, beam=60, least=-40.0).scored
    assert found[0].sentence == "where am i"
    for one in found[:3]:
        each = [_likelihood(model, encoded, text) for text in spellings(one.sentence)]
        assert one.score == pytest.approx(np.logaddexp.reduce(each), abs=0.5)
    assert [one.score for one in found] == sorted((one.score for one in found), reverse=True)


def test_the_free_writing_that_went_along_is_what_is_written_alone(model):
    """A phrase, what leaves the tree at once, and what is longer than the search."""
    tree = SentenceTree(model.tokeniser, {phrase: spellings(phrase) for phrase in PHRASES})
    for text in ("where am i", "the kettle is on", "next time we will go to the river"):
        encoded = model.encode(segment_of(text, "en-us+f2"))
        begun, alone = tree.search(model, encoded).free, write_freely(model, encoded)
        together = write_freely(model, encoded, begun)
        assert begun.tokens
        assert together.text == alone.text
        assert together.score == pytest.approx(alone.score, abs=0.5)


def _likelihood(model, encoded, text):
    """Token by token and alone, without a beam."""
    total, follows, past = 0.0, encoded.first, encoded.past
    for token in (*model.tokeniser.tokens(text), 2):
        total += float(follows[token])
        [follows], past = model.step(encoded, [token], past)
    return total


def test_a_beginning_that_cannot_win_is_not_followed(model):
    steps = []

    class Counted:
        tokeniser = model.tokeniser

        def step(self, encoded, tokens, past):
            steps.append(len(tokens))
            return model.step(encoded, tokens, past)

    tree = SentenceTree(model.tokeniser, {phrase: spellings(phrase) for phrase in PHRASES})
    tree.search(Counted(), model.encode(segment_of("the kettle is on")), least=-12.0)
    talk = sum(steps)
    steps.clear()
    tree.search(Counted(), model.encode(segment_of("next row")), least=-12.0)
    assert talk < sum(steps)
    assert max(steps) <= 12


@pytest.mark.parametrize(
    "phrases",
    [
        ("NEXT ROW", "Where Am I", "let's go on", "what's o'clock"),
        (
            *("let\u2019s go on", "proceed", "carry-on now"),
            "please would you be so kind and call the next row",
        ),
    ],
)
def test_phrases_of_any_shape(model, phrases):
    recogniser = EnglishRecogniser((*phrases, "kettle", "good morning to you"), model)
    for phrase in phrases:
        spoken = phrase.casefold().replace("\u2019", "'")
        assert recogniser.recognise(segment_of(spoken)).phrase == phrase
    assert recogniser.recognise(segment_of("put it on the table")).phrase is None


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100, 48_000])
def test_sound_of_any_rate(model, rate):
    """What a device gives, brought to 16,000 as the microphone and files are."""
    recogniser = EnglishRecogniser(PHRASES, model)
    for phrase in ("next row", "repeat that"):
        device = resampled(segment_of(phrase), 16_000, rate)
        assert recogniser.recognise(resampled(device, rate, 16_000)).phrase == phrase


def test_words_of_another_language_are_named():
    with pytest.raises(ListeningError, match="cannot hear these words: weiter\u00fc, \ub2e4\uc74c"):
        EnglishRecogniser(("\ub2e4\uc74c", "weiter\u00fc", "next row"))


def test_no_phrase_at_all_is_refused():
    with pytest.raises(ListeningError, match="no phrase"):
        EnglishRecogniser(("  ",))


@pytest.fixture
def copy(tmp_path):
    return shutil.copytree(model_files.model_folder(), tmp_path / "tiny-en")


@pytest.mark.parametrize("name", list(model_files.SIZES))
def test_a_file_that_is_missing_cut_short_or_another(copy, name):
    path, whole = copy / name, (copy / name).read_bytes()
    for content, wrong in (
        (None, "is missing"),
        (b"", "is missing"),
        (whole[: len(whole) // 2], "is cut short"),
        (whole + b"more", "is another one"),
    ):
        path.unlink(missing_ok=True)
        if content is not None:
            path.write_bytes(content)
        with pytest.raises(ListeningError, match=f"{name} {wrong}.*add english --again$"):
            model_files.check(copy)


@pytest.mark.parametrize("name", list(model_files.SIZES))
def test_a_file_of_the_right_size_with_another_content(copy, name):
    """No crash and no traceback: flatbuffers are checked before they are used."""
    (copy / name).write_bytes(np.random.default_rng(1).bytes(model_files.SIZES[name]))
    with pytest.raises(ListeningError, match=r"add english --again$"):
        EnglishModel(copy)


def test_a_model_of_another_version(copy):
    """The encoder in the decoder's place: a whole network, but not the one expected."""
    shutil.copy(copy / model_files.ENCODER, copy / model_files.DECODER)
    with pytest.raises(ListeningError, match=r"another version.*add english --again$"):
        EnglishModel(copy)


def test_without_the_wheel(monkeypatch):
    monkeypatch.setattr(model_files, "find_spec", lambda _name: None)
    monkeypatch.setattr(model_files.sys, "platform", "linux")
    monkeypatch.setattr(model_files.platform, "machine", lambda: "x86_64")
    with pytest.raises(ListeningError, match="this command brings it: row-caller add english"):
        model_files.model_folder()


@pytest.mark.parametrize(
    ("system", "machine", "macos"),
    [("darwin", "x86_64", "15.1"), ("darwin", "arm64", "14.6"), ("linux", "armv7l", "")],
)
def test_a_computer_that_has_no_such_wheel(monkeypatch, system, machine, macos):
    monkeypatch.setattr(model_files.sys, "platform", system)
    monkeypatch.setattr(model_files.platform, "machine", lambda: machine)
    monkeypatch.setattr(model_files.platform, "mac_ver", lambda: (macos, ("", "", ""), machine))
    told = str(model_files.not_installed())
    assert "not made for this computer" in told
    assert "pip" not in told


NUMBERS = grammar(126, Bed(60))


@pytest.fixture(scope="module")
def numbers(model):
    return EnglishRecogniser(PHRASES, model, sentences=NUMBERS)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("go to row forty-two", "go to row forty-two"),
        ("go to row one hundred and three", "go to row one hundred and three"),
        ("back ten rows", "back ten rows"),
        ("needle left twenty", "needle left twenty"),
        ("which yarn is on right seven", "needle right seven"),
        ("next row", "next row"),
        ("go back", "go back"),
    ],
)
def test_sentences_with_a_number_beside_the_phrases(numbers, said, words):
    assert numbers.recognise(segment_of(said, "en-us")).phrase == words


@pytest.mark.parametrize(
    "said",
    [
        *("go to bed", "forty-two", "I left twenty at home", "go to the right"),
        *("twenty rows back", "back two years", "which yarn is that", "what happened at home"),
    ],
)
def test_no_sentence_is_heard_in_other_words(numbers, said):
    assert numbers.recognise(segment_of(said, "en-us")).phrase is None


def test_a_number_that_the_pattern_has_not_is_not_heard_as_such(numbers):
    heard = numbers.recognise(segment_of("go to row two hundred", "en-us")).phrase
    assert heard != "go to row two hundred"


def heard(*scored, free=-4.0, noisy=1.0):
    found = [Scored(text, score) for text, score in scored]
    return numbered.verdict(NUMBERS, found, noisy, lambda: free)


ONE, TEN, OTHER = "go to row thirteen", "go to row thirty", "back thirteen rows"


def test_of_one_command_the_likeliest_number_counts_and_of_two_commands_neither():
    assert heard((ONE, -5.0), (TEN, -5.1)).phrase == ONE
    assert heard((ONE, -5.0), (TEN, -5.1), (OTHER, -9.0)).rival == TEN
    assert heard((ONE, -5.0), (OTHER, -9.0)) == Verdict(ONE)
    assert heard((ONE, -5.0), (OTHER, -6.0)) == Verdict(None, near_miss=True), "one was meant"
    assert heard((ONE, -5.0), (TEN, -5.1), (OTHER, -6.0)).near_miss
    assert heard((ONE, -24.0), (OTHER, -25.0), free=9.0) == NOTHING, "no command was"


@pytest.mark.parametrize(
    ("other", "behind", "close"),
    [
        *(("go to row thirty", 2.9, True), ("go to row thirty", 3.1, False)),
        *(("go to row fifty", 1.4, True), ("go to row fifty", 1.6, False)),
    ],
)
def test_both_numbers_are_asked_for_where_they_are_close_a_teen_and_its_ten_sooner(
    other, behind, close
):
    found = heard((ONE, -5.0), (other, -5.0 - behind))
    assert (found.rival, found.close) == (other, close)


def test_a_number_of_the_other_side_does_not_sound_alike():
    found = heard(("needle left thirteen", -5.0), ("needle right thirty", -7.0))
    assert (found.rival, found.close) == ("needle right thirty", False)


def test_a_phrase_that_is_likelier_but_not_likely_enough_does_not_hide_a_sentence():
    """It is shorter, and so likelier in any sound; but where it is far likelier this is talk."""
    assert heard(("yes please", -17.1), (ONE, -20.0)).phrase == ONE
    assert heard(("yes please", -16.9), (ONE, -20.0)) == NOTHING
    assert heard(("next row", -5.1), (ONE, -5.0)).phrase == ONE
    assert heard(("yes please", -17.0)) == NOTHING


def test_a_sentence_far_from_what_would_be_written_is_none():
    assert heard((ONE, -21.4)).phrase == ONE
    assert heard((ONE, -21.6)) == NOTHING
    assert heard((ONE, -19.4), noisy=0.0).phrase == ONE
    assert heard((ONE, -19.6), noisy=0.0) == NOTHING
    assert heard((ONE, -26.1), free=-20.0) == NOTHING
