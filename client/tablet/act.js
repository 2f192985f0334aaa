/**
 * The foot of the Lead: what comes next, the key that calls it and takes a call back, and whose word stands where two
 * called at once. A key that has become another one rests for a moment: the thumb on its way meant what was there.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').PositionView} PositionView
 * @typedef {import('./setlist.js').Row} Row
 */
import { h, key } from './dom.js';

/** ms that "take back" stays. */
const TAKE_BACK = 5000;
/** ms that a key rests: longer than a thumb that has set out needs to come down. */
const RESTS = 700;

/**
 * What two leaders who called at once are told; empty where they did not. Two may sign alike: two tablets at one chair.
 * @param {PositionView} position
 * @param {string} called what stands, as it is said
 * @param {string} me the id of this tablet
 */
export function whoseStands({ by, after = '', after_by: other = '', device, after_device: first }, called, me) {
  if (!after) return '';
  const alike = by === other;
  const second = alike ? `${by} on another tablet` : by;
  if (device === me) return begun(`${alike ? second : other} called ${after} just before you: yours stands.`);
  if (first === me) return begun(`${second} called ${called} just after you: theirs stands.`);
  return begun(`${other} called ${after}, ${second} ${called} just after: that stands.`);
}

/** @param {string} sentence */
const begun = (sentence) => sentence.charAt(0).toUpperCase() + sentence.slice(1);

export class Act {
  element = h('div.act');
  /** The call that can be taken back now. */ #fresh = 0;
  /** @type {ReturnType<typeof setTimeout> | undefined} */ #freshEnds;
  /** What the key does. @type {string | null} */ #does = null;
  #resting = false;
  /** @type {ReturnType<typeof setTimeout> | undefined} */ #restEnds;
  /** How often this leader has named a tune and the hub has not answered yet. */ #naming = 0;

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask whether it took effect
   * @param {() => boolean} to.mayCall
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
  }

  draw() {
    const next = this.room.coming;
    this.#rest(this.#takesBack ? `back ${this.#fresh}` : `call ${next?.tune} ${next?.item}`);
    this.element.replaceChildren(
      h('div', {}, h('p.over', {}, this.room.position.next === null ? 'Next in the set' : 'Next'), h('p.next', {}, this.room.titleOf(next) || '—')),
      this.#key(next),
    );
  }

  get #takesBack() {
    const { position } = this.room;
    return this.#fresh === position.call && position.previous !== null;
  }

  /** @param {Row | null} next */
  #key(next) {
    if (!this.to.mayCall()) return h('p.quiet', {}, 'The leader calls; you may say from where.');
    if (this.#takesBack) {
      const ask = () => void this.to.ask({ type: 'take-back-call', call: this.#fresh });
      return key('Take back', ask, { 'data-do': 'take-back', className: 'key strong taking', disabled: this.#resting });
    }
    const waits = next === null || this.#resting || this.#naming > 0;
    return key('Call', () => void this.#call(next), { 'data-do': 'call', className: 'key strong', disabled: waits });
  }

  /** What this leader's own hand named is what it goes for next. @param {string} does */
  #rest(does) {
    if (this.#does !== null && this.#does !== does && !this.#naming) {
      this.#resting = true;
      clearTimeout(this.#restEnds);
      this.#restEnds = setTimeout(() => {
        this.#resting = false;
        this.draw();
      }, RESTS);
    }
    this.#does = does;
  }

  /** @param {Row | null} row */
  async #call(row) {
    if (row) await this.to.ask({ type: 'call', tune: row.tune, start: '', item: row.item, in_turn: this.room.position.next === null });
  }

  /**
   * Name a row, or a tune wherever it stands (no item), as next; none: nothing is next. Until the hub has answered, what
   * the key would call is the one before, which a hand that has just named another does not mean.
   * @param {string | null} tune
   * @param {string | null} item
   */
  async name(tune, item) {
    this.#naming += 1;
    this.draw();
    await this.to.ask({ type: 'next', tune, item });
    this.#naming -= 1;
    this.draw();
  }

  /** As long as the last call can be taken back, a foot that comes down twice calls no second tune. */
  async callByFoot() {
    if (!this.#takesBack && !this.#naming) await this.#call(this.room.coming);
  }

  /** A call came, mine or another's: for a while it can be taken back. @param {number} call */
  called(call) {
    this.#fresh = call;
    clearTimeout(this.#freshEnds);
    this.#freshEnds = setTimeout(() => {
      this.#fresh = 0;
      this.draw();
    }, TAKE_BACK);
  }

  /** The screen is left: no thumb is on its way. */
  leave() {
    this.#does = null;
  }
}
