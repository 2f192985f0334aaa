"""What a worker does for each job. Whatever goes wrong becomes one sentence; nothing is written anywhere."""

import gc
import os
import time
import traceback
from collections import OrderedDict

import msgspec
import pymupdf

from collaparte.hub import jobs
from collaparte.hub.limits import MM, Limits, Refused, check_bytes
from collaparte.music.musicxml import NotMusicXml, read_score
from collaparte.paper.cutting import pieces
from collaparte.paper.cutting.flattened import CannotOpen
from collaparte.paper.opening import ReadingError
from collaparte.paper.overlay import overlay
from collaparte.paper.pages import book, draw_pdf, sheets
from collaparte.paper.pages.lay import CannotLay, lay
from collaparte.paper.pages.laying import LaidBar, LaidLine, Laying
from collaparte.paper.pages.papers import PAPERS
from collaparte.paper.pages.workings import Workings
from collaparte.paper.read import page_heads, read_part
from collaparte.paper.sight import lying
from collaparte.paper.unfolded import unfolded

TAIL = 1024
"""A PDF ends with `%%EOF` within its last 1024 bytes (ISO 32000-1, Annex H.3, note 18, from memory)."""
TABLES_READY = 64
"""Piece tables that a worker keeps ready: the tune that is on and the next one, for a large band."""


class Bench:
    """A worker's table of work: its limits, and what it keeps ready from job to job."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._tables: OrderedDict[str, tuple[jobs.Kept, Workings]] = OrderedDict()
        pymupdf.TOOLS.mupdf_display_errors(False)
        pymupdf.TOOLS.mupdf_display_warnings(False)
        pymupdf.set_messages(path=os.devnull)

    def do(self, job: jobs.Job) -> jobs.Answer:
        """Do one job; never raises."""
        # Laying leaves no circles in memory, and a sweep amid it takes as long as several layings.
        (gc.disable if isinstance(job, jobs.Lay) else gc.enable)()
        try:
            return self._do(job)
        except Refused as error:
            return jobs.Failed(str(error))
        except (ReadingError, CannotOpen, CannotLay, NotMusicXml) as error:
            return jobs.Failed(f"{job.name}: {error}")
        except MemoryError:
            return self._too_big(job.name)
        except Exception as error:
            if "alloc" in str(error):
                return self._too_big(job.name)
            if isinstance(error, pymupdf.mupdf.FzErrorBase) or _is_the_library_s(error):
                words = f"{job.name} is damaged, or larger than can be drawn: export or copy it again."
                return jobs.Failed(words, traceback.format_exc())
            return jobs.Failed(
                f"{job.name} could not be worked on ({type(error).__name__}): export it again, and report this.",
                traceback.format_exc(),
            )
        finally:
            if not isinstance(job, jobs.Lay):
                pymupdf.TOOLS.store_shrink(100)

    def _do(self, job: jobs.Job) -> jobs.Answer:
        match job:
            case jobs.Look():
                return look(job, self.limits)
            case jobs.Read():
                open_within(job.pdf, job.name, self.limits).close()
                return jobs.DidRead(read_part(job.pdf, jobs.as_range(job.pages), time.perf_counter, scans=job.scans))
            case jobs.Score():
                return jobs.DidScore(read_score(job.data))
            case jobs.Cut():
                open_within(job.pdf, job.name, self.limits).close()
                cut = pieces.cut_ink(job.pdf, job.reading, jobs.as_range(job.pages))
                listed, pictures = sheets.draw_cut(cut)
                table = msgspec.msgpack.encode(jobs.Kept(job.reading, cut.table))
                return jobs.DidCut(table, listed, tuple(pictures))
            case jobs.Lay():
                return self._lay(job)
            case jobs.Picture():
                return picture(job, self.limits)
            case jobs.Draw():
                kept = msgspec.msgpack.decode(job.table, type=jobs.Kept)
                laying = msgspec.json.decode(job.laying, type=Laying)
                drawn = draw_pdf.draw(job.pdf, kept.reading, kept.table, laying, jobs.as_range(job.pages))
                return jobs.DidDraw(drawn)
            case jobs.Overlay():
                open_within(job.pdf, job.name, self.limits).close()
                pages = jobs.as_range(job.pages) or range(len(job.reading.pages))
                return jobs.DidOverlay(tuple(overlay(job.pdf, job.reading, n, at) for at, n in enumerate(pages)))
            case jobs.LayOut():
                open_within(job.pdf, job.name, self.limits).close()
                ink = pieces.cut_ink(job.pdf, job.reading)
                laying = lay(job.reading, ink.table, job.steps, job.page, job.stave)
                return jobs.DidLayOut(laying, draw_pdf.draw_cut(ink, laying))
            case jobs.Print():
                return jobs.DidDraw(self._print(job))
            case jobs.Card():
                return jobs.DidDraw(book.card(job.name, job.words, PAPERS[job.paper], job.running))
            case jobs.Bind():
                chapters = [book.Chapter(title, pdf) for title, pdf in job.chapters]
                return jobs.DidDraw(book.bind(chapters, job.band, job.chair))

    def _print(self, job: jobs.Print) -> bytes:
        open_within(job.pdf, job.name, self.limits).close()
        reading = msgspec.msgpack.decode(job.table, type=jobs.Kept).reading if job.table else None
        own = [n for n, step in enumerate(job.steps) if step.bar > 0]
        order, bars = [job.steps[n] for n in own], [job.bars[n] for n in own]
        paper, pages = PAPERS[job.paper], jobs.as_range(job.pages)
        return book.part_pages(
            job.pdf, reading, pages, order, paper, job.stave, job.running, job.told, bars, job.markings
        )

    def _lay(self, job: jobs.Lay) -> jobs.Answer:
        if job.data is not None:
            kept = msgspec.msgpack.decode(job.data, type=jobs.Kept)
            self._tables[job.table] = kept, Workings(kept.table)
            while len(self._tables) > TABLES_READY:
                self._tables.popitem(last=False)
        ready = self._tables.get(job.table)
        if ready is None:
            return jobs.TableWanted(job.table)
        kept, workings = ready
        self._tables.move_to_end(job.table)
        # A step without a bar keeps its place in the order for those that have it; here nothing is laid for it.
        own = [n for n, step in enumerate(job.steps) if n >= job.first and step.bar > 0]
        order = [job.steps[n] for n in own]
        first = job.first == 0
        laying = lay(kept.reading, kept.table, order, job.page, job.stave, first_page=first, workings=workings)
        return jobs.DidLay(msgspec.json.encode(_in_whole_order(laying, own)))

    def _too_big(self, name: str) -> jobs.Failed:
        return jobs.Failed(
            f"{name} needs more than the {self.limits.memory_mb} MB of memory that one file may take: "
            "export it again, or scan it at 300 dpi in grey."
        )


def _in_whole_order(laying: Laying, own: list[int]) -> Laying:
    """The laying with its bars at their places in the whole order: its step n is that order's `own[n]`."""
    if own == list(range(len(own))):
        return laying
    replace = msgspec.structs.replace

    def placed(bar: LaidBar) -> LaidBar:
        return replace(bar, steps=(own[bar.steps[0]], own[bar.steps[1]]))

    def line(old: LaidLine) -> LaidLine:
        return replace(old, bars=tuple(placed(bar) for bar in old.bars))

    pages = tuple(replace(page, lines=tuple(line(old) for old in page.lines)) for page in laying.pages)
    return replace(laying, pages=pages)


