/**
 * A part's paper page with what was read drawn over it: picked, moved and added to by touch, mouse and keyboard.
 *
 * @typedef {import('./desk-things.js').Reading} Reading
 * @typedef {import('./desk-things.js').Thing} Thing
 * @typedef {import('./wire.js').Said} Said
 * @typedef {import('./wire.js').OnPage} OnPage
 * @typedef {'pick' | 'barline' | 'mark' | 'sign' | 'stave'} Tool
 */
import { h } from './dom.js';
import { again, moved, pick, thingsOn } from './desk-things.js';

const SVG = 'http://www.w3.org/2000/svg';
/** CSS px: half of the least target of a thumb. */
const REACH = 22;
/** CSS px that a pointer may stray before a touch is a drag. */
const DRAG = 6;
/** Width of the picture is asked for in steps, so that a window that is drawn wider does not ask at every pixel. */
const STEP = 400;
export const ZOOMS = [1, 1.5, 2, 3];
/** Staff spaces that a thing moves by at a key; others by one. @type {Partial<Record<import('./desk-things.js').ThingKind, number>>} */
const STEPS = { barline: 0.25, system: 0.5 };
/** CSS px of a label, where the page is shown large enough for it: so many staff spaces at most. */
const LABEL = 11;
const LABEL_MOST = 2.2;

/** @param {string} kind @param {Record<string, string | number>} [attributes] @param {string} [text] */
function svg(kind, attributes = {}, text = '') {
  const [tag, ...classes] = kind.split('.');
  const element = document.createElementNS(SVG, tag);
  if (classes.length) element.setAttribute('class', classes.join(' '));
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  if (text) element.textContent = text;
  return element;
}

