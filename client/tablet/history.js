/**
 * Looking back: earlier dates, what was decided on each, when and by whom, and the edits as they stood at its end, to be
 * taken over again.
 *
 * @typedef {import('./wire.js').HistoryView} HistoryView
 * @typedef {import('./wire.js').DateRow} DateRow
 * @typedef {import('./wire.js').Command} Command
 */
import { h, key } from './dom.js';
import { newId } from './ids.js';

/** When, as people say it: the day, and the time on that day. @param {string} at RFC 3339 */
export function whenSaid(at) {
  const found = /^(\d{4}-\d\d-\d\d)T(\d\d:\d\d)/.exec(at);
  return found ? `${found[1]} ${found[2]}` : at;
}

export class History {
  element = h('section.history');
  /** @type {HistoryView | null} */ #view = null;
  #asked = '';
  #date = '';

  /**
   * @param {object} to
   * @param {(id: string, date: string, before: number) => void} to.lookBack
   * @param {(command: Command) => Promise<boolean>} to.ask
   * @param {() => boolean} to.mayTakeOver
   */
  constructor(to) {
    this.to = to;
  }

  /** The dates that are known, the newest first. @returns {DateRow[]} */
  get dates() {
    return this.#view?.dates ?? [];
  }

  /** Ask anew, of a date or of all. @param {string} [date] @param {number} [before] */
  look(date = this.#date, before = 0) {
    this.#date = date;
    this.#asked = newId();
    this.to.lookBack(this.#asked, date, before);
  }

  /** @param {HistoryView} view */
  hear(view) {
    if (view.id !== this.#asked) return;
    this.#view = view;
    this.draw();
  }

  draw() {
    const view = this.#view;
    if (!view) return this.element.replaceChildren();
    const one = (/** @type {string} */ date, /** @type {string} */ label) =>
      key(label, () => this.look(date), { 'data-date': date, 'aria-pressed': this.#date === date });
    const dates = view.dates.map(({ date, name, day }) => one(date, day && !name.includes(day) ? `${name}, ${day}` : name));
    const names = new Map(view.dates.map(({ date, name }) => [date, name]));
    const rows = view.rows.map((row) =>
      h(
        'div.decided',
        { role: 'listitem', 'data-what': row.what },
        h('p', {}, row.words, ...(row.tune ? [h('em', {}, ` ${row.tune}`)] : []), h('small', {}, [row.by, whenSaid(row.at), this.#date ? '' : names.get(row.date)].filter(Boolean).join(' · '))),
      ),
    );
    const last = view.rows.at(-1);
    const older = view.more && last ? [key('Older', () => this.look(this.#date, last.seq), { 'data-do': 'older' })] : [];
    return this.element.replaceChildren(
      h('h2', {}, 'Looking back'),
      h('div.keys-of-dates', {}, one('', 'Everything'), ...dates),
      ...(this.#date ? [this.#stood(view)] : []),
      h('div', { role: 'list' }, ...(rows.length ? rows : [h('p.quiet', {}, 'Nothing was decided.')])),
      ...older,
    );
  }

  /** @param {HistoryView} view */
  #stood(view) {
    const rows = view.stood.map((row) =>
      h('div.decided', { role: 'listitem' }, h('p', {}, row.words, h('em', {}, ` ${row.title}`), h('small', {}, [row.by, row.kept ? 'kept' : '', row.holds ? 'holds now' : ''].filter(Boolean).join(' · ')))),
    );
    const open = view.dates.find((date) => date.date === this.#date)?.open;
    const differs = !open && this.to.mayTakeOver();
    return h(
      'div.stood',
      {},
      h('h2', {}, open ? 'As it stands' : 'As it stood at the end'),
      h('div', { role: 'list' }, ...(rows.length ? rows : [h('p.quiet', {}, 'As written: nothing was cut or changed.')])),
      ...(differs ? [key('Have it so again', () => void this.#takeOver(), { 'data-do': 'take-over' })] : []),
    );
  }

  async #takeOver() {
    if (await this.to.ask({ type: 'take-over', id: newId(), date: this.#date, tune: '' })) this.look();
  }
}
