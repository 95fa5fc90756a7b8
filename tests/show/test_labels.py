"""Names and numbers stay clear of one another and inside the block."""

from __future__ import annotations

from itertools import combinations

import pytest
from shapely.geometry import LineString, Point, box

from squeeze.show.figure.closing import figure
from squeeze.show.figure.labels import LETTER_IN, LINE_IN, Labels
from squeeze.show.figure.outlines import pose_of
from squeeze.verdict import judge

MM_PER_INCH = 20.0


def area(name, point):
    wide, high = LETTER_IN * len(name) * MM_PER_INCH, LINE_IN * MM_PER_INCH
    x, y = point
    return box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)


@pytest.mark.parametrize("count", [2, 3, 7])
def test_names_and_numbers_do_not_overlap(made_up, count):
    """At this scale a name is 10.4 mm wide; 7 cavities stand 15 mm apart, 10 mm wide."""
    centres = tuple(15.0 * (k - (count - 1) / 2) for k in range(count))
    closing = made_up(centres_mm=centres).closing()
    labels = Labels(closing, pose_of(closing, False), MM_PER_INCH)
    areas = [area(*each) for each in labels.cavities()]
    areas += [Point(p).buffer(0.1 * MM_PER_INCH) for p in labels.lands()]
    assert len(areas) == 2 * count + 1
    assert not any(a.intersects(b) for a, b in combinations(areas, 2))
    block = closing.section.outline.polygon
    assert all(block.contains(each) for each in areas)


def test_a_name_that_fits_stands_in_its_cavity(made_up):
    closing = made_up(centres_mm=(0.0,)).closing()
    labels = Labels(closing, pose_of(closing, False), 10.0)
    ((name, point),) = labels.cavities()
    assert name == "barrel 1"
    assert tuple(point) == (0.0, 40.0)


@pytest.mark.parametrize("count", [2, 4])
def test_each_land_bears_its_number_in_the_picture_and_over_its_panel(made_up, count):
    """Whoever reads of land 2 finds it in the section, and its curve below."""
    centres = tuple(22.0 * (k - (count - 1) / 2) for k in range(count))
    closing = made_up(centres_mm=centres).closing()
    verdict = judge(closing)
    made = figure(closing, verdict)
    section, _, *below = made.axes
    known = [str(k + 1) for k in range(count + 1)]
    places = [(t.get_text(), Point(t.xy)) for t in section.texts if t.get_text().isdigit()]
    assert [text for text, _ in places] == known
    lands = [LineString(list(zip(land.x_mm, land.y_mm, strict=True))) for land in closing.lands]
    for k, (_, place) in enumerate(places):
        apart = [place.distance(land) for land in lands]
        assert apart.index(min(apart)) == k
        assert 0 < apart[k] < 0.1 * 120  # beside it, and not on it
    titles = [" ".join(ax.get_title(loc="left").split()) for ax in below]
    titles = [title for title in titles if title[:1].isdigit()]
    assert titles == [f"{k} {land.name}" for k, land in zip(known, verdict.lands, strict=True)]
