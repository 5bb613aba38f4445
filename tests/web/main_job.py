"""The main job in stages, as somebody with only the README would go through it by the pages.

Each stage takes the browser's page where the one before left it, enters what it is about, and looks
at what a technician must see. All values are invented.
"""

from __future__ import annotations

import os
import re
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from tests.web.van import Van, read

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page


NAME = "van-7"
SLOW_MS = 60_000
STRUCTURAL = ("rail-flange", "post-flange", "sill-flange")
JOINTS = {
    "seam": (700, 12),
    "arch": (500, 8),
    "rail-flange": (600, 9),
    "post-flange": (900, 12),
    "sill-flange": (500, 8),
    "pocket-flange": (420, 7),
}
"""Length in mm and number of old fasteners, as counted on the flanges."""
SHEETS = {
    "outer": "1.1", "side": "1.0", "wheelhouse": "1.2", "pocket": "1.2",
    "rail": "2.0", "post": "2.0", "sill": "2.0",
}  # fmt: skip
"""Thickness in mm, as the calliper shows it."""


@dataclass
class ShopClock:
    """A clock that goes on by itself from a Wednesday noon, and that a test moves on."""

    now: datetime = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
    began: float = field(default_factory=time.monotonic)

    def __call__(self) -> datetime:
        return self.now + timedelta(seconds=time.monotonic() - self.began)

    def go(self, **by: float) -> None:
        """Move it on."""
        self.now += timedelta(**by)


@dataclass
class Job:
    """A browser before a server, the van that is worked on, and how far it is."""

    page: Page
    address: str
    watch: ShopClock
    van: Van = field(default_factory=Van)
    shots: int = 0
    began: float = field(default_factory=time.perf_counter)

    @property
    def repair(self) -> str:
        """Give the address of the repair."""
        return f"{self.address}/repairs/{NAME}"

    def to(self, page: str = "") -> Page:
        """Go to a page of the repair by its address, where the way there is no matter."""
        self.page.goto(f"{self.repair}/{page}" if page else self.repair)
        return self.page

    def by_menu(self, title: str) -> Page:
        """Go to a page of the repair as a finger goes there."""
        self.page.get_by_role("navigation", name="Pages of this repair").first.get_by_role(
            "link", name=title, exact=True
        ).click()
        return self.page

    def says(self, words: str) -> None:
        """Look whether the first line of the page says this, once it does."""
        first = self.page.locator("main h1").filter(has_text=re.compile(words))
        first.wait_for(timeout=SLOW_MS)

    def went(self, stage: str) -> None:
        """Say how long a stage took where somebody wants to know."""
        if folder := os.environ.get("PANELWRIGHT_SHOTS"):
            now = time.perf_counter()
            with (Path(folder) / "times.txt").open("a", encoding="utf-8") as file:
                file.write(f"{stage}: {now - self.began:.1f} s\n")
            self.began = now

    def shot(self, name: str) -> None:
        """Keep a picture of the stage where somebody wants to look at them."""
        folder = os.environ.get("PANELWRIGHT_SHOTS")
        self.shots += 1
        if folder:
            path = Path(folder) / f"{self.shots:02}-{name}.png"
            self.page.screenshot(path=str(path), full_page=True)


def filled(form: Locator, **values: str) -> None:
    """Fill the fields of a form by their names, and send it."""
    for name, value in values.items():
        form.locator(f"[name={name}]").fill(value)
    form.get_by_role("button").last.click()


def people_and_start(job: Job) -> None:
    """Say who works, and start the repair from the zone that is damaged."""
    page = job.page
    page.goto(job.address)
    page.get_by_label("Name").fill("Carl")
    page.get_by_role("button", name="Work as this person").click()
    job.says("Start the first repair")
    job.shot("repairs")
    page.get_by_role("link", name="Start a repair").click()
    page.get_by_label("Van, rear corner").check()
    page.get_by_label("left", exact=True).check()
    page.get_by_label("battery").check()
    page.get_by_label("Name of the repair").fill(NAME)
    page.get_by_label("Vehicle, in your words").fill("parcel van, white")
    job.shot("start")
    page.get_by_role("button", name="Start the repair").click()
    job.says("Identify the vehicle")
    job.shot("now")


def vehicle_and_shop(job: Job) -> None:
    """Follow the first step to where the procedure and the shop are entered."""
    page = job.page
    page.get_by_role("link", name="Go to Vehicle, shop").click()
    job.says("Name the maker’s procedure")
    filled(page.locator("#vehicle"), reference="Body manual 7-2", revision="C")
    job.says("Say when the shop works")
    form = page.locator("#shop-form")
    form.locator("[name=zone]").select_option("Europe/Berlin")
    form.get_by_label("Sat").check()
    form.get_by_label("Sun").check()
    filled(form, shift="00:00-24:00", technicians="3")
    job.says("are entered")
    job.shot("shop")
    job.by_menu("Now")
    page.get_by_role("button", name="Done", exact=True).click()
    page.get_by_text(re.compile(r"\b1 of \d+ steps done")).wait_for(timeout=SLOW_MS)


