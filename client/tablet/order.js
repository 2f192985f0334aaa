/**
 * The order of a tune's bars as a stand needs it. A *written position* is an index into `TuneView.written`, the same in
 * every revision; a *step* is an index into the played order of one revision: `played(view)[step]` is a position.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').LaidPage} LaidPage
 * @typedef {import('./wire.js').LaidBar} LaidBar
 * @typedef {import('./wire.js').Laying} Laying
 */

/** @param {TuneView} view @param {number} position */
export const isCut = (view, position) => view.cut.some(([first, last]) => first <= position && position <= last);

/**
 * The written positions that are played, in order.
 * @param {TuneView} view
 * @returns {number[]}
 */
export const played = (view) => view.written.map((_, position) => position).filter((position) => !isCut(view, position));

/**
 * The written position of a bar in a pass: the first that is still played at or after it; null if the bar is unknown.
 * @param {TuneView} view
 * @param {string} bar
 * @param {number} pass
 */
export function positionOf(view, bar, pass) {
  const at = view.written.findIndex((step) => step[0] === bar && step[2] === pass);
  return at < 0 ? null : at;
}

const TIMES = ['', '', ' second time', ' third time', ' fourth time'];

/** How a time through is said after a place; the first is not said. @param {number} pass */
export const timeSaid = (pass) => TIMES[pass] ?? '';

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
