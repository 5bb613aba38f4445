"""What the fit room answers: where every panel sits, how surely, and which way to move it.

Lengths are millimetres, turns milliradians, probabilities 0 to 1. Vectors are (x, y, z) with
x rearward, y to the right, z up. None stands for "these readings say nothing about it".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from panelwright.facts.problem import Problem
from panelwright.fit.adjuster_answer import AdjusterSetting, Reach
from panelwright.sources import Source

Vector = tuple[float, float, float]
Spread = tuple[float | None, float | None, float | None]


class Verdict(StrEnum):
    """What may be said of a place with its tolerance at the wanted confidence."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    UNDECIDED = "undecided"


class BodyStatus(StrEnum):
    """Whether the body that everything hangs on is itself true."""

    TRUE = "true"
    RACKED = "racked?"
    NOT_CHECKED = "not checked"


class Status(StrEnum):
    """How the adjustment ended."""

    CONVERGED = "converged"
    NOT_CONVERGED = "not converged"


@dataclass(frozen=True)
class PointPlace:
    """Where a point is, in the latest setting of its part."""

    id: str
    xyz_mm: Vector | None
    u_mm: Spread


@dataclass(frozen=True)
class Direction:
    """One direction of a point or station by itself.

    Parameters
    ----------
    name : str
        "x", "y", "z", "gap" or "flush".
    p_inside : float or None
        Probability that the displacement along it alone lies within the tolerance; None where the
        readings do not check it.
    """

    name: str
    p_inside: float | None
    verdict: Verdict


@dataclass(frozen=True)
class HomedPoint:
    """A point of a fitted part against its target position.

    Parameters
    ----------
    off_mm : Vector
        What the part's shift and turn do at this point.
    u_mm : Spread
        Standard uncertainty of `off_mm`, from shift and turn alone.
    shape_mm : Vector
        What the readings say of this point beyond shift and turn.
    shape_finding : bool
        True where `shape_mm` exceeds three times the shape uncertainty on an axis.
    p_inside, p_best : float or None
        Probability of lying within tolerance, and the same if it were exactly home.
    note : str
        Why there is no verdict, where there is none.
    """

    id: str
    off_mm: Vector
    u_mm: Spread
    shape_mm: Vector
    shape_finding: bool
    p_inside: float | None
    p_best: float | None
    verdict: Verdict
    note: str = ""
    directions: tuple[Direction, ...] = ()
    """Those that are judged: each against the whole tolerance, or its own."""


@dataclass(frozen=True)
class StationFit:
    """Gap and flush at a station, as the whole network sees them."""

    id: str
    gap_mm: float | None
    flush_mm: float | None
    u_mm: tuple[float | None, float | None]
    p_inside: float | None
    verdict: Verdict
    note: str = ""
    directions: tuple[Direction, ...] = ()


@dataclass(frozen=True)
class Unseen:
    """A motion of a part that the readings do not show (`u_mm` None), or show too weakly.

    `shift_mm` and `turn_mrad` are the motion, one standard uncertainty of it where `u_mm` (at the
    point that it moves most) is given, else a motion of 1 mm there.
    """

    shift_mm: Vector
    turn_mrad: Vector
    u_mm: float | None
    place: str
    along: Vector
    """Unit direction in which that place moves."""
    words: str
    reach_mm: float | None = None
    """How far that place could sit off unseen, at the confidence of the verdicts."""
    at: str = ""
    """The point, station, contact or locator there."""


@dataclass(frozen=True)
class Sees:
    """What one kind of reading says of a part by itself, beside what is known of the body.

    Parameters
    ----------
    part : str
    kind : str
        Such as "side against side" or "flush".
    readings : int
        How many scalar readings there are of it; 0: as one such reading would see it.
    share : tuple of float
        Of each of the six motions, forward, right, up, roll, pitch and yaw, how much of the doubt
        it takes away: 0 none, 1 all.
    motions : int
        How many of the six it holds, in whatever direction they lie.
    open_mm : tuple of float or None
        How far the part may be moved along each of the six alone, at the place that moves most,
        before this kind of reading would show it; None: it never shows.
    """

    part: str
    kind: str
    readings: int
    share: tuple[float, ...]
    motions: int
    open_mm: tuple[float | None, ...]
    words: str


@dataclass(frozen=True)
class HomeSource:
    """Where one source says that a point belongs; `u_mm` is standard uncertainty."""

    home: str
    xyz_mm: Vector
    u_mm: Spread


