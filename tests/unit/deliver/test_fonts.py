"""Letter widths come from the fonts' own tables."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from shotcrit.sheet.fonts import FILES, FOLDER, fit, fonts_css, has_all, metrics, text_width, wrap


def test_all_four_faces_and_their_licence_are_shipped() -> None:
    for name in FILES.values():
        assert (FOLDER / f"{name}.ttf").is_file()
        assert (FOLDER / f"{name}.woff2").read_bytes()[:4] == b"wOF2"
    assert "SIL Open Font License" in (FOLDER / "OFL.txt").read_text(encoding="utf-8")


def test_digits_are_all_as_wide_as_each_other() -> None:
    """IBM Plex has tabular figures: 600 of 1000."""
    assert {metrics("r").widths[d] for d in "0123456789"} == {600.0}
    assert text_width("1001", "r", 10) == 24.0


def test_condensed_is_narrower() -> None:
    assert text_width("lighthouse", "c", 10) < text_width("lighthouse", "r", 10)
    assert text_width("lighthouse", "r", 10) < text_width("lighthouse", "b", 10)


def test_letters_beyond_the_family_are_known_to_be_missing() -> None:
    assert has_all("Žofie Ωμέγα Юля “ø” → 14°")
    assert not has_all("灯台")


@given(st.text(max_size=40), st.floats(5, 200))
def test_what_is_fitted_fits(text: str, room: float) -> None:
    shown, face, size = fit(text, "r", 8, room)
    assert text_width(shown, face, size) <= room + 1e-6 or shown in ("…", "")


@given(st.text(max_size=80), st.integers(1, 4))
def test_wrapped_lines_fit_and_are_not_too_many(text: str, most: int) -> None:
    lines = wrap(text, "c", 7, 60, most)
    assert len(lines) <= most
    assert all(text_width(line, "c", 7) <= 60 * 1.26 for line in lines)


def test_the_page_carries_its_fonts() -> None:
    css = fonts_css()
    assert css.count("@font-face") == 4
    assert "url(data:font/woff2;base64," in css
    assert "http" not in css
