"""What a page's resources list (ISO 32000-1, 7.8.3): the fonts that it is set in, and whether there is more.

What is handed on is the library's objects, which keep what they are of. Within, its bare pointers do (None for none):
to wrap one takes ten times as long as to ask it.
"""

from collections.abc import Iterator
from typing import Any, NamedTuple

import pymupdf
from pymupdf import mupdf

FILES = ("FontFile3", "FontFile2", "FontFile")
"""Where a font's descriptor has its file (ISO 32000-1, table 126)."""
COMPACT = ("Type1C", "CIDFontType0C", "OpenType")
"""The kinds of file that the first of them may be."""


class FontEntry(NamedTuple):
    """A font as the file lists it: its number (0 when it has none), its kind, its full name."""

    number: int
    sort: str
    name: str
    entry: Any
    """The library's object of it."""

    def encoding(self) -> str:
        """The name of its encoding, or of the one that its own is made from; empty when it has none."""
        entry = self.entry.m_internal
        return _name(entry, "Encoding") or _name(_get(entry, "Encoding"), "BaseEncoding")

    def has_letters(self) -> bool:
        """Whether it comes with a table of the letters that its codes stand for."""
        table = _get(self.entry.m_internal, "ToUnicode")
        return table is not None and not mupdf.ll_pdf_is_null(table)

    def file(self) -> Any:
        """The library's object of the font's file; None when the PDF has none."""
        entry = self.entry.m_internal
        descriptor = _get(_within(entry) or entry, "FontDescriptor")
        for key in FILES:
            file = _get(descriptor, key)
            if file is not None and (key != FILES[0] or _name(file, "Subtype") in COMPACT):
                return _kept(file)
        return None


def page_entry(page: pymupdf.Page) -> Any:
    """The library's object of a page's own dictionary (ISO 32000-1, 7.7.3.3)."""
    raw = page.this if isinstance(page.this, mupdf.FzPage) else mupdf.FzPage(page.this)
    return mupdf.pdf_page_from_fz_page(raw).obj()


def resources_of(entry: Any) -> Any:
    """The library's object of what a page lists, by its dictionary's."""
    return mupdf.pdf_dict_get_inheritable(entry, mupdf.PDF_ENUM_NAME_Resources)


def operators_of(entry: Any) -> bytes:
    """A page's operators. They are left unpacked in the library's memory, as a page is gone through several times."""
    contents = _get(entry.m_internal, "Contents")
    if mupdf.ll_pdf_is_array(contents):
        pieces = [mupdf.ll_pdf_array_get(contents, n) for n in range(mupdf.ll_pdf_array_len(contents))]
        return b" ".join([_unpacked(piece) for piece in pieces if mupdf.ll_pdf_is_stream(piece)])
    return _unpacked(contents) if contents is not None else b""


def _unpacked(stream: Any) -> bytes:
    kept = _kept(stream)
    buffer = mupdf.pdf_load_stream(kept)
    mupdf.pdf_update_stream(mupdf.pdf_get_bound_document(kept), kept, buffer, 0)
    data: bytes = mupdf.fz_buffer_extract_copy(buffer)
    return data


def has_notes(entry: Any) -> bool:
    """Whether annotations lie on a page."""
    return _get(entry.m_internal, "Annots") is not None


def fonts_listed(resources: Any) -> list[FontEntry]:
    """The fonts of a page and of the forms on it, each as often as it is listed."""
    return list(_fonts(resources.m_internal, set()))


def has_objects(resources: Any) -> bool:
    """Whether a page lists pictures or forms, which may hold pictures."""
    count: int = mupdf.ll_pdf_dict_len(_get(resources.m_internal, "XObject"))
    return count > 0


def _fonts(resources: Any, forms: set[int]) -> Iterator[FontEntry]:
    fonts = _get(resources, "Font")
    for n in range(mupdf.ll_pdf_dict_len(fonts)):
        font = mupdf.ll_pdf_dict_get_val(fonts, n)
        if mupdf.ll_pdf_is_dict(font):
            # A composite font may add its encoding to the name (9.7.6.1); a page's text has it without.
            name = _name(_within(font), "BaseFont") or _name(font, "BaseFont") or _name(font, "Name")
            yield FontEntry(mupdf.ll_pdf_to_num(font), _name(font, "Subtype"), name, _kept(font))
    objects = _get(resources, "XObject")
    for n in range(mupdf.ll_pdf_dict_len(objects)):
        form = mupdf.ll_pdf_dict_get_val(objects, n)
        inner = _get(form, "Resources")
        number = mupdf.ll_pdf_to_num(form)
        if inner is not None and number not in forms:
            forms.add(number)
            yield from _fonts(inner, forms)


def _within(font: Any) -> Any:
    """The font that a composite one is made of."""
    return mupdf.ll_pdf_array_get(_get(font, "DescendantFonts"), 0)


def _name(entry: Any, key: str) -> str:
    """A name in a dictionary, its bytes as the page's text has them; empty when it has none."""
    name: str = mupdf.ll_pdf_to_name(_get(entry, key))
    return name if name.isascii() else name.encode("utf-8", "surrogateescape").decode("latin-1")


def _get(entry: Any, key: str) -> Any:
    return mupdf.ll_pdf_dict_gets(entry, key)


def _kept(entry: Any) -> Any:
    return mupdf.PdfObj(mupdf.ll_pdf_keep_obj(entry))
