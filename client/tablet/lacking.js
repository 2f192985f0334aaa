/**
 * What a page lacks of the order as it is now, and what it has more or fewer times: it was laid before that was decided, and stays under the eyes. Pure.
 *
 * @typedef {import('./turn.js').Place} Place
 * @typedef {import('./turn.js').Shelf} Shelf
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {object} Lack
 * @property {number} after key of the bar behind which others are played first; below all keys: they come before the page
 * @property {number} first key of the first of them
 * @property {[number, number]} bars numbers of the first that follow each other
 * @property {boolean} turn whether a turn leads to them: a copy that has them is here
 * @typedef {object} Round a stretch that stands once on the page and is now played another number of times
 * @property {import('./anchor.js').Box} behind the last of its bars on the page
 * @property {[number, number]} bars numbers of its first and last
 * @property {number | null} times 0: until cued; null: as written
 */
import { isSilent, laid, shownFrom, signsOf, stepsOn } from './order.js';

/**
 * The first bars that a page should have had from where it is read on; null: it has all.
 * @param {Shelf} shelf
 * @param {Place} place
 * @returns {Lack | null}
 */
export function lackOf(shelf, { tune, chair, copy, page, start }) {
  const view = shelf.tune(tune);
  const laying = copy && shelf.laying(copy);
  const steps = laying?.pages[page] && stepsOn(laying.pages[page]);
  if (!view || !copy || !steps || copy.asPrinted || copy.revision >= view.revision) return null;
  const last = copy.keys[steps[1]];
  const called = start === null ? -1 : shownFrom(view, start);
  const here = copy.keys.slice(steps[0], steps[1] + 1);
  const from = here.includes(called) ? called : (copy.keys[steps[0] - 1] ?? -1);
  const missing = missingIn(view, chair, copy.keys).filter(({ key }) => from < key && key < last);
  if (!missing.length) return null;
  const first = missing[0].key;
  const after = Math.max(from, ...here.filter((key) => key < first));
  return { after, first, bars: together(view, missing), turn: newerHas(shelf, { tune, chair, copy }, first) };
}

/**
 * Whether the bar that was called, or the first of the tune, is one that a copy should have and has not.
 * @param {Shelf} shelf
 * @param {Place} place
 * @param {number | null} start written position
 */
export function lacksCalled(shelf, { tune, chair, copy }, start) {
  const view = shelf.tune(tune);
  if (!view || !copy || copy.asPrinted || copy.revision >= view.revision) return false;
  const [first] = laid(view).filter(({ position }) => !isSilent(view, position, chair));
  const key = start === null ? first?.key : shownFrom(view, start);
  return missingIn(view, chair, copy.keys).some((one) => one.key === key);
}

/**
 * The stretches of a page that are played another number of times than when it was laid, each at its last bar.
 * @param {Pick<Shelf, 'tune'>} shelf
 * @param {Place} place
 * @param {import('./anchor.js').Box[]} boxes of the page
 * @returns {Round[]}
 */
export function roundsOf(shelf, { tune, copy }, boxes) {
  const view = shelf.tune(tune);
  if (!view || !copy || copy.asPrinted || copy.revision >= view.revision) return [];
  const now = signsOf(view);
  const gone = copy.again.filter(([first, last]) => !now.some((one) => one[0] <= last && first <= one[1])).map((row) => ({ row, times: null }));
  const come = now.filter((row) => !copy.again.some((one) => one[0] === row[0] && one[1] === row[1] && one[3] === row[3]));
  return [...gone, ...come.map((row) => ({ row, times: row[3] }))].flatMap(({ row: [first, last], times }) => {
    const from = Math.min(first, shownFrom(view, first));
    const behind = boxes.findLast(({ position, bar }) => from <= position && position <= last && bar === view.written[last]?.[0]);
    return behind ? [{ behind, bars: [view.written[first][1], view.written[last][1]], times }] : [];
  });
}

/** @param {TuneView} view @param {string} chair @param {number[]} keys */
function missingIn(view, chair, keys) {
  const has = new Set(keys);
  return laid(view).filter(({ key, position }) => !has.has(key) && !isSilent(view, position, chair));
}

/** @param {TuneView} view @param {{position: number}[]} missing @returns {[number, number]} */
function together(view, missing) {
  const numbers = missing.map(({ position }) => view.written[position][1]);
  let n = 0;
  while (missing[n + 1]?.position === missing[n].position + 1 && numbers[n + 1] > numbers[n]) n++;
  return [numbers[0], numbers[n]];
}

/** @param {Shelf} shelf @param {{tune: string, chair: string, copy: import('./turn.js').Copy}} of @param {number} key */
function newerHas(shelf, { tune, chair, copy }, key) {
  const newer = shelf.copies(tune, chair).filter((one) => one.revision > copy.revision && shelf.laying(one));
  return newer.some((one) => one.keys.indexOf(key) >= one.firstStep);
}
