"""How likely a phrase must be to count as said, found from the phrase itself.

Even of faint noise the model holds some phrases for likelier than others, and those are what other
talk sets off most. The bound comes from this likelihood, the phrase's prior, so that a phrase of
the knitter's own has a bound as soon as it is chosen. What moves the row must be surer than what
only asks. In noise every phrase scores lower, the true one too, so the bound is looser there. What
the model writes freely and surely was likely said, so a likely phrase must then be nearer to it.
The figures behind the constants are in docs/figures.md.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE
from caller.devices.recognisers.english.model import EnglishModel
from caller.devices.recognisers.english.sentence_tree import SentenceTree
from caller.devices.recognisers.english.spellings import spellings
from caller.devices.recognisers.english.usual_priors import USUAL_PRIORS
from caller.devices.recognisers.noise import pink_noise

_NOISE_S = 1.2
_LEVELS = (40.0, 120.0, 400.0)
"""Root mean square of the noise, of 32,768."""
_NOISE_LEAST = -60.0

LIKELY, UNLIKELY = -17.0, -24.0
"""Priors at which the strict and the loose bound hold; between them the bound goes from one to the
other, and beyond the likely one it gets stricter still."""
STRICTEST, LOOSEST = -0.5, 1.3
MOVES = 0.7
"""What moves the row goes only this part of the way to the loose bound."""
NEAR_TALK = {"where am i": 0.25}
"""Phrases so much stricter than by their prior: everyday talk lies nearest to these, and they are
heard with more than this to spare (tests/bench/near_talk.py)."""
PRIOR_OUT = 0.3
"""So much of the prior is taken out before phrases are compared with one another; else "yes
please", likely in any sound, hides those that are said."""

SURENESS = 2.5
"""How much less likely a phrase may be than what is written freely goes with this times that
writing's own log-likelihood."""

QUIET_DB, NOISY_DB = 40.0, 20.0
IN_QUIET, IN_NOISE = 0.3, 0.4
"""In a quiet place and in a noisy one, by `noisiness`, the bound goes this much of the way."""
SURE_IN_NOISE = 2.5
"""In noise what is written surely may be wrong: that bound is looser by so much more."""
_FRAME = RATE // 50


@dataclass(frozen=True)
class Bound:
    """Natural logarithms: of a phrase's likelihood; of it against that of the free writing, and
    against that of a free writing that is sure; and how far it must be ahead of the others."""

    score: float
    against_free: float
    against_sure: float
    ahead: float

    def is_met(self, score: float, free: float, ahead: float) -> bool:
        return (
            score > self.score
            and score - free > self.against_free
            and score - SURENESS * free > self.against_sure
            and ahead > self.ahead
        )


_STRICT, _LOOSE = Bound(-8.0, -4.0, -1.5, 6.0), Bound(-14.0, -12.0, -13.5, 2.0)


def above_noise_db(segment: NDArray[np.int16]) -> float:
    """How far a segment's loud frames (95th percentile of power, 20 ms) lie above its quiet ones
    (10th percentile), in dB: about 50 in a quiet room, 16 with a word 10 dB above the noise."""
    frames = segment[: len(segment) // _FRAME * _FRAME].astype(np.float64).reshape(-1, _FRAME)
    power = np.sort(np.mean(frames**2, axis=1)) + 1.0
    return float(10 * np.log10(power[int(0.95 * len(power))] / power[int(0.1 * len(power))]))


def noisiness(above_db: float) -> float:
    """0 in a quiet place, 1 in a noisy one, by `above_noise_db`."""
    return float(np.clip((QUIET_DB - above_db) / (QUIET_DB - NOISY_DB), 0.0, 1.0))


def looser_by(noisy: float) -> float:
    """The part of the way that the bound is looser, the more the noisier."""
    return IN_QUIET + (IN_NOISE - IN_QUIET) * noisy


def bound(
    phrase: str, prior: float, moves: bool, looser: float = 0.0, stricter: float = 0.0
) -> Bound:
    """The bound of a phrase of this prior, `looser` for noise and `stricter` for what it decides,
    both as parts of the way from the strict bound to the loose one."""
    unlikely = (LIKELY - prior) / (LIKELY - UNLIKELY)
    way = float(np.clip(unlikely, STRICTEST, LOOSEST))
    if moves and way > 0:
        way *= MOVES
    way += looser - stricter - NEAR_TALK.get(phrase.casefold(), 0.0)
    sure = float(np.clip(unlikely, 0.0, 1.0)) + max(0.0, looser - IN_QUIET) * SURE_IN_NOISE

    def between(strict: float, loose: float, part: float) -> float:
        return strict + part * (loose - strict)

    return Bound(
        between(_STRICT.score, _LOOSE.score, way),
        between(_STRICT.against_free, _LOOSE.against_free, way),
        between(_STRICT.against_sure, _LOOSE.against_sure, sure - stricter / 2),
        between(_STRICT.ahead, _LOOSE.ahead, way),
    )


def compared(score: float, prior: float) -> float:
    """A likelihood as it is compared with those of other phrases."""
    return score - PRIOR_OUT * max(prior, UNLIKELY)


def priors(model: EnglishModel, phrases: Iterable[str]) -> Mapping[str, float]:
    """The likelihood of each phrase where only faint noise is heard, as a natural logarithm.

    Only of phrases that are not the program's own it is measured here.
    """
    known = {phrase: USUAL_PRIORS.get(phrase) for phrase in phrases}
    measured = measured_priors(model, [phrase for phrase, prior in known.items() if prior is None])
    return {phrase: measured[phrase] if prior is None else prior for phrase, prior in known.items()}


def measured_priors(model: EnglishModel, phrases: Collection[str]) -> Mapping[str, float]:
    """The same, of any phrases; takes a second or two."""
    if not phrases:
        return {}
    tree = SentenceTree(model.tokeniser, {phrase: spellings(phrase) for phrase in phrases})
    size = round(_NOISE_S * RATE)
    found: dict[str, list[float]] = {}
    for number, level in enumerate(_LEVELS):
        noise = pink_noise()[number * size :][:size] * level
        encoded = model.encode(np.rint(noise).astype(np.int16))
        searched = tree.search(model, encoded, 1_000, _NOISE_LEAST, -_NOISE_LEAST)
        for one in searched.scored:
            found.setdefault(one.sentence, []).append(one.score)
    return {
        phrase: float(np.mean(found[phrase])) if phrase in found else _NOISE_LEAST
        for phrase in phrases
    }
