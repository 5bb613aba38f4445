"""A repair with hand-made answers of every room; all of it is invented."""

from __future__ import annotations

from dataclasses import MISSING, fields, replace
from datetime import UTC, datetime, timedelta
from importlib import import_module
from types import SimpleNamespace
from typing import TypeVar

from panelwright.facts.file import read
from panelwright.facts.problem import Problem
from panelwright.facts.repair import Repair
from panelwright.record.answer import Answers, Options
from panelwright.sources import Basis, Mark, Source

bond, joints, plan, quiet, teardown = (
    import_module(f"panelwright.{room}.answer")  # each room's `answer` attribute is its function
    for room in ("bond", "joints", "plan", "quiet", "teardown")
)
fit = SimpleNamespace(
    **{
        name: value
        for module in ("answer", "part_answer", "reading_answer", "next_answer", "body_answer")
        for name, value in vars(import_module(f"panelwright.fit.{module}")).items()
        if not name.startswith("_")
    }
)
"""The fit's answer, whose kinds have a module each."""


T = TypeVar("T")


def made(kind: type[T], /, *values: object, **named: object) -> T:
    """An answer of a room; a field that this sample does not care about is left empty."""
    found = dict(zip((field.name for field in fields(kind)), values, strict=False)) | named
    empty = {"str": "", "tuple": (), "bool": False}
    for field in fields(kind):
        if field.name not in found and field.default is MISSING:
            found[field.name] = next(
                (value for word, value in empty.items() if str(field.type).startswith(word)), None
            )
    return kind(**found)


FILE = """
format = 1
[repair]
name = "egret-7"
opened = 2026-11-20T08:10:00+01:00
promised = 2026-11-24T16:00:00+01:00
invented = true
[vehicle]
label = "Egret flatbed (invented)"
drive = "battery"
[procedure]
reference = "Egret repair book 12-3 (invented)"
revision = "B"
read_on = 2026-11-20
[shop]
zone = "Europe/Berlin"
[[part]]
id = "outer"
name = "left side panel"
material = "EN AW-6016-T4"
thickness = "1.2 mm"
state = "replace"
area = "1.1 m2"
carries = ["corner radar"]
[[part]]
id = "inner"
name = "left inner wall"
[[joint]]
id = "arch"
name = "arch flange"
layers = ["outer", "inner"]
length = "400 mm"
flange = "20 mm"
[[joint]]
id = "rail"
name = "rail flange"
layers = ["outer", "inner"]
length = "900 mm"
flange = "24 mm"
[[point]]
id = "RA"
xyz = [0, 800, 400]
u = 1
[[point]]
id = "LA"
xyz = [0, -800, 400]
u = 1
[[point]]
id = "R3"
xyz = [1600, 800, 1600]
u = 1
[[point]]
id = "L3"
on = "outer"
xyz = [1600, -800, 1600]
home = "twin"
twin = "R3"
tolerance = "3 mm"
[[point]]
id = "L4"
on = "outer"
xyz = [2600, -780, 1500]
home = "xyz"
u = 1
tolerance = { x = "3 mm", z = "2 mm" }
[[point]]
id = "L5"
on = "outer"
xyz = [2650, -790, 700]
home = "xyz"
u = 1
tolerance = "3 mm"
[[station]]
id = "d1"
part = "outer"
xyz = [1600, -790, 1100]
gap_towards = [1, 0, 0]
flush_towards = [0, -1, 0]
gap = { want = "5 mm", tolerance = "1 mm" }
flush = { want = "0 mm", tolerance = "1 mm" }
[[reading]]
from = "RA"
to = "L3"
value = "2565 mm"
[[reading]]
station = "d1"
gap = "5.6 mm"
flush = "0.4 mm"
[[adhesive]]
id = "A1"
name = "A1 panel adhesive (invented)"
kind = "two-part epoxy"
batch = "61-14"
use_by = 2027-03-01
limit = "80 °C"
[[lamp]]
id = "lamp 1"
[[heating]]
joint = "arch"
lamp = "lamp 1"
distance = "450 mm"
stays = [{ from = "0 min", to = "40 min" }]
[[event]]
kind = "done"
step = "isolate"
by = "K. Example"
at = 2026-11-20T08:55:00+01:00
[[event]]
kind = "done"
step = "scan"
by = "L. Sample"
at = 2026-11-20T08:40:00+01:00
"""

PROCEDURE = Source(Basis.PROCEDURE, "Egret repair book 12-3, revision B (invented)")
PROPOSAL = Source(Basis.PROPOSAL, "one for one beside the old positions")
RECALLED = Source(Basis.STANDARD, "EN 1999-1-4:2007, 8.2", Mark.MEMORY)
TRADE = Source(Basis.PRACTICE, "edge distance of blind rivets")
SHEET = Source(Basis.DATA_SHEET, "A1 data sheet (invented)")

