"""Invented charts from a seed, engraved by a second engraver (Verovio): every sign a path, its own five music fonts."""

import random
import re
from dataclasses import dataclass, field

import pymupdf
import verovio

from engraving import Truth
from jump_words import NAMES, WORDINGS, Plan, full_plan
from second_barlines import barlines

FONTS = ("Bravura", "Leland", "Petaluma", "Leipzig", "Gootville")
PITCHES = "cdefgab"
WORDS = ("Intro", "Verse", "Chorus", "Bridge", "Solo", "Vamp", "Outro", "Tag")
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass
class Setting:
    """What is chosen for a chart, and the measures so far."""

    dice: random.Random
    staves: int
    beats: int
    unit: int
    clef: tuple[str, int, tuple[int, int]]
    measures: list[str] = field(default_factory=list)
    number: int = 1
    worded: bool = False
    """Jump words of all wordings and letterings, not of the usual one."""
    behind: bool = False
    """Jump words that do not end at their barline begin there, as from an exchange file, and not at the last beat."""


def chart(seed: int, *, signs: bool = False) -> tuple[bytes, Truth, str]:
    """The PDF of this seed's chart, the truth about it, and how it was set; with `signs` it is full of jumps."""
    dice = random.Random(seed)
    beats, unit = dice.choice([(4, 4), (4, 4), (3, 4), (6, 8), (2, 2), (5, 4)])
    clef = dice.choice([("G", 2, (4, 5)), ("F", 4, (2, 3)), ("C", 3, (3, 4))])
    setting = Setting(dice, dice.choice([1, 1, 1, 2]), beats, unit, clef)
    truth = Truth(staves=setting.staves)
    marks, frame = dice.choice(["letters", "numbers", "bars", "words"]), dice.choice(["box", "box", "circle"])
    truth.pickup = dice.random() < 0.3
    if truth.pickup:
        setting.measures.append(_measure(setting, 0, content=_note(dice, str(unit), clef[2]), extra=' metcon="false"'))
    sections, plan = full_plan(dice) if signs else (dice.randrange(3, 8), Plan())
    setting.worded, setting.behind = signs, signs and seed % 5 == 2
    forms = [dice.choice(["plain", "plain", "repeat", "endings", "rest"]) for _ in range(sections)]
    if not signs and dice.random() < 0.6 and sections >= 4:
        kind = dice.choice(["ds-al-coda", "dc-al-fine"])
        jump = sections - (2 if kind == "ds-al-coda" else 1)
        plan.add(kind, 1, 2, jump, sections - 1)
        plan.closing[jump] = [kind]
    for n, form in enumerate(forms):
        text = {"letters": LETTERS[n], "numbers": str(n + 1), "bars": str(setting.number), "words": WORDS[n % 8]}[marks]
        truth.marks.append((text, setting.number))
        opening = f'<reh staff="1" tstamp="1"><rend rend="{frame}">{text}</rend></reh>'
        if n in plan.opening:
            opening += f'<repeatMark func="{plan.opening[n]}" staff="1" tstamp="1"/>'
            truth.signs.append((plan.opening[n], setting.number))
        _section(setting, truth, form, opening, plan.closing.get(n, []), last=n == sections - 1)
    truth.bars = setting.number - 1
    font, rests = dice.choice(FONTS), dice.choice(["auto", "default", "block", "symbols"])
    scale, paper = dice.choice([28, 32, 36, 40, 45]), dice.choice([(794, 1123), (816, 1056)])
    pictures = _pictures(_mei(setting), font, rests, scale, paper)
    truth.systems = [system for picture in pictures for system in barlines(picture)]
    return (
        _printed(pictures),
        truth,
        f"seed {seed}: {font}, scale {scale}, {beats}/{unit}, {marks} in {frame}, {rests} rests",
    )


def _words(setting: Setting, kind: str, place: str) -> str:
    """The words of a jump at the end of a bar."""
    dice = setting.dice
    if not setting.worded:
        return f'<dir staff="1" tstamp="{setting.beats}" place="{place}">{NAMES[kind]}</dir>'
    # it sets no sign among words
    words = dice.choice([words for words in WORDINGS[kind] if not set("§⊕") & set(words)])
    lettering = dice.choice(["", ' fontstyle="normal"', ' fontweight="bold"', ' fontsize="large"'])
    aligned = dice.random() < 0.5
    at = setting.beats + (aligned or setting.behind)
    side = ' halign="right"' if aligned else ""
    return f'<dir staff="1" tstamp="{at}" place="{place}"><rend{side}{lettering}>{words}</rend></dir>'


def _section(setting: Setting, truth: Truth, form: str, opening: str, kinds: list[str], *, last: bool) -> None:
    dice = setting.dice
    place = "above" if kinds == ["to-coda"] else dice.choice(["above", "below"])
    closing = "".join(_words(setting, kind, place) for kind in kinds)
    right = "end" if last else "dbl" if kinds or dice.random() < 0.5 else ""
    count = dice.choice([2, 3, 4] if setting.worded else [2, 3, 4, 6, 8])
    if form == "rest":
        rest = dice.choice([2, 3, 4, 7, 8, 12, 16, 24])
        truth.multirests.append((setting.number, rest))
        setting.measures.append(_measure(setting, setting.number, opening, content=f'<multiRest num="{rest}"/>'))
        setting.number, opening = setting.number + rest, ""
    repeated = form in ("repeat", "endings")
    for bar in range(count):
        ends = bar == count - 1 and form != "endings"
        setting.measures.append(
            _measure(
                setting,
                setting.number,
                (opening if bar == 0 else "") + (closing if ends else ""),
                left="rptstart" if repeated and bar == 0 else "",
                right="" if not ends else "rptend" if form == "repeat" else right,
            )
        )
        setting.number += 1
    if form == "endings":
        for which, sign in ((1, "rptend"), (2, right)):
            bars = dice.choice([1, 2])
            truth.endings.append(((which,), setting.number, setting.number + bars - 1))
            inside = ""
            for bar in range(bars):
                final = bar == bars - 1
                inside += _measure(
                    setting,
                    setting.number,
                    closing if final and which == 2 else "",
                    right=sign if final else "",
                )
                setting.number += 1
            setting.measures.append(f'<ending n="{which}">{inside}</ending>')
    truth.signs += [(kind, setting.number - 1) for kind in kinds]