def rivet_and_adhesive(job: Job) -> None:
    """Enter what the shop has by its data sheets."""
    page = job.by_menu("Joints")
    page.get_by_text("Add a rivet, or correct one").click()
    filled(
        page.locator("#new-rivet"),
        rivet="BR-48-12", diameter="4.8", length="12", grip_low="1.5", grip_high="6",
        hole="4.9", head_diameter="9.5", shear="3.4", on_hand="200", source="rivet sheet 2",
    )  # fmt: skip
    page.get_by_text("Add a rivet, or correct one").wait_for()
    job.by_menu("Bond")
    job.says("cannot be said yet")
    assert "[[" not in page.locator("main").inner_text()
    filled(
        page.locator("#adhesive-form"),
        adhesive="EP-2", kind="two-part epoxy", cartridge="200", thickness="0.3", limit="80",
        batch="B-17", use_by="2099-05-01", work_time="120", work_at="23", handle_time="420",
        handle_at="23", full_time="1440", full_at="23", source="sheet EP-2, edition 3",
    )  # fmt: skip
    page.get_by_text("One more time of its data sheet").click()
    form = page.locator("#figure-form")
    form.get_by_label("handling strength").check()
    filled(form, time="150", at="40", strength="1")
    page.get_by_text("handling strength after 2 h 30 min at 40 °C").wait_for()
    filled(page.locator("#air-form"), air="21", humidity="45", panel="20")
    page.get_by_text("Dew point 9 °C").wait_for()
    job.shot("bond-entered")


def parts_and_joints(job: Job) -> None:
    """Say what is right of what is assumed; the marks go."""
    page = job.by_menu("Findings")
    assumed = page.get_by_text("assumed, confirm")
    assert assumed.count() > 10
    page.get_by_role("button", name=re.compile(r"^All \d+ are right as they stand")).click()
    assumed.first.wait_for(state="detached")
    for part, thickness in SHEETS.items():
        job.to(f"part?id={part}").get_by_text("Material and measures").click()
        filled(page.locator("#part-table"), material="EN AW-6016-T4", thickness=thickness)
    job.by_menu("Joints")
    page.get_by_role("button", name=re.compile(r"^All \d+ are right as they stand")).click()
    assumed.first.wait_for(state="detached")
    job.says("Ask the maker about roof rail flange")
    for joint in JOINTS:
        _joint(job, joint)
    job.by_menu("Joints")
    assert page.get_by_text("ask the maker", exact=True).count() == 0
    job.shot("joints")


def _joint(job: Job, joint: str) -> None:
    """Enter one joint: what is counted and, where it is structural, the maker's word."""
    length, count = JOINTS[joint]
    form = job.to(f"joint?id={joint}").locator("#joint-table")
    job.page.get_by_text("Measures, old fasteners").click()
    form.get_by_label("yes", exact=True).check()
    values = {"length": str(length), "flange": "24", "old_count": str(count)}
    values |= {"old_fastener": "self-piercing rivet", "old_diameter": "5.3", "old_strength": "3"}
    if joint in STRUCTURAL:
        form.locator("[name=new_rivet]").select_option("BR-48-12")
        form.locator("[name=new_adhesive]").select_option("EP-2")
        pitch = (length - 60) / (count - 1)
        places = "; ".join(f"{30 + pitch * n:.0f}" for n in range(count))
        values |= {"new_count": str(count), "new_at": places, "new_edge": "12"}
    filled(form, **values)
    job.says(f"set {count} × BR-48-12")


def damage(job: Job) -> None:
    """Tap what becomes of the panel, and what showed once it was off."""
    page = job.by_menu("Findings")
    page.get_by_role("link", name=re.compile("^left rear corner panel")).click()
    page.get_by_role("button", name="Replace", exact=True).click()
    page.get_by_text("Found so far").wait_for()
    job.by_menu("Findings")
    row = page.get_by_role("listitem").filter(has_text=re.compile("4\\..*left rear corner panel"))
    row.get_by_role("link", name="What is behind: left wheelhouse").click()
    job.says("wheelhouse")
    page.get_by_label("What did you find?").fill("flange bent behind the panel")
    page.get_by_label("left rear corner panel").check()
    job.shot("hidden-damage")
    page.get_by_role("button", name="Repair", exact=True).click()
    page.get_by_text("flange bent behind the panel").wait_for()
    page.get_by_role("link", name="What it changes").click()
    page.get_by_text("Found: what it changes").wait_for()
    page.get_by_text("Tell the office:").wait_for(timeout=SLOW_MS)
    job.shot("what-it-changes")


def parts_are_here(job: Job) -> None:
    """Tap what is here; what is only to be laid out is not asked for."""
    page = job.by_menu("Parts list")
    job.says("Count what nobody has counted")
    while (here := page.get_by_role("button", name="It is here", exact=True)).count():
        left = here.count()
        here.first.click()
        here.nth(left - 1).wait_for(state="detached")
    page.get_by_text("Count them").first.click()
    page.get_by_label("On the shelf (cartridges)").fill("4")
    page.get_by_role("button", name="Keep").first.click()
    job.says("Lay out what must be at hand")
    job.shot("parts-list")


def signed_until(job: Job, words: str) -> int:
    """Do what the first page says, step by step, until it says this; give how many steps."""
    page = job.by_menu("Now")
    first = page.locator("main h1")
    steps = 0
    while not re.search(words, first.inner_text()):
        button = page.locator("form[id^=done-]")
        button.or_(page.locator("main h1").filter(has_text=re.compile(words))).first.wait_for()
        if not button.count():
            continue
        step = button.first.get_attribute("id")
        button.first.get_by_role("button").click()
        page.locator(f"#{step}").wait_for(state="detached")
        first.wait_for()
        steps += 1
        assert steps < 90, "the plan never ends"
    return steps


def list_taken(job: Job) -> list[str]:
    """Take every reading of the list, hands on the tool; give what was asked for."""
    found = []
    while not job.page.get_by_text("Every reading of this list is taken.").is_visible():
        found.append(read(job.page, job.van))
        assert len(set(found)) == len(found), "asked twice"
    return found
