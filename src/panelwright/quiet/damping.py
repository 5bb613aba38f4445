"""Loss factor of a panel with a free layer, and how much of it a part-covered panel gets."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class FreeLayer:
    """A pad on a panel, as ratios of pad to panel.

    Parameters
    ----------
    e : float
        Ratio of Young's moduli, above 0.
    h : float
        Ratio of thicknesses, above 0.
    """

    e: float
    h: float

    def __post_init__(self) -> None:
        if not (self.e > 0 and self.h > 0 and math.isfinite(self.e) and math.isfinite(self.h)):
            raise ValueError(f"e = {self.e:g}, h = {self.h:g}: both ratios must be above zero")


def loss_ratio_astm_e756(layer: FreeLayer) -> float:
    """Loss factor of a fully covered panel per loss factor of the pad material (Oberst).

    Parameters
    ----------
    layer : FreeLayer
        Ratios of modulus and thickness, pad to panel, above 0 [–]; the pad well bonded on one face
        and its loss factor small enough that its square may be left out (the complex form differs
        by 0.7 % at e = 0.01, h = 2 and a loss factor of 1).

    Returns
    -------
    float
        η/η₂, between 0 and 1.

    Notes
    -----
    η/η₂ = e h (3 + 6h + 4h² + 2e h³ + e² h⁴) / ((1 + e h)(1 + 4e h + 6e h² + 4e h³ + e² h⁴))

    References
    ----------
    H. Oberst, K. Frankenfeld: Über die Dämpfung der Biegeschwingungen dünner Bleche durch fest
    haftende Beläge, Acustica 2 (1952); ASTM E756-05. Formula from memory.

    Examples
    --------
    >>> round(loss_ratio_astm_e756(FreeLayer(e=0.01, h=2.0)), 5)
    0.37221
    """
    e, h = layer.e, layer.h
    upper = e * h * (3 + 6 * h + 4 * h**2 + 2 * e * h**3 + e**2 * h**4)
    return upper / ((1 + e * h) * _stiffening(e, h))


def _stiffening(e: float, h: float) -> float:
    return 1 + 4 * e * h + 6 * e * h**2 + 4 * e * h**3 + e**2 * h**4


def bending_stiffness_ratio_oberst(layer: FreeLayer) -> float:
    """Bending stiffness of panel with pad per that of the panel alone.

    Parameters
    ----------
    layer : FreeLayer
        Ratios of modulus and thickness, pad to panel, above 0.

    Returns
    -------
    float
        EI/(E₁I₁), at least 1.

    Notes
    -----
    (1 + 4e h + 6e h² + 4e h³ + e² h⁴) / (1 + e h)

    References
    ----------
    H. Oberst, K. Frankenfeld, Acustica 2 (1952); from memory.

    Examples
    --------
    >>> round(bending_stiffness_ratio_oberst(FreeLayer(e=0.01, h=2.0)), 5)
    1.60941
    """
    return _stiffening(layer.e, layer.h) / (1 + layer.e * layer.h)


def strain_energy_fraction(coverage: float, poisson: float) -> float:
    """Share of a panel's bending energy under a pad in its middle.

    Square plate on simple supports in its first mode, square patch of the same shape centred on
    it, thin enough not to change the mode.

    Parameters
    ----------
    coverage : float
        Patch area per panel area, 0 to 1. [–]
    poisson : float
        Poisson's ratio of the panel, 0 to 0.5. [–]

    Returns
    -------
    float
        0 to 1; more than the coverage, because a panel bends most in its middle.

    Raises
    ------
    ValueError
        Coverage or Poisson's ratio out of range.

    Notes
    -----
    f = (2 + 2ν) I² + (2 − 2ν) C², with I and C the integrals of sin²πx and cos²πx over the
    patch's side s = √coverage: I, C = s/2 ± sin(πs)/(2π).

    References
    ----------
    Bending energy of the thin plate: S. Timoshenko, S. Woinowsky-Krieger: Theory of Plates and
    Shells, 2nd ed. 1959, chapter 4 (from memory); worked out for the first mode.

    Examples
    --------
    >>> round(strain_energy_fraction(0.25, 0.30), 4)
    0.4468
    """
    if not 0.0 <= coverage <= 1.0:
        raise ValueError(f"coverage {coverage:g} is not between 0 and 1")
    if not 0.0 <= poisson <= 0.5:
        raise ValueError(f"Poisson's ratio {poisson:g} is not between 0 and 0.5")
    side = math.sqrt(coverage)
    wave = math.sin(math.pi * side) / (2 * math.pi)
    bending, twisting = side / 2 + wave, side / 2 - wave
    return (2 + 2 * poisson) * bending**2 + (2 - 2 * poisson) * twisting**2


def ringing_reduction(bare: float, padded: float) -> float:
    """By how much a panel's ringing falls when its loss factor rises.

    Parameters
    ----------
    bare : float
        Loss factor before, above 0. [–]
    padded : float
        Loss factor after, above 0. [–]

    Returns
    -------
    float
        10 log₁₀(padded/bare). [dB]

    References
    ----------
    Noise reduction goes with the logarithm of the loss factor: SAE 911083 (abstract read).

    Examples
    --------
    >>> round(ringing_reduction(0.005, 0.05), 6)
    10.0
    """
    return 10 * math.log10(padded / bare)
