/** Slips: one line of words at the foot of the page that leaves by itself. */
import { h } from './dom.js';

/** ms: long enough to be read between two lines of music, then out of the way. */
const STAYS = 6000;

export class Slips {
  element = h('div.slips', { role: 'status', 'aria-live': 'polite' });

  /** @param {string} words */
  say(words) {
    for (const other of this.element.children) if (other.textContent === words) return;
    const slip = h('p.slip', {}, words);
    this.element.append(slip);
    while (this.element.children.length > 3) this.element.firstElementChild?.remove();
    setTimeout(() => slip.remove(), STAYS);
  }
}
