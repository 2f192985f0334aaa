/**
 * This stand's dealings with the hub: who it is, what it asks, what it hears, and its markings.
 *
 * @typedef {import('./wire.js').FromHub} FromHub
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').Marking} Marking
 * @typedef {import('./wire.js').MarkingsView} MarkingsView
 * @typedef {import('./wire.js').Do} Do
 * @typedef {import('./wire.js').Shown} Shown
 * @typedef {import('./store.js').Store} Store
 * @typedef {import('./store.js').Kind} Kind
 * @typedef {import('./outbox.js').Answer} Answer
 * @typedef {import('./connection.js').LinkState} LinkState
 * @typedef {object} Self
 * @property {string} client
 * @property {string} code
 * @property {string[]} codes
 * @property {string[]} chairs
 * @property {string} epoch
 * @property {number} seq
 * @property {number} socket port of the hub's sockets
 * @property {import('./look.js').Look['name']} look
 * @property {Record<string, number>} staves mm that was chosen, by chair
 * @property {string} callingKey the pedal key that calls the next tune; empty: none
 */
import { socketAddress } from './address.js';
import { Connection, realClock } from './connection.js';
import { newId } from './ids.js';
import { NONE, fold, lacking, withMade, without } from './markings.js';
import { Outbox } from './outbox.js';
import { USUAL, askedFor } from './staves.js';
import { PROTOCOL } from './wire.js';

/** ms that a choice may still change before the hub is asked for it. */
const STILL_CHOOSING = 400;

export class Session {
  /** @type {Self} */
  self = { client: newId(), code: '', codes: [], chairs: [], epoch: '', seq: 0, socket: 0, look: 'light', staves: {}, callingKey: '' };
  /** @type {string[]} */ roles = [];
  /** @type {import('./markings.js').Folded} */ markings = NONE;
  /** Own markings that a hub has acknowledged. @type {Map<string, Marking>} */ #own = new Map();
  /** The hub is another than before: it is offered what it lacks. */ #replaced = false;
  /** @type {ReturnType<typeof setTimeout> | undefined} */ #choosing;

  /**
   * @param {Store} store
   * @param {object} to
   * @param {() => [number, number]} to.page mm
   * @param {(message: FromHub) => void} to.heard every view
   * @param {(state: LinkState) => void} to.linked
   * @param {(why: string, code: number) => void} to.turnedAway
   * @param {(added: Marking[], removed: boolean) => void} to.marked
   * @param {(words: string) => void} to.say one line to the player
   * @param {(at: number) => void} to.ticked the hub's clock, s
   */
  constructor(store, to) {
    this.store = store;
    this.to = to;
    this.connection = new Connection({
      address: () => socketAddress(this.self.socket),
      hello: () => this.#hello(),
      heard: (message) => this.#hear(message),
      changed: (state) => this.to.linked(state),
      turnedAway: (why, code) => this.to.turnedAway(why, code),
      ticked: (at) => this.to.ticked(at),
    });
    this.outbox = new Outbox({
      send: (message) => this.connection.send(message),
      keep: (message) => void this.store.put('outbox', message.id, { at: Date.now(), message }),
      drop: (id) => void this.store.remove('outbox', [id]),
      answered: (message, answer) => this.#answered(message, answer),
      clock: realClock,
    });
  }

  async restore() {
    this.self = { ...this.self, ...(await this.store.get('self', 'who')) };
    await this.#keepSelf();
    /** @type {Map<string, Marking>} */ const made = new Map();
    /** @type {Set<string>} */ const erased = new Set();
    for (const [id, marking] of await this.store.all('marks')) {
      if (marking) made.set(id, marking);
      else erased.add(id);
    }
    this.markings = { made, erased, seq: 0 };
    for (const [id, marking] of await this.store.all('own')) this.#own.set(id, marking);
    const waiting = (await this.store.all('outbox')).map(([, one]) => one).sort((a, b) => a.at - b.at);
    this.outbox.restore(waiting.map((one) => one.message));
  }