@dataclass(frozen=True)
class HomeCheck:
    """Two sources of one point's home against each other.

    Parameters
    ----------
    one, other : HomeSource
    difference_mm, u_mm : Vector
        The second less the first, and its standard uncertainty.
    statistic, high : float
        dᵀ C⁻¹ d, and what it may be in 999 of 1000 points (chi-square, 3 degrees of freedom).
    """

    point: str
    one: HomeSource
    other: HomeSource
    difference_mm: Vector
    u_mm: Vector
    statistic: float
    high: float
    ok: bool
    words: str


@dataclass(frozen=True)
class Move:
    """Push the part at `xyz` by `by_mm` along the unit direction `along`.

    `place` says in words where `xyz` is on the part.
    """

    xyz: Vector
    along: Vector
    by_mm: float
    place: str
    words: str


@dataclass(frozen=True)
class Spring:
    """Twist or bow of a skin that is not pinned.

    Parameters
    ----------
    mode : str
        "twist" or "bow".
    amplitude_mm, u_mm : float
        At the home that it moves most; `place` says where that is.
    seen : bool
        Whether it is more than its uncertainty makes likely.
    """

    mode: str
    amplitude_mm: float
    u_mm: float
    place: str
    seen: bool
    words: str


@dataclass(frozen=True)
class PartFit:
    """One part in its latest setting.

    Parameters
    ----------
    covariance : tuple of tuple of float, 6 by 6, or None
        Of shift [mm] and turn [mrad]; None where a motion is not seen at all.
    """

    id: str
    setting: int
    shift_mm: Vector
    turn_mrad: Vector
    covariance: tuple[tuple[float, ...], ...] | None
    points: tuple[HomedPoint, ...]
    stations: tuple[StationFit, ...]
    unseen: tuple[Unseen, ...]
    moves: tuple[Move, ...]
    label: str = ""
    """What people call the part."""
    shift_u_mm: Spread = (None, None, None)
    turn_u_mrad: Spread = (None, None, None)
    settings: tuple[AdjusterSetting, ...] = ()
    """How to set its adjusters; `moves` is what they allow then."""
    spring: tuple[Spring, ...] = ()

    @property
    def swings(self) -> bool:
        """Whether a motion of the part is left that nothing holds."""
        return any(motion.u_mm is None for motion in self.unseen)

    @property
    def verdict(self) -> Verdict:
        """On the part as a whole: inside only where every place is and no motion is left free."""
        judged = {point.verdict for point in self.points}
        judged |= {station.verdict for station in self.stations}
        if Verdict.OUTSIDE in judged:
            return Verdict.OUTSIDE
        if judged != {Verdict.INSIDE} or self.swings:
            return Verdict.UNDECIDED
        return Verdict.INSIDE


@dataclass(frozen=True)
class ReadingRow:
    """One scalar equation of a reading; `index` counts the readings of the file from 0.

    `residual_mm` is adjusted less observed, `w` the residual over u·√redundancy.
    """

    index: int
    component: str
    residual_mm: float
    w: float | None
    redundancy: float
    suspect: bool
    about: str = ""
    """What was read, in words."""
    mdb_mm: float | None = None
    """Smallest error that would be noticed in 80 of 100 cases; None where nothing checks it."""
    checked: bool = True


@dataclass(frozen=True)
class Recheck:
    """A reading to take again.

    Parameters
    ----------
    index : int
        Of the reading in the file, from 0.
    about : str
        What was read, in words.
    read_mm : float
        As the tool showed it.
    others_say_mm, u_mm : float or None
        What it should have shown by all that fits, and the standard uncertainty of that.
    smallest_error_mm : float or None
        Smallest error in it that would be noticed.
    hint : str
        A usual mistake that would explain it, as a question; empty: none does.
    located : bool
        False where it is only one of several among which the wrong one is.
    """

    index: int
    component: str
    about: str
    read_mm: float
    others_say_mm: float | None
    u_mm: float | None
    smallest_error_mm: float | None
    hint: str
    located: bool
    words: str


@dataclass(frozen=True)
class Correction:
    """What was done to a reading before it counted.

    Parameters
    ----------
    index : int
        Of the reading in the file, from 0.
    kind : str
        "edge", "pointers" or "temperature".
    by_mm : float
        What was added to the reading to make it a span between points at 20 °C.
    u_mm : float
        Standard uncertainty that it brings.
    """

    index: int
    kind: str
    by_mm: float
    u_mm: float
    words: str
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True)
class TwoPlaces:
    """Another place that the readings fit as well.

    Parameters
    ----------
    points : tuple of str
        One point, or several that would lie there together.
    xyz_mm, other_mm : tuple of Vector
        Where they are taken to be, and where they could be instead.
    settled : bool
        Whether the rough coordinates that were given tell which it is.
    """

    points: tuple[str, ...]
    xyz_mm: tuple[Vector, ...]
    other_mm: tuple[Vector, ...]
    settled: bool
    words: str


