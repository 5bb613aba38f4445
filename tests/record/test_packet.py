"""The job file as a PDF: what it holds, what it is set in, that it is always the same."""

from __future__ import annotations

import hashlib
import io
import json
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache

import pytest
import typst
from pypdf import PdfReader
from tests.record import sample

from panelwright.facts.file import read
from panelwright.facts.problem import Problem
from panelwright.plan.supplement import Change, Kind, Supplement
from panelwright.quantities import Units
from panelwright.record.answer import (
    Answers,
    Options,
    Packet,
    Paper,
    Unanswered,
)
from panelwright.record.data import Writer, written
from panelwright.record.gather import gather
from panelwright.record.job import Job
from panelwright.record.notes import LETTERS
from panelwright.record.packet import document, record
from panelwright.record.pages.cautions import caution_names
from panelwright.record.published import as_json
from panelwright.record.typeset import (
    MAIN,
    TEMPLATE_FOLDER,
    Density,
    counted,
    shipped_fonts,
    typeset,
)

SHIPPED = {"NotoSans-Regular", "NotoSans-Bold", "NotoSansMath-Regular", "NotoSansSymbols2-Regular"}
HOSTILE = (
    '#import "@preview/x:1.0.0": * #panic("x") *bold* _it_ $x^2$ `raw` \\ \\n <label> @ref [a] '
    '{{b}} // no /* no */ = head - list + enum ~ -- --- "quoted" \' %s {0} \u202eevil\u2066 '
)


@cache
def packet(options: Options | None = None) -> Packet:
    return record(sample.repair(), sample.answers(), options or sample.options())


def reader(made: Packet) -> PdfReader:
    return PdfReader(io.BytesIO(made.pdf))


def texts(made: Packet) -> list[str]:
    return [page.extract_text() for page in reader(made).pages]


def whole(made: Packet) -> str:
    return " ".join(" ".join(texts(made)).replace("\u200b", "").split())


def fonts_of(made: Packet) -> set[str]:
    """Names of every font in the file, each with its program embedded."""
    names = set()
    pdf = reader(made)
    for number in [*pdf.xref_objStm, *pdf.xref.get(0, {})]:
        found = pdf.get_object(number)
        if isinstance(found, dict) and found.get("/Type") == "/FontDescriptor":
            assert "/FontFile2" in found or "/FontFile3" in found
            names.add(str(found["/FontName"]).lstrip("/").partition("+")[2])
    return names


def test_pages_are_counted_and_hash_is_of_the_file():
    made = packet()
    assert made.pages == len(reader(made).pages)
    assert made.sha256 == hashlib.sha256(made.pdf).hexdigest()
    assert as_json(made) == {
        "pages": made.pages,
        "sha256": made.sha256,
        "signed_by": ["K. Example"],
        "replaced": [],
    }


@pytest.mark.invariant
def test_pages_are_counted_whatever_a_text_says():
    tale = read(hostile_repair("/Type/Pages/Count 99"))
    made = record(tale, sample.answers(), sample.options())
    assert made.pages == len(reader(made).pages)


@pytest.mark.exact
def test_a_count_that_is_not_plain_is_none():
    assert counted(b"<</Type/Pages/Count 7/Kids[]>>") == 7
    assert counted(b"<</Type/Pages/Count 7>> (/Type/Pages/Count 99)") is None
    assert counted(b"no tree") is None


@pytest.mark.invariant
def test_same_facts_and_time_give_the_same_bytes():
    again = record(sample.repair(), sample.answers(), sample.options())
    assert again.pdf == packet().pdf


def test_no_date_of_making_is_in_the_file():
    made = packet()
    assert b"CreationDate" not in made.pdf
    assert b"ModDate" not in made.pdf


@pytest.mark.invariant
def test_another_time_gives_other_bytes():
    later = replace(sample.options(), as_of=datetime(2026, 11, 20, 12, 6, tzinfo=UTC))
    assert packet(later).sha256 != packet().sha256


