"""The pictures: fit for a page, true to their records, legible, and the same each time."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from picture_reading import SVG, Scales, marks, overlaps, points, read, words
from picture_reports import boundless, every_picture, healthy, layers, of_print, step, weighed
from tiers import WIDE, only_wide, spread, wide

from advisor.answers.curve_records import BandLine, ForceReport, TorqueReport
from advisor.base import Band
from advisor.report.pictures import draw_force, draw_heights, draw_torque, draw_weighed
from advisor.report.pictures.palette import PALETTE
from advisor.weigh.records import trade

pytestmark = wide
DRAWN = {"svg", "title", "desc", "g", "defs", "clipPath", "rect", "path", "use", "text"}


def every_hard_one() -> dict[str, str]:
    force, torque, test = healthy()
    assert force.needed is not None
    assert torque.needed is not None
    huge = Band(1e12, 0.0, float("inf"))
    endless = replace(force, needed=boundless(force.needed), capacity=Band(1.0, 0.0, 1e30))
    points_ = tuple(replace(point, needed=huge) for point in torque.points)
    nan = float("nan")
    drawn: dict[str, Callable[[], str]] = {
        "endless force": lambda: draw_force(endless),
        "levels far off": lambda: draw_force(replace(force, grip=huge, buckling=huge, heater=huge)),
        "no push at all": lambda: draw_force(_powerless(force)),
        "capacity none": lambda: draw_force(replace(force, capacity=Band(0.0, 0.0, 0.0))),
        "endless torque": lambda: draw_torque(replace(torque, points=points_)),
        "no torque known": lambda: draw_torque(replace(torque, needed=_all(torque.needed, nan))),
        "no corner speed": lambda: draw_torque(replace(torque, corner_speed=None)),
        "many layers": lambda: draw_heights(layers(3000)),
        "one layer": lambda: draw_heights(layers(1, capacity=None, skip=None)),
        "profile's cap": lambda: draw_heights(layers(20, cap=7.0)),
        "one weighed": lambda: draw_weighed(weighed(step(5.0, 1.0))),
        "all kinds": lambda: draw_weighed(weighed(*_all_kinds(), knee=Band(1.1e-8, 1e-8, 1.2e-8))),
        "far below": lambda: draw_weighed(replace(test, steps=(step(3.0, 1.0), step(9.0, 0.05)))),
    }
    some = list(drawn) if WIDE else spread(list(drawn), 5)
    return {name: drawn[name]() for name in some}


def _powerless(force: ForceReport) -> ForceReport:
    """A motor whose detent torque eats all of its own: two levels at nought, the rest far off."""
    assert force.usable is not None
    none = _all(force.usable, 0.0)
    return replace(force, usable=none, stall=none)


def _all(line: BandLine, value: float) -> BandLine:
    same = tuple(value for _ in line.value)
    return BandLine(value=same, low=same, high=same)


def _all_kinds() -> tuple:
    return (
        step(3.0, 1.0), step(6.0, 1.01), step(8.0, 1.2, outlier="too much came out"),
        step(10.0, 0.97), step(12.0, 0.9, skipped="unsure"), step(14.0, 0.6, skipped="yes"),
    )  # fmt: skip


@functools.cache
def pictures() -> dict[str, str]:
    drawn = {name: picture for name, picture in every_picture().items() if picture}
    return {**drawn, **every_hard_one()}


@wide
@only_wide
def test_every_sample_is_drawn_or_says_why_not() -> None:
    """Only where the report has no lines there is no picture."""
    empty = {name for name, picture in every_picture().items() if not picture}

    assert empty == {f"ugly/printer.cfg {n} {kind}" for n in (1, 2) for kind in ("force", "torque")}
    assert len(every_picture()) > (20 if WIDE else 9)


def test_it_is_one_element_that_tells_itself() -> None:
    """Well formed, scaled by the page, with a title and its numbers in words."""
    for name, picture in pictures().items():
        root = read(picture)
        title, told = root.find(f"{SVG}title"), root.find(f"{SVG}desc")

        assert picture.startswith("<svg "), name
        assert root.tag == f"{SVG}svg"
        assert (root.get("role"), root.get("width"), root.get("height")) == ("img", "100%", None)
        assert title is not None
        assert told is not None
        assert root.get("aria-labelledby", "").split() == [title.get("id"), told.get("id")]
        assert title.text
        assert re.search(r"\d", told.text or ""), name
        assert not re.search(r"\b(nan|inf)\b", picture), name


def test_it_takes_its_colours_and_font_from_the_page() -> None:
    """No colour of its own, nothing that reaches beyond it, nothing from elsewhere."""
    for picture in pictures().values():
        root = read(picture)
        used = set(re.findall(r"var\(--([a-z]+)\)", picture))

        assert not re.search(r"#[0-9a-fA-F]{3,8}\b", re.sub(r'(href="|url\()#[^")]*', "", picture))
        assert used
        assert used <= set(PALETTE["light"])
        assert "DejaVu" not in picture
        assert "://" not in picture.replace('xmlns="http://www.w3.org/2000/svg"', "")
        for node in root.iter():
            assert node.tag.removeprefix(SVG) in DRAWN
            assert "style" not in node.attrib
            assert not any(key.startswith("on") for key in node.attrib)
            for key in ("fill", "stroke"):
                assert re.fullmatch(r"none|var\(--[a-z]+\)", node.get(key, "none"))
            assert "font-family" not in node.attrib or node is root


def test_pictures_share_a_page() -> None:
    """No id is there twice, and all that is pointed at is in the same picture."""
    seen: set[str] = set()
    for picture in pictures().values():
        root = read(picture)
        ids = [node.get("id") for node in root.iter() if node.get("id")]
        pointed = re.findall(r'(?:url\(|href=")#([^)"]+)', picture)

        assert len(ids) == len(set(ids))
        assert not seen & set(ids)
        assert set(pointed) <= set(ids)
        seen |= set(ids)


def test_no_words_cover_others() -> None:
    """All texts stand apart and within the picture, in a font wider than most pages'."""
    for name, picture in pictures().items():
        root = read(picture)
        width, height = map(float, root.get("viewBox", "").split()[2:])

        assert not list(overlaps(root)), name
        for word in words(root):
            assert word.left >= 0.0, (name, word)
            assert word.right <= width, (name, word)
            assert word.above >= 0.0, (name, word)
            assert word.below <= height, (name, word)