export class DeskPage {
  #drawn = /** @type {SVGSVGElement} */ (svg('svg', { tabindex: 0, role: 'application' }));
  #picture = /** @type {HTMLImageElement} */ (h('img', { alt: '', draggable: false }));
  #said = h('p.desk-said', { role: 'status', 'aria-live': 'polite' });
  #sheet = h('div.desk-sheet', {}, this.#picture, this.#drawn);
  element = h('div.desk-paper', {}, this.#sheet, this.#said);
  /** @type {Reading | null} */ #reading = null;
  #page = 0;
  #zoom = 1;
  /** @type {Tool} */ tool = 'pick';
  /** @type {Thing[]} */ #things = [];
  /** @type {Thing | null} */ picked = null;
  /** Staves that were drawn and are no line yet. @type {[number, number, number, number][]} */ staves = [];
  /** @type {{thing: Thing | null, from: [number, number], now: [number, number], far: boolean} | null} */ #drag = null;
  #pictured = '';

  /**
   * @param {object} to
   * @param {(page: number, wide: number) => Promise<Blob>} to.picture
   * @param {(said: Said) => void} to.correct
   * @param {(thing: Thing | null) => void} to.picked
   * @param {(tool: Tool, at: OnPage, box: [number, number, number, number]) => void} to.put something new at a place
   * @param {(thing: Thing) => void} to.remove
   * @param {(what: 'mark' | 'sign') => void} to.putHere something new at the bar that is picked
   * @param {() => void} to.takeBack
   */
  constructor(to) {
    this.to = to;
    const drawn = this.#drawn;
    drawn.addEventListener('pointerdown', (event) => this.#down(event));
    drawn.addEventListener('pointermove', (event) => this.#move(event));
    drawn.addEventListener('pointerup', (event) => this.#up(event));
    drawn.addEventListener('pointercancel', () => ((this.#drag = null), this.#draw()));
    // Comes after `pointerdown`: only now is it known whether the finger drags or scrolls.
    drawn.addEventListener('touchstart', (event) => this.#grabbed && event.preventDefault(), { passive: false });
    // The mouse that a browser plays behind a finger comes late: it would take the keys from the field that is asked.
    drawn.addEventListener('mousedown', (event) => event.preventDefault());
    drawn.addEventListener('keydown', (event) => this.#typed(event));
  }

  /** Forget the page of another part. */
  reset() {
    this.picked = null;
    this.#said.textContent = '';
    this.#picture.removeAttribute('src');
    this.#pictured = '';
    this.#drawn.replaceChildren();
    this.element.scrollTop = 0;
  }

  /** @param {Reading} reading @param {number} page @param {string} name of part and version: another one is another picture */
  show(reading, page, name) {
    const turned = page !== this.#page;
    this.#reading = reading;
    this.#page = page;
    this.#things = thingsOn(reading, page);
    this.picked = turned ? null : again(this.#things, this.picked);
    const { width, height } = reading.pages[page];
    this.#drawn.setAttribute('viewBox', `0 0 ${width} ${height}`);
    this.#drawn.setAttribute('aria-label', `Page ${page + 1}: arrow keys go from thing to thing, Shift and arrow keys move it, Delete takes it away`);
    this.#sheet.style.aspectRatio = `${width} / ${height}`;
    void this.#fetch(name);
    this.#draw();
    this.to.picked(this.picked);
  }

  /** @param {string} name */
  async #fetch(name) {
    const wide = Math.min(3000, Math.ceil((Math.max(300, this.element.clientWidth) * this.#zoom * devicePixelRatio) / STEP) * STEP);
    const wanted = `${name}/${this.#page}/${wide}`;
    if (this.#pictured === wanted) return;
    this.#pictured = wanted;
    try {
      const picture = await this.to.picture(this.#page, wide);
      if (this.#pictured !== wanted) return;
      URL.revokeObjectURL(this.#picture.src);
      this.#picture.src = URL.createObjectURL(picture);
    } catch (error) {
      this.#pictured = '';
      this.#said.textContent = error instanceof Error ? error.message : String(error);
    }
  }

  get zoom() {
    return this.#zoom;
  }

  /** @param {number} zoom @param {string} name */
  zoomTo(zoom, name) {
    this.#zoom = zoom;
    this.#sheet.style.width = `${zoom * 100}%`;
    this.#draw();
    void this.#fetch(name);
    if (this.picked) this.#into(this.picked);
  }

  /** Points a CSS px. */
  get #scale() {
    const wide = this.#drawn.getBoundingClientRect().width;
    return wide && this.#reading ? this.#reading.pages[this.#page].width / wide : 1;
  }

  /** @param {PointerEvent} event @returns {[number, number]} */
  #at(event) {
    const { left, top } = this.#drawn.getBoundingClientRect();
    return [(event.clientX - left) * this.#scale, (event.clientY - top) * this.#scale];
  }

  /** @param {PointerEvent} event */
  #down(event) {
    if (event.button !== 0) return;
    const from = this.#at(event);
    const thing = this.tool === 'pick' ? pick(this.#things, ...from, REACH * this.#scale) : null;
    // A mouse drags whatever it is on; a finger what is picked already, all else lets it scroll the page.
    const moves = thing !== null && thing.kind !== 'bar' && (event.pointerType === 'mouse' || thing === this.picked);
    this.#drag = { thing: moves ? thing : null, from, now: from, far: false };
    if (this.#grabbed) this.#drawn.setPointerCapture(event.pointerId);
    this.#drawn.focus({ preventScroll: true });
  }

  /** A drag is on that must not scroll the page. */
  get #grabbed() {
    return this.#drag !== null && (this.#drag.thing !== null || this.tool === 'stave');
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const drag = this.#drag;
    if (!drag) return;
    drag.now = this.#at(event);
    const [x, y] = drag.now;
    drag.far ||= Math.hypot(x - drag.from[0], y - drag.from[1]) > DRAG * this.#scale;
    if (drag.far && (drag.thing || this.tool === 'stave')) this.#draw();
  }

  /** @param {PointerEvent} event */
  #up(event) {
    const drag = this.#drag;
    this.#drag = null;
    if (!drag || !this.#reading) return;
    const to = this.#at(event);
    const [x, y] = to;
    const at = /** @type {OnPage} */ ([this.#page, x, y]);
    const [a, b] = drag.from;
    if (this.tool !== 'pick') this.to.put(this.tool, at, [Math.min(a, x), Math.min(b, y), Math.max(a, x), Math.max(b, y)]);
    else if (drag.far && drag.thing) this.#moveTo(drag.thing, at);
    else if (!drag.far) this.pick(pick(this.#things, x, y, REACH * this.#scale));
    this.#draw();
  }

  /** @param {Thing} thing @param {OnPage} at */
  #moveTo(thing, at) {
    const said = this.#reading && moved(this.#reading, thing, at);
    if (said) this.to.correct(said);
  }

  /** @param {Thing | null} thing */
  pick(thing) {
    this.picked = thing;
    this.#said.textContent = thing ? thing.says : '';
    this.#draw();
    if (thing) this.#into(thing);
    this.to.picked(thing);
  }

  /** Take the keys. */
  focus() {
    this.#drawn.focus({ preventScroll: true });
  }

  /** Pick the bar, or the line's head, at a place. @param {OnPage} at */
  pickAt([, x, y]) {
    this.pick(pick(this.#things.filter(({ kind }) => kind === 'bar' || kind === 'system'), x, y, 0));
  }

  /** Scroll a thing into view. @param {Thing} thing */
  #into(thing) {
    const element = this.element;
    const [x, y] = [thing.box[0] / this.#scale, thing.box[1] / this.#scale];
    if (x < element.scrollLeft || x > element.scrollLeft + element.clientWidth - 80) element.scrollLeft = x - element.clientWidth / 2;
    if (y < element.scrollTop + 40 || y > element.scrollTop + element.clientHeight - 100) element.scrollTop = y - element.clientHeight / 2;
  }

  /** @param {KeyboardEvent} event */
  #typed(event) {
    const { picked } = this;
    const along = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0;
    const down = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0;
    if (event.shiftKey && picked && (along || down)) {
      const step = (STEPS[picked.kind] ?? 1) * picked.system.space;
      const [page, x, y] = picked.at;
      this.#moveTo(picked, [page, x + along * step, y + down * step]);
    } else if (along) {
      const n = picked ? this.#things.indexOf(picked) : along > 0 ? -1 : 0;
      this.pick(this.#things[(n + along + this.#things.length) % this.#things.length] ?? null);
    } else if (down) this.pick(this.#nextLine(down));
    else if ((event.key === 'Delete' || event.key === 'Backspace') && picked) this.to.remove(picked);
    else if (event.key === 'b' && picked?.kind === 'bar') this.to.correct({ type: 'barline', at: picked.at, kind: '', to: null });
    else if (event.key === 'm' && picked?.kind === 'bar') this.to.putHere('mark');
    else if (event.key === 's' && picked?.kind === 'bar') this.to.putHere('sign');
    else if (event.key === 'z' && (event.ctrlKey || event.metaKey)) this.to.takeBack();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  /** The thing of the line above or below that is nearest in x. @param {number} down */
  #nextLine(down) {
    const systems = this.#reading?.pages[this.#page].systems ?? [];
    const now = this.picked ? systems.indexOf(this.picked.system) : down > 0 ? -1 : 0;
    const system = systems[(now + down + systems.length) % systems.length];
    const x = this.picked?.box[0] ?? 0;
    const own = this.#things.filter((one) => one.system === system && (!this.picked || one.kind === this.picked.kind));
    return own.sort((a, b) => Math.abs(a.box[0] - x) - Math.abs(b.box[0] - x))[0] ?? this.#things.find((one) => one.system === system) ?? null;
  }

  #draw() {
    const drag = this.#drag;
    const children = this.#things.flatMap((thing) => this.#thing(thing));
    children.push(...this.staves.map(([x0, y0, x1, y1]) => svg('rect.dragged', { x: x0, y: y0, width: x1 - x0, height: y1 - y0 })));
    if (drag?.far) {
      const [[a, b], [x, y]] = [drag.from, drag.now];
      if (this.tool === 'stave') children.push(svg('rect.dragged', { x: Math.min(a, x), y: Math.min(b, y), width: Math.abs(x - a), height: Math.abs(y - b) }));
      else if (drag.thing?.kind === 'barline') {
        const [, top, , bottom] = drag.thing.box;
        children.push(svg('line.dragged', { x1: x, x2: x, y1: top - 8, y2: bottom + 8 }));
      } else if (drag.thing?.kind === 'system') {
        const [x0, y0, x1, y1] = drag.thing.system.bbox;
        children.push(svg('rect.dragged', { x: x0 + x - drag.thing.at[1], y: y0 + y - drag.thing.at[2], width: x1 - x0, height: y1 - y0 }));
      } else if (drag.thing) children.push(svg('line.dragged', { x1: drag.thing.at[1], y1: drag.thing.at[2], x2: x, y2: y }));
    }
    this.#drawn.replaceChildren(...children);
    this.#drawn.dataset.tool = this.tool;
  }

  /** @param {Thing} thing @returns {Element[]} */
  #thing(thing) {
    const [x0, y0, x1, y1] = thing.box;
    const { space } = thing.system;
    const is = `${thing.kind}${thing === this.picked ? '.picked' : ''}${thing.sure ? '' : '.unsure'}`;
    const rect = (/** @type {number} */ grow) => svg(`rect.${is}`, { x: x0 - grow, y: y0 - grow, width: Math.max(0.5, x1 - x0) + 2 * grow, height: y1 - y0 + 2 * grow });
    const size = Math.max(1.35 * space, Math.min(LABEL_MOST * space, LABEL * this.#scale));
    // At the page's right edge a label ends at its thing.
    const last = x1 > 0.88 * (this.#reading?.pages[this.#page].width ?? Infinity);
    const label = (/** @type {number} */ x, /** @type {number} */ y, text = thing.label) => svg(`text.${is}`, { x, y, 'font-size': size }, text);
    const ended = (/** @type {Element} */ text) => (text.setAttribute('text-anchor', 'end'), text);
    switch (thing.kind) {
      case 'system':
        return [...thing.system.staves.map((stave) => svg(`rect.stave`, { x: stave.x0, y: stave.top, width: stave.x1 - stave.x0, height: stave.bottom - stave.top })), rect(0)];
      case 'bar': {
        const rest = (thing.bar?.count ?? 1) > 1 ? `${thing.label} · ${thing.bar?.count} bars` : thing.label;
        return [rect(0), label(x0 + 1, y1 + 1.8 * space, rest)];
      }
      case 'barline':
        return [rect(0.12 * space), svg(`path.handle.${is}`, { d: `M${thing.at[1]} ${y0 - 0.4 * space}l${0.8 * space} ${-1.2 * space}h${-1.6 * space}z` }), last ? ended(label(x1, y1 + 3.6 * space)) : label(x0, y1 + 3.6 * space)];
      case 'ending':
        return [rect(0), label(x0 + 2, y0 - 0.5 * space)];
      case 'sign':
        return [rect(0.3 * space), label(x1 + 0.6 * space, (y0 + y1) / 2 + 0.5 * space)];
      default:
        return [rect(0.3 * space), label(x0, y0 - 0.7 * space)];
    }
  }
}
