"""A grade of printed bars after ISO/IEC 15416, from the profile of scan lines; shares nothing with what draws the bars.

From memory of the standard, without its text at hand: ten scan lines through the middle 80 % of the height, seen
through an aperture of 0.8 of a module (square here, round there); each line is graded by its weakest figure, and the
symbol by the mean of its lines. The limits (4.0 … 0) of each figure are those of its table, also from memory.
Decodability is that of ISO/IEC 15417, edge to similar edge only. Ink on white paper stands for reflectance.
"""

from itertools import pairwise

import numpy as np
from PIL import ImageFilter

LINES = 10
# figure: least values of the grades 4, 3, 2, 1; higher is better
CONTRAST = (0.70, 0.55, 0.40, 0.20)
MODULATION = (0.70, 0.60, 0.50, 0.40)
DECODABILITY = (0.62, 0.50, 0.37, 0.25)
DEFECTS = (-0.15, -0.20, -0.25, -0.30)  # of the greatest: lower is better
EDGE = 0.15
# Bars and spaces of a symbol character of Code 128 take 11 modules in six runs.
RUNS, MODULES = 6, 11


def graded(value, limits):
    return next((4 - place for place, limit in enumerate(limits) if value >= limit), 0)


def grade(picture, module):
    """Return the grade of bars alone in a picture in greys, and the figures of its lines; `module` in dots."""
    seen = picture.filter(ImageFilter.BoxBlur(0.4 * module - 0.5))  # a square window of 0.8 of a module
    rows = np.linspace(0.1, 0.9, LINES) * (picture.height - 1)
    lines = [figures(np.asarray(seen)[round(row)] / 255) for row in rows]
    return sum(min(line["grades"].values()) for line in lines) / LINES, lines


def figures(profile):
    """Return the figures of one scan line and their grades."""
    high, low = profile.max(), profile.min()
    level = (high + low) / 2
    places = crossings(profile, level)
    bounds = [0, *(int(place) + 1 for place in places), len(profile)]
    parts = [profile[a:b] for a, b in pairwise(bounds)]  # space, bar, space … space
    peaks = [part.min() if place % 2 else part.max() for place, part in enumerate(parts)]
    found = {
        "contrast": high - low,
        "edge": min(abs(a - b) for a, b in pairwise(peaks)),
        "defects": max(unevenness(1 - part if place % 2 else part) for place, part in enumerate(parts)) / (high - low),
        "decodability": decodability(places),
    }
    found["modulation"] = found["edge"] / (high - low)
    grades = {
        "contrast": graded(found["contrast"], CONTRAST),
        "least": 4 if low <= 0.5 * high else 0,
        "edge": 4 if found["edge"] >= EDGE else 0,
        "modulation": graded(found["modulation"], MODULATION),
        "defects": graded(-found["defects"], DEFECTS),
        "decodability": graded(found["decodability"], DECODABILITY),
    }
    return {**found, "grades": grades}


def crossings(profile, level):
    """Return where the profile crosses the level, between the dots too."""
    above = profile > level
    at = np.flatnonzero(above[1:] != above[:-1])
    return at + (profile[at] - level) / (profile[at] - profile[at + 1])


def unevenness(part):
    """Return how deep the deepest valley of a light part is: 0 where it rises to one peak and falls."""
    return (np.minimum(np.maximum.accumulate(part), np.maximum.accumulate(part[::-1])[::-1]) - part).max()


def decodability(places):
    """Return how far the nearest edge-to-similar-edge distance is from being taken for another, 1: as it should be."""
    least = 1.0
    for first in range(0, len(places) - RUNS, RUNS):
        character = places[first : first + RUNS + 1]
        half = (character[-1] - character[0]) / (2 * MODULES)
        for a, b in zip(character[:-2], character[2:], strict=True):
            off = abs((b - a) / (2 * half) - round((b - a) / (2 * half)))  # modules beside a whole number
            least = min(least, 1 - 2 * off)
    return least