@pytest.mark.exact
@pytest.mark.parametrize(
    ("paper", "size_mm"), [(Paper.A4, (210.0, 297.0)), (Paper.LETTER, (215.9, 279.4))]
)
def test_paper_is_as_asked_for(paper, size_mm):
    """ISO 216: A4 is 210 mm × 297 mm; letter is 8.5 in × 11 in."""
    made = packet(replace(sample.options(), paper=paper))
    for page in reader(made).pages:
        width, height = (float(page.mediabox[i]) * 25.4 / 72 for i in (2, 3))
        assert (width, height) == pytest.approx(size_mm, abs=0.01)


@pytest.mark.parametrize("paper", list(Paper))
def test_only_shipped_fonts_are_in_the_file(paper):
    made = packet(replace(sample.options(), paper=paper))
    found = fonts_of(made)
    assert found
    assert found <= SHIPPED


def test_every_page_says_repair_time_number_and_invented():
    made = packet()
    for number, text in enumerate(texts(made), start=1):
        assert "egret-7" in text
        assert "as of Fri 20 Nov 2026, 13:05 CET" in text
        assert f"page {number} of {made.pages}" in text
        assert "Demo: invented data" in text


def test_a_real_repair_carries_no_demo_band():
    real = read(sample.FILE.replace("invented = true", ""))
    made = record(real, sample.answers(), sample.options())
    assert "Demo: invented" not in whole(made)


def test_without_a_time_none_is_printed():
    made = packet(replace(sample.options(), as_of=None))
    assert "as the facts stand" in whole(made)
    assert "as of" not in whole(made)


def test_head_of_the_log_is_printed_where_given():
    made = packet(replace(sample.options(), log_head="9f2c" * 16))
    assert all("9f2c" * 16 in text.replace("\u200b", "").replace("\n", "") for text in texts(made))


def test_cover_says_what_to_do_next_when_it_is_ready_and_what_is_open():
    cover = " ".join(texts(packet())[0].split())
    assert "Take the readings before cutting" in cover
    assert "Tue 24 Nov" in cover
    assert "BY Tue 24 Nov 15:40" in cover.replace("\u2060", "")
    assert "even odds by Tue 24 Nov 13:40" in cover
    assert "keeps the promised Tue 24 Nov 16:00" in cover
    assert "Fri 20 Nov 13:52" in cover
    assert "4 h 20 min" in cover
    assert "Short: blind rivet 4.8 × 10, need 31 pieces, have 20 pieces" in cover
    assert "Ask the maker, rail flange: Which rivet, how many?" in cover
    assert "A computed value never overrides a procedure" in cover


def test_a_promise_that_will_be_broken_is_said_on_the_cover():
    late = read(sample.FILE.replace("2026-11-24T16:00", "2026-11-24T14:00"))
    made = record(late, sample.answers(), sample.options())
    assert "later than the promised Tue 24 Nov 14:00" in " ".join(texts(made)[0].split())


def test_steps_carry_cautions_hold_points_and_signatures():
    text = whole(packet())
    assert text.count("HOLD POINT") == sum(hold for _, _, _, hold in sample.STEPS)
    behind = " ".join(" ".join(texts(packet())[1:]).split())
    dust = "Aluminium dust: own tools and vacuum; never water on burning dust."
    assert behind.count(dust) == 1  # in full once, by its name at every open step
    open_steps = sum(not step.done for step in sample.steps())
    assert behind.replace(dust, "").count("dust") == open_steps + 1
    assert "K. Example, Fri 20 Nov 08:55" in text
    assert "L. Sample, Fri 20 Nov 08:40" in text


def job_of(file: str = sample.FILE) -> Job:
    return Job(read(file), sample.answers(), sample.options())


def event(kind: str, rest: str) -> str:
    return f'[[event]]\nkind = "{kind}"\n{rest}\n'


