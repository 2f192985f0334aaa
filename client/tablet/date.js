/**
 * The Date: a rehearsal or gig opened and closed by hand; what was decided tonight, to be kept or let go; who leads; and
 * looking back. Players are asked nothing.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').DateKind} DateKind
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').HistoryView} HistoryView
 */
import { bead } from './beads.js';
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';
import { History } from './history.js';
import { newId } from './ids.js';

/** The day here, as the calendar writes it. */
function today() {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10);
}

export class DateScreen {
  element = h('main.date', { 'data-of': 'date' });
  #name = '';
  /** @type {DateKind} */ #kind = 'rehearsal';
  #typing = false;
  /** Closing was touched once, and is meant when it is touched again. */ #closing = false;
  /** Roles whose chairs are shown. @type {Set<string>} */ #handing = new Set();
  #parts = { now: h('header.now'), of: h('div.of-date') };

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask
   * @param {(id: string, date: string, before: number) => void} to.lookBack
   * @param {() => TuneView[]} to.tunes
   * @param {(role: string) => boolean} to.has whether this stand has a role
   * @param {() => void} to.lead
   * @param {() => void} to.leave
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
    this.history = new History({ lookBack: to.lookBack, ask: to.ask, mayTakeOver: () => to.has('md') });
    this.element.append(this.#parts.now, this.#parts.of, this.history.element);
  }

  open() {
    this.#closing = this.#typing = false;
    this.history.look('');
  }

  /** @param {HistoryView} view */
  hear(view) {
    this.history.hear(view);
  }

  draw() {
    const { date } = this.room;
    const kind = date.date ? (date.kind === 'gig' ? 'Gig' : 'Rehearsal') : 'Date';
    this.#parts.now.replaceChildren(
      h('div', {}, h('p.over', {}, [kind, date.day].filter(Boolean).join(' · ')), h('h1', {}, date.name || 'No date is open')),
      h('div.keys-of-screen', {}, key('Lead', this.to.lead, { 'data-do': 'lead' }), key('My page', this.to.leave, { 'data-do': 'leave' })),
    );
    // A name that is being typed stays.
    if (this.#typing && !date.date && this.#parts.of.querySelector('input')) return;
    this.#parts.of.replaceChildren(...(date.date ? [this.#decided()] : [this.#opening()]), this.#leads());
  }

  #opening() {
    const kinds = /** @type {[DateKind, string][]} */ ([['rehearsal', 'Rehearsal'], ['gig', 'Gig']]).map(([kind, label]) =>
      key(label, () => this.#be(kind), { 'data-kind': kind, 'aria-pressed': this.#kind === kind }),
    );
    const input = field({ label: 'Name', value: this.#name, hint: this.#named(), changed: (value) => (this.#name = value), entered: () => void this.#open() });
    input.onfocus = () => {
      if (this.#typing) return;
      this.#typing = true;
      input.after(drawnKeys(() => input));
    };
    const [last] = this.history.dates;
    const again = last && !last.open ? [key(`Open “${last.name}” again`, () => void this.#open(last.date, last.name, last.kind, last.day), { 'data-do': 'open-again', className: 'key plain' })] : [];
    return h(
      'section.opening',
      {},
      h('p.quiet', {}, 'Where the band is, and what is decided for tonight only, belong to the date.'),
      h('div.tools-of-set', {}, ...kinds),
      h('label', {}, 'Name', input),
      h('div.acts', {}, ...again, key('Open the date', () => void this.#open(), { 'data-do': 'open-date', className: 'key strong' })),
    );
  }

  /** @param {DateKind} kind */
  #be(kind) {
    this.#kind = kind;
    this.#typing = false;
    this.draw();
  }

  #named() {
    return `${this.#kind === 'gig' ? 'Gig' : 'Rehearsal'} ${today()}`;
  }

  /** @param {string} [id] @param {string} [name] @param {DateKind} [kind] @param {string} [day] */
  async #open(id = newId(), name = this.#name.trim() || this.#named(), kind = this.#kind, day = today()) {
    this.#typing = false;
    if (await this.to.ask({ type: 'open-date', id, name, kind, day })) this.#name = '';
    this.open();
  }

  #decided() {
    const edits = this.to.tunes().flatMap(({ title, edits: made }) => made.map((edit) => ({ ...edit, title })));
    const loose = edits.filter((edit) => !edit.kept).length;
    const rows = edits.map(({ id, words, title, by, kept }) =>
      h(
        'div.decided',
        { role: 'listitem', 'data-edit': id },
        h('p', {}, words, h('em', {}, ` ${title}`), h('small', {}, [by, kept ? 'kept' : 'for this date'].join(' · '))),
        ...(this.to.has('md') ? [key('Keep', () => void this.to.ask({ type: 'keep-edit', edit: id, kept: !kept }), { 'data-do': 'keep', 'aria-pressed': kept })] : []),
      ),
    );
    const goes = loose === 1 ? '1 decision goes' : `${loose} decisions go`;
    const close = this.#closing
      ? [
          key('Not yet', () => this.#mean(false), { 'data-do': 'not-yet', className: 'key plain' }),
          ...(loose ? [key('Keep all and close', () => void this.#close(true), { 'data-do': 'close-keep' })] : []),
          key(loose ? `Close: ${goes}` : 'Close', () => void this.#close(false), { 'data-do': 'close-now', className: 'key strong' }),
        ]
      : [key('Close the date', () => this.#mean(true), { 'data-do': 'close-date' })];
    return h(
      'section.decisions',
      {},
      h('h2', {}, 'What holds tonight'),
      h('div', { role: 'list' }, ...(rows.length ? rows : [h('p.quiet', {}, 'Nothing was cut or changed: all is played as written.')])),
      h('div.acts', {}, ...close),
    );
  }

  /** @param {boolean} closing */
  #mean(closing) {
    this.#closing = closing;
    this.draw();
  }

  /** @param {boolean} keep */
  async #close(keep) {
    this.#closing = false;
    await this.to.ask({ type: 'close-date', date: this.room.date.date, keep });
    this.open();
  }

  /** Who leads and who directs: chairs as keys, for those who may hand it on. */
  #leads() {
    const roles = /** @type {['leader' | 'md', string, string][]} */ ([['leader', 'Who leads too', 'leads'], ['md', 'Who directs too', 'directs']]);
    const sections = roles.filter(([role]) => this.to.has(role)).map(([role, title, does]) => {
      const beads = this.room.band.sections
        .flatMap((section) => section.chairs)
        .map(({ id, name }) => {
          const full = Boolean(this.room.given.get(id)?.includes(role));
          const touched = () => void this.to.ask({ type: full ? 'take-role' : 'give-role', chair: id, role });
          return bead({ id, name, full, says: full ? `${does} till the end` : '', touched, chosen: full });
        });
      const open = this.#handing.has(role);
      const turn = () => (open ? this.#handing.delete(role) : this.#handing.add(role), this.draw());
      const given = beads.filter((one) => one.dataset.full === 'true').length;
      const label = given ? `${title}: ${given}` : title;
      return h('div.handing', {}, key(label, turn, { 'data-role': role, 'aria-expanded': open }), ...(open ? [h('div.seats', {}, ...beads)] : []));
    });
    return h('section.who-leads', {}, ...sections);
  }
}
