"""MusicXML files as they come, plain or zipped, to their XML tree. Nothing in a file can make the parser swell."""

import re
import zipfile
from io import BytesIO
from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import DefusedXMLParser

LARGEST = 64 * 1024 * 1024
"""Bytes of one file, unzipped (a full score of a symphony has some 30 million)."""
MOST_ELEMENTS = 2_000_000
LONGEST_TAG = re.compile(rb"<[^<>]{65536}")
"""A tag with more attributes than this holds takes a parser minutes."""
DEEPEST = 100
"""Elements inside each other; MusicXML 4.0 needs fewer than 20."""

_PIECE = 2**20
_SCORE = re.compile(r"(?!META-INF/|__MACOSX/|(?:.*/)?\.).*\.(?:musicxml|xml)", re.IGNORECASE)

CONTAINER = "META-INF/container.xml"
"""Where a zipped file says which of its files is the score (W3C, "Compressed .MXL files"). One that somebody zipped by
hand does not say; it is read if it holds one score only."""


class NotMusicXml(ValueError):
    """The file cannot be used, in one sentence."""


def score_tree(data: bytes) -> Element:
    """The `score-partwise` or `score-timewise` element of a `.musicxml` or `.mxl` file; raises `NotMusicXml`."""
    if data.startswith(b"PK"):
        data = _unzipped(data)
    root = _tree(data)
    if root.tag not in ("score-partwise", "score-timewise"):
        raise NotMusicXml(f"This is not a MusicXML score: it begins with <{root.tag[:40]}>.")
    return root


def _unzipped(data: bytes) -> bytes:
    try:
        with zipfile.ZipFile(BytesIO(data)) as packed:
            return _member(packed, _score_in(packed))
    except KeyError as error:
        raise NotMusicXml("The zipped file has no score where one belongs; export it again.") from error
    # What a broken or encrypted zip makes the standard library raise.
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise NotMusicXml("The zipped file is damaged or locked; export it again.") from error


def _score_in(packed: zipfile.ZipFile) -> str:
    """The path of the score in a zipped file; raises `NotMusicXml`."""
    if CONTAINER in packed.namelist():
        named = _tree(_member(packed, CONTAINER)).find(".//{*}rootfile")
        scores = [named.get("full-path", "")] if named is not None else []
    else:
        scores = [path for path in packed.namelist() if _SCORE.fullmatch(path)]
    if len(scores) != 1 or not scores[0]:
        raise NotMusicXml("The zipped file does not say which of its files is the score; export it again.")
    return scores[0]


def _member(packed: zipfile.ZipFile, path: str) -> bytes:
    # What a zip says of its sizes may be wrong, so it is read up to the limit and not by its word.
    with packed.open(path) as member:
        return member.read(LARGEST + 1)


def _tree(data: bytes) -> Element:
    if len(data) > LARGEST:
        raise NotMusicXml(f"The score is larger than {LARGEST // 2**20} MB, which no band's score is.")
    if LONGEST_TAG.search(data):
        raise NotMusicXml("The file holds more than any score does.")
    parser = DefusedXMLParser(target=_Bounded(), forbid_dtd=False, forbid_entities=True, forbid_external=True)
    try:
        # In pieces, since a parser reads on to the end of what it was given even when it has been told to stop.
        for start in range(0, len(data), _PIECE):
            parser.feed(data[start : start + _PIECE])
        root: Element = parser.close()
    except DefusedXmlException as error:
        raise NotMusicXml("The file defines entities or names other files, which a score never needs.") from error
    except NotMusicXml:
        raise
    except ParseError as error:
        raise NotMusicXml(f"The file is not well-formed XML ({error}); export it again.") from error
    except (LookupError, ValueError) as error:  # what Python makes of an encoding that is none, or no text's
        raise NotMusicXml("The file is in an encoding that cannot be read; export it again as UTF-8.") from error
    return root


class _Bounded(TreeBuilder):
    """Builds the tree, up to a number of elements and a depth."""

    def __init__(self) -> None:
        super().__init__()
        self.elements = 0
        self.depth = 0

    def start(self, tag: str, attrs: dict[str, str], /) -> Element:
        self.elements += 1
        self.depth += 1
        if self.elements > MOST_ELEMENTS or self.depth > DEEPEST:
            raise NotMusicXml("The file holds more than any score does.")
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> Element:
        self.depth -= 1
        return super().end(tag)
