"""The instruments of the trade: what a chair is called, which section it sits in, and what people write for it.

Common practice of dance bands, theatre pits and wind bands, in English, German, French, Italian, Spanish and Dutch.
Words are as `plain` leaves them: lower case, no accents; "ä, ö, ü" appear both as "a" and as "ae".
"""

import unicodedata
from typing import NamedTuple


class Instrument(NamedTuple):
    """A chair's name without its number, the section proposed for it, and the phrases that stand for it."""

    chair: str
    section: str
    phrases: tuple[str, ...]
    weak: tuple[str, ...] = ()
    """Phrases that are also ordinary words or bare letters: they count only where nothing else stands beside them."""


def plain(text: str) -> str:
    """Lower case, compatibility forms undone (ligatures), accents dropped."""
    spread = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("♭", "b").replace("♯", "#"))
    return "".join(c for c in spread if not unicodedata.combining(c)).casefold()


def _i(chair: str, section: str, phrases: str, weak: str = "") -> Instrument:
    split = [[phrase.strip() for phrase in text.split(",") if phrase.strip()] for text in (phrases, weak)]
    return Instrument(chair, section, tuple(split[0]), tuple(split[1]))


SCORE, REEDS, BRASS, RHYTHM, VOICES, STRINGS = "MD", "Reeds", "Brass", "Rhythm", "Voices", "Strings"

