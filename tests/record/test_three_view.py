"""The three-view drawing: directions, scale, ellipses, labels."""

from __future__ import annotations

import math
import random
import re
from itertools import combinations

import numpy as np
import pytest

from panelwright.quantities import Units
from panelwright.record import spot_marks, spots
from panelwright.record.spots import Kind, Push, Spot
from panelwright.record.three_view import draw
from panelwright.record.views import Matrix, three_views

CORNERS = ((0.0, -800.0, 400.0), (0.0, 800.0, 400.0), (2600.0, -780.0, 1500.0))


def matrix(x: float, y: float, z: float) -> Matrix:
    return ((x * x, 0.0, 0.0), (0.0, y * y, 0.0), (0.0, 0.0, z * z))


def crowd(count: int, seed: int) -> list[Spot]:
    """Points as close together as on a real corner, drawn from a fixed seed."""
    dice = random.Random(seed)  # noqa: S311 - points, not secrets
    crowded = []
    for number in range(count):
        place = (dice.uniform(0, 2600), dice.uniform(-900, -700), dice.uniform(300, 1900))
        off = (dice.uniform(-3, 3), dice.uniform(-3, 3), dice.uniform(-3, 3))
        crowded.append(
            Spot(f"L{number}", place, Kind.PART, off, matrix(0.5, 0.7, 0.4), 3.0, "undecided")
        )
    return [*crowded, Spot("RA", (0.0, 800.0, 400.0)), Spot("RB", (2600.0, 850.0, 1500.0))]


@pytest.mark.exact
def test_left_part_is_seen_from_the_left_with_the_rear_on_the_right():
    side, rear, top = three_views(CORNERS, width_mm=170, height_mm=140, left_side=True)
    front, back = (0.0, -800.0, 400.0), (2600.0, -800.0, 400.0)
    low, high = (0.0, -800.0, 400.0), (0.0, -800.0, 900.0)
    left, right = (0.0, -800.0, 400.0), (0.0, 800.0, 400.0)
    assert side.spot(back)[0] > side.spot(front)[0]
    assert side.spot(high)[1] < side.spot(low)[1]
    assert rear.spot(right)[0] > rear.spot(left)[0]
    assert top.spot(back)[0] > top.spot(front)[0]
    assert top.spot(left)[1] > top.spot(right)[1]


@pytest.mark.exact
def test_right_part_is_seen_from_the_right_with_the_rear_on_the_left():
    side, rear, top = three_views(CORNERS, width_mm=170, height_mm=140, left_side=False)
    front, back = (0.0, 800.0, 400.0), (2600.0, 800.0, 400.0)
    left, right = (0.0, -800.0, 400.0), (0.0, 800.0, 400.0)
    assert side.spot(back)[0] < side.spot(front)[0]
    assert rear.spot(right)[0] > rear.spot(left)[0]
    assert top.spot(right)[1] > top.spot(left)[1]


@pytest.mark.invariant
@pytest.mark.parametrize("left_side", [True, False])
def test_each_view_is_what_an_eye_sees_not_its_mirror_image(left_side):
    """Right × up points to the eye: the three looks are from left or right, behind, above."""
    side, rear, top = three_views(CORNERS, width_mm=170, height_mm=140, left_side=left_side)
    eyes = ((0, -1 if left_side else 1, 0), (1, 0, 0), (0, 0, 1))
    for view, eye in zip((side, rear, top), eyes, strict=True):
        assert np.cross(view.across, view.up) == pytest.approx(eye)


@pytest.mark.exact
def test_a_length_on_paper_times_the_scale_is_the_true_length():
    for view in three_views(CORNERS, width_mm=170, height_mm=140, left_side=True):
        a, b = CORNERS[0], CORNERS[2]
        paper = np.subtract(view.spot(b), view.spot(a))
        true = (np.dot(view.across, np.subtract(b, a)), -np.dot(view.up, np.subtract(b, a)))
        assert paper * view.scale == pytest.approx(true)


@pytest.mark.invariant
@pytest.mark.parametrize(("width", "height"), [(176.0, 138.0), (100.0, 90.0), (150.0, 250.0)])
def test_views_fit_the_paper_and_do_not_overlap(width, height):
    views = three_views(CORNERS, width_mm=width, height_mm=height, left_side=True)
    for view in views:
        assert view.left_mm + view.width_mm <= width + 1e-9
        assert view.top_mm + view.height_mm <= height + 1e-9
    for a, b in combinations(views, 2):
        beside = a.left_mm + a.width_mm <= b.left_mm + 1e-9
        above = a.top_mm + a.height_mm <= b.top_mm + 1e-9
        assert beside or above or b.left_mm + b.width_mm <= a.left_mm + 1e-9


@pytest.mark.published
def test_the_ellipse_holds_95_percent():
    """χ²(0.95; 2) = 5.991, any table of the chi-square distribution (memory)."""
    assert pytest.approx(5.991, abs=5e-4) == spots.ELLIPSE_95**2