START = datetime(2026, 11, 20, 7, 10, tzinfo=UTC)


def repair() -> Repair:
    return read(FILE)


def teardown_answer() -> teardown.Answer:
    return made(
        teardown.Answer,
        open=("arch", "rail"),
        order=("outer",),
        look=(
            made(teardown.Look, "inner", "outer", ("outer",), True, (), "Look at the inner wall."),
        ),
        refit=(),
        removals=(
            made(
                teardown.Removal,
                "outer",
                "left side panel",
                teardown.Action.REPLACE,
                ("arch", "rail"),
                ("it is replaced",),
                ("Sharp edges.",),
            ),
        ),
        separations=(),
        carried=(
            made(
                teardown.Carried,
                "outer",
                "corner radar",
                "sensor",
                "unplug it",
                "moved over",
                "calibrate it",
                (TRADE,),
            ),
        ),
        first=("High voltage: isolated, proven dead, locked off.",),
        released=(),
        together=(),
        cycles=(),
        problems=(),
        sources=(TRADE,),
    )


RIVET = made(
    joints.Rivet,
    id="R48",
    name="blind rivet 4.8 × 10 (invented)",
    diameter_mm=4.8,
    length_mm=10.0,
    grip_min_mm=1.5,
    grip_max_mm=3.5,
    head_mm=9.5,
    hole_mm=4.9,
    hole_max_mm=5.0,
    shear_kN=4.2,
    tension_kN=3.1,
    material="steel",
    kind="structural blind rivet",
    sources=(SHEET,),
)


