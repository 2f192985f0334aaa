/**
 * Changing the set: a row is chosen, moved by keys, arrows or by its grip, and said more of. Every change is asked of the
 * hub at once; if another's came first, this one does nothing and says so.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').SetItem} SetItem
 * @typedef {import('./wire.js').Command} Command
 */
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';
import { newId } from './ids.js';
import { isStraight, keySaid, mended, moved, secondsSaid, straight, timeOf } from './setlist.js';

/** @typedef {'key' | 'seconds' | 'notes'} Said */
/** @type {[Said, string, string][]} */
const FIELDS = [
  ['key', 'Key', 'Eb'],
  ['seconds', 'Time', '4:30'],
  ['notes', 'To the players', 'Horns stand up'],
];
/** @type {[SetItem['then'], string][]} */
const THENS = [['', 'Wait'], ['on', 'On'], ['segue', 'Segue']];

export class SetChanging {
  /** The chosen row; null while the set is not being changed. @type {number | null} */ chosen = null;
  /** The row that is chosen once the set is another than this revision's. @type {{revision: number, chosen: number} | null} */ #coming = null;
  #writing = false;

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask
   * @param {() => void} to.changed what is drawn is another
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
  }

  get on() {
    return this.chosen !== null;
  }

  /** @param {boolean} on */
  set on(on) {
    this.chosen = on ? 0 : null;
    this.#coming = null;
    this.#writing = false;
    this.to.changed();
  }

  /** The set may have changed: the choice goes with the row that was moved, before anything is drawn of it. */
  follow() {
    const { set, items } = this.room;
    if (!this.on || !this.#coming || set.revision === this.#coming.revision) return;
    this.chosen = Math.max(0, Math.min(this.#coming.chosen, items.length - 1));
    this.#coming = null;
  }

  /** @param {number} at */
  choose(at) {
    this.chosen = at;
    this.#coming = null;
    this.#writing = false;
    this.to.changed();
  }

  /** Whether a set being typed about is left as it is. */
  get writing() {
    return this.on && this.#writing;
  }

  /** @param {SetItem[]} items @param {number} [chosen] the row that is chosen then */
  async #put(items, chosen = this.chosen ?? 0) {
    const { revision } = this.room.set;
    const coming = { revision, chosen };
    this.#coming = coming;
    const done = await this.to.ask({ type: 'set-the-set', items: mended(items), revision });
    if (!done && this.#coming === coming) this.#coming = null;
    this.to.changed();
  }

  /** @param {number} by */
  move(by) {
    const { items } = this.room;
    const from = this.chosen ?? 0;
    const to = from + by;
    if (to >= 0 && to < items.length) void this.#put(moved(items, from, to), to);
  }

  /** @param {number} from @param {number} to */
  drop(from, to) {
    if (from === to) this.choose(from);
    else void this.#put(moved(this.room.items, from, to), to);
  }

  /** @param {Partial<SetItem>} change */
  #say(change) {
    void this.#put(this.room.items.map((item, at) => (at === this.chosen ? { ...item, ...change } : item)));
  }

  /** A tune of the library after the chosen row, again if it is there already. @param {string} tune */
  add(tune) {
    const { items } = this.room;
    const at = items.length ? (this.chosen ?? items.length - 1) + 1 : 0;
    /** @type {SetItem} */ const item = { tune };
    if (isStraight(items)) item.then = 'on';
    if (items.some((one) => one.tune === tune)) item.id = newId();
    void this.#put([...items.slice(0, at), item, ...items.slice(at)], at);
  }

  #addBreak() {
    const { items } = this.room;
    const at = (this.chosen ?? 0) + 1;
    void this.#put([...items.slice(0, at), { notes: 'Break', seconds: 1200 }, ...items.slice(at)], at);
  }

  #takeOut() {
    void this.#put(this.room.items.filter((_, at) => at !== this.chosen), (this.chosen ?? 0) - 1);
  }

  /** The keys that change the chosen row. */
  tools() {
    const { items } = this.room;
    const at = this.chosen ?? 0;
    const item = items[at];
    const through = isStraight(items);
    const all = h(
      'div.tools-of-set',
      {},
      key('Straight through', () => void this.#put(straight(items, !through)), { 'data-do': 'straight', 'aria-pressed': through }),
      key('Break', () => this.#addBreak(), { 'data-do': 'break' }),
    );
    if (!item) return h('section.changing', {}, all);
    const then = THENS.map(([to, label]) => key(label, () => this.#say({ then: to }), { 'data-then': to, 'aria-pressed': (item.then ?? '') === to }));
    const before = items[at - 1];
    return h(
      'section.changing',
      { 'aria-label': 'Change this row' },
      h(
        'div.tools-of-set',
        {},
        key('Up', () => this.move(-1), { 'data-do': 'up', disabled: at === 0 }),
        key('Down', () => this.move(1), { 'data-do': 'down', disabled: at === items.length - 1 }),
        ...(item.tune
          ? [key('Or', () => this.#say({ instead: !item.instead }), { 'data-do': 'or', 'aria-pressed': Boolean(item.instead), disabled: !before?.tune })]
          : []),
        key('Take out', () => this.#takeOut(), { 'data-do': 'take-out' }),
        key('Say more', () => this.#write(), { 'data-do': 'say-more', 'aria-pressed': this.#writing }),
      ),
      ...(item.tune ? [h('div.tools-of-set', { role: 'group', 'aria-label': 'After it' }, ...then)] : []),
      all,
      ...(this.#writing ? [this.#fields(item)] : []),
    );
  }

  #write() {
    this.#writing = !this.#writing;
    this.to.changed();
  }

  /** @param {SetItem} item */
  #fields(item) {
    /** @type {HTMLInputElement | null} */ let target = null;
    const said = { key: item.key ?? '', notes: item.notes ?? '', seconds: item.seconds ? timeOf(item.seconds) : '' };
    const wanted = FIELDS.filter(([name]) => item.tune || name !== 'key');
    const inputs = wanted.map(([name, label, hint]) => {
      const input = field({ label, hint, value: said[name], changed: (value) => (said[name] = value), entered: () => this.#said(item, said) });
      input.dataset.field = name;
      input.onfocus = () => (target = input);
      return h('label', {}, name === 'notes' && !item.tune ? 'What it is called' : label, input);
    });
    const first = /** @type {HTMLInputElement} */ (inputs[0].querySelector('input'));
    const keys = drawnKeys(() => target ?? first, [':', '#']);
    return h('div.saying', {}, ...inputs, keys, key('Done', () => this.#said(item, said), { 'data-do': 'said', className: 'key strong' }));
  }

  /** @param {SetItem} item @param {Record<Said, string>} said */
  #said(item, said) {
    this.#writing = false;
    this.#say({ key: item.tune ? keySaid(said.key) : '', notes: said.notes, seconds: secondsSaid(said.seconds) });
  }
}
