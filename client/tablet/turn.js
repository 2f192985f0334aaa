/**
 * Where a stand goes: on, back, and to a call. Pure: a place and what is on the stand in, a place out.
 *
 * @typedef {import('./wire.js').Laying} Laying
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').PositionView} PositionView
 */
import { lackOf } from './lacking.js';
import { pageHolding, positionOf, shownFrom, stepBehind, stepsOn } from './order.js';

/**
 * A copy: what one chair has on its stand of a tune, in one revision. `order[step]` is a written position, `keys[step]`
 * where it comes in the tune.
 * @typedef {object} Copy
 * @property {string} tune
 * @property {string} chair
 * @property {number} revision
 * @property {string} title
 * @property {string} part its name as printed; empty: tacet
 * @property {string} laying hash; empty: tacet
 * @property {string} pieces hash
 * @property {number} firstStep 0: from the top; above: a tail
 * @property {number[]} order
 * @property {number[]} keys
 * @property {import('./wire.js').AgainRow[]} again what is played again between signs on it
 * @property {boolean} asPrinted
 * @property {string[]} told
 * @property {string} version of the part; empty: tacet
 * @property {number} stave mm that it is laid for
 */
/**
 * Where a stand is. Without a copy, the tune's card is shown (tacet, or not here yet).
 * @typedef {object} Place
 * @property {string} tune
 * @property {string} item of the set's row that the tune was opened from
 * @property {string} chair
 * @property {Copy | null} copy
 * @property {number} page
 * @property {number} entry the page on which this copy was entered
 * @property {Place | null} prior where the stand came from, when it turned on into this copy
 * @property {number | null} start written position that was called, softly marked
 */
/**
 * What is on the stand.
 * @typedef {object} Shelf
 * @property {(tune: string) => TuneView | undefined} tune the newest
 * @property {(tune: string, chair: string) => Copy[]} copies usable ones, newest revision first, tails before whole ones
 * @property {(copy: Copy) => Laying | null} laying
 * @property {(tune: string) => string} chair whose part of a tune this stand shows
 * @property {(row: import('./setlist.js').Row) => import('./setlist.js').Row | null} after what follows in the set
 */

/** A chain of places is cut off here, so that it can be stored. */
const LONGEST_CHAIN = 8;

/** @param {Place | null} place @param {number} [depth] @returns {Place | null} */
const shortened = (place, depth = LONGEST_CHAIN) =>
  place && depth > 0 ? { ...place, prior: shortened(place.prior, depth - 1) } : null;

/**
 * The first page of a tune, or the page that holds a written position.
 * @param {Shelf} shelf
 * @param {import('./setlist.js').Row} row
 * @param {number | null} [start]
 * @param {Place | null} [prior]
 * @returns {Place}
 */
export function placeIn(shelf, { tune, item }, start = null, prior = null) {
  const chair = shelf.chair(tune);
  const copy = shelf.copies(tune, chair).find((one) => one.firstStep === 0) ?? null;
  const laying = copy && shelf.laying(copy);
  const key = start === null ? null : shownFrom(shelf.tune(tune), start);
  const step = copy && key !== null ? copy.keys.findIndex((one) => one >= key) : -1;
  const page = laying && step >= 0 && copy && !copy.asPrinted ? pageHolding(laying, step) : 0;
  return { tune, item, chair, copy: laying ? copy : null, page, entry: page, prior: shortened(prior), start };
}

/**
 * The same bar in what this stand has of the tune now: at another stave height, for another shape of page. Back from
 * there leads where it led before.
 * @param {Shelf} shelf
 * @param {Place} place
 * @param {number | null} key of the bar; null: its bars are not known
 * @returns {Place}
 */
export function laidAnew(shelf, place, key) {
  const copy = shelf.copies(place.tune, place.chair).find((one) => one.firstStep === 0);
  const laying = copy && shelf.laying(copy);
  if (!copy || !laying) return place;
  const pageOf = (/** @type {number | null} */ bar) => {
    if (bar === null || copy.asPrinted) return Math.min(place.page, laying.pages.length - 1);
    const from = bar % 1 ? bar : shownFrom(shelf.tune(place.tune), bar);
    const step = copy.keys.findIndex((one) => one >= from);
    return pageHolding(laying, step < 0 ? copy.keys.length : step);
  };
  let entered = place;
  while (entered.prior?.tune === place.tune && entered.prior.chair === place.chair) entered = entered.prior;
  const before = entered.copy && shelf.laying(entered.copy);
  const first = before && entered.copy ? firstVisible(before, entered.copy, entered.entry) : null;
  const page = pageOf(key);
  return { ...place, copy, page, entry: first === null ? page : Math.min(page, pageOf(first)), prior: entered.prior };
}

/**
 * Where a call takes this stand.
 * @param {Shelf} shelf
 * @param {PositionView} position with a tune
 * @returns {Place | null}
 */
export function placeOfCall(shelf, position) {
  if (!position.tune) return null;
  const view = shelf.tune(position.tune);
  const start = view && position.start ? positionOf(view, position.start, position.start_pass) : null;
  return placeIn(shelf, { tune: position.tune, item: position.item ?? '' }, start);
}

