"""Hand each sheet to the package and look where the truth lies in what it says."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass, field
from random import Random

import numpy as np
from bench.sheet_study.truth import Printed, Truth, adhesive, sheet

from panelwright.bond.arrhenius import cure_rate
from panelwright.bond.cure import law_members
from panelwright.bond.ensemble import fixed_ensemble, weighted_quantiles
from panelwright.bond.rows import Milestone, RefusedSheet
from panelwright.bond.sheet import Sheet, read_sheet
from panelwright.facts.models.bonding import Adhesive

STATED = {"80 %": (0.1, 0.9), "95 %": (0.025, 0.975)}
BEYOND_K = (-10.0, 15.0)
"""How far below its coldest and above its warmest row a sheet is asked."""


@dataclass
class Count:
    """Of one kind of band: how often the truth lay inside, for each sheet (a cluster)."""

    shares: list[float] = field(default_factory=list)

    @property
    def rate(self) -> float:
        """Share of truths inside."""
        return float(np.mean(self.shares))

    @property
    def u(self) -> float:
        """Standard uncertainty of the rate, clustered by sheet."""
        return float(np.std(self.shares, ddof=1) / np.sqrt(len(self.shares)))

    def holds(self, stated: float) -> bool:
        """Within three standard uncertainties of what is stated, or 1 % of it."""
        return abs(self.rate - stated) <= max(3.0 * self.u, 0.01)


@dataclass
class Found:
    """What the study counted."""

    counts: dict[tuple[str, str], Count]
    by_rows: dict[tuple[str, str], Count]
    refused: Counter[str]
    sheets: int = 0
    wrong_energy: list[float] = field(default_factory=list)
    said_energy_u: list[float] = field(default_factory=list)


def run(sheets: int, seed: int) -> Found:
    """Ask the package about so many sheets that it takes."""
    dice = Random(seed)
    found = Found({}, {}, Counter())
    while found.sheets < sheets:
        truth = adhesive(dice)
        printed = sheet(truth, dice)
        if len(printed.rows) < 2:
            continue
        try:
            read = read_sheet(_adhesive(printed))
        except RefusedSheet as refusal:
            found.refused[_reason(str(refusal))] += 1
            continue
        found.sheets += 1
        _count(found, truth, printed, read)
    return found


def _adhesive(printed: Printed) -> Adhesive:
    rows = tuple({"event": e, "at": f"{c} °C", "time": f"{m!r} min"} for e, c, m in printed.rows)
    return Adhesive.model_validate({"id": "simulated", "time": rows})


def _reason(words: str) -> str:
    for sign, reason in (
        ("as long as or longer", "equal or growing times (rounding)"),
        ("activation energy", "energy of the rows outside 35 to 90 kJ/mol"),
        ("comes no later", "two milestones rounded to one time"),
    ):
        if sign in words:
            return reason
    return "other: " + words


def _count(found: Found, truth: Truth, printed: Printed, read: Sheet) -> None:
    law, ensemble = read.law, fixed_ensemble()
    found.wrong_energy.append(law.energy_kJ_mol - truth.energy_kJ)
    found.said_energy_u.append(law.energy_u_kJ_mol)
    members = law_members(law, ensemble)
    levels = tuple(level for pair in STATED.values() for level in pair)
    rows = "2 or 3 rows" if len(printed.rows) <= 3 else "4 or more rows"
    asked = [("energy", [(truth.energy_kJ, members.energy_kJ_mol)])]
    for where, places in _places(printed).items():
        pairs = []
        for celsius in places:
            rate = cure_rate(celsius, members.reference_C, members.energy_kJ_mol)
            for number, event in enumerate(law.events):
                true = truth.minutes(Milestone(event).value, celsius)
                pairs.append((true, members.wanted_min[:, number] / rate))
        asked.append((where, pairs))
    for what, pairs in asked:
        ends = [weighted_quantiles(each, ensemble.weights, levels) for _, each in pairs]
        for place, stated in enumerate(STATED):
            inside = [
                float(end[2 * place] <= true <= end[2 * place + 1])
                for (true, _), end in zip(pairs, ends, strict=True)
            ]
            share = float(np.mean(inside))
            found.counts.setdefault((what, stated), Count()).shares.append(share)
            found.by_rows.setdefault((f"{what}, {rows}", stated), Count()).shares.append(share)


def _places(printed: Printed) -> dict[str, list[float]]:
    at = sorted({celsius for _, celsius, _ in printed.rows})
    between = [(a + b) / 2 for a, b in itertools.pairwise(at)]
    beyond = [at[0] + BEYOND_K[0], at[-1] + BEYOND_K[1]]
    return {"time between rows": between, "time outside rows": beyond}
