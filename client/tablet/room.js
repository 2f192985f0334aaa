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
 * @typedef {import('./store.js').Store} Store
 */
import { after } from './setlist.js';

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

  /** What is said of a tune in the set. @param {string | null} tune */
  item(tune) {
    return tune === null ? undefined : this.items.find((item) => item.tune === tune);
  }

  /** The tunes of the set, in order. */
  get inSet() {
    return this.set.tunes.filter((row) => row.in_set);
  }

  /** @param {string | null} tune */
  title(tune) {
    return this.set.tunes.find((row) => row.tune === tune)?.title ?? '';
  }

  /** The tune that follows: the one named next while its predecessor is on, else the set's order. @param {string} tune @returns {string | null} */
  after(tune) {
    const { position } = this;
    if (position.next !== null && position.tune === tune && position.next !== tune) return position.next;
    return after(this.items, tune);
  }

  /** The tune that is likely to be called next. @returns {string | null} */
  get coming() {
    const { tune, next } = this.position;
    return next ?? (tune === null ? (this.inSet[0]?.tune ?? null) : this.after(tune));
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
