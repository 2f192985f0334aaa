/**
 * The set as rows: what follows what, how long it takes, a row moved, a tune found. Pure.
 *
 * @typedef {import('./wire.js').SetItem} SetItem
 * @typedef {import('./wire.js').TuneRow} TuneRow
 * @typedef {{music: number, breaks: number, unknown: number, stretches: number[]}} Times seconds; `stretches`: from break to break
 */

/** A row of the set that plays a tune; `item` tells rows of one tune apart. @typedef {{tune: string, item: string}} Row */

/** @param {SetItem} item @returns {Row | null} null: a break */
export const rowOf = (item) => (item.tune ? { tune: item.tune, item: item.id ?? '' } : null);

/** Where a row stands; -1: nowhere. @param {SetItem[]} items @param {Row} row */
export const placeOf = (items, row) => items.findIndex((one) => one.tune === row.tune && (one.id ?? '') === row.item);

/** What comes after a row of the set: the next that stands for itself, over a break too. @param {SetItem[]} items @param {Row} row @returns {Row | null} */
export function after(items, row) {
  const at = placeOf(items, row);
  const next = at < 0 ? undefined : items.slice(at + 1).find((item) => item.tune && !item.instead);
  return next ? rowOf(next) : null;
}

/** Whether the row's tune stands in the set before it as well. @param {SetItem[]} items @param {Row} row */
export function isAgain(items, row) {
  const first = items.findIndex((item) => item.tune === row.tune);
  return first >= 0 && first < placeOf(items, row);
}

/**
 * How long a set takes; what may be played instead does not count.
 * @param {SetItem[]} items
 * @param {(tune: string) => number | null} lasts seconds of a tune as worked out
 * @returns {Times}
 */
export function times(items, lasts) {
  const stretches = [0];
  let breaks = 0;
  let unknown = 0;
  for (const item of items) {
    if (item.instead) continue;
    const seconds = secondsOf(item, lasts);
    if (seconds === null) unknown++;
    if (item.tune) stretches[stretches.length - 1] += seconds ?? 0;
    else {
      breaks += seconds ?? 0;
      stretches.push(0);
    }
  }
  return { music: stretches.reduce((sum, one) => sum + one, 0), breaks, unknown, stretches };
}

/** @param {SetItem} item @param {(tune: string) => number | null} lasts @returns {number | null} */
export const secondsOf = (item, lasts) => item.seconds ?? (item.tune ? lasts(item.tune) : null);

/** A time as it is written: "4:05", "1:02:30". @param {number} seconds */
export function timeOf(seconds) {
  const two = (/** @type {number} */ n) => String(n).padStart(2, '0');
  const [hours, minutes, rest] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, Math.round(seconds) % 60];
  return hours ? `${hours}:${two(minutes)}:${two(rest)}` : `${minutes}:${two(rest)}`;
}

/** Seconds of a time as it is typed: "4:30", "4.30", "1:02:30", "20" (minutes); null: it says none. @param {string} text */
export function secondsSaid(text) {
  const found = /^(?:(?:(\d{1,2})[:.])?(\d{1,3})[:.](\d{2})|(\d{1,3}))$/.exec(text.trim());
  if (!found) return null;
  const [, hours, minutes, seconds, whole] = found.map((part) => Number(part ?? 0));
  return whole ? whole * 60 : hours * 3600 + minutes * 60 + seconds || null;
}

/** A row at another place; 0 is the first. @param {SetItem[]} items @param {number} from @param {number} to @returns {SetItem[]} */
export function moved(items, from, to) {
  const rest = items.filter((_, n) => n !== from);
  return mended([...rest.slice(0, to), items[from], ...rest.slice(to)]);
}

/** What can stand in for nothing stands for itself. @param {SetItem[]} items @returns {SetItem[]} */
export function mended(items) {
  return items.map((item, n) => (item.instead && !items[n - 1]?.tune ? { ...item, instead: false } : item));
}

/** Every tune but the last of a stretch goes on by itself. @param {SetItem[]} items @param {boolean} through @returns {SetItem[]} */
export function straight(items, through) {
  return items.map((item) => (item.tune && item.then !== 'segue' ? { ...item, then: through ? 'on' : '' } : item));
}

/** Whether every tune goes on by itself. @param {SetItem[]} items */
export const isStraight = (items) => items.some((item) => item.tune) && items.every((item) => !item.tune || item.then);

/** Words of a title, plain. @param {string} text */
const wordsOf = (text) => text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase().split(/[^\p{L}\p{N}]+/u).filter(Boolean);

/**
 * The tunes that a few letters may mean, the likeliest first: how the title begins, how its words begin, the first
 * letters of its words ("hpf"), then letters anywhere.
 * @param {TuneRow[]} rows
 * @param {string} typed
 */
export function found(rows, typed) {
  const said = wordsOf(typed);
  if (!said.length) return [];
  const ranked = rows.map((row) => {
    const words = wordsOf(row.title);
    const title = words.join(' ');
    const whole = said.join(' ');
    const rank = [
      title.startsWith(whole),
      said.every((one) => words.some((word) => word.startsWith(one))),
      words.map((word) => word[0]).join('').startsWith(said.join('')),
      said.every((one) => title.includes(one)),
    ].indexOf(true);
    return { row, rank };
  });
  return ranked.filter(({ rank }) => rank >= 0).sort((a, b) => a.rank - b.rank).map(({ row }) => row);
}

/** A key as it is written, however the drawn keys gave it: "EB" is "Eb". @param {string} text */
export const keySaid = (text) => text.trim().replace(/^([A-Ga-g])[Bb](?=$|[\s/])/, (_, letter) => `${letter.toUpperCase()}b`);
