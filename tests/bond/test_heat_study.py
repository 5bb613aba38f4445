"""The study of heatings runs, its plate is a plate, and a band too sure of itself does not pass."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from bench.heat_study.ask import file_of
from bench.heat_study.plate import (
    Course,
    Mesh,
    absorbed,
    course,
    fields,
    irradiance,
    loss,
    matrices,
    still_air,
)
from bench.heat_study.report import page
from bench.heat_study.study import BROKEN, Count, broken, sound
from bench.heat_study.truth import answers, reached, readings
from bench.heat_study.world import Air, Heating, Lamp, Standing, World, heating
from bench.sheet_study.truth import Truth

from panelwright.bond.convection import natural_convection_upright
from panelwright.facts.file import read

FINE = Mesh(along_m=0.0175, across_m=0.005, growth=1.22, step_min=0.25)


@pytest.fixture(scope="module")
def one() -> Heating:
    return heating(Random("one"))  # noqa: S311 - a simulation


def test_heatings_are_asked_and_their_page_is_written() -> None:
    trial, spoilt = sound(1, 3), broken(2, 3)
    assert trial is not None
    assert spoilt is not None
    assert spoilt.groups[0] == BROKEN[2]
    assert [asked.published_off for asked in trial.asked] == [0.0] * 3
    text = page([trial], [spoilt], 1, 3)
    assert "1 invented heatings (seed 3)" in text
    assert "| time to handle | three | 95 % |" in text
    assert "| air 8 K off | 1 | three |" in text


def test_the_file_says_what_a_technician_knows_and_no_more(one: Heating) -> None:
    other = replace(one, world=replace(one.world, absorptivity=0.5, emissivity=(0.2, 0.3)))
    assert file_of(one.told, ()) == file_of(other.told, ())
    dice = Random("two")  # noqa: S311 - a simulation
    taken = readings(one, course(one.world), dice)
    repair = read(file_of(one.told, taken))
    assert [reading.value.celsius for reading in repair.temperatures] == [
        reading.celsius for reading in taken
    ]
    assert all(heating.absorptivity in {None, 0.9} for heating in repair.heatings)


@pytest.mark.second_route
def test_half_the_mesh_and_step_change_little(one: Heating) -> None:
    coarse, fine = course(one.world), course(one.world, FINE)
    first, second = answers(one.world, coarse), answers(one.world, fine)
    assert first["hottest"] == pytest.approx(second["hottest"], abs=0.15)
    assert first["coldest at 30 min"] == pytest.approx(second["coldest at 30 min"], abs=0.15)
    assert first["time to handle"] == pytest.approx(second["time to handle"], rel=0.01)


@pytest.mark.invariant
def test_heat_that_is_not_lost_stays(one: Heating) -> None:
    air = replace(one.world.air, swing_K=0.0, convection=0.0)
    world = replace(one.world, emissivity=(0.0, 0.0), air=air)
    parts = matrices(world.metal, Mesh())
    minutes = np.arange(0.0, world.lamp.standings[-1].to_min + 10.0, 0.5)
    last = fields(world, parts, minutes)[-1]
    given = sum(
        60.0 * (place.to_min - place.from_min) * float(parts.area @ flux)
        for place, flux in absorbed(world, *parts.basis.doflocs)
    )
    # What the sweeps leave of a loss taken implicitly where nothing is lost: the worst case.
    assert parts.heat @ (last - air.celsius) == pytest.approx(given, rel=1e-3)


@pytest.mark.invariant
def test_a_steady_plate_loses_what_it_takes_up(one: Heating) -> None:
    air = replace(one.world.air, swing_K=0.0)
    lamp = replace(one.world.lamp, standings=(Standing(300.0, 0.0, 200.0),))
    world = replace(one.world, air=air, lamp=lamp)
    parts = matrices(world.metal, Mesh())
    last = fields(world, parts, np.arange(0.0, 150.0, 0.5))[-1]
    ((_, flux),) = absorbed(world, *parts.basis.doflocs)
    lost = float(parts.area @ loss(last, 150.0, world))
    assert lost == pytest.approx(float(parts.area @ flux), rel=2e-3)


@pytest.mark.second_route
def test_pieces_of_an_aperture_add_up_to_its_view_factor() -> None:
    """1275 W from 0.5 × 0.3 m at 0.5 m: 1329 W/m² by the closed form [computed apart]."""
    lamp = Lamp(1275.0, (500.0, 300.0), 500.0, ())
    found = irradiance(lamp, 0.0, np.array([0.0]), np.array([0.0]))
    assert float(found[0]) == pytest.approx(1329.0, rel=3e-3)


@pytest.mark.second_route
def test_the_two_laws_of_convection_are_not_one() -> None:
    """The simulator's is 10 to 25 % lower at 0.6 m; both within the scatter of such laws."""
    for excess in (20.0, 40.0, 60.0):
        mine = float(still_air(np.array([excess]), 0.6)[0])
        theirs = float(natural_convection_upright(20.0 + excess, 20.0, 0.6))
        assert 0.75 < mine / theirs < 0.9


@pytest.mark.exact
def test_at_a_steady_temperature_the_time_is_the_sheets(one: Heating) -> None:
    world = World(
        one.world.lamp, 0.5, (0.9, 0.9), one.world.metal, Air(33.0), Truth(52.25, {"full": 600.0})
    )
    steady = Course(np.array([0.0, 60.0]), np.array([0.0]), np.full((2, 1), 33.0))
    # E = R ln 2/(1/T1 − 1/T2): 52.25 kJ/mol between 23 and 33 °C [computed apart].
    assert reached(world, steady, "full") == pytest.approx(300.0, rel=1e-3)


def test_a_rate_far_from_what_is_stated_does_not_hold() -> None:
    assert not Count(500, 370).holds(0.8)
    assert not Count(500, 440).holds(0.8)
    assert Count(500, 390).holds(0.8)
