/**
 * One part open on the desk: its paper page with what was read, what can be said of it, and the tablet's page beside.
 *
 * @typedef {import('./desk-hub.js').DeskHub} DeskHub
 * @typedef {import('./desk-hub.js').OpenPart} OpenPart
 * @typedef {import('./desk-things.js').Thing} Thing
 * @typedef {import('./desk-page.js').Tool} Tool
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').Said} Said
 * @typedef {{tool: Tool, at: import('./wire.js').OnPage, bar?: number}} Putting what is put in where; `bar`: at the start or end of that one
 */
import { inspector, say } from './desk-inspector.js';
import { LaidPage } from './desk-laid.js';
import { DeskPage, ZOOMS } from './desk-page.js';
import { told } from './desk-told.js';
import { SIGNS, edgeOf, gone, halves } from './desk-things.js';
import { h, key } from './dom.js';
import { newId } from './ids.js';

/** cm from eye to page: players sit 60 to 90 cm from their stands. */
const AT_THE_STAND = 75;
const DISTANCES = [60, AT_THE_STAND, 90];
const CANNOT = 'That cannot be said so: look at the number or the words again.';
/** @type {Record<Tool, [string, string]>} */
const TOOLS = {
  pick: ['Pick', 'Touch anything that was read; drag it where it belongs.'],
  barline: ['Add a barline', 'Touch the staves where a barline is missing.'],
  mark: ['Add a mark', 'Touch the printed mark that was missed.'],
  sign: ['Add a sign', 'Touch the printed sign or jump word that was missed.'],
  stave: ['Draw staves', 'Drag from a stave’s top left to its bottom right; each stave of the line, then “One line”.'],
};

export class DeskPart {
  element = h('div.desk-part', { hidden: true });
  /** @type {OpenPart | null} */ part = null;
  #number = 0;
  #cm = AT_THE_STAND;
  /** @type {Putting | null} */ #putting = null;
  #asked = 0;
  #parts = { head: h('header.desk-open'), tools: h('div.desk-tools', { role: 'toolbar', 'aria-label': 'Tools' }), aside: h('div.desk-aside'), told: h('section.desk-facts', { 'aria-label': 'What to look at' }), facts: h('section.desk-facts') };

  /**
   * @param {DeskHub} hub
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask
   * @param {(words: string) => void} to.say
   * @param {() => void} to.close
   * @param {() => import('./look.js').Look} to.look
   */
  constructor(hub, to) {
    this.hub = hub;
    this.to = to;
    this.page = new DeskPage({
      picture: (page, wide) => hub.picture(this.part?.tune ?? '', this.part?.row.part ?? '', page, wide),
      correct: (said) => this.correct(said),
      picked: () => this.#drawAside(),
      put: (tool, at, box) => this.#put(tool, at, box),
      remove: (thing) => this.correct(gone(thing)),
      putHere: (what) => this.#putHere(what),
      takeBack: () => this.#takeBack(this.part?.corrections.at(-1)),
    });
    this.laid = new LaidPage(hub, to.look);
    const { head, tools, aside, told, facts } = this.#parts;
    this.element.append(head, tools, h('div.desk-both', {}, this.page.element, h('div.desk-side', {}, aside, told, this.laid.element, facts)));
  }

  /** @param {string} tune @param {string} part */
  async open(tune, part) {
    this.part = null;
    this.#number = 0;
    this.page.reset();
    this.laid.reset();
    this.element.hidden = false;
    await this.#load(tune, part);
  }

  close() {
    this.part = null;
    this.element.hidden = true;
  }

  /** Something changed in the library. */
  async refresh() {
    if (this.part) await this.#load(this.part.tune, this.part.row.part);
  }

  /** @param {string} tune @param {string} part */
  async #load(tune, part) {
    const asked = ++this.#asked;
    try {
      const found = await this.hub.part(tune, part, this.#cm);
      if (asked !== this.#asked) return;
      this.part = found;
      this.draw();
      if (!found.mending) void this.laid.load(tune, part);
    } catch (error) {
      this.to.say(error instanceof Error ? error.message : String(error));
      if (!this.part) this.to.close();
    }
  }

  get #name() {
    return `${this.part?.tune}/${this.part?.row.part}/${this.part?.version}`;
  }

