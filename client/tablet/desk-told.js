/**
 * What is not sure of a part, or differs from the tune's others: a sentence each, where to look, and what would mend it.
 *
 * @typedef {import('./desk-hub.js').OpenPart} OpenPart
 * @typedef {import('./wire.js').OnPage} OnPage
 * @typedef {import('./wire.js').Said} Said
 */
import { barNumbered } from './desk-things.js';
import { h, key } from './dom.js';

/** Where a sentence of doubt is about: the first line that has it, or the bar that it names. @param {OpenPart['reading']} reading @param {string} words @returns {OnPage | null} */
export function placeOf(reading, words) {
  for (const [page, { systems }] of reading.pages.entries())
    for (const { doubt, bbox, head_x1 } of systems) if (doubt === words) return [page, (bbox[0] + head_x1) / 2, (bbox[1] + bbox[3]) / 2];
  const bar = /\bbar (\d+)\b/i.exec(words);
  return bar && (barNumbered(reading, Number(bar[1]))?.at ?? null);
}

/**
 * @param {OpenPart} part
 * @param {object} to
 * @param {(at: OnPage) => void} to.show
 * @param {(said: Said) => void} to.correct
 * @returns {Node[]}
 */
export function told({ row, reading, differing, mending }, { show, correct }) {
  /** @param {string} words @param {OnPage | null} at @param {string} [does] @param {Said | null} [said] */
  const one = (words, at, does = '', said = null) =>
    h(
      'li',
      {},
      h('p.why', {}, words),
      h(
        'div.desk-kinds',
        {},
        at && key('Show it', () => show(at), { 'data-do': 'show' }),
        said && !mending ? key(does, () => correct(said), { 'data-do': 'take', className: 'key strong' }) : null,
      ),
    );
  return [...row.doubts.map((words) => one(words, placeOf(reading, words))), ...differing.map(({ words, at, does, said }) => one(words, at, does, said))];
}
