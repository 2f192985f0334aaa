/** Where things are on the hub: the one place that knows its paths. */

export const SOURCE = '/source.zip';
export const TRUST = '/trust';

/**
 * The hub's pages over TLS, for those who trust the band's certificate.
 * @typedef {object} Secure
 * @property {string} origin
 * @property {number} port
 * @property {number} since Unix time, s: outside, a device's clock lets it open nothing there
 * @property {number} until
 */

/**
 * What the hub tells a page before it opens a socket.
 * @typedef {object} HubInfo
 * @property {string} band
 * @property {number} protocol
 * @property {string} epoch
 * @property {number} socket port
 * @property {string} canonical the one origin under which stands keep their things
 * @property {string} version
 * @property {Secure | null} secure
 */

/** @param {string} [origin] @param {number} [within] ms @returns {Promise<HubInfo>} */
export async function hubInfo(origin = '', within = 5000) {
  const answer = await fetch(`${origin}/hub.json`, { cache: 'no-store', signal: AbortSignal.timeout(within) });
  if (!answer.ok) throw new Error(`The hub answered ${answer.status}.`);
  return answer.json();
}

/** @param {number} port */
export const socketAddress = (port) =>
  `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.hostname}:${port}/`;

/** @param {'laying' | 'pieces' | 'sheet'} kind @param {string} hash */
export const fileAddress = (kind, hash) => `/${kind}/${hash}`;