@pytest.mark.parametrize(
    ("events", "signed"),
    [
        (event("done", 'step = "readings"\nby = "A. One"'), ()),
        (event("done", 'step = "dry-fit"\nby = "A. One"'), ("A. One",)),
        (event("released", 'joint = "arch"\nby = "B. Two"'), ("B. Two",)),
        (event("closed", 'joint = "arch"\nby = "B. Two"'), ()),
        (event("done", 'step = "dry-fit"'), ()),
    ],
)
def test_only_hold_points_and_releases_are_signed(events, signed):
    start = sample.FILE.index("[[event]]")
    assert job_of(sample.FILE[:start] + events).signed_by == signed


def test_after_the_next_step_comes_the_technicians_work_in_order_of_start():
    cover = " ".join(texts(packet())[0].split())
    assert "then: Separate arch and rail flange" in cover


def test_a_step_that_floats_is_not_named_as_the_one_that_follows():
    base = sample.plan_answer()
    first, second = base.steps[2], base.steps[3]
    coupons = replace(
        second,
        id="coupons",
        name="Cut the coupons",
        stage=7,
        waits_for=("scan",),
        start=first.end,
        end=first.end + timedelta(minutes=2),
    )
    answers = replace(sample.answers(), plan=replace(base, steps=(*base.steps, coupons)))
    made = record(sample.repair(), answers, sample.options())
    assert "then: Separate arch and rail flange" in " ".join(texts(made)[0].split())


def test_moves_verdicts_and_what_is_not_seen_are_said():
    text = whole(packet())
    assert "The panel is not where it belongs. 1 inside, 1 outside, 2 undecided" in text
    assert "A: push L3 3.8 mm down" in text
    assert "The front edge may sit high or low." in text
    assert "+3.8 ± 0.4" in text
    assert "Not checked by these readings" in text


def test_joint_sheets_say_on_whose_word():
    text = whole(packet())
    assert "An aid, not an approval" in text
    assert "from: proposal" in text
    assert "from: ask the maker" in text
    assert "100 mm on paper" in text


def test_hand_over_names_what_is_owed_and_by_whom():
    text = whole(packet())
    assert "Hand-over to paint" in text
    assert "ask the maker before baking" in text
    assert "Calibrate the corner radar" in text
    assert "corner radar on left side panel: filler and paint thickness" in text


@pytest.mark.invariant
def test_every_mark_leads_to_a_source_that_is_there():
    made = packet()
    pdf = reader(made)
    links = [
        note.get_object()
        for page in pdf.pages
        for note in page.get("/Annots", [])
        if note.get_object().get("/Subtype") == "/Link"
    ]
    assert len(links) > 20
    pages = [page.indirect_reference.idnum for page in pdf.pages]
    heads = ["Where the numbers come from" in page.extract_text() for page in pdf.pages]
    lists = pages[heads.index(True) :]
    for link in links:
        target = link.get("/Dest") or link["/A"]["/D"]
        if isinstance(target, str):
            target = pdf.named_destinations[target].dest_array
        assert target[0].idnum in pages
        assert target[0].idnum in lists


def test_marks_are_explained_on_every_page():
    for text in texts(packet()):
        for word, letter in LETTERS.items():
            assert f"{letter} {word}" in text


def test_sources_are_listed_with_their_marks():
    text = whole(packet())
    assert "standard: EN 1999-1-4:2007, 8.2 (from memory)" in text
    assert "proposal: one for one beside the old positions" in text


def hostile_repair(word: str) -> str:
    typed = word.replace("\\", "\\\\").replace('"', '\\"')
    typed = typed.replace("\u202e", "\\u202e").replace("\u2066", "\\u2066")
    return sample.FILE.replace("Egret flatbed (invented)", typed).replace("left side panel", typed)


def test_text_of_a_user_is_never_read_as_markup():
    made = record(read(hostile_repair(HOSTILE)), sample.answers(), sample.options())
    text = whole(made)
    assert '#import "@preview/x:1.0.0": * #panic("x") *bold* _it_ $x^2$ `raw`' in text
    assert "<label> @ref [a] {{b}} // no /* no */ = head" in text
    assert made.replaced == ("\u202e", "\u2066")
    assert "stand as □: U+202E, U+2066" in text


