"""Single words said by people, heard: human_words.py

Nobody has recorded the commands themselves.
Numbers that a woman says one by one for a telephone exchange (asterisk-core-sounds-en-g722), and
the longer words of sentences that a woman and a man read (pocketsphinx-testdata, with its
transcriptions), cut out where PocketSphinx's forced alignment puts them. The recogniser listens for
the words of one kind at a time. As commands single words are held to strict bounds, for talk sets
them off; so it is also told how often the right word is the likeliest before any bound.
"""

import argparse
import re
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
import conditions
import hearing
import negatives
from engines import English, endpointing_of
from intervals import Share
from sounds import RATE, Sound

from caller.calling.listening.endpointing import Segment
from caller.calling.words.numbers import number_words
from caller.devices.recognisers.denoise import denoised
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import read_sound

PROMPTS, SENTENCES = "asterisk-core-sounds-en-g722", "pocketsphinx-testdata"
LONG = 6
"""A word cut out of a sentence counts from so many letters on; shorter ones are half swallowed."""
AROUND_S = 0.03

Words = list[tuple[str, Sound]]


def numbers() -> Words:
    """Each number twice: in the voice of a number's end, and of its beginning ("h-")."""
    found = []
    for path in sorted(negatives.unpacked(PROMPTS).rglob("digits/*.g722")):
        named = re.fullmatch(r"(?:h-)?(\d+)", path.stem)
        if named:
            [sound] = negatives.files(PROMPTS, path.name, re.escape(path.name) + "$")[:1]
            found.append((number_words(int(named[1])), sound))
    return found


def cut_from_sentences() -> Words:
    return [
        (word, sound[max(0, begin) : end])
        for text, sound in _sentences()
        for word, begin, end in _aligned(text, sound)
        if len(word) >= LONG
    ]


def _sentences() -> Iterator[tuple[str, Sound]]:
    """Each with its transcription: "<s> once more </s> (file)"."""
    folder = negatives.unpacked(SENTENCES) / "usr/share/pocketsphinx/test/data"
    for listed in (folder / "librivox/transcription", folder / "cards/cards.transcription"):
        for line in listed.read_text(encoding="utf-8").splitlines():
            if told := re.fullmatch(r"(.*)\((\S+)\)", line.strip()):
                text = re.sub(r"</?s>|[^a-z' ]", " ", told[1].casefold())
                read = read_sound(Path(listed.parent, f"{told[2]}.wav"))
                yield " ".join(text.split()), resampled(read.samples, read.rate, RATE)


def _aligned(text: str, sound: Sound) -> Iterator[tuple[str, int, int]]:
    """The words with where they begin and end, in samples, by 10 ms."""
    from pocketsphinx import Decoder

    decoder = Decoder(lm=None, loglevel="FATAL")
    decoder.set_align_text(text)
    decoder.start_utt()
    decoder.process_raw(sound.tobytes(), full_utt=True)
    decoder.end_utt()
    around = round(AROUND_S * RATE)
    for one in decoder.seg():
        word = re.sub(r"\(\d\)$", "", one.word)
        begin, end = one.start_frame * RATE // 100, (one.end_frame + 1) * RATE // 100
        if word.isalpha():
            yield word, begin - around, end + around


def told() -> None:
    """Print how many are heard, how many as another, and how often the word is the likeliest."""
    from caller.devices.recognisers.english.model import EnglishModel
    from caller.devices.recognisers.english.recogniser import EnglishRecogniser
    from caller.devices.recognisers.english.sentence_tree import SentenceTree
    from caller.devices.recognisers.english.spellings import spellings

    model = EnglishModel()
    for kind, words in (("numbers", numbers()), ("cut out", cut_from_sentences())):
        recogniser = EnglishRecogniser(tuple(dict(words)), model)
        tree = SentenceTree(model.tokeniser, {word: spellings(word) for word in dict(words)})

        def likeliest(segment: Segment, tree: SentenceTree = tree) -> str | None:
            found = tree.search(model, model.encode(denoised(segment.samples)), least=-60.0).scored
            return found[0].sentence if found else None

        timed = hearing.TimedRecogniser(recogniser, endpointing=endpointing_of(English()))
        for name in ("clean", "carriage 10 dB"):
            [condition] = [one for one in conditions.conditions() if one.name == name]
            came: Counter[str] = Counter()
            for word, sound in words:
                answers = timed.hear(condition.make(sound, word))
                phrases = {verdict.phrase for _, verdict in answers} - {None}
                came["right" if phrases == {word} else "wrong" if phrases else "not heard"] += 1
                came["likeliest"] += any(likeliest(segment) == word for segment, _ in answers)
            print(
                f"  people, {kind:8} {name:15} likeliest {Share(came['likeliest'], len(words))}; ",
                end="",
            )
            print(f"heard {Share(came['right'], len(words))}, wrong {came['wrong']}; ", end="")
            print(f"{len(dict(words))} words to tell apart", flush=True)


if __name__ == "__main__":
    argparse.ArgumentParser(description=__doc__.splitlines()[0]).parse_args()
    np.seterr(all="raise")
    told()