  #keepSelf() {
    return this.store.put('self', 'who', this.self);
  }

  /** Change who this stand is. @param {Partial<Self>} change */
  be(change) {
    this.self = { ...this.self, ...change };
    void this.#keepSelf();
  }

  /** @returns {import('./wire.js').Hello} */
  #hello() {
    const { client, code, codes, chairs, epoch, seq } = this.self;
    const page = this.to.page();
    const { stave, ahead } = askedFor(chairs.map((chair) => this.staveOf(chair)));
    return { type: 'hello', proto: PROTOCOL, client, code, codes, chairs, epoch, seq, page, stave, ahead };
  }

  /** The stave height chosen for a chair, in mm. @param {string} chair */
  staveOf(chair) {
    return this.self.staves[chair] ?? USUAL;
  }

  /** Choose a stave height: the hub is asked for the steps next to it when it is there. @param {string} chair @param {number} stave mm */
  chooseStave(chair, stave) {
    this.be({ staves: { ...this.self.staves, [chair]: stave } });
    clearTimeout(this.#choosing);
    this.#choosing = setTimeout(() => this.connection.send(this.#hello()), STILL_CHOOSING);
  }

  /**
   * Ask the hub for something that must happen now or not at all.
   * @param {Command} command
   * @param {number} call the call under which it is meant
   * @returns {Promise<Answer>}
   */
  ask(command, call) {
    return this.outbox.ask({ type: 'do', id: newId(), command, call, chair: this.self.chairs[0] ?? '' });
  }

  /** Make a marking: it stands here at once and is sent when the hub is there. @param {Marking} marking */
  mark(marking) {
    this.markings = withMade(this.markings, marking);
    void this.store.put('marks', marking.id, marking);
    this.to.marked([marking], false);
    this.outbox.queue({ type: 'do', id: newId(), command: { type: 'make-marking', marking }, call: null, chair: marking.chair });
  }

  /** Erase a marking: gone here at once. @param {string} id @param {string} chair */
  erase(id, chair) {
    this.markings = without(this.markings, id);
    void this.store.remove('marks', [id]);
    this.to.marked([], true);
    this.outbox.queue({ type: 'do', id: newId(), command: { type: 'erase-marking', marking: id }, call: null, chair });
  }

  /** @param {Omit<Shown, 'type'>} shown */
  tell(shown) {
    this.connection.send({ type: 'shown', ...shown });
  }

  /** How this stand fares. @param {import('./wire.js').Fares} fares @returns {boolean} whether it left */
  fares(fares) {
    return this.connection.send({ type: 'faring', ...fares });
  }

  /** Ask what was decided; `history` answers. @param {string} id @param {string} date @param {number} before */
  lookBack(id, date, before) {
    this.connection.send({ type: 'look-back', id, date, before });
  }

  /** @param {FromHub} message */
  #hear(message) {
    if (message.type === 'welcome') {
      this.#replaced = this.self.epoch !== '' && this.self.epoch !== message.epoch;
      this.roles = message.roles;
      if (this.self.epoch !== message.epoch) this.be({ epoch: message.epoch, seq: 0 });
      this.outbox.flush();
    } else if (message.type === 'roles') this.roles = message.roles;
    else if (message.type === 'done') this.outbox.hear(message.id, { ok: true, seq: message.seq });
    else if (message.type === 'refused') this.outbox.hear(message.id, { ok: false, why: message.why });
    else if (message.type === 'markings') this.#hearMarkings(message);
    else if (message.type === 'status') {
      this.be({ seq: message.seq });
      if (this.#replaced) this.#offer();
    }
    this.to.heard(message);
  }

  /** @param {MarkingsView} view */
  #hearMarkings(view) {
    const waiting = new Set(
      this.outbox.waiting.flatMap(({ command }) => (command.type === 'make-marking' ? [command.marking.id] : [])),
    );
    const erasing = new Set(
      this.outbox.waiting.flatMap(({ command }) => (command.type === 'erase-marking' ? [command.marking] : [])),
    );
    const before = this.markings;
    const made = view.made.filter((marking) => !erasing.has(marking.id));
    this.markings = fold(before, { ...view, made }, waiting);
    const added = [...this.markings.made.values()].filter((marking) => !before.made.has(marking.id));
    const gone = [...before.made.keys()].filter((id) => !this.markings.made.has(id));
    void this.store.putAll([
      ...added.map((marking) => /** @type {[Kind, string, unknown]} */ (['marks', marking.id, marking])),
      ...view.erased.map((id) => /** @type {[Kind, string, unknown]} */ (['marks', id, null])),
    ]);
    void this.store.remove('marks', gone.filter((id) => !view.erased.includes(id)));
    void this.store.remove('own', view.erased);
    for (const id of view.erased) this.#own.delete(id);
    if (added.length || gone.length) this.to.marked(added, gone.length > 0);
  }

  /** @param {Do} message @param {Answer} answer */
  #answered({ command }, answer) {
    if (command.type === 'make-marking') {
      const { marking } = command;
      if (answer.ok) {
        this.#own.set(marking.id, marking);
        void this.store.put('own', marking.id, marking);
        return;
      }
      this.markings = without(this.markings, marking.id);
      void this.store.remove('marks', [marking.id]);
      this.to.marked([], true);
    }
    if (command.type === 'erase-marking') {
      const kept = this.#own.get(command.marking);
      if (answer.ok) {
        this.#own.delete(command.marking);
        void this.store.remove('own', [command.marking]);
        return;
      }
      if (kept) this.markings = withMade(this.markings, kept);
      this.to.marked([], true);
    }
    if (!answer.ok) this.to.say(answer.why);
  }

  /** Give a replaced hub the own markings that it lacks; calls are never offered again. */
  #offer() {
    this.#replaced = false;
    const queued = new Set(
      this.outbox.waiting.flatMap(({ command }) => (command.type === 'make-marking' ? [command.marking.id] : [])),
    );
    for (const marking of lacking(this.#own.values(), this.markings)) if (!queued.has(marking.id)) this.mark(marking);
  }
}
