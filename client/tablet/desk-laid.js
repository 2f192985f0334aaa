/**
 * The tablet's page that comes of a part, drawn small beside its paper page.
 *
 * @typedef {import('./wire.js').Laying} Laying
 * @typedef {import('./wire.js').Pieces} Pieces
 * @typedef {import('./desk-hub.js').DeskHub} DeskHub
 */
import { fileAddress } from './address.js';
import { draw, rungOf, sheetsOf } from './compose.js';
import { h, key } from './dom.js';

export class LaidPage {
  #canvas = /** @type {HTMLCanvasElement} */ (h('canvas', { role: 'img' }));
  #words = h('p.quiet', { role: 'status' });
  #back = key('Page before', () => this.#turn(-1), { 'data-do': 'laid-back' });
  #on = key('Next page', () => this.#turn(1), { 'data-do': 'laid-on' });
  element = h('section.desk-laid', { 'aria-label': 'On a tablet' }, h('div.desk-glass', {}, this.#canvas), h('div.desk-turns', {}, this.#back, this.#words, this.#on));
  /** @type {Laying | null} */ #laying = null;
  /** @type {Pieces | null} */ #pieces = null;
  #page = 0;
  /** What was asked for last; older answers are let go. */ #asked = 0;
  /** @type {Map<string, Promise<ImageBitmap>>} */ #sheets = new Map();

  /** @param {DeskHub} hub @param {() => import('./look.js').Look} look */
  constructor(hub, look) {
    this.hub = hub;
    this.look = look;
  }

  /** Show another part, from its first page. */
  reset() {
    this.#laying = null;
    this.#page = 0;
    this.#sheets.clear();
    this.#canvas.hidden = true;
    this.element.removeAttribute('data-bars');
  }

  /** @param {string} tune @param {string} part */
  async load(tune, part) {
    const asked = ++this.#asked;
    this.#words.textContent = 'Laying out …';
    try {
      const laid = await this.hub.laid(tune, part);
      if (laid.why) throw new Error(laid.why);
      const [laying, pieces] = await Promise.all([file('laying', laid.laying), file('pieces', laid.pieces)]);
      if (asked !== this.#asked) return;
      this.#laying = laying;
      this.#pieces = pieces;
      await this.draw();
      this.element.dataset.laying = laid.laying;
    } catch (error) {
      if (asked === this.#asked) this.#words.textContent = error instanceof Error ? error.message : String(error);
    }
  }

  /** @param {number} by */
  #turn(by) {
    this.#page += by;
    void this.draw();
  }

  async draw() {
    const laying = this.#laying;
    const pieces = this.#pieces;
    if (!laying || !pieces) return;
    this.#page = Math.max(0, Math.min(this.#page, laying.pages.length - 1));
    const page = laying.pages[this.#page];
    const wide = Math.max(240, this.element.clientWidth);
    const scale = (wide * devicePixelRatio) / laying.page[0];
    const canvas = this.#canvas;
    const rung = rungOf(laying, pieces, scale);
    /** @type {Map<number, ImageBitmap>} */ const sheets = new Map();
    for (const n of sheetsOf(page, pieces)) sheets.set(n, await this.#sheet(pieces.sheets[rung][n]));
    if (laying !== this.#laying) return;
    canvas.width = Math.round(laying.page[0] * scale);
    canvas.height = Math.round(laying.page[1] * scale);
    canvas.hidden = false;
    const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d', { alpha: false }));
    draw(context, { page, pieces, rung, scale, look: this.look() }, (n) => sheets.get(n));
    canvas.setAttribute('aria-label', `Page ${this.#page + 1} of ${laying.pages.length} as it is on a tablet`);
    this.#words.textContent = `${this.#page + 1} of ${laying.pages.length} · stave ${laying.stave} mm`;
    this.#back.toggleAttribute('disabled', this.#page === 0);
    this.#on.toggleAttribute('disabled', this.#page >= laying.pages.length - 1);
    const bars = laying.pages.flatMap((one) => one.lines).flatMap((line) => line.bars);
    this.element.dataset.bars = String(bars.reduce((sum, bar) => sum + bar.steps[1] - bar.steps[0] + 1, 0));
  }

  /** @param {string} hash */
  #sheet(hash) {
    const kept = this.#sheets.get(hash) ?? fetch(fileAddress('sheet', hash)).then(async (answer) => createImageBitmap(await answer.blob()));
    this.#sheets.set(hash, kept);
    return kept;
  }
}

/** @param {'laying' | 'pieces'} kind @param {string} hash @returns {Promise<any>} */
async function file(kind, hash) {
  const answer = await fetch(fileAddress(kind, hash));
  if (!answer.ok) throw new Error('The hub has nothing laid of this part yet.');
  return answer.json();
}
