/**
 * The face of the painter towards the stand: one page at a time, in a worker where there is one.
 *
 * @typedef {import('./paint.js').Job} Job
 */
import { Painter } from './paint.js';

export class Composer {
  /** @type {Worker | null} */ #worker = null;
  /** @type {Painter | null} */ #painter = null;
  /** @type {Map<number, {resolve: (bitmap: ImageBitmap) => void, reject: (why: Error) => void, job: Job}>} */ #open = new Map();
  #n = 0;

  constructor() {
    if (typeof OffscreenCanvas === 'undefined' || typeof Worker === 'undefined') this.#here();
    else this.#hire(new Worker(new URL('./compose-worker.js', import.meta.url), { type: 'module' }));
  }

  /** @param {Worker} worker */
  #hire(worker) {
    this.#worker = worker;
    worker.onmessage = ({ data }) => {
      const one = this.#open.get(data.n);
      this.#open.delete(data.n);
      if (data.bitmap) one?.resolve(data.bitmap);
      else one?.reject(new Error(data.why));
    };
    // A worker that could not be loaded: paint in the page, and what it was given as well.
    worker.onerror = () => {
      this.#worker = null;
      this.#here();
      for (const [n, one] of this.#open) {
        this.#open.delete(n);
        this.compose(one.job).then(one.resolve, one.reject);
      }
    };
  }

  #here() {
    this.#painter = new Painter((width, height) => Object.assign(document.createElement('canvas'), { width, height }));
  }

  /** @param {Job} job @returns {Promise<ImageBitmap>} */
  compose(job) {
    if (this.#painter) return this.#painter.paint(job);
    return new Promise((resolve, reject) => {
      this.#open.set(++this.#n, { resolve, reject, job });
      this.#worker?.postMessage({ n: this.#n, job });
    });
  }
}
