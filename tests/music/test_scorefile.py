"""Files that want to do harm, or are none: one sentence each, and little memory."""

import zipfile
from io import BytesIO

import pytest

from collaparte.music import scorefile
from collaparte.music.scorefile import CONTAINER, NotMusicXml, score_tree
from music.musicxml import score

SCORE = score(2)
DOCTYPE = b'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">'


def packed(members: dict[str, bytes]) -> bytes:
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return file.getvalue()


def container(path: str) -> bytes:
    """As in the W3C's text on compressed .MXL files."""
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'.encode()


def test_plain_with_a_doctype_and_zipped() -> None:
    assert score_tree(DOCTYPE + SCORE).tag == "score-partwise"
    assert score_tree(packed({CONTAINER: container("music/a.xml"), "music/a.xml": SCORE})).tag == "score-partwise"
    assert score_tree(SCORE.decode().encode("utf-16")).tag == "score-partwise"


def test_one_score_that_somebody_zipped_by_hand() -> None:
    """As music21 10.5.1 reads it; verovio 6.4.1 refuses it."""
    by_hand = packed({"Night Bus.musicxml": SCORE, "__MACOSX/._Night Bus.musicxml": b"\0", "notes.txt": b"Hello"})
    assert score_tree(by_hand).tag == "score-partwise"


BOMB = b"<!DOCTYPE lolz [<!ENTITY a 'ha'><!ENTITY b '&a;&a;&a;&a;'>]><score-partwise>&b;</score-partwise>"
OUTSIDE = b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]><score-partwise>&a;</score-partwise>'
PARAMETER = b'<!DOCTYPE x [<!ENTITY % a SYSTEM "http://127.0.0.1:9/x.dtd">%a;]><score-partwise/>'
BROKEN_ZIP = packed({CONTAINER: container("a.xml"), "a.xml": SCORE})[:60]

BAD = {
    "an entity bomb": (BOMB, "entities"),
    "an external entity": (OUTSIDE, "entities"),
    "an external parameter entity": (PARAMETER, "entities"),
    "not XML": (b"Dear band,", "not well-formed"),
    "nothing": (b"", "not well-formed"),
    "an encoding of no text": (b'<?xml version="1.0" encoding="rot13"?><score-partwise/>', "encoding"),
    "an encoding that XML cannot have": (b'<?xml version="1.0" encoding="utf-7"?><score-partwise/>', "encoding"),
    "half a file": (SCORE[: len(SCORE) // 2], "not well-formed"),
    "other XML": (b"<opus/>", "begins with <opus>"),
    "endless depth": (b"<a>" * 200, "more than any score"),
    "a tag with a million attributes": (
        b"<a " + b" ".join(b"a%d='1'" % n for n in range(9999)) + b"/>",
        "more than any",
    ),
    "a zip that is cut off": (BROKEN_ZIP, "damaged"),
    "a zip without a container and without a score": (
        packed({"a.txt": SCORE, "META-INF/b.xml": SCORE}),
        "does not say",
    ),
    "a zip without a container and with two scores": (packed({"a.xml": SCORE, "b.musicxml": SCORE}), "does not say"),
    "a container that names nothing": (packed({CONTAINER: b"<container/>"}), "does not say"),
    "a container that names a file that is not there": (packed({CONTAINER: container("b.xml")}), "no score"),
    "a bomb in a zip": (packed({CONTAINER: container("a.xml"), "a.xml": BOMB}), "entities"),
    "a path out of the zip": (packed({CONTAINER: container("../../etc/hostname")}), "no score"),
}


@pytest.mark.parametrize(("data", "why"), BAD.values(), ids=BAD.keys())
def test_it_is_refused_in_one_sentence(data: bytes, why: str) -> None:
    with pytest.raises(NotMusicXml, match=why) as refused:
        score_tree(data)
    assert str(refused.value).endswith(".")


def test_a_zip_that_swells_is_read_up_to_the_limit_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scorefile, "LARGEST", 2**20)
    swollen = packed({CONTAINER: container("a.xml"), "a.xml": SCORE + b" " * 2**24})
    assert len(swollen) < 2**17
    with pytest.raises(NotMusicXml, match="larger than 1 MB"):
        score_tree(swollen)


def test_more_elements_than_any_score_has(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scorefile, "MOST_ELEMENTS", 1000)
    with pytest.raises(NotMusicXml, match="more than any score"):
        score_tree(b"<score-partwise>" + b"<a/>" * 1000 + b"</score-partwise>")
