/**
 * The Lead: the set as rows for a thumb and its change, any tune of the library, next and call as two acts, take back,
 * the marks of the tune that is on, and the chairs filling in as stands confirm.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./setlist.js').Row} Row
 */
import { Act, whoseStands } from './act.js';
import { bead } from './beads.js';
import { CallingKey } from './calling-key.js';
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';
import { FromPlace } from './from-place.js';
import { isCut, timeSaid } from './order.js';
import { SetChanging } from './set-changing.js';
import { setRows, timesInWords } from './set-rows.js';
import { found, rowOf, times } from './setlist.js';

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
  /** The row that a finger carries, and where it would go. @type {{from: number, to: number} | null} */ #carried = null;
  #marks = h('div.marks');
  #parts = {
    now: h('header.now'),
    stands: h('p.stands', { role: 'status' }),
    rows: h('div.rows', { role: 'list' }),
    search: h('div.search'),
    foot: h('p.foot.quiet'),
    changing: h('div.changing-box'),
    places: h('div.places'),
    chairs: h('div.seats', { role: 'list' }),
  };

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask whether it took effect; failures are said
   * @param {() => string} to.me the id of this tablet
   * @param {() => boolean} to.mayCall whether this stand leads; the MD may only say where to start
   * @param {(tune: string) => TuneView | undefined} to.tune
   * @param {() => void} to.leave
   * @param {() => void} to.lineup
   * @param {() => void} to.date to the screen of the date
   * @param {() => string} to.taught the pedal key that calls; empty: none
   * @param {(key: string) => void} to.teach
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
    const another = new FromPlace((said) => to.ask({ type: 'from', start: said }), (on) => (this.element.dataset.placing = String(on)));
    this.#parts.places.append(this.#marks, another.element);
    this.act = new Act(room, to);
    this.callingKey = new CallingKey({ ...to, call: () => void this.act.callByFoot() });
    this.changing = new SetChanging(room, { ask: to.ask, changed: () => this.draw() });
    const { now, stands, rows, search, foot, changing, places, chairs } = this.#parts;
    const side = h('section.side', {}, changing, places, chairs, this.callingKey.element);
    this.element.append(now, stands, h('div.columns', {}, h('section.set', {}, search, rows, foot), side), this.act.element);
    rows.onpointerdown = (event) => this.#carry(event);
    rows.onpointermove = (event) => this.#carryOn(event);
    rows.onpointerup = () => this.#putDown(true);
    rows.onpointercancel = () => this.#putDown(false);
  }

  draw() {
    const { room } = this;
    const { position, date } = room;
    const by = position.tune && position.by ? ` · called by ${position.by}` : '';
    const on = room.titleOf(room.on);
    const stands = whoseStands(position, position.words ? `${on} from ${position.words}` : on, this.to.me());
    this.#parts.now.replaceChildren(
      h('div', {}, h('p.over', {}, `On now${by}`), h('h1', {}, on || 'Nothing called yet')),
      h(
        'div.keys-of-screen',
        {},
        key(date.date ? date.name : 'Date', this.to.date, { 'data-do': 'date', className: 'key named' }),
        key('My page', this.to.leave, { 'data-do': 'leave' }),
      ),
    );
    this.#parts.stands.textContent = stands;
    this.#parts.stands.hidden = !stands;
    // A row that is carried, and words that are being typed, stay as they are.
    if (this.#carried) return;
    if (!this.to.mayCall()) this.changing.chosen = null;
    this.changing.follow();
    this.element.dataset.changing = String(this.changing.on);
    this.element.dataset.writing = String(this.changing.writing);
    this.#drawSearch();
    this.#drawRows();
    if (!this.changing.writing || !this.#parts.changing.querySelector('input'))
      this.#parts.changing.replaceChildren(...(this.changing.on ? [this.changing.tools()] : []));
    this.#drawPlaces();
    this.#drawChairs();
    this.act.draw();
    this.callingKey.draw();
  }

  #drawSearch() {
    const { search } = this.#parts;
    // A field that is being typed in stays; only the rows follow.
    if (this.#searching && search.querySelector('input')) return;
    if (!this.#searching) {
      const { changing } = this;
      const change = key(changing.on ? 'Done' : 'Change', () => (changing.on = !changing.on), {
        'data-do': 'change',
        'aria-pressed': changing.on,
        'aria-label': changing.on ? 'Done changing the set' : 'Change the set',
      });
      search.replaceChildren(
        h('div.field', {}, key(changing.on ? 'Add a tune' : 'Find a tune', () => this.#find(true), { 'data-do': 'find', className: 'key wide' }), ...(this.to.mayCall() ? [change] : [])),
      );
      return;
    }
    const input = field({
      label: 'Find a tune',
      value: this.#search,
      hint: 'a few letters',
      changed: (value) => {
        this.#search = value;
        this.#drawRows();
      },
      entered: () => this.#parts.rows.querySelector('button')?.click(),
    });
    const close = key('Whole set', () => this.#find(false), { 'data-do': 'find-not' });
    search.replaceChildren(h('div.field', {}, input, close), drawnKeys(() => input));
    input.focus();
    input.setSelectionRange(input.value.length, input.value.length);
  }

  /** @param {boolean} searching @param {string} [letters] */
  #find(searching, letters = '') {
    this.#searching = searching;
    this.element.dataset.searching = String(searching);
    this.#search = letters;
    this.draw();
  }

  /** A key of a keyboard: arrows move in the set that is being changed; a letter begins a search. @param {KeyboardEvent} event */
  typed(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const by = event.key === 'ArrowUp' ? -1 : event.key === 'ArrowDown' ? 1 : 0;
    if (this.changing.on && by) {
      event.preventDefault();
      if (event.shiftKey) return this.changing.move(by);
      return this.changing.choose(Math.max(0, Math.min((this.changing.chosen ?? 0) + by, this.room.items.length - 1)));
    }
    if (!this.#searching && !this.changing.writing && /^[\p{L}\p{N}]$/u.test(event.key)) {
      event.preventDefault();
      this.#find(true, event.key);
    }
    return undefined;
  }

  #drawRows() {
    const { room } = this;
    const searching = this.#search.trim() !== '';
    const lasts = (/** @type {string} */ tune) => this.to.tune(tune)?.seconds ?? null;
    const rows = searching
      ? this.#found()
      : setRows(room, room.items, {
          lasts,
          touched: (at) => (this.changing.on ? this.changing.choose(at) : this.#name(rowOf(room.items[at]))),
          locked: !this.to.mayCall(),
          chosen: this.changing.chosen,
        });
    const none = searching ? 'No tune has these letters.' : 'No tune is in the set yet.';
    this.#parts.rows.replaceChildren(...(rows.length ? rows : [h('p.quiet', {}, none)]));
    this.#parts.foot.hidden = searching || !room.inSet.length;
    const count = room.items.filter((item) => item.tune && !item.instead).length;
    this.#parts.foot.textContent = timesInWords(times(room.items, lasts), count);
  }

  /** Tunes of the whole library that the letters may mean. */
  #found() {
    const { room } = this;
    return found(room.set.tunes, this.#search).map(({ tune, title }) => {
      const is = tune === room.position.tune ? 'on' : tune === room.position.next ? 'next' : '';
      const places = room.items.filter((item) => item.tune && !item.instead).flatMap((item, n) => (item.tune === tune ? [n + 1] : []));
      const touched = () => (this.changing.on ? this.#add(tune) : this.#request(tune));
      return h(
        'button.row',
        { type: 'button', onclick: touched, disabled: !this.to.mayCall(), 'data-tune': tune, 'data-is': is, 'aria-pressed': is === 'next' },
        h('span.nr', {}, places.join(' ')),
        h('span.title', {}, title),
        h('span.side-of', {}, ...(is ? [h('b', {}, is === 'on' ? 'on now' : 'next')] : [])),
      );
    });
  }

  /** Name a row as next; touched again, no longer. @param {Row | null} row */
  #name(row) {
    const { tune, item } = row && !this.room.same(row, this.room.named) ? row : { tune: null, item: null };
    void this.act.name(tune, item);
  }

  /** Name a tune as next, wherever it stands; touched again, no longer. @param {string} tune */
  #request(tune) {
    this.#find(false);
    void this.act.name(tune === this.room.position.next ? null : tune, null);
  }

  /** @param {string} tune */
  #add(tune) {
    this.#find(false);
    this.changing.add(tune);
  }

  /** A finger on a row's grip carries it. @param {PointerEvent} event */
  #carry(event) {
    const grip = event.target instanceof Element ? event.target.closest('.grip') : null;
    if (!grip) return;
    event.preventDefault();
    const from = Number(grip.getAttribute('data-grip'));
    this.#carried = { from, to: from };
    this.#parts.rows.setPointerCapture(event.pointerId);
    this.#markCarried();
  }

  /** @param {PointerEvent} event */
  #carryOn(event) {
    if (!this.#carried) return;
    const rows = [...this.#parts.rows.children];
    const over = rows.findIndex((row) => event.clientY < row.getBoundingClientRect().bottom);
    this.#carried.to = over < 0 ? rows.length - 1 : over;
    this.#markCarried();
  }

  #markCarried() {
    [...this.#parts.rows.children].forEach((row, at) => {
      const { from = -1, to = -1 } = this.#carried ?? {};
      row.setAttribute('data-carried', at === from ? 'this' : at !== to ? '' : to < from ? 'above' : 'below');
    });
  }

  /** @param {boolean} put */
  #putDown(put) {
    const carried = this.#carried;
    this.#carried = null;
    if (carried && put) this.changing.drop(carried.from, carried.to);
    else if (carried) this.draw();
  }

  #drawPlaces() {
    const { tune } = this.room.position;
    const view = tune === null ? undefined : this.to.tune(tune);
    const keys = (view ? placesOf(view) : []).map(({ label, said, again }) => {
      const from = key(label, () => void this.to.ask({ type: 'from', start: said }), { 'data-from': said, 'aria-label': `From ${said}` });
      if (again) from.append(h('sup', {}, String(again + 1)));
      return from;
    });
    this.#marks.replaceChildren(...(keys.length ? [h('h2', {}, 'From'), h('div.keys', {}, ...keys)] : []));
    this.#parts.places.hidden = keys.length === 0;
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
    this.#parts.chairs.replaceChildren(h('div.heading', {}, h('h2', {}, 'Who is there'), key('Line-up', this.to.lineup, { 'data-do': 'lineup', className: 'key plain' })), ...beads);
  }

  /** Whether words are being written here, in which any key may be meant. */
  get writing() {
    return this.#searching || this.changing.writing || this.element.dataset.placing === 'true';
  }

  /** The screen is left. */
  leave() {
    this.callingKey.leave();
    this.act.leave();
  }
}
