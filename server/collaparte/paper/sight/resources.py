"""What a page's resources list (ISO 32000-1, 7.8.3): the fonts that it is set in, and whether there is more."""

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
    """The library's own handle of it."""

    def encoding(self) -> str:
        """The name of its encoding, or of the one that its own is made from; empty when it has none."""
        return _name(self.entry, "Encoding") or _name(mupdf.pdf_dict_gets(self.entry, "Encoding"), "BaseEncoding")

    def has_letters(self) -> bool:
        """Whether it comes with a table of the letters that its codes stand for."""
        table = mupdf.pdf_dict_gets(self.entry, "ToUnicode")
        return table.m_internal is not None and not mupdf.pdf_is_null(table)

    def file(self) -> Any:
        """The library's handle of the font's file; None when the PDF has none."""
        within = mupdf.pdf_array_get(mupdf.pdf_dict_gets(self.entry, "DescendantFonts"), 0)
        descriptor = mupdf.pdf_dict_gets(within if within.m_internal else self.entry, "FontDescriptor")
        for key in FILES:
            file = mupdf.pdf_dict_gets(descriptor, key)
            if file.m_internal and (key != FILES[0] or _name(file, "Subtype") in COMPACT):
                return file
        return None


def page_entry(page: pymupdf.Page) -> Any:
    """The library's handle of a page's own dictionary (ISO 32000-1, 7.7.3.3)."""
    raw = page.this if isinstance(page.this, mupdf.FzPage) else mupdf.FzPage(page.this)
    return mupdf.pdf_page_from_fz_page(raw).obj()


def resources_of(entry: Any) -> Any:
    """The library's handle of what a page lists, by its dictionary's."""
    return mupdf.pdf_dict_get_inheritable(entry, mupdf.PDF_ENUM_NAME_Resources)


def has_notes(entry: Any) -> bool:
    """Whether annotations lie on a page."""
    return mupdf.pdf_dict_gets(entry, "Annots").m_internal is not None


def fonts_listed(resources: Any) -> list[FontEntry]:
    """The fonts of a page and of the forms on it, each as often as it is listed."""
    return list(_fonts(resources, set()))


def has_objects(resources: Any) -> bool:
    """Whether a page lists pictures or forms, which may hold pictures."""
    count: int = mupdf.pdf_dict_len(mupdf.pdf_dict_gets(resources, "XObject"))
    return count > 0


def _fonts(resources: Any, forms: set[int]) -> Iterator[FontEntry]:
    fonts = mupdf.pdf_dict_gets(resources, "Font")
    for n in range(mupdf.pdf_dict_len(fonts)):
        font = mupdf.pdf_dict_get_val(fonts, n)
        if mupdf.pdf_is_dict(font):
            # A composite font may add its encoding to the name (9.7.6.1); a page's text has it without.
            inner = mupdf.pdf_array_get(mupdf.pdf_dict_gets(font, "DescendantFonts"), 0)
            name = _name(inner, "BaseFont") or _name(font, "BaseFont") or _name(font, "Name")
            yield FontEntry(mupdf.pdf_to_num(font), _name(font, "Subtype"), name, font)
    objects = mupdf.pdf_dict_gets(resources, "XObject")
    for n in range(mupdf.pdf_dict_len(objects)):
        form = mupdf.pdf_dict_get_val(objects, n)
        inner = mupdf.pdf_dict_gets(form, "Resources")
        number = mupdf.pdf_to_num(form)
        if inner.m_internal and number not in forms:
            forms.add(number)
            yield from _fonts(inner, forms)


def _name(entry: Any, key: str) -> str:
    """A name in a dictionary, its bytes as the page's text has them; empty when it has none."""
    name: str = mupdf.pdf_to_name(mupdf.pdf_dict_gets(entry, key))
    return name if name.isascii() else name.encode("utf-8", "surrogateescape").decode("latin-1")
