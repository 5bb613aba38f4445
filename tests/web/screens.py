"""Every page of the program and the states in which somebody sees it: what tests of looks visit.

A page that is nowhere in here fails `test_look.py`: no new page escapes its checks.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from typing import TYPE_CHECKING
from unittest.mock import patch

from panelwright.web.answers import Planned
from panelwright.web.page import all_pages
from tests.web.browser import Served, soon

if TYPE_CHECKING:
    from playwright.sync_api import Page

BEGUN, BEFORE, ZONE, EMPTY, UNCUT = (
    f"/repairs/{name}" for name in ("heron-114", "before", "zone", "bare", "uncut")
)
"""Repairs: at work; before the panel is on; just started from a zone; empty; nothing cut yet."""

FILES = frozenset(
    {
        "/",
        "/photos/{sha256}.jpg",
        "/repairs/{name}/joint/template/{sheet}",
        "/repairs/{name}/job-file/pdf",
    }
)
"""What is asked for by address and is no page: a way on, pictures, the job file."""

_MENU = {page.key or "now": page.path("{}") for page in all_pages() if page.title}


def _menu(repair: str, name: str, without: tuple[str, ...] = ()) -> dict[str, str]:
    named = {key: path for key, path in _MENU.items() if key not in without}
    return {f"{name}-{key}": f"{repair}{path[11:]}" for key, path in named.items()}


PAGES: Mapping[str, str] = {
    "repairs": "/repairs",
    "start": "/start",
    "people": "/people",
    **_menu(BEGUN, "begun"),
    **_menu(BEFORE, "before", without=("fit", "photos", "log")),
    **_menu(EMPTY, "empty"),
    "part": f"{BEGUN}/part?id=wheelhouse",
    "part-assumed": f"{ZONE}/part?id=outer",
    "joint": f"{BEGUN}/joint?id=arch",
    "joint-ask": f"{BEGUN}/joint?id=roof-rail",
    "joint-bolt": f"{BEGUN}/joint?id=bumper-bolts",
    "cure": f"{BEGUN}/cure?id=arch",
    "cure-none": f"{BEGUN}/cure?id=bumper-bolts",
    "supplement": f"{BEGUN}/job-file?supplement=yes",
    "zone-now": ZONE,
    "zone-findings": f"{ZONE}/findings",
    "zone-fit": f"{ZONE}/fit",
    "zone-joints": f"{ZONE}/joints",
    "zone-confirm": f"{ZONE}/fit/confirm",
    "confirm-none": f"{BEGUN}/fit/confirm",
    "take": f"{BEGUN}/fit/take?stage=2",
    "take-list": f"{BEGUN}/fit/take?at=end",
    "take-nothing": f"{EMPTY}/fit/take",
    "read": f"{BEGUN}/fit/read",
    "read-nothing": f"{EMPTY}/fit/read",
    "pick-span": f"{BEGUN}/fit/read?of=span",
    "pick-second": f"{BEGUN}/fit/read?of=span:L5",
    "pick-station": f"{BEGUN}/fit/read?of=station",
    "read-span": f"{BEGUN}/fit/read?of=span:L5:R3",
    "read-height": f"{BEGUN}/fit/read?of=height:L5",
    "read-compare": f"{BEGUN}/fit/read?of=compare:L5:R3:R5:L3",
    "read-gap": f"{BEGUN}/fit/read?of=station:d1",
    "read-flush": f"{BEGUN}/fit/read?of=station:d1&gap=ok",
    "read-contact": f"{BEGUN}/fit/read?of=contact:c1",
    "read-locator": f"{BEGUN}/fit/read?of=locator:p1",
    "add": f"{BEGUN}/fit/add",
    **{
        f"add-{kind}": f"{BEGUN}/fit/add?kind={kind}"
        for kind in ("pair", "point", "station", "contact", "locator")
    },
    **{
        f"{name}-{page}": f"{repair}/fit/{page}"
        for name, repair in (("begun", BEGUN), ("empty", EMPTY))
        for page in ("adjusters", "homes", "sister", "tools")
    },
    **{
        f"uncut-{page or 'now'}": f"{UNCUT}/{page}".rstrip("/")
        for page in ("", "plan", "fit", *(f"fit/{one}" for one in ("adjusters", "sister", "tools")))
    },
    "take-sister": f"{BEGUN}/fit/take?stage=sister",
    "rows": f"{BEGUN}/fit/rows",
    "readings": f"{BEGUN}/fit/readings",
    "readings-none": f"{EMPTY}/fit/readings",
    "look": f"{BEGUN}/fit/look?part=outer",
    "look-point": f"{BEGUN}/fit/look?part=outer&a=L5",
    "look-span": f"{BEGUN}/fit/look?part=outer&a=L5&b=R3",
    "look-none": f"{EMPTY}/fit/look",
    "unknown-repair": "/repairs/nothing",
    "unknown-page": "/nothing",
    "unknown-part": f"{BEGUN}/part?id=nothing",
    "odd-address": f"{BEGUN}/log?before=x",
}
"""Name → address; the rest of the states is in `STATES`."""


@dataclass(frozen=True)
class Wrong:
    """A form that is sent with what it cannot take.

    Attributes
    ----------
    path : str
    form : str
        Selector of the form.
    given : mapping
        Names of fields and what is typed into them.
    button : str
        Selector of the button within the form, where it is not the first.
    """

    path: str
    form: str
    given: Mapping[str, str] = field(default_factory=dict)
    button: str = "button:not([type=button])"

    def __call__(self, page: Page, served: Served) -> None:
        """Fill and send it, and wait for the word of what is wrong."""
        page.goto(served.address + self.path)
        _opened(page)
        form = page.locator(self.form)
        for name, value in self.given.items():
            form.locator(f"[name={name}]").first.fill(value)
        form.locator(self.button).first.click()
        page.locator(".problem:visible, .trouble:visible").first.wait_for()


def _opened(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")


def _layout_chosen(page: Page, served: Served) -> None:
    page.goto(f"{served.address}/start")
    page.locator("input[name=zone]").first.check()
    page.locator("input[name=side]").first.check()


def _large(path: str) -> Callable[[Page, Served], None]:
    """Open the first drawing of a page large."""

    def drive(page: Page, served: Served) -> None:
        page.goto(served.address + path)
        page.locator(".figure .open").first.click()
        page.locator(".figure .close:visible").wait_for()

    return drive


def _far(page: Page, served: Served) -> None:
    page.goto(f"{served.address}{BEGUN}/fit/read?of=span:L5:R3")
    page.locator("input[name=value]").fill("20")
    page.keyboard.press("Enter")
    page.get_by_text("store it as it stands").wait_for()


def _bad_rows(page: Page, served: Served) -> None:
    page.goto(f"{served.address}{BEGUN}/fit/rows")
    page.locator("[name=rows]").fill("from,to,value\nL5,nowhere,12\n")
    page.get_by_role("button", name="Store them").click()
    page.locator("#bad-rows").wait_for()


def _planning(path: str) -> Callable[[Page, Served], None]:
    """Show a page while its plan is being made."""

    def drive(page: Page, served: Served) -> None:
        nothing_yet = Planned(None, current=False)
        with patch.object(served.desk.answers, "plan", lambda _: nothing_yet):
            page.goto(served.address + path)
        page.locator("progress").first.wait_for()

    return drive


def _lost(page: Page, served: Served) -> None:
    page.goto(f"{served.address}{BEGUN}/bond")
    page.evaluate("document.getElementById('lost').hidden = false")


def _alarm(page: Page, served: Served) -> None:
    """Switched on, with a notice of what is due."""
    page.goto(f"{served.address}{BEGUN}/bond")
    page.locator("#alarm-switch").click()
    page.evaluate(
        "document.getElementById('alarm-what').innerHTML ||= '<p>10 min left or less: Panel on</p>'"
    )
    page.evaluate("document.getElementById('alarm').hidden = false")


def _nobody(page: Page, served: Served) -> None:
    kept = page.context.cookies()
    page.context.clear_cookies()
    page.goto(f"{served.address}/people")
    page.context.add_cookies(kept)  # type: ignore[arg-type]


def _job_file(page: Page, served: Served) -> None:
    page.goto(f"{served.address}{BEGUN}/job-file?paper=a4")
    page.get_by_role("link", name="Open the job file").wait_for(timeout=120_000)


def _stored(page: Page, served: Served) -> None:
    """The screen of a reading says which one this person stored before it."""
    page.goto(f"{served.address}{BEFORE}/fit/take?stage=2")
    page.get_by_role("button", name="Take it back").wait_for()


STATES: Mapping[str, Callable[[Page, Served], None]] = {
    "start-chosen": _layout_chosen,
    "start-wrong": Wrong("/start", "#begin", {"name": "two words"}),
    "start-no-file": Wrong("/start", "#bring", {"as": "two words"}),
    "people-nobody": _nobody,
    "people-wrong": Wrong("/people", "form:has(#f-name)", {"name": "\u200b"}),
    "part-wrong": Wrong(f"{BEGUN}/part?id=outer", "#finding", {}, "button[value=note]"),
    "part-table-wrong": Wrong(
        f"{BEGUN}/part?id=outer", "#part-table", {"name": "", "thickness": "thick"}
    ),
    "findings-part-wrong": Wrong(f"{BEGUN}/findings", "#new-part"),
    "findings-procedure-wrong": Wrong(f"{BEGUN}/findings", "#procedure", {"reference": ""}),
    "joints-joint-wrong": Wrong(f"{BEGUN}/joints", "#new-joint"),
    "joints-rivet-wrong": Wrong(f"{BEGUN}/joints", "#new-rivet", {"diameter": "thick"}),
    "joint-table-wrong": Wrong(
        f"{BEGUN}/joint?id=arch", "#joint-table", {"name": "", "length": "long"}
    ),
    "joint-count-wrong": Wrong(
        f"{BEGUN}/joint?id=seam", "#count-form-drilled", {}, "button[value=minus]"
    ),
    "bond-air-wrong": Wrong(f"{BEGUN}/bond", "#air-form", {"air": "warm", "humidity": "200"}),
    "bond-late-wrong": Wrong(f"{BEGUN}/bond", "#late-form"),
    "bond-adhesive-wrong": Wrong(f"{BEGUN}/bond", "#adhesive-form", {"work_time": "40"}),
    "cure-temperature-wrong": Wrong(f"{BEGUN}/cure?id=arch", "#temperature", {"value": "warm"}),
    "cure-lamp-wrong": Wrong(f"{BEGUN}/cure?id=arch", "#lamp-form", {"distance": "far"}),
    "parts-count-wrong": Wrong(
        f"{BEGUN}/parts", "form[id^=count-form]:has(input) >> nth=0", {"on_hand": "many"}
    ),
    "parts-batch-wrong": Wrong(f"{BEGUN}/parts", "#batch-form-1", {"batch": ""}),
    "quiet-pad-wrong": Wrong(f"{BEGUN}/quiet", "#new-pad", {"width": "wide"}),
    "reading-wrong": Wrong(f"{BEGUN}/fit/read?of=span:L5:R3", "#read", {"value": "abc"}),
    "reading-far": _far,
    "gap-wrong": Wrong(f"{BEGUN}/fit/read?of=station:d1", "#gap-number", {"gap": "abc"}),
    "locator-wrong": Wrong(f"{BEGUN}/fit/read?of=locator:p1", "#off", {"along": "abc"}),
    "add-wrong": Wrong(f"{BEGUN}/fit/add?kind=station", "#add"),
    "confirm-wrong": Wrong(
        f"{ZONE}/fit/confirm",
        "form[id^=corrected]:has(input[name=clearance]) >> nth=0",
        {"clearance": "loose"},
    ),
    "adjusters-wrong": Wrong(f"{BEGUN}/fit/adjusters", "#new-adjuster", {"low": "wide"}),
    "adjusters-correct-wrong": Wrong(f"{BEGUN}/fit/adjusters", "#corrected-2", {"step": "0"}),
    "homes-wrong": Wrong(f"{BEGUN}/fit/homes", "#homes-1", {"tolerance": "near"}),
    "sister-wrong": Wrong(f"{BEGUN}/fit/sister", "#sister-rows", {"rows": "nobody,1,2,3"}),
    "rows-wrong": _bad_rows,
    "readings-wrong": Wrong(f"{BEGUN}/fit/readings", "#take-back-2", {}, "button:not([name])"),
    "log-wrong": Wrong(f"{BEGUN}/log", "form[id^=withdraw] >> nth=0"),
    "photos-wrong": Wrong(f"{BEGUN}/photos", "#add-photo"),
    "fit-large": _large(f"{BEGUN}/fit"),
    "joint-large": _large(f"{BEGUN}/joint?id=arch"),
    "cure-large": _large(f"{BEGUN}/cure?id=arch"),
    "quiet-large": _large(f"{BEGUN}/quiet"),
    "now-planning": _planning(BEGUN),
    "plan-planning": _planning(f"{BEGUN}/plan"),
    "parts-planning": _planning(f"{BEGUN}/parts"),
    "lost": _lost,
    "alarm": _alarm,
    "job-file-made": _job_file,
    "reading-stored": _stored,
}
"""Name → how somebody gets there."""


def picture() -> bytes:
    """A small photograph of nothing."""
    from PIL import Image  # noqa: PLC0415 - where it is drawn

    kept = BytesIO()
    Image.new("RGB", (320, 240), (120, 130, 140)).save(kept, "JPEG")
    return kept.getvalue()


def begin(page: Page, address: str) -> None:
    """Work on the repair as somebody would: the outer panel is on, under its lamp."""
    page.goto(address + PAGES["part"])
    page.get_by_label("What did you find?").fill("folded over behind the baffle")
    page.get_by_label("left rear outer panel").check()
    page.get_by_role("button", name="Replace").click()
    page.get_by_text("folded over behind the baffle – replace").wait_for()
    page.goto(address + PAGES["joint"])
    page.locator("#count-drilled").get_by_role("button", name="All 12").click()
    soon(page, "document.querySelector('#count-drilled .digits').innerText.startsWith('12')")
    page.goto(f"{address}{BEGUN}/bond")
    for word in ("Surfaces prepared", "Adhesive started", "Panel on"):
        group = page.locator("section.card", has=page.get_by_role("heading", name="outer panel"))
        group.get_by_role("button", name=word, exact=True).click()
        group.get_by_role("button", name=f"Take back: {word}").wait_for()
    page.goto(address + PAGES["cure"])
    page.get_by_role("button", name="Lamp on").click()
    page.get_by_label("How far from the joint’s start (mm)").fill("200")
    page.get_by_label("Thermometer", exact=True).fill("21")
    page.get_by_role("button", name="Keep this reading").click()
    page.get_by_role("heading", name="Readings").wait_for()
    for note in ("the wheel house", "the wrong panel"):
        _photographed(page, address, note)
    page.goto(f"{address}{BEGUN}/log")
    entry = page.locator(".entry", has_text="the wrong panel").first
    entry.get_by_text("Withdraw", exact=True).click()
    entry.get_by_label("Why is it wrong?").fill("the wrong panel")
    entry.get_by_role("button", name="Withdraw this entry").click()
    page.get_by_text("takes back").wait_for()


def _photographed(page: Page, address: str, note: str) -> None:
    page.goto(f"{address}{BEGUN}/photos")
    page.get_by_label("Photo", exact=True).set_input_files(
        {"name": "bay.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    )
    page.get_by_label("In words").fill(note)
    page.get_by_role("button", name="Keep the photo").click()
    page.locator(".photos").get_by_text(note).wait_for()