def joint(
    name: str, from_: joints.Origin, *, length_mm: float = 400.0, asks: tuple[str, ...] = ()
) -> joints.JointAnswer:
    at = tuple(30.0 + 40.0 * i for i in range(int((length_mm - 60) // 40) + 1))
    rivet = None if asks else RIVET
    return made(
        joints.JointAnswer,
        id=name,
        kind="rivet-bond",
        layers=("left side panel", "left inner wall"),
        from_=from_,
        origins=made(joints.Origins, from_, from_, joints.Origin.PROPOSAL, from_),
        rivet=rivet,
        count=len(at) if rivet else None,
        at_mm=at if rivet else (),
        edge_mm=10.0,
        pitch_mm=made(joints.Pitch, 40.0, 40.0) if rivet else made(joints.Pitch, None, None),
        adhesive_ml=12.0,
        strength=made(
            joints.Strength, 48.0, 37.8, 0.79, "bearing of the thin sheet", bond_kN=150.0
        ),
        checks=(
            made(joints.Check, "edge distance", 10.0, 9.8, True, "1.5 d, EN 1999-1-4, 8.2", "mm"),
            made(joints.Check, "pitch", 40.0, 14.7, True, "3 d0", "mm"),
            made(
                joints.Check,
                "strength, new over old",
                0.79,
                1.0,
                False,
                "PD",
                "",
                weight=joints.Weight.GUIDANCE,
                note="the bond carries beside it",
            ),
            made(joints.Check, "grip", None, None, None, "rivet sheet", note="grip is not given"),
        ),
        layout=joints.LayoutStatus.WIDE,
        length_mm=length_mm,
        flange_mm=20.0,
        stack_mm=2.7,
        stack_u_mm=0.1,
        old_at_mm=at,
        old_assumed=False,
        old_diameter_mm=5.3,
        avoid_mm=((120.0, 160.0),),
        opened_mm=None,
        adhesive=made(
            joints.AdhesiveAmount,
            "A1",
            0.3,
            2.4,
            0.5,
            9.1,
            12.0,
            made(joints.Bead, 7.2, 3.5, 4.0),
            (SHEET,),
        ),
        asks=asks,
        notes=("Beside the old positions.",),
        sources=(PROCEDURE, PROPOSAL, RECALLED),
        marks=("proposal", "from memory"),
    )


def joints_answer() -> joints.JointsAnswer:
    return made(
        joints.JointsAnswer,
        joints=(
            joint("arch", joints.Origin.PROPOSAL),
            joint("rail", joints.Origin.ASK, length_mm=900.0, asks=("Which rivet, how many?",)),
        ),
        others=(made(joints.OtherJoint, "bolts", "bolt", "by the procedure alone"),),
        needs=(),
        cautions=("Rivet stems fly: glasses.",),
        problems=(),
    )


def point(name: str, off: fit.Vector, p: float | None, verdict: fit.Verdict) -> fit.HomedPoint:
    return made(
        fit.HomedPoint, name, off, (0.5, 0.6, 0.4), (0.1, 0.0, -0.2), False, p, 0.99, verdict
    )


COVARIANCE = tuple(
    tuple((0.16 if i < 3 else 0.04) if i == j else 0.0 for j in range(6)) for i in range(6)
)


def part_fit() -> fit.PartFit:
    return made(
        fit.PartFit,
        id="outer",
        setting=1,
        shift_mm=(0.6, 0.1, 2.0),
        turn_mrad=(0.2, 1.0, 0.1),
        covariance=COVARIANCE,
        points=(
            point("L3", (1.0, -0.5, 3.8), 0.004, fit.Verdict.OUTSIDE),
            point("L4", (1.0, 0.2, 1.0), 0.93, fit.Verdict.UNDECIDED),
            point("L5", (0.3, 0.3, 0.2), 0.9995, fit.Verdict.INSIDE),
        ),
        stations=(made(fit.StationFit, "d1", 5.6, 0.4, (0.2, 0.3), 0.91, fit.Verdict.UNDECIDED),),
        unseen=(
            made(
                fit.Unseen,
                shift_mm=(0, 0, 1.0),
                turn_mrad=(0, 0, 0),
                u_mm=None,
                place="front edge",
                along=(0.0, 0.0, 1.0),
                words="The front edge may sit high or low.",
            ),
        ),
        moves=(
            made(
                fit.Move,
                xyz=(1600, -800, 1600),
                along=(0.0, 0.0, -1.0),
                by_mm=3.8,
                place="at L3",
                words="push L3 3.8 mm down",
            ),
        ),
    )


def fit_answer() -> fit.Answer:
    return made(
        fit.Answer,
        points=(
            made(fit.PointPlace, "RA", (0, 800, 400), (1, 1, 1)),
            made(fit.PointPlace, "LA", (0, -800, 400), (1, 1, 1)),
            made(fit.PointPlace, "R3", (1600, 800, 1600), (1, 1, 1)),
            made(fit.PointPlace, "L3", (1601.1, -800.5, 1603.6), (1, 1, 1)),
            made(fit.PointPlace, "L4", (2601.1, -779.8, 1500.8), (1, 1, 1)),
            made(fit.PointPlace, "L5", (2650.4, -789.7, 700.0), (1, 1, 1)),
        ),
        parts=(part_fit(),),
        readings=(
            made(fit.ReadingRow, 0, "span", 6.5, 4.1, 0.4, True),
            made(fit.ReadingRow, 1, "gap", 0.1, 0.3, 0.4, False),
        ),
        next=(made(fit.NextReading, 0.4, "measure LA–L4", "LA", "L4"),),
        body=made(fit.BodyAnswer, fit.BodyStatus.TRUE, "Both sides agree within 1 mm.", (), ()),
        variance_factor=1.2,
        dof=4,
        global_test=made(fit.GlobalTest, 4.8, 0.48, 11.1, True),
        datum="held by known points",
        status=fit.Status.CONVERGED,
        iterations=4,
        confidence=0.95,
        suspects_note="",
        problems=(Problem("reading[4]", "span of 0 mm, left out"),),
        sources=(Source(Basis.MEASURED, "readings of the file"),),
    )


def curve() -> tuple[bond.CurveRow, ...]:
    rows = []
    for minute in range(0, 481, 10):
        cold, hot = 19 + 20 * min(minute, 40) / 40, 19 + 50 * min(minute, 40) / 40
        mpa = min(20.0, minute / 20)
        rows.append(
            made(
                bond.CurveRow,
                minute,
                cold,
                hot,
                mpa,
                cold - 2,
                cold + 2,
                hot - 4,
                hot + 4,
                mpa * 0.8,
                mpa * 1.2,
            )
        )
    return tuple(rows)


def bond_answer() -> bond.BondAnswer:
    begun = datetime(2026, 11, 20, 12, 5, tzinfo=UTC)
    return made(
        bond.BondAnswer,
        joints=(
            made(
                bond.JointBond,
                joint="arch",
                adhesive="A1",
                work_until_min=47.0,
                handle_min=made(bond.Band, 150.0, 190.0, 260.0),
                full_min=made(bond.Band, 700.0, 900.0, 1300.0),
                coldest_mm=20.0,
                hottest_C=69.0,
                hottest_at_min=40.0,
                limit_C=80.0,
                over_limit=False,
                p_over_limit=0.02,
                curve=curve(),
                stays=(made(bond.Stay, "lamp 1", 0.0, 40.0, recorded=False),),
                clock=made(bond.Clock, bead_begun=begun, work_until=begun + timedelta(minutes=47)),
                sources=(SHEET,),
                notes=("Strength is scaled from the sheet.",),
            ),
        ),
        surface=made(
            bond.Surface,
            19.0,
            45.0,
            6.8,
            9.8,
            bond.Fit.YES,
            4.0,
            "Air 19 °C, 45 % RH: dew point 7 °C; bond on panels of 10 °C and more.",
            (Source(Basis.PUBLISHED, "Magnus formula", Mark.SEEN),),
        ),
        advice=("Read the temperature at the coldest spot.",),
        problems=(),
    )


def quiet_answer() -> quiet.Answer:
    part = made(
        quiet.PartAnswer,
        part="outer",
        pads=("upper",),
        pad_area_m2=0.2,
        pad_mass_kg=0.7,
        coverage=0.18,
        loss_bare=made(quiet.Band, 0.005, 0.01, 0.02),
        loss_with=made(quiet.Band, 0.03, 0.05, 0.08),
        quieter_dB=made(quiet.Band, 4.0, 7.0, 10.0),
        words="It rings less.",
        missing=(),
        shares=(),
        sources=(TRADE,),
    )
    return made(
        quiet.Answer,
        parts=(part,),
        pads=(),
        sheets=1,
        placements=(),
        stocks=(),
        how=(),
        cautions=("Warm the pads.",),
        problems=(),
        sources=(TRADE,),
    )


STEPS = (
    ("scan", "Pre-repair scan and photos", 1, False),
    ("isolate", "Isolate high voltage, prove it dead, lock it off", 1, True),
    ("readings", "Take the readings before cutting", 2, False),
    ("open", "Separate arch and rail flange", 3, False),
    ("look", "Inspect the inner wall", 4, True),
    ("dry-fit", "Dry fit, readings, move", 6, True),
    ("bond", "Bond, rivet and close", 8, False),
    ("cure", "Cure", 9, False),
    ("final", "Final fit", 11, True),
    ("wax", "Cavity wax", 12, False),
    ("calibrate", "Calibrate the corner radar", 12, False),
)
CAUTION = made(
    plan.Caution, "high-voltage", "High voltage: a qualified person isolates, not you alone."
)
DUST = made(
    plan.Caution, "dust", "Aluminium dust: own tools and vacuum; never water on burning dust."
)


def steps() -> tuple[plan.PlannedStep, ...]:
    found = []
    before: tuple[str, ...] = ()
    for index, (name, words, stage, hold) in enumerate(STEPS):
        start = START + timedelta(minutes=50 * index)
        by = plan.Who.QUALIFIED if name == "isolate" else plan.Who.TECHNICIAN
        found.append(
            made(
                plan.PlannedStep,
                id=name,
                repair="egret-7",
                stage=stage,
                name=words,
                by=by,
                people=1,
                person="technician 1",
                start=start,
                end=start + timedelta(minutes=45),
                work_minutes=45,
                waits_for=before,
                cautions=(CAUTION,) if index == 1 else (DUST,),
                hold=hold,
                proves="photo",
                why="step library",
                concerns=("outer",),
                done=index < 2,
                sources=(TRADE,),
            )
        )
        before = (name,)
    return tuple(found)


def plan_answer() -> plan.PlanAnswer:
    end = datetime(2026, 11, 24, 14, 40, tzinfo=UTC)
    return made(
        plan.PlanAnswer,
        steps=steps(),
        kit=(
            made(
                plan.KitLine,
                "blind rivet 4.8 × 10",
                31,
                20,
                "pieces",
                ("arch",),
                True,
                "10 % spare",
                (PROPOSAL,),
            ),
            made(
                plan.KitLine,
                "A1 panel adhesive",
                1,
                2,
                "cartridges",
                ("arch", "rail"),
                False,
                "",
                (SHEET,),
            ),
            made(plan.KitLine, "pad sheet", 1, None, "pieces", ("outer",), False, "", ()),
        ),
        ready_for_paint=(made(plan.Ready, "egret-7", end, end - timedelta(hours=2), end),),
        critical=("open", "bond", "cure"),
        status=plan.Status.OPTIMAL,
        gap=0.0,
        why=(),
        problems=(),
        working=(made(plan.Window, START, START + timedelta(hours=9)),),
        zone="Europe/Berlin",
        now=START,
        sources=(TRADE,),
    )


def answers() -> Answers:
    return Answers(
        teardown=teardown_answer(),
        joints=joints_answer(),
        fit=fit_answer(),
        bond=bond_answer(),
        quiet=quiet_answer(),
        plan=plan_answer(),
    )


def options() -> Options:
    return Options(as_of=datetime(2026, 11, 20, 12, 5, tzinfo=UTC))


def many_steps(count: int) -> plan.PlanAnswer:
    """A plan with far more steps than a page holds."""
    base = steps()
    long = tuple(
        replace(base[2 + i % 6], id=f"step {i}", waits_for=(), done=False, start=START, end=START)
        for i in range(count)
    )
    return replace(plan_answer(), steps=long)
