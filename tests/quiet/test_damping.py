"""Loss factors beside published forms, integrals and a composite beam worked another way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from panelwright.quiet.damping import (
    FreeLayer,
    bending_stiffness_ratio_oberst,
    loss_ratio_astm_e756,
    ringing_reduction,
    strain_energy_fraction,
)
from panelwright.quiet.panel import bare_loss, metal_of, sheet_density_kg_m3

# ASTM E756 free layer (formula from memory): loss factor, complex-modulus loss factor and
# stiffness ratio worked out beforehand in the project's table of check values (computed there).
ROWS = [
    # e, h, loss of the pad, real form, complex form, stiffness ratio
    (0.01, 1.0, 1.0, 0.11307, 0.11294, 1.12881),
    (0.01, 2.0, 1.0, 0.37221, 0.36974, 1.60941),
    (0.001, 2.0, 1.0, 0.05818, 0.05818, 1.06189),
    (0.5 / 210, 2.5, 0.3, 0.06058, 0.06058, 1.25466),
    (0.5 / 70, 2.0, 0.3, 0.09018, 0.09014, 1.43742),
    (1.0 / 70, 2.5, 0.4, 0.23237, 0.23170, 2.49046),
]
HALF_A_DIGIT = 0.6e-5


@pytest.mark.published
@pytest.mark.parametrize(("e", "h", "pad", "real", "_complex", "stiff"), ROWS)
def test_free_layer_gives_the_tabled_loss_and_stiffness(
    e: float, h: float, pad: float, real: float, _complex: float, stiff: float
) -> None:
    layer = FreeLayer(e, h)
    assert pad * loss_ratio_astm_e756(layer) == pytest.approx(real, abs=HALF_A_DIGIT)
    assert bending_stiffness_ratio_oberst(layer) == pytest.approx(stiff, abs=HALF_A_DIGIT)


def composite_beam(e: float, h: float, pad_loss: float) -> complex:
    """Bending stiffness about the neutral axis per the base layer's, complex pad modulus."""
    moduli, edges = (1.0 + 0j, e * (1 + 1j * pad_loss)), (0.0, 1.0, 1.0 + h)
    stretch = sum(m * (b - a) for m, a, b in zip(moduli, edges, edges[1:], strict=False))
    first = sum(m * (b**2 - a**2) / 2 for m, a, b in zip(moduli, edges, edges[1:], strict=False))
    axis = first / stretch
    third = sum(
        m * ((b - axis) ** 3 - (a - axis) ** 3) / 3
        for m, a, b in zip(moduli, edges, edges[1:], strict=False)
    )
    return complex(third * 12)


@pytest.mark.second_route
@pytest.mark.parametrize(("e", "h", "pad", "_real", "complex_loss", "stiff"), ROWS)
def test_a_composite_beam_with_complex_modulus_agrees(
    e: float, h: float, pad: float, _real: float, complex_loss: float, stiff: float
) -> None:
    beam = composite_beam(e, h, pad)
    assert beam.imag / beam.real == pytest.approx(complex_loss, abs=HALF_A_DIGIT)
    assert composite_beam(e, h, 0.0).real == pytest.approx(stiff, abs=HALF_A_DIGIT)


@pytest.mark.second_route
@given(st.floats(1e-5, 0.2), st.floats(0.1, 5.0))
def test_for_a_small_pad_loss_both_ways_are_one(e: float, h: float) -> None:
    beam = composite_beam(e, h, 1e-4)
    ratio = beam.imag / beam.real / 1e-4
    assert loss_ratio_astm_e756(FreeLayer(e, h)) == pytest.approx(ratio, rel=1e-6)
    assert bending_stiffness_ratio_oberst(FreeLayer(e, h)) == pytest.approx(beam.real, rel=1e-6)


@pytest.mark.exact
@given(st.floats(0.1, 5.0))
def test_a_soft_pad_gives_the_linear_limit(h: float) -> None:
    e = 1e-9
    limit = e * (3 * h + 6 * h**2 + 4 * h**3)
    assert loss_ratio_astm_e756(FreeLayer(e, h)) == pytest.approx(limit, rel=1e-6)