def test_text_is_read_on_a_phone() -> None:
    """On a page 360 px wide with 16 px at each side no text is smaller than 9 px."""
    for picture in pictures().values():
        root = read(picture)
        scale = (360 - 2 * 16) / float(root.get("viewBox", "").split()[2])
        sizes = [float(node.get("font-size", "0").removesuffix("px"))
                 for node in root.iter(f"{SVG}text")]  # fmt: skip

        assert sizes
        assert min(sizes) * scale >= 9.0


def test_force_lines_are_the_record() -> None:
    """Points read off the drawn lines by the numbers beside the scales are the record's."""
    force, _, _ = healthy()
    root = read(draw_force(force))
    scales = Scales(root)
    for name in ("needed", "usable", "stall"):
        line: BandLine = getattr(force, name)
        drawn = points(root, name)
        shown = np.count_nonzero(drawn[:, 1] > 0.0)  # beyond the picture a line is cut off
        band = points(root, f"{name}-band")
        places = zip(scales.flow(band[:, 0]), scales.height(band[:, 1]), strict=True)

        assert shown > (60 if name == "needed" else 80)
        assert scales.flow(drawn[:shown, 0]) == pytest.approx(force.flows[:shown], abs=0.05)
        assert scales.height(drawn[:shown, 1]) == pytest.approx(line.value[:shown], abs=0.4)
        for flow, end in places:
            ends = [np.interp(flow, force.flows, side) for side in (line.low, line.high)]
            assert min(abs(end - side) for side in ends) < 0.02 * max(ends) + 0.4


def test_force_levels_and_marks_are_the_record() -> None:
    """Grip and free gap stand at their force, capacity and the others at their flow."""
    force, _, _ = healthy()
    root = read(draw_force(force))
    scales = Scales(root)
    for name in ("grip", "grip_usable", "buckling"):
        level: Band = getattr(force, name)
        whisker = np.sort(scales.height(points(root, f"{name}-band")[:, 1]))

        assert scales.height(points(root, name)[:, 1]) == pytest.approx(level.value, abs=0.4)
        assert whisker == pytest.approx([level.low, level.high], abs=0.4)
    for name in ("capacity", "asked", "melt"):
        assert scales.flow(points(root, name)[:, 0]) == pytest.approx(
            getattr(force, name).value, abs=0.05
        )
    assert "heater 81.1 \u2192" in [word.text for word in words(root)]


