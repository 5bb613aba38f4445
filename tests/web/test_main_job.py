"""The whole main job from an empty database through the pages alone, on a tablet.

Nothing is said by the command line, the interface or the store. The readings come from a van that
is simulated beside the program (`van.py`); where its panel really sits is known here alone.
"""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING

from pypdf import PdfReader

from panelwright.store import place_of
from panelwright.web import Worker
from tests.web import main_job
from tests.web.browser import SIZES, Served, fits, listened, started
from tests.web.main_job import NAME, SLOW_MS, Job, ShopClock, filled, list_taken, signed_until

if TYPE_CHECKING:
    from playwright.sync_api import Page

MISPLACED = (2.6, -1.4, 2.2)
TURNED = (0.4, 2.2, -0.8)
"""How far the new panel hangs from home: mm rearward, right, up; thousandths of a turn."""
DIGITS = re.compile(r"^\d+(:\d\d){1,2}$")


def test_a_repair_runs_from_an_empty_database_to_its_job_file(tmp_path: Path) -> None:
    watch = ShopClock()
    place = place_of(tmp_path)
    with Served(place, Worker.PROCESS, clock=watch) as served, started() as browser:
        width, height = SIZES["tablet"]
        context = browser.new_context(viewport={"width": width, "height": height})
        context.set_default_timeout(SLOW_MS)
        page = context.new_page()
        complaints = listened(page)
        job = Job(page, served.address, watch)
        for stage in STAGES:
            stage(job)
            job.went(stage.__name__)
            assert fits(page), f"{stage.__name__} is wider than the tablet"
        assert complaints == []
        assert served.desk.reports == []


def confirm_places(job: Job) -> None:
    """Confirm points, gaps, flanges and pins; nothing is assumed then."""
    page = job.by_menu("Fit")
    page.get_by_role("link", name="Go through them").click()
    for place in ("d2", "s2"):
        name = re.compile(f"^Not on this vehicle: {place}:")
        page.get_by_role("button", name=name).click()
        page.get_by_role("button", name=name).wait_for(state="detached")
    for kind in ("point", "station", "contact", "locator"):
        page.locator(f"#assumed-{kind}").get_by_role("button", name=re.compile("^All")).click()
        page.locator(f"#assumed-{kind}").wait_for(state="detached")
    job.says("Nothing waits to be confirmed.")
    job.by_menu("Fit")
    assert page.get_by_text("assumed, confirm").count() == 0


def before_cutting(job: Job) -> None:
    """Read openings and diagonals while the old panel is on: the body is true."""
    job.says("Take the readings before anything is cut.")
    job.page.get_by_role("link", name="Take the readings").click()
    job.shot("reading")
    taken = list_taken(job)
    assert len(taken) > 15
    assert all(key.startswith("span:") for key in taken)
    job.page.get_by_role("link", name="See where it sits").click()
    job.says("The body is true by these readings.")


def safe_before_anything_comes_off(job: Job) -> None:
    """Do step by step what the first page says, until the first part comes off."""
    assert signed_until(job, "^Undo joint") > 5
    job.shot("now-undo")


def first_dry_fit(job: Job) -> None:
    """Hang the panel where it does not belong; the page says which way, near the truth."""
    job.van.shift, job.van.turn = MISPLACED, TURNED
    page = job.by_menu("Fit")
    page.get_by_role("link", name="Dry fit 1: take the readings").click()
    taken = list_taken(job)
    assert {key.partition(":")[0] for key in taken} >= {"contact", "locator", "station"}
    page.get_by_role("link", name="See where it sits").click()
    job.says("^Push the")
    page.locator(".fit-verdict").get_by_text("not home").wait_for()
    job.shot("first-dry-fit")
    _pushes_are_near_the_truth(job)
    signed_until(job, "^Push the")
    job.shot("now-says-push")


def _pushes_are_near_the_truth(job: Job) -> None:
    """Look at each push: the panel is off by that much at one of the corners, the other way."""
    pushes = job.page.locator(".fit-moves li").all_inner_texts()
    assert pushes
    corners = [job.van.moved(job.van._at[f"L{number}"]) for number in (5, 6, 7, 8, 9, 10, 11)]
    for words in pushes:
        said = dict(_ways(words))
        assert said, words
        misses = [
            max(abs(said.get(way, 0.0) - want) for way, want in _needed(off)) for off in corners
        ]
        assert min(misses) < 1.2, (words, min(misses))


def _ways(words: str) -> list[tuple[str, float]]:
    found = re.findall(r"([\d.]+) mm (forward|rearward|to the right|to the left|up|down)", words)
    return [(way, float(amount)) for amount, way in found]


def _needed(off: tuple[float, float, float]) -> list[tuple[str, float]]:
    """Give what brings a place home, each way that is more than half a millimetre."""
    ways = (("forward", "rearward"), ("to the left", "to the right"), ("down", "up"))
    return [
        (back if value > 0 else ahead, abs(value))
        for (back, ahead), value in zip(ways, off, strict=True)
        if abs(value) > 0.5
    ]


