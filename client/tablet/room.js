/**
 * The newest of what the hub shows everyone: band, set, position, presence. Kept, so that a stand that is reloaded
 * without a hub still knows the set.
 *
 * @typedef {import('./wire.js').BandView} BandView
 * @typedef {import('./wire.js').SetView} SetView
 * @typedef {import('./wire.js').DateView} DateView
 * @typedef {import('./wire.js').PositionView} PositionView
 * @typedef {import('./wire.js').PresenceView} PresenceView
 * @typedef {import('./wire.js').TuneRow} TuneRow
 * @typedef {import('./setlist.js').Row} Row
 * @typedef {import('./store.js').Store} Store
 */
import { after, isAgain, placeOf, rowOf } from './setlist.js';

export class Room {
  /** @type {BandView} */ band = { type: 'band', name: '', sections: [] };
  /** @type {SetView} */ set = { type: 'set', tunes: [], items: [], revision: 0, by: '' };
  /** @type {PositionView} */ position = {
    type: 'position',
    call: 0,
    tune: null,
    start: null,
    start_pass: 1,
    by: '',
    words: '',
    next: null,
    returns_to: null,
    previous: null,
    cued: [],
    players: {},
    item: '',
    next_item: '',
  };
  /** @type {DateView} */ date = { type: 'date', date: '', name: '', kind: 'rehearsal', day: '' };
  /** Roles that chairs were given. @type {Map<string, string[]>} */ given = new Map();
  /** @type {PresenceView} */ presence = { type: 'presence', stands: [] };

  /** @param {Store} store */
  constructor(store) {
    this.store = store;
  }

  async restore() {
    this.band = (await this.store.get('views', 'band')) ?? this.band;
    this.set = (await this.store.get('views', 'set')) ?? this.set;
    this.date = (await this.store.get('views', 'date')) ?? this.date;
    this.position = { ...this.position, ...(await this.store.get('views', 'position')) };
  }

  /** @param {BandView | SetView | DateView | PositionView | PresenceView} view */
  hear(view) {
    if (view.type === 'band') this.band = view;
    else if (view.type === 'set') this.set = view;
    else if (view.type === 'position') this.position = view;
    else if (view.type === 'date') this.date = view;
    else this.presence = view;
    if (view.type !== 'presence') void this.store.put('views', view.type, view);
  }

  /** The rows of the set, with breaks and what may be played instead. @returns {import('./wire.js').SetItem[]} */
  get items() {
    return this.set.items ?? this.inSet.map(({ tune }) => ({ tune }));
  }

  /** What is said of a row of the set. @param {Row | null} row */
  item(row) {
    return row ? this.items[placeOf(this.items, row)] : undefined;
  }

  /** The row that was called. @returns {Row | null} */
  get on() {
    const { tune, item = '' } = this.position;
    return tune === null ? null : { tune, item };
  }

  /** The row that was named next. @returns {Row | null} */
  get named() {
    const { next, next_item: item = '' } = this.position;
    return next === null ? null : { tune: next, item };
  }

  /** @param {Row | null} one @param {Row | null} other */
  same(one, other) {
    return one?.tune === other?.tune && one?.item === other?.item;
  }

  /** The tunes of the set, each where it stands first. */
  get inSet() {
    return this.set.tunes.filter((row) => row.in_set);
  }

  /** @param {string | null} tune */
  title(tune) {
    return this.set.tunes.find((row) => row.tune === tune)?.title ?? '';
  }

  /** A row as it is said: a tune that has been in the set before it is "again". @param {Row | null} row */
  titleOf(row) {
    if (!row) return '';
    return `${this.title(row.tune)}${isAgain(this.items, row) ? ', again' : ''}`;
  }

  /** The row that follows: the one named next while its predecessor is on, else by the set's order. @param {Row} row @returns {Row | null} */
  after(row) {
    const { named } = this;
    if (named && this.same(this.on, row) && !this.same(named, row)) return named;
    return after(this.items, row);
  }

  /** The first row of the set. @returns {Row | null} */
  get first() {
    const item = this.items.find(({ tune }) => tune);
    return item ? rowOf(item) : null;
  }

  /** The row that is likely to be called next. @returns {Row | null} */
  get coming() {
    return this.named ?? (this.on ? this.after(this.on) : this.first);
  }

  /** How soon a tune is needed; less is sooner. @param {string} tune */
  rank(tune) {
    if (tune === this.position.tune) return -2;
    if (tune === this.coming?.tune) return -1;
    const at = this.set.tunes.findIndex((row) => row.tune === tune);
    return at < 0 ? Infinity : at;
  }

  /** @param {string} chair */
  chairName(chair) {
    return this.band.sections.flatMap((section) => section.chairs).find((one) => one.id === chair)?.name ?? chair;
  }

  /** @param {string} chair @returns {string} the section that a chair sits in */
  sectionOf(chair) {
    return this.band.sections.find((section) => section.chairs.some((one) => one.id === chair))?.name ?? '';
  }
}
