/**
 * The stave height that a player chooses, like a book's type size: 6 to 10 mm in steps of 1, 7 when nothing was chosen
 * (common practice). Pure.
 *
 * @typedef {import('./turn.js').Copy} Copy
 */
export const USUAL = 7;
const LEAST = 6;
const MOST = 10;

/** Whether a height may be chosen. @param {number} stave mm */
export const isHeight = (stave) => stave >= LEAST && stave <= MOST;

/** The heights that a stand keeps: the chosen one first, then the steps next to it. @param {number} stave mm */
export const keptFor = (stave) => [stave, ...[stave - 1, stave + 1].filter(isHeight)];

/**
 * What the hub is asked for: the first chair's height, and ahead all else that the chairs' players may choose.
 * @param {number[]} chosen mm, a chair each
 * @returns {{stave: number, ahead: number[]}}
 */
export function askedFor(chosen) {
  const [stave = USUAL] = chosen;
  const ahead = new Set([...chosen, ...[stave, ...chosen].flatMap(keptFor)]);
  ahead.delete(stave);
  return { stave, ahead: [...ahead] };
}

/**
 * Of one part's copies, those at the chosen height; while there is no whole one, those at the height next to it. What is
 * shown as printed has no height.
 * @param {Copy[]} copies
 * @param {number} stave mm
 */
export function atHeight(copies, stave) {
  const hasNone = (/** @type {Copy} */ copy) => !copy.laying || copy.asPrinted;
  const heights = copies.filter((copy) => !hasNone(copy) && copy.firstStep === 0).map((copy) => copy.stave);
  if (!heights.length) return copies;
  const best = heights.reduce((a, b) => (Math.abs(b - stave) < Math.abs(a - stave) ? b : a));
  return copies.filter((copy) => hasNone(copy) || copy.stave === best);
}
