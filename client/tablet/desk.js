/**
 * The Desk, for the librarian: the library as it was understood, what comes in, the chairs; and one part, open.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./desk-hub.js').TuneRows} TuneRows
 * @typedef {import('./desk-hub.js').PartRow} PartRow
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').DeskView} DeskView
 * @typedef {'parts' | 'coming' | 'chairs'} Drawer
 */
import { DeskChairs } from './desk-chairs.js';
import { DeskComing } from './desk-coming.js';
import { DeskHub } from './desk-hub.js';
import { DeskPart } from './desk-part.js';
import { h, key } from './dom.js';

/** ms that a sentence stays. */
const SAID_FOR = 8000;
/** Sentences of a part that its row shows. */
const SHOWN = 2;

export class Desk {
  element = h('main.desk', { 'data-of': 'desk' });
  /** @type {Drawer} */ #drawer = 'parts';
  /** @type {TuneRows[] | null} */ #library = null;
  #seq = -1;
  #mending = '';
  #hubSaid = '';
  /** @type {ReturnType<typeof setTimeout> | undefined} */ #saidEnds;
  #parts = { head: h('header.now'), drawers: h('div.desk-drawers', { role: 'tablist', 'aria-label': 'Desk' }), said: h('p.why.desk-news', { role: 'alert', hidden: true }), parts: h('section.desk-parts', { 'aria-label': 'Parts' }) };

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<string>} to.ask why it was refused; empty when it took effect
   * @param {() => string[]} to.codes
   * @param {() => import('./look.js').Look} to.look
   * @param {() => void} to.leave
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
    const ask = async (/** @type {Command} */ command) => {
      const why = await to.ask(command);
      if (why) this.say(why);
      return !why;
    };
    const say = (/** @type {string} */ words) => this.say(words);
    this.hub = new DeskHub(to.codes);
    this.coming = new DeskComing(this.hub, { say });
    this.chairs = new DeskChairs(room, { ask });
    this.part = new DeskPart(this.hub, { ask, say, look: to.look, close: () => this.close() });
    const { head, drawers, said, parts } = this.#parts;
    this.element.append(said, head, drawers, parts, this.coming.element, this.chairs.element, this.part.element);
  }

  /** The screen comes up. */
  open() {
    this.draw();
    void this.#fetch();
  }

  /** Close the part that is open; false when none is. */
  close() {
    if (!this.part.part && this.part.element.hidden) return false;
    this.part.close();
    this.draw();
    return true;
  }

  /** @param {string} words */
  say(words) {
    const { said } = this.#parts;
    said.textContent = words;
    said.hidden = false;
    clearTimeout(this.#saidEnds);
    this.#saidEnds = setTimeout(() => (said.hidden = true), SAID_FOR);
  }

  /** @param {DeskView} view */
  hear(view) {
    this.coming.hear(view);
    this.#drawDrawers();
    if (view.said && view.said !== this.#hubSaid) this.say(view.said);
    this.#hubSaid = view.said;
    const mending = view.mending.join();
    if (view.seq === this.#seq && mending === this.#mending) return;
    this.#seq = view.seq;
    this.#mending = mending;
    if (document.body.dataset.screen === 'desk') void this.#fetch();
  }

  async #fetch() {
    try {
      if (!this.part.element.hidden) await this.part.refresh();
      else {
        this.#library = await this.hub.library();
        this.draw();
      }
    } catch (error) {
      this.say(error instanceof Error ? error.message : String(error));
    }
  }

  draw() {
    const open = !this.part.element.hidden;
    const { head, drawers, parts } = this.#parts;
    for (const one of [head, drawers]) one.hidden = open;
    parts.hidden = open || this.#drawer !== 'parts';
    this.coming.element.hidden = open || this.#drawer !== 'coming';
    this.chairs.element.hidden = open || this.#drawer !== 'chairs';
    if (open) return;
    head.replaceChildren(h('div', {}, h('p.over', {}, 'The librarian’s desk'), h('h1', {}, this.room.band.name)), key('Leave the desk', this.to.leave, { 'data-do': 'leave' }));
    this.#drawDrawers();
    if (this.#drawer === 'parts') this.#drawParts();
    if (this.#drawer === 'coming') this.coming.draw();
    if (this.#drawer === 'chairs') this.chairs.draw();
  }

  #drawDrawers() {
    const { questions } = this.coming;
    const one = (/** @type {Drawer} */ name, /** @type {string} */ words) =>
      h('button.key', { type: 'button', role: 'tab', 'data-drawer': name, 'aria-selected': this.#drawer === name, onclick: () => this.#pull(name) }, words);
    this.#parts.drawers.replaceChildren(one('parts', 'Parts'), one('coming', questions ? `Coming in (${questions} to answer)` : 'Coming in'), one('chairs', 'Chairs'));
  }

  /** @param {Drawer} drawer */
  #pull(drawer) {
    this.#drawer = drawer;
    this.draw();
    if (drawer === 'parts') void this.#fetch();
  }

  #drawParts() {
    const { parts } = this.#parts;
    if (this.#library === null) parts.replaceChildren(h('p.quiet', {}, 'Looking …'));
    else if (!this.#library.length) parts.replaceChildren(h('p', {}, 'There is no music yet.'), key('Bring some in', () => this.#pull('coming'), { className: 'key strong' }));
    else parts.replaceChildren(...this.#library.map((tune) => this.#tune(tune)));
  }

  /** @param {TuneRows} tune */
  #tune({ tune, title, bars, parts }) {
    return h(
      'div.desk-tune',
      { 'data-tune': tune },
      h('header', {}, h('h2', {}, title), h('span.quiet', {}, bars ? `${bars} bars` : 'no bars yet')),
      h('div.desk-heads', { 'aria-hidden': true }, ...['Part', 'Bars', 'Marks', 'Stave in mm', ''].map((words) => h('span', {}, words))),
      ...parts.map((row) => this.#row(tune, row)),
    );
  }

  /** @param {string} tune @param {PartRow} row */
  #row(tune, row) {
    const told = [...row.differs, ...row.doubts];
    const chairs = row.chairs.map((id) => this.room.chairName(id)).join(', ');
    const open = () => {
      void this.part.open(tune, row.part);
      this.draw();
    };
    const stave = row.paper_mm ? `${row.paper_mm.toFixed(1)} → ${row.laid_mm.toFixed(1)}` : '–';
    const state = row.as_printed ? 'as printed' : told.length ? 'look at it' : 'sure';
    return h(
      'button.desk-line',
      { type: 'button', onclick: open, 'data-part': row.part, 'data-name': row.name, 'data-state': state },
      h('span.desk-name', {}, h('b', {}, row.name), ...(chairs && chairs !== row.name ? [h('small', {}, chairs)] : []), ...(chairs ? [] : [h('small', {}, 'nobody plays it')])),
      h('span', { 'data-of': 'bars' }, `${row.bars}${row.pickup ? ' + pickup' : ''}`),
      h('span', {}, row.marks.length > 8 ? `${row.marks.slice(0, 7).join(' ')} …` : row.marks.join(' ')),
      h('span', { title: row.paper_mm ? `${row.whole_mm} mm if the page is shown whole` : '' }, stave),
      h('span.desk-state', {}, h(told.length || row.as_printed ? 'i.bead' : 'i.bead.full'), row.corrections ? `${state}, mended` : state),
      ...told.slice(0, SHOWN).map((words) => h('small.desk-told', {}, words)),
      ...(told.length > SHOWN ? [h('small.desk-told', {}, `and ${told.length - SHOWN} more`)] : []),
    );
  }
}