def _is_the_library_s(error: BaseException) -> bool:
    """Whether what opens files raised it, as where a page is lost while it mends a damaged file."""
    at = error.__traceback__
    while at is not None and at.tb_next is not None:
        at = at.tb_next
    return at is not None and str(at.tb_frame.f_globals.get("__name__", "")).partition(".")[0] == "pymupdf"


def look(job: jobs.Look, limits: Limits) -> jobs.Looked:
    """Check a file against the limits and read the heads of its pages. Raises `Refused`."""
    with open_within(job.pdf, job.name, limits) as document:
        mended = bool(document.is_repaired)
    heads = page_heads(job.pdf)
    if not any(head.halves for head in heads):
        return jobs.Looked(heads, mended)
    apart = unfolded(job.pdf, heads)
    return jobs.Looked(heads, mended, jobs.Unfolded(apart, page_heads(apart)))


def picture(job: jobs.Picture, limits: Limits) -> jobs.DidPicture:
    """One page as a picture in grey. Raises `Refused`."""
    with open_within(job.pdf, job.name, limits) as document:
        if not 0 <= job.page < document.page_count:
            raise Refused(f"{job.name} has no page {job.page + 1}.")
        page = document[job.page]
        lying.turn(page, job.turned)
        scale = job.wide / max(page.rect.width, 1.0)
        drawn = page.get_pixmap(matrix=pymupdf.Matrix(scale, scale), colorspace=pymupdf.csGRAY, alpha=False)
        return jobs.DidPicture(bytes(drawn.tobytes("png")))


def open_within(pdf: bytes, name: str, limits: Limits) -> pymupdf.Document:
    """The file, open, once it has been found to be within the limits. Raises `Refused`."""
    check_bytes(pdf, name, limits)
    try:
        document = pymupdf.open(stream=pdf, filetype="pdf")
    except (RuntimeError, ValueError) as error:
        if _is_cut_short(pdf):
            raise _cut_short(name) from error
        raise Refused(f"{name} is damaged and cannot be opened: export or copy it again.") from error
    if document.needs_pass:
        raise Refused(f"{name} is locked with a password: save a copy without one and bring that.")
    if document.is_repaired and _is_cut_short(pdf):
        # It opens, but with pages or ink missing: half a part is worse than none.
        raise _cut_short(name)
    if not document.page_count:
        raise Refused(f"{name} has no pages: export or copy it again.")
    if document.page_count > limits.pages:
        raise Refused(
            f"{name} has {document.page_count} pages, more than the {limits.pages} that are read at once: split it."
        )
    for page in document.pages():
        _check_page(page, f"Page {page.number + 1} of {name}", limits)
    return document


def _is_cut_short(pdf: bytes) -> bool:
    return b"%%EOF" not in pdf[-TAIL:]


def _cut_short(name: str) -> Refused:
    return Refused(f"{name} is cut short, its end is missing: copy or download it again.")


def _check_page(page: pymupdf.Page, which: str, limits: Limits) -> None:
    side = max(page.rect.width, page.rect.height) * MM
    if side > limits.side_mm:
        raise Refused(f"{which} is {side:.0f} mm long, more than {limits.side_mm:.0f}: export it at its real size.")
    pixels = sum(image[2] * image[3] for image in page.get_images())
    if pixels > limits.page_megapixels * 1e6:
        raise Refused(f"{which} holds pictures of {pixels / 1e6:.0f} megapixels: scan it at 300 dpi in grey.")
