"""What a worker does for each job. Whatever goes wrong becomes one sentence; nothing is written anywhere."""

import traceback

import pymupdf

from collaparte.hub import jobs
from collaparte.hub.limits import MM, Limits, Refused, check_bytes

TAIL = 1024
"""A PDF ends with `%%EOF` within its last 1024 bytes (ISO 32000-1, Annex H.3, note 18, from memory)."""


class Bench:
    """A worker's own table of work: its limits, and what it keeps ready between jobs."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        pymupdf.TOOLS.mupdf_display_errors(False)
        pymupdf.TOOLS.mupdf_display_warnings(False)

    def do(self, job: jobs.Job) -> jobs.Answer:
        """Do one job; never raises."""
        try:
            return self._do(job)
        except Refused as error:
            return jobs.Failed(str(error))
        except MemoryError:
            return self._too_big(job.name)
        except Exception as error:
            if "malloc" in str(error) or "calloc" in str(error) or "realloc" in str(error):
                return self._too_big(job.name)
            words = (
                f"{job.name} could not be worked on ({type(error).__name__}): export or scan it again, and report this."
            )
            return jobs.Failed(words, traceback.format_exc())

    def _do(self, job: jobs.Job) -> jobs.Answer:
        match job:
            case jobs.Look():
                return look(job, self.limits)
            case _:
                raise NotImplementedError

    def _too_big(self, name: str) -> jobs.Failed:
        return jobs.Failed(
            f"{name} needs more than the {self.limits.memory_mb} MB of memory that one file may take: "
            "export it again, or scan it at 300 dpi in grey."
        )


def look(job: jobs.Look, limits: Limits) -> jobs.Looked:
    """Check a file against the limits and read the heads of its pages. Raises `Refused`."""
    with open_within(job.pdf, job.name, limits) as document:
        return jobs.Looked(heads=(), mended=bool(document.is_repaired))


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
