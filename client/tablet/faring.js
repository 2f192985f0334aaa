/**
 * How this stand fares, told to the hub when it changes: what is stored, the battery where the browser tells, the screen
 * kept awake where it allows that, and how the tablet is held.
 *
 * @typedef {import('./wire.js').Fares} Fares
 * @typedef {{level: number, charging: boolean, addEventListener: (name: string, then: () => void) => void}} Battery
 */

export class Faring {
  /** @type {Battery | null} */ #battery = null;
  /** @type {boolean | null} */ #awake = null;
  #told = '';

  /**
   * @param {object} to
   * @param {(fares: Fares) => boolean} to.send whether it left
   * @param {() => {missing: number, tunes: number}} to.stored
   */
  constructor(to) {
    this.to = to;
  }

  /** Look at what the browser tells, from now on. */
  start() {
    const asked = /** @type {{getBattery?: () => Promise<Battery>}} */ (navigator).getBattery?.();
    asked?.then((battery) => {
      this.#battery = battery;
      for (const name of ['levelchange', 'chargingchange']) battery.addEventListener(name, () => this.tell());
      this.tell();
    }, () => {});
    document.addEventListener('visibilitychange', () => void this.#keepAwake());
    void this.#keepAwake();
  }

  /** Only a page that is seen may keep the screen awake, and only on a secure origin (W3C Screen Wake Lock). */
  async #keepAwake() {
    if (!('wakeLock' in navigator) || document.visibilityState !== 'visible') return;
    try {
      const lock = await navigator.wakeLock.request('screen');
      this.#awake = true;
      lock.addEventListener('release', () => ((this.#awake = false), this.tell()));
    } catch {
      this.#awake = false;
    }
    this.tell();
  }

  /** A new connection: the hub knows nothing yet. */
  tellAnew() {
    this.#told = '';
    this.tell();
  }

  tell() {
    /** @type {Fares} */
    const fares = {
      ...this.to.stored(),
      battery: this.#battery && Math.round(100 * this.#battery.level),
      charging: this.#battery && this.#battery.charging,
      awake: this.#awake,
      upright: innerHeight >= innerWidth,
    };
    const told = JSON.stringify(fares);
    if (told !== this.#told && this.to.send(fares)) this.#told = told;
  }
}
