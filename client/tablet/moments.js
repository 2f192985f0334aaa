/** Moments that work may wait for, so that what the player asked for is never behind it. */

/** ms after which work is done even though there was no lull. */
const AT_LATEST = 250;

/** When what was changed on the glass is seen: two frames on. A page that is hidden waits until it is not. @param {() => void} work */
export const onceSeen = (work) => requestAnimationFrame(() => requestAnimationFrame(work));

/** When nothing else is to do; a while on where the browser does not tell. @param {() => void} work */
export function inLull(work) {
  if ('requestIdleCallback' in globalThis) requestIdleCallback(work, { timeout: AT_LATEST });
  else setTimeout(work, AT_LATEST);
}