def test_what_the_fonts_lack_stands_as_a_box_and_is_noted():
    word = "van \N{GRINNING FACE} שלום 漢字"
    made = record(read(hostile_repair(word)), sample.answers(), sample.options())
    assert "van □ □□□□ □□" in whole(made)
    assert "\N{GRINNING FACE}" in made.replaced
    assert "U+1F600" in whole(made)
    assert fonts_of(made) <= SHIPPED


def test_a_word_of_190_letters_is_there_in_full():
    made = record(read(hostile_repair("W" * 190)), sample.answers(), sample.options())
    assert "W" * 190 in whole(made).replace(" ", "")


@pytest.mark.second_route
@pytest.mark.parametrize("paper", list(Paper))
def test_no_ink_is_in_the_margins_of_a_drawn_page(paper):
    image = pytest.importorskip("PIL.Image")
    job = Job(read(hostile_repair("W" * 190)), sample.answers(), sample.options())
    data = written(document(job), Writer(), paper.value)
    pages = typst.compile(
        MAIN,
        root=str(TEMPLATE_FOLDER),
        font_paths=shipped_fonts(),
        format="png",
        ppi=50.8,
        sys_inputs={"data": json.dumps(data)},
    )
    for page in pages:
        with image.open(io.BytesIO(page)) as picture:
            grey = picture.convert("L")
        wide, high = grey.size  # two pixels a millimetre; margins 12 mm right, 16 mm left
        assert grey.crop((wide - 2 * 11, 0, wide, high)).getextrema()[0] > 250
        assert grey.crop((0, 0, 2 * 14, high)).getextrema()[0] > 250


def test_a_long_repair_flows_over_pages_without_losing_a_step():
    answers = replace(sample.answers(), plan=sample.many_steps(150))
    made = record(sample.repair(), answers, sample.options())
    assert made.pages > packet().pages
    assert "150 steps" in whole(made)


ROOMS = ("teardown", "joints", "fit", "bond", "quiet", "plan")


@pytest.mark.parametrize("room", ROOMS)
def test_a_missing_answer_is_said_and_the_rest_is_written(room):
    answers = replace(sample.answers(), **{room: Unanswered((f"the {room} lacks its input",))})
    made = record(sample.repair(), answers, sample.options())
    text = " ".join(" ".join(texts(made)[1:]).split())  # the cover names it too
    assert "not answered yet. What is missing:" in text
    assert f"the {room} lacks its input" in text
    assert "Hand-over to paint" in text


def test_a_file_with_nothing_in_it_still_gives_a_job_file():
    nothing = Answers(*[Unanswered(("nothing is recorded yet",))] * 6)
    made = record(read("[repair]\nname = 'x'\n"), nothing, Options())
    assert 2 <= made.pages <= 3
    assert made.signed_by == ()
    assert "No procedure is named" in whole(made)


def test_a_supplement_is_the_sheet_after_the_cover():
    change = Change(Kind.PART, "inner", "left inner wall", "keep", "replace")
    sheet = Supplement("More damage behind the panel.", (change,), 20.5, 24.0)
    made = packet(replace(sample.options(), supplement=sheet))
    assert "Supplement" in texts(made)[1]
    assert "More damage behind the panel." in texts(made)[1]
    assert "+3.5 h" in texts(made)[1]
    assert "left inner wall" in texts(made)[1]


@pytest.mark.parametrize("paper", list(Paper))
def test_a_repair_of_one_part_gives_a_short_job_file(paper):
    repair = read("[repair]\nname = 'x'\n[[part]]\nid = 'outer'\nname = 'outer panel'\n")
    made = record(repair, gather(repair), Options(paper=paper))
    assert made.pages <= 3
    text = whole(made)
    assert "No procedure is named" in text
    assert "not answered yet. What is missing:" in text
    assert "Hand-over to paint" in text