@dataclass(frozen=True)
class HeldWeakly:
    """A direction in which the readings hold a point not at all (`u_mm` None), or weakly."""

    point: str
    along: Vector
    u_mm: float | None
    words: str


@dataclass(frozen=True)
class Repeat:
    """The same thing read more than once with one tool.

    Parameters
    ----------
    indices : tuple of int
        Readings of the file, from 0.
    about : str
        What was read, in words.
    mean_mm : float
        Weighted; `u_mm` is its standard uncertainty without what the tool shares.
    scatter_mm : float
        Standard deviation.
    statistic, high : float
        Σ ((x − mean)/u)², and what it may be in 99 of 100 such groups.
    """

    indices: tuple[int, ...]
    component: str
    about: str
    tool: str
    mean_mm: float
    scatter_mm: float
    u_mm: float
    statistic: float
    high: float
    ok: bool
    words: str


@dataclass(frozen=True)
class LearntTool:
    """What repeats say of a tool's seating and reading.

    Parameters
    ----------
    used_u_mm : float
        What the program uses.
    repeats_u_mm : float
        Pooled standard deviation of `readings` repeats.
    u_mm, dof : float
        Both together, and its degrees of freedom.
    proposal : tuple of (key, value)
        Of the `[[tool]]` that takes it over; empty where nothing is to be changed.
    """

    id: str
    used_u_mm: float
    repeats_u_mm: float
    readings: int
    u_mm: float
    dof: float
    words: str
    proposal: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Foretold:
    """Standard uncertainty of a place once a reading is taken.

    `u_mm` is by axis for a point, by gap and flush as far as judged for a station; None where
    nothing holds it even then.
    """

    id: str
    u_mm: tuple[float | None, ...]


@dataclass(frozen=True)
class NextReading:
    """A reading worth taking next.

    Parameters
    ----------
    gain : float
        Share of the doubt that it takes away, 0 to 1.
    compare : two pairs of points
        Span of the first pair less span of the second.
    minutes : float
    settles : float
        How many verdicts it is expected to settle.
    with_ : str
        Its tool; None for what is seen or felt.
    length_mm : float
        About how long a span will be.
    foretold : tuple of Foretold
        Of every place that is undecided now.
    """

    gain: float
    words: str
    from_: str | None = None
    to: str | None = None
    point: str | None = None
    station: str | None = None
    contact: str | None = None
    locator: str | None = None
    length_mm: float | None = None
    compare: tuple[tuple[str, str], tuple[str, str]] | None = None
    minutes: float = 0.0
    settles: float = 0.0
    with_: str | None = None
    foretold: tuple[Foretold, ...] = ()
    kind: str = ""
    """"span", "compare", "height", "place", "station", "contact" or "locator"."""


@dataclass(frozen=True)
class Together:
    """Readings that settle more together; `settles` is the expected number of verdicts."""

    readings: tuple[NextReading, ...]
    settles: float
    minutes: float
    words: str


class Deciding(StrEnum):
    """What would decide a place that is undecided."""

    READ = "read"
    """A reading or a few are likelier than not to decide it."""
    TOOL = "tool"
    """No reading with the tools at hand can prove it; another tool would."""
    NOTHING = "nothing"
    """No reading known here can prove it."""
    NEAR = "near its limit"
    """It lies so near its limit that it is better moved than read again."""
    RECHECK = "recheck"
    """It looks inside, but the readings disagree among themselves."""


@dataclass(frozen=True)
class Decider:
    """The cheapest way to decide one undecided point or station.

    Parameters
    ----------
    part, place : str
    is_station : bool
    kind : Deciding
    readings : tuple of NextReading
        Of `Deciding.READ`, and the best there are of `NEAR`.
    minutes : float
        Of these readings.
    p_decided : float or None
        Chance that they decide it.
    p_best : float or None
        Chance to be found inside if it were exactly home, once everything here is read.
    tools : tuple of str
        Of `Deciding.TOOL`.
    """

    part: str
    place: str
    is_station: bool
    kind: Deciding
    readings: tuple[NextReading, ...]
    minutes: float
    p_decided: float | None
    p_best: float | None
    tools: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class BeforeReading:
    """A reading to take while the old part is still on.

    Parameters
    ----------
    from_, to, point : str or None
        A span, or a point whose height or coordinates are read.
    loses : str
        What cannot be judged later without it.
    points : tuple of str
        Those points.
    """

    words: str
    with_: str | None
    minutes: float
    loses: str
    points: tuple[str, ...]
    from_: str | None = None
    to: str | None = None
    point: str | None = None
    length_mm: float | None = None


