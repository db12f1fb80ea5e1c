"""The acoustic model as we evaluate it, against pocketsphinx, whose wheel carries it: the same features, the same edges."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from pocketsphinx import Decoder
from tests.make.voices import SENTENCES, say

from shotcrit.progress import Quiet
from shotcrit.readings.sound.acoustic.features import cepstra
from shotcrit.readings.sound.acoustic.model import STATES, load_model
from shotcrit.readings.sound.force import align_words
from shotcrit.readings.sound.lines_file import parse_lines
from shotcrit.readings.sound.listen import listen
from shotcrit.readings.sound.pronounce import ways_to_say
from shotcrit.readings.sound.waveform import to_pcm16


def decode(decoder: Decoder, pcm: bytes) -> None:
    decoder.start_utt()
    decoder.process_raw(pcm, full_utt=True)
    decoder.end_utt()


def test_cepstra_are_those_of_pocketsphinx_s_front_end(tmp_path: Path) -> None:
    """Its log file: a count, then float32 rows of 13, big-endian. Its rows begin with a window's first sample, ours are centred: 205 samples apart.

    The model's own settings make it take steady noise out, which we do beforehand; so the rows are alike and not the same.
    """
    pcm = to_pcm16(say(SENTENCES[0], "flite_rms").samples)
    decoder = Decoder(lm=None, dict=os.devnull, loglevel="FATAL", mfclogdir=str(tmp_path), allphone_ci=True)
    decoder.add_allphone_file("free", None)
    decoder.activate_search("free")
    decode(decoder, pcm)
    del decoder
    (log,) = tmp_path.glob("*.mfc")
    theirs = np.frombuffer(log.read_bytes(), ">f4", offset=4).reshape(-1, 13)
    ours = cepstra(np.concatenate([np.zeros(3 * 160 - 205, np.float32), np.frombuffer(pcm, "<i2").astype(np.float32) / 32768]))[3:]
    rows = min(len(ours), len(theirs))
    assert rows > 300
    loud = np.flatnonzero(theirs[:rows, 0] > np.quantile(theirs[:, 0], 0.3))
    for number in range(13):
        assert np.corrcoef(ours[loud, number], theirs[loud, number])[0, 1] > 0.95
        assert ours[loud, number].std() == pytest.approx(theirs[loud, number].std(), rel=0.1)
    assert np.abs(ours[loud] - theirs[loud]).mean() < 0.1 * np.abs(theirs[loud]).mean()


def test_the_model_is_whole() -> None:
    model = load_model()
    assert len(model.names) == 42
    assert model.weights.shape[2] == 5126
    assert len(model.keys) == len(model.triphones) == 137_053
    assert np.abs(model.weights.sum(axis=1) - 0.95).max() < 0.1  # stored in bytes, rounded down
    assert np.exp(model.stay) + np.exp(model.leave) == pytest.approx(np.ones((42, STATES)), abs=1e-4)


@pytest.mark.parametrize("index", [0, 6])
def test_words_lie_where_pocketsphinx_puts_them(index: int) -> None:
    text = SENTENCES[index]
    samples = say(text, "flite_rms").samples
    words = parse_lines(text)[0].words
    ours = align_words(listen(samples, Quiet()), [ways_to_say(w) for w in words])
    decoder = Decoder(lm=None, loglevel="FATAL", bestpath=False, beam=1e-200, pbeam=1e-200, wbeam=1e-150)
    decoder.set_align_text(" ".join(w.text.lower() for w in words))
    decode(decoder, to_pcm16(samples))
    theirs = [s.start_frame / 100 for s in decoder.seg() if not s.word.startswith(("<", "["))]
    assert ours is not None
    apart = np.abs(np.array([w.start_s for w in ours]) - theirs)
    assert np.median(apart) <= 0.02
    assert (apart <= 0.05).mean() >= 0.75  # it lets the first word of a file reach into the silence before it
