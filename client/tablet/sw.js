/**
 * The service worker, where there is one (https or the hub's own machine): it holds the app's own files and nothing
 * else, so that a stand can be reloaded while the hub is away. What the app stores is in IndexedDB.
 */
const CACHE = 'collaparte-app';

/** @typedef {Event & {waitUntil: (work: Promise<unknown>) => void, respondWith: (answer: Promise<Response>) => void, request: Request}} WorkerEvent */

/** The network's answer, kept; without one, what was kept. @param {Request} request */
async function fresh(request) {
  const cache = await caches.open(CACHE);
  try {
    const answer = await fetch(request);
    if (answer.ok) await cache.put(request, answer.clone());
    return answer;
  } catch (error) {
    const kept = await cache.match(request);
    if (kept) return kept;
    throw error;
  }
}

self.addEventListener('fetch', (event) => {
  const { request, respondWith } = /** @type {WorkerEvent} */ (event);
  const { origin, pathname } = new URL(request.url);
  const app = origin === location.origin && (pathname === '/' || pathname.startsWith('/tablet/'));
  if (app && request.method === 'GET') respondWith.call(event, fresh(request));
});
