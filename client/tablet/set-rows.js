/**
 * The set as rows that a thumb can hit: titles with times, keys and words, "or", segue signs and breaks.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').SetItem} SetItem
 * @typedef {import('./setlist.js').Row} Row
 * @typedef {import('./setlist.js').Times} Times
 */
import { h } from './dom.js';
import { isAgain, rowOf, secondsOf, timeOf } from './setlist.js';

/** What stands at a row's end for how it goes on. */
const THEN = { '': '', on: '↓ on', segue: '↓ segue' };

/**
 * @param {Room} room
 * @param {SetItem[]} items
 * @param {object} to
 * @param {(tune: string) => number | null} to.lasts
 * @param {(at: number) => void} to.touched
 * @param {boolean} to.locked nobody may touch them
 * @param {number | null} to.chosen the row that is being changed; null: none
 * @returns {HTMLElement[]}
 */
export function setRows(room, items, to) {
  let number = 0;
  let music = 0;
  return items.map((item, at) => {
    const seconds = secondsOf(item, to.lasts);
    if (item.tune && !item.instead) number++;
    const row = item.tune ? tuneRow(room, item, item.instead ? 'or' : String(number), seconds) : breakRow(item, seconds, music);
    if (item.tune && !item.instead) music += seconds ?? 0;
    if (!item.tune && to.chosen === null) return h('p.break', { role: 'listitem' }, ...row);
    const playing = rowOf(item);
    const is = playing ? isOf(room, playing) : 'break';
    return h(
      'button.row',
      {
        type: 'button',
        onclick: () => to.touched(at),
        disabled: to.locked,
        'data-tune': item.tune ?? '',
        'data-item': item.id ?? '',
        'data-is': is,
        'data-at': at,
        'data-then': item.then ?? '',
        'data-instead': Boolean(item.instead),
        'aria-pressed': to.chosen === null ? is === 'next' : to.chosen === at,
      },
      ...row,
      ...(to.chosen === null ? [] : [h('span.grip', { 'data-grip': at, 'aria-hidden': 'true' }, '≡')]),
    );
  });
}

/** @param {Room} room @param {Row} row */
export const isOf = (room, row) => (room.same(row, room.on) ? 'on' : room.same(row, room.named) ? 'next' : '');

/** @param {Room} room @param {SetItem} item @param {string} place @param {number | null} seconds */
function tuneRow(room, item, place, seconds) {
  const row = /** @type {Row} */ (rowOf(item));
  const is = isOf(room, row);
  const said = [isAgain(room.items, row) ? 'again' : '', item.key, item.notes].filter(Boolean).join(' · ');
  return [
    h('span.nr', {}, place),
    h('span.title', {}, room.title(item.tune ?? '') || '?', ...(said ? [h('small', {}, said)] : [])),
    h(
      'span.side-of',
      {},
      ...(is ? [h('b', {}, is === 'on' ? 'on now' : 'next')] : []),
      ...(seconds === null ? [] : [h('span.time', {}, timeOf(seconds))]),
      ...(item.then ? [h('span.then', {}, THEN[item.then])] : []),
    ),
  ];
}

/** @param {SetItem} item @param {number | null} seconds @param {number} music seconds before it */
function breakRow(item, seconds, music) {
  const name = item.notes || 'Break';
  return [
    h('span.nr', {}),
    h('span.title', {}, name, ...(music ? [h('small', {}, `after ${timeOf(music)}`)] : [])),
    h('span.side-of', {}, ...(seconds === null ? [] : [h('span.time', {}, timeOf(seconds))])),
  ];
}

/** How long it takes, and when the break comes, in words. @param {Times} times @param {number} tunes */
export function timesInWords({ music, unknown, stretches }, tunes) {
  const words = [tunes === 1 ? '1 tune' : `${tunes} tunes`];
  if (music) words.push(`about ${timeOf(music)}`);
  if (stretches.length > 1 && stretches[0]) words.push(`break after ${timeOf(stretches[0])}`);
  if (unknown) words.push(`${unknown} without a time`);
  return words.join(' · ');
}
