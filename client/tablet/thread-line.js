/**
 * The arithmetic of the thread: a tune's bars in written order as a line, cut stretches as gaps of one width, what is
 * played again as loops.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {{from: number, to: number}} Span along the thread, 0 to 1
 * @typedef {object} Line
 * @property {Span[]} played stretches that are played
 * @property {Span[]} gaps cut stretches
 * @property {(Span & {times: number, edit: string})[]} loops what is played again; 0 times: open until cued
 * @property {Span[]} tacet what this chair does not play
 * @property {{text: string, pass: number, at: number, position: number}[]} marks
 * @property {(position: number) => number} at where a written position begins
 */
import { isCut } from './order.js';

/** A cut stretch takes the room of this share of the whole line, however long it is. */
const GAP = 0.025;

/** @param {TuneView} view @param {string} [chair] whose tacet stretches are meant @returns {Line} */
export function lineOf(view, chair = '') {
  const count = view.written.length;
  const cuts = view.written.map((_, position) => isCut(view, position));
  const gapsAt = cuts.map((cut, position) => cut && !cuts[position - 1]);
  const gapCount = gapsAt.filter(Boolean).length;
  const bars = cuts.filter((cut) => !cut).length;
  const gap = gapCount ? Math.min(GAP, 0.5 / gapCount) : 0;
  const bar = bars ? (1 - gap * gapCount) / bars : 0;
  /** @type {number[]} */ const starts = [];
  let x = 0;
  for (let position = 0; position < count; position++) {
    starts.push(x);
    if (!cuts[position]) x += bar;
    else if (!cuts[position + 1]) x += gap;
  }
  starts.push(x);
  /** @type {Span[]} */ const played = [];
  /** @type {Span[]} */ const gaps = [];
  for (let position = 0; position < count; position++) {
    if (position && cuts[position] === cuts[position - 1]) continue;
    let end = position;
    while (end < count && cuts[end] === cuts[position]) end++;
    (cuts[position] ? gaps : played).push({ from: starts[position], to: starts[end] });
  }
  const marks = view.written
    .map(([, , pass, text], position) => ({ text, pass, position, at: starts[position] }))
    .filter(({ text, position }) => text !== '' && !cuts[position]);
  const span = (/** @type {number} */ first, /** @type {number} */ last) => ({ from: starts[first], to: starts[last + 1] });
  const loops = view.again.map(([first, last, , times, , edit]) => ({ ...span(first, last), times, edit }));
  const tacet = view.tacet
    .filter((one) => one.chairs.includes(chair))
    .flatMap((one) => one.ranges.map(([first, last]) => span(first, last)))
    .filter(({ from, to }) => to > from);
  return { played, gaps, loops, tacet, marks, at: (position) => starts[Math.max(0, Math.min(count, position))] };
}

/** What is written in a loop. @param {number} times 0: open @param {boolean} cued @param {string} player */
export const loopSays = (times, cued, player) => (times ? `${times}×` : cued ? 'last time' : ['open', player].filter(Boolean).join(', '));
