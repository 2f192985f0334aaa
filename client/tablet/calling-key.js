/**
 * A key of the leader's pedal that has been taught to call the next tune. It belongs to this tablet, and does nothing
 * else there any more.
 */
import { h, key } from './dom.js';
import { mayBeTaught } from './pedal.js';

/** What keys that are not written as they are called, are called. @type {Record<string, string>} */
const NAMES = { ' ': 'Space', PageUp: 'Page up', PageDown: 'Page down', ArrowUp: 'Arrow up', ArrowDown: 'Arrow down', ArrowLeft: 'Arrow left', ArrowRight: 'Arrow right' };

export class CallingKey {
  element = h('div.calling-key');
  #waiting = false;
  /** Why the key that was pressed cannot be taught. */ #why = '';

  /**
   * @param {object} to
   * @param {() => string} to.taught the key; empty: none
   * @param {(key: string) => void} to.teach
   * @param {() => boolean} to.mayCall
   * @param {() => void} to.call
   */
  constructor(to) {
    this.to = to;
  }

  draw() {
    this.element.hidden = !this.to.mayCall();
    const taught = this.to.taught();
    if (this.#waiting) {
      this.element.replaceChildren(
        h('p', { role: 'status' }, this.#why || 'Press the pedal key that shall call the next tune.'),
        key('Leave it', () => this.#wait(false), { 'data-do': 'teach-not', className: 'key plain' }),
      );
    } else if (taught) {
      this.element.replaceChildren(
        h('p.quiet', {}, `${NAMES[taught] ?? taught} on your pedal calls the next tune.`),
        key('Forget it', () => this.#teach(''), { 'data-do': 'forget', className: 'key plain' }),
      );
    } else {
      this.element.replaceChildren(key('Teach a pedal key to call', () => this.#wait(true), { 'data-do': 'teach', className: 'key plain' }));
    }
  }

  /** @param {boolean} on */
  #wait(on) {
    this.#waiting = on;
    this.#why = '';
    this.draw();
    // The key that is pressed next must not be one for the button that was touched.
    if (on && document.activeElement instanceof HTMLElement) document.activeElement.blur();
  }

  /** @param {string} taught */
  #teach(taught) {
    this.to.teach(taught);
    this.#wait(false);
  }

  /** The screen is left. */
  leave() {
    if (this.#waiting) this.#wait(false);
  }

  /** Whether a key was for this, pressed on the leader's page or on the Lead. @param {KeyboardEvent} event */
  typed(event) {
    if (!this.to.mayCall()) return false;
    if (this.#waiting && event.key !== 'Escape') {
      event.preventDefault();
      if (event.repeat) return true;
      if (mayBeTaught(event)) this.#teach(event.key);
      else {
        this.#why = 'Letters, figures and Tab have other work here: press another key.';
        this.draw();
      }
      return true;
    }
    if (this.#waiting) {
      this.#wait(false);
      return true;
    }
    if (event.key !== this.to.taught() || event.ctrlKey || event.altKey || event.metaKey) return false;
    event.preventDefault();
    // A foot that rests on it calls once.
    if (!event.repeat) this.to.call();
    return true;
  }
}
