/** The worker that composes pages ahead, so that a turn only swaps what is ready. */
import { Painter } from './paint.js';

const painter = new Painter((width, height) => new OffscreenCanvas(width, height));

/** @typedef {{onmessage: ((event: MessageEvent) => void) | null, postMessage: (message: unknown, transfer?: Transferable[]) => void}} Scope */
const scope = /** @type {Scope} */ (/** @type {unknown} */ (self));
let queue = Promise.resolve();

scope.onmessage = (/** @type {MessageEvent} */ event) => {
  /** @type {{n: number, job: import('./paint.js').Job}} */ const { n, job } = event.data;
  queue = queue.then(async () => {
    try {
      const bitmap = await painter.paint(job);
      scope.postMessage({ n, bitmap }, [bitmap]);
    } catch (error) {
      scope.postMessage({ n, why: String(error) });
    }
  });
};
