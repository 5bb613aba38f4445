"""Hand a repair file to the package, and keep of its published answer what the study scores."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from bench.fit_study.oracle import is_inside
from bench.fit_study.truth import Case, off_slopes
from numpy.typing import NDArray
from scipy.stats import chi2

from panelwright import fit
from panelwright.facts.file import document_from
from panelwright.facts.repair import repair_of

Floats = NDArray[np.float64]


def published(document: dict[str, Any]) -> dict[str, Any]:
    """The answer under its published keys."""
    answer: dict[str, Any] = fit.as_json(fit.answer(repair_of(document_from(document))))
    return answer


@dataclass(frozen=True)
class Scored:
    """One answer against the truth.

    Parameters
    ----------
    shift, turn, pose : bool
        Whether the truth lies in the 95 % region.
    off : array of bool, shape (p,)
        The same of every point's place.
    p : array, shape (p,)
        p_inside of every point; NaN where none is given.
    inside : array of bool, shape (p,)
        Whether it truly is.
    verdicts : tuple of str
    w, redundancy : array, shape (readings,)
        By rows of the design.
    suspects : frozenset of int
        Rows that are named.
    """

    shift: bool
    turn: bool
    pose: bool
    off: NDArray[np.bool_]
    p: Floats
    inside: NDArray[np.bool_]
    verdicts: tuple[str, ...]
    w: Floats
    redundancy: Floats
    suspects: frozenset[int]
    global_ok: bool | None
    global_high: bool
    shape_finding: bool
    body: str
    too_good: bool
    """Whether the readings agree better than their uncertainties let expect."""
    asks_resolution: bool

    @property
    def speaks(self) -> bool:
        """Whether the answer says that something is wrong with readings, shape or body."""
        alarmed = self.global_high or self.shape_finding or bool(self.suspects)
        return alarmed or self.body not in {"true", "not checked"}


def score(case: Case, answer: dict[str, Any]) -> Scored | None:
    """Compare; None where the answer leaves a motion of the panel open."""
    part = answer["parts"][case.design.zone.part]
    if part["covariance"] is None:
        return None
    pose = case.design.layout.pose
    to_rad = np.array([1.0, 1.0, 1.0, 1e-3, 1e-3, 1e-3])
    said = np.array([*part["shift_mm"], *part["turn_mrad"]]) * to_rad
    covariance = np.array(part["covariance"]) * np.outer(to_rad, to_rad)
    error = said - case.state[pose]
    estimated = case.state.copy()
    estimated[pose] = said
    follow = off_slopes(case.design, estimated)
    names = list(case.design.zone.panel)
    points = [part["points"][name] for name in names]
    wrong = np.array([point["off_mm"] for point in points]) - case.off
    spreads = follow @ covariance @ follow.transpose(0, 2, 1)
    limits = list(case.design.tolerance.values())
    w, redundancy, suspects = _rows(case, answer["readings"])
    test = answer["global_test"]
    return Scored(
        _within(error[:3], covariance[:3, :3]),
        _within(error[3:], covariance[3:, 3:]),
        _within(error, covariance),
        np.array([_within(e, c) for e, c in zip(wrong, spreads, strict=True)]),
        np.array([np.nan if p["p_inside"] is None else p["p_inside"] for p in points]),
        np.array([is_inside(off, t) for off, t in zip(case.off, limits, strict=True)]),
        tuple(point["verdict"] for point in points),
        w,
        redundancy,
        suspects,
        test["ok"],
        test["ok"] is False and test["statistic"] > test["high"],
        any(point["shape_finding"] for point in points),
        answer["body"]["status"],
        test["ok"] is False and test["statistic"] < test["low"],
        any("resolution" in problem["what"] for problem in answer["problems"]),
    )


def _within(error: Floats, covariance: Floats) -> bool:
    """Whether an error lies in the 95 % region of its covariance."""
    scale = np.sqrt(np.diagonal(covariance))
    reach = error / scale
    distance = reach @ np.linalg.solve(covariance / np.outer(scale, scale), reach)
    return bool(distance <= chi2.ppf(0.95, len(error)))


def _rows(case: Case, said: list[dict[str, Any]]) -> tuple[Floats, Floats, frozenset[int]]:
    row_of = {
        (index, name): row
        for index, entry in enumerate(case.design.entries)
        for name, row in entry.components
    }
    w, redundancy = np.full((2, case.design.readings), np.nan)
    suspects = set()
    for answered in said:
        row = row_of[answered["index"], answered["component"]]
        w[row] = np.nan if answered["w"] is None else answered["w"]
        redundancy[row] = answered["redundancy"]
        if answered["suspect"]:
            suspects.add(row)
    return w, redundancy, frozenset(suspects)
