"""Colours against WCAG 2.2 (4.5:1 for text, 1.4.3; 3:1 for what has to be made out, 1.4.11)."""

import itertools

import pytest

from wearlog.drawing.palette import contrast, grid_px, palette, type_font, type_sizes
from wearlog.fleet.state import State

THEMES = ("light", "dark", "paper")


def grounds(colours):
    return {colours.ground, colours.panel, colours.raised}


def test_contrast_agrees_with_published_pairs():
    # W3C, Understanding Success Criterion 1.4.3: black on white is 21:1; #767676 on white is the lightest
    # grey that passes 4.5:1 (WebAIM contrast checker: 4.54:1, from memory).
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("theme", THEMES)
def test_text_reaches_four_and_a_half_to_one_on_every_ground(theme):
    colours = palette(theme)
    words = [
        colours.ink,
        colours.muted,
        colours.accent,
        colours.problem,
        *(look.text for look in colours.looks),
    ]
    for ground, word in itertools.product(grounds(colours), words):
        assert contrast(ground, word) >= 4.5, (ground, word)
    assert contrast(colours.accent, colours.on_accent) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
def test_marks_reach_three_to_one_on_every_ground(theme):
    colours = palette(theme)
    marks = [colours.outline, colours.median, colours.crossing, *(look.mark for look in colours.looks)]
    for ground, mark in itertools.product(grounds(colours), marks):
        assert contrast(ground, mark) >= 3.0, (ground, mark)


@pytest.mark.parametrize("theme", THEMES)
def test_readings_and_the_median_stand_out_from_the_bands_they_lie_on(theme):
    colours = palette(theme)
    for band in (*colours.bands, *colours.bands_ahead):
        assert contrast(band, colours.ink) >= 3.0
    for known, ahead in zip(colours.bands, colours.bands_ahead, strict=True):
        assert contrast(colours.ground, ahead) < contrast(colours.ground, known)


def test_every_state_has_a_shape_of_its_own():
    shapes = [look.shape for look in palette("light").looks]
    assert len(set(shapes)) == len(State)


def test_past_limit_is_told_by_shape_and_weight_rather_than_hue():
    for theme in THEMES:
        colours = palette(theme)
        assert colours.look(State.PAST_LIMIT).mark == (
            colours.ink if theme != "paper" else palette("light").ink
        )
        weights = [contrast(colours.ground, look.mark) for look in colours.looks]
        assert max(weights) == contrast(colours.ground, colours.look(State.PAST_LIMIT).mark)


def test_every_colour_of_a_state_belongs_to_the_hues_of_okabe_and_ito(qapp):
    # Okabe and Ito 2008: hue angles of blue 202, sky blue 202, orange 41, vermillion 26 degrees.
    from wearlog.drawing.palette import colour

    hues = {State.WITHIN_LIMIT: 202, State.PLAN: 41, State.DUE: 26}
    for theme, (state, hue) in itertools.product(THEMES, hues.items()):
        look = palette(theme).look(state)
        assert colour(look.mark).hue() == pytest.approx(hue, abs=3)


def test_there_are_four_sizes_of_text_and_one_grid(qapp):
    sizes = type_sizes()
    assert sizes.caption < sizes.body < sizes.heading < sizes.figure
    assert grid_px() == 8
    assert type_font("figure", scale=2.0).pixelSize() == 2 * sizes.figure
