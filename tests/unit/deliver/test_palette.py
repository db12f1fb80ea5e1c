"""The palette keeps WCAG's contrasts, and each colour has one meaning."""

from __future__ import annotations

import pytest

from shotcrit.sheet.palette import COLOURS, GRAPHIC_CONTRAST, TEXT_CONTRAST, Colour, contrast, ink, palette_css

PAIRS = [(colour, ground) for colour in COLOURS if colour.role in ("text", "line") for ground in colour.on]


def test_contrast_of_black_on_white_is_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize(("colour", "ground"), PAIRS, ids=[f"{c.name} on {g}" for c, g in PAIRS])
def test_text_and_lines_can_be_read(colour: Colour, ground: str) -> None:
    least = TEXT_CONTRAST if colour.role == "text" else GRAPHIC_CONTRAST
    assert contrast(colour.hex, ink(ground)) >= least


def test_light_text_on_full_colours_can_be_read() -> None:
    for full in ("red", "green", "ink"):
        assert contrast(ink("card"), ink(full)) >= TEXT_CONTRAST


def test_names_and_meanings_are_each_there_once() -> None:
    assert len({c.name for c in COLOURS}) == len({c.meaning for c in COLOURS}) == len(COLOURS)


def test_css_has_every_colour() -> None:
    css = palette_css()
    assert all(f"--{c.name}: {c.hex};" in css for c in COLOURS)
    assert css.startswith(":root {")


def test_the_grey_round_the_picture_is_neutral() -> None:
    grey = ink("room")
    assert grey[1:3] == grey[3:5] == grey[5:7]