@pytest.mark.second_route
def test_the_drawn_ellipse_agrees_with_numpy():
    root = np.array([[0.8, 0.1, 0.0], [0.3, 0.5, 0.1], [-0.2, 0.4, 0.9]])
    full = root @ root.T
    covariance = tuple(tuple(float(value) for value in row) for row in full)
    for view in three_views(CORNERS, width_mm=170, height_mm=140, left_side=True):
        axes = np.array([view.across, view.up])
        flat = axes @ full @ axes.T
        assert view.covariance(covariance) == pytest.approx((flat[0, 0], flat[0, 1], flat[1, 1]))
        wide, narrow, turn = spot_marks.eigen(view.covariance(covariance))
        values, vectors = np.linalg.eigh(flat)
        assert (narrow**2, wide**2) == pytest.approx(tuple(values))
        assert abs(vectors[:, 1] @ (math.cos(turn), math.sin(turn))) == pytest.approx(1.0)


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("count", [3, 12, 25])
def test_no_label_lies_on_another_or_on_a_point(count, seed):
    drawing = draw(crowd(count, seed), (Push("A", (1000.0, -800.0, 900.0), (0.0, 0.0, 1.0), 3.0),))
    assert len(drawing.placed) >= count
    for a, b in combinations(drawing.placed, 2):
        assert not a.box.touches(b.box)
    for placed in drawing.placed:
        assert placed.box.left >= 0
        assert placed.box.right <= drawing.width_mm
        assert placed.box.top >= 0
        assert placed.box.bottom <= drawing.height_mm


@pytest.mark.invariant
def test_the_same_points_give_the_same_drawing():
    assert draw(crowd(8, 1)).svg == draw(crowd(8, 1)).svg


def test_scale_and_exaggeration_are_said_in_the_drawing():
    drawing = draw(crowd(8, 1))
    assert f"Scale 1 : {drawing.scale}" in drawing.svg
    assert f"1 mm off is drawn {drawing.paper_mm_per_mm:g} mm long" in drawing.svg
    assert f"1 : {drawing.scale}" in drawing.caption


def test_the_exaggeration_is_said_in_the_readers_units():
    drawing = draw(crowd(8, 1), units=Units.IN)
    said = f"0.1 in off is drawn {0.1 * drawing.paper_mm_per_mm:g} in long"
    assert said in drawing.svg
    assert said in drawing.caption
    assert " mm" not in drawing.caption


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(3))
def test_a_label_that_stands_off_has_a_line_to_its_spot(seed):
    drawing = draw(crowd(25, seed))
    leaders = [placed.leader for placed in drawing.placed]
    assert leaders == [placed.box.away_mm(placed.x, placed.y) > 4.0 for placed in drawing.placed]
    assert any(leaders)
    for placed in drawing.placed:
        corner = (placed.box.left - 3.0, placed.box.top - 4.0)
        assert placed.box.away_mm(*corner) == pytest.approx(5.0)
        assert placed.box.away_mm(placed.box.left, placed.box.bottom) == 0.0


def test_the_widest_label_of_a_view_is_placed_first():
    places = [
        Spot(name, (100.0 * n, -800.0, 900.0)) for n, name in enumerate(("A", "long one", "Bc"))
    ]
    view = three_views([p.xyz_mm for p in places], width_mm=170, height_mm=140, left_side=True)[0]
    assert [text for text, _ in spot_marks.named(view, places)] == ["long one", "Bc", "A"]


@pytest.mark.exact
def test_off_is_drawn_by_the_stated_exaggeration():
    spot = Spot("L3", (1000.0, -800.0, 900.0), Kind.PART, (0.0, 0.0, 2.0), None, 3.0, "outside")
    other = Spot("L4", (2000.0, -800.0, 900.0), Kind.PART, (0.0, 0.0, 0.0), None, 3.0, "inside")
    drawing = draw((spot, other))
    radius = 3.0 * drawing.paper_mm_per_mm
    assert f'r="{radius:g}"' in drawing.svg
    tips = re.findall(r'<polygon points="[-\d.]+,([-\d.]+) [^"]*" fill="#16191d"/>', drawing.svg)
    views = three_views([spot.xyz_mm, other.xyz_mm], width_mm=176, height_mm=138, left_side=True)
    home = views[0].spot(spot.xyz_mm)[1]
    assert min(abs(home - float(tip) - 2.0 * drawing.paper_mm_per_mm) for tip in tips) < 2e-3


@pytest.mark.invariant
def test_nothing_is_drawn_larger_than_its_room():
    for size in (0.01, 0.3, 4.0, 70.0):
        spot = Spot("L3", (0, -1, 0), Kind.PART, (size, 0, 0), None, size, "outside")
        k = spots.exaggeration((spot,), ())
        assert k * size <= spots.LARGEST_MM or k == spots.EXAGGERATIONS[-1]


def test_one_point_alone_can_be_drawn():
    drawing = draw((Spot("L3", (100.0, -800.0, 900.0), Kind.PART),))
    assert ">L3<" in drawing.svg


def test_a_hostile_label_is_data_not_markup():
    drawing = draw((Spot('<b>&"', (100.0, -800.0, 900.0), Kind.PART),))
    assert "&lt;b&gt;&amp;" in drawing.svg
    assert "<b>" not in drawing.svg


@pytest.mark.invariant
@pytest.mark.parametrize("count", [2, 9, 20])
def test_the_two_bands_of_a_drawing_are_the_drawing(count):
    drawn = draw(crowd(count, seed=count), [Push("A", CORNERS[0], (0.0, 0.0, 1.0), 2.0)])
    assert sum(band.height_mm for band in drawn.bands) == pytest.approx(drawn.height_mm)
    shapes = "".join(re.sub(r"</?svg[^>]*>", "", band.svg) for band in drawn.bands)
    whole = re.sub(r"</?svg[^>]*>", "", drawn.svg)
    assert sorted(re.findall(r"<[^/][^>]*>", shapes)) == sorted(re.findall(r"<[^/][^>]*>", whole))


def test_a_drawing_whose_labels_leave_their_view_stays_whole():
    crowded = draw(crowd(120, seed=3), width_mm=101.0, height_mm=116.0)
    seam = [placed for placed in crowded.placed if placed.box.bottom > 0.0]
    assert seam
    assert len(crowded.bands) in (1, 2)
    for band in crowded.bands:
        assert band.height_mm <= crowded.height_mm
