"""Text widths agree with the font files they were taken from, and no text, however odd, breaks them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemagen.base.text import CAP_HEIGHT, FAMILY, FONT_FILES, MISSING, font_size_for, text_width

SAMPLES = ["HP1", "Air-source heat pump", "28 mm · 45 °C", "Zählerraum, Küche, šťáva, łazienka", "ΔT ≥ 5 K ⌀ ½ → ⚠"]


@pytest.mark.parametrize("bold", [False, True], ids=["regular", "bold"])
@pytest.mark.parametrize("text", SAMPLES)
def test_a_width_is_the_sum_of_the_advances_in_the_font_file(text, bold):
    tt_lib = pytest.importorskip("fontTools.ttLib")
    font = tt_lib.TTFont(FONT_FILES[bold])
    glyphs, advances = font.getBestCmap(), font["hmtx"]
    expected = sum(advances[glyphs[ord(sign)]][0] for sign in text) * 7.5 / font["head"].unitsPerEm
    assert text_width(text, 7.5, bold) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("path", FONT_FILES, ids=lambda p: p.name)
def test_the_font_carries_our_own_name_its_licence_and_no_kerning(path):
    tt_lib = pytest.importorskip("fontTools.ttLib")
    font = tt_lib.TTFont(path)
    assert font["name"].getDebugName(1) == FAMILY
    assert not {"GPOS", "GSUB", "kern"} & set(font.keys())
    licence = (path.parent / "LICENCE.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted" in licence


@pytest.mark.parametrize("path", FONT_FILES, ids=lambda p: p.name)
def test_the_stated_capital_height_is_that_of_the_letter_h(path):
    tt_lib = pytest.importorskip("fontTools.ttLib")
    font = tt_lib.TTFont(path)
    assert font["glyf"]["H"].yMax / font["head"].unitsPerEm == pytest.approx(CAP_HEIGHT, abs=0.001)
    assert font_size_for(2.5) * font["glyf"]["H"].yMax / font["head"].unitsPerEm == pytest.approx(2.5, abs=0.005)


def test_bold_text_is_wider():
    assert text_width("Return", 10, bold=True) > text_width("Return", 10)


def test_signs_the_font_lacks_are_taken_as_wide_and_marks_as_nothing():
    assert text_width("🔥", 10) == pytest.approx(10 * MISSING)
    assert text_width("שלום", 10) == pytest.approx(40 * MISSING)
    assert text_width("e\u0301", 10) == text_width("e", 10)
    assert text_width("\u202eab\u202c\x07", 10) == text_width("ab", 10)


@given(st.text(), st.floats(0.1, 50))
def test_any_text_has_a_width_that_grows_with_the_font(text, size):
    width = text_width(text, size)
    assert 0 <= width <= len(text) * size * 2
    assert text_width(text, 2 * size) == pytest.approx(2 * width)
