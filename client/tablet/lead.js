/**
 * The Lead, in a first shape: the set as rows for a thumb, any tune of the library, next and call as two acts, take
 * back, the marks of the tune that is on, and the chairs filling in as stands confirm.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').TuneView} TuneView
 */
import { bead } from './beads.js';
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';
import { isCut, timeSaid } from './order.js';

/** ms that "take back" stays. */
const TAKE_BACK = 5000;

/**
 * The places that "from" offers: the top, then the marks in played order, each time through as a key of its own.
 * @param {TuneView} view
 * @returns {{label: string, said: string, again: number}[]} `again`: which time through, 0 for the first
 */
export function placesOf(view) {
  const marks = view.written
    .filter((step, position) => step[3] !== '' && !isCut(view, position))
    .map(([, , pass, text]) => ({ label: text, said: `${text}${timeSaid(pass)}`, again: Math.max(0, pass - 1) }));
  return [{ label: 'Top', said: 'top', again: 0 }, ...marks];
}

export class Lead {
  element = h('main.lead', { 'data-of': 'lead' });
  #search = '';
  #searching = false;
  /** The call that can be taken back now. */ #fresh = 0;
  /** @type {ReturnType<typeof setTimeout> | undefined} */ #freshEnds;
  #parts = {
    now: h('header.now'),
    rows: h('div.rows', { role: 'list' }),
    search: h('div.search'),
    places: h('div.places'),
    chairs: h('div.seats', { role: 'list' }),
    act: h('div.act'),
  };

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask whether it took effect; failures are said
   * @param {() => boolean} to.mayCall whether this stand leads; the MD may only say where to start
   * @param {(tune: string) => TuneView | undefined} to.tune
   * @param {() => void} to.leave
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
    const { now, rows, search, places, chairs, act } = this.#parts;
    this.element.append(now, h('div.columns', {}, h('section.set', {}, search, rows), h('section.side', {}, places, chairs)), act);
  }

  draw() {
    const { room } = this;
    const { position } = room;
    this.#parts.now.replaceChildren(
      h('div', {}, h('p.over', {}, 'On now'), h('h1', {}, room.title(position.tune) || 'Nothing called yet')),
      key('My page', this.to.leave, { 'data-do': 'leave' }),
    );
    this.#drawSearch();
    this.#drawRows();
    this.#drawPlaces();
    this.#drawChairs();
    this.#drawAct();
  }

  #drawSearch() {
    const { search } = this.#parts;
    // A field that is being typed in stays; only the rows follow.
    if (this.#searching && search.querySelector('input')) return;
    if (!this.#searching) {
      search.replaceChildren(key('Find a tune', () => this.#find(true), { 'data-do': 'find' }));
      return;
    }
    const input = field({
      label: 'Find a tune',
      hint: 'a few letters',
      changed: (value) => {
        this.#search = value;
        this.#drawRows();
      },
    });
    const close = key('Whole set', () => this.#find(false), { 'data-do': 'find-not' });
    search.replaceChildren(h('div.field', {}, input, close), drawnKeys(() => input));
    input.focus();
  }

  /** @param {boolean} searching */
  #find(searching) {
    this.#searching = searching;
    this.element.dataset.searching = String(searching);
    this.#search = '';
    this.draw();
  }

  #drawRows() {
    const { room } = this;
    const { tune, next } = room.position;
    const words = this.#search.toLowerCase().split(/\s+/).filter(Boolean);
    const found = words.length
      ? room.set.tunes.filter((row) => words.every((word) => row.title.toLowerCase().includes(word)))
      : room.inSet;
    const rows = found.map((row) => {
      const is = row.tune === tune ? 'on' : row.tune === next ? 'next' : '';
      const place = row.in_set ? String(room.inSet.indexOf(row) + 1) : '';
      const name = () => void this.to.ask({ type: 'next', tune: row.tune === next ? null : row.tune });
      return h(
        'button.row',
        { type: 'button', onclick: name, disabled: !this.to.mayCall(), 'data-tune': row.tune, 'data-is': is, 'aria-pressed': is === 'next' },
        h('span.nr', {}, place),
        h('span.title', {}, row.title),
        h('span.is', {}, is === 'on' ? 'on now' : is),
      );
    });
    this.#parts.rows.replaceChildren(...(rows.length ? rows : [h('p.quiet', {}, 'No tune has these letters.')]));
  }

  #drawPlaces() {
    const { tune } = this.room.position;
    const view = tune === null ? undefined : this.to.tune(tune);
    const keys = (view ? placesOf(view) : []).map(({ label, said, again }) => {
      const from = key(label, () => void this.to.ask({ type: 'from', start: said }), { 'data-from': said, 'aria-label': `From ${said}` });
      if (again) from.append(h('sup', {}, String(again + 1)));
      return from;
    });
    this.#parts.places.replaceChildren(h('h2', {}, 'From'), h('div.keys', {}, ...keys));
  }

  #drawChairs() {
    const { room } = this;
    const { stands } = room.presence;
    const beads = room.band.sections
      .flatMap((section) => section.chairs)
      .map(({ id, name }) => {
        const here = stands.filter((stand) => stand.here && stand.chairs.includes(id));
        const there = here.filter((stand) => stand.call === room.position.call);
        const says = here.length === 0 ? 'empty' : there.length === here.length ? 'there' : 'not yet';
        return bead({ id, name, full: here.length > 0 && there.length === here.length, says });
      });
    this.#parts.chairs.replaceChildren(h('h2', {}, 'Who is there'), ...beads);
  }

  #drawAct() {
    const { act } = this.#parts;
    const { position } = this.room;
    const next = this.room.coming;
    const takeBack = this.#fresh === position.call && position.previous !== null;
    act.replaceChildren(
      h('div', {}, h('p.over', {}, position.next === null ? 'Next in the set' : 'Next'), h('p.next', {}, this.room.title(next) || '—')),
      this.#act(next, takeBack),
    );
  }

  /** @param {string | null} next @param {boolean} takeBack */
  #act(next, takeBack) {
    if (!this.to.mayCall()) return h('p.quiet', {}, 'The leader calls; you may say from where.');
    if (takeBack) {
      const ask = () => void this.to.ask({ type: 'take-back-call', call: this.#fresh });
      return key('Take back', ask, { 'data-do': 'take-back', className: 'key strong taking' });
    }
    return key('Call', () => void this.#call(next), { 'data-do': 'call', className: 'key strong', disabled: next === null });
  }

  /** @param {string | null} tune */
  async #call(tune) {
    if (tune !== null) await this.to.ask({ type: 'call', tune, start: '' });
  }

  /** A call came, mine or another's: for a while it can be taken back. @param {number} call */
  called(call) {
    this.#fresh = call;
    clearTimeout(this.#freshEnds);
    this.#freshEnds = setTimeout(() => {
      this.#fresh = 0;
      this.#drawAct();
    }, TAKE_BACK);
  }
}
