"""Pronunciations for words that stand in no dictionary, by the recurrent network that g2p-en ships, run on numpy.

The package itself is no dependency: it downloads data when it is imported, and requires what nothing here uses. Its weights file is carried by ours.
Network: Park & Kim, g2p_en 2.1 (Apache-2.0), a GRU encoder and decoder trained on the CMU Pronouncing Dictionary.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from shotcrit.lent import lent_file
from shotcrit.readings.sound.phoneset import VOWELS

Floats = npt.NDArray[np.float32]
_LETTERS = ["<pad>", "<unk>", "</s>", *"abcdefghijklmnopqrstuvwxyz"]
_SYMBOL_TEXT = (
    "<pad> <unk> <s> </s> AA0 AA1 AA2 AE0 AE1 AE2 AH0 AH1 AH2 AO0 AO1 AO2 AW0 AW1 AW2 AY0 AY1 AY2 B CH D DH EH0 EH1 EH2 ER0 ER1 ER2 "
    "EY0 EY1 EY2 F G HH IH0 IH1 IH2 IY0 IY1 IY2 JH K L M N NG OW0 OW1 OW2 OY0 OY1 OY2 P R S SH T TH UH0 UH1 UH2 UW UW0 UW1 UW2 V W Y Z ZH"
)
_SYMBOLS = _SYMBOL_TEXT.split()
"""The decoder's output classes, in the order of the weights file (g2p_en/g2p.py)."""
_START, _STOP = 2, 3
_LONGEST = 32
"""Phones in one word; the network was trained with fewer (guess)."""
_BEAM = 8


@dataclass(frozen=True)
class _Cell:
    """One gated recurrent unit (Cho et al. 2014), PyTorch's weight layout: reset, update, new."""

    w_in: Floats
    w_hidden: Floats
    b_in: Floats
    b_hidden: Floats

    def __call__(self, x: Floats, h: Floats) -> Floats:
        size = h.shape[-1]
        into, back = x @ self.w_in.T + self.b_in, h @ self.w_hidden.T + self.b_hidden
        gates = 1 / (1 + np.exp(-(into[..., : 2 * size] + back[..., : 2 * size])))
        reset, update = gates[..., :size], gates[..., size:]
        new = np.tanh(into[..., 2 * size :] + reset * back[..., 2 * size :])
        return np.asarray((1 - update) * new + update * h, np.float32)


@dataclass(frozen=True)
class _Network:
    enc_emb: Floats
    dec_emb: Floats
    encoder: _Cell
    decoder: _Cell
    fc_w: Floats
    fc_b: Floats

    def listen(self, word: str) -> Floats:
        """The hidden state after reading the word's letters."""
        h = np.zeros(self.encoder.w_hidden.shape[1], np.float32)
        for letter in [*word, "</s>"]:
            index = _LETTERS.index(letter) if letter in _LETTERS else 1
            h = self.encoder(self.enc_emb[index], h)
        return h

    def say(self, previous: int, h: Floats) -> tuple[Floats, Floats]:
        """Log probabilities of the next symbol, and the next hidden state."""
        h = self.decoder(self.dec_emb[previous], h)
        logits = h @ self.fc_w.T + self.fc_b
        peak = logits.max()
        return np.asarray(logits - peak - np.log(np.exp(logits - peak).sum()), np.float32), h


@lru_cache(maxsize=1)
def _network() -> _Network:
    with np.load(lent_file("g2p-en", "checkpoint20.npz")) as data:
        cells = {k: _Cell(*(data[f"{k}_{part}"] for part in ("w_ih", "w_hh", "b_ih", "b_hh"))) for k in ("enc", "dec")}
        return _Network(data["enc_emb"], data["dec_emb"], cells["enc"], cells["dec"], data["fc_w"], data["fc_b"])


@dataclass(frozen=True)
class _Path:
    score: float
    symbols: tuple[int, ...]
    hidden: Floats


def _search(word: str, choices: Iterable[list[int] | None]) -> list[_Path]:
    """Beam search; `choices` names the symbols allowed at each step, None for any. Best first."""
    net = _network()
    beam, done = [_Path(0.0, (_START,), net.listen(word))], list[_Path]()
    for allowed in choices:
        grown: list[_Path] = []
        for path in beam:
            scores, hidden = net.say(path.symbols[-1], path.hidden)
            best = allowed if allowed is not None else [int(i) for i in np.argsort(-scores)[:_BEAM]]
            grown += [_Path(path.score + float(scores[i]), (*path.symbols, i), hidden) for i in best]
        grown.sort(key=lambda p: -p.score)
        done += [p for p in grown[:_BEAM] if p.symbols[-1] == _STOP]
        beam = [p for p in grown[:_BEAM] if p.symbols[-1] > _STOP]
        if not beam or (done and max(p.score for p in done) > beam[0].score):
            break
    return sorted(done or beam, key=lambda p: -p.score)


@lru_cache(maxsize=4096)
def guess_phones(word: str, *, how_many: int = 2) -> tuple[tuple[str, ...], ...]:
    """Likely pronunciations of a word of a to z, best first, with stress digits; different phones, not only stress."""
    found: dict[tuple[str, ...], tuple[str, ...]] = {}
    for path in _search(word, [None] * _LONGEST):
        symbols = tuple(_SYMBOLS[i] for i in path.symbols[1:] if i > _STOP)
        if symbols:
            found.setdefault(tuple(s.rstrip("012") for s in symbols), symbols)
    return tuple(found.values())[:how_many]


@lru_cache(maxsize=16384)
def with_stress(word: str, phones: tuple[str, ...]) -> tuple[str, ...]:
    """The given phones (no digits) with the stress digits that the network finds likeliest for this spelling.

    The dictionary inside pocketsphinx's wheel has no stress; the network has learnt it from the one that has.
    """
    options = [[i for i, s in enumerate(_SYMBOLS) if s.rstrip("012") == p and (s != p or p not in VOWELS)] for p in phones]
    if all(len(o) == 1 for o in options):
        return phones
    best = _search(word, options)[0]
    return tuple(_SYMBOLS[i] for i in best.symbols[1:])