def test_torque_lines_and_points_are_the_record() -> None:
    """Usable, skip and needed torque, and every operating point at its speed and need."""
    _, torque, _ = healthy()
    root = read(draw_torque(torque))
    scales = Scales(root)
    for name in ("skip", "usable", "needed"):
        line: BandLine = getattr(torque, name)
        drawn = points(root, name)
        shown = np.count_nonzero(drawn[:, 1] > 0.0)

        assert shown >= 5
        assert scales.flow(drawn[:shown, 0]) == pytest.approx(torque.speeds[:shown], abs=0.05)
        assert scales.height(drawn[:shown, 1]) == pytest.approx(line.value[:shown], abs=0.3)
    for point in torque.points:
        ((x, y),) = marks(root, point.name)

        assert scales.flow(x) == pytest.approx(point.motor_speed.value, abs=0.05)
        assert scales.height(y) == pytest.approx(point.needed.value, abs=0.3)


def test_torque_says_where_it_is_not_trusted() -> None:
    """The shares of the corner speed are shaded, and told in words."""
    _, torque, _ = healthy()
    corner = torque.corner_speed
    assert corner is not None
    root = read(draw_torque(replace(torque, corner_speed=Band(20.0, 19.0, 21.0))))
    scales = Scales(root)
    less, beyond = points(root, "less-sure"), points(root, "not-trusted")
    told = [word.text for word in words(root)]

    assert scales.flow(less[:, 0]).min() == pytest.approx(20.0 * torque.trusted_share, abs=0.05)
    assert scales.flow(less[:, 0]).max() == pytest.approx(20.0 * torque.limit_share, abs=0.05)
    assert scales.flow(beyond[:, 0]).max() == pytest.approx(torque.speeds[-1], abs=0.05)
    assert scales.flow(points(root, "corner")[:, 0]) == pytest.approx(20.0, abs=0.05)
    assert {"trusted", "less sure", "not trusted", "corner speed 20"} <= set(told)


def test_torque_names_what_is_too_much() -> None:
    """Words, not colour alone, tell a point above the usable torque and one that skips."""
    _, torque, _ = healthy()
    first, second, *others = torque.points
    over = replace(first, needed=Band(40.0, 30.0, 50.0), usable=Band(33.0, 30.0, 40.0))
    lost = replace(second, needed=Band(52.0, 30.0, 60.0), skip=Band(50.0, 40.0, 60.0))
    root = read(draw_torque(replace(torque, points=(over, lost, *others))))
    told = [word.text for word in words(root)]

    assert sum(text.endswith(": too much") for text in told) == 1
    assert sum(text.endswith(": skips") for text in told) == 1


def test_every_operating_point_is_named() -> None:
    """Each has its words on the picture, in every sample."""
    _, torque, _ = healthy()
    told = [word.text for word in words(read(draw_torque(torque)))]

    assert len(torque.points) == 6
    for name in ("at capacity", "requested flow", "advance", "retract", "profile retract",
                 "extrude-only limit"):  # fmt: skip
        assert name in told


def test_heights_are_the_record() -> None:
    """Each layer's sustained flow stands at its height; capacity and skip where they are."""
    report = of_print()
    root = read(draw_heights(report))
    scales = Scales(root)
    outline, peak = points(root, "sustained"), points(root, "peak")
    tops = [row.height for row in report.layers]

    assert scales.flow(outline[::2, 0]) == pytest.approx(
        [row.sustained for row in report.layers], abs=0.05
    )
    assert scales.flow(peak[1::2, 0]) == pytest.approx(
        [row.peak for row in report.layers], abs=0.05
    )
    assert scales.height(outline[1::2, 1]) == pytest.approx(tops, abs=0.01)
    assert report.capacity is not None
    assert scales.flow(points(root, "capacity")[:, 0]) == pytest.approx(
        report.capacity.value, abs=0.05
    )
    assert scales.flow(np.sort(points(root, "capacity-band")[:, 0])) == pytest.approx(
        [report.capacity.low, report.capacity.high], abs=0.05
    )


