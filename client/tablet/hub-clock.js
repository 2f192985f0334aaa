/**
 * How late a message came. The hub's clock and ours are set apart by an unknown amount; the quickest message so far
 * tells that amount best, and what comes later than it would have is late by the difference.
 */

/** s: words for this moment that come later than this are not shown. */
const LATE = 2;

export class HubClock {
  #apart = Infinity;

  /** @param {() => number} now ms */
  constructor(now = () => performance.now()) {
    this.now = now;
  }

  /** Another hub, another clock. */
  forget() {
    this.#apart = Infinity;
  }

  /** A message came that says when it was sent. @param {number} at s by the hub's clock */
  hear(at) {
    if (at) this.#apart = Math.min(this.#apart, this.now() / 1000 - at);
  }

  /** Whether words for this moment come too late to be shown. @param {number} at s by the hub's clock; 0: never */
  tooLate(at) {
    if (!at) return false;
    this.hear(at);
    return this.now() / 1000 - at - this.#apart > LATE;
  }
}