@dataclass(frozen=True)
class CannotBefore:
    """A point that no readings before cutting and at the dry fit can prove."""

    point: str
    p_best: float
    tools: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class BeforeCut:
    """The fewest readings before cutting by which every point can be judged at the dry fit."""

    parts: tuple[str, ...]
    minutes: float
    readings: tuple[BeforeReading, ...]
    cannot: tuple[CannotBefore, ...]
    words: str


@dataclass(frozen=True)
class GlobalTest:
    """Two-sided chi-square test at 95 % of all readings together; None where nothing can fail."""

    statistic: float
    low: float | None
    high: float | None
    ok: bool | None


@dataclass(frozen=True)
class PairCheck:
    """How far an undamaged pair is from lying mirror-wise, by all other readings.

    Differences of x and z and the sum of y; `u_mm` holds the symmetry of a sound body too, and
    `w` is their quotient. None where no other reading tells.

    Parameters
    ----------
    damaged : bool
        True where the pair does not go with the centre plane of the others.
    off_mm, off_u_mm : Spread
        With `damaged`: how far `point` lies from the mirror image of `twin` once the pair is left
        out of the centre plane altogether.
    """

    point: str
    twin: str
    difference_mm: Spread
    u_mm: Spread
    w: Spread
    damaged: bool = False
    off_mm: Spread = (None, None, None)
    off_u_mm: Spread = (None, None, None)


@dataclass(frozen=True)
class OpeningCheck:
    """Two pairs as an opening of the body: its diagonals and its sides, by the readings alone.

    Parameters
    ----------
    pair, against : tuple of str
        The pair that is looked at, and the one that it is compared with; left point first.
    diagonal_mm, diagonal_u_mm : float
        Diagonal from the left point of `pair`, less the one from its right point.
    lean_mm, lean_u_mm : float
        How far `pair` stands to the right against `against`: the shear that makes that difference.
    side_mm, side_u_mm : float or None
        Left side of the opening less its right side; None where it was not measured.
    w : float
        The larger of both differences over what a sound body and the readings allow.
    racked : bool
    """

    pair: tuple[str, str]
    against: tuple[str, str]
    diagonal_mm: float
    diagonal_u_mm: float
    lean_mm: float
    lean_u_mm: float
    side_mm: float | None
    side_u_mm: float | None
    w: float
    racked: bool
    ends: tuple[str, str]
    """What `pair` and `against` are of it: "top" and "bottom", or "front" and "rear"."""


@dataclass(frozen=True)
class SheetCheck:
    """How far a body point lies from a coordinate given for it, by all other readings."""

    point: str
    axis: str
    difference_mm: float
    u_mm: float
    w: float


@dataclass(frozen=True)
class BodyAnswer:
    """Whether the body itself is true."""

    status: BodyStatus
    words: str
    pairs: tuple[PairCheck, ...]
    sheet: tuple[SheetCheck, ...]
    openings: tuple[OpeningCheck, ...] = ()
    """Those that the readings tell, largest `w` first."""

    @property
    def first(self) -> bool:
        """Whether the structure comes before any panel: no move of one is told until it is true."""
        return self.status is BodyStatus.RACKED


@dataclass(frozen=True)
class Answer:
    """Everything that the readings say about where the parts sit."""

    points: tuple[PointPlace, ...]
    parts: tuple[PartFit, ...]
    readings: tuple[ReadingRow, ...]
    next: tuple[NextReading, ...]
    body: BodyAnswer
    variance_factor: float | None
    dof: int
    global_test: GlobalTest
    datum: str
    status: Status
    iterations: int
    confidence: float
    suspects_note: str
    problems: tuple[Problem, ...]
    sources: tuple[Source, ...]
    earlier: tuple[PartFit, ...] = ()
    """Parts in their earlier dry fits, oldest first; points only."""
    reach: tuple[Reach, ...] = ()
    """How good adjusters can get it, one for each group of parts that are set together."""
    two_places: tuple[TwoPlaces, ...] = ()
    weak: tuple[HeldWeakly, ...] = ()
    recheck: tuple[Recheck, ...] = ()
    sees: tuple[Sees, ...] = ()
    homes: tuple[HomeCheck, ...] = ()
    """Of points with more than one source of their home."""
    corrections: tuple[Correction, ...] = ()
    repeats: tuple[Repeat, ...] = ()
    learnt: tuple[LearntTool, ...] = ()
    together: tuple[Together, ...] = ()
    """What two and three readings together are expected to settle."""
    deciders: tuple[Decider, ...] = ()
    """One for each undecided point and station that has a tolerance."""
    before_cut: BeforeCut | None = None
    """While a part that is to come off is still on."""
