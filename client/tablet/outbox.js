/**
 * Commands on their way to the hub. Only markings wait while it is away; a call, a cut or a "from" that got no answer
 * within two seconds fails in words and is never sent again, since it may no longer be meant.
 *
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').Do} Do
 * @typedef {import('./connection.js').Clock} Clock
 * @typedef {{ok: true, seq: number} | {ok: false, why: string}} Answer
 */

/** ms */
const ANSWER_WITHIN = 2000;
export const HUB_AWAY = 'The hub is away: nothing was changed. Try again when it is back.';
export const NO_ANSWER = 'The hub did not answer: see what everyone has before you try again.';

/** @param {Command} command */
export const mayWait = (command) => command.type === 'make-marking' || command.type === 'erase-marking';

export class Outbox {
  /** @type {Map<string, Do>} */ #waiting = new Map();
  /** @type {Map<string, {answer: (answer: Answer) => void, cancel: () => void}>} */ #asked = new Map();

  /**
   * @param {object} to
   * @param {(message: Do) => boolean} to.send whether it left
   * @param {(message: Do) => void} to.keep store it until it is answered
   * @param {(id: string) => void} to.drop it was answered
   * @param {(message: Do, answer: Answer) => void} to.answered a waiting command got its answer
   * @param {Clock} to.clock
   */
  constructor(to) {
    this.to = to;
  }

  /** What waits for an answer, oldest first. */
  get waiting() {
    return [...this.#waiting.values()];
  }

  /** Queue again what was stored before a reload. @param {Do[]} messages oldest first */
  restore(messages) {
    for (const message of messages) this.#waiting.set(message.id, message);
  }

  /** A marking or its erasure: leaves now or when the hub is back, as often as it takes. @param {Do} message */
  queue(message) {
    this.#waiting.set(message.id, message);
    this.to.keep(message);
    this.to.send(message);
  }

  /** Everything that waits, again, in order: the hub answers a command sent twice as it did the first time. */
  flush() {
    for (const message of this.#waiting.values()) if (!this.to.send(message)) return;
  }

  /**
   * Anything else: now or not at all.
   * @param {Do} message
   * @returns {Promise<Answer>}
   */
  ask(message) {
    return new Promise((answer) => {
      const cancel = this.to.clock.after(ANSWER_WITHIN, () => this.#answer(message.id, { ok: false, why: NO_ANSWER }));
      this.#asked.set(message.id, { answer, cancel });
      if (!this.to.send(message)) this.#answer(message.id, { ok: false, why: HUB_AWAY });
    });
  }

  /** @param {string} id @param {Answer} answer */
  #answer(id, answer) {
    const asked = this.#asked.get(id);
    if (!asked) return;
    this.#asked.delete(id);
    asked.cancel();
    asked.answer(answer);
  }

  /** @param {string} id @param {Answer} answer */
  hear(id, answer) {
    this.#answer(id, answer);
    const message = this.#waiting.get(id);
    if (!message) return;
    this.#waiting.delete(id);
    this.to.drop(id);
    this.to.answered(message, answer);
  }
}
