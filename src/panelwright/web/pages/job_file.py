"""Job file: made as long work, downloaded as PDF; what is not signed stands before it."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from panelwright.record import Packet, Paper, Unanswered
from panelwright.web import change, job_file_view
from panelwright.web.answers import Long
from panelwright.web.job_file_view import Wish
from panelwright.web.known import Known
from panelwright.web.page import Page
from panelwright.web.render import show
from panelwright.web.visit import AtRepair, There
from panelwright.web.work import Failed
from panelwright.web.writes import see

router = APIRouter()
PAGE = Page("job-file", "Job file", 100, router)


@router.get("/repairs/{name}/job-file")
def job_file(there: AtRepair) -> Response:
    """Show the page; with a paper in its address, the job file of now is made."""
    query = dict(there.request.query_params)
    if "head" not in query and ("paper" in query or "supplement" in query):
        return see(f"{there.path('job-file')}?{_wish_now(there, query).query}")
    wish = job_file_view.wish_of(there, query)
    if wish is None and "head" in query:
        raise HTTPException(404, "This address names no job file.")
    return page(there, wish)


def _wish_now(there: There, query: dict[str, str]) -> Wish:
    try:
        paper = Paper(query.get("paper", Paper.A4))
    except ValueError as error:
        raise HTTPException(404, "There is no such paper here.") from error
    at = there.when.here(there.desk.settings.clock()).replace(second=0, microsecond=0)
    supplement = query.get("supplement") == job_file_view.YES
    head = there.known.log.head
    return Wish(head, at, paper, there.units, supplement)


def page(there: There, wish: Wish | None) -> Response:
    """Show the page."""
    made = _made(there, wish) if wish is not None else None
    found = change.latest(there.known)
    plan = there.answers.plan(there.known).answer
    packet = made.value if made is not None and isinstance(made.value, Packet) else None
    return show(
        there,
        "job_file.html",
        heading="Job file",
        wish=wish,
        papers=job_file_view.PAPERS,
        making=made is not None and not made.current,
        packet=packet if made is not None and made.current else None,
        trouble=_trouble(made),
        stale=wish is not None and wish.head != there.known.log.head,
        href=_href(there, wish) if wish is not None else "",
        found=change.words_of(there.known, found),
        unsigned=job_file_view.unsigned(there.known.repair, plan),
        path=f"{there.path('job-file')}{f'?{wish.query}' if wish else ''}",
    )


def _href(there: There, wish: Wish) -> str:
    return f"{there.path('job-file')}/pdf?{wish.query}"


def _made(there: There, wish: Wish) -> Long:
    """Give the job file as far as it is made."""
    known = job_file_view.at_head(there.known, wish.head)
    if known is None:
        raise HTTPException(404, "This address names no state of this repair’s log.")
    before = job_file_view.before_latest(known) if wish.supplement else None
    return _ask(there, wish, known, before)


def _ask(there: There, wish: Wish, known: Known, before: Known | None) -> Long:
    return there.answers.long(
        there.known,
        "job-file",
        (there.name, wish),
        job_file_view.make,
        known.repair,
        before.repair if before else None,
        known.log.head,
        wish.at,
        (wish.paper, wish.units),
    )


def _trouble(made: Long | None) -> tuple[str, ...]:
    if made is None or not made.current:
        return ()
    if isinstance(made.value, Unanswered):
        return made.value.why
    if isinstance(made.value, Failed):
        return ("The job file could not be made: a fault of the program.",)
    return ()


@router.get("/repairs/{name}/job-file/pdf")
def pdf(there: AtRepair) -> Response:
    """Give the job file, once it is made; before that the page that waits for it."""
    wish = job_file_view.wish_of(there, dict(there.request.query_params))
    if wish is None:
        raise HTTPException(404, "This address names no job file.")
    made = _made(there, wish)
    if not made.current or not isinstance(made.value, Packet):
        return see(f"{there.path('job-file')}?{wish.query}")
    name = f"{there.name}-{made.value.sha256[:8]}.pdf"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(made.value.pdf, media_type="application/pdf", headers=headers)