  draw() {
    const { part } = this;
    if (!part) return;
    this.#number = Math.min(this.#number, part.reading.pages.length - 1);
    this.element.dataset.bars = String(part.reading.bars);
    this.element.dataset.mending = String(part.mending);
    this.#drawHead(part);
    this.#drawTools();
    this.page.show(part.reading, this.#number, this.#name);
    this.#drawTold(part);
    this.#drawFacts(part);
  }

  /** @param {OpenPart} part */
  #drawTold(part) {
    const { row, reading, mending, corrections } = part;
    const last = corrections.at(-1);
    const shared = halves(reading);
    const status = `${reading.bars} bars${reading.pickup ? ' and a pickup' : ''}, ${reading.marks.length} marks.${mending ? ' Being laid anew …' : row.as_printed ? ' Shown as printed.' : ''}`;
    const sentences = told(part, { show: (at) => this.#show(at), correct: (said) => this.correct(said) });
    this.#parts.told.replaceChildren(
      h('p', { role: 'status' }, status),
      ...(last ? [key(`Take back: ${last.words}`, () => this.#takeBack(last), { 'data-do': 'take-back-last' })] : []),
      ...(sentences.length ? [h('ul.desk-list', {}, ...sentences)] : []),
      ...(shared.length ? [h('div.desk-kinds', { role: 'group', 'aria-label': 'Which part' }, ...shared.map(({ words, said }, n) => key(words, () => this.correct(said), { 'data-half': String(n + 1) })))] : []),
    );
  }

  /** Turn to a place, and pick what is there. @param {import('./wire.js').OnPage} at */
  #show(at) {
    this.#number = at[0];
    this.#use('pick');
    this.draw();
    this.page.pickAt(at);
  }

  /** @param {OpenPart} part */
  #drawHead({ title, row, reading }) {
    const pages = reading.pages.length;
    const turn = (/** @type {number} */ by) => () => {
      this.#number += by;
      this.draw();
    };
    this.#parts.head.replaceChildren(
      h('div', {}, h('p.over', {}, title), h('h1', {}, row.name)),
      h(
        'div.desk-turns',
        { hidden: pages === 1 },
        key('Page before', turn(-1), { disabled: this.#number === 0, 'data-do': 'page-back' }),
        h('span', {}, `Page ${this.#number + 1} of ${pages}`),
        key('Next page', turn(1), { disabled: this.#number >= pages - 1, 'data-do': 'page-on' }),
      ),
      key('All parts', this.to.close, { 'data-do': 'close-part' }),
    );
  }

  #drawTools() {
    const at = ZOOMS.indexOf(this.page.zoom);
    const zoom = (/** @type {number} */ by) => () => {
      this.page.zoomTo(ZOOMS[at + by], this.#name);
      this.#drawTools();
    };
    this.#parts.tools.replaceChildren(
      ...Object.entries(TOOLS).map(([tool, [words]]) =>
        key(words, () => this.#use(/** @type {Tool} */ (tool)), { 'data-tool': tool, 'aria-pressed': this.page.tool === tool }),
      ),
      ...(this.page.tool === 'stave' && this.page.staves.length ? [key(`One line of ${this.page.staves.length}`, () => this.#oneLine(), { 'data-do': 'one-line', className: 'key strong' })] : []),
      h('span.desk-gap'),
      key('Smaller', zoom(-1), { disabled: at <= 0, className: 'key desk-zoom' }),
      key('Larger', zoom(1), { disabled: at >= ZOOMS.length - 1, className: 'key desk-zoom' }),
    );
  }

  /** @param {Tool} tool */
  #use(tool) {
    this.page.tool = tool;
    this.page.staves = [];
    this.#putting = null;
    this.page.pick(null);
    this.#drawTools();
  }

  /** @param {Tool} tool @param {import('./wire.js').OnPage} at @param {[number, number, number, number]} box */
  #put(tool, at, box) {
    if (tool === 'barline') {
      this.correct({ type: 'barline', at, kind: '', to: null });
      return;
    }
    if (tool === 'stave') {
      if (box[2] - box[0] < 20 || box[3] - box[1] < 4) return;
      this.page.staves.push(box);
      this.#drawTools();
      return;
    }
    this.#ask({ tool, at });
  }

  /** A mark or sign at the bar that is picked, a little above it. @param {'mark' | 'sign'} tool */
  #putHere(tool) {
    const { bar, at, system } = this.page.picked ?? {};
    if (!bar || !at || !system) return;
    const x = tool === 'mark' ? bar.x0 : at[1];
    this.#ask({ tool, at: [at[0], x, system.bbox[1] - 3 * system.space], bar: bar.number });
  }

  /** @param {Putting} putting */
  #ask(putting) {
    this.#putting = putting;
    this.#drawAside();
    /** @type {HTMLElement | null} */ (this.#parts.aside.querySelector('input, button'))?.focus();
  }

  #oneLine() {
    this.correct({ type: 'system', page: this.#number, staves: this.page.staves });
    this.#use('pick');
  }

  /** Say something of the page. @param {Said | null} said */
  correct(said) {
    const { part } = this;
    if (!part) return;
    if (!said) {
      this.to.say(CANNOT);
      return;
    }
    this.#putting = null;
    if (this.#parts.aside.contains(document.activeElement)) this.page.focus();
    void this.to.ask({ type: 'correct', tune: part.tune, part: part.row.part, correction: { id: newId(), version: part.version, said } });
  }

  /** @param {import('./desk-hub.js').CorrectionRow | undefined} correction */
  #takeBack(correction) {
    const { part } = this;
    if (part && correction) void this.to.ask({ type: 'take-back-correction', tune: part.tune, part: part.row.part, correction: correction.id });
  }

  #drawAside() {
    const { part } = this;
    const { aside } = this.#parts;
    if (!part) return;
    const [what, as] = this.#of();
    // What is being typed stays while the thing is the same, whatever another librarian says of the part meanwhile.
    const typing = document.activeElement instanceof HTMLInputElement && aside.contains(document.activeElement);
    if (aside.dataset.of === what && (typing || aside.dataset.as === as)) return;
    Object.assign(aside.dataset, { of: what, as });
    const { picked } = this.page;
    if (this.#putting) aside.replaceChildren(this.#asks(this.#putting));
    else if (picked) aside.replaceChildren(inspector(picked, part.reading, (said) => this.correct(said), (what) => this.#putHere(what)));
    else aside.replaceChildren(h('p.quiet', {}, TOOLS[this.page.tool][1]), h('p.quiet.desk-keys', {}, 'Keys: arrows go along, Shift with arrows moves, Delete takes away; into a bar B puts a barline, M a mark, S a sign. Ctrl Z takes back.'));
  }

  /** What the aside is about, and how that was read. @returns {[string, string]} */
  #of() {
    const { picked } = this.page;
    const put = this.#putting;
    const reading = this.part?.reading;
    const read = [reading?.bars, reading?.pickup, picked?.says, picked?.sure, picked?.system.doubt];
    return [JSON.stringify([this.#name, this.page.tool, put?.tool, put?.at, picked?.kind, picked?.at.map(Math.round)]), JSON.stringify(read)];
  }

  /** @param {Putting} put */
  #asks({ tool, at, bar }) {
    const to = (/** @type {'start' | 'end'} */ edge) => (bar !== undefined && this.part ? edgeOf(this.part.reading, bar, edge) : null);
    if (tool === 'mark') return h('section.desk-picked', {}, h('h2', {}, 'A mark here'), say('It says', '', 'new-mark', 'Set', (text) => this.correct(text ? { type: 'mark', at, text, to: null } : null)));
    const edge = (/** @type {string} */ kind) => (['segno', 'coda'].includes(kind) ? 'start' : 'end');
    return h(
      'section.desk-picked',
      {},
      h('h2', {}, 'A sign here'),
      h('div.desk-kinds', {}, ...Object.entries(SIGNS).map(([kind, words]) =>
        key(words, () => this.correct({ type: 'sign', at, kind, edge: edge(kind), to: to(edge(kind)) }), { 'data-kind': kind }))),
    );
  }

  /** @param {OpenPart} part */
  #drawFacts({ tune, row, corrections, legible }) {
    const one = (/** @type {import('./desk-hub.js').CorrectionRow} */ correction) =>
      h('li', { 'data-correction': correction.id }, h('span', {}, correction.words), key('Take back', () => this.#takeBack(correction), { 'data-do': 'take-back' }));
    const from = (/** @type {number} */ cm) => key(`${cm} cm`, () => {
      this.#cm = cm;
      void this.refresh();
    }, { 'data-cm': String(cm), 'aria-pressed': cm === this.#cm });
    const { facts } = this.#parts;
    if (facts.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement) return;
    facts.replaceChildren(
      ...(legible ? [h('p', { 'data-of': 'legible' }, legible), h('div.desk-kinds', { role: 'group', 'aria-label': 'Seen from' }, ...DISTANCES.map(from))] : []),
      h('h2', {}, 'Corrections'),
      corrections.length ? h('ul.desk-list', {}, ...corrections.map(one)) : h('p.quiet', {}, 'None: it is as it was read.'),
      h('h2', {}, 'Not this tune or chair?'),
      this.#elsewhere(tune, row),
    );
  }

  /** @param {string} tune @param {import('./desk-hub.js').PartRow} row */
  #elsewhere(tune, row) {
    const title = /** @type {HTMLInputElement} */ (h('input', { value: this.part?.title ?? '', 'data-field': 'other-tune' }));
    const chair = /** @type {HTMLInputElement} */ (h('input', { value: row.name, 'data-field': 'other-chair' }));
    for (const input of [title, chair]) input.onkeydown = (event) => event.stopPropagation();
    const go = async () => {
      try {
        await this.hub.again(tune, row.part, { tune: title.value.trim(), chair: chair.value.trim() });
        this.to.say('It is brought in again: see what came in.');
      } catch (error) {
        this.to.say(error instanceof Error ? error.message : String(error));
      }
    };
    return h('div.desk-where', {}, h('label', {}, 'Tune', title), h('label', {}, 'Chair', chair), key('Bring it in so', () => void go(), { 'data-do': 'elsewhere' }));
  }
}