@pytest.mark.exact
@pytest.mark.parametrize(("e", "h"), [(0.0, 1.0), (0.01, 0.0), (-1.0, 1.0), (math.inf, 1.0)])
def test_a_layer_without_stiffness_or_thickness_is_refused(e: float, h: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        FreeLayer(e, h)


# Fraction of bending energy under a centred square patch, SSSS (1,1), computed beforehand in the
# project's table of check values.
COVERED = [
    (0.30, 0.10, 0.2217),
    (0.30, 0.25, 0.4468),
    (0.30, 0.50, 0.6716),
    (0.30, 0.75, 0.8345),
    (0.30, 1.00, 1.0),
    (0.33, 0.10, 0.2268),
    (0.33, 0.25, 0.4564),
    (0.33, 0.50, 0.6824),
    (0.33, 0.75, 0.8412),
    (0.33, 1.00, 1.0),
]


@pytest.mark.published
@pytest.mark.parametrize(("poisson", "coverage", "fraction"), COVERED)
def test_coverage_gives_the_tabled_energy_fraction(
    poisson: float, coverage: float, fraction: float
) -> None:
    assert strain_energy_fraction(coverage, poisson) == pytest.approx(fraction, abs=0.6e-4)


@pytest.mark.second_route
@pytest.mark.parametrize("poisson", [0.0, 0.3, 0.5])
@pytest.mark.parametrize("coverage", [0.04, 0.25, 0.64])
def test_the_plate_energy_integrated_numerically_agrees(poisson: float, coverage: float) -> None:
    def energy(y: float, x: float) -> float:
        # w = sin πx sin πy; (∇²w)² − 2(1 − ν)(w_xx w_yy − w_xy²), over π⁴
        w = math.sin(math.pi * x) * math.sin(math.pi * y)
        twist = math.cos(math.pi * x) * math.cos(math.pi * y)
        return 4 * w * w - 2 * (1 - poisson) * (w * w - twist * twist)

    low, high = 0.5 - math.sqrt(coverage) / 2, 0.5 + math.sqrt(coverage) / 2
    under, _ = dblquad(energy, low, high, low, high)
    whole, _ = dblquad(energy, 0, 1, 0, 1)
    assert strain_energy_fraction(coverage, poisson) == pytest.approx(under / whole, rel=1e-9)


@pytest.mark.invariant
def test_more_coverage_never_damps_less_and_the_middle_beats_an_even_spread() -> None:
    coverages = np.linspace(0, 1, 51)
    fractions = [strain_energy_fraction(float(c), 0.33) for c in coverages]
    assert np.all(np.diff(fractions) > 0)
    assert fractions[0] == 0.0
    assert all(f > c for f, c in zip(fractions[1:-1], coverages[1:-1], strict=True))


@pytest.mark.exact
@pytest.mark.parametrize(("coverage", "poisson"), [(-0.1, 0.3), (1.1, 0.3), (0.5, 0.6), (0.5, -1)])
def test_a_coverage_or_ratio_out_of_range_is_refused(coverage: float, poisson: float) -> None:
    with pytest.raises(ValueError, match="is not between"):
        strain_energy_fraction(coverage, poisson)


@pytest.mark.published
def test_ten_times_the_loss_factor_is_ten_decibels() -> None:
    # noise reduction goes with log η: SAE 911083 (abstract read); 0.005 to 0.05 computed
    assert ringing_reduction(0.005, 0.05) == pytest.approx(10.0)


@pytest.mark.published
@pytest.mark.parametrize(("thickness", "mass"), [(1.5, 3.0), (2.5, 5.0), (5.0, 10.0)])
def test_bitumen_sheet_has_its_tabled_density(thickness: float, mass: float) -> None:
    # bitumen sheet, distributor's data (read): density 2000 kg/m³
    density = sheet_density_kg_m3(mass_kg_m2=mass, thickness_mm=thickness)
    assert density == pytest.approx(2000.0)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("material", "modulus"),
    [
        ("EN AW-6016-T4", 70.0),
        ("6111-T4", 70.0),
        ("aluminium", 70.0),
        ("Al 5754", 70.0),
        ("mild steel DC04", 210.0),
        ("carbon fibre", None),
        (None, None),
    ],
)
def test_the_metal_is_read_from_the_material(material: str | None, modulus: float | None) -> None:
    metal = metal_of(material)
    assert (metal.modulus_GPa if metal else None) == modulus


@pytest.mark.invariant
def test_the_bare_panel_band_says_that_it_is_from_memory() -> None:
    band, source = bare_loss()
    assert (band.low, band.high) == (0.005, 0.02)
    assert band.likely == pytest.approx(math.sqrt(band.low * band.high))
    assert source.travelling_marks == ("from memory",)
