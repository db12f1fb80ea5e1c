"""Edges of phones: onsets out of silence on signals whose own onset is known, moves by kind, order kept."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.readings.sound.test_sound_signal import buzz, noise

from shotcrit.readings.sound.edges import LATER_MS, LEAST_S, kind_of, onset_s, with_edges
from shotcrit.readings.sound.force import Timed, TimedPhone
from shotcrit.readings.sound.waveform import Samples


def silence(length_s: float) -> Samples:
    return noise(length_s, level=0.0005)


@pytest.mark.parametrize("early_s", [0.0, 0.03, 0.06, 0.1])
def test_a_voice_out_of_silence_begins_where_the_wave_rises(early_s: float) -> None:
    samples = np.concatenate([silence(0.4), buzz(120, 0.3) + silence(0.3)])
    assert onset_s(samples, 0.4 - early_s, quiet_from_s=0.0, latest_s=0.6, rise=0.4) == pytest.approx(0.4, abs=0.01)


def test_where_nothing_rises_the_edge_stands() -> None:
    assert onset_s(silence(1.0), 0.4, quiet_from_s=0.0, latest_s=0.6, rise=0.4) == 0.4


def test_a_first_word_found_early_is_put_right_and_keeps_its_end() -> None:
    samples = np.concatenate([silence(0.5), buzz(140, 0.4) + silence(0.4), silence(0.2)])
    word = Timed(0, (TimedPhone("AA", 0.43, 0.7, 1.0), TimedPhone("M", 0.7, 0.9, 1.0)))
    (moved,) = with_edges(samples, [word])
    assert moved.start_s == pytest.approx(0.5, abs=0.01)
    assert moved.end_s == 0.9
    assert moved.phones[1].start_s == pytest.approx(0.7 + LATER_MS["vowel", "nasal"] / 1000)
    assert moved.phones[0].end_s == moved.phones[1].start_s


def test_a_short_silence_before_a_stop_is_its_closure() -> None:
    samples = np.concatenate([buzz(140, 0.4), silence(0.08), buzz(140, 0.3)])
    one = Timed(0, (TimedPhone("AA", 0.0, 0.4, 1.0),))
    two = Timed(0, (TimedPhone("T", 0.48, 0.53, 1.0), TimedPhone("AA", 0.53, 0.78, 1.0)))
    assert with_edges(samples, [one, two])[1].start_s == pytest.approx(0.4)


def test_phones_keep_their_order_and_a_least_length() -> None:
    phones = tuple(TimedPhone(name, 0.2 + k * 0.01, 0.21 + k * 0.01, 0.0) for k, name in enumerate(("T", "L", "AA", "Z", "AA", "N")))
    (moved,) = with_edges(buzz(140, 1.0), [Timed(0, phones)])
    starts = [p.start_s for p in moved.phones]
    assert min(np.diff(starts)) >= LEAST_S - 1e-9
    assert all(p.end_s > p.start_s for p in moved.phones)


def test_kinds() -> None:
    kinds = {
        "S": "hiss",
        "TH": "breathy",
        "HH": "breathy",
        "V": "voiced fricative",
        "CH": "stop",
        "JH": "voiced stop",
        "L": "glide",
        "AA": "vowel",
        "NG": "nasal",
    }
    assert {phone: kind_of(phone) for phone in kinds} == kinds