def second_dry_fit(job: Job) -> None:
    """Move it, say so, read again: inside."""
    page = job.by_menu("Fit")
    page.get_by_role("button", name="It is moved: begin dry fit 2").click()
    job.van.shift, job.van.turn = (0.15, 0.0, -0.1), (0.0, 0.1, 0.0)
    page.get_by_text("Dry fit 2").first.wait_for()
    list_taken(job)
    page.get_by_role("link", name="See where it sits").click()
    job.says("It is home: pin the left rear corner panel.")
    assert page.locator(".fit-verdict").first.inner_text().endswith("home")
    assert page.get_by_text(re.compile(r"\d+ inside\.")).count() >= 1
    job.shot("second-dry-fit")


def drill_and_count(job: Job) -> None:
    """Count holes: plus, minus, undo, all."""
    page = job.by_menu("Joints")
    page.get_by_role("link", name=re.compile("^side-wall seam")).click()
    holes = page.get_by_role("region", name="Holes drilled")
    for button, count in (("One more", 1), ("One more", 2), ("One less", 1)):
        holes.get_by_role("button", name=button).click()
        holes.get_by_text(f"{count} of 12").wait_for()
    holes.get_by_role("button", name="Undo the last tap").click()
    holes.get_by_text("2 of 12").wait_for()
    holes.get_by_role("button", name="All 12").click()
    holes.get_by_text("12 of 12").wait_for()
    job.shot("drilled")


def bond(job: Job) -> None:
    """Tap each moment; clocks with digits follow on Bond, Now and Repairs."""
    page = job.by_menu("Bond")
    for button, then in (
        ("Surfaces prepared", "Start the adhesive"),
        ("Adhesive started", "Close left rear corner panel once"),
        ("Panel on", "Set the rivets"),
    ):
        page.get_by_role("button", name=button, exact=True).click()
        job.says(then)
        job.watch.go(minutes=4)
    _clocks(page)
    job.shot("panel-on")
    page.get_by_role("button", name="Rivets set", exact=True).click()
    job.says("clamped and unloaded")
    page.get_by_role("link", name=re.compile("^side-wall seam")).click()
    page.get_by_text("Plan a lamp").click()
    filled(page.locator("#lamp-form"), lamp="lamp 1", power="1500", distance="600", to="40")
    page.get_by_role("button", name="Lamp on").click()
    page.get_by_role("button", name="Lamp off").wait_for()
    job.watch.go(minutes=20)
    page.get_by_label("Thermometer", exact=True).fill("41")
    page.get_by_role("button", name="Keep this reading").click()
    page.get_by_role("heading", name="Readings", exact=True).wait_for()
    job.watch.go(minutes=20)
    page.get_by_role("button", name="Lamp off").click()
    page.get_by_text(re.compile("^Lamp off: ")).wait_for()
    job.shot("cure")
    job.by_menu("Now")
    _clocks(page)
    page.get_by_role("link", name="Repairs").click()
    _clocks(page)
    page.get_by_text(re.compile(r"Ready for paint \w+ \d+ \w+ \d\d:\d\d")).wait_for(timeout=SLOW_MS)
    job.shot("repairs-with-clocks")


def _clocks(page: Page) -> None:
    page.locator(".late").wait_for(state="detached", timeout=SLOW_MS)
    page.locator(".clock .digits").first.wait_for()
    for digits in page.locator(".clock .digits").all_inner_texts():
        assert DIGITS.match(digits), digits


def sign_off(job: Job) -> None:
    """Sign a step on the page Plan, then the rest as the first page brings them, over two days."""
    page = job.page
    page.get_by_role("link", name=NAME).first.click()
    job.by_menu("Plan")
    step = page.locator("[id^=next-]").first.get_attribute("id")
    page.locator(f"#{step} form.tap button").click()
    page.locator(f"#{step}").wait_for(state="detached")
    job.shot("plan")
    signed = days = 0
    while not page.get_by_role("heading", name="Every step is done.").is_visible():
        signed += signed_until(job, "^(Wait|Every step is done)")
        if page.locator(".working").count():  # it may know better in a moment
            page.locator(".working").first.wait_for(state="detached")
            continue
        job.watch.go(hours=24)
        days += 1
        assert days < 10, "what is waited for never comes"
    job.shot("signed-off")
    assert signed > 20


def job_file(job: Job) -> None:
    """Make the job file and look into it."""
    page = job.by_menu("Job file")
    page.get_by_role("button", name="Make the job file").click()
    job.says("The job file is ready")
    job.shot("job-file")
    link = page.get_by_role("link", name="Open the job file (PDF)")
    with page.expect_download() as download:
        link.click()
    data = Path(download.value.path()).read_bytes()
    assert data.startswith(b"%PDF-")
    sheets = PdfReader(io.BytesIO(data)).pages
    text = " ".join(" ".join(sheet.extract_text() for sheet in sheets).split())
    for fact in FACTS:
        assert fact in text, fact


FACTS = (
    NAME, "parcel van, white", "Body manual 7-2", "BR-48-12", "EP-2", "B-17",
    "flange bent behind the panel", "Carl",
)  # fmt: skip
STAGES = (
    main_job.people_and_start,
    main_job.vehicle_and_shop,
    main_job.rivet_and_adhesive,
    main_job.parts_and_joints,
    main_job.parts_are_here,
    confirm_places,
    before_cutting,
    safe_before_anything_comes_off,
    main_job.damage,
    first_dry_fit,
    second_dry_fit,
    drill_and_count,
    bond,
    sign_off,
    job_file,
)
