/**
 * The thread along the bottom of the page: the tune's bars as a line, its marks, a bead where the page is.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./turn.js').Place} Place
 */
import { h } from './dom.js';
import { lineOf, loopSays } from './thread-line.js';

/** px between two marks' left edges below which the later one is not written. */
const CLOSE = 22;
/** px that a letter in a loop takes, about; words that do not fit are left out. */
const LETTER = 9;

export class Thread {
  #line = h('div.thread-line');
  #bead = h('div.thread-bead');
  #reach = h('div.thread-reach');
  #next = h('span.thread-next');
  #trouble = h('button.trouble', { type: 'button', hidden: true });
  #roles = h('div.thread-roles');
  #track = h('div.thread-track', {}, this.#line, this.#reach, this.#bead);
  /** @type {TuneView | null} */ #view = null;
  /** What the loops say now, and whose tacet is shown. */ #told = '';
  /** @type {import('./thread-line.js').Line | null} */ #drawn = null;
  #width = 0;

  /** @param {HTMLElement} slips what may lie over it, but for the keys */
  constructor(slips) {
    this.element = h('div.thread', {}, this.#roles, h('div.thread-rest', {}, this.#track, this.#next, slips), this.#trouble);
  }

  /** Words at the left that open other screens. @param {HTMLElement[]} keys */
  set roles(keys) {
    this.#roles.replaceChildren(...keys);
    this.#width = 0;
  }

  /** The next tune's name at the end. @param {string} title */
  set next(title) {
    if (this.#next.textContent !== title) {
      this.#next.textContent = title;
      this.#width = 0;
    }
  }

  /** The page has another width. */
  fit() {
    this.#width = 0;
  }

  /** One small mark, never a dialog; touched, it says what is wrong. @param {string} words @param {() => void} [touched] */
  trouble(words, touched = () => {}) {
    // The mark takes room from the line.
    if (this.#trouble.hidden !== (words === '')) this.#width = 0;
    this.#trouble.hidden = words === '';
    this.#trouble.setAttribute('aria-label', words);
    this.#trouble.onclick = touched;
  }

  /**
   * @param {TuneView | null} view
   * @param {[number, number] | null} shown first and last written position on the page
   * @param {string} [chair] whose tacet stretches are shown
   * @param {import('./wire.js').PositionView} [position] what was cued, and who plays next
   */
  show(view, shown, chair = '', position) {
    const width = this.#width || this.#track.clientWidth;
    const told = JSON.stringify([chair, position?.cued, position?.players]);
    if (view !== this.#view || width !== this.#width || told !== this.#told) {
      this.#told = told;
      this.#draw(view, width, chair, position);
    }
    const line = this.#drawn;
    const visible = Boolean(line && shown);
    this.#bead.hidden = this.#reach.hidden = !visible;
    if (!line || !shown) return;
    const [from, to] = [line.at(shown[0]) * width, line.at(shown[1] + 1) * width];
    // Transforms only: a turn asks for no layout of the thread.
    this.#bead.style.transform = `translateX(${from}px)`;
    this.#reach.style.transform = `translateX(${from}px) scaleX(${Math.max(2, to - from)})`;
  }

  /** @param {TuneView | null} view @param {number} width px @param {string} chair @param {import('./wire.js').PositionView} [position] */
  #draw(view, width, chair, position) {
    this.#view = view;
    this.#width = width;
    const line = view && lineOf(view, chair);
    this.#drawn = line;
    if (!line) return this.#line.replaceChildren();
    const at = (/** @type {HTMLElement} */ element, /** @type {number} */ from, /** @type {number | undefined} */ to = undefined) => {
      element.style.left = `${from * width}px`;
      if (to !== undefined) element.style.width = `${Math.max(1, (to - from) * width)}px`;
      return element;
    };
    let last = -Infinity;
    const marks = line.marks.filter((mark) => {
      if (mark.at * width - last < CLOSE) return false;
      last = mark.at * width;
      return true;
    });
    return this.#line.replaceChildren(
      ...line.played.map((span) => at(h('i.bars'), span.from, span.to)),
      ...line.gaps.map((span) => at(h('i.gap'), span.from, span.to)),
      ...line.tacet.map((span) => at(h('i.tacet', { 'aria-label': 'tacet' }), span.from, span.to)),
      ...line.loops.map((loop) => {
        const cued = Boolean(position?.cued.includes(loop.edit));
        const says = loopSays(loop.times, cued, position?.players[loop.edit] ?? '');
        const room = (loop.to - loop.from) * width >= says.length * LETTER;
        const ring = h('i.loop', { 'data-cued': cued, 'data-open': loop.times === 0, 'aria-label': says }, room ? h('span', {}, says) : null);
        return at(ring, loop.from, loop.to);
      }),
      ...marks.map((mark) => {
        const label = h('b', {}, mark.text);
        if (mark.pass > 1) label.append(h('sup', {}, String(mark.pass)));
        return at(label, mark.at);
      }),
    );
  }
}
