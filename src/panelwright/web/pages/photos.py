"""Photos: from camera or file, to a part, a step or a finding."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from fastapi import APIRouter, HTTPException
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, Response

from panelwright.errors import PhotoError, StoreError
from panelwright.record import Unanswered
from panelwright.web.forms import Form, Sent
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, Here, There
from panelwright.web.writes import Say, save, status_of

router = APIRouter()
PAGE = Page("photos", "Photos", 90, router)

MOST_PHOTO = 25_000_000


@dataclass(frozen=True)
class Shown:
    """A photo on the page."""

    id: str
    sha256: str
    of: str
    note: str
    person: str
    at: datetime


@router.get("/repairs/{name}/photos")
def photos(there: AtRepair, of: str = "") -> Response:
    """Show the repair's photos; `of` names what the next one will show."""
    return page(there, Form(values={"of": of} if of else {}))


def page(there: There, form: Form) -> Response:
    """Show the page, with a form that was not taken where there is one."""
    return show(
        there,
        "photos.html",
        form=form,
        heading="Photos",
        photos=_shown(there),
        subjects=subjects(there),
    )


def subjects(there: There) -> list[tuple[str, str]]:
    """Give what a photo can show: the value of the choice and its words."""
    repair = there.known.repair
    found = [(f"part:{part.id}", f"Part: {part.label}") for part in repair.parts]
    for fact in there.known.folded.facts:
        if fact.kind == "finding":
            words = f"Finding: {fact.body.get('part')}, {fact.body.get('what')}"
            found.append((f"finding:{fact.id}", words[:120]))
    plan = there.answers.plan(there.known).answer
    if plan is not None and not isinstance(plan, Unanswered):
        found += [(f"step:{step.id}", f"Step: {step.name}") for step in plan.steps]
    return found


def _shown(there: There) -> list[Shown]:
    words = dict(subjects(there))
    found = []
    for fact in reversed(there.known.folded.facts):
        if fact.kind != "photo":
            continue
        told = {key: str(value) for key, value in fact.body.items()}
        of = next((f"{k}:{told[k]}" for k in ("part", "finding", "step") if k in told), "")
        kind, _, name = of.partition(":")
        found.append(
            Shown(
                id=str(fact.id),
                sha256=told["sha256"],
                of=words.get(of, f"{kind.capitalize()}: {name}" if kind else "The whole repair"),
                note=told.get("note", ""),
                person=fact.person,
                at=fact.recorded_at,
            )
        )
    return found


@router.post("/repairs/{name}/photos")
async def add(there: AtRepair, form: Sent) -> Response:
    """Store a photo, written anew without what the camera added, and say what it shows."""
    sent = form.files.get("photo")
    data = await sent.read(MOST_PHOTO + 1) if sent is not None else b""
    return await run_in_threadpool(_add, there, form, data)


def _add(there: There, form: Form, data: bytes) -> Response:
    of = form.choice("of", [value for value, _ in subjects(there)], need="")
    note = form.text("note", most=500)
    sha256 = _stored(there, form, data) if form.ok else None
    kind, _, name = (of or "").partition(":")
    at = there.when.here(there.desk.settings.clock()).replace(microsecond=0).isoformat()
    body: dict[str, object] = {"sha256": sha256, "note": note, "at": at, "by": there.person.name}
    if kind:
        body[kind] = name
    return save(
        there,
        form,
        lambda: [Say("photo", body)],
        then=there.path("photos"),
        again=lambda: page(there, form),
    )


def _stored(there: There, form: Form, data: bytes) -> str | None:
    if not data:
        form.wrong("photo", "Take a photo or choose a file.")
        return None
    try:
        return there.store.add_photo(data).sha256
    except PhotoError as error:
        form.wrong("photo", f"{str(error)[:1].upper()}{str(error)[1:]}.")
    except StoreError as error:
        form.wrong("", f"{str(error)[:1].upper()}{str(error)[1:]}.")
        form.status = status_of(error)
    return None


@router.get("/photos/{sha256}.jpg")
def file(visit: Here, sha256: str) -> Response:
    """Give a photo's file; its name is its hash, so a browser may keep it."""
    if visit.store.photo(sha256) is None:
        raise HTTPException(404)
    path: Path = visit.store.photo_file(sha256)
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return FileResponse(path, media_type="image/jpeg", headers=headers)
