/**
 * The service worker, where there is one (https or the hub's own machine): it holds the app's own files and nothing
 * else, so that a stand can be reloaded while the hub is away. What the app stores is in IndexedDB.
 */
const CACHE = 'collaparte-app';
/** ms: a hub that is switched off may leave a request without any answer. */
const PATIENCE = 2000;
const FILES = `
  act.js address.js anchor.js app.js backoff.js band-picker.js beads.js calling-key.js card.js compose-worker.js compose.js composer.js connection.js
  cue-keys.js date.js decisions.js desk.js desk-chairs.js desk-coming.js desk-hub.js desk-inspector.js desk-laid.js desk-page.js desk-part.js
  desk-things.js desk-told.js dom.js door.js drawn-keys.js faring.js foot.js form.js from-place.js glass.js hearing.js history.js home.js homing.js hub-clock.js ids.js ink.js keyboard.js
  lacking.js large-thread.js lead.js leaf.js lineup.js look.js marker.js markings.js moments.js order.js outbox.js overlay.js page-shape.js paint.js pedal.js pen.js press.js printed.js
  progress.js reader.js room.js said.js
  session.js set-changing.js set-rows.js setlist.js shade.js shelf.js slips.js stand.js staves.js store.js thread-line.js thread.js turn.js wire.js
  bead.svg look.css stand.css screens.css edits.css desk.css set.css trust.css manifest.webmanifest`;

/** @typedef {Event & {waitUntil: (work: Promise<unknown>) => void, respondWith: (answer: Promise<Response>) => void, request: Request}} WorkerEvent */
/** @typedef {{skipWaiting: () => Promise<void>, clients: {claim: () => Promise<void>}}} WorkerScope */
const scope = /** @type {WorkerScope} */ (/** @type {unknown} */ (self));

async function keepAll() {
  const cache = await caches.open(CACHE);
  await cache.addAll(['/', ...FILES.trim().split(/\s+/).map((name) => `/tablet/${name}`)]);
  await scope.skipWaiting();
}

/** The hub's answer, kept; without one, what was kept. @param {Request} request */
async function fresh(request) {
  const cache = await caches.open(CACHE);
  const kept = () => cache.match(request, { ignoreSearch: true });
  const asked = fetch(request).then(async (answer) => {
    if (answer.ok) await cache.put(request, answer.clone());
    return answer;
  });
  const patience = new Promise((resolve) => setTimeout(resolve, PATIENCE)).then(kept);
  const first = await Promise.race([asked.catch(kept), patience]);
  return first ?? asked;
}

self.addEventListener('install', (event) => /** @type {WorkerEvent} */ (event).waitUntil(keepAll()));
self.addEventListener('activate', (event) => /** @type {WorkerEvent} */ (event).waitUntil(scope.clients.claim()));
self.addEventListener('fetch', (event) => {
  const worker = /** @type {WorkerEvent} */ (event);
  const { method, url } = worker.request;
  const { origin, pathname } = new URL(url);
  const app = origin === location.origin && (pathname === '/' || pathname.startsWith('/tablet/'));
  if (app && method === 'GET') worker.respondWith(fresh(worker.request));
});
