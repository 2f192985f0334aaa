"""Bringing parts in: from files named every which way to parts on their tunes' rulers.

`understand` says what would become of each file and changes nothing; `keeping` then cuts the parts, stores them, and
logs them in one go.
"""

import asyncio
import secrets
from collections import defaultdict
from collections.abc import Iterable
from functools import partial

from collaparte.band.agreement import disagreeing
from collaparte.band.names import chair_of, nearly_same_title, same_title
from collaparte.band.proposals import Clue, Proposal, hear_whole, propose
from collaparte.band.state import Part, State, Tune
from collaparte.hub import jobs
from collaparte.hub.fitting import fit
from collaparte.hub.gathering import Came
from collaparte.hub.incoming import Became, Incoming, Progress, Told, Understood
from collaparte.hub.limits import MB, Refused, check_bytes, too_large
from collaparte.hub.replacing import Replacing, same_part
from collaparte.hub.scores import is_score, reference, ruler_by
from collaparte.hub.seating import Seating
from collaparte.hub.taken_apart import mark_copies, names_all, one_half, sheets, taken_apart
from collaparte.hub.workers import JobFailed, Pool
from collaparte.music.agree import Disagreement, disagreements
from collaparte.music.align import agreeing, align
from collaparte.paper import shared
from collaparte.paper.confirmed import confirmed, is_scan
from collaparte.paper.ruler import chart_outline, outline
from collaparte.store.files import Files, content_hash
from collaparte.wire.chart import Chart
from collaparte.wire.corrections import Correction
from collaparte.wire.outline import Outline

MISREAD = 0.95
"""A part whose title differs in a few letters belongs to a tune when its bars and marks agree so far."""


async def understand(
    files: Iterable[Came], state: State, kept: Files, pool: Pool, told: Told, progress: Progress = lambda *_: None
) -> Understood:
    """Open and read every file, and say what would become of it. Changes nothing."""
    return await _Understanding(state, kept, pool, told, progress).run(list(files))


