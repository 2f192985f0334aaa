/**
 * The Door: the band's name, the join code, the chairs by section with who sits where. Touch one or several, sit down.
 *
 * @typedef {import('./room.js').Room} Room
 */
import { SOURCE, TRUST } from './address.js';
import { bead } from './beads.js';
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';

export class Door {
  element = h('main.door', { 'data-of': 'door' });
  /** @type {Set<string>} */ #chosen = new Set();
  #code = '';
  #role = '';
  #why = '';
  #asksRole = false;
  #asksDesk = false;
  #librarian = '';
  /** @type {'no-code' | 'knocking' | 'in' | 'away'} */ #state = 'no-code';

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(code: string) => void} to.knock try a code
   * @param {(chairs: string[], role: string) => void} to.sit
   * @param {(code: string) => void} to.desk open the librarian's desk; without a code where its role is here already
   * @param {() => boolean} to.mayDesk
   * @param {() => string} to.version
   * @param {() => import('./home.js').Keeping} to.keeping
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
  }

  /** @param {string} code @param {string[]} chairs */
  open(code, chairs) {
    this.#code = code;
    this.#chosen = new Set(chairs);
    // A code that was typed is not left there for the next one at this tablet to read.
    this.#role = this.#librarian = '';
    this.#asksRole = this.#asksDesk = false;
    this.#state = code ? 'knocking' : 'no-code';
    this.draw();
  }

  /** @param {'no-code' | 'knocking' | 'in' | 'away'} state @param {string} [why] */
  state(state, why = '') {
    if (state === this.#state && why === this.#why) return;
    this.#state = state;
    this.#why = why;
    this.draw();
  }

  /** Follow the band as it changes; a code that is being typed is left alone. */
  refresh() {
    if (this.#state === 'in' && !this.#asksRole && !this.#asksDesk) this.draw();
  }

  draw() {
    const { room } = this;
    const name = h('h1', {}, room.band.name || 'Come in');
    const said = this.#why && h('p.why', { role: 'alert' }, this.#why);
    const known = this.#state === 'in' || (this.#state === 'away' && room.band.sections.length > 0);
    const typed = this.element.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement ? document.activeElement : null;
    this.element.replaceChildren(
      h('header', {}, h('p.over', {}, 'Colla Parte'), name, h('div.rule')),
      ...[said].filter((one) => one !== ''),
      known ? this.#chairs() : this.#asks(),
      this.#foot(),
    );
    this.element.dataset.state = this.#state;
    if (typed) this.#typeOn(typed);
  }

  /** The hub or the browser may be heard of in the middle of a code: its field goes on where it was. @param {HTMLInputElement} typed */
  #typeOn(typed) {
    const same = [...this.element.querySelectorAll('input')].find((one) => one.ariaLabel === typed.ariaLabel);
    same?.focus({ preventScroll: true });
    same?.setSelectionRange(typed.selectionStart, typed.selectionEnd);
  }

  #asks() {
    if (this.#state === 'knocking') return h('p.quiet', {}, 'Knocking …');
    if (this.#state === 'away') return h('p.quiet', {}, 'The hub does not answer yet. This page tries again by itself.');
    const input = field({
      label: 'Join code',
      value: this.#code,
      changed: (value) => {
        this.#code = value.trim();
      },
      entered: () => this.to.knock(this.#code),
    });
    return h(
      'section.code',
      {},
      h('label', {}, 'The band’s join code', input),
      drawnKeys(() => input),
      key('Come in', () => this.to.knock(this.#code), { 'data-do': 'knock', className: 'key strong' }),
    );
  }

  #chairs() {
    const several = this.#chosen.size > 1;
    return h(
      'section.chairs',
      {},
      h('p.quiet', {}, 'Which chair is yours? Touch more than one to hold several.'),
      ...this.room.band.sections.map((section) =>
        h(
          'div.section',
          { 'data-section': section.name },
          h('h2', {}, section.name),
          h(
            'div.seats',
            {},
            ...section.chairs.map((chair) =>
              bead({
                id: chair.id,
                name: chair.name,
                full: chair.stands > 0,
                says: chair.stands === 0 ? 'empty' : chair.stands === 1 ? 'taken' : `${chair.stands} stands`,
                chosen: this.#chosen.has(chair.id),
                touched: () => this.#choose(chair.id),
              }),
            ),
          ),
        ),
      ),
      this.#roleCode(),
      this.#deskCode(),
      h(
        'div.sit',
        {},
        key(this.#chosen.size ? `Sit down${several ? ` on ${this.#chosen.size} chairs` : `: ${this.#names()}`}` : 'Choose a chair', () => this.#sit(), {
          'data-do': 'sit',
          disabled: this.#chosen.size === 0,
          className: 'key strong',
        }),
      ),
    );
  }

  #names() {
    return [...this.#chosen].map((id) => this.room.chairName(id)).join(', ');
  }

  #roleCode() {
    if (!this.#asksRole) {
      return key('I lead or direct', () => {
        this.#asksRole = true;
        this.draw();
        this.#typeInto('role');
      }, { 'data-do': 'role', className: 'key plain' });
    }
    const input = field({
      label: 'Leader’s or MD’s code',
      value: this.#role,
      changed: (value) => {
        this.#role = value.trim();
      },
      entered: () => this.#sit(),
    });
    input.dataset.field = 'role';
    return h('section.code', {}, h('label', {}, 'Leader’s or MD’s code', input), drawnKeys(() => input));
  }

  #deskCode() {
    if (this.to.mayDesk()) return key('The librarian’s desk', () => this.to.desk(''), { 'data-do': 'desk', className: 'key plain' });
    if (!this.#asksDesk) {
      return key('I keep the parts', () => {
        this.#asksDesk = true;
        this.draw();
        this.#typeInto('librarian');
      }, { 'data-do': 'librarian', className: 'key plain' });
    }
    const open = () => this.to.desk(this.#librarian);
    const input = field({
      label: 'Librarian’s code',
      value: this.#librarian,
      changed: (value) => {
        this.#librarian = value.trim();
      },
      entered: open,
    });
    input.dataset.field = 'librarian';
    return h(
      'section.code',
      {},
      h('label', {}, 'Librarian’s code', input),
      key('Open the desk', open, { 'data-do': 'desk', className: 'key strong' }),
      drawnKeys(() => input),
    );
  }

  /** @param {string} name */
  #typeInto(name) {
    const input = /** @type {HTMLElement | null} */ (this.element.querySelector(`[data-field=${name}]`));
    input?.focus({ preventScroll: true });
    input?.closest('section')?.querySelector('.drawn-keys')?.scrollIntoView({ block: 'end' });
  }

  /** @param {string} chair */
  #choose(chair) {
    if (!this.#chosen.delete(chair)) this.#chosen.add(chair);
    this.draw();
  }

  #sit() {
    if (this.#chosen.size) this.to.sit([...this.#chosen], this.#role);
  }

  #foot() {
    return h(
      'footer',
      {},
      ...this.#keeping(),
      h('a', { href: SOURCE }, 'Source of this program (AGPL)'),
      h('span', {}, this.to.version()),
    );
  }

  /** Whether this stand comes up without the hub, and what to do so that it does. */
  #keeping() {
    const keeping = this.to.keeping();
    const said = (/** @type {(Node | string)[]} */ ...words) => [h('p.keeping', { 'data-keeping': keeping }, ...words)];
    const link = (/** @type {string} */ words) => h('a', { href: TRUST }, words);
    switch (keeping) {
      case 'offered':
        return said(link('Keep this stand when the hub is off'));
      case 'clock':
        return said(`The clock of this tablet says ${new Date().toLocaleDateString()}: set it, then `, link('this stand can be kept when the hub is off'), '.');
      case 'refused':
        return said('This browser does not keep this page when the hub is off: ', link('trust the band’s certificate'), ', and use no private window.');
      case 'kept':
        return said('This stand stays when the hub is off.');
      default:
        return [];
    }
  }
}
