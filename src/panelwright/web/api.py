"""The JSON interface: repairs, facts, answers, logs and photos; described at /api/openapi.json."""

from __future__ import annotations

from dataclasses import asdict
from importlib import import_module
from typing import Annotated, Any

from fastapi import (
    APIRouter,
    Depends,
    File,
    HTTPException,
    Path,
    Query,
    Request,
    Response,
    UploadFile,
)
from pydantic import ValidationError
from starlette.responses import FileResponse, JSONResponse

from panelwright.errors import InvalidFile
from panelwright.facts.document import document_of
from panelwright.facts.entry import Fact, written
from panelwright.facts.kinds import body_of
from panelwright.facts.problem import Question
from panelwright.record import Unanswered
from panelwright.store import Appended, Photo
from panelwright.web.api_models import (
    AppendedOut,
    EntryOut,
    FactIn,
    FactsIn,
    ListedOut,
    LogOut,
    MakingOut,
    PhotoOut,
    ProblemOut,
    ProblemsOut,
    RepairOut,
    RepairsOut,
    StartIn,
    UnansweredOut,
)
from panelwright.web.desk import Desk
from panelwright.web.known import READS
from panelwright.web.visit import desk_of
from panelwright.web.writes import check

_REFUSED: dict[int | str, dict[str, Any]] = {
    400: {"model": ProblemsOut, "description": "What was sent cannot be read"},
    403: {"description": "Another Host or Origin", "content": {"text/plain": {}}},
    413: {"model": ProblemsOut, "description": "Too large"},
    422: {"model": ProblemsOut, "description": "What was sent does not fit"},
    503: {"model": ProblemsOut, "description": "The store cannot be reached just now"},
    507: {"model": ProblemsOut, "description": "The disk is full"},
}
_MISSING: dict[int | str, dict[str, Any]] = {
    404: {"model": ProblemsOut, "description": "There is no such thing"}
}
_TAKEN: dict[int | str, dict[str, Any]] = {
    409: {"model": ProblemsOut, "description": "The name, or an id, stands for something else"}
}

router = APIRouter(prefix="/api", tags=["repairs"], responses=_REFUSED)


async def _desk(request: Request) -> Desk:
    """Give the desk without a thread of its own for that."""
    return desk_of(request)


AtDesk = Annotated[Desk, Depends(_desk)]
Name = Annotated[str, Path(max_length=80, description="Of a stored repair.")]
Sha256 = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$", description="Of a stored photo.")]
Number = Annotated[int, Query(ge=-1, le=2**53)]


@router.get("/repairs")
def repairs(desk: AtDesk) -> RepairsOut:
    """List all repairs."""
    return RepairsOut(repairs=[ListedOut(**asdict(one)) for one in desk.store.repairs()])


@router.post("/repairs", status_code=201, responses=_TAKEN)
def start(desk: AtDesk, sent: StartIn) -> AppendedOut:
    """Start a repair; the same sent again changes nothing."""
    return _appended(desk, desk.store.start(sent.name, _facts(desk, sent.facts)))


@router.get("/repairs/{name}", responses=_MISSING)
def repair(desk: AtDesk, name: Name) -> RepairOut:
    """Give a repair as its log tells it now."""
    known = desk.answers.known(name)
    return RepairOut(
        name=name,
        head=known.log.head,
        facts=len(known.log.entries),
        problems=[ProblemOut(where=p.where, what=p.what) for p in known.repair.problems],
        document=_json(body_of(document_of(known.folded))),
    )


@router.get("/repairs/{name}/log", responses=_MISSING)
def log(desk: AtDesk, name: Name, after: Number = -1) -> LogOut:
    """Give the entries of a log behind a number."""
    known = desk.answers.known(name)
    entries = [
        EntryOut(
            number=number,
            fact=_json(written(entry.fact)),
            previous=entry.previous,
            hash=entry.hash,
            withdrawn=entry.fact.id in known.folded.withdrawn,
        )
        for number, entry in enumerate(known.log.entries)
        if number > after
    ]
    return LogOut(head=known.log.head, entries=entries)


@router.post("/repairs/{name}/facts", responses={**_MISSING, **_TAKEN})
def append(desk: AtDesk, name: Name, sent: FactsIn) -> AppendedOut:
    """Append facts; one whose id is there already is not stored twice."""
    return _appended(desk, desk.store.append(name, _facts(desk, sent.facts)))


@router.get(
    "/repairs/{name}/answers/{room}",
    responses={**_MISSING, 202: {"model": MakingOut}, 422: {"model": UnansweredOut | ProblemsOut}},
    response_model=None,
    response_class=JSONResponse,
)
def answer(desk: AtDesk, name: Name, room: Question) -> Response:
    """Give a room's answer with its published keys."""
    known = desk.answers.known(name)
    found: object
    if room is Question.PLAN:
        planned = desk.answers.plan(known)
        found = planned.answer if planned.current else None
    elif room in READS:
        found = getattr(desk.answers, room.value)(known)
    else:
        found = Unanswered(("The job file is no answer in JSON: it is made on its page.",))
    if found is None:
        return JSONResponse({"making": True}, 202, headers={"Retry-After": "1"})
    if isinstance(found, Unanswered):
        return JSONResponse({"unanswered": list(found.why)}, 422)
    published = import_module(f"panelwright.{room.value}.published")
    return JSONResponse(published.as_json(found))


@router.post("/photos", status_code=201)
def add_photo(desk: AtDesk, file: Annotated[UploadFile, File()]) -> PhotoOut:
    """Store a photo, written anew without what the camera added."""
    return _photo(desk.store.add_photo(file.file.read()))


@router.get("/photos/{sha256}", responses=_MISSING)
def photo(desk: AtDesk, sha256: Sha256) -> PhotoOut:
    """Give a photo's size and kind."""
    return _photo(_found(desk, sha256))


@router.get(
    "/photos/{sha256}/file",
    responses={**_MISSING, 200: {"content": {"image/jpeg": {}}}},
    response_class=FileResponse,
)
def photo_file(desk: AtDesk, sha256: Sha256) -> FileResponse:
    """Give a photo's file."""
    return FileResponse(desk.store.photo_file(_found(desk, sha256).sha256), media_type="image/jpeg")


def _found(desk: Desk, sha256: str) -> Photo:
    found = desk.store.photo(sha256)
    if found is None:
        raise HTTPException(404, "There is no such photo")
    return found


def _photo(photo: Photo) -> PhotoOut:
    return PhotoOut(**asdict(photo))


def _appended(desk: Desk, done: Appended) -> AppendedOut:
    desk.live.stir()
    return AppendedOut(
        log_head=done.log_head, numbers=list(done.numbers), added=done.added, seq=done.seq
    )


def _facts(desk: Desk, sent: list[FactIn]) -> list[Fact]:
    now = desk.settings.clock()
    problems: list[tuple[str, str]] = []
    facts: list[Fact] = []
    for number, one in enumerate(sent):
        try:
            fact = Fact(**one.model_dump(), recorded_at=now)
            check(fact)
        except ValidationError as error:
            problems += [
                (f"facts[{number}].{'.'.join(map(str, e['loc']))}", e["msg"])
                for e in error.errors(include_url=False, include_context=False)
            ]
        except InvalidFile as error:
            problems += [
                (f"facts[{number}].body.{w}".rstrip("."), what) for w, what in error.problems
            ]
        else:
            facts.append(fact)
    if problems:
        raise InvalidFile(problems)
    return facts


def _json(value: dict[str, object]) -> dict[str, Any]:
    return value