class _Understanding:
    def __init__(self, state: State, kept: Files, pool: Pool, told: Told, progress: Progress) -> None:
        self.state = state
        self.kept = kept
        self.pool = pool
        self.told = told
        self.progress = progress
        self.done = 0
        self.steps = 0
        self.at_once = asyncio.Semaphore(2 * pool.size)
        self.seating = Seating(state, _id)
        self.replacing = Replacing(kept, told)
        self.titles = {tune.id: tune.title for tune in state.tunes.values()}
        self.new_tunes: list[str] = []
        self.rulers: dict[str, Chart] = {}
        self.laid_now: list[Incoming] = []
        """Parts that were shown as printed until now, since their tune had no ruler."""
        self.disagree: dict[str, tuple[Disagreement, ...]] = {}
        self.scores: dict[str, Incoming] = {}
        """The score that came for a tune."""

    async def run(self, files: list[Came]) -> Understood:
        self.steps = len(files)
        found = await asyncio.gather(*(self._open(came) for came in files))
        incoming = [part for parts in found for part in parts]
        self._mark_twins(incoming)
        for part in incoming:
            if part.comes_in and part.proposal.question:
                part.became, part.why = Became.ASKED, part.proposal.question
        by_tune: defaultdict[str, list[Incoming]] = defaultdict(list)
        for part in incoming:
            if part.comes_in:
                part.tune = self._tune(part.proposal.title)
                by_tune[part.tune].append(part)
        self._join_misread(by_tune)
        self._match_scores([one for one in incoming if one.became is Became.SCORE], by_tune)
        for tune, parts in by_tune.items():
            self._seat(tune, parts)
            await self._place(tune, parts)
        incoming += self.laid_now
        wanted = {part.tune for part in incoming if part.comes_in} | {*self.scores} & {*self.state.tunes}
        self.rulers = {tune: ruler for tune, ruler in self.rulers.items() if tune in wanted}
        self.new_tunes = [tune for tune in self.new_tunes if tune in wanted]
        return Understood(incoming, self.seating, self.titles, self.new_tunes, self.rulers, self.disagree)

    async def _open(self, came: Came) -> list[Incoming]:
        """The parts of one file, read."""
        async with self.at_once:
            try:
                size = (await asyncio.to_thread(came.path.stat)).st_size
                if size > self.pool.limits.file_mb * MB:
                    raise too_large(size, came.name, self.pool.limits)
                pdf = await asyncio.to_thread(came.path.read_bytes)
                if is_score(came.path.name):
                    return [await self._score(came, pdf)]
                check_bytes(pdf, came.name, self.pool.limits)
                original = content_hash(pdf)
                known = self._known(original)
                # A file of several parts is opened again: one of them may have been a question. So is what is shown as
                # printed: earlier releases did not read scans.
                whole = all(part.current.pages is None and not part.current.as_printed for _, part in known)
                if known and whole and not any((self.told.tune, self.told.chair, self.told.as_new, self.told.half)):
                    self._step(came.name)
                    return [self._again(came.name, tune, part) for tune, part in known]
                looked = await self.pool.look(pdf, came.name)
                fetch, of_sheets = came.path.read_bytes, list[int]()
                if self.told.half:
                    looked = one_half(looked, self.told.half)
                elif looked.unfolded and names_all(came, looked):
                    pdf = looked.unfolded.pdf
                    fetch, original = partial(bytes, pdf), content_hash(pdf)
                    of_sheets = sheets(looked.heads)
                    looked = jobs.Looked(looked.unfolded.heads, looked.mended)
                parts = taken_apart(came, original, looked, self.told, [*self.titles.values()], of_sheets)
                self.steps += len(parts) - 1
                for part in parts:
                    last = len(looked.heads) - 1
                    part.reading = await self.pool.read(pdf, came.name, part.pages or (0, last), scans=True)
                    if self.told.half:
                        _take_half(part, self.told.half)
                    part.doubts += dict.fromkeys(part.reading.doubts)
                    part.fetch = fetch
                    self._step(came.name)
                mark_copies(parts)
            except (Refused, JobFailed) as error:
                self._step(came.name)
                return [Incoming(came.name, became=Became.LEFT, why=str(error))]
            except OSError as error:
                self._step(came.name)
                why = f"{came.name} cannot be read ({error.strerror}): see whose it is, or copy it anew."
                return [Incoming(came.name, became=Became.LEFT, why=why)]
            return parts

    async def _score(self, came: Came, data: bytes) -> Incoming:
        """A tune's MusicXML; which tune's, its title or its name says."""
        score = await self.pool.score(data, came.name)
        head = ((score.title, 20.0),) if score.title else ()
        proposal = propose(Clue(came.path.name, came.folders, head, told_tune=self.told.tune), [*self.titles.values()])
        self._step(came.name)
        why = "" if proposal.title else "It is not clear which tune this is: tell it with --tune."
        became = Became.ASKED if why else Became.SCORE
        doubts = [score.diagnosis] if score.diagnosis else []
        called = (self.told.tune,) if self.told.tune else (score.title, hear_whole(came.path.name), proposal.title)
        one = Incoming(came.name, proposal=Proposal(proposal.title, None), became=became, why=why, doubts=doubts)
        one.score, one.called = score, tuple(filter(None, called))
        return one

    def _again(self, file: str, tune: Tune, part: Part) -> Incoming:
        chairs = tuple(id for id in self.state.chairs if part.id in tune.seats.get(id, ()))
        known = Incoming(file, part.current.original, proposal=_as_kept(tune, part), became=Became.AGAIN)
        known.tune, known.chairs = tune.id, chairs
        return known

    def _step(self, what: str) -> None:
        self.done += 1
        self.progress(self.done, self.steps, what)

    def _known(self, original: str) -> list[tuple[Tune, Part]]:
        return [
            (tune, part)
            for tune in self.state.tunes.values()
            for part in tune.parts.values()
            if part.current.original == original
        ]

    def _mark_twins(self, incoming: list[Incoming]) -> None:
        """The same file twice in one go is one file."""
        seen: dict[tuple[str, jobs.Pages], str] = {}
        for part in incoming:
            if part.comes_in:
                key = (part.original, part.pages)
                if key in seen:
                    part.became, part.why = Became.AGAIN, f"The same as {seen[key]}."
                seen.setdefault(key, part.file)

    def _tune(self, title: str) -> str:
        known = next((id for id, other in self.titles.items() if same_title(other, title)), None)
        if known is None:
            known = _id()
            self.titles[known] = title
            self.new_tunes.append(known)
        return known

    def _match_scores(self, came: list[Incoming], by_tune: defaultdict[str, list[Incoming]]) -> None:
        """Each score to the tune that has parts, in this go or before; the first that comes counts."""
        for one in came:
            tunes = [id for title in one.called for id, own in self.titles.items() if same_title(own, title)]
            known = next((id for id in tunes if id in by_tune or id in self.state.tunes), None)
            if known is None:
                one.leave(
                    f"{one.file} is the score of {one.proposal.title}, but no part of it is here: bring them together."
                )
            elif known in self.scores:
                one.leave(f"{one.file} is a second score of {self.titles[known]}; {self.scores[known].file} was taken.")
            else:
                one.tune = known
                self.scores[known] = one
                # Parts that are in already are held against it too.
                by_tune.setdefault(known, [])

    def _by_score(self, tune: Tune) -> Chart | None:
        """The tune's ruler, by its score where one comes."""
        one = self.scores.get(tune.id)
        if one is None or one.score is None:
            return tune.chart
        ruler, why = ruler_by(one.score, one.file, tune.chart, lambda count: [_id() for _ in range(count)])
        if ruler is None:
            one.leave(why)
        elif ruler != tune.chart:
            self.rulers[tune.id] = ruler
        return ruler or tune.chart

    def _join_misread(self, by_tune: defaultdict[str, list[Incoming]]) -> None:
        """A new tune whose title is nearly that of another, with the same bars and marks, is that other, misread."""
        for tune in sorted(self.new_tunes, key=lambda id: len(by_tune[id])):
            for other, title in self.titles.items():
                if other == tune or not nearly_same_title(self.titles[tune], title):
                    continue
                theirs = self._outlines(other, by_tune[other])
                own = [outline(part.reading) for part in by_tune[tune] if part.reading]
                if theirs and own and all(align(one, theirs[0]).agreement >= MISREAD for one in own):
                    for part in by_tune.pop(tune):
                        part.tune = other
                        part.doubts.append(f'Its title was read as "{self.titles[tune]}"; bars and marks are the same.')
                        by_tune[other].append(part)
                    break

    def _outlines(self, tune: str, parts: list[Incoming]) -> list[Outline]:
        there = self.state.tunes.get(tune)
        if there and there.chart:
            return [chart_outline(there.chart)]
        found = [outline(part.reading) for part in parts if part.reading and part.reading.positions]
        return [found[n] for n in agreeing(found)]

    def _seat(self, tune: str, parts: list[Incoming]) -> None:
        there = self.state.tunes.get(tune)
        kept = [chair_of(part.name) for part in there.parts.values()] if there else []
        for part in parts:
            others = [*kept, *(other.proposal.chair for other in parts if other is not part)]
            part.chairs = self.seating.chairs(part.proposal, {chair.instrument for chair in others if chair})
            names = [self.seating.name(chair) for chair in part.chairs]
            heard = part.proposal.chair
            if heard and {c.instrument for c in map(chair_of, names) if c} - {heard.instrument}:
                part.doubts.append(f"{part.name} is put on the chair {' and '.join(names)}.")

    async def _place(self, tune_id: str, parts: list[Incoming]) -> None:
        tune = self.state.tunes.get(tune_id, Tune(tune_id, self.titles[tune_id]))
        again = await self._without_bars(tune, parts) if tune.chart is None else []
        candidates = [(part.name, part.reading) for part in (*parts, *again) if part.reading is not None]
        ruler = self._by_score(tune)
        fitted = fit(candidates, ruler, lambda count: [_id() for _ in range(count)])
        if fitted.ruler and ruler is None:
            self.rulers[tune_id] = fitted.ruler
        for part, fits in zip(again, fitted.fits[len(parts) :], strict=True):
            if fits.bars and tune_id in self.rulers:
                part.fit = fits
                part.doubts += ("Its bars are sure now, so it is laid.", *fits.said)
                self.laid_now.append(part)
        taken: dict[str, Incoming] = {}
        # Of two files for one chair the one that fits better comes first.
        order = sorted(
            zip(parts, fitted.fits, strict=False),
            key=lambda pair: (pair[1].differs + len(pair[1].said), -len(pair[1].bars)),
        )
        for part, fits in order:
            part.fit = fits
            part.doubts = [*_still_in_doubt(part, fitted.ruler), *fits.said]
            await self.replacing.settle(tune, part, taken)
        self._compare(tune, [*parts, *again], fitted.ruler)

    def _compare(self, tune: Tune, parts: list[Incoming], ruler: Chart | None) -> None:
        """Say where the tune's parts differ, those that are in already beside those that come."""
        coming = {
            p.part: (p.name, outline(p.reading)) for p in parts if p.comes_in and p.reading and not is_scan(p.reading)
        }
        found = disagreeing(tune, coming, reference(ruler))
        if tune.chart and not tune.chart.source and not any(part.current.outline for part in tune.parts.values()):
            # Parts kept by a release that kept no outline are known by their ruler only.
            found = disagreements([*coming.values()], chart_outline(tune.chart))
        if found:
            self.disagree[tune.id] = found
        for part in parts:
            # That it cannot be matched is said already.
            part.doubts += [
                one.said for one in found if one.part == part.name and (part.fit.bars or one.kind != "unlike")
            ]

    async def _without_bars(self, tune: Tune, coming: list[Incoming]) -> list[Incoming]:
        """The tune's parts that came in before it had a ruler: they may help to make one.

        Not those that are replaced: pages of one part do not bear each other out.
        """
        found = []
        replaced = [] if self.told.as_new else [same_part(tune, part) for part in coming]
        for part in tune.parts.values():
            if part in replaced:
                continue
            reading = await self.replacing.kept_reading(part)
            if reading is not None and reading.positions:
                known = part.current
                again = Incoming(known.file_name, known.original, known.pages, _as_kept(tune, part), reading)
                again.became, again.tune, again.part = Became.VERSION, tune.id, part.id
                again.fetch = partial(self.kept.get, known.original)
                found.append(again)
        return found


def _take_half(part: Incoming, number: int) -> None:
    """Take one of the parts that share its pages. Raises `Refused`."""
    assert part.reading is not None
    said = shared.half(part.reading, number)
    if said is None:
        raise Refused(shared.no_half(part.file, number, part.reading))
    part.whole, part.reading = part.reading, shared.half_at(part.reading, said.at)
    part.half = Correction(secrets.token_hex(8), part.version, said)


def _still_in_doubt(part: Incoming, ruler: Chart | None) -> list[str]:
    """What is in doubt of a part, without what the tune bears out."""
    if part.reading is None or ruler is None:
        return part.doubts
    settled = {*part.reading.doubts} - {*confirmed(part.reading, chart_outline(ruler)).doubts}
    return [words for words in part.doubts if words not in settled]


def _as_kept(tune: Tune, part: Part) -> Proposal:
    return Proposal(tune.title, chair_of(part.name), part.name)


def _id() -> str:
    """An id that nobody has had."""
    return secrets.token_hex(4)
