/**
 * Painting composed pages: decodes sheets, keeps the last ones decoded, draws. Runs in a worker or, where there is no
 * canvas off the page, in the page itself.
 *
 * @typedef {import('./wire.js').LaidPage} LaidPage
 * @typedef {import('./wire.js').Pieces} Pieces
 * @typedef {import('./look.js').Look} Look
 * @typedef {object} Job
 * @property {LaidPage} page
 * @property {Pieces} pieces
 * @property {number} rung
 * @property {number} scale device px a mm
 * @property {number} width device px
 * @property {number} height device px
 * @property {Look} look
 * @property {{n: number, hash: string, picture: Blob | undefined}[]} sheets
 */
import { draw } from './compose.js';

/** Decoded sheets that are kept: 2048 x 4096 px are 32 MB each. */
const MOST_DECODED = 3;

export class Painter {
  /** @type {Map<string, ImageBitmap>} */ #decoded = new Map();

  /** @param {(width: number, height: number) => HTMLCanvasElement | OffscreenCanvas} canvas */
  constructor(canvas) {
    this.canvas = canvas;
  }

  /** @param {Job} job @returns {Promise<ImageBitmap>} */
  async paint(job) {
    /** @type {Map<number, ImageBitmap>} */ const sheets = new Map();
    for (const { n, hash, picture } of job.sheets) if (picture) sheets.set(n, await this.#decode(hash, picture));
    const canvas = this.canvas(job.width, job.height);
    const context = /** @type {import('./compose.js').Context} */ (canvas.getContext('2d', { alpha: false }));
    draw(context, job, (n) => sheets.get(n));
    this.#forget();
    return 'transferToImageBitmap' in canvas ? canvas.transferToImageBitmap() : createImageBitmap(canvas);
  }

  /** @param {string} hash @param {Blob} picture */
  async #decode(hash, picture) {
    const kept = this.#decoded.get(hash) ?? (await createImageBitmap(picture));
    this.#decoded.delete(hash);
    this.#decoded.set(hash, kept);
    return kept;
  }

  #forget() {
    for (const [hash, bitmap] of this.#decoded) {
      if (this.#decoded.size <= MOST_DECODED) return;
      bitmap.close();
      this.#decoded.delete(hash);
    }
  }
}
