/**
 * The socket to the hub: comes back by itself, says hello, answers pings. Knows nothing of what the messages mean.
 *
 * @typedef {import('./wire.js').FromHub} FromHub
 * @typedef {import('./wire.js').FromClient} FromClient
 * @typedef {import('./wire.js').Hello} Hello
 * @typedef {'away' | 'trying' | 'joined'} LinkState
 */
import { waitBefore } from './backoff.js';
import { CLOSE_UNKNOWN_CHAIR, CLOSE_WRONG_CODE, CLOSE_WRONG_PROTOCOL } from './wire.js';

/** ms: after this much silence we ask; unanswered for DEAD_AFTER, the socket is given up. Silence alone proves nothing. */
const ASK_AFTER = 5000;
const DEAD_AFTER = 10000;
/** ms: a connection attempt that takes longer is orphaned and made anew. */
const OPEN_WITHIN = 4000;

/**
 * Time and lots, so that tests can hold them.
 * @typedef {object} Clock
 * @property {() => number} now ms
 * @property {(ms: number, then: () => void) => () => void} after returns its cancel
 * @property {() => number} lot in [0, 1)
 */
/** @type {Clock} */
export const realClock = {
  now: () => performance.now(),
  after: (ms, then) => {
    const timer = setTimeout(then, ms);
    return () => clearTimeout(timer);
  },
  lot: Math.random,
};

export class Connection {
  /** @type {WebSocket | null} */ #socket = null;
  /** @type {LinkState} */ #state = 'away';
  /** The hub's last sentence to one it did not let in. @type {string | undefined} */ why;
  #attempt = 0;
  #asked = 0;
  #wanted = false;
  /** @type {() => void} */ #cancelTry = () => {};
  /** @type {() => void} */ #cancelWatch = () => {};

  /**
   * @param {object} to
   * @param {() => string} to.address
   * @param {() => Hello} to.hello
   * @param {(message: FromHub) => void} to.heard
   * @param {(state: LinkState) => void} to.changed
   * @param {(why: string, code: number) => void} to.turnedAway the hub will not have us; no further tries
   * @param {(at: number) => void} [to.ticked] the hub's clock, in seconds, as a ping tells it
   * @param {(address: string) => WebSocket} [to.dial]
   * @param {Clock} [to.clock]
   */
  constructor(to) {
    this.to = { dial: (/** @type {string} */ address) => new WebSocket(address), clock: realClock, ...to };
  }

  get state() {
    return this.#state;
  }

  /** Come in, now, with a fresh hello. */
  open() {
    this.#wanted = true;
    this.#attempt = 0;
    this.#dial();
  }

  /** Leave and stay away. */
  close() {
    this.#wanted = false;
    this.#orphan(1000);
    this.#turn('away');
  }

  /** The screen woke or the network came back: a socket that slept is not trusted, a waiting try is made now. */
  wake() {
    if (!this.#wanted) return;
    this.#attempt = 0;
    if (this.#state !== 'joined') this.#dial();
    else this.#ask();
  }

  /**
   * @param {FromClient} message
   * @returns {boolean} whether it left
   */
  send(message) {
    if (this.#state !== 'joined' || this.#socket?.readyState !== 1) return false;
    this.#socket.send(JSON.stringify(message));
    return true;
  }

  #dial() {
    this.#orphan(1000);
    this.#turn('trying');
    const socket = this.to.dial(this.to.address());
    this.#socket = socket;
    this.#cancelWatch = this.to.clock.after(OPEN_WITHIN, () => this.#lost(socket));
    socket.onopen = () => socket.send(JSON.stringify(this.to.hello()));
    socket.onmessage = (event) => this.#hear(socket, event.data);
    socket.onclose = (event) => this.#lost(socket, event.code);
    socket.onerror = () => {};
  }

  /** @param {WebSocket} socket @param {unknown} data */
  #hear(socket, data) {
    if (socket !== this.#socket) return;
    /** @type {FromHub} */
    const message = JSON.parse(String(data));
    this.#watch(socket);
    if (message.type === 'ping') {
      this.to.ticked?.(message.at);
      return void socket.send(JSON.stringify({ type: 'pong', n: message.n }));
    }
    if (message.type === 'pong') return undefined;
    if (message.type === 'welcome') {
      this.#attempt = 0;
      this.#turn('joined');
    }
    if (message.type === 'sorry' && this.#state !== 'joined') this.why = message.why;
    this.to.heard(message);
    return undefined;
  }

  /** @param {WebSocket} socket */
  #watch(socket) {
    this.#cancelWatch();
    this.#cancelWatch = this.to.clock.after(ASK_AFTER, () => {
      if (socket === this.#socket) this.#ask();
    });
  }

  #ask() {
    const socket = this.#socket;
    if (!socket) return;
    if (socket.readyState === 1) socket.send(JSON.stringify({ type: 'ping', n: ++this.#asked, at: 0 }));
    this.#cancelWatch();
    this.#cancelWatch = this.to.clock.after(DEAD_AFTER, () => this.#lost(socket));
  }

  /** @param {WebSocket} socket @param {number} [code] */
  #lost(socket, code = 0) {
    if (socket !== this.#socket) return;
    this.#orphan(1000);
    if ([CLOSE_WRONG_CODE, CLOSE_WRONG_PROTOCOL, CLOSE_UNKNOWN_CHAIR].includes(code)) {
      this.#wanted = false;
      this.#turn('away');
      this.to.turnedAway(this.why ?? 'The hub closed the door.', code);
      return;
    }
    this.#turn('away');
    if (!this.#wanted) return;
    this.#cancelTry = this.to.clock.after(waitBefore(this.#attempt++, this.to.clock.lot()), () => this.#dial());
  }

  /** Forget the socket at once: one that never finishes closing must not hold us. @param {number} code */
  #orphan(code) {
    this.#cancelTry();
    this.#cancelWatch();
    const socket = this.#socket;
    this.#socket = null;
    if (!socket) return;
    socket.onopen = socket.onmessage = socket.onclose = null;
    try {
      socket.close(code);
    } catch {
      // It was never open; there is nothing to close.
    }
  }

  /** @param {LinkState} state */
  #turn(state) {
    if (state === this.#state) return;
    this.#state = state;
    this.to.changed(state);
  }
}