def test_a_room_is_not_asked_where_the_file_is_broken_for_it():
    repair = sample.repair()
    broken = Problem("reading[0].from", "'RX' is no point; expected one of RA, LA")
    answers = gather(replace(repair, problems=(broken,)))
    assert answers.fit == Unanswered((f"{broken.where}: {broken.what}",))
    assert not isinstance(answers.teardown, Unanswered)


def test_what_the_file_is_not_broken_for_is_answered_all_the_same():
    soft = Problem("reading[0].from", "left out", hard=False)
    answers = gather(replace(sample.repair(), problems=(soft,)))
    fit = answers.fit
    assert not isinstance(fit, Unanswered) or f"{soft.where}: {soft.what}" not in fit.why


@pytest.mark.invariant
def test_units_change_lengths_and_nothing_else():
    inch = packet(replace(sample.options(), units=Units.IN))
    assert "1.575 in" in whole(inch)
    assert "40.0 mm" in whole(packet())
    assert "push the at L3 0.150 in down" in whole(inch)
    assert inch.pages == packet().pages


def test_pages_are_set_closer_only_where_they_would_be_too_many(monkeypatch):
    asked: list[Density] = []
    pages = iter([9, 8, 7])

    def typeset(_: object, density: Density = Density.NORMAL) -> tuple[bytes, int]:
        asked.append(density)
        return density.value.encode(), next(pages)

    monkeypatch.setattr("panelwright.record.packet.typeset", typeset)
    made = record(sample.repair(), sample.answers(), sample.options())
    assert (made.pdf, made.pages) == (b"close", 8)
    made = record(sample.repair(), sample.answers(), sample.options())
    assert (made.pdf, made.pages) == (b"normal", 7)
    assert asked == [Density.NORMAL, Density.CLOSE, Density.NORMAL]


HEAD_OF_WHAT_MAY_BE_DONE = {
    *["what", "may", "be", "done", "not", "before,", "late", "bound", "what", "it", "needs"]
}


@pytest.mark.parametrize("paper", list(Paper))
def test_set_close_nothing_is_lost(paper):
    job = Job(sample.repair(), sample.answers(), sample.options())
    data = written(document(job), Writer(), paper.value)
    normal, close = (PdfReader(io.BytesIO(typeset(data, density)[0])).pages for density in Density)
    words = [
        Counter(" ".join(page.extract_text() for page in pages).split())
        for pages in (normal, close)
    ]
    if len(normal) == len(close):
        again = (words[0] - words[1]) + (words[1] - words[0])
        assert set(again) <= HEAD_OF_WHAT_MAY_BE_DONE  # a table over two pages says its head twice


@pytest.mark.parametrize("paper", list(Paper))
def test_the_cover_is_one_page_however_much_is_open(paper):
    problems = tuple(
        Problem(f"part[{n}].name", f"number {n}, " + "a very long tale " * 20, hard=False)
        for n in range(14)
    )
    repair = replace(sample.repair(), problems=problems)
    made = record(repair, sample.answers(), replace(sample.options(), paper=paper))
    pages = texts(made)
    assert "Lead: read, released for work" in pages[0]
    assert "What comes off, and every step in order" in pages[1]
    behind = " ".join(" ".join(pages[1:]).split())
    assert all(f"number {n}," in behind for n in range(14))  # whole behind, not cut short
    assert behind.count("a very long tale") >= 14 * 20 - 1  # one may stand over a page's end


def test_a_file_with_two_cautions_of_one_name_tells_them_apart():
    own = [sample.plan.Caution("own", f"Own: number {n}.") for n in (1, 2)]
    base = sample.plan_answer()
    steps = tuple(
        replace(step, cautions=(own[index % 2],)) for index, step in enumerate(base.steps)
    )
    answers = replace(sample.answers(), plan=replace(base, steps=steps))
    names = caution_names(Job(sample.repair(), answers, sample.options()))
    assert sorted(names.values()) == ["own", "own (2)"]