/**
 * The place after the visible page: the next page, the tail of a newer revision, the next tune; null at the very end.
 * @param {Shelf} shelf
 * @param {Place} place
 * @returns {Place | null}
 */
export function onward(shelf, place) {
  return nextPage(shelf, place) ?? nextTune(shelf, place);
}

/** @param {Shelf} shelf @param {Place} place @returns {Place | null} */
function nextTune(shelf, place) {
  const row = shelf.after(place);
  return row && placeIn(shelf, row, null, place);
}

/** @param {Shelf} shelf @param {Place} place @returns {Place | null} */
function nextPage(shelf, place) {
  const { copy } = place;
  const laying = copy && shelf.laying(copy);
  if (!copy || !laying) return null;
  const last = lastRead(shelf, place);
  if (last !== null) {
    for (const newer of shelf.copies(place.tune, place.chair)) {
      if (newer.revision <= copy.revision) break;
      const step = stepBehind(shelf.tune(place.tune), newer.keys, last);
      if (step < 0) return null;
      const tail = shelf.laying(newer);
      if (!tail || step < newer.firstStep) continue;
      const page = pageHolding(tail, step);
      return { ...place, copy: newer, page, entry: page, prior: shortened(place) };
    }
  }
  return place.page + 1 < laying.pages.length ? { ...place, page: place.page + 1 } : null;
}

/**
 * The key of the first bar of a page; null when the page's bars are not known.
 * @param {Laying} laying
 * @param {Copy} copy
 * @param {number} page
 */
export function firstVisible(laying, copy, page) {
  const steps = laying.pages[page] && stepsOn(laying.pages[page]);
  return (steps && copy.keys[steps[0]]) ?? null;
}

/**
 * The written position of the first bar of a page; null when the page's bars are not known.
 * @param {Laying} laying
 * @param {Copy} copy
 * @param {number} page
 */
export function firstPosition(laying, copy, page) {
  const steps = laying.pages[page] && stepsOn(laying.pages[page]);
  return (steps && copy.order[steps[0]]) ?? null;
}

/**
 * The key of the last bar of a page; null when the page's bars are not known.
 * @param {Laying} laying
 * @param {Copy} copy
 * @param {number} page
 */
function lastVisible(laying, copy, page) {
  const steps = laying.pages[page] && stepsOn(laying.pages[page]);
  return (steps && copy.keys[steps[1]]) ?? null;
}

/**
 * The key of the last bar that is read on a page: where others are played first by now, the one before them.
 * @param {Shelf} shelf
 * @param {Place} place
 */
function lastRead(shelf, place) {
  const laying = place.copy && shelf.laying(place.copy);
  if (!laying || !place.copy) return null;
  return lackOf(shelf, place)?.after ?? lastVisible(laying, place.copy, place.page);
}

/**
 * The key of the bar that a page is looked at for: the called one if it is there, else the first.
 * @param {Shelf} shelf
 * @param {Place} place
 * @param {number | null} start written position that was called
 */
export function barLookedAt(shelf, { tune, copy, page }, start) {
  const laying = copy && shelf.laying(copy);
  if (!copy || !laying) return null;
  const first = firstVisible(laying, copy, page);
  const last = lastVisible(laying, copy, page);
  const called = start === null ? null : shownFrom(shelf.tune(tune), start);
  return called !== null && first !== null && last !== null && first <= called && called <= last ? called : first;
}

/** Whether the player has turned since a place was called. @param {Place} place */
export const hasTurned = (place) => place.prior !== null || place.page !== place.entry;

/**
 * The place before the visible page; null at the top of what was called.
 * @param {Place} place
 * @returns {Place | null}
 */
export function backward(place) {
  if (place.prior && place.page === place.entry) return place.prior;
  return place.page > 0 ? { ...place, page: place.page - 1 } : null;
}

/**
 * The first step after what is read of the visible page, in the order of a revision: from there its tail is laid.
 * @param {Shelf} shelf
 * @param {Place} place
 * @param {number[]} keys of that revision
 */
export function nextStep(shelf, place, keys) {
  const last = lastRead(shelf, place);
  if (last === null) return 0;
  const step = stepBehind(shelf.tune(place.tune), keys, last);
  return step < 0 ? keys.length : step;
}

/**
 * Where the visible tune moves to when a position arrives: a place, or null to stay.
 * Coming back during the same call is not a call; a call taken back returns to where this stand was under it.
 * @param {Shelf} shelf
 * @param {PositionView} position
 * @param {number} call the last one this stand followed
 * @param {(call: number) => Place | undefined} wasAt where this stand was when a call ended
 * @returns {Place | null}
 */
export function follow(shelf, position, call, wasAt) {
  if (position.call === call) return null;
  const returned = position.returns_to === null ? undefined : wasAt(position.returns_to);
  // Before the first call no tune is on: a stand that had opened one by itself goes back to it.
  if (returned && (position.tune === null || returned.tune === position.tune)) return returned;
  return placeOfCall(shelf, position);
}
