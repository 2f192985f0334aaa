/**
 * Where a stand is at home: the origin under which it keeps its things, and whether the browser keeps the page there.
 *
 * @typedef {import('./address.js').HubInfo} HubInfo
 * @typedef {'kept' | 'refused' | 'offered' | 'clock' | ''} Keeping the page is kept without the hub; the browser will
 *   not; it would on the secure page; it would if the clock were right; it cannot be had
 */
import { hubInfo } from './address.js';

/** ms that another origin is given to answer. */
const ANSWERS_WITHIN = 1500;

/**
 * Origins where this stand were better off than here, the best first. What cannot be had there is found out by asking:
 * a name that does not work for this tablet, a certificate that it does not trust.
 * @param {HubInfo} info
 * @param {{origin: string, hostname: string}} here
 */
export function betterHomes({ secure, canonical }, here) {
  const homes = [...(secure ? [secure.origin, `https://${here.hostname}:${secure.port}`] : []), canonical];
  const at = homes.indexOf(here.origin);
  return [...new Set(at < 0 ? homes : homes.slice(0, at))];
}

/** The first of these origins where this same hub answers. @param {string[]} homes @param {string} epoch */
export async function answering(homes, epoch) {
  for (const home of homes) {
    try {
      if ((await hubInfo(home, ANSWERS_WITHIN)).epoch === epoch) return home;
    } catch {
      // Not for this tablet.
    }
  }
  return undefined;
}

/**
 * Have the browser keep the page.
 * @returns {Promise<boolean | null>} null on plain http, where no browser does (W3C Secure Contexts, 3.1)
 */
export async function keepPage() {
  const secure = location.protocol === 'https:';
  if (!navigator.serviceWorker) return secure ? false : null;
  try {
    // A page whose certificate was only clicked through calls itself secure; registering tells.
    await navigator.serviceWorker.register('/tablet/sw.js', { scope: '/' });
    await navigator.serviceWorker.ready;
    return true;
  } catch {
    return false;
  }
}

/** @param {boolean | null} kept @param {HubInfo | null} info @param {number} now Unix time, s @returns {Keeping} */
export function keeping(kept, info, now) {
  if (kept !== null) return kept ? 'kept' : 'refused';
  const secure = info?.secure;
  if (!secure) return '';
  return secure.since <= now && now <= secure.until ? 'offered' : 'clock';
}
