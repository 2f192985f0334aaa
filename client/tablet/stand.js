/**
 * The Stand: the page edge to edge, the thread along its foot, and nothing else. Right of centre turns on, left turns
 * back; a long press opens the marking tools.
 *
 * @typedef {import('./wire.js').Layer} Layer
 * @typedef {import('./anchor.js').Spot} Spot
 * @typedef {import('./look.js').Look} Look
 */
import { h, key } from './dom.js';
import { Pen } from './pen.js';
import { Slips } from './slips.js';
import { isHeight } from './staves.js';
import { Thread } from './thread.js';

/** ms and px: a press this long, this still, is a long one. */
const LONG = 550;
const STILL = 12;

export class Stand {
  page = h('div.page', { 'data-of': 'page' });
  slips = new Slips();
  thread = new Thread(this.slips.element);
  #tools = h('div.tools', { hidden: true, role: 'toolbar', 'aria-label': 'Marking' });
  #stave = h('div.tool-row.stave-row');
  element = h('main.stand', { 'data-of': 'stand' }, this.page, this.thread.element, this.#tools);
  /** @type {{id: number, x: number, y: number, long: ReturnType<typeof setTimeout>} | null} */ #press = null;

  /**
   * @param {object} to
   * @param {() => import('./page-shape.js').Shape} to.shape
   * @param {() => Look} to.look
   * @param {(look: Look['name']) => void} to.setLook
   * @param {() => void} to.turnOn
   * @param {() => void} to.turnBack
   * @param {() => import('./marker.js').Marker} to.marker
   * @param {() => string} to.section the name of the section that the shown chair sits in
   * @param {() => void} to.leave to the Door
   * @param {() => void} to.asPrinted
   * @param {() => {chosen: number, page: {asked: number, shown: number} | null}} to.stave mm; no page: it has no stave height
   * @param {(stave: number) => void} to.setStave
   * @param {() => string[]} to.told what this part is told in words
   */
  constructor(to) {
    this.to = to;
    this.pen = new Pen(this.page, {
      nib: () => {
        const { layer, erasing } = to.marker();
        return { colour: to.look().layers[layer], width: to.marker().width(to.shape().scale), erasing };
      },
      drew: (spots) => to.marker().drew(spots.map((spot) => this.#inMm(spot))),
      rubbed: (spot) => to.marker().rubbed(this.#inMm(spot)),
    });
    this.page.addEventListener('pointerdown', (event) => this.#down(event));
    this.page.addEventListener('pointermove', (event) => this.#move(event));
    this.page.addEventListener('pointerup', (event) => this.#up(event));
    this.page.addEventListener('pointercancel', () => this.#drop());
    this.page.addEventListener('contextmenu', (event) => event.preventDefault());
  }

  /** @param {Spot} spot CSS px of the page's box @returns {Spot} mm */
  #inMm({ x, y, pressure }) {
    const { scale } = this.to.shape();
    return { x: x / scale, y: y / scale, pressure };
  }

  /** Fit the page's box to the glass. */
  fit() {
    const { page, scale, left, top } = this.to.shape();
    for (const [name, value] of Object.entries({ left, top, width: page[0] * scale, height: page[1] * scale })) {
      this.page.style.setProperty(name, `${value}px`);
    }
    // The thread lies in the page's bottom margin, which is 10 mm.
    this.element.style.setProperty('--foot', `${Math.max(24, Math.min(44, 10 * scale))}px`);
    this.element.style.setProperty('--left', `${left}px`);
    this.element.style.setProperty('--below', `${top}px`);
    this.thread.fit();
    if (this.marking) this.pen.drawing = true;
  }

  get marking() {
    return !this.#tools.hidden;
  }

  /** @param {boolean} on */
  set marking(on) {
    this.#tools.hidden = !on;
    this.pen.drawing = on;
    this.element.dataset.marking = String(on);
    if (on) this.#drawTools();
  }

  #drawTools() {
    const marker = this.to.marker();
    const layer = (/** @type {Layer} */ name, /** @type {string} */ label) =>
      h(
        'button.key.layer',
        {
          type: 'button',
          'data-layer': name,
          'aria-pressed': marker.layer === name && !marker.erasing,
          onclick: () => this.#choose(name, false),
        },
        h(`i.sign.${name}`),
        label,
      );
    const look = (/** @type {Look['name']} */ name, /** @type {string} */ label) =>
      key(label, () => (this.to.setLook(name), this.#drawTools()), { 'data-look': name, 'aria-pressed': this.to.look().name === name });
    const section = this.to.section();
    this.restave();
    const told = this.to.told();
    this.#tools.replaceChildren(
      ...(told.length ? [h('div.told', {}, ...told.map((words) => h('p', {}, words)))] : []),
      this.#stave,
      h(
        'div.tool-row',
        {},
        layer('mine', 'Mine'),
        ...(section ? [layer('section', section)] : []),
        layer('band', 'Band'),
        key('Erase', () => this.#choose(marker.layer, true), { 'data-do': 'erase', 'aria-pressed': marker.erasing }),
        key('Undo', () => marker.undo(), { 'data-do': 'undo' }),
      ),
      h(
        'div.tool-row',
        {},
        look('light', 'Light'),
        look('dark', 'Dark'),
        look('warm', 'Warm'),
        key(this.element.dataset.tools === 'above' ? 'Below' : 'Above', () => this.#moveTools(), { 'data-do': 'move' }),
        key('Printed', this.to.asPrinted, { 'data-do': 'printed' }),
        key('Door', this.to.leave, { 'data-do': 'door' }),
        key('Done', () => (this.marking = false), { 'data-do': 'done', className: 'key strong' }),
      ),
    );
  }

  /** Say the stave height as it is chosen and shown now. */
  restave() {
    if (!this.marking) return;
    const { chosen, page } = this.to.stave();
    const lower = page && page.shown !== page.asked ? `, here ${page.shown.toFixed(1)} mm` : '';
    const words = page === null ? 'No stave height on this page' : `Stave ${chosen} mm${page.asked === chosen ? lower : ', on its way'}`;
    if (this.#stave.dataset.says === words) return;
    this.#stave.dataset.says = words;
    const step = (/** @type {number} */ by, /** @type {string} */ label, /** @type {string} */ hook) =>
      key(by < 0 ? '−' : '+', () => this.to.setStave(chosen + by), {
        'data-do': hook,
        'aria-label': label,
        disabled: page === null || !isHeight(chosen + by),
      });
    const focused = this.#stave.contains(document.activeElement) ? document.activeElement?.getAttribute('data-do') : null;
    this.#stave.replaceChildren(
      step(-1, 'Lower staves', 'stave-lower'),
      h('p.stave-height', { role: 'status' }, words),
      step(1, 'Higher staves', 'stave-higher'),
    );
    if (focused) /** @type {HTMLElement | null} */ (this.#stave.querySelector(`[data-do=${focused}]`))?.focus();
  }

  /** To the other end of the page: what lies under the tools is to be marked too. */
  #moveTools() {
    this.element.dataset.tools = this.element.dataset.tools === 'above' ? 'below' : 'above';
    this.#drawTools();
  }

  /** @param {Layer} layer @param {boolean} erasing */
  #choose(layer, erasing) {
    Object.assign(this.to.marker(), { layer, erasing });
    this.#drawTools();
  }

  /** @param {PointerEvent} event */
  #down(event) {
    if (this.marking || event.button > 0) return;
    this.#drop();
    const long = setTimeout(() => {
      this.#press = null;
      this.marking = true;
    }, LONG);
    this.#press = { id: event.pointerId, x: event.clientX, y: event.clientY, long };
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const press = this.#press;
    if (press?.id === event.pointerId && Math.hypot(event.clientX - press.x, event.clientY - press.y) > STILL) this.#drop();
  }

  /** @param {PointerEvent} event */
  #up(event) {
    if (this.#press?.id !== event.pointerId) return;
    this.#drop();
    const box = this.page.getBoundingClientRect();
    if (event.clientX >= box.left + box.width / 2) this.to.turnOn();
    else this.to.turnBack();
  }

  #drop() {
    if (this.#press) clearTimeout(this.#press.long);
    this.#press = null;
  }
}
