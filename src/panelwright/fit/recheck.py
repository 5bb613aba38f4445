"""Readings to take again, with what the others say of each, and what the mistake may have been."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.models.readings import (
    CompareReading,
    ContactReading,
    HeightReading,
    LocatorReading,
    PlaceReading,
    SpanReading,
    StationReading,
)
from panelwright.fit.misreadings import Misread, hints_of
from panelwright.fit.reading_answer import Recheck
from panelwright.fit.reliability import smallest_errors
from panelwright.fit.snooping import LEAST_REDUNDANCY
from panelwright.quantities import Length, Units, show_length, show_length_with_u

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.readings import Reading
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.network import Network
    from panelwright.fit.sketch import Sketch
    from panelwright.fit.suspects import Suspects

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class _Forecast:
    """What the others say of one equation, and its u; None where they say nothing [mm]."""

    mm: float | None
    u_mm: float | None


_NOTHING = _Forecast(None, None)


def rechecks(
    network: Network, adjusted: Adjusted, redundancy: Floats, suspects: Suspects
) -> tuple[Recheck, ...]:
    """Every reading that should be taken again, in the order of the file.

    Parameters
    ----------
    network : Network
    adjusted : Adjusted
        With all readings.
    redundancy : array, shape (m,)
        Of all equations with all readings [1].
    suspects : Suspects

    Returns
    -------
    tuple of Recheck
        Those that do not fit; then those among which one is wrong (`located` False).
    """
    found = [
        _recheck(network, row, _without(network, suspects.without, row), suspects.without)
        for row in sorted(suspects.rows)
    ]
    unsure = (*suspects.tied, *suspects.rivals)
    for row in unsure:
        # Beside other errors the rest says nothing sure of a reading that may be right.
        several = len(suspects.rows) > 1 or suspects.body
        forecast = _NOTHING if several else _alone(network, adjusted, redundancy, row)
        found.append(replace(_recheck(network, row, forecast, None), located=False))
    u_mm = network.equations.u[: len(network.sketches)]
    least = smallest_errors(redundancy[: len(u_mm)], u_mm)
    rows = (*sorted(suspects.rows), *unsure)
    return tuple(
        replace(told, smallest_error_mm=error, words=recheck_words(told))
        for told, error in zip(found, (_finite(float(least[row])) for row in rows), strict=True)
    )


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _without(network: Network, without: Adjusted | None, row: int) -> _Forecast:
    """From the network of what fits."""
    if without is None:
        return _NOTHING
    residual, jacobian = replace(network.equations, kept=None).weighted(without.x)
    if without.leaves_open(jacobian[row]):
        return _NOTHING
    sketch = network.sketches[row]
    variance = float(jacobian[row] @ without.covariance @ jacobian[row])
    u_mm = sketch.spread.u_mm
    return _Forecast(sketch.observed_mm + float(residual[row]) * u_mm, u_mm * sqrt(variance))


def _alone(network: Network, adjusted: Adjusted, redundancy: Floats, row: int) -> _Forecast:
    """From the network without this one: observed + residual / r, u² (1 − r) / r."""
    r, sketch = float(redundancy[row]), network.sketches[row]
    if r <= LEAST_REDUNDANCY:
        return _NOTHING
    u_mm = sketch.spread.u_mm
    by = float(adjusted.residual[row]) * u_mm / r
    return _Forecast(sketch.observed_mm + by, u_mm * sqrt(max(1.0 - r, 0.0) / r))


def _recheck(network: Network, row: int, forecast: _Forecast, without: Adjusted | None) -> Recheck:
    sketch = network.sketches[row]
    typed = entered(network.repair.readings[sketch.index], sketch)
    told = None if sketch.in_words else typed
    read_mm = told.mm if told is not None else sketch.observed_mm
    others_mm = hints = None
    if forecast.mm is not None and forecast.u_mm is not None:
        # As the tool shows it: what was done to the reading is taken off again.
        others_mm = forecast.mm + read_mm - sketch.observed_mm
        misread = Misread(sketch, told, read_mm, others_mm, forecast.u_mm)
        hints = hints_of(misread, network, without)
    return Recheck(
        sketch.index,
        sketch.component,
        sketch.words,
        read_mm,
        others_mm,
        forecast.u_mm,
        None,
        " Or ".join(hints or ()),
        located=True,
        words="",
    )


def entered(reading: Reading, sketch: Sketch) -> Length | None:
    """The length of a reading that an equation stands for; None where a word was told.

    Parameters
    ----------
    reading : Reading
    sketch : Sketch
        One of its equations.

    Returns
    -------
    Length or None
    """
    value: Length | str | None = None
    match reading:
        case SpanReading():
            value = reading.value
        case CompareReading():
            value = reading.difference
        case HeightReading():
            value = reading.height
        case PlaceReading():
            value = reading.xyz["xyz".index(sketch.component)]
        case StationReading():
            value = reading.gap if sketch.component == "gap" else reading.flush
        case ContactReading():
            value = reading.lift
        case LocatorReading():
            off = reading.off
            value = off[int(sketch.component == "across")] if off is not None else None
    return value if isinstance(value, Length) else None


def recheck_words(recheck: Recheck, units: Units = Units.MM) -> str:
    """Ask for a reading again, with what the others say.

    Parameters
    ----------
    recheck : Recheck
    units : Units
        Of the page.

    Returns
    -------
    str
        Such as "R1 to L2 was read as 1934.0 mm; the others say 1834.0 ± 2.0 mm".
    """
    said = f"{recheck.about} was read as {show_length(recheck.read_mm, units)}"
    if recheck.others_say_mm is not None and recheck.u_mm is not None:
        others = show_length_with_u(recheck.others_say_mm, max(recheck.u_mm, 0.01), units)
        said += f"; the others say {others}"
    if not recheck.located:
        said += " (it may be this one instead: read it again too)"
    return f"{said}. {recheck.hint}" if recheck.hint else said