def test_many_layers_keep_their_largest() -> None:
    """Neighbours are joined, and no peak is lost by that."""
    report = layers(3000)
    high = replace(report.layers[1234], peak=99.0, sustained=77.0)
    rows = (*report.layers[:1234], high, *report.layers[1235:])
    picture = draw_heights(replace(report, layers=rows))
    root = read(picture)
    scales = Scales(root)

    assert scales.flow(points(root, "peak")[:, 0]).max() == pytest.approx(99.0, abs=0.3)
    assert scales.flow(points(root, "sustained")[:, 0]).max() == pytest.approx(77.0, abs=0.3)
    assert len(picture) < 40_000


FALLING = (
    step(3.0, 1.0), step(8.0, 1.0), step(10.0, 1.0), step(12.0, 0.96),
    step(14.0, 0.92, skipped="unsure"), step(16.0, 0.6, skipped="yes"),
)  # fmt: skip
KNEE = Band(1.1e-8, 1.0e-8, 1.2e-8)


def test_every_weighed_flow_is_a_mark_to_scale() -> None:
    """Rings, a wedge and a cross where they were measured, each with its uncertainty."""
    root = read(draw_weighed(weighed(*FALLING, knee=KNEE)))
    scales = Scales(root)
    rings = marks(root, "whole")
    bars = [points(root, f"{kind}-bar") for kind in ("unsure", "skipped")]

    assert scales.flow(rings[:, 0]) == pytest.approx([3.0, 8.0, 10.0, 12.0], abs=0.05)
    assert scales.height(rings[:, 1]) == pytest.approx([100.0, 100.0, 100.0, 96.0], abs=0.4)
    assert scales.flow(marks(root, "skipped")[:, 0]) == pytest.approx([16.0], abs=0.05)
    assert scales.height(marks(root, "unsure")[:, 1]) == pytest.approx([92.0], abs=0.4)
    assert np.ptp(scales.height(bars[0][:, 1])) == pytest.approx(4.0, abs=0.1)
    assert scales.flow(points(root, "knee")[:, 0]) == pytest.approx(11.0, abs=0.05)
    assert np.sort(scales.flow(points(root, "knee-band")[:, 0])) == pytest.approx(
        [10.0, 12.0], abs=0.05
    )


def test_weighed_shapes_differ() -> None:
    """A skip, a perhaps and an outlier have shapes of their own, named beside the first."""
    root = read(draw_weighed(weighed(*_all_kinds())))
    shapes = {node.get("id"): node.get("d") for node in root.iter(f"{SVG}path") if node.get("id")}
    used = {}
    for kind in ("whole", "skipped", "unsure", "left-out"):
        group = next(node for node in root.iter() if node.get("data-of") == kind)
        (use,) = (node for node in group.iter(f"{SVG}use"))
        used[kind] = shapes[use.get("href", "").removeprefix("#")]
    told = [word.text for word in words(root)]

    assert len(set(used.values())) == 4
    assert {"delivered", "skipped", "perhaps skipped", "left out"} <= set(told)


def test_a_weighed_test_says_in_words_what_it_draws() -> None:
    """A screen reader hears the limit and every point; the user's name of it is text."""
    falling = read(draw_weighed(weighed(*FALLING, knee=KNEE)))
    level = read(draw_weighed(weighed(step(3.0, 1.0), step(8.0, 1.0))))
    told = falling.findtext(f"{SVG}desc") or ""

    assert falling.findtext(f"{SVG}title") == "Weighed flow test: a <b> & c"
    assert "Under-extrusion starts at 11.0 (10-12) mm\u00b3/s" in told
    assert "8.0: 100.0 %" in told
    assert "16.0: 60.0 % skipped" in told
    assert "No under-extrusion" in (level.findtext(f"{SVG}desc") or "")
    assert not [node for node in level.iter() if node.get("data-of") == "knee"]


def test_the_samples_test_shows_its_knee() -> None:
    """The knee drawn is the knee worked out."""
    test = healthy()[2]
    root = read(draw_weighed(test))
    knee = trade(test.knee, "mm3/s")

    assert knee is not None
    assert Scales(root).flow(points(root, "knee")[:, 0]) == pytest.approx(knee.value, abs=0.05)


def test_nothing_known_is_no_picture() -> None:
    """A report without lines, heights or steps is no picture, so that the page can say why."""
    assert draw_force(ForceReport(extruder="extruder")) == ""
    assert draw_torque(TorqueReport(extruder=None)) == ""
    assert draw_heights(replace(of_print(), layers=())) == ""
    assert draw_heights(layers(3, capacity=None)) != ""
    assert draw_weighed(weighed()) == ""
