/**
 * Drawing on the page with pen, finger or mouse. The first pen that touches is believed from then on: a hand that rests
 * on the glass draws nothing.
 *
 * @typedef {import('./anchor.js').Spot} Spot
 */
import { drawStroke } from './ink.js';

export class Pen {
  /** @type {{id: number, spots: Spot[]} | null} */ #stroke = null;
  #pensOnly = false;
  /** @type {(() => void)[]} */ #waiting = [];
  /** @type {HTMLCanvasElement} */ #canvas;

  /**
   * @param {HTMLElement} page the page's box
   * @param {object} to
   * @param {() => {colour: string, width: number, erasing: boolean}} to.nib width in CSS px
   * @param {(spots: Spot[]) => void} to.drew a stroke, in CSS px of the page's box
   * @param {(spot: Spot) => void} to.rubbed the eraser is here
   */
  constructor(page, to) {
    this.page = page;
    this.to = to;
    this.#canvas = document.createElement('canvas');
    this.#canvas.className = 'live';
    this.#canvas.addEventListener('pointerdown', (event) => this.#down(event));
    this.#canvas.addEventListener('pointermove', (event) => this.#move(event));
    this.#canvas.addEventListener('pointerup', (event) => this.#up(event));
    // A cancelled stroke is kept as far as it came: the system took the pointer, not the player.
    this.#canvas.addEventListener('pointercancel', (event) => this.#up(event));
    // Some systems turn quick strokes into handwriting or scrolling unless the touch itself is refused.
    this.#canvas.addEventListener('touchmove', (event) => event.preventDefault(), { passive: false });
  }

  get drawing() {
    return this.#canvas.isConnected;
  }

  /** Resolves when the pen that is down leaves; null when none is down. @returns {Promise<void> | null} */
  get up() {
    return this.#stroke ? new Promise((resolve) => this.#waiting.push(resolve)) : null;
  }

  /** @param {boolean} on */
  set drawing(on) {
    this.#canvas.remove();
    if (!on) return;
    const { width, height } = this.page.getBoundingClientRect();
    this.#canvas.width = Math.round(width * devicePixelRatio);
    this.#canvas.height = Math.round(height * devicePixelRatio);
    this.page.append(this.#canvas);
  }

  /** @param {PointerEvent} event @returns {Spot} */
  #spot(event) {
    const box = this.page.getBoundingClientRect();
    const pressure = event.pointerType === 'pen' && event.pressure > 0 ? event.pressure : 0.5;
    return { x: event.clientX - box.left, y: event.clientY - box.top, pressure };
  }

  /** @param {PointerEvent} event */
  #down(event) {
    event.preventDefault();
    if (event.pointerType === 'pen') this.#pensOnly = true;
    if (this.#stroke || (this.#pensOnly && event.pointerType === 'touch') || event.button > 0) return;
    this.#canvas.setPointerCapture(event.pointerId);
    this.#stroke = { id: event.pointerId, spots: [] };
    this.#take(event);
  }

  /** @param {PointerEvent} event */
  #move(event) {
    if (event.pointerId === this.#stroke?.id) this.#take(event);
  }

  /** @param {PointerEvent} event */
  #take(event) {
    const coalesced = event.getCoalescedEvents?.() ?? [];
    for (const one of coalesced.length ? coalesced : [event]) {
      const spot = this.#spot(one);
      const spots = this.#stroke?.spots ?? [];
      const before = spots.at(-1);
      // Half a pixel apart is enough for the eye and keeps a stroke short.
      if (before && Math.hypot(spot.x - before.x, spot.y - before.y) < 0.5) continue;
      spots.push(spot);
      if (this.to.nib().erasing) this.to.rubbed(spot);
    }
    if (!this.to.nib().erasing) this.#paint();
  }

  /** Only the stroke that is being drawn: what is done lies on the page's own layer. */
  #paint() {
    const context = this.#canvas.getContext('2d');
    const spots = this.#stroke?.spots;
    if (!context || !spots?.length) return;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, this.#canvas.width, this.#canvas.height);
    context.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    const { colour, width } = this.to.nib();
    drawStroke(context, spots, width, colour);
  }

  /** @param {PointerEvent} event */
  #up(event) {
    if (event.pointerId !== this.#stroke?.id) return;
    const { spots } = this.#stroke;
    this.#stroke = null;
    if (!this.to.nib().erasing && spots.length) this.to.drew(spots);
    const context = this.#canvas.getContext('2d');
    context?.setTransform(1, 0, 0, 1, 0, 0);
    context?.clearRect(0, 0, this.#canvas.width, this.#canvas.height);
    for (const done of this.#waiting.splice(0)) done();
  }
}
