/**
 * Slips: words at the foot of the page that leave by themselves. They lie over the thread, in the page's bottom margin,
 * so that no note is ever under them: the newest at once, those before it beside it where there is room, else after it.
 *
 * @typedef {object} Slip
 * @property {string} words
 * @property {number} left for how long yet, ms
 * @property {number} ends when it is stale
 * @property {string} tune the tune on the page that it is about; empty: it holds on any page
 */
import { h } from './dom.js';

/** ms: long enough to be read between two lines of music, then out of the way. */
const STAYS = 6000;
/** Slips that are kept, the newest. */
const MOST = 8;
/** px between two. */
const BESIDE = 6;

/**
 * Words as so many pieces as fit one after the other.
 * @param {string} words
 * @param {(words: string) => boolean} fits
 */
export function inTurns(words, fits) {
  /** @type {string[]} */ const turns = [];
  let now = '';
  for (const word of words.split(' ')) {
    const longer = now ? `${now} ${word}` : word;
    if (now && !fits(`${longer} …`)) {
      turns.push(`${now} …`);
      now = word;
    } else now = longer;
  }
  return [...turns, now];
}

export class Slips {
  element = h('div.slips', { role: 'status', 'aria-live': 'polite' });
  /** The newest first. @type {Slip[]} */ #kept = [];
  /** Those on the glass, and since when. @type {Slip[]} */ #shown = [];
  #since = 0;
  #timer = 0;

  /**
   * @param {string} words
   * @param {boolean} [now] for this moment only: not shown again after others
   * @param {string} [tune] that it is about, if that is on the page
   */
  say(words, now = false, tune = '') {
    if (this.#kept.some((one) => one.words === words)) return;
    this.#pass();
    this.#kept = [{ words, left: STAYS, ends: now ? performance.now() + STAYS : Infinity, tune }, ...this.#kept].slice(0, MOST);
    this.#draw();
  }

  /** Another tune is on the page: words about the one before would be read as its own. @param {string} tune */
  turnTo(tune) {
    if (!this.#kept.some((one) => one.tune && one.tune !== tune)) return;
    this.#pass();
    this.#kept = this.#kept.filter((one) => !one.tune || one.tune === tune);
    this.#draw();
  }

  /** Time passes for those that are seen. */
  #pass() {
    const now = performance.now();
    for (const one of this.#shown) one.left -= now - this.#since;
    this.#since = now;
    this.#kept = this.#kept.filter((one) => one.left > 0 && one.ends > now);
  }

  #draw() {
    const [newest, ...before] = this.#kept;
    const fits = (/** @type {string[]} */ lines) => {
      this.element.replaceChildren(...lines.map((words) => h('p.slip', {}, words)));
      const wide = [...this.element.children].reduce((sum, one) => sum + /** @type {HTMLElement} */ (one).offsetWidth + BESIDE, 0);
      return wide - BESIDE <= this.element.clientWidth;
    };
    this.#shown = newest ? [newest] : [];
    if (newest && !fits([newest.words])) {
      const turns = inTurns(newest.words, (words) => fits([words]));
      const [first, ...rest] = turns.map((words) => ({ ...newest, words }));
      this.#shown = [first];
      this.#kept = [first, ...rest, ...before];
    } else if (newest) {
      for (const one of before) {
        if (!fits([one, ...this.#shown].map(({ words }) => words))) break;
        this.#shown.unshift(one);
      }
    }
    this.element.replaceChildren(...this.#shown.map(({ words }) => h('p.slip', {}, words)));
    clearTimeout(this.#timer);
    if (!newest) return;
    this.#timer = window.setTimeout(() => {
      this.#pass();
      this.#draw();
    }, Math.max(50, Math.min(...this.#shown.map((one) => one.left))));
  }
}