def _measure(
    setting: Setting, number: int, more: str = "", left: str = "", right: str = "", content: str = "", extra: str = ""
) -> str:
    staves = ""
    for n in range(setting.staves):
        layer = content or _layer(setting, setting.clef[2] if n == 0 else (2, 3))
        staves += f'<staff n="{n + 1}"><layer n="1">{layer}</layer></staff>'
    sides = (f' left="{left}"' if left else "") + (f' right="{right}"' if right else "")
    return f'<measure n="{number}"{sides}{extra}>{staves}{more}</measure>'


def _note(dice: random.Random, length: str, octaves: tuple[int, int], more: str = "") -> str:
    return f'<note pname="{dice.choice(PITCHES)}" oct="{dice.choice(octaves)}" dur="{length}"{more}/>'


def _layer(setting: Setting, octaves: tuple[int, int]) -> str:
    dice, out = setting.dice, ""
    left = setting.beats * (2 if setting.unit == 2 else 1)
    while left:
        take = dice.choice([n for n in (1, 2, 3) if n <= left])
        left -= take
        if setting.unit == 8:
            length, more = {1: ("8", ""), 2: ("4", ""), 3: ("4", ' dots="1"')}[take]
            rest = dice.random() < 0.25
            out += f'<rest dur="{length}"{more}/>' if rest else _note(dice, length, octaves, more)
        elif take == 1:
            pair = _note(dice, "8", octaves) + _note(dice, "8", octaves)
            out += dice.choice([_note(dice, "4", octaves), f"<beam>{pair}</beam>", '<rest dur="4"/>'])
        elif take == 2:
            out += dice.choice([_note(dice, "2", octaves), '<rest dur="2"/>'])
        else:
            out += _note(dice, "2", octaves, ' dots="1"')
    return out


def _mei(setting: Setting) -> str:
    key = setting.dice.choice(["0", "1s", "3s", "2f", "4f", "5f"])
    shape, line, _ = setting.clef
    staves = f'<staffDef n="1" lines="5" clef.shape="{shape}" clef.line="{line}"/>'
    if setting.staves == 2:
        staves += '<staffDef n="2" lines="5" clef.shape="F" clef.line="4"/>'
    group = ' symbol="brace" bar.thru="true"' if setting.staves == 2 else ""
    meter = f'meter.count="{setting.beats}" meter.unit="{setting.unit}"'
    return (
        '<?xml version="1.0"?><mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        "<titleStmt><title>Chart</title></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
        f'<scoreDef key.sig="{key}" {meter}><staffGrp{group}>{staves}</staffGrp></scoreDef>'
        f"<section>{''.join(setting.measures)}</section></score></mdiv></body></music></mei>"
    )


def engraved(score: str, font: str, rests: str, scale: int, paper: tuple[int, int]) -> bytes:
    """A score in MEI or MusicXML as PDF."""
    return _printed(_pictures(score, font, rests, scale, paper))


def _pictures(score: str, font: str, rests: str, scale: int, paper: tuple[int, int]) -> list[str]:
    """A score's pages as the engraver draws them (SVG)."""
    toolkit = verovio.toolkit()
    toolkit.setOptions(
        {
            "font": font,
            "scale": scale,
            "pageWidth": paper[0] * 100 // scale,
            "pageHeight": paper[1] * 100 // scale,
            "footer": "none",
            "breaks": "auto",
            "multiRestStyle": rests,
        }
    )
    assert toolkit.loadData(score)
    return [toolkit.renderToSVG(number) for number in range(1, toolkit.getPageCount() + 1)]


def _printed(pictures: list[str]) -> bytes:
    """The pages as PDF."""
    document = pymupdf.open()
    for drawn in pictures:
        picture = pymupdf.open(stream=_plain(drawn).encode(), filetype="svg")
        document.insert_pdf(pymupdf.open(stream=picture.convert_to_pdf()))
    pdf: bytes = document.tobytes()
    return pdf


def _plain(svg: str) -> str:
    """The picture without what the PDF library does not follow: an inner scale, colour by name, what is not shown."""
    width = re.search(r'<svg[^>]*?width="([\d.]+)px"', svg)
    inner = re.search(r'<svg class="definition-scale"[^>]*viewBox="0 0 ([\d.]+) [\d.]+"[^>]*>', svg)
    assert width and inner
    scale = float(width[1]) / float(inner[1])
    shown = re.sub(r"<g [^>]*placeholder[^>]*>\s*<ellipse[^>]*>\s*</g>", "", svg)
    body = shown.replace(inner[0], f'<g transform="scale({scale})" fill="#000">')
    end = body.rindex("</svg>", 0, body.rindex("</svg>"))
    body = body[:end] + "</g>" + body[end + len("</svg>") :]
    return body.replace("currentColor", "#000").replace("stroke-width=", 'stroke="#000" stroke-width=')