# In the order of a score, which is the order in which chairs are proposed.
INSTRUMENTS = (
    _i(
        "Score",
        SCORE,
        "score, full score, conductor, conductor score, score conductor, partitur, partitura, partition, "
        "particell, direktion, direktionsstimme, conducteur",
        "cond, direction, director",
    ),
    _i(
        "Reed",
        REEDS,
        "reed, reeds, woodwind, woodwinds, holz",
        "ww, rd",
    ),
    _i(
        "Piccolo",
        REEDS,
        "piccolo, picc, flauto piccolo, ottavino, piccoloflote, piccolofloete",
        "pic",
    ),
    _i(
        "Flute",
        REEDS,
        "flute, flutes, flauto, flauti, flote, floete, querflote, querfloete, flauta, fluit",
        "fl, flt",
    ),
    _i(
        "Oboe",
        REEDS,
        "oboe, oboes, hautbois, hobo",
        "ob",
    ),
    _i(
        "English Horn",
        REEDS,
        "english horn, cor anglais, englischhorn, corno inglese, althobo, e hn",
        "eh, ca",
    ),
    _i(
        "Bassoon",
        REEDS,
        "bassoon, bassoons, fagott, fagotto, basson, fagot, bsn, bssn",
        "bn, fg",
    ),
    _i(
        "Clarinet",
        REEDS,
        "clarinet, clarinets, klarinette, klarinet, clarinette, clarinetto, clarinete, clar, clt, klar",
        "cl, kl",
    ),
    _i(
        "Bass Clarinet",
        REEDS,
        "bass clarinet, bassklarinette, basklarinet, clarinette basse, clarinetto basso, clarinete bajo, bass "
        "cl, bass clar, b cl, b clar, bcl, bs cl",
    ),
    _i(
        "Soprano",
        REEDS,
        "soprano sax, soprano saxophone, soprano saxofone, sopran sax, sopransax, sopransaxophon, sopran "
        "saxophon, saxophone soprano, sax soprano, saxofon soprano, sassofono soprano, sopraansax, sop sax, s "
        "sax, ssax",
        "soprano, sop, ss",
    ),
    _i(
        "Alto",
        REEDS,
        "alto sax, alto saxophone, alt sax, altsax, alt saxophon, altsaxophon, altsaxofoon, saxophone alto, "
        "sax alto, sax contralto, saxofon alto, sassofono contralto, sassofono alto, alto saxofon, a sax, "
        "asax, alto, altos, altsaxofon",
        "as, alt",
    ),
    _i(
        "Tenor",
        REEDS,
        "tenor sax, tenor saxophone, tenorsax, tenor saxophon, tenorsaxophon, tenorsaxofoon, saxophone tenor, "
        "sax tenor, sax tenore, saxofon tenor, sassofono tenore, tenor saxofon, t sax, tsax, tenor, tenors, "
        "ten sax, tenorsaxofon",
        "ts, ten",
    ),
    _i(
        "Baritone",
        REEDS,
        "baritone sax, baritone saxophone, baritonsax, bariton sax, bariton saxophon, baritonsaxophon, "
        "baritonsaxofoon, saxophone baryton, sax baryton, sax baritono, saxofon baritono, sassofono baritono, "
        "bari sax, bari saxophone, bar sax, b sax, bsax, bari",
        "baritone, bariton, bar, bs",
    ),
    _i(
        "Bass Sax",
        REEDS,
        "bass sax, bass saxophone, basssaxophon, saxophone basse, sax basso",
    ),
    _i(
        "Sax",
        REEDS,
        "sax, saxes, saxophone, saxophon, saxofon, saxofoon, sassofono",
    ),
    _i(
        "Horn",
        BRASS,
        "french horn, f horn, waldhorn, horn in f, cor en fa, corno, corni, hoorn, hrn",
        "horn, hn, cor, hns",
    ),
    _i(
        "Trumpet",
        BRASS,
        "trumpet, trumpets, trompete, trompeten, trompette, tromba, trombe, trompeta, trompet, tpt, tpts, "
        "trp, trpt, trpts, trmpt, tromp, trump",
        "tp, tr, tpe",
    ),
    _i(
        "Cornet",
        BRASS,
        "cornet, cornets, kornett, cornetta, cornet a pistons, crt",
        "cnt, corn",
    ),
    _i(
        "Flugelhorn",
        BRASS,
        "flugelhorn, fluegelhorn, flugel horn, fluegel horn, flugel, fluegel, flugelhoorn, flicorno, "
        "fliscorno, flghn, flgh, flug",
        "fgh, flg",
    ),
    _i(
        "Tenor Horn",
        BRASS,
        "tenor horn, tenorhorn, alto horn, althorn, t hn",
    ),
    _i(
        "Baritone Horn",
        BRASS,
        "baritone horn, baritone tc, baritone bc, baritonhorn",
    ),
    _i(
        "Euphonium",
        BRASS,
        "euphonium, euph, euphonion, eufonio, bombardino",
        "eup",
    ),
    _i(
        "Trombone",
        BRASS,
        "trombone, trombones, tromboni, posaune, posaunen, trombon, tbn, tbns, tbne, trb, trbn, trbs, trbns, "
        "tromb, tenor trombone, tenorposaune, tenor tbn, bones",
        "tb, bone, pos, trom",
    ),
    _i(
        "Bass Trombone",
        BRASS,
        "bass trombone, bassposaune, bastrombone, trombone basse, trombone basso, trombon bajo, bass tbn, "
        "bass trb, bass bone, b tbn, b trb, b tbne, btbn, btrb, bs tbn, bs trb, b trombone, bass posaune",
        "b bone",
    ),
    _i(
        "Tuba",
        BRASS,
        "tuba, sousaphone, sousafon, bass tuba",
        "tba, tu",
    ),
    _i(
        "Vibraphone",
        RHYTHM,
        "vibraphone, vibraphon, vibrafono, vibrafon, vibes, vibra",
        "vib, vbs",
    ),
    _i(
        "Mallets",
        RHYTHM,
        "mallets, glockenspiel, xylophone, xylophon, marimba, glock",
        "mal, xyl, mar",
    ),
    _i(
        "Accordion",
        RHYTHM,
        "accordion, akkordeon, accordeon, fisarmonica, acordeon",
        "acc, akk",
    ),
    _i(
        "Guitar",
        RHYTHM,
        "guitar, guitars, gitarre, guitare, chitarra, guitarra, gitaar, gtr, gtrs, guit, electric guitar, "
        "elec guitar, e gitarre, egitarre, acoustic guitar, el guitar, e gtr, ac gtr, el gtr, elec gtr",
        "gt, git, gui, eg",
    ),
    _i(
        "Banjo",
        RHYTHM,
        "banjo, bjo",
    ),
    _i(
        "Piano",
        RHYTHM,
        "piano, klavier, pianoforte, pno, pfte, grand piano, flugel piano, piano conductor",
        "pn, pf, pia",
    ),
    _i(
        "Keyboard",
        RHYTHM,
        "keyboard, keyboards, kbd, kbds, keyb, kybd, synth, synthesizer, synthesiser, clavier, toetsen, "
        "tastiera, tastiere, teclado, teclados",
        "keys, kb, key",
    ),
    _i(
        "Organ",
        RHYTHM,
        "organ, orgel, orgue, organo",
        "org",
    ),
    _i(
        "Harp",
        RHYTHM,
        "harfe, harpe",
        "harp, hp, arpa",
    ),
    _i(
        "Bass",
        RHYTHM,
        "bass guitar, electric bass, elec bass, e bass, ebass, el bass, bass gtr, bassgitarre, basgitaar, "
        "guitare basse, double bass, dbl bass, string bass, upright bass, acoustic bass, ac bass, contrabass, "
        "kontrabass, contrebasse, contrabbasso, contrabajo, contrabas, bajo electrico, basso elettrico, bass",
        "basse, basso, bajo, bas, bg, db, kb, cb, bss, b gtr",
    ),
    _i(
        "Drums",
        RHYTHM,
        "drums, drum, drum set, drumset, drum kit, drumkit, schlagzeug, batterie, batteria, bateria, drm, "
        "drms, drumstel",
        "dr, drs, kit, dms, bat, ds",
    ),
    _i(
        "Percussion",
        RHYTHM,
        "percussion, perc, perkussion, percussione, percusion, schlagwerk, slagwerk, congas, conga, aux perc, "
        "auxiliary percussion",
        "prc, per",
    ),
    _i(
        "Timpani",
        RHYTHM,
        "timpani, timp, pauken, pauke",
    ),
    _i(
        "Rhythm",
        RHYTHM,
        "rhythm section, master rhythm, rhythm, rhythmusgruppe",
    ),
    _i(
        "Vocal",
        VOICES,
        "vocal, vocals, vox, vocalist, lead vocal, lead vocals, lead vox, gesang, lead voice, solo voice, zang, singer",
        "voc, voice, voices, chant, canto, voz, voce, stem, ld voc",
    ),
    _i(
        "Backing Vocal",
        VOICES,
        "backing vocal, backing vocals, background vocal, background vocals, backing vox, bvox, bvs, bgv, "
        "bgvs, bv, choir, chor, chorus vocals, choeur, coro, b vox",
    ),
    _i(
        "Violin",
        STRINGS,
        "violin, violins, violine, violinen, geige, violon, violino, violini, viool, vln, vlns, vni",
        "vl, vn, fiddle",
    ),
    _i(
        "Viola",
        STRINGS,
        "viola, violas, bratsche, altviool, vla, vlas",
        "va",
    ),
    _i(
        "Cello",
        STRINGS,
        "cello, celli, cellos, violoncello, violoncelle, vcl, vlc, violonchelo",
        "vc",
    ),
    _i(
        "Lead Sheet",
        VOICES,
        "lead sheet, leadsheet, chord sheet, chords, chord chart, lyrics, lyric sheet, words and chords, "
        "chords and lyrics, lyrics and chords, songsheet, song sheet",
        "lead, words, text, texte",
    ),
)

BY_NAME = {instrument.chair: (order, instrument) for order, instrument in enumerate(INSTRUMENTS)}
