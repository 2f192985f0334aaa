/**
 * The part as printed: the pages of the file that was brought in, one at a time, whatever was decided since. Pictures
 * come from the hub when they are looked at; those seen stay as long as this screen knows them.
 */
import { h, key } from './dom.js';

export class Printed {
  element = h('main.printed', { 'data-of': 'printed' });
  #version = '';
  #page = 0;
  /** Pages known to be there. */ #last = Infinity;
  #picture = /** @type {HTMLImageElement} */ (h('img.printed-page', { alt: '', draggable: false }));
  #says = h('p.quiet', { role: 'status' });

  /** @param {{leave: () => void, wide: () => number}} to `wide`: device px across the glass */
  constructor(to) {
    this.to = to;
    this.#picture.onclick = (event) => this.turn(event.clientX >= innerWidth / 2 ? 1 : -1);
    this.#picture.onload = () => (this.#says.textContent = '');
    this.#picture.onerror = () => this.#missing();
    this.element.append(
      h(
        'header.now',
        {},
        h('p.over', {}, 'As printed'),
        key('Back', () => this.turn(-1), { 'data-do': 'printed-back' }),
        key('On', () => this.turn(1), { 'data-do': 'printed-on' }),
        key('My page', to.leave, { 'data-do': 'leave' }),
      ),
      this.#says,
      this.#picture,
    );
  }

  /** @param {string} version of the part; "" where there is none @param {string} name */
  open(version, name) {
    if (version !== this.#version) {
      this.#version = version;
      this.#page = 0;
      this.#last = Infinity;
    }
    this.#picture.alt = `${name}, as printed`;
    this.#show();
  }

  /** @param {1 | -1} by */
  turn(by) {
    const page = Math.max(0, Math.min(this.#last, this.#page + by));
    if (page === this.#page) return;
    this.#page = page;
    this.#show();
  }

  #show() {
    this.element.dataset.page = String(this.#page);
    if (!this.#version) {
      this.#says.textContent = 'This chair has no part of this tune.';
      this.#picture.removeAttribute('src');
      return;
    }
    this.#says.textContent = 'On its way';
    this.#picture.src = `/printed/${this.#version}/${this.#page}?wide=${this.to.wide()}`;
  }

  /** No such page, or no hub. */
  #missing() {
    if (this.#page > 0) {
      this.#last = --this.#page;
      this.#show();
    } else this.#says.textContent = 'The printed page is not here, and the hub that has it does not answer.';
  }
}
