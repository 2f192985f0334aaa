/**
 * The order of a tune's bars as a stand needs it. A *written position* is an index into `TuneView.written`, the same in
 * every revision but one that changes what is written (`rebase`). A *step* is an index into the bars as they stand on the page in one revision: `laid(view)[step]`.
 * A step's *key* says where it comes in the tune, in any revision: its position, and for bars that are written out
 * again behind a position a little more, so that keys only rise along the page.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').LaidPage} LaidPage
 * @typedef {import('./wire.js').LaidBar} LaidBar
 * @typedef {import('./wire.js').Laying} Laying
 */

/** So many bars may be written out behind one position. */
const ROOM = 65536;

/** @param {[number, number][]} ranges @param {number} position */
export const within = (ranges, position) => ranges.some(([first, last]) => first <= position && position <= last);

/** @param {TuneView} view @param {number} position */
export const isCut = (view, position) => within(view.cut, position);

/**
 * Whether a chair is not to play a bar that stands on its page.
 * @param {TuneView} view
 * @param {number} position
 * @param {string} chair
 */
export const isSilent = (view, position, chair) =>
  (isCut(view, position) && !forChair(view.pickups, position, chair)) || forChair(view.tacet, position, chair);

/** @param {import('./wire.js').ForSome[]} some @param {number} position @param {string} chair */
const forChair = (some, position, chair) => some.some((one) => one.chairs.includes(chair) && within(one.ranges, position));

/**
 * The bars as they stand on the page.
 * @param {TuneView} view
 * @returns {{position: number, key: number}[]}
 */
export function laid(view) {
  const pickups = view.pickups.flatMap((one) => one.ranges);
  /** @type {{position: number, key: number}[]} */ const found = [];
  view.written.forEach((_, position) => {
    const gone = isCut(view, position) || view.folds.some(([first, last]) => first <= position && position <= last);
    if (!gone || within(pickups, position)) found.push({ position, key: position });
    for (const [first, last, more, , signs] of view.again) {
      if (signs || last !== position) continue;
      let nth = 0;
      for (let time = 0; time < more; time++) {
        for (let inside = first; inside <= last; inside++) {
          if (!isCut(view, inside)) found.push({ position: inside, key: position + ++nth / ROOM });
        }
      }
    }
  });
  return found;
}

/** What is played again between signs. @param {TuneView | undefined} view */
export const signsOf = (view) => (view?.again ?? []).filter(([, , , , signs]) => signs);

/**
 * The least key at which a written position is shown: its own, or that of the bar that shows it between repeat signs.
 * @param {TuneView | undefined} view
 * @param {number} position
 */
export function shownFrom(view, position) {
  const fold = view?.folds.find(([first, last]) => first <= position && position <= last);
  return fold ? fold[2] + position - fold[0] : position;
}

/**
 * The first step behind a key.
 * @param {TuneView | undefined} view
 * @param {number[]} keys
 * @param {number} key
 * @returns {number} -1 if there is none
 */
export function stepBehind(view, keys, key) {
  const next = Math.floor(key) + 1;
  const from = shownFrom(view, next);
  return from === next ? keys.findIndex((one) => one > key) : keys.findIndex((one) => one >= from);
}

/**
 * The written position of a bar in a pass, or in its last one if it does not come so often; null if the bar is unknown.
 * @param {TuneView} view
 * @param {string} bar
 * @param {number} pass
 */
export function positionOf(view, bar, pass) {
  const at = view.written.findIndex((step) => step[0] === bar && step[2] === pass);
  if (at >= 0) return at;
  // Repeats may have been left out since it was said: the last time that is left.
  const last = view.written.map((step) => step[0]).lastIndexOf(bar);
  return last < 0 ? null : last;
}

/**
 * Where the positions of one written order are in another: each bar's time through, or where it comes no more the last
 * time that is left, with the key right before what follows.
 * @param {TuneView['written']} before
 * @param {TuneView['written']} now
 */
export function rebase(before, now) {
  const name = (/** @type {TuneView['written'][number]} */ [bar, , pass]) => `${bar}/${pass}`;
  const at = new Map(now.map((step, position) => [name(step), position]));
  /** @type {{position: number, key: number}[]} */ const to = [];
  let next = now.length;
  for (let old = before.length - 1; old >= 0; old--) {
    const own = at.get(name(before[old]));
    if (own !== undefined) next = own;
    to[old] = own === undefined ? { position: now.map((step) => step[0]).lastIndexOf(before[old][0]), key: next - 1 } : { position: own, key: own };
  }
  return to;
}

const TIMES = ['', '', ' second time', ' third time', ' fourth time'];

/** How a time through is said after a place; the first is not said. @param {number} pass */
export const timeSaid = (pass) => TIMES[pass] ?? ` ${pass}${pass > 20 ? (['th', 'st', 'nd', 'rd'][pass % 10] ?? 'th') : 'th'} time`;

/** @param {LaidPage} page */
export const barsOf = (page) => page.lines.flatMap((line) => line.bars);

/**
 * First and last step on a page; null when no bars are known on it.
 * @param {LaidPage} page
 * @returns {[number, number] | null}
 */
export function stepsOn(page) {
  const bars = barsOf(page);
  if (!bars.length) return null;
  return [Math.min(...bars.map((bar) => bar.steps[0])), Math.max(...bars.map((bar) => bar.steps[1]))];
}

/**
 * The page that shows a step, or the first one that shows a later step; the last page if there is none.
 * @param {Laying} laying
 * @param {number} step
 */
export function pageHolding(laying, step) {
  const at = laying.pages.findIndex((page) => (stepsOn(page)?.[1] ?? -1) >= step);
  return at < 0 ? Math.max(0, laying.pages.length - 1) : at;
}
