"""Lines in another script or language are told, and not bent to fit English phones."""

from __future__ import annotations

import numpy as np
import pytest

from shotcrit.readings.sound.align import align_lines
from shotcrit.readings.sound.lines_file import parse_lines
from shotcrit.readings.sound.tongue import foreign_words


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Je ne sais pas si la lampe brûle encore.", "French"),
        ("Du hast gesagt, die Lampe brennt nicht.", "German"),
        ("Dijiste que la lámpara está en casa.", "Spanish"),
        ("Nie wiem, czy lampa jeszcze się pali.", "Polish"),
        ("Я не знаю, Bram.", "Latin letters"),
        ("彼は来る", "Latin letters"),
    ],
)
def test_what_is_not_english(text: str, name: str) -> None:
    (why,) = foreign_words(parse_lines(text))
    assert why is not None
    assert name in why
    assert why.endswith("as a TextGrid")


@pytest.mark.parametrize(
    "text",
    [
        "You said the lamp would burn all night.", "Nooo! Stooop it, Bram!", "Gonna lemme outta 'ere?", "Twas brillig and the slithy toves did gyre.",
        "Frodo Baggins", "Café, naïve Zoë!", "C'est la vie, as they say, and that is that.", "[mot|M OW] [que|K AH] [est|EH]",
    ],
)  # fmt: skip
def test_what_is_english_or_may_be(text: str) -> None:
    assert foreign_words(parse_lines(text)) == [None]


def test_short_lines_are_read_with_their_neighbours() -> None:
    lines = parse_lines("Ich weiß nicht, ob die Lampe noch brennt.\nDu hast das gesagt, und ich nicht.\nKomm, Freund.\nYou know.")
    assert [why is not None for why in foreign_words(lines)] == [True, True, True, False]


def test_a_foreign_line_is_not_aligned_and_says_why() -> None:
    (line,) = align_lines(np.zeros(16_000, np.float32), parse_lines("Bram: Я не знаю.")).lines
    assert not line.heard
    assert "TextGrid" in (line.problem or "")
